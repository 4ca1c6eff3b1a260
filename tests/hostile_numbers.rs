//! Numbers and shapes that are wrong: refused or repaired, and said; never a silent 0, nor a tree that is lost.

#![allow(clippy::unwrap_used)]

use crate::run::{self, Run, number, screen};

const SOUND: &str = "P,building,\"POLYGON ((1005 991, 1009 991, 1009 1009, 1005 1009, 1005 991))\"\n";
const HEAD: &str = "permit_id,kind,wkt\n";

/// A sound tree and one with these coordinates.
fn tree(x: &str, y: &str) -> Run {
    let trees = format!("id,x,y,dbh_cm\nT,1000,1000,80\nbad,{x},{y},80\n");
    screen(&trees, &format!("{HEAD}{SOUND}"), "one-foot-per-inch", &["--layers", "none"]).done()
}

#[test]
fn places_that_cannot_be() {
    for (x, y, codes) in [
        ("NaN", "1000", &["no-place", "bad-coordinate"][..]),
        ("nan", "nan", &["no-place", "bad-coordinate"]),
        ("inf", "1000", &["bad-coordinate"]),
        ("-Infinity", "1000", &["bad-coordinate"]),
        ("1e300", "1000", &["bad-coordinate", "place-outside-crs"]),
        ("1e400", "1000", &["bad-coordinate"]),
        ("0", "0", &["no-place"]),
        ("", "1000", &["no-place"]),
        ("1e9", "1e9", &["place-outside-crs", "bad-coordinate"]),
        ("1000;1000", "1000", &["bad-coordinate"]),
        ("0x3E8", "1000", &["bad-coordinate"]),
    ] {
        let run = tree(x, y);
        let listed = run.table("set_aside.csv");
        assert_eq!(listed.len(), 1, "{x} {y}: {listed:?}");
        assert!(codes.contains(&listed[0]["problem"].as_str()), "{x} {y}: {listed:?}");
        assert_eq!(listed[0]["outcome"], "set aside");
        assert!(number(&run.row("P", "T"), "overlap_m2") > 1.0, "the sound tree is judged all the same");
    }
}

/// What the works of permit Q are, what it says of them, and the area of the ground in square metres that they take, all of it within the
/// root zone (radius 9.6 m) of the tree at 1000, 1000.
#[test]
fn shapes_that_are_wrong() {
    let cases: [(&str, &str, &str, Option<f64>); 16] = [
        ("unclosed ring", "POLYGON ((1001 1001, 1003 1001, 1003 1003, 1001 1003))", "", Some(4.0)),
        // Two triangles of 1 m2 each.
        ("bow-tie", "POLYGON ((1001 1001, 1003 1003, 1003 1001, 1001 1003, 1001 1001))", "polygon-repaired", Some(2.0)),
        (
            "ring given twice",
            "MULTIPOLYGON (((1001 1001, 1003 1001, 1003 1003, 1001 1003, 1001 1001)),((1001 1001, 1003 1001, 1003 1003, 1001 1003, 1001 1001)))",
            "polygon-repaired",
            Some(4.0),
        ),
        (
            "hole equal to its shell",
            "POLYGON ((1001 1001, 1003 1001, 1003 1003, 1001 1003, 1001 1001),(1001 1001, 1003 1001, 1003 1003, 1001 1003, 1001 1001))",
            "polygon-repaired",
            Some(4.0),
        ),
        ("clockwise", "POLYGON ((1001 1001, 1001 1003, 1003 1003, 1003 1001, 1001 1001))", "", Some(4.0)),
        ("heights", "POLYGON Z ((1001 1001 5, 1003 1001 5, 1003 1003 5, 1001 1003 5, 1001 1001 5))", "", Some(4.0)),
        ("measures", "POLYGON M ((1001 1001 5, 1003 1001 5, 1003 1003 5, 1001 1003 5, 1001 1001 5))", "", Some(4.0)),
        (
            "heights and measures",
            "POLYGON ZM ((1001 1001 5 6, 1003 1001 5 6, 1003 1003 5 6, 1001 1003 5 6, 1001 1001 5 6))",
            "",
            Some(4.0),
        ),
        (
            "mixed",
            "GEOMETRYCOLLECTION (POLYGON ((1001 1001, 1003 1001, 1003 1003, 1001 1003, 1001 1001)))",
            "",
            Some(4.0),
        ),
        ("empty", "POLYGON EMPTY", "empty-geometry", None),
        ("empty collection", "GEOMETRYCOLLECTION EMPTY", "empty-geometry", None),
        ("no area", "POLYGON ((1001 1001, 1003 1003, 1001 1001))", "polygon-unrepairable", None),
        ("one point", "POLYGON ((1001 1001, 1001 1001, 1001 1001, 1001 1001))", "polygon-unrepairable", None),
        ("infinite", "POLYGON ((1001 1001, 1e999 1001, 1003 1003, 1001 1001))", "", None),
        ("1e300", "POLYGON ((1001 1001, 1e300 1001, 1e300 1e300, 1001 1001))", "", None),
        ("not a number", "POLYGON ((1001 1001, NaN 1001, 1003 1003, 1001 1001))", "", None),
    ];
    for (what, wkt, code, area_m2) in cases {
        let works = format!("{HEAD}{SOUND}Q,building,\"{wkt}\"\n");
        let run = screen("id,x,y,dbh_cm\nT,1000,1000,80\n", &works, "one-foot-per-inch", &["--layers", "none"]).done();
        let listed = run.table("set_aside.csv");
        match area_m2 {
            Some(expected) => {
                let got = number(&run.row("Q", "T"), "overlap_m2");
                assert!((got - expected).abs() < 0.001, "{what}: {got}, expected {expected}");
                assert!(code.is_empty() == listed.is_empty(), "{what}: {listed:?}");
            }
            None => {
                assert!(run.table("overlaps.csv").iter().all(|row| row["permit_id"] != "Q"), "{what}");
                assert!(listed.iter().any(|row| row["outcome"] == "set aside"), "{what}: {listed:?}");
                let permits = run.table("permits.csv");
                let lost =
                    permits.iter().find(|row| row["permit_id"] == "Q").unwrap_or_else(|| panic!("{what}: {permits:?}"));
                assert_eq!(lost["works_set_aside"], "1", "{what}");
            }
        }
        assert!(code.is_empty() || listed.iter().any(|row| row["problem"] == code), "{what}: {listed:?}");
    }
}

