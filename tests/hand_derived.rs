//! Twelve pairs of tree and permit worked out by hand, run through the whole command.
//!
//! Trees and works are written in the plane that the run measures in, so the numbers below are the numbers of the comments.
//! Rule set one-foot-per-inch: r = 1 ft per inch of diameter, at least 6 ft. Most trees here have 32.8084 in or so; to keep
//! the arithmetic plain the diameters are chosen so that r comes out round: 10 m needs 10 / 0.3048 = 32.8084 in, given in
//! cm as 32.8084 x 2.54 = 83.33333 cm (r[m] = 12 x diameter[m], so 0.8333333 m -> 10 m).

#![allow(clippy::unwrap_used)]

use crate::run::{number, screen};

/// Diameter in cm whose zone has a radius of 10 m.
const TEN_METRES: &str = "83.33333333";

/// The trees of the pairs stand at 0, 0, which in a file means "not known": all is written this far east and north of it.
const ORIGIN: f64 = 1000.0;

/// WKT with every number moved by [`ORIGIN`].
fn from_origin(wkt: &str) -> String {
    let mut moved = String::new();
    let mut number = String::new();
    for c in wkt.chars() {
        if c.is_ascii_digit() || matches!(c, '.' | '-') {
            number.push(c);
            continue;
        }
        if !number.is_empty() {
            moved.push_str(&(number.parse::<f64>().unwrap() + ORIGIN).to_string());
            number.clear();
        }
        moved.push(c);
    }
    moved
}

fn trees(rows: &[(&str, f64, f64, &str)]) -> String {
    let mut text = String::from("id,x,y,dbh_cm\n");
    for (id, x, y, diameter) in rows {
        text.push_str(&format!("{id},{},{},{diameter}\n", x + ORIGIN, y + ORIGIN));
    }
    text
}

fn works(rows: &[(&str, &str, &str)]) -> String {
    let mut text = String::from("permit_id,kind,wkt\n");
    for (permit, kind, wkt) in rows {
        text.push_str(&format!("{permit},{kind},\"{}\"\n", from_origin(wkt)));
    }
    text
}

/// A rectangle from its corners.
fn rectangle(x0: f64, y0: f64, x1: f64, y1: f64) -> String {
    format!("POLYGON (({x0} {y0}, {x1} {y0}, {x1} {y1}, {x0} {y1}, {x0} {y0}))")
}

fn one(kind: &str, wkt: &str, diameter: &str) -> std::collections::BTreeMap<String, String> {
    let run =
        screen(&trees(&[("T", 0.0, 0.0, diameter)]), &works(&[("P", kind, wkt)]), "one-foot-per-inch", &[]).done();
    run.row("P", "T")
}

#[track_caller]
fn close(row: &std::collections::BTreeMap<String, String>, column: &str, expected: f64, tolerance: f64) {
    let got = number(row, column);
    assert!((got - expected).abs() <= tolerance, "{column}: got {got}, expected {expected}");
}

/// Half-plane at r/2: s = r^2 acos(d/r) - d sqrt(r^2 - d^2) = 100 x 1.0471976 - 5 x 8.6602540 = 61.4184 m2 = 19.5501 %.
/// A building cuts, so everything behind its edge is severed too, and nothing more.
#[test]
fn pair_1_a_building_at_half_the_radius() {
    let row = one("building", &rectangle(5.0, -50.0, 90.0, 50.0), TEN_METRES);
    close(&row, "zone_radius_m", 10.0, 0.0005);
    close(&row, "zone_area_m2", 314.1593, 0.0001);
    close(&row, "overlap_pct", 19.5501, 0.0001);
    close(&row, "severed_pct", 19.5501, 0.0001);
    close(&row, "affected_pct", 19.5501, 0.0001);
    close(&row, "distance_m", 5.0, 0.0005);
    assert_eq!(row["nearest_kind"], "building");
    // 19.55 % is over 10 % and not over 25 %; the half ring (5 m) is only touched: moderate.
    assert_eq!(row["finding"], "moderate");
}

