//! Surveys GeoJSON in its three forms: one document, one feature per line, and the text sequence of RFC 8142.
//!
//! A document is cut into its features without building it, whatever the order of its members. Coordinates are longitude first
//! in every GeoJSON; a `crs` member (2008 draft) is honoured where it names a CRS, and refused where it points elsewhere.

use super::chunk::{Cut, Row, TextPlan};
use super::feature_json::{self, FeatureColumns, GEOMETRY_TYPES};
use super::feature_names::Seen;
use super::json_scan::{self, Scan, Stop};
use super::sample::Sampler;
use super::text::{self, TextEncoding, TextReader};
use super::{CHUNK_BYTES, Format, Plan, Survey, crs};
use crate::error::{Error, Result};
use crate::model::crs::Crs;
use crate::model::record::RawRecord;
use crate::settings::{InputName, ReadBounds};
use std::sync::Arc;

/// The record separator of RFC 8142.
const RECORD_SEPARATOR: u8 = 0x1E;

/// How features are set apart in a chunk.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Layout {
    /// Objects separated by commas.
    Array,
    /// The whole file is one feature or geometry.
    Single,
    /// Texts set apart by a byte that cannot stand within them.
    Separated(u8),
}

/// How the features of a file are read again.
#[derive(Debug)]
pub(super) struct JsonPlan {
    pub(super) text: TextPlan,
    layout: Layout,
    columns: FeatureColumns,
}

/// Calls `f` for every feature of a chunk.
pub(super) fn for_each(plan: &JsonPlan, bytes: &[u8], row: u64, f: &mut dyn FnMut(Row<'_>)) {
    let mut record = RawRecord::default();
    let mut row = row;
    each_text(plan.layout, bytes, &mut |text| {
        match feature_json::fill(text, row, plan.layout != Layout::Array, &plan.columns, &mut record) {
            Ok(()) => f(Ok(&record)),
            Err(problem) => f(Err(problem)),
        }
        row += 1;
    });
}

/// Hands out the text of each feature of a chunk that the survey has cut.
fn each_text(layout: Layout, bytes: &[u8], f: &mut dyn FnMut(&[u8])) {
    match layout {
        Layout::Single => f(bytes),
        Layout::Separated(separator) => {
            bytes.split(|&byte| byte == separator).map(<[u8]>::trim_ascii).filter(|text| !text.is_empty()).for_each(f);
        }
        Layout::Array => {
            let mut at = 0;
            while let Ok(start) = json_scan::skip_space(bytes, at) {
                if bytes[start] == b',' {
                    at = start + 1;
                    continue;
                }
                // The survey saw each value whole; where the file changed since, the rest becomes one bad row.
                at = json_scan::value_end(bytes, start).unwrap_or(bytes.len());
                f(&bytes[start..at]);
            }
        }
    }
}

/// Reads the whole file once.
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
    let mut walk = Walk::new(input, chunk_bytes, bounds)?;
    let (format, layout) = match format {
        Format::GeoJsonLines => (format, Layout::Separated(b'\n')),
        Format::GeoJsonSequence => (format, Layout::Separated(RECORD_SEPARATOR)),
        _ => match walk.document()? {
            // More objects follow the first: the file is line-delimited in spite of its name.
            None => (Format::GeoJsonLines, Layout::Separated(b'\n')),
            Some(layout) => (Format::GeoJson, layout),
        },
    };
    if let Layout::Separated(separator) = layout {
        walk = Walk::new(input, chunk_bytes, bounds)?;
        walk.separated(separator)?;
    }
    walk.into_survey(input, format, layout)
}

/// The state of one pass over the file.
struct Walk {
    at: String,
    reader: TextReader,
    encoding: TextEncoding,
    chunk_bytes: usize,
    bounds: ReadBounds,
    buffer: Vec<u8>,
    ended: bool,
    /// Position of the buffer's first byte in the text, and the line end count before it.
    offset: u64,
    lines: u64,
    cuts: Vec<Cut>,
    rows: u64,
    seen: Seen,
    sampler: Sampler<(u64, Vec<u8>)>,
    crs_member: Option<Vec<u8>>,
}

