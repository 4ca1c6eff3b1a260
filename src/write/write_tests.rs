//! A whole set: the same bytes whatever the threads and the order of rows, and a `run.json` that tells the truth.

use super::*;
use crate::model::results::Row;
use sha2::{Digest, Sha256};
use std::collections::BTreeMap;
use std::path::Path;
use std::sync::Arc;

/// Writes a set and reads it back: name to bytes.
pub fn files(results: &Results, facts: &RunFacts, layers: &[Layer]) -> BTreeMap<String, Vec<u8>> {
    files_drawn(results, facts, layers, &example::DRAWING)
}

/// The same, drawn or written in another way.
pub fn files_drawn(
    results: &Results,
    facts: &RunFacts,
    layers: &[Layer],
    drawing: &Drawing,
) -> BTreeMap<String, Vec<u8>> {
    let home = tempfile::tempdir().unwrap();
    let out = home.path().join("out");
    let mut staging = Staging::begin(&out, false).unwrap();
    let layers = layers.iter().copied().collect();
    write_all(results, facts, &layers, drawing, None, &mut staging).unwrap();
    staging.finish().unwrap();
    let mut files = BTreeMap::new();
    collect(&out, "", &mut files);
    files
}

fn collect(folder: &Path, before: &str, files: &mut BTreeMap<String, Vec<u8>>) {
    for entry in std::fs::read_dir(folder).unwrap() {
        let entry = entry.unwrap();
        let name = format!("{before}{}", entry.file_name().into_string().unwrap());
        if entry.path().is_dir() {
            collect(&entry.path(), &format!("{name}/"), files);
        } else {
            files.insert(name, std::fs::read(entry.path()).unwrap());
        }
    }
}

#[test]
fn run_json_lists_every_other_file_with_its_size_and_hash() {
    let files = files(&example::results(), &example::facts(false), &Layer::ALL);
    let run: serde_json::Value = serde_json::from_slice(&files["run.json"]).unwrap();
    let listed = run["files"].as_array().unwrap();
    assert_eq!(listed.len(), files.len() - 1);
    for file in listed {
        let bytes = &files[file["name"].as_str().unwrap()];
        let hash: String = Sha256::digest(bytes).iter().map(|byte| format!("{byte:02x}")).collect();
        assert_eq!(file["bytes"], bytes.len());
        assert_eq!(file["sha256"], hash);
    }
    assert_eq!(run["inputs"][0]["counts"]["set_aside_by_problem"], serde_json::json!({ "stump": 1 }));
    assert_eq!(run["inputs"][0]["counts"]["used_with_problem"], serde_json::json!({ "diameter-missing": 1 }));
    assert_eq!(run["results"]["rows"], 6);
    assert_eq!(run["results"]["trees_in_reach"], 5);
    assert_eq!(run["results"]["findings"]["moderate"], 3);
    assert_eq!(run["results"]["heritage_size_trees_in_reach"], 2);
    assert_eq!(run["results"]["heritage_size_trees_at_risk"], 1);
    assert_eq!(run["results"]["heritage_size_trees_at_risk_only_together"], 1);
    assert_eq!(run["results"]["trees_not_assessed"], 1);
}

#[test]
fn layers_none_leaves_the_tables() {
    let names: Vec<_> = files(&example::results(), &example::facts(false), &[]).into_keys().collect();
    let expected = [
        "run.json",
        "tables/cumulative.csv",
        "tables/heritage_at_risk.csv",
        "tables/overlaps.csv",
        "tables/permits.csv",
        "tables/replacement.csv",
        "tables/set_aside.csv",
    ];
    assert_eq!(names, expected);
}

/// The example many times over, so that there are many chunks; trees stand apart.
pub fn many() -> Results {
    let mut results = example::results();
    let rows = example::read(&results.rows);
    let mut all = rows.clone();
    for copy in 1..700u32 {
        all.extend(rows.iter().cloned().map(|mut row| {
            let tree = Arc::make_mut(&mut row.of);
            tree.id += &format!("/{copy}");
            tree.source.row += u64::from(copy) * 10;
            tree.place.y += f64::from(copy % 20);
            row
        }));
    }
    // Numbered by id and source, as results are.
    let mut keys: Vec<_> = all.iter().map(|row| (row.of.id.clone(), row.of.source)).collect();
    keys.sort();
    keys.dedup();
    let number = |row: &Row| keys.binary_search(&(row.of.id.clone(), row.of.source)).unwrap() as u32;
    all.iter_mut().for_each(|row| row.tree = number(row));
    results.together.iter_mut().for_each(|one| one.row.tree = number(&one.row));
    all.sort_by_key(|row| (row.permit, row.tree));
    results.rows = example::held(&all);
    results
}

#[test]
fn the_same_bytes_for_any_number_of_threads_and_any_order_of_issues() {
    let facts = example::facts(true);
    let results = many();
    let with_threads = |threads: usize, results: &Results| {
        let pool = rayon::ThreadPoolBuilder::new().num_threads(threads).build().unwrap();
        pool.install(|| files(results, &facts, &Layer::ALL))
    };
    let expected = with_threads(1, &results);
    assert_eq!(expected["tables/overlaps.csv"].iter().filter(|&&byte| byte == b'\n').count(), 6 * 700 + 1);
    let mut backwards = results.clone();
    backwards.issues.reverse();
    for (threads, results) in [(2, &results), (8, &results), (3, &backwards)] {
        let got = with_threads(threads, results);
        for (name, bytes) in &expected {
            assert!(got[name] == *bytes, "{name} with {threads} threads");
        }
        assert_eq!(got.len(), expected.len());
    }
}

/// Where a rule set is in feet the extra columns are exact: 1 ft = 0.3048 m, 1 in = 2.54 cm.
#[test]
fn feet_and_inches() {
    let files = files(&example::results(), &example::facts(true), &[]);
    let mut reader = csv::Reader::from_reader(&files["tables/overlaps.csv"][..]);
    let header = reader.headers().unwrap().clone();
    let rows: Vec<_> = reader.records().map(|record| record.unwrap()).collect();
    let cell =
        |row: &csv::StringRecord, name: &str| row[header.iter().position(|column| column == name).unwrap()].to_string();
    let at_least = rows.iter().find(|row| cell(row, "tree_id") == "T-4").unwrap();
    assert_eq!(cell(at_least, "diameter_in"), "31.00");
    assert_eq!(cell(at_least, "zone_radius_ft"), "31.000"); // 12 x 31 in = 31 ft
    assert_eq!(cell(at_least, "zone_area_sqft"), "3019.0705"); // pi x 31^2
    assert_eq!(cell(at_least, "overlap_sqft"), "32.2917"); // 3 / 0.09290304
    assert_eq!(cell(at_least, "distance_ft"), "8.202"); // 2.5 / 0.3048
}
