//! Surveys delimited text (CSV and its relatives): encoding, delimiter, header, safe cuts, sample.

use super::chunk::{Cut, Row, TextPlan};
use super::delimited_records::{self, Dialect, RecordScan, Span, Unbalanced};
use super::sample::Sampler;
use super::text::{self, TextEncoding, TextReader};
use super::{CHUNK_BYTES, FileHash, Format, Plan, Survey};
use crate::error::{Error, Result};
use crate::model::record::RawRecord;
use crate::settings::{InputName, ReadBounds};
use std::collections::HashSet;
use std::sync::Arc;

/// Bytes at the start of a file that decide encoding mark and delimiter.
const HEAD_BYTES: usize = 64 << 10;
/// Records that the choice of a delimiter looks at.
const DELIMITER_RECORDS: usize = 200;

/// How the records of a delimited file are read again.
#[derive(Debug)]
pub(super) struct DelimitedPlan {
    pub(super) text: TextPlan,
    dialect: Dialect,
    columns: usize,
}

/// Calls `f` for every record of a chunk.
pub(super) fn for_each(plan: &DelimitedPlan, bytes: &[u8], line: u64, f: &mut dyn FnMut(Row<'_>)) {
    delimited_records::for_each(bytes, plan.dialect, plan.columns, line, f);
}

/// Reads the whole file once (twice where it is not UTF-8).
pub(super) fn survey(input: &InputName, format: Format, bounds: ReadBounds) -> Result<Survey> {
    survey_in_chunks(input, format, CHUNK_BYTES, bounds)
}

/// [`survey`] with another size of chunk, so that tests can show that the size does not matter.
pub(super) fn survey_in_chunks(
    input: &InputName,
    format: Format,
    chunk_bytes: usize,
    bounds: ReadBounds,
) -> Result<Survey> {
    let head = text::head(&input.path, HEAD_BYTES)?;
    let encoding = TextEncoding::of_head(&head);
    let mut walk = Walk::new(input, encoding, chunk_bytes, bounds)?;
    walk.whole_file()?;
    // A file with more broken than whole characters beyond ASCII is not UTF-8 at all.
    if encoding.is_utf8() && walk.tally.1 > walk.tally.0 {
        walk = Walk::new(input, TextEncoding::guess(&input.path)?, chunk_bytes, bounds)?;
        walk.whole_file()?;
    }
    walk.into_survey(input, format)
}

/// Nothing in a CSV says how many rows it has: a file that was cut looks like this, and so do some that are whole.
const UNENDED: &str = "the last line has no line end: check that the file was not cut off, the last row above all";

/// The state of one pass over the file.
struct Walk {
    at: String,
    reader: TextReader,
    encoding: TextEncoding,
    chunk_bytes: usize,
    bounds: ReadBounds,
    buffer: Vec<u8>,
    ended: bool,
    offset: u64,
    line: u64,
    dialect: Option<Dialect>,
    columns: Vec<String>,
    notes: Vec<String>,
    cuts: Vec<Cut>,
    rows: u64,
    lines_in_cells: (u64, u64),
    sampler: Sampler<RawRecord>,
    /// Of the rows that were to be sampled, those that cannot be read: how many, and line and reason of the first.
    unread: Option<(u64, u64, String)>,
    tally: (u64, u64),
    /// The last byte of the text so far.
    last: u8,
}

impl Walk {
    fn new(input: &InputName, encoding: TextEncoding, chunk_bytes: usize, bounds: ReadBounds) -> Result<Walk> {
        Ok(Walk {
            at: input.path.display().to_string(),
            reader: TextReader::open(&input.path, encoding, true)?,
            encoding,
            chunk_bytes,
            bounds,
            buffer: Vec::new(),
            ended: false,
            offset: 0,
            line: 1,
            dialect: None,
            columns: Vec::new(),
            notes: Vec::new(),
            cuts: Vec::new(),
            rows: 0,
            lines_in_cells: (0, 0),
            sampler: Sampler::new(),
            unread: None,
            tally: (0, 0),
            last: b'\n',
        })
    }

    fn whole_file(&mut self) -> Result<()> {
        self.fill(HEAD_BYTES.max(self.chunk_bytes))?;
        let dialect = self.first_lines()?;
        self.dialect = Some(dialect);
        let mut wanted = self.chunk_bytes;
        loop {
            self.fill(wanted)?;
            let taken = self.records(dialect)?;
            if taken > 0 {
                wanted = self.chunk_bytes;
            } else if self.ended {
                return Ok(());
            } else if self.buffer.len() > self.bounds.record_bytes() {
                return Err(self.too_large(dialect));
            } else {
                wanted = self.buffer.len() * 2;
            }
        }
    }

    /// Reads until the buffer holds `wanted` bytes or the file ends.
    fn fill(&mut self, wanted: usize) -> Result<()> {
        while !self.ended && self.buffer.len() < wanted {
            let missing = wanted - self.buffer.len();
            self.ended = !self.reader.append(&mut self.buffer, missing)?;
        }
        Ok(())
    }

    /// Takes the whole records at the start of the buffer as one chunk; returns their bytes.
    fn records(&mut self, dialect: Dialect) -> Result<usize> {
        let buffer = std::mem::take(&mut self.buffer);
        let mut scan = RecordScan::new(&buffer, dialect, self.line, self.ended);
        while let Some(span) = scan.next_record().map_err(|open| self.unbalanced(&open))? {
            self.take(&span, dialect)?;
        }
        let (taken, line) = (scan.position, scan.line);
        if self.encoding.is_utf8() && !buffer[..taken].is_ascii() {
            let (whole, broken) = text::utf8_tally(&buffer[..taken]);
            self.tally = (self.tally.0 + whole, self.tally.1 + broken);
        }
        if taken > 0 {
            self.cuts.push(Cut { offset: self.offset, bytes: taken, first_row: self.line });
        }
        self.advance(buffer, taken, line);
        Ok(taken)
    }

    /// Gives the buffer back without its first `taken` bytes.
    fn advance(&mut self, mut buffer: Vec<u8>, taken: usize, line: u64) {
        self.last = buffer[..taken].last().copied().unwrap_or(self.last);
        buffer.drain(..taken);
        self.buffer = buffer;
        self.offset += taken as u64;
        self.line = line;
    }

    fn take(&mut self, span: &Span<'_>, dialect: Dialect) -> Result<()> {
        self.rows += 1;
        if span.bytes.len() > self.bounds.record_bytes() {
            return Err(self.too_large_row(span.line));
        }
        if span.lines > 1 {
            if span.swallows_rows(dialect, self.columns.len()) {
                return Err(self.unbalanced(&Unbalanced { line: span.line, closes: Some(span.line + span.lines - 1) }));
            }
            if self.lines_in_cells.0 == 0 {
                self.lines_in_cells.1 = span.line;
            }
            self.lines_in_cells.0 += 1;
        }
        if self.sampler.wants_next() {
            let mut record = RawRecord::default();
            match delimited_records::fill(span, dialect, self.columns.len(), &mut record, &mut String::new()) {
                Ok(()) => self.sampler.keep(record, span.bytes.len()),
                Err(bad) => self.unread.get_or_insert((0, span.line, bad.detail)).0 += 1,
            }
        }
        Ok(())
    }

    fn unbalanced(&self, open: &Unbalanced) -> Error {
        let what = match open.closes {
            None => "a quote opens on this line and never closes".to_string(),
            Some(line) => format!(
                "a quote opens on this line and swallows the lines up to {line}; expected it to close on its own line"
            ),
        };
        Error::input(
            format!("{}:{}", self.at, open.line),
            what,
            "close the quote, or double it where it is an inch sign within quotes",
        )
    }

    fn too_large(&self, dialect: Dialect) -> Error {
        // With nothing to follow, the scan says whether a quote is to blame.
        match RecordScan::new(&self.buffer, dialect, self.line, true).next_record() {
            Err(Unbalanced { line, closes: None }) => Error::input(
                format!("{}:{line}", self.at),
                format!(
                    "a quote opens on this line and does not close within {} MiB; expected rows of text",
                    self.bounds.record_mib
                ),
                "close the quote, or double it where it is an inch sign within quotes",
            ),
            Err(open) => self.unbalanced(&open),
            Ok(_) => self.too_large_row(self.line),
        }
    }

    fn too_large_row(&self, line: u64) -> Error {
        Error::input(
            format!("{}:{line}", self.at),
            format!("a row of more than {} MiB begins here; expected rows of text", self.bounds.record_mib),
            "check that the file is a table of text; where it is, --largest-record MIB",
        )
    }

    /// Decides dialect and columns and takes the header off the buffer.
    fn first_lines(&mut self) -> Result<Dialect> {
        if memchr::memchr(0, &self.buffer).is_some() {
            let what = "the file holds NUL bytes; expected text";
            return Err(Error::input(&self.at, what, "export the table as CSV (UTF-8)"));
        }
        let line_end = if memchr::memchr(b'\n', &self.buffer).is_none() && memchr::memchr(b'\r', &self.buffer).is_some()
        {
            b'\r'
        } else {
            b'\n'
        };
        self.declared_delimiter(line_end);
        let dialect = match self.dialect {
            Some(declared) => declared,
            None => choose_delimiter(&self.buffer, line_end, self.ended),
        };
        self.header(dialect)?;
        let name = match dialect.delimiter {
            b'\t' => "tab".to_string(),
            other => char::from(other).to_string(),
        };
        if self.columns.len() > 1 {
            self.notes.insert(0, format!("delimiter {name}"));
        } else {
            self.notes.insert(0, "one column: no delimiter found".to_string());
        }
        Ok(dialect)
    }

    /// A first line `sep=;`, as spreadsheets write it.
    fn declared_delimiter(&mut self, line_end: u8) {
        let end = memchr::memchr(line_end, &self.buffer).unwrap_or(self.buffer.len());
        let line = self.buffer[..end].trim_ascii_end();
        if let [b's' | b'S', b'e' | b'E', b'p' | b'P', b'=', delimiter] = *line {
            self.dialect = Some(Dialect { delimiter, line_end });
            self.notes.push("the first line names the delimiter".to_string());
            let buffer = std::mem::take(&mut self.buffer);
            let taken = (end + 1).min(buffer.len());
            self.advance(buffer, taken, self.line + 1);
        }
    }

    fn header(&mut self, dialect: Dialect) -> Result<()> {
        let buffer = std::mem::take(&mut self.buffer);
        let mut scan = RecordScan::new(&buffer, dialect, self.line, self.ended);
        let span = scan.next_record().map_err(|open| self.unbalanced(&open))?;
        let Some(span) = span else {
            let what =
                if self.ended { "the file has no row; expected a header" } else { "the header is longer than 1 MiB" };
            return Err(Error::input(&self.at, what, "the first row must name the columns"));
        };
        let mut names = Vec::new();
        let text = String::from_utf8_lossy(span.bytes);
        span.cells(&text, dialect, &mut String::new(), |cell| {
            names.push(cell.split_whitespace().collect::<Vec<_>>().join(" "))
        });
        let numbers = names.iter().filter(|name| name.replace(',', ".").parse::<f64>().is_ok()).count();
        if numbers > 0 && numbers == names.iter().filter(|name| !name.is_empty()).count() {
            let what = format!(
                "the first row holds only numbers, got `{}`; expected column names",
                text.chars().take(60).collect::<String>()
            );
            return Err(Error::input(
                format!("{}:{}", self.at, span.line),
                what,
                "add a first row that names the columns",
            ));
        }
        let (taken, line) = (scan.position, scan.line);
        self.columns = unique_names(names, &mut self.notes);
        self.advance(buffer, taken, line);
        Ok(())
    }

    /// Nothing can be decided from rows of which not one can be read.
    fn check_some_read(&self, sampled: usize) -> Result<()> {
        let Some((_, line, why)) = self.unread.as_ref().filter(|_| sampled == 0) else { return Ok(()) };
        let hint = "where a number has a decimal comma, or a text a comma, the cell needs quotes, or the cells another delimiter, such as ;";
        Err(Error::input(format!("{}:{line}", self.at), format!("not one row can be read; here {why}"), hint))
    }

    fn into_survey(mut self, input: &InputName, format: Format) -> Result<Survey> {
        self.notes.insert(0, self.encoding.note());
        if self.reader.replaced() {
            self.notes.push(format!("some bytes are not {}; U+FFFD stands in their place", self.encoding.note()));
        }
        if self.tally.1 > 0 {
            self.notes.push(match self.tally.1 {
                1 => "one place is not valid UTF-8; its row is set aside".to_string(),
                places => format!("{places} places are not valid UTF-8; their rows are set aside"),
            });
        }
        let sample = std::mem::replace(&mut self.sampler, Sampler::new()).finish();
        self.check_some_read(sample.len())?;
        if let Some((rows, line, why)) = &self.unread {
            let rows =
                if *rows == 1 { "one row looked at".to_string() } else { format!("{rows} of the rows looked at") };
            self.notes.push(format!("{rows} cannot be read; on line {line}: {why}; see set_aside.csv"));
        }
        if self.lines_in_cells.0 > 0 {
            let (rows, line) = self.lines_in_cells;
            self.notes.push(match rows {
                1 => format!("one row has a quoted cell that runs over several lines, on line {line}"),
                _ => format!("{rows} rows have a quoted cell that runs over several lines, the first on line {line}"),
            });
        }
        if self.rows > 0 && !matches!(self.last, b'\n' | b'\r') {
            self.notes.push(UNENDED.to_string());
        }
        let hash: FileHash = self.reader.finish();
        let text =
            TextPlan { path: input.path.clone(), encoding: self.encoding, cuts: self.cuts, file_bytes: hash.bytes };
        let dialect = self.dialect.expect("decided before the first record");
        Ok(Survey {
            input: input.clone(),
            format,
            files: vec![hash],
            layer: None,
            layers: Vec::new(),
            crs: None,
            rows: self.rows,
            sample,
            notes: self.notes,
            geometry_types: Vec::new(),
            stamps: Vec::new(),
            plan: Plan::Delimited(Arc::new(DelimitedPlan { text, dialect, columns: self.columns.len() })),
            columns: self.columns,
        })
    }
}

/// The delimiter under which most of the first records have as many cells as the header; more columns weigh more.
fn choose_delimiter(bytes: &[u8], line_end: u8, last: bool) -> Dialect {
    let mut best = (0.0, Dialect { delimiter: b',', line_end });
    for delimiter in *b",;\t|" {
        let dialect = Dialect { delimiter, line_end };
        let score = delimiter_score(bytes, dialect, last);
        if score > best.0 {
            best = (score, dialect);
        }
    }
    best.1
}

/// Share of records with the header's cell count, times (1 - 1 / columns): 0 for a single column.
fn delimiter_score(bytes: &[u8], dialect: Dialect, last: bool) -> f64 {
    let mut scan = RecordScan::new(bytes, dialect, 1, last);
    let mut counts = Vec::new();
    let mut scratch = String::new();
    while counts.len() < DELIMITER_RECORDS {
        let Ok(Some(span)) = scan.next_record() else { break };
        let mut cells = 0_u32;
        span.cells(&String::from_utf8_lossy(span.bytes), dialect, &mut scratch, |_| cells += 1);
        counts.push(cells);
    }
    let Some((&columns, rows)) = counts.split_first() else { return 0.0 };
    let same = rows.iter().filter(|&&cells| cells == columns).count();
    let share = if rows.is_empty() { 1.0 } else { same as f64 / rows.len() as f64 };
    // A wrong share still leaves a choice for files in which every row is damaged.
    (0.01 + share) * (1.0 - 1.0 / f64::from(columns))
}

/// Names empty columns `column N` and repeated ones `name (2)`; says so in the notes.
pub(super) fn unique_names(names: Vec<String>, notes: &mut Vec<String>) -> Vec<String> {
    let mut seen = HashSet::new();
    let mut unique = Vec::with_capacity(names.len());
    for (index, name) in names.into_iter().enumerate() {
        let base = if name.is_empty() { format!("column {}", index + 1) } else { name.clone() };
        let mut chosen = base.clone();
        let mut number = 2;
        while !seen.insert(chosen.clone()) {
            chosen = format!("{base} ({number})");
            number += 1;
        }
        if name.is_empty() {
            notes.push(format!("column {} has no name; it is called `{chosen}`", index + 1));
        } else if chosen != name {
            notes.push(format!("column {} repeats the name `{name}`; it is called `{chosen}`", index + 1));
        }
        unique.push(chosen);
    }
    unique
}

#[cfg(test)]
#[path = "delimited_tests.rs"]
mod tests;
