//! What must hold for any bytes: one check for each parser and each measure, shared by the fuzzing targets of `fuzz/` and by
//! `tests/fuzz_cases.rs`, which runs them on kept cases and on changed copies of those.
//!
//! A check panics where a promise is broken. It says nothing of what comes out for bytes that mean nothing.
#![allow(dead_code, clippy::unwrap_used, clippy::expect_used)]

use geo::{Area, Coord, LineString, MapCoords, MultiPolygon, Polygon};
use geos::{CoordSeq, Geom, Geometry};
use rootward::geometry::{PreparedArea, Repair, Sight, repair, union};
use rootward::normalise::diameter::{DiameterCell, DiameterReading, parse_diameter};
use rootward::normalise::geometry_cell::parse_geometry_cell;
use rootward::normalise::{Kinds, Purpose, decide_trees, decide_works};
use rootward::read::survey;
use rootward::rules::RuleSet;
use rootward::settings::{InputName, ReadBounds, ReadingChoices};
use rootward::units::LengthUnit;
use rootward::write::pages::{file_names::file_names, plain_text::escaped};
use rootward::write::sheet::{Sheet, plain_text};
use std::collections::HashSet;
use std::f64::consts::{PI, TAU};
use std::path::Path;

/// Panics where a promise does not hold for these bytes.
pub type Check = fn(&[u8]);

/// A check, by the name of its target and of its folder of cases.
pub const ALL: [(&str, Check); 8] = [
    ("rows", rows),
    ("features", features),
    ("stem_lists", stem_lists),
    ("geometry_cells", geometry_cells),
    ("rule_files", rule_files),
    ("file_names", safe_file_names),
    ("escapers", escapers),
    ("disc_areas", disc_areas),
];

fn text(bytes: &[u8]) -> std::borrow::Cow<'_, str> {
    String::from_utf8_lossy(bytes)
}

/// A table of text: what the first reading counts the second hands out, and no cell makes anything panic.
pub fn rows(bytes: &[u8]) {
    file(bytes, ".csv");
}

/// The same for GeoJSON.
pub fn features(bytes: &[u8]) {
    file(bytes, ".geojson");
}

fn file(bytes: &[u8], ending: &str) {
    // In memory where the machine has such a folder: a fuzzer writes millions of files.
    let folder =
        [Path::new("/dev/shm"), &std::env::temp_dir()].into_iter().find(|path| path.is_dir()).unwrap().to_owned();
    let file = tempfile::Builder::new().suffix(ending).tempfile_in(folder).unwrap();
    std::fs::write(file.path(), bytes).unwrap();
    let input = InputName::parse(file.path().to_str().unwrap());
    let Ok(survey) = survey(&input, ReadBounds::default()) else { return };
    assert!(survey.sample.len() as u64 <= survey.rows);
    let (choices, kinds) = (ReadingChoices::default(), Kinds::built_in());
    let placed = survey.sample.iter().any(|record| record.geometry.is_some());
    let trees = decide_trees("t", &survey.columns, &survey.sample, placed, &choices);
    let works = decide_works(Purpose::Works, "w", &survey.columns, &survey.sample, placed, &choices, &kinds);
    let (mut handed_out, mut last) = (0, 0);
    for chunk in survey.chunks().unwrap() {
        chunk.unwrap().for_each(&mut |record| {
            handed_out += 1;
            let row = record.as_ref().map_or_else(|problem| problem.row, |record| record.row);
            assert!(row > last, "rows go up");
            last = row;
            let Ok(record) = record else { return };
            assert_eq!(record.len(), survey.columns.len());
            if let Ok(plan) = &trees {
                let place =
                    plan.place(record).map_or(Coord { x: 0.0, y: 0.0 }, |place| Coord { x: place.x, y: place.y });
                let source = rootward::model::source::SourceRef { file: 0, row };
                let _ = plan.tree(record, source, place, &mut Vec::new());
            }
            if let Ok(plan) = &works
                && let Some(geometry) = plan.geometry(record)
            {
                mended(&geometry);
            }
        });
    }
    assert_eq!(handed_out, survey.rows);
    survey.check_unchanged().unwrap();
}

/// What can be ground is repaired to valid ground.
fn mended(geometry: &geo::Geometry<f64>) {
    let shape = match geometry {
        geo::Geometry::Polygon(polygon) => MultiPolygon(vec![polygon.clone()]),
        geo::Geometry::MultiPolygon(shape) => shape.clone(),
        _ => return,
    };
    if let Repair::Valid(ground) | Repair::Repaired { shape: ground, .. } = repair(&shape) {
        let area_m2 = ground.unsigned_area();
        assert!(area_m2.is_finite() && area_m2 >= 0.0, "{area_m2}");
    }
}

