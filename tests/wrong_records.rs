//! One bad record among good ones: it is listed, the others are judged, and nothing disappears.

#![allow(clippy::unwrap_used)]

use crate::run::{Run, number, screen};

/// A building whose near edge is 3 m east of (1000, 1000), in permit P.
const WORKS: &str =
    "permit_id,kind,wkt\nP,building,\"POLYGON ((1003 900, 1100 900, 1100 1100, 1003 1100, 1003 900))\"\n";

fn verdict(run: &Run, tree: &str) -> String {
    run.row("P", tree)["finding"].clone()
}

#[test]
fn a_first_row_far_outside_the_crs_costs_only_itself() {
    let trees = "id,x,y,dbh_cm\nbad,1e9,1e9,80\nT,1000,1000,80\nU,1001,1000,50\n";
    let run = screen(trees, WORKS, "one-foot-per-inch", &[]).done();
    assert_eq!(verdict(&run, "T"), "major");
    assert_eq!(verdict(&run, "U"), "major");
}

/// 20 to 40 cm: zones of 2.4 m and 4.8 m. Two fills of different permits lie between 3 and 4.5 m: only the upper end is met, by
/// each alone and by both together.
#[test]
fn a_class_range_is_judged_at_both_ends_together_too() {
    let works = "permit_id,kind,wkt\n\
        P,fill,\"POLYGON ((1003 998, 1005 998, 1005 1002, 1003 1002, 1003 998))\"\n\
        Q,fill,\"POLYGON ((995 998, 997 998, 997 1002, 995 1002, 995 998))\"\n";
    let run = screen("id,x,y,dbh_cm\nT,1000,1000,20-40\n", works, "one-foot-per-inch", &[]).done();
    assert_eq!(run.row("P", "T")["diameter_range_cm"], "20.00-40.00");
    let together = run.table("cumulative.csv");
    assert_eq!(together.len(), 1);
    assert_eq!(together[0]["diameter_range_cm"], "20.00-40.00");
    assert_eq!(together[0]["other_end_finding"], "untouched");
    let (one, both) = (number(&run.row("P", "T"), "overlap_m2"), number(&together[0], "overlap_m2"));
    assert!((both - 2.0 * one).abs() < 0.0002, "{one} {both}");
}

#[test]
fn a_tree_without_a_diameter_is_never_lost() {
    let works = format!("{WORKS}Q,building,\"POLYGON ((900 900, 997 900, 997 1100, 900 1100, 900 900))\"\n");
    let trees = "id,x,y,dbh_cm\nT,1000,1000,\nIn,1050,1000,\n";
    let run = screen(trees, &works, "one-foot-per-inch", &[]).done();
    assert_eq!(verdict(&run, "T"), "not_assessed");
    let together = run.table("cumulative.csv");
    assert_eq!(together.iter().filter(|row| row["finding"] == "not_assessed").count(), 1);
    // Inside a building even where nothing is searched for.
    let run = screen(trees, &works, "one-foot-per-inch", &["--search-distance", "0"]).done();
    assert_eq!(verdict(&run, "In"), "not_assessed");
    assert_eq!(run.table("overlaps.csv").len(), 1);
}

#[test]
fn of_two_rows_of_one_tree_the_measured_one_stays() {
    let trees = "id,x,y,dbh_cm\nK,1000,1000,\nK,1000.02,1000,110\n";
    let run = screen(trees, WORKS, "one-foot-per-inch", &[]).done();
    assert_eq!(run.row("P", "K")["diameter_cm"], "110.00");
    let set_aside = run.table("set_aside.csv");
    assert_eq!(set_aside.len(), 1);
    assert_eq!((set_aside[0]["row"].as_str(), set_aside[0]["problem"].as_str()), ("2", "duplicate-tree"));
}

#[test]
fn a_permit_keeps_every_status_and_every_lost_work() {
    let works = "permit_id,kind,status,wkt\n\
        P,building,withdrawn,\"POLYGON ((1003 900, 1100 900, 1100 1100, 1003 1100, 1003 900))\"\n\
        P,fill,issued,\"POLYGON ((1003 900, 1004 900, 1004 1100, 1003 1100, 1003 900))\"\n\
        P,wall,issued,\"LINESTRING (1000 990, 1001 990)\"\n\
        R,wall,issued,\"LINESTRING (1000 990, 1001 990)\"\n";
    let run = screen("id,x,y,dbh_cm\nT,1000,1000,80\n", works, "one-foot-per-inch", &[]).done();
    let permits = run.table("permits.csv");
    let told: Vec<_> = permits
        .iter()
        .map(|row| ["permit_id", "status", "active", "works", "works_set_aside"].map(|c| row[c].as_str()))
        .collect();
    assert_eq!(told, [["P", "issued; withdrawn", "yes", "2", "1"], ["R", "issued", "yes", "0", "1"]]);
}

#[test]
fn a_heritage_size_tree_at_risk_can_end_with_3() {
    let run = screen("id,x,y,dbh_cm\nT,1000,1000,300\n", WORKS, "one-foot-per-inch", &["--fail-at-risk"]);
    assert_eq!(run.output.status.code(), Some(3), "{}", run.stderr());
}

