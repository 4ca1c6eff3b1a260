//! Open data that others have measured: the boroughs of New York City and mapped forest plots.
//!
//! `scripts/fetch-open-data` leaves the files in `target/open-data` and says where they come from; a test whose file is not there
//! prints `skipped:` with the reason.

#![allow(clippy::unwrap_used)]

use crate::run::{PLANE, Run, number, screen};
use geo::{Area, Coord, CoordsIter, Geometry, LineString, MultiPolygon};
use geographiclib_rs::{Geodesic, PolygonArea, Winding};
use rootward::model::crs::CrsKind;
use rootward::projection::{Projector, extent_lonlat, measuring_crs, resolve};
use rootward::read::survey;
use rootward::settings::{InputName, ReadBounds};
use std::path::{Path, PathBuf};

/// The file, or `None` and a line that says so.
fn open_data(name: &str) -> Option<PathBuf> {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("target/open-data").join(name);
    if path.is_file() {
        return Some(path);
    }
    eprintln!("skipped: checks against {name}: not in target/open-data; scripts/fetch-open-data puts it there");
    None
}

/// A borough as the city publishes it.
struct Borough {
    name: String,
    shape_area_sqft: f64,
    shape: MultiPolygon<f64>,
}

fn boroughs(path: &Path) -> (rootward::model::crs::Crs, Vec<Borough>) {
    let survey = survey(&InputName { path: path.to_path_buf(), layer: None }, ReadBounds::default()).unwrap();
    let column = |name: &str| survey.columns.iter().position(|column| column == name).unwrap();
    let (area, name) = (column("Shape_Area"), column("BoroName"));
    let mut boroughs = Vec::new();
    for chunk in survey.chunks().unwrap() {
        chunk.unwrap().for_each(&mut |row| {
            let record = row.unwrap();
            let shape = match record.geometry.clone().unwrap() {
                Geometry::MultiPolygon(many) => many,
                Geometry::Polygon(one) => MultiPolygon(vec![one]),
                other => panic!("a borough is {other:?}"),
            };
            let (name, shape_area_sqft) = (record.cell(name).to_string(), record.cell(area).parse().unwrap());
            boroughs.push(Borough { name, shape_area_sqft, shape });
        });
    }
    (survey.crs.unwrap(), boroughs)
}

/// Square metres on the ellipsoid inside a ring of longitudes and latitudes, by C. F. F. Karney's algorithm.
fn geodesic_ring_m2(ellipsoid: &Geodesic, ring: &LineString<f64>) -> f64 {
    let mut polygon = PolygonArea::new(ellipsoid, Winding::CounterClockwise);
    // The last place of a closed ring is its first.
    ring.0[1..].iter().for_each(|place| polygon.add_point(place.y, place.x));
    let (_, area_m2, _) = polygon.compute(true);
    area_m2.abs()
}

fn geodesic_m2(ellipsoid: &Geodesic, shape: &MultiPolygon<f64>) -> f64 {
    shape
        .iter()
        .map(|polygon| {
            let holes: f64 = polygon.interiors().iter().map(|ring| geodesic_ring_m2(ellipsoid, ring)).sum();
            geodesic_ring_m2(ellipsoid, polygon.exterior()) - holes
        })
        .sum()
}