/// A diameter cell: stems above 0 and not beyond any tree, largest first; classes in order.
pub fn stem_lists(bytes: &[u8]) {
    let text = text(bytes);
    let units = [None, Some(LengthUnit::Centimetre), Some(LengthUnit::Inch)];
    for (unit, girth, decimal_comma) in
        units.into_iter().flat_map(|unit| [(unit, false, false), (unit, false, true), (unit, true, false)])
    {
        match parse_diameter(&text, &DiameterReading { unit, girth, decimal_comma }) {
            DiameterCell::Stems(stems) => {
                assert!(!stems.is_empty() && stems.iter().all(|stem_m| *stem_m > 0.0 && *stem_m <= 6.0), "{stems:?}");
                assert!(stems.windows(2).all(|pair| pair[0] >= pair[1]), "{stems:?}");
            }
            DiameterCell::Range { low_m, high_m } => assert!(0.0 < low_m && low_m < high_m && high_m <= 6.0),
            DiameterCell::AtLeast(low_m) => assert!(low_m > 0.0 && low_m <= 6.0),
            DiameterCell::Missing | DiameterCell::Damaged { .. } => {}
        }
    }
}

/// A geometry cell, and what is made of it.
pub fn geometry_cells(bytes: &[u8]) {
    if let Some(cell) = parse_geometry_cell(&text(bytes)) {
        mended(&cell.geometry);
    }
}

/// A rule file: refused with a message, or a set whose zones are discs.
pub fn rule_files(bytes: &[u8]) {
    let rules = match RuleSet::from_text("rules.toml", &text(bytes)) {
        Ok(rules) => rules,
        Err(error) => {
            assert!(!error.to_string().is_empty());
            return;
        }
    };
    assert!(!rules.json().is_empty() && !rules.heritage_text().is_empty());
    let source = rootward::model::source::SourceRef { file: 0, row: 1 };
    let tree = rootward::model::tree::Tree::only_placed("T", source, Coord { x: 0.0, y: 0.0 });
    for diameter_m in [0.01, 0.3, 6.0] {
        let zone = rules.zone(&tree, diameter_m);
        assert!(zone.radius_m.is_finite() && zone.radius_m >= 0.0, "{}", zone.radius_m);
        assert!(zone.rings.iter().all(|ring| ring.radius_m <= zone.radius_m));
    }
}

/// Names of files from ids, one a line: safe anywhere, and different for different ids however a file system folds them.
pub fn safe_file_names(bytes: &[u8]) {
    let text = text(bytes);
    let mut seen = HashSet::new();
    let ids: Vec<&str> = text.split('\n').filter(|id| seen.insert(*id)).collect();
    let names = file_names(ids.iter().copied());
    let folded: HashSet<String> = names.iter().map(|name| name.to_ascii_lowercase()).collect();
    assert_eq!(folded.len(), ids.len(), "{names:?}");
    for name in &names {
        assert!(
            !name.is_empty() && name.len() <= 200 && !name.starts_with(['.', '-']) && !name.ends_with('.'),
            "{name}"
        );
        assert!(name.bytes().all(|b| b.is_ascii_alphanumeric() || b"-_.".contains(&b)), "{name}");
        let device = name.split('.').next().unwrap().to_ascii_lowercase();
        assert!(!["con", "prn", "aux", "nul", "com1", "lpt1", "index"].contains(&device.as_str()), "{name}");
    }
}

/// Text in a table comes back as it was and is no formula; text in markup is text.
pub fn escapers(bytes: &[u8]) {
    let text = text(bytes);
    let header = vec!["a".to_string(), "b".to_string()];
    let mut sheet = Sheet::new(&header);
    sheet.text("a", &text);
    sheet.text("b", "x");
    sheet.end();
    let written = sheet.into_text();
    let mut reader = csv::ReaderBuilder::new().has_headers(false).from_reader(written.as_slice());
    let read = reader.records().next().unwrap().unwrap();
    assert_eq!((plain_text(&read[0]), &read[1]), (&*text, "x"));
    assert!(
        !read[0].starts_with(['=', '+', '-', '@', '\t', '\r', '\n', '\u{ff1d}', '\u{ff0b}', '\u{ff0d}', '\u{ff20}'])
    );
    let shown = escaped(&text);
    assert!(!shown.contains(['<', '>', '"', '\'']) && !shown.chars().any(char::is_control), "{shown}");
    assert!(!shown.contains(['\u{202e}', '\u{2066}', '\u{200b}']));
}

