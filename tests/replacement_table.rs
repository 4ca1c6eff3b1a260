//! `tables/replacement.csv` and its columns in `permits.csv`, through the whole command, worked out by hand.

#![allow(clippy::unwrap_used)]

use crate::run::{Run, screen};
use std::collections::BTreeMap;

/// 1 ft per inch; over 25 %: major. Protected from 6 in. Half the diameter, or 30 USD an inch, at most 1,000 USD a permit.
const SET: &str = r#"name = "alderwick"
title = "Town of Alderwick"
units = "feet-and-inches"
caution = "An example."
stems = { combine = "sum", from = { status = "common practice", date = 2026-11-25 } }
radius = { of = [{ length_per_diameter = "1 ft per 1 in", from = { status = "common practice", date = 2026-11-25 } }] }
otherwise = { gives = "minor", text = "any", from = { status = "common practice", date = 2026-11-25 } }
[sources.code]
title = "Alderwick tree code"
[[limits]]
measure = "overlap"
limit = "> 25 %"
gives = "major"
text = "over a quarter"
from = { source = "code", status = "seen", date = 2026-11-25 }
[[protected]]
class = "protected"
size = ">= 6 in"
from = { source = "code", status = "seen", date = 2026-11-25 }
[[replacement]]
text = "half the diameter"
share_of_diameter = "50 %"
each_at_least = { is = "2 in", from = { source = "code", status = "seen", date = 2026-11-25 } }
from = { source = "code", clause = "section 7", status = "seen", date = 2026-11-25 }
[[replacement]]
text = "or money"
fee_per_length = "30 USD per 1 in of diameter"
at_most_per_permit = { is = { money = "1000 USD" }, from = { source = "code", status = "seen", date = 2026-11-25 } }
from = { source = "code", clause = "section 7", status = "from memory", date = 2026-11-25 }
"#;

/// A building from x = 1000 eastwards, and far away another permit's. All trees stand at y = 1000 and more, apart.
const WORKS: &str = "permit_id,kind,wkt\n\
    P,building,\"POLYGON ((1000 900, 1100 900, 1100 1900, 1000 1900, 1000 900))\"\n\
    Q,building,\"POLYGON ((5000 900, 5100 900, 5100 1900, 5000 1900, 5000 900))\"\n";

/// Each 20 in tree has a zone of 20 ft = 6.096 m. In the building: the trunk; 0.9 m west of it: over a quarter of the zone; 5 m
/// west: 4 %. Q takes one tree whose class is 20 to 24 in.
const TREES: &str = "id,x,y,dbh_in,disposition\n\
    felled,995,1000,20,remove\n\
    in-work,1050,1100,24,\n\
    kept-in-work,1050,1200,20,retain\n\
    moved,1050,1300,20,relocate\n\
    at-stake,999.1,1400,20,retain\n\
    safe,995,1500,20,retain\n\
    small,1050,1600,4,remove\n\
    unmeasured,995,1700,,remove\n\
    class,5050,1100,20-24,\n";

fn screened(rules: &str) -> Run {
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("alderwick.toml");
    std::fs::write(&file, SET).unwrap();
    let rules = if rules == "alderwick" { file.to_str().unwrap() } else { rules };
    screen(TREES, WORKS, rules, &[]).done()
}

