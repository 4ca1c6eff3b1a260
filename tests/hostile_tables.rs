//! Tables as cities and spreadsheets damage them: read as meant, or the row and what is wrong with it are said.

#![allow(clippy::unwrap_used)]

use crate::run::{self, PLANE, command, table};

const WORKS: &str =
    "permit_id,kind,wkt\nP,building,\"POLYGON ((1003 900, 1100 900, 1100 1100, 1003 1100, 1003 900))\"\n";

/// What a cell of diameters becomes: the diameter in cm as printed (empty where none), and the problem that is listed.
#[test]
fn cells_of_diameters() {
    for (cell, cm, problem) in [
        ("60", "60.00", ""),
        ("\"24\"\"\"", "60.96", ""),
        ("60 cm", "60.00", ""),
        ("600 mm", "60.00", ""),
        ("\"2'6\"\"\"", "76.20", ""),
        ("N/A", "", "diameter-missing"),
        ("-", "", "diameter-missing"),
        ("0", "", "diameter-missing"),
        ("", "", "diameter-missing"),
        ("12-Jun", "", "damaged-diameter"),
        ("2012-06-01", "", "damaged-diameter"),
        ("#REF!", "", "damaged-diameter"),
        ("oak", "", "damaged-diameter"),
        ("-30", "", "diameter-implausible"),
        ("99999", "", "diameter-implausible"),
        ("1e300", "", "diameter-implausible"),
    ] {
        let trees = format!("id,x,y,dbh_cm\nA,1000,1000,{cell}\nB,1000,1020,41\nC,1000,1030,52\nD,1000,1040,33.5\n");
        let run = run::screen(&trees, WORKS, "one-foot-per-inch", &["--layers", "none"]).done();
        let row = run.row("P", "A");
        assert_eq!(row["diameter_cm"], cm, "`{cell}`: {row:?}");
        assert_eq!(row["finding"] == "not_assessed", cm.is_empty(), "`{cell}`");
        let listed = run.table("set_aside.csv");
        assert_eq!(listed.iter().map(|row| row["problem"].as_str()).collect::<Vec<_>>().join(" "), problem, "`{cell}`");
    }
}

/// A value that stands for "not known" in many a table: no tree is 999 cm thick.
#[test]
fn a_placeholder_is_no_diameter() {
    let trees = "id,x,y,dbh_cm\nA,1000,1000,999\nB,1000,1020,41\nC,1000,1030,52\n";
    let run = run::screen(trees, WORKS, "one-foot-per-inch", &["--layers", "none"]).done();
    let row = run.row("P", "A");
    let listed = run.table("set_aside.csv");
    assert!(
        row["finding"] == "not_assessed" || !listed.is_empty() || !row["warnings"].is_empty(),
        "999 cm in silence: {row:?}"
    );
}

