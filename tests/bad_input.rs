//! Inputs that cannot be used: one message that names the file, what is wrong and what to do; exit 1 or 2; nothing written;
//! old results kept.

#![allow(clippy::unwrap_used)]

use crate::run::{PLANE, command, screen};
use std::path::Path;

const TREES: &str = "id,x,y,dbh_cm\nT,1000,1000,80\n";
const WORKS: &str =
    "permit_id,kind,wkt\nP,building,\"POLYGON ((1005 991, 1009 991, 1009 1009, 1005 1009, 1005 991))\"\n";

/// Files of a folder with their bytes.
fn snapshot(folder: &Path) -> Vec<(String, Vec<u8>)> {
    let mut found = Vec::new();
    let mut waiting = vec![folder.to_path_buf()];
    while let Some(next) = waiting.pop() {
        for entry in std::fs::read_dir(next).unwrap() {
            let path = entry.unwrap().path();
            if path.is_dir() {
                waiting.push(path);
            } else {
                found.push((path.display().to_string(), std::fs::read(&path).unwrap()));
            }
        }
    }
    found.sort();
    found
}

/// Makes good results first, then spoils the inputs: the run must fail with the words and leave the old results alone.
#[track_caller]
fn refused(trees: &str, works: &str, more: &[&str], exit: i32, words: &[&str]) {
    let run = screen(TREES, WORKS, "one-foot-per-inch", &[]).done();
    let before = snapshot(&run.out());
    assert!(!before.is_empty());
    let folder = run.folder.path();
    std::fs::write(folder.join("trees.csv"), trees).unwrap();
    std::fs::write(folder.join("works.csv"), works).unwrap();
    let mut args = vec!["screen", "--trees", "trees.csv", "--works", "works.csv", "--out", "out"];
    if !more.contains(&"--rules") {
        args.extend(["--rules", "one-foot-per-inch"]);
    }
    args.extend(more);
    let output = command(&args, folder);
    let told = String::from_utf8_lossy(&output.stderr).into_owned();
    assert_eq!(output.status.code(), Some(exit), "{told}");
    for word in words {
        assert!(told.contains(word), "`{word}` is missing in:\n{told}");
    }
    assert_eq!(snapshot(&run.out()), before, "the old results must stay as they were");
    let left: Vec<_> = std::fs::read_dir(folder).unwrap().map(|entry| entry.unwrap().file_name()).collect();
    let strangers: Vec<_> =
        left.iter().filter(|name| !["trees.csv", "works.csv", "out"].iter().any(|known| *name == *known)).collect();
    assert!(strangers.iter().all(|name| name.to_string_lossy().contains("lock")), "left behind: {strangers:?}");
}

const CRS: [&str; 4] = ["--trees-crs", PLANE, "--works-crs", PLANE];

#[test]
fn a_missing_file() {
    let run = screen(TREES, WORKS, "one-foot-per-inch", &[]).done();
    let args =
        ["screen", "--trees", "nowhere.csv", "--works", "works.csv", "--rules", "one-foot-per-inch", "--out", "out"];
    let output = command(&args, run.folder.path());
    assert_eq!(output.status.code(), Some(1));
    assert!(String::from_utf8_lossy(&output.stderr).contains("nowhere.csv"));
}

#[test]
fn an_unknown_rule_set_names_the_ones_there_are() {
    let more = [&CRS[..], &["--rules", "one-foot-per-inches"]].concat();
    refused(TREES, WORKS, &more, 2, &["one-foot-per-inches", "one-foot-per-inch", "bs5837-2012"]);
}

#[test]
fn no_diameter_column() {
    refused("id,x,y\nT,1000,1000\n", WORKS, &CRS, 1, &["trees.csv", "diameter", "--tree-columns"]);
}

#[test]
fn a_diameter_without_a_unit() {
    refused("id,x,y,dbh\nT,1000,1000,30\nU,1003,1003,14\n", WORKS, &CRS, 1, &["trees.csv", "dbh", "--diameter-unit"]);
}

#[test]
fn no_crs() {
    refused(TREES, WORKS, &["--works-crs", PLANE], 1, &["trees.csv", "--trees-crs"]);
    refused(TREES, WORKS, &["--trees-crs", PLANE], 1, &["works.csv", "--works-crs"]);
}

#[test]
fn an_unknown_crs() {
    refused(TREES, WORKS, &["--trees-crs", "EPSG:99999999", "--works-crs", PLANE], 1, &["--trees-crs", "99999999"]);
}

#[test]
fn trees_nowhere_near_the_works() {
    refused("id,x,y,dbh_cm\nT,250000,1000,80\n", WORKS, &CRS, 1, &["trees.csv", "nowhere near", "249 km"]);
}

#[test]
fn every_tree_set_aside() {
    refused("id,x,y,dbh_cm\nT,,,80\nU,,,30\n", WORKS, &CRS, 1, &["trees.csv"]);
}

#[test]
fn every_work_set_aside() {
    refused(TREES, "permit_id,kind,wkt\nP,building,POLYGON EMPTY\n", &CRS, 1, &["works.csv", "set aside"]);
}

#[test]
fn an_unbalanced_quote_is_found_where_it_began() {
    refused(
        "id,x,y,dbh_cm\nT,1000,1000,80\n\"U,1001,1001,80\nV,1002,1002,80\n",
        WORKS,
        &CRS,
        1,
        &["trees.csv:3", "quote"],
    );
}

#[test]
fn an_override_that_names_no_column() {
    let more = [&CRS[..], &["--tree-columns", "diameter=dbh_mc"]].concat();
    refused(TREES, WORKS, &more, 2, &["dbh_mc", "dbh_cm"]);
}

