//! The column list -> `docs/tables.md`.

use super::columns::{Group, Repeat, TABLES, Table};
use crate::issue::CODES;
use crate::model::warning::WARNINGS;
use std::fmt::Write;

const HEAD: &str = "# Tables and layers

Every column of every table and every property of every layer that `rootward screen` writes. This page is made from the program's
own list (`src/write/columns.rs`) and a test compares the two; make it anew with
`ROOTWARD_REGENERATE=1 cargo test --test suite docs_tables`.

- Tables follow RFC 4180: comma, CRLF, UTF-8, a header. Layers follow RFC 7946: WGS 84, longitude first, 7 decimals, shells counter-clockwise.
- Areas and shares have 4 decimals, distances and radii 3, diameters in cm and in 2. An empty cell (null in a layer) means that there is no
  such value; `NaN` is never written. `*_pct` is made from unrounded areas and the zone as used.
- A text cell that a spreadsheet could take for a formula (it begins with `=`, `+`, `-`, `@`, a tab or a line end, or a full-width form of
  these) gets a leading apostrophe, and so does one that begins with an apostrophe: take one leading apostrophe away to have the text back.
- For a tree that is `not_assessed` because it has no usable diameter all measures but `distance_m` and `nearest_kind` are empty.
- In names, `<ring>` stands for each ring of the rule set (blanks become `_`) and `<effect>` for each effect.
";

/// The text of `docs/tables.md`.
pub fn document() -> String {
    let mut text = String::from(HEAD);
    for table in &TABLES {
        table_text(&mut text, table);
    }
    codes(&mut text, "Problem codes", "In the column `problem` of `tables/set_aside.csv`.", CODES);
    codes(&mut text, "Warning codes", "In the column `warnings`.", WARNINGS);
    text
}

fn table_text(text: &mut String, table: &Table) {
    let _ = write!(text, "\n## `{}`\n\n{}\n\n| column | unit | meaning |\n|---|---|---|\n", table.file, table.rows);
    for group in table.groups {
        for column in group.columns {
            let _ =
                writeln!(text, "| `{}` | {} | {}{} |", column.name, column.unit, cell(column.meaning), remark(group));
        }
    }
}

fn remark(group: &Group) -> &'static str {
    match group.repeat {
        Repeat::Once => "",
        Repeat::Imperial => " (only where the rule set is written in feet and inches)",
        Repeat::Effects => " (once for each effect)",
        Repeat::Rings => " (once for each ring)",
        Repeat::ImperialRings => " (once for each ring, only where the rule set is written in feet and inches)",
        Repeat::RuleSets => " (once for each rule set)",
        Repeat::Barriers => " (only with `--barriers`)",
    }
}

fn codes(text: &mut String, title: &str, place: &str, codes: &[(&str, &str)]) {
    let _ = write!(text, "\n## {title}\n\n{place}\n\n| code | meaning |\n|---|---|\n");
    for (code, meaning) in codes {
        let _ = writeln!(text, "| `{code}` | {} |", cell(meaning));
    }
}

/// A bar would end a cell of the table.
fn cell(text: &str) -> String {
    text.replace('|', "\\|")
}