/// Point scale of EPSG:2263, a Lambert conformal conic with standard parallels 40 40' and 41 2' on GRS 1980.
///
/// Source: J. P. Snyder, Map Projections - A Working Manual, USGS Professional Paper 1395 (1987), equations 14-15, 15-9, 15-8, 15-7
/// and 15-5 with m_1 = n F t_1^n and k = n rho / (a m); equations from memory. Parameters: EPSG data set.
fn scale_of_2263(latitude_deg: f64) -> f64 {
    let flattening: f64 = 1.0 / 298.257_222_101;
    let e = (flattening * (2.0 - flattening)).sqrt();
    let m = |phi: f64| phi.cos() / (1.0 - (e * phi.sin()).powi(2)).sqrt();
    let t = |phi: f64| {
        let s = e * phi.sin();
        (std::f64::consts::FRAC_PI_4 - phi / 2.0).tan() / ((1.0 - s) / (1.0 + s)).powf(e / 2.0)
    };
    let (one, two) = ((40.0_f64 + 40.0 / 60.0).to_radians(), (41.0_f64 + 2.0 / 60.0).to_radians());
    let n = (m(one).ln() - m(two).ln()) / (t(one).ln() - t(two).ln());
    let phi = latitude_deg.to_radians();
    m(one) * (t(phi) / t(one)).powf(n) / m(phi)
}

/// The five areas as published, as measured in the file's own plane, in the measuring plane, and on the ellipsoid.
///
/// The grid is not true to area: its scale squared says by how much a square metre of it is off. The published area in survey
/// feet, turned into square metres, must differ from the true one by just that: between the least and the greatest scale
/// squared over the borough's latitudes (Staten Island 2e-6 to 2.8e-5 too large, Manhattan 2e-6 to 1e-5 too small).
#[test]
fn areas_of_the_boroughs_of_new_york() {
    let Some(path) = open_data("nybb_16a.zip") else { return };
    let (crs, boroughs) = boroughs(&path);
    assert_eq!(crs.authority.as_deref(), Some("EPSG:2263"));
    let CrsKind::Projected { unit_m } = crs.kind else { panic!("{:?}", crs.kind) };
    assert_eq!(unit_m, 1200.0 / 3937.0);
    assert_eq!(boroughs.len(), 5);

    let places = boroughs.iter().flat_map(|borough| borough.shape.coords_iter().collect::<Vec<_>>());
    let extent = extent_lonlat("boroughs", &crs, places).unwrap();
    let measuring = measuring_crs(&crs, extent).unwrap();
    let middle = boroughs[0].shape.coords_iter().next().unwrap();
    let operation = resolve("boroughs", &crs, &measuring.crs, middle.x_y(), Some(extent), 5.0).unwrap();
    assert_eq!(operation.accuracy_m, Some(0.0), "one datum");
    let into_plane = Projector::new(&operation).unwrap();
    let base = rootward::read::crs::describe_crs(&crs.geographic_base, "a test").unwrap();
    let to_degrees = resolve("boroughs", &crs, &base, middle.x_y(), Some(extent), 5.0).unwrap();
    let into_degrees = Projector::new(&to_degrees).unwrap();
    let ellipsoid = Geodesic::new(6_378_137.0, 1.0 / 298.257_222_101);

    for borough in &boroughs {
        let grid_sqft = borough.shape.unsigned_area();
        close(&borough.name, "planar area, sq ft", grid_sqft, borough.shape_area_sqft, 1e-5);

        let shape = Geometry::MultiPolygon(borough.shape.clone());
        let Geometry::MultiPolygon(degrees) = into_degrees.geometry(&shape).unwrap() else { panic!("a polygon") };
        let ground_m2 = geodesic_m2(&ellipsoid, &degrees);
        let plane_m2 = into_plane.geometry(&shape).unwrap().unsigned_area();
        close(&borough.name, "measuring plane against geodesics, m2", plane_m2, ground_m2, 1e-5);

        let (south, north) = degrees
            .coords_iter()
            .map(|place: Coord<f64>| place.y)
            .fold((f64::INFINITY, f64::NEG_INFINITY), |(south, north), y| (south.min(y), north.max(y)));
        let scales = (0..=1000).map(|i| scale_of_2263(south + (north - south) * f64::from(i) / 1000.0).powi(2));
        let (least, greatest) =
            scales.fold((f64::INFINITY, 0.0_f64), |(low, high), scale| (low.min(scale), high.max(scale)));
        let square_foot_m2 = (1200.0 / 3937.0_f64).powi(2);
        let in_file = grid_sqft * square_foot_m2 / plane_m2;
        let published = borough.shape_area_sqft * square_foot_m2 / plane_m2;
        eprintln!(
            "{}: grid area over true area {:+.2e} (published {:+.2e}); the grid's scale squared {:+.2e} to {:+.2e}",
            borough.name,
            in_file - 1.0,
            published - 1.0,
            least - 1.0,
            greatest - 1.0
        );
        // 1e-7 for edges that are straight in one plane and not in the other.
        assert!((least - 1e-7..=greatest + 1e-7).contains(&in_file), "{}: {in_file}", borough.name);
        // The published areas are not quite those of the outlines beside them: 1.4e-6 apart in the Bronx.
        assert!((least - 2e-6..=greatest + 2e-6).contains(&published), "{}: {published}", borough.name);
    }
}

