//! Existing surfaces, lasting and mitigations through the command: what they change, and what is said of it.

#![allow(clippy::unwrap_used)]

use crate::run::{PLANE, Run, command, number, screen};

/// 80 cm: a radius of 9.6 m under 12 x diameter, of 9.6 m under one foot per inch as well.
const TREE: &str = "id,x,y,dbh_cm\nT,1000,1000,80\n";
/// Pavement over the half zone north of y = 1000.
const PAVING: &str = "permit_id,kind,wkt\nP,paving,\"POLYGON ((980 1002, 1020 1002, 1020 1020, 980 1020, 980 1002))\"\nP,access,\"POLYGON ((980 992, 1020 992, 1020 994, 980 994, 980 992))\"\n";

/// Screens with a file of surfaces.
fn with_surfaces(trees: &str, works: &str, surfaces: &str, rules: &str) -> Run {
    let folder = tempfile::tempdir().unwrap();
    for (name, text) in [("trees.csv", trees), ("works.csv", works), ("surfaces.csv", surfaces)] {
        std::fs::write(folder.path().join(name), text).unwrap();
    }
    let mut args = vec!["screen", "--trees", "trees.csv", "--works", "works.csv", "--surfaces", "surfaces.csv"];
    args.extend(["--rules", rules, "--out", "out"]);
    args.extend(["--trees-crs", PLANE, "--works-crs", PLANE, "--surfaces-crs", PLANE]);
    let output = command(&args, folder.path());
    Run { folder, output }
}

/// Area of a disc beyond a straight line at a distance from its centre.
///
/// # Source
/// The circular segment: r^2 acos(d / r) - d sqrt(r^2 - d^2).
fn segment_m2(radius_m: f64, distance_m: f64) -> f64 {
    radius_m.powi(2) * (distance_m / radius_m).acos() - distance_m * (radius_m.powi(2) - distance_m.powi(2)).sqrt()
}

#[test]
fn new_sealing_is_a_share_of_unsurfaced_ground() {
    let (zone_m2, sealed_m2) = (std::f64::consts::PI * 9.6 * 9.6, segment_m2(9.6, 2.0));
    let bare = screen(TREE, PAVING, "bs5837-2012", &[]).done().row("P", "T");
    assert_eq!(bare["denominator"], "root zone (existing surfaces not given)");
    assert!((number(&bare, "value") - 100.0 * sealed_m2 / zone_m2).abs() < 1e-3);
    assert!(bare["warnings"].contains("surfaces_not_given"));
    assert_eq!([&bare["surfaced_m2"], &bare["new_overlap_m2"], &bare["new_overlap_pct"]], ["", "", ""]);

    // Everything west of the trunk is paved already, drawn twice: half of the zone, half of the new sealing.
    let west = "\"POLYGON ((900 900, 1000 900, 1000 1100, 900 1100, 900 900))\"";
    let surfaces = format!("id,wkt\nA,{west}\nB,\"POLYGON ((950 950, 1000 950, 1000 1050, 950 1050, 950 950))\"\n");
    let run = with_surfaces(TREE, PAVING, &surfaces, "bs5837-2012").done();
    let row = run.row("P", "T");
    assert!((number(&row, "surfaced_m2") - zone_m2 / 2.0).abs() < 1e-3);
    let strip_m2 = segment_m2(9.6, 6.0) - segment_m2(9.6, 8.0);
    assert!((number(&row, "overlap_m2") - sealed_m2 - strip_m2).abs() < 1e-3);
    assert!((number(&row, "new_overlap_m2") - (sealed_m2 + strip_m2) / 2.0).abs() < 1e-3);
    assert!((number(&row, "new_overlap_pct") - 50.0 * (sealed_m2 + strip_m2) / zone_m2).abs() < 1e-3);
    assert!((number(&row, "temporary_m2") - strip_m2).abs() < 1e-3);
    assert!((number(&row, "permanent_m2") - sealed_m2).abs() < 1e-3);
    assert_eq!((row["measure"].as_str(), row["finding"].as_str()), ("overlap of seal", "major"));
    assert_eq!(row["denominator"], "unsurfaced ground of the root zone");
    assert!((number(&row, "value") - 100.0 * (sealed_m2 / 2.0) / (zone_m2 / 2.0)).abs() < 1e-3);
    assert!(!row["warnings"].contains("surfaces"), "{}", row["warnings"]);
    let facts: serde_json::Value = serde_json::from_slice(&std::fs::read(run.out().join("run.json")).unwrap()).unwrap();
    assert_eq!(facts["inputs"][2]["role"], "surfaces");
    assert_eq!(facts["inputs"][2]["counts"]["used"], 2);
    assert_eq!(facts["results"]["permits"], 1, "surfaces own no permit");
}

