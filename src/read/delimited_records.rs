//! Where the records and cells of delimited text begin and end (RFC 4180, and what real files do beyond it).
//!
//! A quote opens only at the beginning of a cell: in `12" oak` it is an inch sign. A doubled quote inside a quoted cell is one
//! quote. Text after a closing quote belongs to the cell. A record ends at its line's end outside quotes.

use super::RowProblem;
use super::chunk::Row;
use crate::model::record::RawRecord;
use memchr::{memchr, memchr_iter, memchr2};

/// How cells and lines are set apart.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Dialect {
    pub(super) delimiter: u8,
    /// `\n`, or `\r` in files that have no `\n`.
    pub(super) line_end: u8,
}

/// One record's bytes without its line end.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Span<'a> {
    pub(super) bytes: &'a [u8],
    pub(super) line: u64,
    /// Lines that it runs over; 1 for most.
    pub(super) lines: u64,
    quoted: bool,
}

/// Why the text cannot be cut into records.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Unbalanced {
    /// Line of the quote that opens.
    pub(super) line: u64,
    /// Line on which it seems to close; `None` where it never does.
    pub(super) closes: Option<u64>,
}

/// Walks over the whole records of a piece of text that begins with a record.
pub(super) struct RecordScan<'a> {
    bytes: &'a [u8],
    dialect: Dialect,
    /// Bytes up to here are whole records.
    pub(super) position: usize,
    /// Line at `position`.
    pub(super) line: u64,
    /// True where nothing follows the piece.
    last: bool,
}

impl<'a> RecordScan<'a> {
    pub(super) fn new(bytes: &'a [u8], dialect: Dialect, line: u64, last: bool) -> RecordScan<'a> {
        RecordScan { bytes, dialect, position: 0, line, last }
    }

    /// The next whole record; blank lines are passed over. `None` where the rest is not a whole record.
    pub(super) fn next_record(&mut self) -> Result<Option<Span<'a>>, Unbalanced> {
        loop {
            let Some(span) = self.next_line()? else { return Ok(None) };
            if !span.bytes.is_empty() {
                return Ok(Some(span));
            }
        }
    }

    fn next_line(&mut self) -> Result<Option<Span<'a>>, Unbalanced> {
        let (bytes, start) = (self.bytes, self.position);
        let (mut at, mut lines, mut quoted) = (start, 1, false);
        loop {
            match memchr2(b'"', self.dialect.line_end, &bytes[at..]) {
                Some(offset) if bytes[at + offset] == self.dialect.line_end => {
                    let end = at + offset;
                    return Ok(Some(self.take(start, end, end + 1, lines, quoted)));
                }
                Some(offset) => {
                    let quote = at + offset;
                    let opens = quote == start || bytes[quote - 1] == self.dialect.delimiter;
                    at = quote + 1;
                    if opens {
                        quoted = true;
                        let Some((close, inner)) = self.close(quote, lines)? else { return Ok(None) };
                        at = close + 1;
                        lines += inner;
                    }
                }
                None if !self.last || start == bytes.len() => return Ok(None),
                None => return Ok(Some(self.take(start, bytes.len(), bytes.len(), lines, quoted))),
            }
        }
    }

    fn take(&mut self, start: usize, end: usize, next: usize, lines: u64, quoted: bool) -> Span<'a> {
        let line = self.line;
        self.position = next;
        self.line += lines;
        let bytes = &self.bytes[start..end];
        let bytes = if self.dialect.line_end == b'\n' { bytes.strip_suffix(b"\r").unwrap_or(bytes) } else { bytes };
        Span { bytes, line, lines, quoted }
    }

    /// The quote that closes the one at `open`, and the line ends between. `lines` is what the record ran over before.
    fn close(&self, open: usize, lines: u64) -> Result<Option<(usize, u64)>, Unbalanced> {
        let opening_line = self.line + lines - 1;
        let Some(close) = closing_quote(self.bytes, open) else {
            return if self.last { Err(Unbalanced { line: opening_line, closes: None }) } else { Ok(None) };
        };
        if close + 1 == self.bytes.len() && !self.last {
            return Ok(None);
        }
        let inner = memchr_iter(self.dialect.line_end, &self.bytes[open..close]).count() as u64;
        let ends_cell = match self.bytes.get(close + 1) {
            None | Some(b'\r' | b'\n') => true,
            Some(&byte) => byte == self.dialect.delimiter,
        };
        // A cell over several lines that does not end where its quote closes: the quote was never meant to open it.
        if inner > 0 && !ends_cell {
            return Err(Unbalanced { line: opening_line, closes: Some(opening_line + inner) });
        }
        Ok(Some((close, inner)))
    }
}

