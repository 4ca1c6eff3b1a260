//! Several rule sets in one run: what decides is as if it ran alone, and the tables beside it agree with each set run alone.

#![allow(clippy::unwrap_used)]

use crate::run::{self, Run, command, table};
use std::collections::BTreeMap;
use std::path::Path;

const SETS: [&str; 3] = ["one-foot-per-inch", "bs5837-2012", "din18920-dripline"];

fn town(rules: &[&str], folder: &Path, out: &str) -> Vec<(String, String, String, String)> {
    let samples = Path::new(env!("CARGO_MANIFEST_DIR")).join("data-samples");
    let sample = |name: &str| samples.join(name).display().to_string();
    let (trees, park) = (sample("alderwick_trees.csv"), sample("hollin_park.gpkg#trees"));
    let (permits, lines) = (sample("alderwick_permits.geojson"), sample("alderwick_utilities.shp"));
    let mut args = vec!["screen", "--quiet", "--layers", "none", "--trees", &trees, &park, "--works", &permits, &lines];
    args.extend(["--out", out, "--rules"]);
    args.extend(rules);
    let output = command(&args, folder);
    assert_eq!(output.status.code(), Some(0), "{}", String::from_utf8_lossy(&output.stderr));
    findings(&table(&folder.join(out).join("tables/overlaps.csv")))
}

fn findings(rows: &[BTreeMap<String, String>]) -> Vec<(String, String, String, String)> {
    let cell = |row: &BTreeMap<String, String>, name: &str| row[name].clone();
    let of = |row| (cell(row, "permit_id"), cell(row, "tree_id"), cell(row, "finding"), cell(row, "overlap_pct"));
    rows.iter().map(of).collect()
}

#[test]
fn each_set_finds_what_it_finds_alone() {
    let folder = tempfile::tempdir().unwrap();
    town(&SETS, folder.path(), "together");
    let beside = table(&folder.path().join("together/tables/side_by_side.csv"));
    for set in SETS {
        let alone = town(&[set], folder.path(), set);
        assert!(!folder.path().join(set).join("tables/side_by_side.csv").exists(), "one set is beside nothing");
        let of_set: Vec<_> = beside.iter().filter(|row| row["rule_set"] == set).cloned().collect();
        // A set without a row for the tree says untouched, with no measures.
        let measured: Vec<_> = findings(&of_set)
            .into_iter()
            .filter(|(.., finding, pct)| finding != "untouched" || !pct.is_empty())
            .collect();
        assert_eq!(measured, alone, "{set}");
    }
    for name in ["overlaps.csv", "permits.csv", "heritage_at_risk.csv", "cumulative.csv"] {
        let read = |out: &str| std::fs::read(folder.path().join(out).join("tables").join(name)).unwrap();
        assert_eq!(read("together"), read(SETS[0]), "{name}");
    }
}

#[test]
fn the_table_of_differences_holds_just_those() {
    let folder = tempfile::tempdir().unwrap();
    town(&SETS[..2], folder.path(), "out");
    let tables = folder.path().join("out/tables");
    let mut pairs: BTreeMap<(String, String), Vec<(String, bool)>> = BTreeMap::new();
    for row in table(&tables.join("side_by_side.csv")) {
        let of_pair = pairs.entry((row["permit_id"].clone(), row["tree_id"].clone())).or_default();
        of_pair.push((row["finding"].clone(), row["heritage_class"].is_empty()));
    }
    let differ: Vec<_> = pairs.iter().filter(|(_, of)| of[0].0 != of[1].0).map(|(pair, _)| pair.clone()).collect();
    let listed: Vec<_> = table(&tables.join("rule_differences.csv"))
        .into_iter()
        .filter(|row| row["worst_finding"] != row["mildest_finding"])
        .map(|row| (row["permit_id"].clone(), row["tree_id"].clone()))
        .collect();
    assert!(!differ.is_empty(), "the two sets differ somewhere in the town");
    assert_eq!(listed, differ);
}

#[test]
fn a_set_named_twice_is_refused() {
    let run: Run = run::screen(
        "id,x,y,dbh_in\n1,0,0.00001,10\n",
        "permit,wkt\nP,\"POINT (5 0)\"\n",
        "bs5837-2012",
        &["--rules", "bs5837-2012"],
    );
    assert_eq!(run.output.status.code(), Some(2), "{}", run.stderr());
    assert!(run.stderr().contains("two rule sets are named `bs5837-2012`"), "{}", run.stderr());
}