impl Walk {
    fn new(input: &InputName, chunk_bytes: usize, bounds: ReadBounds) -> Result<Walk> {
        let encoding = TextEncoding::of_head(&text::head(&input.path, 64)?);
        Ok(Walk {
            at: input.path.display().to_string(),
            reader: TextReader::open(&input.path, encoding, true)?,
            encoding,
            chunk_bytes,
            bounds,
            buffer: Vec::new(),
            ended: false,
            offset: 0,
            lines: 0,
            cuts: Vec::new(),
            rows: 0,
            seen: Seen::default(),
            sampler: Sampler::new(),
            crs_member: None,
        })
    }

    /// Runs a scan from `at` in the buffer, reading more until it succeeds; bytes before `at` may be given up first.
    fn scan<T>(&mut self, at: &mut usize, scan: impl Fn(&[u8], usize) -> Scan<T>) -> Result<T> {
        loop {
            match scan(&self.buffer, *at) {
                Ok(found) => return Ok(found),
                Err(Stop::Wrong(position, what)) => return Err(self.wrong(position, &what)),
                Err(Stop::Incomplete) if self.ended => {
                    let what = format!(
                        "the file ends within the JSON value that begins here, after {} bytes",
                        self.offset + self.buffer.len() as u64
                    );
                    return Err(self.wrong(*at, &what));
                }
                Err(Stop::Incomplete) if self.buffer.len() - *at > self.bounds.record_bytes() => {
                    return Err(self.too_large(*at));
                }
                Err(Stop::Incomplete) => self.read_on(at)?,
            }
        }
    }

    /// Gives up the bytes before `at` and reads at least as much as is left.
    fn read_on(&mut self, at: &mut usize) -> Result<()> {
        self.give_up(*at);
        *at = 0;
        let wanted = self.buffer.len().max(self.chunk_bytes);
        self.ended = !self.reader.append(&mut self.buffer, wanted)?;
        Ok(())
    }

    fn give_up(&mut self, bytes: usize) {
        self.lines += memchr::memchr_iter(b'\n', &self.buffer[..bytes]).count() as u64;
        self.offset += bytes as u64;
        self.buffer.drain(..bytes);
    }

    fn wrong(&self, position: usize, what: &str) -> Error {
        let (line, column) = json_scan::line_and_column(&self.buffer, position);
        let at = format!("{}:{}:{column}", self.at, self.lines + line + 1);
        Error::input(at, what, "check that the file is whole and is GeoJSON")
    }

    fn too_large(&self, position: usize) -> Error {
        let (line, column) = json_scan::line_and_column(&self.buffer, position);
        let at = format!("{}:{}:{column}", self.at, self.lines + line + 1);
        let what = format!("a JSON value of more than {} MiB begins here", self.bounds.record_mib);
        Error::input(at, what, "divide the feature, or --largest-record MIB")
    }

    /// Walks over one document. `None` where another object follows it.
    fn document(&mut self) -> Result<Option<Layout>> {
        let mut at = 0;
        let mut kind = None;
        let mut has_features = false;
        at = self.scan(&mut at, |bytes, at| json_scan::expect(bytes, at, b'{'))?;
        let start = self.offset + at as u64 - 1;
        let mut first = true;
        loop {
            at = self.scan(&mut at, json_scan::skip_space)?;
            match self.buffer[at] {
                b'}' => {
                    at += 1;
                    break;
                }
                b',' if !first => at += 1,
                _ if first => {}
                byte => return Err(self.wrong(at, &format!("got `{}`; expected `,` or `}}`", byte.escape_ascii()))),
            }
            first = false;
            let (name, value) = self.scan(&mut at, |bytes, at| {
                json_scan::member_start(bytes, at).map(|(name, value)| (name.to_vec(), value))
            })?;
            at = value;
            if name == b"features" && self.buffer[at] == b'[' {
                if has_features {
                    return Err(self.wrong(at, "a second member `features`; expected one"));
                }
                has_features = true;
                self.features(&mut at)?;
                continue;
            }
            let end = self.scan(&mut at, value_with_end)?;
            let value = &self.buffer[end.0..end.1];
            match name.as_slice() {
                b"type" => kind = Some(json_scan::unescape(value).trim_matches('"').to_string()),
                b"crs" => self.crs_member = Some(value.to_vec()),
                _ => {}
            }
            at = end.1;
        }
        let end = self.offset + at as u64;
        let follows = self.follows(&mut at)?;
        self.layout(kind.as_deref(), has_features, follows, start, end)
    }