/// Sides of the polygon that stands for a disc in the other engine. It has the disc's area; its outline is never further from the circle than
/// r (1 - cos(pi / n)) = 3e-7 r, so that no overlap differs by more than 2e-6 of the disc.
const SIDES: usize = 4096;
const TOLERANCE: f64 = 3e-6;

/// Shapes on a grid of quarter metres against GEOS: the covered part of a disc; and what must hold of what is severed.
pub fn disc_areas(bytes: &[u8]) {
    let Some((&[radius, x, y], points)) = bytes.split_first_chunk::<3>() else { return };
    let radius_m = 0.5 + f64::from(radius) / 8.0;
    // Where maps lie, far from the origin.
    let centre = Coord { x: 491_520.0 + f64::from(x) / 8.0, y: 5_458_944.0 + f64::from(y) / 8.0 };
    let rings = points.split(|byte| *byte == 255).take(6);
    let ring = |bytes: &[u8]| {
        let place =
            |pair: &[u8]| Coord { x: 491_520.0 + f64::from(pair[0]) / 4.0, y: 5_458_944.0 + f64::from(pair[1]) / 4.0 };
        Polygon::new(LineString(bytes.chunks_exact(2).take(40).map(place).collect()), Vec::new())
    };
    let works: Vec<MultiPolygon<f64>> = rings
        .filter_map(|bytes| match repair(&ring(bytes).into()) {
            Repair::Valid(shape) | Repair::Repaired { shape, .. } => Some(shape),
            Repair::Failed(_) => None,
        })
        .collect();
    if works.is_empty() {
        return;
    }
    let ground = union(&works.iter().collect::<Vec<_>>());
    let area = PreparedArea::new(&ground);
    let (disc_m2, ours_m2) = (PI * radius_m * radius_m, area.disc_area_m2(centre, radius_m));
    let theirs_m2 = covered_by_geos(&works, centre, radius_m);
    assert!((ours_m2 - theirs_m2).abs() <= TOLERANCE * disc_m2, "ours {ours_m2}, GEOS {theirs_m2}, radius {radius_m}");
    let smaller_m2 = area.disc_area_m2(centre, radius_m * 0.5);
    assert!(smaller_m2 <= ours_m2 + 1e-9 * disc_m2, "a smaller disc holds more: {smaller_m2}, {ours_m2}");
    let severed_m2 = Sight::new(&area, centre, radius_m).severed_m2();
    assert!(
        severed_m2 >= ours_m2 - 1e-5 * disc_m2 && severed_m2 <= disc_m2 * (1.0 + 1e-9),
        "{severed_m2} of {disc_m2}"
    );
}

fn covered_by_geos(works: &[MultiPolygon<f64>], centre: Coord<f64>, radius_m: f64) -> f64 {
    let ring = |points: &[Coord<f64>]| {
        let points: Vec<[f64; 2]> = points.iter().map(|point| [point.x, point.y]).collect();
        Geometry::create_linear_ring(CoordSeq::new_from_vec(&points).unwrap()).unwrap()
    };
    let polygon = |polygon: &Polygon<f64>| {
        let holes = polygon.interiors().iter().map(|hole| ring(&hole.0)).collect();
        Geometry::create_polygon(ring(&polygon.exterior().0), holes).unwrap()
    };
    let parts = works.iter().map(|work| work.map_coords(|point| point - centre));
    let parts: Vec<Geometry> = parts.flat_map(|work| work.0.iter().map(polygon).collect::<Vec<_>>()).collect();
    let ground = Geometry::create_geometry_collection(parts).unwrap().unary_union().unwrap();
    let step = TAU / SIDES as f64;
    let same_area_m = radius_m * (step / step.sin()).sqrt();
    let mut disc: Vec<Coord<f64>> = (0..SIDES)
        .map(|side| {
            let (sine, cosine) = (side as f64 * step).sin_cos();
            Coord { x: same_area_m * cosine, y: same_area_m * sine }
        })
        .collect();
    disc.push(disc[0]);
    let disc = Geometry::create_polygon(ring(&disc), Vec::new()).unwrap();
    ground.intersection(&disc).unwrap().area().unwrap()
}