#[track_caller]
fn close(name: &str, what: &str, got: f64, expected: f64, relative: f64) {
    let off = got / expected - 1.0;
    eprintln!("{name}: {what}: {got:.1}, expected {expected:.1}, off by {off:+.1e}");
    assert!(off.abs() < relative, "{name}: {what}: got {got}, expected {expected}");
}

/// A mapped plot and a strip of works through it, in its own metres.
struct Plot {
    file: &'static str,
    /// Centimetres per unit of its diameters, and the unit's name.
    unit: (&'static str, f64),
    kind: &'static str,
    /// West, south, east, north.
    strip: [f64; 4],
}

/// The help pages of the package give metres for all places, and centimetres (spruces: metres) for the diameters.
const PLOTS: [Plot; 4] = [
    Plot { file: "longleaf.csv", unit: ("cm", 1.0), kind: "building", strip: [95.0, -1.0, 105.0, 201.0] },
    Plot { file: "waka.csv", unit: ("cm", 1.0), kind: "trench", strip: [20.0, 49.7, 90.0, 50.3] },
    Plot { file: "spruces.csv", unit: ("m", 100.0), kind: "trench", strip: [10.0, 18.0, 45.0, 18.6] },
    Plot { file: "finpines.csv", unit: ("cm", 1.0), kind: "building", strip: [-6.0, -3.5, 6.0, -2.5] },
];

/// A tree as the plot has it.
struct Mapped {
    place: (f64, f64),
    diameter_cm: f64,
}

fn mapped(text: &str, cm_per_unit: f64) -> Vec<Mapped> {
    let number = |cell: &str| cell.parse::<f64>().unwrap();
    text.lines()
        .skip(1)
        .map(|line| line.split(',').collect::<Vec<_>>())
        .map(|cells| Mapped {
            place: (number(cells[0]), number(cells[1])),
            diameter_cm: number(cells[2]) * cm_per_unit,
        })
        .collect()
}

fn distance_m(place: (f64, f64), [west, south, east, north]: [f64; 4]) -> f64 {
    let beside = (west - place.0).max(place.0 - east).max(0.0);
    let above = (south - place.1).max(place.1 - north).max(0.0);
    beside.hypot(above)
}

/// 12 x diameter, at most 15 m (BS 5837:2012; where the values were seen is written in the rule set).
fn radius_m(diameter_cm: f64) -> f64 {
    (12.0 * diameter_cm / 100.0).min(15.0)
}

fn screened(plot: &Plot, text: &str, more: &[&str]) -> Run {
    let [west, south, east, north] = plot.strip;
    let ring = [(west, south), (east, south), (east, north), (west, north), (west, south)];
    let ring: Vec<String> = ring.iter().map(|(x, y)| format!("{x} {y}")).collect();
    let works = format!("permit_id,kind,wkt\nSTRIP,{},\"POLYGON (({}))\"\n", plot.kind, ring.join(", "));
    screen(text, &works, "bs5837-2012", more)
}

/// Every row has the radius and the distance that this test works out for itself, and every tree that the strip reaches has a row.
#[test]
fn mapped_plots_by_brute_force() {
    assert!(PLANE.contains("laea"), "the plots' metres are those of the measuring plane");
    for plot in &PLOTS {
        let Some(path) = open_data(plot.file) else { continue };
        let text = std::fs::read_to_string(path).unwrap();
        let trees = mapped(&text, plot.unit.1);
        let run = screened(plot, &text, &["--diameter-unit", plot.unit.0]).done();
        let rows = run.table("overlaps.csv");

        let known: Vec<&Mapped> = trees.iter().filter(|tree| tree.diameter_cm > 0.0).collect();
        let gap = |tree: &Mapped| distance_m(tree.place, plot.strip) - radius_m(tree.diameter_cm);
        let on_the_edge = known.iter().filter(|tree| gap(tree).abs() < 1e-6).count();
        assert_eq!(on_the_edge, 0, "{}: a tree that touches by chance; move the strip", plot.file);
        let mut expected: Vec<(f64, f64)> = known
            .iter()
            .filter(|tree| gap(tree) < 0.0)
            .map(|tree| (distance_m(tree.place, plot.strip), radius_m(tree.diameter_cm)))
            .collect();

        let (unknown, judged): (Vec<_>, Vec<_>) = rows.iter().partition(|row| row["finding"] == "not_assessed");
        let mut got: Vec<(f64, f64)> =
            judged.iter().map(|row| (number(row, "distance_m"), number(row, "zone_radius_m"))).collect();
        eprintln!("{}: {} trees, {} reached, {} without a diameter", plot.file, trees.len(), got.len(), unknown.len());
        assert_eq!(got.len(), expected.len(), "{}: trees within reach", plot.file);
        assert!(expected.len() > 5, "{}: the strip reaches trees", plot.file);
        got.sort_by(|a, b| a.partial_cmp(b).unwrap());
        expected.sort_by(|a, b| a.partial_cmp(b).unwrap());
        // Printed to a millimetre, and sorted by what is printed: trees at the same printed distance may change places.
        expected = expected.iter().map(|&(distance, radius)| (thousandths(distance), thousandths(radius))).collect();
        expected.sort_by(|a, b| a.partial_cmp(b).unwrap());
        for (got, expected) in got.iter().zip(&expected) {
            let off = (got.0 - expected.0).abs().max((got.1 - expected.1).abs());
            assert!(off < 0.0011, "{}: got {got:?}, expected {expected:?} (distance, radius)", plot.file);
        }
        for row in &judged {
            let (radius, diameter) = (number(row, "zone_radius_m"), number(row, "diameter_cm"));
            assert!((radius - radius_m(diameter)).abs() < 0.0011, "{row:?}");
        }

        // Those of diameter 0 are listed where the strip is within the search distance of 15 m.
        let near = trees.iter().filter(|tree| tree.diameter_cm == 0.0 && distance_m(tree.place, plot.strip) < 15.0);
        assert_eq!(unknown.len(), near.count(), "{}: without a usable diameter", plot.file);
    }
}

fn thousandths(metres: f64) -> f64 {
    (metres * 1000.0).round() / 1000.0
}

/// Diameters of 0.16 to 0.37 are no inches and no centimetres of a forest: without a unit the run stops and says what they could be.
#[test]
fn metres_are_among_the_plausible_units_of_the_spruces() {
    let Some(path) = open_data("spruces.csv") else { return };
    let text = std::fs::read_to_string(path).unwrap();
    let run = screened(&PLOTS[2], &text, &[]);
    assert_eq!(run.output.status.code(), Some(1), "{}{}", run.stdout(), run.stderr());
    let message = run.stderr();
    eprintln!("{message}");
    assert!(message.contains("--diameter-unit m"), "{message}");
    assert!(message.contains("m 100 %") && message.contains("cm 0 %"), "{message}");
    assert!(!run.out().exists(), "nothing is written");
}