#[test]
fn an_absurd_size_is_set_aside_and_decides_nothing() {
    let works = "permit_id,kind,width_m,wkt\n\
        P,trench,1e300,\"LINESTRING (1004 990, 1004 1010)\"\n\
        P,trench,0.6,\"LINESTRING (1004 990, 1004 1010)\"\n";
    let run = screen("id,x,y,dbh_cm\nT,1000,1000,80\n", works, "one-foot-per-inch", &[]).done();
    assert!((number(&run.row("P", "T"), "distance_m") - 3.7).abs() < 0.001);
    assert_eq!(run.table("permits.csv")[0]["works_set_aside"], "1");
}

/// What was assumed of a work is said: a width from the table of kinds, and a status that its permit does not have.
#[test]
fn what_is_assumed_of_works_is_said() {
    let works = "permit_id,status,kind,width_m,wkt\n\
        P,issued,trench,,\"LINESTRING (1006 900, 1006 1100)\"\n\
        P,issued,trench,0.9,\"LINESTRING (1009 900, 1009 1100)\"\n\
        P,expired,crane pad,,\"POLYGON ((990 998, 995 998, 995 1002, 990 1002, 990 998))\"\n\
        Q,expired,crane pad,,\"POLYGON ((1020 998, 1025 998, 1025 1002, 1020 1002, 1020 998))\"\n";
    let run = screen("id,x,y,dbh_cm\nT,1000,1000,80\n", works, "one-foot-per-inch", &[]).done();
    let said = run.stdout();
    assert!(
        said.contains("kind `trench`: 1 of its works is a line without a width in the file; 0.6 m is taken"),
        "{said}"
    );
    assert!(!said.contains("no tree is in reach"), "{said}");
    let remarks = run.table("set_aside.csv");
    assert_eq!(remarks.len(), 1, "Q is not in force as a whole: {remarks:?}");
    assert_eq!(
        (&*remarks[0]["row"], &*remarks[0]["problem"], &*remarks[0]["outcome"]),
        ("4", "status-not-in-force", "used")
    );
    let sheet = std::fs::read_to_string(run.out().join("sheets/P.html")).unwrap();
    for size in ["line; width not stated, 2.0 ft as is usual for the kind", "line 3.0 ft wide"] {
        assert!(sheet.contains(size), "{size}");
    }
    let files = [
        "--trees",
        "trees.csv",
        "--works",
        "works.csv",
        "--trees-crs",
        crate::run::PLANE,
        "--works-crs",
        crate::run::PLANE,
    ];
    let plan = [&["plan", "--permit", "Q", "--rules", "one-foot-per-inch", "--out", "out"], &files[..]].concat();
    let output = crate::run::command(&plan, run.folder.path());
    let one = Run { output, ..run }.done();
    assert_eq!(one.table("set_aside.csv").len(), 0, "another permit's remark");
}

#[test]
fn no_tree_in_reach_is_said() {
    let run = screen("id,x,y,dbh_cm\nT,940,1000,40\n", WORKS, "one-foot-per-inch", &[]).done();
    let said = run.stdout();
    assert!(
        said.contains("no tree is in reach of any work; the rectangles around the trees and the works lie 63 m apart"),
        "{said}"
    );
}

/// 85,5 without quotes is two cells.
#[test]
fn decimal_commas_between_commas_are_named_where_they_stand() {
    let some = screen("id,x,y,dbh_cm\nT,1000,1000,80\nU,1001,1000,50,5\n", WORKS, "one-foot-per-inch", &[]).done();
    let said = some.stdout();
    assert!(said.contains("one row looked at cannot be read; on line 3: 5 cells, 4 expected: 1 left over"), "{said}");
    let all = screen("id,x,y,dbh_cm\nT,1000,1000,80,5\nU,1001,1000,50,5\n", WORKS, "one-foot-per-inch", &[]);
    assert_eq!(all.output.status.code(), Some(1), "{}", all.stdout());
    let said = all.stderr();
    assert!(
        said.contains("trees.csv:2: not one row can be read; here 5 cells, 4 expected")
            && said.contains("decimal comma"),
        "{said}"
    );
}

#[test]
fn inspect_knows_works_by_their_shapes_and_names_what_it_does_not_use() {
    let folder = tempfile::tempdir().unwrap();
    std::fs::write(
        folder.path().join("works.csv"),
        WORKS.replace("kind,", "kind,contractor,").replace("building,", "building,Oak Ltd,"),
    )
    .unwrap();
    let inspect = |more: &[&str]| {
        let output = crate::run::command(
            &[&["inspect", "works.csv", "--works-crs", crate::run::PLANE], more].concat(),
            folder.path(),
        );
        assert_eq!(output.status.code(), Some(0));
        String::from_utf8(output.stdout).unwrap()
    };
    let said = inspect(&[]);
    assert!(said.starts_with("works.csv  (CSV, read as works)"), "{said}");
    assert!(said.contains("  not used     contractor\n"), "{said}");
    let json: serde_json::Value = serde_json::from_str(&inspect(&["--json"])).unwrap();
    let json = json.get(0).unwrap_or(&json);
    assert_eq!(json["not_used"], serde_json::json!(["contractor"]), "{json}");
}
