//! The sample town: expected tables, the same bytes for any number of threads, the same rows for any order of the trees.

#![allow(clippy::unwrap_used)]

use crate::run::{command, table};
use std::path::{Path, PathBuf};

fn root() -> PathBuf {
    PathBuf::from(env!("CARGO_MANIFEST_DIR"))
}

/// Screens the sample into a folder; trees may come from another file.
fn screen(out: &Path, rules: &str, trees: &str, more: &[&str]) {
    let out = out.to_str().unwrap();
    let mut args = vec!["screen", "--trees", trees, "data-samples/hollin_park.gpkg#trees"];
    args.extend(["--works", "data-samples/alderwick_permits.geojson", "data-samples/alderwick_utilities.shp"]);
    args.extend(["--rules", rules, "--out", out, "--quiet"]);
    args.extend(more);
    let output = command(&args, &root());
    assert_eq!(output.status.code(), Some(0), "{}", String::from_utf8_lossy(&output.stderr));
}

const TREES: &str = "data-samples/alderwick_trees.csv";
const SURFACES: &str = "data-samples/alderwick_surfaces.geojson";
/// A job of one season with all that can be given for it.
#[rustfmt::skip]
const PROTECT: [&str; 11] = [
    "--protect", "--surfaces", SURFACES, "--start", "2027-03-01", "--end", "2027-11-30",
    "--weather", "data-samples/alderwick_weather.csv", "--prices", "data-samples/alderwick_prices.csv",
];
const SETS: [&str; 4] = ["one-foot-per-inch", "bs5837-2012", "as4970-2009", "din18920-dripline"];

/// The tables equal the committed ones, byte for byte. After a change that is meant: scripts/regenerate-expected, and
/// review the difference.
#[test]
fn the_tables_are_the_expected_ones() {
    let with_surfaces = ("bs5837-2012-surfaces", "bs5837-2012", &["--surfaces", SURFACES][..]);
    let protected = ("one-foot-per-inch-protect", "one-foot-per-inch", &PROTECT[..]);
    for (folder, rules, more) in SETS.map(|rules| (rules, rules, &[][..])).into_iter().chain([with_surfaces, protected])
    {
        let out = tempfile::tempdir().unwrap();
        let out = out.path().join("out");
        screen(&out, rules, TREES, &[&["--layers", "none"], more].concat());
        let expected = root().join("tests/expected").join(folder);
        let mut names: Vec<_> = std::fs::read_dir(&expected).unwrap().map(|entry| entry.unwrap().file_name()).collect();
        names.sort();
        assert!(names.len() >= 5, "{names:?}");
        for name in names {
            let (expected, got) = (expected.join(&name), out.join("tables").join(&name));
            let same = std::fs::read(&expected).unwrap() == std::fs::read(&got).unwrap();
            assert!(same, "{folder}: {} differs from {}", got.display(), expected.display());
        }
    }
}

fn bytes_of(out: &Path) -> Vec<(String, Vec<u8>)> {
    let mut files = Vec::new();
    for folder in ["", "layers", "tables"] {
        for entry in std::fs::read_dir(out.join(folder)).unwrap() {
            let path = entry.unwrap().path();
            if path.is_file() {
                files.push((path.strip_prefix(out).unwrap().display().to_string(), std::fs::read(&path).unwrap()));
            }
        }
    }
    files.sort();
    files
}

/// The files of runs with 1, 2 and 8 threads, which are the same.
fn for_any_threads(rules: &str, more: &[&str]) -> Vec<(String, Vec<u8>)> {
    let folder = tempfile::tempdir().unwrap();
    let [one, two, eight] = ["1", "2", "8"].map(|threads| {
        let out = folder.path().join(threads);
        screen(&out, rules, TREES, &[&["--threads", threads], more].concat());
        bytes_of(&out)
    });
    for other in [two, eight] {
        let differ: Vec<_> = one.iter().zip(&other).filter(|(a, b)| a != b).map(|(a, _)| &a.0).collect();
        assert!(one.len() == other.len() && differ.is_empty(), "{differ:?}");
    }
    one
}

#[test]
fn threads_do_not_show() {
    let files = for_any_threads("bs5837-2012", &["--surfaces", SURFACES]);
    assert!(files.len() >= 10, "{} files", files.len());
}

#[test]
fn threads_do_not_show_in_protection() {
    let files = for_any_threads("one-foot-per-inch", &PROTECT);
    for name in ["tables/fences.csv", "tables/water_days.csv", "layers/ground_cover.geojson", "calendar.ics"] {
        assert!(files.iter().any(|(file, bytes)| file == name && bytes.len() > 1000), "{name}");
    }
}

/// The records of the CSV, each with its line end, quoted newlines kept.
fn records(text: &str) -> Vec<String> {
    let mut records = vec![String::new()];
    let mut quoted = false;
    for c in text.chars() {
        quoted ^= c == '"';
        records.last_mut().unwrap().push(c);
        if c == '\n' && !quoted {
            records.push(String::new());
        }
    }
    records.retain(|record| !record.is_empty());
    records
}

/// A fixed shuffle: every record goes to a place decided by a multiplicative hash of its number.
fn shuffled(text: &str) -> String {
    let mut records = records(text);
    let header = records.remove(0);
    let mut numbered: Vec<(u64, String)> =
        (1u64..).zip(records).map(|(i, record)| (i.wrapping_mul(0x9E37_79B9_7F4A_7C15), record)).collect();
    numbered.sort();
    let mut text = header;
    text.extend(numbered.into_iter().map(|(_, record)| if record.ends_with('\n') { record } else { record + "\n" }));
    text
}

/// Trees in another order give the same rows. Left out: ids that occur twice, where "the later row" is another one then.
#[test]
fn the_order_of_the_trees_does_not_show() {
    let folder = tempfile::tempdir().unwrap();
    let text = std::fs::read_to_string(root().join(TREES)).unwrap();
    let other = folder.path().join("alderwick_trees.csv");
    std::fs::write(&other, shuffled(&text)).unwrap();
    let (a, b) = (folder.path().join("a"), folder.path().join("b"));
    screen(&a, "one-foot-per-inch", TREES, &["--layers", "none"]);
    screen(&b, "one-foot-per-inch", other.to_str().unwrap(), &["--layers", "none"]);
    let twice: Vec<String> = table(&a.join("tables/set_aside.csv"))
        .into_iter()
        .filter(|row| row["problem"].starts_with("duplicate"))
        .map(|row| row["id"].clone())
        .collect();
    let mut compared = 0;
    for name in ["overlaps.csv", "heritage_at_risk.csv", "cumulative.csv"] {
        let rows = |out: &Path| {
            let mut rows = table(&out.join("tables").join(name));
            // The row in the file is another one, of course.
            rows.iter_mut().for_each(|row| drop(row.remove("tree_row")));
            rows.retain(|row| {
                !twice.iter().any(|id| row["tree_id"] == *id || row["tree_id"].starts_with(&format!("{id} (")))
            });
            rows
        };
        let (left, right) = (rows(&a), rows(&b));
        compared += left.len();
        assert_eq!(left.len(), right.len(), "{name}");
        left.iter().zip(&right).for_each(|(left, right)| assert_eq!(left, right, "{name}"));
    }
    assert!(compared > 100, "{compared} rows");
}
