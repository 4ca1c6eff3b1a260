//! The same trees in every format that can be read, in three CRSs: the same table comes out.
//!
//! `scripts/make-samples --formats` writes them with `ogr2ogr`; where it or Python is missing, the test says so.

#![allow(clippy::unwrap_used)]

use crate::faults::set_in;
use crate::run::{command, number, table};
use std::collections::BTreeMap;
use std::path::{Path, PathBuf};
use std::process::Command;

type Rows = Vec<BTreeMap<String, String>>;

/// An input as `formats.tsv` lists it.
struct Listed {
    name: String,
    input: String,
    flags: Vec<String>,
}

impl Listed {
    /// Whether the file holds the very degrees of the CSV: neither another CRS nor a grid of its own that places are moved onto.
    fn same_degrees(&self) -> bool {
        self.name.ends_with(" 4326") && !self.name.starts_with("mapinfo") && !self.name.starts_with("geodatabase")
    }
}

/// Whether a program is there and runs.
fn runs(program: &str) -> bool {
    Command::new(program).arg("--version").output().is_ok_and(|output| output.status.success())
}

/// All formats in a new folder, or `None` and a line that says why not.
fn formats(folder: &Path) -> Option<Vec<Listed>> {
    if let Some(missing) = ["python3", "ogr2ogr"].into_iter().find(|program| !runs(program)) {
        eprintln!("skipped: the same town in every format: no {missing}");
        return None;
    }
    let script = PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("scripts/make-samples");
    let made = Command::new("python3").arg(script).arg("--formats").arg(folder).output().unwrap();
    assert!(made.status.success(), "{}", String::from_utf8_lossy(&made.stderr));
    let list = std::fs::read_to_string(folder.join("formats.tsv")).unwrap();
    let listed = list.lines().map(|line| {
        let cells: Vec<&str> = line.split('\t').collect();
        let flags = cells[2].split_whitespace().map(str::to_string).collect();
        Listed { name: cells[0].to_string(), input: cells[1].to_string(), flags }
    });
    Some(listed.collect())
}

/// The rows of overlaps.csv without the columns that name the file.
fn overlaps(folder: &Path, outs: &Path, listed: &Listed) -> Rows {
    let out = outs.join(listed.name.replace(' ', "_"));
    let mut args = vec!["screen", "--quiet", "--layers", "none", "--sheets", "none", "--rules", "one-foot-per-inch"];
    args.extend(["--out", out.to_str().unwrap()]);
    args.extend(["--works", "permits.geojson", "utilities.shp", "--trees", &listed.input]);
    args.extend(listed.flags.iter().map(String::as_str));
    let output = command(&args, folder);
    assert_eq!(output.status.code(), Some(0), "{}: {}", listed.name, String::from_utf8_lossy(&output.stderr));
    let mut rows = table(&out.join("tables/overlaps.csv"));
    for row in &mut rows {
        assert!(row.remove("tree_file").is_some() && row.remove("tree_row").is_some());
    }
    rows
}

/// How far a number may be off where the file keeps places on another grid; `None` where it must be equal as text.
///
/// Those files keep places to 0.1 mm or better (the CSVs to 0.0001 of a metre or foot, MapInfo to 1 part in 2^31 of its
/// bounds, the rest finer), and converting there and back adds less than that. A distance moves by as much, its print by a unit
/// of the last decimal: 1 mm, so 2 mm. An overlap moves by no more than the shift times the circle's width, 0.1 mm x 34 m =
/// 0.0034 m2, and a shadow by about as much where the cut is a metre away: 0.005 m2, and 0.01 % of zones from 40 m2.
fn tolerance(column: &str) -> Option<f64> {
    match column {
        "zone_area_m2" | "zone_area_sqft" | "zone_radius_m" | "zone_radius_ft" => None,
        // Percent or metres.
        "value" => Some(0.01),
        _ if column.contains("distance") => Some(0.002),
        _ if column.ends_with("_m2") => Some(0.005),
        _ if column.ends_with("_pct") => Some(0.01),
        // A square metre has 10.76 square feet.
        _ if column.ends_with("_sqft") => Some(0.054),
        _ => None,
    }
}