#[test]
fn each_tree_says_what_it_owes_and_why() {
    let run = screened("alderwick");
    let rows = run.table("replacement.csv");
    let cells = |row: &BTreeMap<String, String>| {
        let names = [
            "finding",
            "removed_because",
            "owed_length_in",
            "owed_money",
            "if_removed_length_in",
            "if_removed_money",
            "arithmetic",
        ];
        names.map(|name| row[name].clone()).join("|")
    };
    let of = |tree: &str| rows.iter().find(|row| row["tree_id"] == tree).map(cells).unwrap_or_default();
    let twenty = "20.0 in x 50 % = 10.0 in; or 20.0 in x 30 USD per 1 in = 600 USD";
    assert_eq!(of("felled"), format!("minor|disposition remove|10.00|600.00|||{twenty}"));
    let twenty_four = "24.0 in x 50 % = 12.0 in; or 24.0 in x 30 USD per 1 in = 720 USD";
    assert_eq!(of("in-work"), format!("trunk_in_work|trunk in work|12.00|720.00|||{twenty_four}"));
    assert_eq!(of("kept-in-work"), format!("trunk_in_work|trunk in work|10.00|600.00|||{twenty}"));
    assert_eq!(of("moved"), "trunk_in_work||||||the tree stays or is moved: nothing is owed now");
    assert_eq!(of("at-stake"), format!("major||||10.00|600.00|{twenty}"));
    assert_eq!(of("safe"), "minor||||||the tree stays or is moved: nothing is owed now");
    // 4 in: neither protected nor heritage-size, and no rule is for it.
    assert_eq!(of("small"), "");
    assert_eq!(
        of("unmeasured"),
        "not_assessed|disposition remove|||||diameter not known (diameter-missing): neither the class of the tree nor what is owed can be said; measure it"
    );
    assert_eq!(
        of("class"),
        format!("trunk_in_work|trunk in work|12.00|720.00|||the upper end of 20.0 in to 24.0 in: {twenty_four}")
    );
    let felled = rows.iter().find(|row| row["tree_id"] == "felled").unwrap();
    assert_eq!((felled["owed_length_cm"].as_str(), felled["owed_currency"].as_str()), ("25.40", "USD"));
    assert_eq!((felled["money_is"].as_str(), felled["each_at_least"].as_str()), ("instead", "2 in"));
    assert_eq!(felled["class"], "protected (>= 6 in)");
    assert_eq!(
        felled["clause"],
        "half the diameter (Alderwick tree code, section 7; seen); or money (Alderwick tree code, section 7; from memory)"
    );
    assert_eq!(run.row("P", "felled")["protected_class"], "protected (>= 6 in)");
}

/// P: 10 + 12 + 10 in; 600 + 720 + 600 = 1,920 USD, at most 1,000; four trees go, of which one is not known.
#[test]
fn permits_add_it_up() {
    let run = screened("alderwick");
    let permits = run.table("permits.csv");
    let cells = |row: &BTreeMap<String, String>| {
        let names = ["trees_removed", "replacement_trees", "replacement_length_in", "replacement_money"];
        let more = ["replacement_currency", "replacement_unknown", "replacement_arithmetic"];
        names.iter().chain(&more).map(|name| row[*name].clone()).collect::<Vec<_>>().join("|")
    };
    assert_eq!(
        permits.iter().map(cells).collect::<Vec<_>>(),
        [
            "4||32.00|1000.00|USD|1|at most 1000 USD for the permit; not known for 1 tree: the sums are too small",
            "1||12.00|720.00|USD|0|"
        ]
    );
    assert!(run.stdout().contains(
        "owed now for 5 removed (permit by permit): 44.0 in of trunk, or instead 1720.00 USD; not known for 1"
    ));
}

#[test]
fn a_set_without_rules_says_so() {
    let run = screened("bs5837-2012");
    let text = std::fs::read_to_string(run.out().join("tables/replacement.csv")).unwrap();
    assert!(text.starts_with("permit_id,tree_id,") && text.lines().count() == 1, "{text}");
    let json = std::fs::read_to_string(run.out().join("run.json")).unwrap();
    let json: serde_json::Value = serde_json::from_str(&json).unwrap();
    assert_eq!(json["rules"]["replacement"], "none: the set has no rule on replacement");
    let files = json["files"].as_array().unwrap();
    assert!(files.iter().any(|file| file["name"] == "tables/replacement.csv"));
    assert!(run.stdout().contains("none: the set has no rule on replacement"));
    assert_eq!(run.table("permits.csv")[0]["trees_removed"], "");
}