/// A name, bytes, the exit code, the rows of overlaps.csv, and words.
type Table = (&'static str, Vec<u8>, i32, usize, &'static [&'static str]);

/// The bytes of a table of trees, how the run ends, and words of what it says (stderr where it fails, else set_aside.csv and stdout).
#[test]
fn whole_tables() {
    let sound = "id,x,y,dbh_cm\nA,1000,1000,80\nB,1001,1020,40\n";
    let utf16 =
        |text: &str| [&[0xFF, 0xFE][..], &text.encode_utf16().flat_map(u16::to_le_bytes).collect::<Vec<_>>()].concat();
    let cases: Vec<Table> = vec![
        ("sound", sound.into(), 0, 2, &[]),
        ("UTF-16", utf16(sound), 0, 2, &["UTF-16LE"]),
        ("UTF-8 with a mark", [b"\xEF\xBB\xBF", sound.as_bytes()].concat(), 0, 2, &[]),
        (
            "Latin-1 in one row of UTF-8",
            b"id,x,y,dbh_cm\n\xC3\xA9\xC3\xA8\xC3\xA0,1000,1000,80\nB\xE9,1001,1020,40\n".to_vec(),
            0,
            1,
            &["bad-row", "UTF-8"],
        ),
        (
            "unbalanced quote",
            "id,x,y,dbh_cm\nA,1000,1000,80\n\"B,1001,1020,40\nC,1,1,1\n".into(),
            1,
            0,
            &["trees.csv:3", "quote"],
        ),
        (
            "quote that swallows rows",
            "id,x,y,dbh_cm\n\"A,1000,1000,80\nB,1001,1020,40\nC\",1002,1030,40\n".into(),
            1,
            0,
            &["trees.csv:2", "quote"],
        ),
        (
            "short row",
            "id,x,y,dbh_cm\nA,1000,1000,80\nB,1001\nC,1001,1020,40\n".into(),
            0,
            2,
            &["bad-row", "2 missing"],
        ),
        (
            "long row",
            "id,x,y,dbh_cm\nA,1000,1000,80\nB,1001,1010,40,5,6\nC,1001,1020,40\n".into(),
            0,
            2,
            &["bad-row", "2 left over"],
        ),
        (
            "NUL in a row",
            [&b"id,x,y,dbh_cm\n"[..], &b"A,1000,1000,80\n"[..], b"B\0,1001,1020,40\n"].concat(),
            1,
            0,
            &["NUL"],
        ),
        (
            "duplicate header",
            "id,x,y,dbh_cm,dbh_cm\nA,1000,1000,80,20\nB,1001,1020,40,20\n".into(),
            0,
            2,
            &["repeats the name"],
        ),
        ("empty header", "id,x,y,dbh_cm,\nA,1000,1000,80,z\nB,1001,1020,40,z\n".into(), 0, 2, &["has no name"]),
        ("duplicate id elsewhere", "id,x,y,dbh_cm\nA,1000,1000,80\nA,1001,1020,40\n".into(), 0, 2, &["duplicate-id"]),
        ("duplicate tree", "id,x,y,dbh_cm\nA,1000,1000,80\nA,1000,1000,80\n".into(), 0, 1, &["duplicate-tree"]),
        (
            "semicolons and decimal commas",
            "id;x;y;dbh_cm\nA;1000,5;1000,5;80,5\nB;1001,5;1020,5;40,5\n".into(),
            0,
            2,
            &[],
        ),
        (
            "thousands separators",
            "id,x,y,dbh_cm\nA,\"1,000.0\",\"1,000.0\",80\nB,\"1,001.5\",\"1,020.5\",40\n".into(),
            0,
            2,
            &[],
        ),
        ("only a header", "id,x,y,dbh_cm\n".into(), 1, 0, &["no records"]),
        ("nothing", Vec::new(), 1, 0, &["empty"]),
        ("numbers where names belong", "1,1000,1000,80\n2,1001,1020,40\n".into(), 1, 0, &["column names"]),
    ];
    for (what, bytes, exit, rows, words) in cases {
        let folder = tempfile::tempdir().unwrap();
        std::fs::write(folder.path().join("trees.csv"), bytes).unwrap();
        std::fs::write(folder.path().join("works.csv"), WORKS).unwrap();
        let mut args = vec!["screen", "--trees", "trees.csv", "--works", "works.csv", "--rules", "one-foot-per-inch"];
        args.extend(["--trees-crs", PLANE, "--works-crs", PLANE, "--out", "out", "--layers", "none"]);
        let output = command(&args, folder.path());
        let mut told = String::from_utf8_lossy(&output.stderr).into_owned() + &String::from_utf8_lossy(&output.stdout);
        assert_eq!(output.status.code(), Some(exit), "{what}: {told}");
        if exit == 0 {
            told += &std::fs::read_to_string(folder.path().join("out/tables/set_aside.csv")).unwrap();
            told += &std::fs::read_to_string(folder.path().join("out/run.json")).unwrap();
            assert_eq!(table(&folder.path().join("out/tables/overlaps.csv")).len(), rows, "{what}: {told}");
        } else {
            assert!(!folder.path().join("out").exists());
        }
        for word in words {
            assert!(told.contains(word), "{what}: `{word}` is missing in {told}");
        }
    }
}
