//! What a rule file can say, through the command: each test writes a set with one more rule and looks at the finding.

#![allow(clippy::unwrap_used)]

use crate::run::{self, Run, command};

const HEAD: &str = r#"
name = "alderwick"
title = "Town of Alderwick, an invented code"
units = "metric"
caution = "Invented, for tests."

[stems]
combine = "sum"
from = { status = "common practice", date = 2026-11-25 }

[[radius.of]]
fixed = "10 m"
from = { status = "common practice", date = 2026-11-25 }

[otherwise]
gives = "minor"
text = "any other overlap"
from = { status = "common practice", date = 2026-11-25 }
"#;

const FROM: &str = "from = { status = \"common practice\", date = 2026-11-25 }\n";

/// Screens trees against works under the base set and more TOML.
fn screen(more: &str, trees: &str, works: &str) -> Run {
    let folder = tempfile::tempdir().unwrap();
    let rules = folder.path().join("alderwick.toml");
    std::fs::write(&rules, format!("{HEAD}\n{more}")).unwrap();
    let run = run::screen(trees, works, rules.to_str().unwrap(), &["--position-error", "0"]);
    run.done()
}

fn limit(rule: &str) -> String {
    format!("[[limits]]\n{rule}\ngives = \"major\"\ntext = \"the rule under test\"\n{FROM}")
}

const TREE: &str = "id,x,y,dbh_cm\nT,0,0.00001,50\n";

fn finding(run: &Run) -> String {
    run.row("P", "T")["finding"].clone()
}

#[test]
fn one_side_and_several_sides() {
    let one = "permit,kind,wkt\nP,excavation,\"POLYGON ((4 -30,30 -30,30 30,4 30,4 -30))\"\n";
    let two = format!("{one}P,excavation,\"POLYGON ((-30 -30,-6 -30,-6 30,-30 30,-30 -30))\"\n");
    let rule = limit("measure = \"overlap\"\nlimit = \"> 20 %\"\nsides = \"one\"");
    // A straight edge at 4 of 10 m: (acos 0.4 - 0.4 sqrt(1 - 0.16)) / pi = 25.23 %.
    assert_eq!(finding(&screen(&rule, TREE, one)), "major");
    assert_eq!(finding(&screen(&rule, TREE, &two)), "minor");
    let rule = limit("measure = \"overlap\"\nlimit = \"> 20 %\"\nsides = \"several\"");
    assert_eq!(finding(&screen(&rule, TREE, one)), "minor");
    assert_eq!(finding(&screen(&rule, TREE, &two)), "major");
}

#[test]
fn depth_of_fill_and_cut() {
    let works = |kind: &str, depth: &str| {
        format!("permit,kind,depth_m,wkt\nP,{kind},{depth},\"POLYGON ((5 -5,8 -5,8 5,5 5,5 -5))\"\n")
    };
    let rule = limit("measure = \"depth\"\neffects = [\"fill\"]\nlimit = \"> 6 in\"");
    // 6 in = 0.1524 m, compared as printed: 0.152.
    assert_eq!(finding(&screen(&rule, TREE, &works("fill", "0.153"))), "major");
    assert_eq!(finding(&screen(&rule, TREE, &works("fill", "0.152"))), "minor");
    assert_eq!(finding(&screen(&rule, TREE, &works("excavation", "2"))), "minor", "only fills count");
    let unknown = screen(&rule, TREE, &works("fill", ""));
    assert_eq!(finding(&unknown), "minor");
    assert!(unknown.row("P", "T")["warnings"].contains("depth_not_given"));
}