#[test]
fn a_wholly_surfaced_zone_is_not_judged_on_its_unsurfaced_part() {
    let surfaces = "id,wkt\nA,\"POLYGON ((900 900, 1100 900, 1100 1100, 900 1100, 900 900))\"\n";
    let row = with_surfaces(TREE, PAVING, surfaces, "bs5837-2012").done().row("P", "T");
    assert_eq!((row["finding"].as_str(), row["new_overlap_m2"].as_str()), ("moderate", "0.0000"));
    assert!(row["warnings"].contains("zone_wholly_surfaced"), "{}", row["warnings"]);
}

#[test]
fn every_surface_is_used_or_listed() {
    let surfaces = "id,width_ft,wkt\nROAD,32,\"LINESTRING (900 985, 1100 985)\"\nPATH,,\"LINESTRING (990 900, 990 1100)\"\nBOW,,\"POLYGON ((1002 1002, 1006 1006, 1006 1002, 1002 1006, 1002 1002))\"\nNONE,,\n";
    let run = with_surfaces(TREE, PAVING, surfaces, "bs5837-2012").done();
    let facts: serde_json::Value = serde_json::from_slice(&std::fs::read(run.out().join("run.json")).unwrap()).unwrap();
    let counts = &facts["inputs"][2]["counts"];
    assert_eq!([&counts["read"], &counts["used"], &counts["set_aside"]], [4, 2, 2]);
    let listed: Vec<_> =
        run.table("set_aside.csv").into_iter().map(|row| (row["id"].clone(), row["problem"].clone())).collect();
    let expected = [("PATH", "size-missing"), ("BOW", "polygon-repaired"), ("NONE", "empty-geometry")];
    assert_eq!(listed, expected.map(|(id, problem)| (id.to_string(), problem.to_string())));
}

/// City layers of pavement often bring a width that nobody needs: the polygons are the ground.
#[test]
fn polygons_need_no_unit_of_a_width() {
    let surfaces = "id,width,wkt\nA,24,\"POLYGON ((900 900, 1000 900, 1000 1100, 900 1100, 900 900))\"\n";
    let row = with_surfaces(TREE, PAVING, surfaces, "bs5837-2012").done().row("P", "T");
    assert!((number(&row, "surfaced_m2") - std::f64::consts::PI * 9.6 * 9.6 / 2.0).abs() < 1e-3);
    // Where a line is among them the unit is asked for.
    let mixed = format!("{surfaces}B,24,\"LINESTRING (900 985, 1100 985)\"\n");
    let run = with_surfaces(TREE, PAVING, &mixed, "bs5837-2012");
    assert!(run.stderr().contains("gives a width without a unit"), "{}", run.stderr());
}

#[test]
fn a_line_without_a_width_is_told_what_it_lacks() {
    let surfaces = "id,wkt\nA,\"POLYGON ((900 900, 1000 900, 1000 1100, 900 1100, 900 900))\"\nB,\"LINESTRING (900 985, 1100 985)\"\n";
    let run = with_surfaces(TREE, PAVING, surfaces, "bs5837-2012").done();
    let details: Vec<String> = run.table("set_aside.csv").into_iter().map(|row| row["detail"].clone()).collect();
    let told = "no width is given, nor a kind that has one; set aside: add a column width_m, or one of kinds";
    assert!(details.iter().any(|detail| detail == told), "{details:?}");
}

/// In the half ring of 4.8 m the paving beyond 2 m to the north is new only east of the trunk.
#[test]
fn new_ground_in_a_ring_is_told() {
    let surfaces = "id,wkt\nA,\"POLYGON ((900 900, 1000 900, 1000 1100, 900 1100, 900 900))\"\n";
    let row = with_surfaces(TREE, PAVING, surfaces, "one-foot-per-inch").done().row("P", "T");
    assert!((number(&row, "half_overlap_m2") - segment_m2(4.8, 2.0)).abs() < 1e-3);
    assert!((number(&row, "half_new_overlap_m2") - segment_m2(4.8, 2.0) / 2.0).abs() < 1e-3);
    let bare = screen(TREE, PAVING, "one-foot-per-inch", &[]).done().row("P", "T");
    assert_eq!(bare["half_new_overlap_m2"], "");
}

#[test]
fn surfaces_that_cannot_be_there_stop_the_run() {
    let far = "id,wkt\nA,\"POLYGON ((90000 900, 91000 900, 91000 1100, 90000 1100, 90000 900))\"\n";
    let run = with_surfaces(TREE, PAVING, far, "bs5837-2012");
    assert_eq!(run.output.status.code(), Some(1));
    assert!(run.stderr().contains("nowhere near the works"), "{}", run.stderr());
    let none = with_surfaces(TREE, PAVING, "id,wkt\nA,\"LINESTRING (900 985, 1100 985)\"\n", "bs5837-2012");
    assert!(none.stderr().contains("no usable surface"), "{}", none.stderr());
    assert!(!run.out().exists() && !none.out().exists());
}

