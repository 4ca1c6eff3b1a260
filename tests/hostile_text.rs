//! Text is text: what a stranger writes into a cell or an id is no formula, no markup, no command to a terminal and no path.

#![allow(clippy::unwrap_used)]

use crate::run::{PLANE, command};
use std::path::Path;

/// Ids and species as a stranger might write them.
const TEXTS: [&str; 22] = [
    "=1+2",
    "+1",
    "-1",
    "@SUM(A1)",
    "\t=1",
    "\r=1",
    "\n=1",
    "\u{ff1d}1",
    "\u{ff0b}1",
    "\u{ff0d}1",
    "\u{ff20}A1",
    "'quoted",
    "<script>alert(1)</script>",
    "\"><img src=x onerror=alert(1)>",
    "]]>&amp;",
    "\u{1b}[2J\u{1b}]0;title\u{7}",
    "\u{9b}31m",
    "\u{202e}gpj.exe",
    "a\nerror: forged",
    "{{ 7 * 7 }}",
    "../../etc/passwd",
    "CON",
];

fn quoted(text: &str) -> String {
    format!("\"{}\"", text.replace('"', "\"\""))
}

/// A site where every text is the id of a tree, its species, a permit and the remark of a work.
fn site(folder: &Path) {
    let mut trees = String::from("id,x,y,dbh_cm,species\r\n");
    let mut works = String::from("permit_id,kind,wkt\r\n");
    for (number, text) in TEXTS.iter().enumerate() {
        let (x, text) = (1000 + 40 * number, quoted(text));
        trees += &format!("{text},{x},1000,150,{text}\r\n");
        let (west, east) = (x + 1, x + 5);
        works += &format!(
            "{text},building,\"POLYGON (({west} 995, {east} 995, {east} 1005, {west} 1005, {west} 995))\"\r\n"
        );
    }
    std::fs::write(folder.join("trees.csv"), trees).unwrap();
    std::fs::write(folder.join("works.csv"), works).unwrap();
}

fn every_file(folder: &Path) -> Vec<std::path::PathBuf> {
    let mut found = Vec::new();
    for entry in std::fs::read_dir(folder).unwrap() {
        let path = entry.unwrap().path();
        if path.is_dir() { found.extend(every_file(&path)) } else { found.push(path) }
    }
    found
}

/// C0 but for line ends, delete, C1, and what changes the direction of writing.
fn steers(c: char) -> bool {
    (c.is_control() && c != '\n')
        || matches!(c, '\u{200e}' | '\u{200f}' | '\u{202a}'..='\u{202e}' | '\u{2066}'..='\u{2069}')
}

#[test]
fn what_a_stranger_writes_is_text() {
    let folder = tempfile::tempdir().unwrap();
    let folder = folder.path();
    site(folder);
    // A link in the place of the results is replaced, not followed.
    std::fs::write(folder.join("precious"), "precious").unwrap();
    let screen = |more: &[&str]| {
        let mut args = vec!["screen", "--trees", "trees.csv", "--works", "works.csv", "--rules", "one-foot-per-inch"];
        args.extend(["--trees-crs", PLANE, "--works-crs", PLANE, "--out", "out", "--protect"]);
        args.extend(["--start", "2027-04-01", "--end", "2027-10-31"]);
        args.extend(more);
        let output = command(&args, folder);
        let (said, told) = (String::from_utf8(output.stdout).unwrap(), String::from_utf8(output.stderr).unwrap());
        assert_eq!(output.status.code(), Some(0), "{said}{told}");
        (said, told)
    };
    let (said, told) = screen(&[]);
    std::fs::remove_file(folder.join("out/tables/overlaps.csv")).unwrap();
    std::os::unix::fs::symlink(folder.join("precious"), folder.join("out/tables/overlaps.csv")).unwrap();
    let (json, _) = screen(&["--json"]);
    assert_eq!(std::fs::read_to_string(folder.join("precious")).unwrap(), "precious");
    assert!(!folder.join("out/tables/overlaps.csv").is_symlink());

    // The terminal.
    for text in [&said, &told, &json] {
        assert!(!text.contains(steers), "{text:?}");
    }
    assert!(!said.lines().chain(told.lines()).any(|line| line.starts_with("error:")), "{said}{told}");
    serde_json::from_str::<serde_json::Value>(&json).unwrap();

    // Tables: no text begins like a formula, and one apostrophe taken away gives it back.
    let starts = ['=', '+', '@', '\t', '\r', '\n', '\u{ff1d}', '\u{ff0b}', '\u{ff0d}', '\u{ff20}'];
    let mut ids = Vec::new();
    for path in every_file(folder)
        .into_iter()
        .filter(|path| path.starts_with(folder.join("out")) && path.extension().is_some_and(|e| e == "csv"))
    {
        let mut reader = csv::Reader::from_path(&path).unwrap();
        let id = reader.headers().unwrap().iter().position(|name| name == "tree_id");
        for row in reader.records() {
            let row = row.unwrap();
            for cell in &row {
                let number = cell.parse::<f64>().is_ok();
                assert!(
                    !cell.starts_with(starts) && (number || !cell.starts_with('-')),
                    "{}: {cell:?}",
                    path.display()
                );
            }
            if path.ends_with("overlaps.csv") {
                ids.push(row[id.unwrap()].strip_prefix('\'').unwrap_or(&row[id.unwrap()]).to_string());
            }
        }
    }
    for text in TEXTS {
        // Ids lose the white space around them, and line ends within them become spaces.
        let text = text.split_whitespace().collect::<Vec<_>>().join(" ");
        assert!(ids.contains(&text), "{text:?} is not among {ids:?}");
    }

    // Pages and drawings: no markup of a stranger's. File names: safe on Windows too.
    for path in every_file(&folder.join("out")) {
        let name = path.file_name().unwrap().to_str().unwrap();
        assert!(name.bytes().all(|b| b.is_ascii_alphanumeric() || b"-_.".contains(&b)), "{name}");
        assert!(!name.ends_with('.') && !name.to_ascii_lowercase().starts_with("con."), "{name}");
        if path.extension().is_some_and(|e| e == "html" || e == "svg" || e == "sld") {
            let text = std::fs::read_to_string(&path).unwrap();
            assert!(
                !text.contains("<script>alert") && !text.contains("<img src=x") && !text.contains("onerror=alert(1)>"),
                "{name}"
            );
            assert!(!text.contains("49 }}") && !text.contains(|c| steers(c) && !matches!(c, '\r' | '\t')), "{name}");
        }
    }
}

#[test]
fn inspect_shows_what_is_there_and_obeys_none_of_it() {
    let folder = tempfile::tempdir().unwrap();
    std::fs::write(
        folder.path().join("t.csv"),
        "id\u{1b}[2J,x,y,dbh_cm,\"a\u{9b}31m\nerror: forged\"\nT\u{202e},1,2,30,=1\n",
    )
    .unwrap();
    for more in [&[][..], &["--json"]] {
        let output = command(&[&["inspect", "t.csv"], more].concat(), folder.path());
        let text = String::from_utf8(output.stdout).unwrap() + &String::from_utf8(output.stderr).unwrap();
        assert!(!text.contains(steers), "{text:?}");
        assert!(!text.lines().any(|line| line.starts_with("error: forged")), "{text}");
    }
}
