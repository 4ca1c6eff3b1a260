//! The least that any program for the job must do: read both inputs, bring every place into the measuring plane, write the same bytes.
//!
//! ```text
//! cargo run --release --example floor -- TREES.csv WORKS.geojson RESULTS OUT
//! ```
//! RESULTS is the folder of a finished run, whose files are written to OUT again, hashed as a run hashes them. Measures nothing and judges
//! nothing. `scripts/bench-peers` times it beside a run.
#![allow(clippy::unwrap_used)]

use proj::Proj;
use sha2::{Digest, Sha256};
use std::fs::File;
use std::io::{BufReader, Write};
use std::path::Path;

fn main() {
    let args: Vec<String> = std::env::args().skip(1).collect();
    let [trees, works, results, out] = args.as_slice() else {
        eprintln!("floor: expected TREES.csv WORKS.geojson RESULTS OUT");
        std::process::exit(2);
    };
    let plane = Proj::new_known_crs("OGC:CRS84", "EPSG:32633", None).unwrap();
    let mut places = read_trees(trees);
    places.extend(read_works(works));
    plane.convert_array(&mut places).unwrap();
    let sum: f64 = places.iter().map(|(x, y)| x + y).sum();
    let bytes = write_again(Path::new(results), Path::new(out));
    println!("{} places, sum {sum:.3}, {bytes} bytes", places.len());
}

/// The places of the last two columns of a CSV of trees.
fn read_trees(path: &str) -> Vec<(f64, f64)> {
    let mut reader = csv::Reader::from_path(path).unwrap();
    let mut record = csv::ByteRecord::new();
    let mut places = Vec::new();
    let number = |cell: &[u8]| std::str::from_utf8(cell).unwrap().parse::<f64>().unwrap();
    while reader.read_byte_record(&mut record).unwrap() {
        places.push((number(&record[record.len() - 2]), number(&record[record.len() - 1])));
    }
    places
}

/// Every corner of every polygon.
fn read_works(path: &str) -> Vec<(f64, f64)> {
    let reader = geojson::FeatureReader::from_reader(BufReader::new(File::open(path).unwrap()));
    let mut places = Vec::new();
    for feature in reader.features() {
        if let Some(geojson::GeometryValue::Polygon { coordinates }) =
            feature.unwrap().geometry.map(|found| found.value)
        {
            places.extend(coordinates.iter().flatten().map(|place| (place[0], place[1])));
        }
    }
    places
}

/// Writes the files of a folder into another, hashing them, and makes them safe on the disk.
fn write_again(from: &Path, to: &Path) -> u64 {
    std::fs::create_dir_all(to).unwrap();
    let mut bytes = 0;
    for entry in std::fs::read_dir(from).unwrap() {
        let (path, target) = (entry.as_ref().unwrap().path(), to.join(entry.as_ref().unwrap().file_name()));
        if path.is_dir() {
            bytes += write_again(&path, &target);
            continue;
        }
        let text = std::fs::read(&path).unwrap();
        let mut file = File::create(&target).unwrap();
        for part in text.chunks(1 << 16) {
            std::hint::black_box(Sha256::digest(part));
            file.write_all(part).unwrap();
        }
        file.sync_all().unwrap();
        bytes += text.len() as u64;
    }
    bytes
}