/// A building 1e-12 m wide takes no ground, but it is a cut: what lies behind it stands in the row. The
/// finding is the rule set's, and this one looks at the overlap.
#[test]
fn a_sliver_is_a_cut() {
    let sliver = "Q,building,\"POLYGON ((1001 1001, 1003 1001, 1003 1001.000000000001, 1001 1001))\"\n";
    let works = format!("{HEAD}{SOUND}{sliver}");
    let run = screen("id,x,y,dbh_cm\nT,1000,1000,80\n", &works, "one-foot-per-inch", &["--layers", "none"]).done();
    let row = run.row("Q", "T");
    // Between the bearings of 45 and atan(1 / 3) degrees: half of 9.6^2 x 0.4636 rad, less the triangle of 2 x 1 / 2 in front.
    let expected = 9.6 * 9.6 * 0.5 * (1.0_f64.atan() - (1.0_f64 / 3.0).atan()) - 1.0;
    assert!((number(&row, "severed_m2") - expected).abs() < 0.001, "{row:?}");
}

/// Longitude and latitude, and the sign of one of them, as they are typed and as they are lost.
#[test]
fn degrees_that_lie_elsewhere() {
    let works = "permit_id,kind,longitude,latitude\nP,post,-122.6,45.5\n";
    for (what, trees) in [
        ("swapped", "id,longitude,latitude,dbh_cm\nT,45.5,-122.6,80\nU,45.51,-122.61,80\n"),
        ("a lost sign", "id,longitude,latitude,dbh_cm\nT,122.6,45.5,80\nU,122.6001,45.5,80\n"),
        ("the pole", "id,longitude,latitude,dbh_cm\nT,0,90,80\nU,10,89.9999,80\n"),
        ("beyond the pole", "id,longitude,latitude,dbh_cm\nT,-122.6,95,80\nU,-122.6,95.1,80\n"),
    ] {
        let folder = tempfile::tempdir().unwrap();
        std::fs::write(folder.path().join("trees.csv"), trees).unwrap();
        std::fs::write(folder.path().join("works.csv"), works).unwrap();
        let args =
            ["screen", "--trees", "trees.csv", "--works", "works.csv", "--rules", "one-foot-per-inch", "--out", "out"];
        let output = run::command(&args, folder.path());
        let told = String::from_utf8_lossy(&output.stderr);
        assert_eq!(output.status.code(), Some(1), "{what}: {told}");
        assert!(told.contains("trees.csv"), "{what}: {told}");
    }
}

/// A tree and a post on both sides of the antimeridian, 0.0001 degree (about 7 m at 50 degrees) apart, and as far apart at 15 E.
#[test]
fn across_the_antimeridian() {
    let distance = |tree: &str, post: &str| {
        let folder = tempfile::tempdir().unwrap();
        std::fs::write(folder.path().join("trees.csv"), format!("id,longitude,latitude,dbh_cm\nT,{tree},50,80\n"))
            .unwrap();
        std::fs::write(
            folder.path().join("works.csv"),
            format!("permit_id,kind,longitude,latitude\nP,post,{post},50\n"),
        )
        .unwrap();
        let args =
            ["screen", "--trees", "trees.csv", "--works", "works.csv", "--rules", "one-foot-per-inch", "--out", "out"];
        let output = run::command(&args, folder.path());
        assert_eq!(output.status.code(), Some(0), "{}", String::from_utf8_lossy(&output.stderr));
        number(&run::table(&folder.path().join("out/tables/overlaps.csv"))[0], "distance_m")
    };
    let (here, there) = (distance("15.0", "15.0001"), distance("179.99995", "-179.99995"));
    assert!((here - there).abs() < 0.005, "{here} {there}");
}