/// An access over mats and a hand-dug trench, and a promise that is none.
const PROMISED: &str = "permit_id,work_id,kind,width_m,lasting,mitigation,wkt\n\
    P,W1,access,,temporary,\"ground mats, magic beans\",\"POLYGON ((980 994, 1020 994, 1020 996, 980 996, 980 994))\"\n";

/// One foot per inch, with mats accepted under traffic that goes with the job.
fn set_with_mats(folder: &std::path::Path) -> String {
    let own = std::fs::read_to_string(concat!(env!("CARGO_MANIFEST_DIR"), "/src/rules/sets/one-foot-per-inch.toml"));
    let mats = "\n[[mitigations]]\nstated = \"mats\"\non = [\"compact\"]\nlasting = \"temporary\"\nremoves = [\"compact\"]\n\
        text = \"temporary access over mats\"\nfrom = { status = \"common practice\", date = 2026-11-25 }\n";
    let path = folder.join("mats.toml");
    std::fs::write(&path, own.unwrap() + mats).unwrap();
    path.display().to_string()
}

#[test]
fn mats_count_where_the_set_accepts_them() {
    let folder = tempfile::tempdir().unwrap();
    let run = screen(TREE, PROMISED, &set_with_mats(folder.path()), &[]).done();
    let row = run.row("P", "T");
    assert_eq!((row["finding"].as_str(), row["overlap_m2"].as_str()), ("untouched", "0.0000"));
    assert!(row["clause"].contains("mitigations"), "{}", row["clause"]);
    assert_eq!((row["mitigation"].as_str(), row["mitigation_accepted"].as_str()), ("mats", "mats"));
    assert!(row["warnings"].split(';').any(|code| code == "mitigation_accepted"), "{}", row["warnings"]);
    assert!(!row["warnings"].contains("mitigation_not_accepted"));
    let works = std::fs::read_to_string(run.out().join("layers/works.geojson")).unwrap();
    assert!(works.contains("\"lasting\":\"temporary\"") || works.contains("\"lasting\": \"temporary\""), "{works}");
    let listed = run.table("set_aside.csv");
    assert_eq!(listed.len(), 1, "{listed:?}");
    assert_eq!(listed[0]["problem"], "mitigation-unknown");
    assert!(listed[0]["detail"].contains("magic beans"));

    // The same work for good is no temporary access.
    let stays = PROMISED.replace("temporary", "permanent");
    let row = screen(TREE, &stays, &set_with_mats(folder.path()), &[]).done().row("P", "T");
    assert_ne!(row["finding"], "untouched");
    assert!(row["warnings"].contains("mitigation_not_accepted"));
}

#[test]
fn mats_change_nothing_where_the_set_does_not_speak_of_them() {
    let promised = screen(TREE, PROMISED, "one-foot-per-inch", &[]).done().row("P", "T");
    let bare = PROMISED.replace("\"ground mats, magic beans\"", "");
    let bare = screen(TREE, &bare, "one-foot-per-inch", &[]).done().row("P", "T");
    for column in ["finding", "clause", "value", "overlap_m2", "affected_m2"] {
        assert_eq!(promised[column], bare[column], "{column}");
    }
    assert!(number(&promised, "overlap_m2") > 0.0);
    assert_eq!((promised["mitigation"].as_str(), promised["mitigation_accepted"].as_str()), ("mats", ""));
    assert!(promised["warnings"].contains("mitigation_not_accepted"), "{}", promised["warnings"]);
    assert!(!bare["warnings"].contains("mitigation"), "{}", bare["warnings"]);
}

#[test]
fn disposition_owner_and_the_state_of_the_permit_are_printed() {
    let trees = "id,x,y,dbh_cm,disposition,owner\nT,1000,1000,80,remove,Mill Lane 4\n";
    let works = PAVING
        .replace("permit_id,kind", "permit_id,permit_status,issue_date,kind")
        .replace("P,", "P,in review,2026-03-01,");
    let run = screen(trees, &works, "bs5837-2012", &[]).done();
    let row = run.row("P", "T");
    assert_eq!([&row["disposition"], &row["owner"], &row["permit_status"]], ["remove", "Mill Lane 4", "in review"]);
    let permit = &run.table("permits.csv")[0];
    assert_eq!([&permit["status"], &permit["date"]], ["in review", "2026-03-01"]);
}
