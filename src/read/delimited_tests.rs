//! Deliberately dirty tables, and chunks of every size.

use super::*;
use proptest::prelude::*;

type Rows = Vec<std::result::Result<(u64, Vec<String>), (u64, String)>>;

fn written(bytes: &[u8]) -> (tempfile::TempDir, InputName) {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("trees.csv");
    std::fs::write(&path, bytes).unwrap();
    (folder, InputName { path, layer: None })
}

fn rows(survey: &Survey) -> Rows {
    let mut rows = Vec::new();
    for chunk in survey.chunks().unwrap() {
        chunk.unwrap().for_each(&mut |row| {
            rows.push(match row {
                Ok(record) => {
                    Ok((record.row, (0..record.len()).map(|column| record.cell(column).to_string()).collect()))
                }
                Err(problem) => {
                    assert_eq!(problem.code, "bad-row");
                    Err((problem.row, problem.detail))
                }
            });
        });
    }
    assert_eq!(rows.len() as u64, survey.rows);
    rows
}

fn read(bytes: &[u8]) -> (Survey, Rows) {
    let (_folder, input) = written(bytes);
    let survey = crate::read::survey(&input, ReadBounds::default()).unwrap_or_else(|e| panic!("{e}"));
    let rows = rows(&survey);
    (survey, rows)
}

fn error(bytes: &[u8]) -> String {
    let (_folder, input) = written(bytes);
    crate::read::survey(&input, ReadBounds::default()).unwrap_err().to_string()
}

fn cells(rows: &Rows, index: usize) -> Vec<&str> {
    rows[index].as_ref().unwrap().1.iter().map(String::as_str).collect()
}

#[test]
fn delimiters_are_found_by_consistent_counts() {
    for (text, delimiter, columns) in [
        ("id,dbh,species\n1,12,\"Acer, red\"\n2,3,x\n", ",", 3),
        ("id;dbh;hoehe, in m\n1;12,5;3,25\n2;8,0;4,5\n", ";", 3),
        ("id\tdbh\tnote\n1\t12\ta,b,c\n", "tab", 3),
        ("id|dbh\n1|12;8;6\n2|9;1;2\n", "|", 2),
        ("sep=;\nid;a,b\n1;2,5\n", ";", 2),
    ] {
        let (survey, rows) = read(text.as_bytes());
        assert_eq!(survey.columns.len(), columns, "{text}");
        assert!(survey.notes.contains(&format!("delimiter {delimiter}")), "{:?}", survey.notes);
        assert!(rows.iter().all(std::result::Result::is_ok));
    }
    let (survey, rows) = read(b"dbh\n12\n\n13\n");
    assert_eq!((survey.columns.len(), rows.len()), (1, 2));
}

#[test]
fn encodings_are_found_and_named() {
    let text = "id;Stammumfang;Straße\n1;95,5;Größe Ä ö ü Straße\n2;80,5;Mühlweg fünf\n";
    let utf16 = |order: fn(u16) -> [u8; 2]| text.encode_utf16().flat_map(order).collect::<Vec<u8>>();
    let (windows, ..) = encoding_rs::WINDOWS_1252.encode(text);
    for (bytes, note) in [
        (text.as_bytes().to_vec(), "encoding UTF-8"),
        ([b"\xEF\xBB\xBF", text.as_bytes()].concat(), "encoding UTF-8 (byte order mark)"),
        ([vec![0xFF, 0xFE], utf16(u16::to_le_bytes)].concat(), "encoding UTF-16LE (byte order mark)"),
        ([vec![0xFE, 0xFF], utf16(u16::to_be_bytes)].concat(), "encoding UTF-16BE (byte order mark)"),
        (utf16(u16::to_le_bytes), "encoding UTF-16LE (guessed)"),
        (windows.into_owned(), "encoding windows-1252 (guessed)"),
    ] {
        let (survey, rows) = read(&bytes);
        assert!(survey.notes.iter().any(|n| n == note), "{note}: {:?}", survey.notes);
        assert_eq!(survey.columns, ["id", "Stammumfang", "Straße"], "{note}");
        assert_eq!(cells(&rows, 0), ["1", "95,5", "Größe Ä ö ü Straße"], "{note}");
        assert_eq!(survey.files[0].bytes, bytes.len() as u64);
        assert_eq!(survey.files[0].sha256, text::hexadecimal(&<sha2::Sha256 as sha2::Digest>::digest(&bytes)));
    }
}

