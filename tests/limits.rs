//! Every bound of `docs/limits.md`: reached, and refused with the message that the page shows.

#![allow(clippy::unwrap_used)]

use crate::run::{self, PLANE, command};
use std::io::Write;
use std::path::Path;

fn page() -> String {
    std::fs::read_to_string(Path::new(env!("CARGO_MANIFEST_DIR")).join("docs/limits.md")).unwrap()
}

/// Inspects one file: it must fail with the words, which the page must show as well.
#[track_caller]
fn refused(name: &str, bytes: &[u8], words: &str) {
    let folder = tempfile::tempdir().unwrap();
    std::fs::write(folder.path().join(name), bytes).unwrap();
    let output = command(&["inspect", name], folder.path());
    let told = String::from_utf8_lossy(&output.stderr).into_owned() + &String::from_utf8_lossy(&output.stdout);
    assert_eq!(output.status.code(), Some(1), "{name}: {told}");
    assert!(told.contains(words), "{name}: `{words}` is missing in {}", told.chars().take(500).collect::<String>());
    assert!(page().contains(words), "docs/limits.md does not show `{words}`");
}

#[test]
fn nesting() {
    let deep = format!("{{\"type\":\"FeatureCollection\",\"features\":[{}{}]}}", "[".repeat(70), "]".repeat(70));
    refused("t.geojson", deep.as_bytes(), "brackets are nested deeper than 64");
}

#[test]
fn sizes_of_one_record() {
    let hundred = vec![b'x'; 100 << 20];
    let row = |before: &[u8], after: &[u8]| [b"id,x,y,dbh_cm\nT,1000,1000,80\n", before, &hundred[..], after].concat();
    refused("t.csv", &row(b"", b",1,1,1\n"), "a row of more than 64 MiB begins here");
    refused("t.csv", &row(b"\"", b"\",1,1,1\n"), "a quote opens on this line and does not close within 64 MiB");
    let value = [
        b"{\"type\":\"FeatureCollection\",\"features\":[{\"type\":\"Feature\",\"properties\":{\"a\":\"",
        &hundred[..],
        b"\"}}]}",
    ]
    .concat();
    refused("t.geojson", &value, "a JSON value of more than 64 MiB begins here");
}

#[test]
fn archives() {
    let mut zip = zip::ZipWriter::new(std::io::Cursor::new(Vec::new()));
    zip.start_file("t.shp", zip::write::SimpleFileOptions::default()).unwrap();
    for _ in 0..80 {
        zip.write_all(&vec![0; 1 << 20]).unwrap();
    }
    let bomb = zip.finish().unwrap().into_inner();
    assert!(bomb.len() < 1 << 20);
    refused("t.zip", &bomb, "the zip unpacks to more than 4 GiB, or to more than 200 times its size");
    let mut zip = zip::ZipWriter::new(std::io::Cursor::new(Vec::new()));
    for number in 0..10_001 {
        zip.start_file(format!("{number}.shp"), zip::write::SimpleFileOptions::default()).unwrap();
    }
    refused("t.zip", &zip.finish().unwrap().into_inner(), "expected at most 10000");
}