    /// The first byte behind the document that is not white space; the rest of the file is read.
    fn follows(&mut self, at: &mut usize) -> Result<Option<u8>> {
        loop {
            match json_scan::skip_space(&self.buffer, *at) {
                Ok(found) => {
                    *at = found;
                    return Ok(Some(self.buffer[found]));
                }
                Err(_) if self.ended => return Ok(None),
                Err(_) => {
                    *at = self.buffer.len();
                    self.read_on(at)?;
                }
            }
        }
    }

    fn layout(
        &mut self,
        kind: Option<&str>,
        has_features: bool,
        follows: Option<u8>,
        start: u64,
        end: u64,
    ) -> Result<Option<Layout>> {
        let kind = kind.unwrap_or("(none)");
        let single = kind == "Feature" || GEOMETRY_TYPES.contains(&kind);
        match follows {
            Some(b'{') if single => return Ok(None),
            Some(byte) => {
                let what =
                    format!("text after the end of the document, got `{}`; expected nothing", byte.escape_ascii());
                return Err(Error::input(&self.at, what, "give one document per file, or one feature per line"));
            }
            None => {}
        }
        if kind == "FeatureCollection" && has_features {
            return Ok(Some(Layout::Array));
        }
        if !single {
            let what = format!(
                "the document has type `{kind}`{}; expected `FeatureCollection` with `features`",
                if has_features { " and features" } else { "" }
            );
            return Err(Error::input(&self.at, what, "export it as GeoJSON (RFC 7946)"));
        }
        self.single(start, end)?;
        Ok(Some(Layout::Single))
    }

    /// The whole document is one record: it is read again, now that this is known.
    fn single(&mut self, start: u64, end: u64) -> Result<()> {
        let bytes = usize::try_from(end - start).unwrap_or(usize::MAX);
        if bytes > self.bounds.record_bytes() {
            return Err(self.too_large(0));
        }
        let mut reader = TextReader::open(self.at.as_ref(), self.encoding, false)?;
        let mut text = Vec::new();
        while reader.append(&mut text, CHUNK_BYTES)? {}
        let start_in_text = usize::try_from(start).expect("below the size of the text");
        let text = text.get(start_in_text..start_in_text + bytes).unwrap_or_default().to_vec();
        self.see(&text);
        self.cuts.push(Cut { offset: start, bytes, first_row: 1 });
        Ok(())
    }

    /// Cuts the array of features whose `[` is at `at`.
    fn features(&mut self, at: &mut usize) -> Result<()> {
        *at += 1;
        let mut cut: Option<Cut> = None;
        loop {
            *at = self.scan(at, json_scan::skip_space)?;
            match self.buffer[*at] {
                b']' => break,
                b',' if self.rows > 0 => {
                    *at += 1;
                    *at = self.scan(at, json_scan::skip_space)?;
                }
                _ if self.rows == 0 => {}
                byte => {
                    return Err(
                        self.wrong(*at, &format!("got `{}`; expected `,` or `]` after a feature", byte.escape_ascii()))
                    );
                }
            }
            let (start, end) = self.scan(at, value_with_end)?;
            if end - start > self.bounds.record_bytes() {
                return Err(self.too_large(start));
            }
            let text = std::mem::take(&mut self.buffer);
            self.see(&text[start..end]);
            self.buffer = text;
            *at = end;
            let offset = self.offset + start as u64;
            let cut_now = cut.get_or_insert(Cut { offset, bytes: 0, first_row: self.rows });
            cut_now.bytes = usize::try_from(self.offset + end as u64 - cut_now.offset).expect("a cut fits into memory");
            if cut_now.bytes >= self.chunk_bytes {
                self.cuts.extend(cut.take());
                if *at > self.chunk_bytes {
                    self.give_up(*at);
                    *at = 0;
                }
            }
        }
        self.cuts.extend(cut);
        *at += 1;
        Ok(())
    }