#[test]
fn an_override_that_names_no_role() {
    let more = [&CRS[..], &["--tree-columns", "diametre=dbh_cm"]].concat();
    refused(TREES, WORKS, &more, 2, &["diametre", "diameter"]);
}

#[test]
fn what_is_said_of_files_that_are_not_given() {
    for (flag, word, layer) in [
        ("--surfaces-crs", PLANE, "--surfaces"),
        ("--barriers-crs", PLANE, "--barriers"),
        ("--surface-columns", "width=W:m", "--surfaces"),
        ("--barrier-columns", "kind=TYPE", "--barriers"),
    ] {
        refused(TREES, WORKS, &[&CRS[..], &[flag, word]].concat(), 2, &[flag, &format!("add {layer} FILE")]);
    }
    for (flag, word) in [("--site-crs", PLANE), ("--site-columns", "place=WKT")] {
        refused(TREES, WORKS, &[&CRS[..], &["--protect", flag, word]].concat(), 2, &[flag, "add --site FILE"]);
    }
}

#[test]
fn a_foreign_file_in_the_output_folder() {
    let run = screen(TREES, WORKS, "one-foot-per-inch", &[]).done();
    std::fs::write(run.out().join("my-notes.txt"), "mine").unwrap();
    let args =
        ["screen", "--trees", "trees.csv", "--works", "works.csv", "--rules", "one-foot-per-inch", "--out", "out"];
    let output = command(&[&args[..], &CRS[..]].concat(), run.folder.path());
    assert_eq!(output.status.code(), Some(1));
    assert!(String::from_utf8_lossy(&output.stderr).contains("my-notes.txt"));
    assert_eq!(std::fs::read_to_string(run.out().join("my-notes.txt")).unwrap(), "mine");
}

#[test]
fn longitude_and_latitude_exchanged() {
    let trees = "id,longitude,latitude,dbh_cm\nT,45.5,-122.6,80\nU,45.51,-122.61,50\n";
    let folder = tempfile::tempdir().unwrap();
    std::fs::write(folder.path().join("trees.csv"), trees).unwrap();
    let works = r#"{"type":"FeatureCollection","features":[{"type":"Feature","properties":{"permit_id":"P","kind":"building"},
        "geometry":{"type":"Polygon","coordinates":[[[-122.6,45.5],[-122.599,45.5],[-122.599,45.501],[-122.6,45.501],[-122.6,45.5]]]}}]}"#;
    std::fs::write(folder.path().join("works.geojson"), works).unwrap();
    let args =
        ["screen", "--trees", "trees.csv", "--works", "works.geojson", "--rules", "one-foot-per-inch", "--out", "out"];
    let output = command(&args, folder.path());
    let told = String::from_utf8_lossy(&output.stderr).into_owned();
    assert_eq!(output.status.code(), Some(1), "{told}");
    assert!(told.contains("trees.csv") && told.contains("exchanged") || told.contains("swapped"), "{told}");
}

#[test]
fn a_place_where_no_folder_can_be_made() {
    let run = screen(TREES, WORKS, "one-foot-per-inch", &[]).done();
    let folder = run.folder.path();
    std::fs::write(folder.join("trees.csv"), TREES).unwrap();
    std::fs::write(folder.join("works.csv"), WORKS).unwrap();
    for out in ["/proc/x", "/proc/x/y"] {
        let args =
            ["screen", "--trees", "trees.csv", "--works", "works.csv", "--rules", "one-foot-per-inch", "--out", out];
        let output = command(&args, folder);
        let told = String::from_utf8_lossy(&output.stderr).into_owned();
        assert_eq!(output.status.code(), Some(1), "{told}");
        assert!(told.contains("hint: ") && told.contains("--out"), "{told}");
    }
}

#[test]
fn exchanged_axes_are_tried() {
    // Both numbers could be either: 13.4 E, 52.5 N.
    let folder = tempfile::tempdir().unwrap();
    std::fs::write(folder.path().join("trees.csv"), "id,x,y,dbh_cm\nT,52.5,13.4,80\nU,52.501,13.401,50\n").unwrap();
    let works = r#"{"type":"FeatureCollection","features":[{"type":"Feature","properties":{"permit_id":"P","kind":"building"},
        "geometry":{"type":"Polygon","coordinates":[[[13.4,52.5],[13.401,52.5],[13.401,52.501],[13.4,52.501],[13.4,52.5]]]}}]}"#;
    std::fs::write(folder.path().join("works.geojson"), works).unwrap();
    let args =
        ["screen", "--trees", "trees.csv", "--works", "works.geojson", "--rules", "one-foot-per-inch", "--out", "out"];
    let output = command(&[&args[..], &["--trees-crs", "EPSG:4326"]].concat(), folder.path());
    let told = String::from_utf8_lossy(&output.stderr).into_owned();
    assert_eq!(output.status.code(), Some(1), "{told}");
    assert!(told.contains("--tree-columns x=y,y=x"), "{told}");
}

#[test]
fn wrong_usage_is_two() {
    refused(TREES, WORKS, &["--position-error", "-1"], 2, &["expected metres between 0 and 1,000"]);
    let folder = tempfile::tempdir().unwrap();
    for args in [
        &["screen"][..],
        &["grow"],
        &["screen", "--layers", "roofs", "--trees", "a", "--works", "b", "--rules", "c", "--out", "d"],
    ] {
        assert_eq!(command(args, folder.path()).status.code(), Some(2), "{args:?}");
    }
}
