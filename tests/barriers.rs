//! Existing barriers through the command: which stop roots, the zones that they shape, and what is said beside them.

#![allow(clippy::unwrap_used)]

use crate::run::{PLANE, Run, command, number};
use std::f64::consts::PI;

/// 80 cm: a radius of 9.6 m under 12 x diameter. The second stands away from every barrier.
const TREES: &str = "id,x,y,dbh_cm\nT,1000,1000,80\nFREE,1100,1000,80\n";
/// A trench across the south of both zones, and one behind the wall.
const WORKS: &str = "permit_id,kind,width_m,wkt\n\
    P,trench,0.6,\"LINESTRING (900 996, 1200 996)\"\n\
    BEHIND,trench,0.6,\"LINESTRING (900 1007, 1200 1007)\"\n";
/// A garden wall north of the first tree, with its near face 4.8 m (half the radius) away.
const WALL: &str = "id,kind,wkt\nW,wall,\"POLYGON ((900 1004.8, 1050 1004.8, 1050 1005.1, 900 1005.1, 900 1004.8))\"\n";

fn with_barriers(trees: &str, works: &str, barriers: &str, more: &[&str]) -> Run {
    let folder = tempfile::tempdir().unwrap();
    for (name, text) in [("trees.csv", trees), ("works.csv", works), ("barriers.csv", barriers)] {
        std::fs::write(folder.path().join(name), text).unwrap();
    }
    let mut args = vec!["screen", "--trees", "trees.csv", "--works", "works.csv"];
    args.extend(["--rules", "bs5837-2012", "--out", "out", "--trees-crs", PLANE, "--works-crs", PLANE]);
    if !barriers.is_empty() {
        args.extend(["--barriers", "barriers.csv", "--barriers-crs", PLANE]);
    }
    args.extend(more);
    let output = command(&args, folder.path());
    Run { folder, output }
}

/// The circular segment: r^2 acos(d / r) - d sqrt(r^2 - d^2).
fn segment_m2(radius_m: f64, distance_m: f64) -> f64 {
    radius_m.powi(2) * (distance_m / radius_m).acos() - distance_m * (radius_m.powi(2) - distance_m.powi(2)).sqrt()
}

fn run_file(run: &Run) -> serde_json::Value {
    serde_json::from_slice(&std::fs::read(run.out().join("run.json")).unwrap()).unwrap()
}

/// The measures are exact on the plane of the inputs; the measuring plane is the same but for 1e-6.
fn near(a: f64, b: f64) {
    assert!((a - b).abs() < 2e-3, "{a} {b}");
}