/// Position of the quote that closes the one at `open`; doubled quotes are passed over.
fn closing_quote(bytes: &[u8], open: usize) -> Option<usize> {
    let mut at = open + 1;
    loop {
        let quote = at + memchr(b'"', &bytes[at..])?;
        if bytes.get(quote + 1) != Some(&b'"') {
            return Some(quote);
        }
        at = quote + 2;
    }
}

impl Span<'_> {
    /// True where each of its lines, quotes ignored, has exactly the cells of a record: rows swallowed by one quote.
    pub(super) fn swallows_rows(&self, dialect: Dialect, columns: usize) -> bool {
        self.lines > 1
            && columns > 2
            && self
                .bytes
                .split(|&byte| byte == dialect.line_end)
                .all(|line| memchr_iter(dialect.delimiter, line).count() + 1 == columns)
    }

    /// Calls `f` with every cell; `scratch` holds cells that had to be put together.
    pub(super) fn cells(&self, text: &str, dialect: Dialect, scratch: &mut String, mut f: impl FnMut(&str)) {
        if !self.quoted {
            let mut start = 0;
            for end in memchr_iter(dialect.delimiter, text.as_bytes()) {
                f(&text[start..end]);
                start = end + 1;
            }
            return f(&text[start..]);
        }
        let mut rest = Some(text);
        while let Some(text) = rest {
            rest = next_cell(text, dialect, scratch, &mut f);
        }
    }
}

/// Hands out the first cell of `text` and returns what follows its delimiter.
fn next_cell<'t>(text: &'t str, dialect: Dialect, scratch: &mut String, f: &mut impl FnMut(&str)) -> Option<&'t str> {
    let bytes = text.as_bytes();
    let quote = if bytes.first() == Some(&b'"') { closing_quote(bytes, 0) } else { None };
    let tail = quote.map_or(0, |close| close + 1);
    let end = memchr(dialect.delimiter, &bytes[tail..]).map_or(bytes.len(), |offset| tail + offset);
    match quote {
        None => f(&text[..end]),
        Some(close) => {
            let inner = &text[1..close];
            if end == tail && !inner.contains('"') {
                f(inner);
            } else {
                scratch.clear();
                scratch.push_str(&inner.replace("\"\"", "\""));
                scratch.push_str(&text[tail..end]);
                f(scratch);
            }
        }
    }
    (end < bytes.len()).then(|| &text[end + 1..])
}

/// Fills `record` from a span; the problem where the row is not a record of `columns` cells.
pub(super) fn fill(
    span: &Span<'_>,
    dialect: Dialect,
    columns: usize,
    record: &mut RawRecord,
    scratch: &mut String,
) -> Result<(), RowProblem> {
    let bad = |detail: String| RowProblem { row: span.line, code: "bad-row", detail };
    record.clear(span.line);
    let text = std::str::from_utf8(span.bytes).map_err(|e| {
        bad(format!("byte {} of the row is not valid UTF-8, as the rest of the file is", e.valid_up_to() + 1))
    })?;
    if memchr(0, span.bytes).is_some() {
        return Err(bad("the row holds a NUL byte; expected text".to_string()));
    }
    let (mut cells, mut left_over) = (0, false);
    span.cells(text, dialect, scratch, |cell| {
        cells += 1;
        if cells <= columns {
            record.push(cell);
        } else {
            left_over |= !cell.is_empty();
        }
    });
    // Empty cells beyond the last column lose nothing: many programs end each row with a delimiter.
    match cells {
        _ if cells < columns => Err(bad(format!("{cells} cells, {columns} expected: {} missing", columns - cells))),
        _ if left_over => Err(bad(format!("{cells} cells, {columns} expected: {} left over", cells - columns))),
        _ => Ok(()),
    }
}

/// Calls `f` for every record of a piece of text that begins with a record on line `line`.
pub(super) fn for_each(bytes: &[u8], dialect: Dialect, columns: usize, line: u64, f: &mut dyn FnMut(Row<'_>)) {
    let mut scan = RecordScan::new(bytes, dialect, line, true);
    let (mut record, mut scratch) = (RawRecord::default(), String::new());
    loop {
        match scan.next_record() {
            Ok(Some(span)) => match fill(&span, dialect, columns, &mut record, &mut scratch) {
                Ok(()) => f(Ok(&record)),
                Err(problem) => f(Err(problem)),
            },
            Ok(None) => return,
            // The survey refuses such files; a file that changed since then must not lose rows in silence.
            Err(open) => {
                let detail = "a quote opens here and does not close where a cell ends".to_string();
                return f(Err(RowProblem { row: open.line, code: "bad-row", detail }));
            }
        }
    }
}