/// What a flag allows is read; another bound is named as it was typed.
#[test]
fn flags_move_the_bounds() {
    let folder = tempfile::tempdir().unwrap();
    let write = |name: &str, bytes: &[u8]| std::fs::write(folder.path().join(name), bytes).unwrap();
    let long = "x".repeat(3 << 20);
    write("t.csv", format!("id,longitude,latitude,dbh_cm,remark\nT,15,50,80,{long}\n").as_bytes());
    let feature = |remark: &str| {
        format!(
            "{{\"type\":\"Feature\",\"properties\":{{\"id\":\"T\",\"dbh_cm\":80,\"remark\":\"{remark}\"}},\"geometry\":{{\"type\":\"Point\",\"coordinates\":[15,50]}}}}"
        )
    };
    write("t.geojson", format!("{{\"type\":\"FeatureCollection\",\"features\":[{}]}}", feature(&long)).as_bytes());
    write("t.geojsonl", (feature(&long) + "\n" + &feature("")).as_bytes());
    for (name, words) in
        [("t.csv", "a row of more than 2 MiB"), ("t.geojson", "more than 2 MiB"), ("t.geojsonl", "more than 2 MiB")]
    {
        let output = command(&["inspect", name, "--trees-crs", "EPSG:4326", "--largest-record", "2"], folder.path());
        let told = String::from_utf8_lossy(&output.stderr);
        assert_eq!(output.status.code(), Some(1), "{name}: {told}");
        assert!(told.contains(words) && told.contains("--largest-record"), "{name}: {told}");
        let output = command(&["inspect", name, "--trees-crs", "EPSG:4326", "--largest-record", "4"], folder.path());
        assert_eq!(output.status.code(), Some(0), "{name}: {}", String::from_utf8_lossy(&output.stderr));
    }
    // A shapefile whose table is mostly spaces: 80 MiB that a zip makes small.
    let samples = Path::new(env!("CARGO_MANIFEST_DIR")).join("data-samples");
    let mut zip = zip::ZipWriter::new(std::io::Cursor::new(Vec::new()));
    for ending in ["shp", "shx", "dbf", "prj"] {
        zip.start_file(format!("t.{ending}"), zip::write::SimpleFileOptions::default()).unwrap();
        zip.write_all(&std::fs::read(samples.join(format!("alderwick_utilities.{ending}"))).unwrap()).unwrap();
    }
    zip.start_file("t.cpg", zip::write::SimpleFileOptions::default()).unwrap();
    zip.write_all("UTF-8".as_bytes()).unwrap();
    zip.write_all(&vec![b' '; 80 << 20]).unwrap();
    write("t.zip", &zip.finish().unwrap().into_inner());
    let output = command(&["inspect", "t.zip"], folder.path());
    let told = String::from_utf8_lossy(&output.stderr);
    assert!(output.status.code() == Some(1) && told.contains("--largest-unzipped"), "{told}");
    let output = command(&["inspect", "t.zip", "--largest-unzipped", "1"], folder.path());
    assert_eq!(output.status.code(), Some(0), "{}", String::from_utf8_lossy(&output.stderr));
}

/// A table that claims a thousand million rows.
#[test]
fn claimed_counts() {
    let samples = Path::new(env!("CARGO_MANIFEST_DIR")).join("data-samples");
    let folder = tempfile::tempdir().unwrap();
    for ending in ["shp", "shx", "dbf", "prj"] {
        let mut bytes = std::fs::read(samples.join(format!("alderwick_utilities.{ending}"))).unwrap();
        if ending == "dbf" {
            bytes[4..8].copy_from_slice(&1_000_000_000_u32.to_le_bytes());
        }
        std::fs::write(folder.path().join(format!("t.{ending}")), bytes).unwrap();
    }
    let output = command(&["inspect", "t.shp"], folder.path());
    let told = String::from_utf8_lossy(&output.stderr);
    assert_eq!(output.status.code(), Some(1), "{told}");
    assert!(told.contains("the table of attributes ends early"), "{told}");
    assert!(page().contains("the table of attributes ends early"));
}

/// Numbers and geometries in cells cost their own row and no more.
#[test]
fn cells() {
    let deep = format!("{}POINT (1000 1000){}", "GEOMETRYCOLLECTION (".repeat(100_000), ")".repeat(100_000));
    let digits = "9".repeat(1 << 20);
    let works = format!(
        "permit_id,kind,wkt\nP,building,\"POLYGON ((1005 991, 1009 991, 1009 1009, 1005 1009, 1005 991))\"\nQ,building,{deep}\nR,building,\"POLYGON (({digits} 991, 1009 991, 1009 1009, {digits} 991))\"\n"
    );
    let folder = tempfile::tempdir().unwrap();
    std::fs::write(folder.path().join("works.csv"), works).unwrap();
    std::fs::write(folder.path().join("trees.csv"), "id,x,y,dbh_cm\nT,1000,1000,80\n").unwrap();
    let args =
        ["screen", "--trees", "trees.csv", "--works", "works.csv", "--rules", "one-foot-per-inch", "--out", "out"];
    let output = command(&[&args[..], &["--trees-crs", PLANE, "--works-crs", PLANE]].concat(), folder.path());
    assert_eq!(output.status.code(), Some(0), "{}", String::from_utf8_lossy(&output.stderr));
    assert_eq!(run::table(&folder.path().join("out/tables/set_aside.csv")).len(), 2);
    assert_eq!(run::table(&folder.path().join("out/tables/overlaps.csv")).len(), 1);
}

#[test]
fn threads() {
    let folder = tempfile::tempdir().unwrap();
    let args =
        ["screen", "--trees", "a", "--works", "b", "--rules", "one-foot-per-inch", "--out", "out", "--threads", "9999"];
    let output = command(&args, folder.path());
    assert_eq!(output.status.code(), Some(2));
    let told = String::from_utf8_lossy(&output.stderr);
    assert!(told.contains("expected 1 to 1024") && page().contains("expected 1 to 1024"), "{told}");
}