#[test]
fn a_wall_at_half_the_radius() {
    let run = with_barriers(TREES, WORKS, WALL, &[]).done();
    let row = run.row("P", "T");
    let (disc_m2, lost_m2) = (PI * 9.6 * 9.6, segment_m2(9.6, 4.8));
    near(number(&row, "zone_area_m2"), disc_m2 - lost_m2);
    near(number(&row, "disc_lost_m2"), lost_m2);
    // The share behind a wall at half the radius, in any handbook of geometry: 19.550 %.
    near(100.0 * lost_m2 / disc_m2, 19.5501);
    let strip_m2 = segment_m2(9.6, 3.7) - segment_m2(9.6, 4.3);
    near(number(&row, "overlap_m2"), strip_m2);
    near(number(&row, "severed_m2"), segment_m2(9.6, 3.7));
    near(number(&row, "overlap_pct"), 100.0 * strip_m2 / (disc_m2 - lost_m2));
    near(number(&row, "disc_overlap_pct"), 100.0 * strip_m2 / disc_m2);
    near(number(&row, "disc_severed_pct"), 100.0 * segment_m2(9.6, 3.7) / disc_m2);
    assert_eq!((row["zone_shape"].as_str(), row["disc_radius_m"].as_str()), ("shaped", "9.600"));
    assert!(row["warnings"].split(';').any(|code| code == "zone_shaped_by_barrier"), "{}", row["warnings"]);
    // The sheet has the result of the whole disc beside it, for the shaped tree alone.
    let page = std::fs::read_to_string(run.out().join("sheets/P.html")).unwrap();
    let disc = (100.0 * strip_m2 / disc_m2, 100.0 * segment_m2(9.6, 3.7) / disc_m2);
    let told = format!(
        "on the whole disc: {}; overlap {:.1} %, severed {:.1} %. Confirm by root investigation",
        row["disc_finding"], disc.0, disc.1
    );
    assert!(page.contains(&told) && page.matches("on the whole disc").count() == 1, "{told}");
    // Behind the wall nothing is taken; the disc would have lost something, and says so.
    let behind = run.row("BEHIND", "T");
    assert_eq!((behind["finding"].as_str(), behind["overlap_m2"].as_str()), ("untouched", "0.0000"));
    assert_eq!(behind["clause"], "the works in reach lie where barriers keep the roots out");
    assert_eq!(behind["disc_finding"], "moderate");
    near(number(&behind, "disc_overlap_pct"), 100.0 * (segment_m2(9.6, 6.7) - segment_m2(9.6, 7.3)) / disc_m2);
    // Both permits together: as the first alone.
    let together = run.table("cumulative.csv");
    assert_eq!(together[1]["tree_id"], "T");
    near(number(&together[1], "overlap_m2"), strip_m2);
    assert_eq!(together[1]["zone_shape"], "shaped");
    let said = run.stdout();
    assert!(
        said.contains("confirm by root investigation") && said.contains("1 tree by barriers, of which 1 has a milder"),
        "{said}"
    );
    let facts = run_file(&run);
    assert_eq!(facts["settings"]["barrier-roots"], "foundations=stop,walls=stop,roads=pass,others=pass");
    assert!(facts["defaults"].to_string().contains("hangs together with the trunk"), "{}", facts["defaults"]);
}

/// A tree away from every barrier has the same row as without any, but for the columns that come behind.
#[test]
fn where_no_barrier_is_near_nothing_changes() {
    let (with, without) = (with_barriers(TREES, WORKS, WALL, &[]).done(), with_barriers(TREES, WORKS, "", &[]).done());
    let lines = |run: &Run| std::fs::read_to_string(run.out().join("tables/overlaps.csv")).unwrap();
    let (with, without) = (lines(&with), lines(&without));
    let of_free =
        |text: &str| text.lines().filter(|line| line.contains(",FREE,")).map(str::to_string).collect::<Vec<_>>();
    for (with, without) in of_free(&with).iter().zip(of_free(&without)) {
        let added = with.strip_prefix(&without).unwrap_or_else(|| panic!("{with}\n{without}"));
        assert!(added.starts_with(",disc,9.600,0.0000,"), "{added}");
    }
    assert!(!without.contains("zone_shape") && with.lines().next().unwrap().ends_with(",disc_finding"));
    // A barrier that roots pass is none.
    let pass = with_barriers(TREES, WORKS, WALL, &["--barrier-roots", "walls=pass"]).done();
    assert!(pass.stdout().contains("no barrier of the files stops roots"), "{}", pass.stdout());
    let cut = |text: &str| -> Vec<String> {
        text.lines().skip(1).map(|line| line.rsplitn(8, ',').last().unwrap().to_string()).collect()
    };
    assert_eq!(cut(&lines(&pass)), without.lines().skip(1).map(str::to_string).collect::<Vec<_>>());
}

