//! Cells -> CSV text after RFC 4180 (comma, CRLF, quotes where needed).
//!
//! Text that a spreadsheet would run as a formula gets a leading apostrophe, and text that begins with an apostrophe gets another,
//! so that taking one leading apostrophe away gives the text back. Numbers are written as they are.
//!
//! # Source
//! The characters are those of the OWASP page "CSV Injection" (from memory): `=`, `+`, `-`, `@`, tab, carriage return, line feed,
//! and the full-width forms of the first four.

use super::number::{push_fixed, push_whole};

/// Characters at the start of a cell that a spreadsheet may take for a formula.
const FORMULA_STARTS: [char; 11] =
    ['=', '+', '-', '@', '\t', '\r', '\n', '\u{ff1d}', '\u{ff0b}', '\u{ff0d}', '\u{ff20}'];

/// About what the rows of one part take, bytes: growing would copy them again.
const ROOM: usize = 1 << 16;

/// Whether a text cell needs the apostrophe.
fn needs_apostrophe(text: &str) -> bool {
    text.chars().next().is_some_and(|first| first == '\'' || FORMULA_STARTS.contains(&first))
}

/// Rows of one table as text. Cells are given with the names of their columns, in the order of the header.
pub struct Sheet<'h> {
    header: &'h [String],
    at: usize,
    writer: csv::Writer<Vec<u8>>,
    cell: Vec<u8>,
}

impl<'h> Sheet<'h> {
    /// A sheet without rows and without its header.
    pub fn new(header: &'h [String]) -> Sheet<'h> {
        let writer = csv::WriterBuilder::new().terminator(csv::Terminator::CRLF).from_writer(Vec::with_capacity(ROOM));
        Sheet { header, at: 0, writer, cell: Vec::new() }
    }

    /// The header as text.
    pub fn header_text(header: &[String]) -> Vec<u8> {
        let mut sheet = Sheet::new(header);
        for name in header {
            sheet.field(name.as_bytes());
        }
        sheet.end();
        sheet.into_text()
    }

    /// A text cell.
    pub fn text(&mut self, column: &str, text: &str) {
        self.check(column);
        if needs_apostrophe(text) {
            self.cell.clear();
            self.cell.push(b'\'');
            self.cell.extend_from_slice(text.as_bytes());
            self.put();
        } else {
            self.field(text.as_bytes());
        }
    }

    /// A number with a fixed number of decimals; empty where there is none or where it is not finite.
    pub fn number(&mut self, column: &str, value: Option<f64>, decimals: u32) {
        self.check(column);
        self.cell.clear();
        if let Some(value) = value {
            push_fixed(&mut self.cell, value, decimals);
        }
        self.put();
    }

    /// A whole number.
    pub fn whole(&mut self, column: &str, value: u64) {
        self.check(column);
        self.cell.clear();
        push_whole(&mut self.cell, value);
        self.put();
    }

    /// `yes` or `no`.
    pub fn yes_no(&mut self, column: &str, value: bool) {
        self.text(column, if value { "yes" } else { "no" });
    }

    /// Ends the row.
    pub fn end(&mut self) {
        debug_assert_eq!(self.at, self.header.len(), "a row has as many cells as the header");
        self.at = 0;
        self.writer.write_record(None::<&[u8]>).expect("a row of the header's length, in memory");
    }

    /// The rows as text.
    pub fn into_text(self) -> Vec<u8> {
        self.writer.into_inner().expect("writing in memory does not fail")
    }

    /// The column lists and the cells are written in different places; this keeps them in step.
    fn check(&self, column: &str) {
        debug_assert!(same_column(&self.header[self.at], column), "column {} got {column}", self.header[self.at]);
    }

    fn put(&mut self) {
        let cell = std::mem::take(&mut self.cell);
        self.field(&cell);
        self.cell = cell;
    }

    fn field(&mut self, bytes: &[u8]) {
        self.at += 1;
        self.writer.write_field(bytes).expect("writing in memory does not fail");
    }
}

/// Whether a header cell is the column, or one of a repeated column such as `<ring>_radius_m`.
fn same_column(header: &str, column: &str) -> bool {
    match (column.split_once('<'), column.split_once('>')) {
        (Some((before, _)), Some((_, after))) => header.starts_with(before) && header.ends_with(after),
        _ => header == column,
    }
}

/// Takes away the apostrophe that [`Sheet::text`] added: the text as it was.
pub fn plain_text(cell: &str) -> &str {
    cell.strip_prefix('\'').unwrap_or(cell)
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn one(text: &str) -> String {
        let header = vec!["a".to_string()];
        let mut sheet = Sheet::new(&header);
        sheet.text("a", text);
        sheet.end();
        String::from_utf8(sheet.into_text()).unwrap()
    }

    #[test]
    fn formulas_are_neutralised_and_numbers_are_not() {
        assert_eq!(one("=1+2"), "'=1+2\r\n");
        assert_eq!(one("-12"), "'-12\r\n");
        assert_eq!(one("\u{ff1d}A1"), "'\u{ff1d}A1\r\n");
        assert_eq!(one("'s Gravenhage"), "''s Gravenhage\r\n");
        assert_eq!(one("a, \"b\"\r\nc"), "\"a, \"\"b\"\"\r\nc\"\r\n");
        assert_eq!(one("\rx"), "\"'\rx\"\r\n");
        let header = vec!["n".to_string()];
        let mut sheet = Sheet::new(&header);
        sheet.number("n", Some(-1.5), 3);
        sheet.end();
        sheet.number("n", Some(f64::NAN), 3);
        sheet.end();
        assert_eq!(sheet.into_text(), b"-1.500\r\n\"\"\r\n");
    }

    proptest! {
        #[test]
        fn any_text_comes_back(text in "([=+@'\\-\t\r\n\u{ff1d}\",; a-z0-9é]{0,12})") {
            let csv_text = one(&text);
            let mut reader = csv::ReaderBuilder::new().has_headers(false).from_reader(csv_text.as_bytes());
            let cell = reader.records().next().unwrap().unwrap()[0].to_string();
            prop_assert!(!cell.starts_with(FORMULA_STARTS), "{cell:?}");
            let back = if needs_apostrophe(&text) { plain_text(&cell) } else { cell.as_str() };
            prop_assert_eq!(back, text.as_str());
            // The rule needs no knowledge of the text: one leading apostrophe goes, always.
            prop_assert_eq!(plain_text(&cell), text);
        }
    }
}