/// Half-plane at 0.8 r: 5.2044 %; over 0 and not over 10 %: minor.
#[test]
fn pair_2_a_building_at_four_fifths_of_the_radius() {
    let row = one("building", &rectangle(8.0, -50.0, 90.0, 50.0), TEN_METRES);
    close(&row, "overlap_pct", 5.2044, 0.0001);
    assert_eq!(row["finding"], "minor");
}

/// Endless trench 0.6 m wide whose near edge is at 5 m: overlap = segment(5) - segment(5.6); severed = segment(5).
/// segment(5.6) = 100 acos(0.56) - 5.6 sqrt(68.64) = 97.6411 - 46.3956 = 51.2455; (61.4184 - 51.2455)/314.1593 = 3.2382 %.
#[test]
fn pair_3_an_endless_trench() {
    let row = one("trench", &rectangle(5.0, -50.0, 5.6, 50.0), TEN_METRES);
    close(&row, "overlap_pct", 3.2382, 0.0002);
    close(&row, "severed_pct", 19.5501, 0.0001);
    close(&row, "affected_pct", 19.5501, 0.0001);
}

/// The same trench 6 m long: it hides bearings within atan(3/5); severed = r^2 atan(0.6) - 5 x 3 = 54.0420 - 15 = 39.0420
/// = 12.4274 %.
#[test]
fn pair_4_a_trench_six_metres_long() {
    let row = one("trench", &rectangle(5.0, -3.0, 5.6, 3.0), TEN_METRES);
    close(&row, "severed_pct", 12.4274, 0.0001);
    close(&row, "overlap_m2", 3.6, 0.0001);
    // 3.6 m2 is 1.1459 %.
    close(&row, "overlap_pct", 1.1459, 0.0001);
}

/// A line drawn out to 0.6 m is the same trench with round ends: its near edge is at 5 m, area 6 x 0.6 + pi x 0.09 = 3.8827.
#[test]
fn pair_5_a_line_with_the_default_width() {
    let row = one("trench", "LINESTRING (5.3 -3, 5.3 3)", TEN_METRES);
    close(&row, "overlap_m2", 3.8827, 0.0005);
    close(&row, "distance_m", 5.0, 0.0005);
}

/// A post of radius 0.3 m inside the zone: pi x 0.09 = 0.2827 m2, at 4 - 0.3 = 3.7 m; it does not sever. It cuts within
/// the half ring (5 m): major.
#[test]
fn pair_6_a_post() {
    let row = one("post", "POINT (4 0)", TEN_METRES);
    close(&row, "overlap_m2", 0.2827, 0.0001);
    close(&row, "severed_m2", 0.0, 0.0);
    close(&row, "distance_m", 3.7, 0.0005);
    assert_eq!(row["finding"], "major");
}

/// A courtyard: building 40 x 40 with a hole 12 x 12 around the tree. The hole's sides are at 6 m and its corners at
/// 8.485 m, all within the circle: overlap = 314.1593 - 144 = 170.1593 = 54.1634 %.
#[test]
fn pair_7_a_courtyard() {
    let hole = "POLYGON ((-20 -20, 20 -20, 20 20, -20 20, -20 -20), (-6 -6, -6 6, 6 6, 6 -6, -6 -6))";
    let row = one("building", hole, TEN_METRES);
    close(&row, "overlap_pct", 54.1634, 0.0001);
    close(&row, "distance_m", 6.0, 0.0005);
    assert_eq!(row["finding"], "major");
}

/// Two works of one permit that overlap: squares 4 x 4 at x 4..8 and 6..10 (y -2..2) cover 24 m2 together, not 32.
/// The far corners (10, +-2) lie outside the circle, so the far edge is cut by it: width beyond sqrt(100 - 4) = 9.79796.
/// Area of x 6..circle for |y| < 2: integral of sqrt(100 - y^2) over -2..2 - 6 x 4 = (2 sqrt(96) + 100 asin(0.2)) - 24
/// = 19.59592 + 20.13579 - 24 = 15.73171; together with 4..6: 8 + 15.73171 = 23.73171.
#[test]
fn pair_8_works_that_overlap_count_once() {
    let both =
        works(&[("P", "paving", &rectangle(4.0, -2.0, 8.0, 2.0)), ("P", "fill", &rectangle(6.0, -2.0, 10.0, 2.0))]);
    let run = screen(&trees(&[("T", 0.0, 0.0, TEN_METRES)]), &both, "one-foot-per-inch", &[]).done();
    let row = run.row("P", "T");
    close(&row, "overlap_m2", 23.7317, 0.0001);
    // Neither paving without a depth nor fill severs: affected is the overlap.
    close(&row, "severed_m2", 0.0, 0.0);
    close(&row, "affected_m2", 23.7317, 0.0001);
}