/// Whether a cut passes through the middle of the trunk to within the error of the places: what lies behind it then jumps with the side
/// on which it passes. The sample has one such tree, at the corner of a work.
fn cut_in_the_middle(row: &BTreeMap<String, String>) -> bool {
    !row["severing_distance_m"].is_empty()
        && number(row, "severing_distance_m") < 0.001
        && number(row, "severed_pct") < 100.0
}

/// Columns that follow from what lies behind the cut.
fn of_the_shadow(column: &str) -> bool {
    column.starts_with("severed") || column.starts_with("affected") || column == "warnings"
}

fn without_digits(text: &str) -> String {
    text.chars().filter(|letter| !letter.is_ascii_digit() && *letter != '.').collect()
}

/// The worst difference in a column of distances and in one of areas; anything else that differs fails.
fn compare(listed: &Listed, expected: &Rows, got: &Rows) -> (f64, f64) {
    let keys =
        |rows: &Rows| rows.iter().map(|row| format!("{} {}", row["permit_id"], row["tree_id"])).collect::<Vec<_>>();
    assert_eq!(keys(expected), keys(got), "{}: rows", listed.name);
    let mut worst = (0.0_f64, 0.0_f64);
    for (expected, got) in expected.iter().zip(got) {
        for (column, text) in expected {
            // The sentence rounds what the other columns say; its words must be the same.
            if column == "sentence" && without_digits(text) == without_digits(&got[column]) {
                continue;
            }
            if *text == got[column] || (of_the_shadow(column) && cut_in_the_middle(expected)) {
                continue;
            }
            let at = format!("{}: {} {}: {column}", listed.name, expected["permit_id"], expected["tree_id"]);
            let off = tolerance(column).filter(|_| !text.is_empty() && !got[column].is_empty()).map(|tolerance| {
                let off = (number(expected, column) - number(got, column)).abs();
                assert!(off <= tolerance, "{at}: `{}`, expected `{text}`", got[column]);
                off
            });
            let off = off.unwrap_or_else(|| panic!("{at}: `{}`, expected `{text}`", got[column]));
            let worst = if column.contains("distance") { &mut worst.0 } else { &mut worst.1 };
            *worst = worst.max(off);
        }
    }
    worst
}

#[test]
fn the_same_town_in_every_format() {
    let folder = tempfile::tempdir().unwrap();
    // The script asks for a folder of its own.
    let folder = folder.path().join("formats");
    let Some(all) = formats(&folder) else { return };
    assert!(all.len() >= 20, "{} formats", all.len());
    assert_eq!(all[0].name, "csv 4326");
    let (before, outs) = (set_in(&folder), tempfile::tempdir().unwrap());
    let expected = overlaps(&folder, outs.path(), &all[0]);
    assert!(expected.len() > 100, "{} rows", expected.len());
    let in_the_middle: Vec<_> = expected.iter().filter(|row| cut_in_the_middle(row)).collect();
    assert!(in_the_middle.len() <= 1, "rows that are compared without their shadow: {in_the_middle:?}");
    for listed in &all[1..] {
        let got = overlaps(&folder, outs.path(), listed);
        if listed.same_degrees() {
            assert!(expected == got, "{}: differs in {:?}", listed.name, compare(listed, &expected, &got));
        }
        let (distance, area) = compare(listed, &expected, &got);
        eprintln!(
            "{}: {} rows, worst {distance:.4} in a distance, {area:.4} in an area or share",
            listed.name,
            got.len()
        );
    }
    // Reading leaves no file beside an input and changes none.
    assert!(set_in(&folder) == before, "the folder of the inputs has changed");
}