#[test]
fn distance_in_diameters_of_some_works_from_the_face() {
    let works =
        "permit,kind,wkt\nP,paving,\"POLYGON ((1 -5,2 -5,2 5,1 5,1 -5))\"\nP,trench,\"LINESTRING (4 -9,4 9)\"\n";
    // The trench is 0.6 m wide: its edge is 3.7 m from the centre, 3.45 m from the face. 7 x 0.5 m = 3.5 m.
    let of_cuts = |limit_text: &str, from: &str| {
        limit(&format!(
            "measure = \"distance\"\neffects = [\"fill\", \"occupy\", \"compact\"]\nlimit = \"{limit_text}\"{from}"
        ))
    };
    assert_eq!(
        finding(&screen(&of_cuts("< 50 x diameter", ""), TREE, works)),
        "minor",
        "no such work: nothing to compare"
    );
    let cuts = |limit_text: &str, from: &str| limit(&format!("measure = \"distance\"\nlimit = \"{limit_text}\"{from}"));
    let trench = "permit,kind,wkt\nP,trench,\"LINESTRING (4 -9,4 9)\"\n";
    assert_eq!(finding(&screen(&cuts("< 7 x diameter", ""), TREE, trench)), "minor");
    assert_eq!(finding(&screen(&cuts("< 7 x diameter", "\nmeasured_from = \"face\""), TREE, trench)), "major");
    assert_eq!(finding(&screen(&cuts("< 4 x circumference", ""), TREE, trench)), "major", "4 x 1.571 m = 6.283 m");
}

#[test]
fn temporary_works_apart() {
    let works = "permit,kind,wkt\nP,access,\"POLYGON ((2 -30,30 -30,30 30,2 30,2 -30))\"\n";
    let rule = |lasting: &str| limit(&format!("measure = \"overlap\"\nlimit = \"> 25 %\"\nlasting = \"{lasting}\""));
    assert_eq!(finding(&screen(&rule("temporary"), TREE, works)), "major", "traffic goes with the job");
    assert_eq!(finding(&screen(&rule("permanent"), TREE, works)), "minor");
}

#[test]
fn a_bore_by_the_depth_that_the_set_asks() {
    let bores = format!("[bores]\ndeep_from = {{ is = \"2 m\", {} }}\n", FROM.trim());
    let works = |depth: &str| format!("permit,kind,depth_m,wkt\nP,bore,{depth},\"LINESTRING (4 -9,4 9)\"\n");
    assert_eq!(finding(&screen(&bores, TREE, &works("1.9"))), "minor", "a shallow bore counts");
    assert_eq!(finding(&screen(&bores, TREE, &works("2.0"))), "untouched");
    assert_eq!(finding(&screen("", TREE, &works("1.9"))), "untouched", "the table of kinds asks 1.37 m");
}

#[test]
fn a_limit_for_some_trees_only() {
    let works = "permit,kind,wkt\nP,excavation,\"POLYGON ((5 -5,8 -5,8 5,5 5,5 -5))\"\n";
    let rule = limit("measure = \"overlap\"\nlimit = \"> 0 %\"\nwho = { genus = [\"Quercus\"] }");
    let tree = |species: &str| format!("id,x,y,dbh_cm,species\nT,0,0.00001,50,{species}\n");
    assert_eq!(finding(&screen(&rule, &tree("QUERCUS ROBUR"), works)), "major");
    assert_eq!(finding(&screen(&rule, &tree("Acer rubrum"), works)), "minor");
    assert_eq!(finding(&screen(&rule, &tree("Xyzzy plugh"), works)), "major", "it may be an oak");
}

#[test]
fn the_share_of_the_drip_line() {
    let drip = format!(
        "[[rings]]\nname = \"crown\"\n{FROM}[rings.drip_line]\nmissing_crown_times_diameter = {{ is = 12, {} }}\n",
        FROM.trim()
    );
    let rule = limit("measure = \"overlap\"\nshare_of = \"drip_line\"\nlimit = \"> 25 %\"");
    // 30 m2 of the zone of 10 m; the crown of 5 m covers 78.54 m2: 38.2 %. Of the crown of 12 m (452 m2): 6.6 %.
    let works = "permit,kind,wkt\nP,excavation,\"POLYGON ((5 -5,8 -5,8 5,5 5,5 -5))\"\n";
    let tree = |crown: &str| format!("id,x,y,dbh_cm,crown_radius_m\nT,0,0.00001,50,{crown}\n");
    let small = screen(&format!("{drip}{rule}"), &tree("5"), works);
    assert_eq!(finding(&small), "major");
    let row = small.row("P", "T");
    assert_eq!(row["denominator"], "area under the crown");
    assert!((run::number(&row, "value") - 100.0 * 29.7 / 78.54).abs() < 1.0, "{}", row["value"]);
    assert_eq!(finding(&screen(&format!("{drip}{rule}"), &tree("12"), works)), "minor");
}