/// Severed and overlap together: the trench of pair 4 and a fill behind it and beside it. The fill 6..8 x -1..1 lies wholly
/// in the trench's shadow and adds nothing; the fill at -8..-6 x -1..1 (4 m2) is in sight: affected = 39.0420 + 4.
#[test]
fn pair_9_affected_is_severed_and_overlap_together() {
    let three = works(&[
        ("P", "trench", &rectangle(5.0, -3.0, 5.6, 3.0)),
        ("P", "fill", &rectangle(6.0, -1.0, 8.0, 1.0)),
        ("P", "fill", &rectangle(-8.0, -1.0, -6.0, 1.0)),
    ]);
    let run = screen(&trees(&[("T", 0.0, 0.0, TEN_METRES)]), &three, "one-foot-per-inch", &[]).done();
    let row = run.row("P", "T");
    close(&row, "overlap_m2", 3.6 + 4.0 + 4.0, 0.0001);
    close(&row, "affected_m2", 43.0420, 0.0001);
}

/// The trunk stands in the work: severed is the whole zone.
#[test]
fn pair_10_the_trunk_in_the_work() {
    let row = one("building", &rectangle(-1.0, -1.0, 1.0, 1.0), TEN_METRES);
    assert_eq!(row["finding"], "trunk_in_work");
    close(&row, "distance_m", 0.0, 0.0);
    close(&row, "severed_pct", 100.0, 0.0);
    close(&row, "overlap_m2", 4.0, 0.0001);
}

/// The small-tree minimum: 3 in of diameter -> 6 ft = 1.8288 m. A wall 1.5 m away is inside, one 1.9 m away is not.
#[test]
fn pair_11_the_least_radius() {
    let inches = "id,x,y,dbh_in\nT,1000,1000,3\n";
    let near = works(&[
        ("P", "building", &rectangle(1.5, -9.0, 9.0, 9.0)),
        ("Q", "building", &rectangle(-9.0, -9.0, -1.9, 9.0)),
    ]);
    let run = screen(inches, &near, "one-foot-per-inch", &[]).done();
    close(&run.row("P", "T"), "zone_radius_m", 1.8288, 0.0005);
    assert!(run.table("overlaps.csv").iter().all(|row| row["permit_id"] == "P"));
}

/// Two permits that each take 19.5501 % from opposite sides take 39.1002 % together: moderate alone, major together.
#[test]
fn pair_12_two_permits_together() {
    let both = works(&[
        ("P", "building", &rectangle(5.0, -50.0, 90.0, 50.0)),
        ("Q", "building", &rectangle(-90.0, -50.0, -5.0, 50.0)),
        ("W", "building", &rectangle(-50.0, 6.0, 50.0, 90.0)),
    ]);
    let both = both.replace("permit_id,kind,wkt", "permit_id,kind,wkt,status");
    let both: String = both
        .lines()
        .map(|line| match line {
            line if line.starts_with('W') => format!("{line},withdrawn\n"),
            line if line.starts_with("permit") => format!("{line}\n"),
            line => format!("{line},open\n"),
        })
        .collect();
    let run = screen(&trees(&[("T", 0.0, 0.0, TEN_METRES)]), &both, "one-foot-per-inch", &[]).done();
    assert_eq!(run.row("P", "T")["finding"], "moderate");
    let together = run.table("cumulative.csv");
    assert_eq!(together.len(), 1);
    close(&together[0], "overlap_pct", 39.1002, 0.0001);
    assert_eq!(together[0]["finding"], "major");
    // The tree has 32.8 in: over the default heritage size of 30 in, at risk only together.
    let at_risk = run.table("heritage_at_risk.csv");
    assert_eq!(at_risk.len(), 1);
    assert_eq!(at_risk[0]["permit_id"], "(together)");
}