#[test]
fn made_up_area_is_the_area_of_the_disc() {
    let run = with_barriers(TREES, WORKS, WALL, &["--make-up-area"]).done();
    let row = run.row("P", "T");
    near(number(&row, "zone_area_m2"), PI * 9.6 * 9.6);
    near(number(&row, "disc_lost_m2"), 0.0);
    let radius_m = number(&row, "zone_radius_m");
    // All on this side of the wall's near face within R: pi R^2 less the segment behind it.
    let kept_m2 = PI * radius_m.powi(2) - segment_m2(radius_m, 4.8);
    assert!((kept_m2 - PI * 9.6 * 9.6).abs() < 0.05, "{radius_m}: {kept_m2}");
    assert_eq!((row["zone_shape"].as_str(), row["disc_radius_m"].as_str()), ("shaped, area made up", "9.600"));
    assert!(!row["warnings"].contains("capped"));
    let zones = std::fs::read_to_string(run.out().join("layers/root_zones.geojson")).unwrap();
    assert!(zones.contains("unshaped root zone") && zones.contains("shaped, area made up"), "{zones}");
    // A work that only the grown zone reaches has a row, which the disc would not have.
    let far = WORKS.replace("900 996, 1200 996", "900 990.1, 1050 990.1");
    let row = with_barriers(TREES, &far, WALL, &["--make-up-area"]).done().row("P", "T");
    assert_eq!((row["disc_finding"].as_str(), row["disc_overlap_pct"].as_str()), ("untouched", "0.0000"));
    assert!(number(&row, "overlap_m2") > 0.0 && row["finding"] != "untouched");
}

/// A planter of 2 m x 2 m: nothing can be made up, and it says so. A house drawn over the trunk is passed over.
#[test]
fn what_cannot_be_made_up_is_said() {
    let ring = "id,kind,wkt\nR,building,\"POLYGON ((970 970, 1030 970, 1030 1030, 970 1030, 970 970), (999 999, 1001 999, 1001 1001, 999 1001, 999 999))\"\n";
    let run = with_barriers(TREES, WORKS, ring, &["--make-up-area"]).done();
    let row = run.row("P", "T");
    near(number(&row, "zone_area_m2"), 4.0);
    assert!(row["warnings"].contains("made_up_area_capped"), "{}", row["warnings"]);
    assert_eq!(row["finding"], "untouched");
    let over = "id,kind,wkt\nR,building,\"POLYGON ((970 970, 1030 970, 1030 1030, 970 1030, 970 970))\"\n";
    let row = with_barriers(TREES, WORKS, over, &[]).done().row("P", "T");
    assert!(row["warnings"].contains("barrier_over_trunk"), "{}", row["warnings"]);
    assert_eq!((row["zone_shape"].as_str(), row["finding"].as_str()), ("disc", row["disc_finding"].as_str()));
}

/// Roads let roots pass unless told otherwise; kinds that are not known are counted apart.
#[test]
fn classes_have_a_switch_each() {
    let road = WALL.replace("W,wall", "W,road");
    let shape = |barriers: &str, more: &[&str]| {
        with_barriers(TREES, WORKS, barriers, more).done().row("P", "T")["zone_shape"].clone()
    };
    assert_eq!(shape(&road, &[]), "disc");
    assert_eq!(shape(&road, &["--barrier-roots", "roads=stop,walls=pass"]), "shaped");
    let strange = WALL.replace("W,wall", "W,gnome");
    assert_eq!(shape(&strange, &[]), "disc");
    assert_eq!(shape(&strange, &["--barrier-roots", "others=stop"]), "shaped");
    let run = with_barriers(TREES, WORKS, &strange, &[]).done();
    assert!(run.stdout().contains("1 others (pass)"), "{}", run.stdout());
    for wrong in ["walls", "walls=maybe", "hedges=stop", "walls=stop,walls=pass"] {
        let run = with_barriers(TREES, WORKS, WALL, &["--barrier-roots", wrong]);
        assert_eq!(run.output.status.code(), Some(2), "{wrong}: {}", run.stderr());
        assert!(run.stderr().contains("foundations=stop"), "{}", run.stderr());
    }
    let alone = with_barriers(TREES, WORKS, "", &["--make-up-area"]);
    assert_eq!(alone.output.status.code(), Some(2));
}

/// The same bytes for any number of threads.
#[test]
fn threads_change_nothing() {
    let bytes = |threads: &str| {
        let run = with_barriers(TREES, WORKS, WALL, &["--make-up-area", "--threads", threads]).done();
        ["tables/overlaps.csv", "layers/root_zones.geojson", "layers/overlaps.geojson", "run.json"]
            .map(|name| std::fs::read(run.out().join(name)).unwrap())
    };
    assert!(bytes("1") == bytes("2"));
}