#[test]
fn one_broken_byte_in_a_utf8_file_costs_its_row_only() {
    let (survey, rows) = read(b"id,name\n1,\xC3\xA9rable\n2,f\xEAte\n3,\xC3\xA9t\xC3\xA9\n");
    assert_eq!(cells(&rows, 0), ["1", "érable"]);
    assert!(rows[1].as_ref().unwrap_err().1.contains("not valid UTF-8"));
    assert_eq!(cells(&rows, 2), ["3", "été"]);
    assert!(survey.notes.iter().any(|note| note.contains("one place is not valid UTF-8")), "{:?}", survey.notes);
}

#[test]
fn quotes_as_real_files_use_them() {
    let text = "id,size,note\r\n1,12\" oak,\"a \"\"b\"\", c\"\r\n\r\n2,\"two\r\nlines\",x\r\n3,\"\",\"end\"";
    let (survey, rows) = read(text.as_bytes());
    assert_eq!(cells(&rows, 0), ["1", "12\" oak", "a \"b\", c"]);
    assert_eq!(rows[1].as_ref().unwrap().0, 4, "the row is the line on which the record begins");
    assert_eq!(cells(&rows, 1), ["2", "two\r\nlines", "x"]);
    assert_eq!(rows[2], Ok((6, vec!["3".to_string(), String::new(), "end".to_string()])));
    assert!(survey.notes.iter().any(|note| note.contains("over several lines, on line 4")), "{:?}", survey.notes);
}

#[test]
fn ragged_rows_are_said_and_the_others_kept() {
    let (survey, rows) = read(b"a,b,c\n1,2,3\n1,2\n1,2,3,4\n1,2,3,,\n,,\n");
    assert_eq!(survey.rows, 5);
    assert_eq!(rows[1], Err((3, "2 cells, 3 expected: 1 missing".to_string())));
    assert_eq!(rows[2], Err((4, "4 cells, 3 expected: 1 left over".to_string())));
    assert_eq!(cells(&rows, 3), ["1", "2", "3"]);
    assert_eq!(cells(&rows, 4), ["", "", ""]);
}

#[test]
fn a_quote_that_never_closes_is_an_error_with_its_line() {
    let body: String = (0..5_000).map(|n| format!("{n},oak,12\n")).collect();
    for (text, line) in [
        (format!("id,species,dbh\n1,oak,12\n2,\"oak,12\n{body}"), 3),
        // It seems to close where the next quoted cell opens.
        (format!("id,species,dbh\n1,\"oak,12\n2,elm,3\n3,\"Acer, red\",4\n{body}"), 2),
        // It closes properly, having swallowed whole rows.
        (format!("id,species,dbh\n1,\"oak,12\n2,elm\",3\n{body}"), 2),
        ("id,\"species,dbh\n1,oak,12\n".to_string(), 1),
    ] {
        let error = error(text.as_bytes());
        assert!(error.contains(&format!("trees.csv:{line}: a quote opens on this line")), "{error}");
    }
}

#[test]
fn headers_are_required_and_made_unique() {
    let (survey, _) = read(b"id, dbh ,dbh,,dbh (2)\n1,2,3,4,5\n");
    assert_eq!(survey.columns, ["id", "dbh", "dbh (2)", "column 4", "dbh (2) (2)"]);
    assert_eq!(survey.notes.iter().filter(|note| note.starts_with("column ")).count(), 3, "{:?}", survey.notes);
    assert!(error(b"1,2.5,3\n4,5,6\n").contains("expected column names"));
    assert!(error(b"\n\n").contains("expected a header"));
    assert_eq!(read(b"id,dbh\n").1.len(), 0);
}

#[test]
fn nul_bytes_are_refused_or_set_aside() {
    assert!(error(b"id,dbh\n1,\0\n").contains("NUL"));
    let far = format!("id,dbh\n{}7,\0\n8,9\n", "1,2\n".repeat(600_000));
    let (_, rows) = read(far.as_bytes());
    assert_eq!(rows.iter().filter(|row| row.is_err()).count(), 1);
    assert!(rows[600_000].as_ref().unwrap_err().1.contains("NUL"));
}