    /// Walks over texts set apart by a byte.
    fn separated(&mut self, separator: u8) -> Result<()> {
        loop {
            let end = memchr::memrchr(separator, &self.buffer).map_or(0, |end| end + 1);
            // A sequence's text begins with its separator, a line ends with it: either way what is behind the last may go on.
            let end = if self.ended {
                self.buffer.len()
            } else if separator == RECORD_SEPARATOR {
                end.saturating_sub(1)
            } else {
                end
            };
            if end > 0 {
                let bytes = std::mem::take(&mut self.buffer);
                let first_row = self.rows + 1;
                let mut too_large = None;
                each_text(Layout::Separated(separator), &bytes[..end], &mut |text| {
                    if text.len() > self.bounds.record_bytes() {
                        too_large.get_or_insert(text.as_ptr() as usize - bytes.as_ptr() as usize);
                    }
                    self.see(text);
                });
                self.cuts.push(Cut { offset: self.offset, bytes: end, first_row });
                self.buffer = bytes;
                if let Some(position) = too_large {
                    return Err(self.too_large(position));
                }
                self.give_up(end);
            } else if self.buffer.len() > self.bounds.record_bytes() {
                return Err(self.too_large(0));
            }
            if self.ended {
                return Ok(());
            }
            self.read_on(&mut 0)?;
        }
    }

    /// Takes note of one feature.
    fn see(&mut self, text: &[u8]) {
        self.rows += 1;
        self.seen.feature(text);
        if self.sampler.wants_next() {
            self.sampler.keep((self.rows, text.to_vec()), text.len());
        }
    }

    fn crs(&self, input: &InputName, notes: &mut Vec<String>) -> Result<Crs> {
        let Some(member) = &self.crs_member else {
            return crs::describe_crs("OGC:CRS84", "GeoJSON is WGS 84 by RFC 7946");
        };
        let at = input.path.display().to_string();
        let value: serde_json::Value = serde_json::from_slice(member).unwrap_or_default();
        if value.is_null() {
            return crs::describe_crs("OGC:CRS84", "GeoJSON is WGS 84 by RFC 7946");
        }
        let name = value["properties"]["name"].as_str();
        match (value["type"].as_str(), name) {
            (Some("name"), Some(name)) => {
                notes.push(format!("the member `crs` names {name}; RFC 7946 has no such member, it is honoured, longitude or easting first"));
                crs::describe_crs(name, "in the file").map_err(|e| Error::Crs {
                    at,
                    what: e.to_string(),
                    hint: e.hint().to_string(),
                })
            }
            (kind, _) => Err(Error::Crs {
                at,
                what: format!(
                    "the member `crs` has type `{}`; expected a `name`: nothing is looked up elsewhere",
                    kind.unwrap_or("(none)")
                ),
                hint: "remove the member if the coordinates are WGS 84, or name the CRS".to_string(),
            }),
        }
    }

    fn into_survey(mut self, input: &InputName, format: Format, layout: Layout) -> Result<Survey> {
        let mut notes = vec![format.name().to_string(), self.encoding.note()];
        let crs = self.crs(input, &mut notes)?;
        let mut columns = std::mem::take(&mut self.seen.columns);
        let id = (self.seen.ids && !columns.iter().any(|name| name == "id")).then_some(0);
        if id.is_some() {
            columns.insert(0, "id".to_string());
            notes.push("column `id` is the features' own id".to_string());
        }
        let hash = self.reader.finish();
        let text =
            TextPlan { path: input.path.clone(), encoding: self.encoding, cuts: self.cuts, file_bytes: hash.bytes };
        let plan = JsonPlan { text, layout, columns: FeatureColumns::new(&columns, id) };
        let mut sample = Vec::new();
        for (row, text) in self.sampler.finish() {
            let mut record = RawRecord::default();
            if feature_json::fill(&text, row, layout != Layout::Array, &plan.columns, &mut record).is_ok() {
                sample.push(record);
            }
        }
        Ok(Survey {
            input: input.clone(),
            format,
            files: vec![hash],
            layer: None,
            layers: Vec::new(),
            columns,
            crs: Some(crs),
            rows: self.rows,
            sample,
            notes,
            geometry_types: self.seen.types.into_iter().collect(),
            stamps: Vec::new(),
            plan: Plan::Json(Arc::new(plan)),
        })
    }
}

/// A value's first position and the position behind it, white space before it passed over.
fn value_with_end(bytes: &[u8], at: usize) -> Scan<(usize, usize)> {
    let start = json_scan::skip_space(bytes, at)?;
    Ok((start, json_scan::value_end(bytes, start)?))
}

#[cfg(test)]
#[path = "geojson_tests.rs"]
mod tests;
