//! Real city files, read whole: every row is a record or a named problem.
//!
//! The files are open data (sources beside them) in `../shared/data`; a test says so where they are not there.

use super::*;
use std::collections::BTreeMap;
use std::path::Path;

/// Rows, columns, delimiter or CRS, and problems by code of one file.
struct Expected {
    file: &'static str,
    rows: u64,
    columns: usize,
    bad: u64,
    types: &'static [(&'static str, u64)],
}

/// Counted with other tools: rows of CSVs with Python's `csv`, features with Python's `json`.
const FILES: &[Expected] = &[
    Expected { file: "malmo/stems.csv", rows: 229, columns: 3, bad: 0, types: &[("none", 229)] },
    Expected { file: "malmo/trees_joined.csv", rows: 140, columns: 4, bad: 0, types: &[("none", 140)] },
    Expected { file: "plots/finpines.csv", rows: 126, columns: 4, bad: 0, types: &[("none", 126)] },
    Expected { file: "plots/longleaf.csv", rows: 584, columns: 3, bad: 0, types: &[("none", 584)] },
    Expected { file: "plots/spruces.csv", rows: 134, columns: 3, bad: 0, types: &[("none", 134)] },
    Expected { file: "plots/waka.csv", rows: 504, columns: 3, bad: 0, types: &[("none", 504)] },
    Expected { file: "portland/pdx_street_trees.csv", rows: 676, columns: 26, bad: 0, types: &[("none", 676)] },
    Expected { file: "vancouver/trees.csv", rows: 5000, columns: 21, bad: 0, types: &[("none", 5000)] },
    Expected {
        file: "cambridge/driveways.geojson",
        rows: 8381,
        columns: 6,
        bad: 0,
        types: &[("multipolygon", 22), ("none", 2), ("polygon", 8357)],
    },
    Expected {
        file: "cambridge/parking_lots.geojson",
        rows: 1533,
        columns: 3,
        bad: 0,
        types: &[("multipolygon", 16), ("polygon", 1517)],
    },
    Expected {
        file: "cambridge/special_permit_areas.geojson",
        rows: 355,
        columns: 11,
        bad: 0,
        types: &[("multipolygon", 16), ("polygon", 339)],
    },
    Expected { file: "pasadena/buildings.geojson", rows: 6373, columns: 2, bad: 0, types: &[("polygon", 6373)] },
    Expected { file: "pasadena/trees.geojson", rows: 1013, columns: 12, bad: 0, types: &[("point", 1013)] },
];

#[test]
fn every_file_is_read_whole() {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("../shared/data");
    if !folder.is_dir() {
        eprintln!("skipped: no open data in {}", folder.display());
        return;
    }
    for expected in FILES {
        let input = InputName { path: folder.join(expected.file), layer: None };
        let survey = survey(&input, ReadBounds::default()).unwrap_or_else(|e| panic!("{}: {e}", expected.file));
        let (mut rows, mut bad, mut types) = (0, 0, BTreeMap::new());
        for chunk in survey.chunks().unwrap() {
            chunk.unwrap().for_each(&mut |row| {
                rows += 1;
                match row {
                    Ok(record) => {
                        assert_eq!(record.len(), survey.columns.len());
                        let name = record.geometry.as_ref().map_or("none".to_string(), |g| {
                            format!("{g:?}").split(['(', ' ']).next().unwrap().to_lowercase()
                        });
                        *types.entry(name).or_insert(0_u64) += 1;
                    }
                    Err(_) => bad += 1,
                }
            });
        }
        eprintln!(
            "{}: {rows} rows, {bad} bad, {} columns, {types:?}, {:?}",
            expected.file,
            survey.columns.len(),
            survey.notes
        );
        assert_eq!((rows, survey.rows, bad), (expected.rows, expected.rows, expected.bad), "{}", expected.file);
        assert_eq!(survey.columns.len(), expected.columns, "{}", expected.file);
        let expected_types: BTreeMap<String, u64> =
            expected.types.iter().map(|&(name, count)| (name.to_string(), count)).collect();
        assert_eq!(types, expected_types, "{}", expected.file);
    }
}

/// Workers take chunks to other threads; the pipeline may read ahead on one.
#[test]
fn chunks_can_cross_threads() {
    fn crosses<T: Send>() {}
    fn is_shared<T: Send + Sync>() {}
    crosses::<Chunks>();
    is_shared::<RawChunk>();
    is_shared::<Survey>();
}