#[test]
fn rules_check_explain_and_schema() {
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("alderwick.toml");
    std::fs::write(&file, HEAD).unwrap();
    let said = |args: &[&str]| {
        let output = command(args, folder.path());
        (
            output.status.code(),
            format!("{}{}", String::from_utf8_lossy(&output.stdout), String::from_utf8_lossy(&output.stderr)),
        )
    };
    let (code, text) = said(&["rules", "--check", "alderwick.toml"]);
    assert_eq!(code, Some(0), "{text}");
    assert!(text.contains("3 common practice"), "{text}");
    std::fs::write(&file, HEAD.replace("fixed", "fxied")).unwrap();
    let (code, text) = said(&["rules", "--check", "alderwick.toml"]);
    assert_eq!(code, Some(1), "{text}");
    assert!(text.contains("alderwick.toml:12:1") && text.contains("did you mean `fixed`?"), "{text}");
    let (code, text) =
        said(&["rules", "--explain", "as4970-2009", "--tree", "diameter=60cm root_crown=60cm species=Quercus robur"]);
    assert_eq!(code, Some(0), "{text}");
    assert!(text.contains("radius 7.200 m, area 162.86 m2") && text.contains("radius 2.670 m"), "{text}");
    // 55 USD per inch of circumference: 24 in x pi x 55 = 4,146.90 USD, printed as 4147 USD.
    let (_, text) = said(&["rules", "--explain", "district-of-columbia", "--tree", "diameter=24in"]);
    assert!(text.contains("If it goes") && text.contains("= 4147 USD"), "{text}");
    let (code, text) = said(&["rules", "--explain", "as4970-2009", "--tree", "species=Quercus"]);
    assert_eq!(code, Some(2), "{text}");
    let (_, text) = said(&["rules", "--schema"]);
    let schema: serde_json::Value = serde_json::from_str(&text).unwrap();
    for key in ["stems", "radius", "rings", "limits", "heritage", "protected", "exempt", "bores", "mitigations"] {
        assert!(schema["properties"].get(key).is_some(), "{key}");
    }
}

/// Arlington County, Virginia: a trench closer than 10 ft (3.048 m). The zone of a tree of 4 in is 6 ft (1.829 m).
#[test]
fn a_limit_on_distance_holds_outside_the_zone() {
    let trees = "id,x,y,dbh_in\nT,1000,1000,4\n";
    let trench = |north_m: f64| {
        let (near, far) = (1000.0 + north_m, 1000.0 + north_m + 0.5);
        format!(
            "permit_id,kind,wkt\nP,trench,\"POLYGON ((980 {near}, 1020 {near}, 1020 {far}, 980 {far}, 980 {near}))\"\n"
        )
    };
    let trial = run::screen(trees, &trench(2.5), "arlington-county", &[]).done();
    let row = trial.row("P", "T");
    assert_eq!((row["finding"].as_str(), row["overlap_m2"].as_str()), ("moderate", "0.0000"));
    // From the trunk's face: 2.5 m less 2 in.
    assert!((run::number(&row, "value") - (2.5 - 2.0 * 0.0254)).abs() < 1e-3, "{row:?}");
    assert_eq!(row["distance_m"], "2.500");
    // 3.2 m is beyond the limit, and beyond the zone: no row.
    assert!(run::screen(trees, &trench(3.2), "arlington-county", &[]).done().table("overlaps.csv").is_empty());
}