#[test]
fn old_line_ends() {
    let (_, rows) = read(b"id,dbh\r1,2\r3,4\r");
    assert_eq!(
        rows,
        [Ok((2, vec!["1".to_string(), "2".to_string()])), Ok((3, vec!["3".to_string(), "4".to_string()]))]
    );
}

#[test]
fn missing_empty_and_foreign_files() {
    let folder = tempfile::tempdir().unwrap();
    let at = |name: &str, bytes: &[u8]| {
        let path = folder.path().join(name);
        std::fs::write(&path, bytes).unwrap();
        crate::read::survey(&InputName { path, layer: None }, ReadBounds::default()).unwrap_err().to_string()
    };
    assert!(at("a.csv", b"").contains("empty"));
    assert!(at("b.csv", b"PK\x03\x04....").contains("the name says CSV"));
    assert!(at("c.xlsx", b"PK\x03\x04....").contains("spreadsheet"));
    let missing = crate::read::survey(&InputName::parse("no/such.csv"), ReadBounds::default()).unwrap_err().to_string();
    assert!(missing.contains("no/such.csv"), "{missing}");
    let folder_error =
        crate::read::survey(&InputName { path: folder.path().to_path_buf(), layer: None }, ReadBounds::default())
            .unwrap_err()
            .to_string();
    assert!(folder_error.contains("folder"), "{folder_error}");
    for virtual_path in ["/vsicurl/http://example.com/a.csv", "https://example.com/a.csv"] {
        assert!(
            crate::read::survey(&InputName::parse(virtual_path), ReadBounds::default())
                .unwrap_err()
                .to_string()
                .contains("network")
        );
    }
}

/// A cell that needs no quotes, or one with everything that quotes protect.
fn cell() -> impl Strategy<Value = String> {
    prop_oneof![
        "[a-z0-9 \"']{0,6}".prop_map(|s| format!("x{s}")),
        "[a-zé,\n\" ]{0,9}".prop_map(|s| format!("\"{}\"", s.replace('"', "\"\"")))
    ]
}

proptest! {
    /// The `csv` crate is the judge of what the cells are; the size of chunks must not matter.
    #[test]
    fn any_chunk_size_gives_what_the_csv_crate_gives(table in prop::collection::vec(prop::collection::vec(cell(), 3), 1..40), chunk_bytes in 1_usize..400) {
        let text = std::iter::once("alpha,beta,gamma".to_string()).chain(table.iter().map(|row| row.join(","))).collect::<Vec<_>>().join("\n");
        let (_folder, input) = written(text.as_bytes());
        // Rows that look swallowed are refused on purpose; they are another test's business.
        let Ok(whole) = survey(&input, Format::Csv, ReadBounds::default()) else { return Ok(()) };
        let pieces = survey_in_chunks(&input, Format::Csv, chunk_bytes, ReadBounds::default()).unwrap();
        let expected = rows(&whole);
        prop_assert_eq!(&rows(&pieces), &expected);
        if whole.notes.contains(&"delimiter ,".to_string()) {
            let judge: Vec<Vec<String>> = csv::Reader::from_reader(text.as_bytes()).records().map(|r| r.unwrap().iter().map(str::to_string).collect()).collect();
            let found: Vec<Vec<String>> = expected.into_iter().map(|row| row.unwrap().1).collect();
            prop_assert_eq!(found, judge);
        }
    }
}

/// A file that was cut in the middle of a number cannot be told from one that is whole, but for the end of its last line.
#[test]
fn a_last_line_without_an_end_is_told() {
    for (text, told) in
        [("a,b\n1,2\n3,4\n", false), ("a,b\r\n1,2\r\n", false), ("a,b\n1,2\n3,4", true), ("a,b\n1,2\n3", true)]
    {
        let (survey, _) = read(text.as_bytes());
        assert_eq!(survey.notes.iter().any(|note| note.contains("no line end")), told, "{text:?}: {:?}", survey.notes);
    }
}
