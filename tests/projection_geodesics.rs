//! The default measuring CRS against geodesic lengths and areas, which know nothing of map projections.
//!
//! Source of the truth: C. F. F. Karney, Algorithms for geodesics, Journal of Geodesy 87 (2013), as the crate `geographiclib-rs` has it.
#![allow(clippy::unwrap_used)]

use crate::projection_support::crs;
use geo::Coord;
use geographiclib_rs::{DirectGeodesic, Geodesic, InverseGeodesic, PolygonArea, Winding};
use rootward::model::crs::Crs;
use rootward::projection::*;

/// A place in degrees.
type Place = (f64, f64);

/// Golden-angle spiral: `count` places that fill a disc of `radius_m` evenly, without chance.
fn places_around(ellipsoid: &Geodesic, (lon, lat): Place, radius_m: f64, count: u32) -> Vec<Place> {
    (0..count)
        .map(|index| {
            let bearing_deg = f64::from(index) * 137.507_764_05;
            let distance_m = radius_m * (f64::from(index + 1) / f64::from(count)).sqrt();
            let (lat, lon) = ellipsoid.direct(lat, lon, bearing_deg, distance_m);
            (lon, lat)
        })
        .collect()
}

/// Worst relative error of lengths between places, and of the areas of a large and several small polygons.
fn worst_errors(works: &Crs, ellipsoid: &Geodesic, centre: Place, radius_m: f64) -> (f64, f64) {
    let places = places_around(ellipsoid, centre, radius_m, 60);
    let extent = extent_lonlat("works", works, places.iter().map(|&(x, y)| Coord { x, y })).unwrap();
    let measuring = measuring_crs(works, extent).unwrap();
    let operation = resolve("works", works, &measuring.crs, centre, Some(extent), 5.0).unwrap();
    assert_eq!(operation.accuracy_m, Some(0.0));
    let projector = Projector::new(&operation).unwrap();
    let plane: Vec<Coord<f64>> = places.iter().map(|&(lon, lat)| projector.checked(lon, lat).unwrap()).collect();
    let mut worst_length: f64 = 0.0;
    for one in 0..places.len() {
        for other in 0..one {
            let ground_m: f64 = ellipsoid.inverse(places[one].1, places[one].0, places[other].1, places[other].0);
            let map_m = (plane[one].x - plane[other].x).hypot(plane[one].y - plane[other].y);
            worst_length = worst_length.max((map_m / ground_m - 1.0).abs());
        }
    }
    let around = |middle: Place, radius_m: f64| -> Vec<Place> {
        (0..64)
            .map(|step| ellipsoid.direct(middle.1, middle.0, -f64::from(step) * 360.0 / 64.0, radius_m))
            .map(|(lat, lon)| (lon, lat))
            .collect()
    };
    let mut polygons = vec![around(centre, radius_m)];
    polygons.extend(places.iter().step_by(7).map(|&place| around(place, 200.0)));
    let worst_area = polygons.iter().map(|ring| area_error(&projector, ellipsoid, ring)).fold(0.0, f64::max);
    (worst_length, worst_area)
}

fn area_error(projector: &Projector, ellipsoid: &Geodesic, ring: &[Place]) -> f64 {
    let mut ground = PolygonArea::new(ellipsoid, Winding::CounterClockwise);
    ring.iter().for_each(|&(lon, lat)| ground.add_point(lat, lon));
    let (_, ground_m2, _) = ground.compute(true);
    let plane: Vec<Coord<f64>> = ring.iter().map(|&(lon, lat)| projector.forward(lon, lat).unwrap()).collect();
    let origin = plane[0];
    let twice: f64 = (0..plane.len())
        .map(|index| {
            let (a, b) = (plane[index] - origin, plane[(index + 1) % plane.len()] - origin);
            a.x * b.y - a.y * b.x
        })
        .sum();
    (twice / 2.0 / ground_m2 - 1.0).abs()
}

/// A city of 30 km around the centre, at the equator, in the tropics, where people live, near the poles, in both hemispheres, and
/// across the antimeridian.
const CENTRES: &[Place] = &[
    (-78.5, 0.0),
    (0.04, 0.02),
    (-82.4, 23.5),
    (-74.0, 40.7),
    (13.42, 52.48),
    (10.75, 59.95),
    (25.7, 70.0),
    (151.2, -33.9),
    (-68.3, -54.8),
    (179.97, -17.0),
    (-179.98, 52.0),
    (180.0, 66.0),
    (15.0, 78.2),
    (0.0, 89.9),
    (0.0, -89.95),
];

#[test]
fn lengths_and_areas_over_a_city_are_true_to_1_in_10000() {
    let ellipsoid = Geodesic::wgs84();
    for &centre in CENTRES {
        let (length, area) = worst_errors(&wgs84(), &ellipsoid, centre, 30_000.0);
        eprintln!("centre {centre:?}: lengths off by at most {length:.2e}, areas by {area:.2e}");
        assert!(length < 1e-4 && area < 1e-4, "{centre:?}: lengths {length:.2e}, areas {area:.2e}");
    }
}

#[test]
fn lengths_stay_true_as_far_out_as_works_are_accepted() {
    let ellipsoid = Geodesic::wgs84();
    for centre in [(13.4, 52.5), (-78.5, 0.0), (151.2, -33.9)] {
        let (length, area) = worst_errors(&wgs84(), &ellipsoid, centre, 120_000.0);
        eprintln!("centre {centre:?}, 120 km around: lengths {length:.2e}, areas {area:.2e}");
        assert!(length < 1e-4 && area < 1e-4, "{centre:?}: {length:.2e} {area:.2e}");
        // Far enough to show that the test can see an error: the projection is not true everywhere.
        assert!(length > 1e-5);
    }
    let error = measuring_crs(&wgs84(), [-10.0, 36.0, 20.0, 60.0]).unwrap_err();
    assert!(error.to_string().contains("expected one city"), "{error}");
}

#[test]
fn works_in_a_grid_are_measured_on_their_own_ellipsoid() {
    let works = crs(27700);
    let (x, y) = (530_000.0, 180_000.0);
    let corners = [Coord { x, y }, Coord { x: x + 20_000.0, y: y + 20_000.0 }];
    let extent = extent_lonlat("works", &works, corners).unwrap();
    let measuring = measuring_crs(&works, extent).unwrap();
    assert_eq!(measuring.crs.name, "Lambert azimuthal equal-area at 0 E 51.6 N on OSGB36");
    let operation = resolve("works", &works, &measuring.crs, (x, y), Some(extent), 5.0).unwrap();
    let projector = Projector::new(&operation).unwrap();
    let (one, other) = (projector.forward(x, y).unwrap(), projector.forward(x + 20_000.0, y + 20_000.0).unwrap());
    let [west, south, east, north] = extent;
    // Airy 1830: a = 6377563.396 m, 1/f = 299.3249646 (EPSG ellipsoid 7001).
    let ground_m: f64 = Geodesic::new(6_377_563.396, 1.0 / 299.324_964_6).inverse(south, west, north, east);
    let map_m = (one.x - other.x).hypot(one.y - other.y);
    assert!((map_m / ground_m - 1.0).abs() < 1e-5, "{map_m} against {ground_m}");
    // The grid's own lengths are 2 parts in 10,000 short there: reason enough to have a measuring CRS.
    assert!((20_000.0 * 2.0_f64.sqrt() / ground_m - 1.0).abs() > 1e-4);
}

#[test]
fn a_base_that_counts_from_paris_in_grads_makes_no_difference() {
    let works = crs(27572);
    // About Paris in Lambert zone II (extended): easting 600 km is the meridian of Paris.
    let corners = [Coord { x: 595_000.0, y: 2_423_000.0 }, Coord { x: 605_000.0, y: 2_433_000.0 }];
    let extent = extent_lonlat("works", &works, corners).unwrap();
    // 2.5969213 grads = 2.33722917 degrees from Greenwich (GIGS 5208, as in the PROJ test suite).
    assert!((extent[0] + extent[2]) / 2.0 - 2.337_229 < 1e-3, "{extent:?}");
    let measuring = measuring_crs(&works, extent).unwrap();
    let (lon, lat) = measuring.centre.unwrap();
    assert!((lon - 2.3).abs() < 1e-9 && (lat - 48.9).abs() < 0.2, "{lon} {lat}");
    let operation = resolve("works", &works, &measuring.crs, (600_000.0, 2_428_000.0), Some(extent), 5.0).unwrap();
    let projector = Projector::new(&operation).unwrap();
    let middle = projector.checked(600_000.0, 2_428_000.0).unwrap();
    // 0.0372 degrees of longitude east of the centre at latitude 48.8: 2.7 km.
    assert!((middle.x - 2_730.0).abs() < 60.0, "{middle:?}");
    let ellipsoid = Geodesic::new(6_378_249.2, (6_378_249.2 - 6_356_515.0) / 6_378_249.2);
    let (one, other) =
        (projector.forward(595_000.0, 2_423_000.0).unwrap(), projector.forward(605_000.0, 2_433_000.0).unwrap());
    let ground_m: f64 = ellipsoid.inverse(extent[1], extent[0], extent[3], extent[2]);
    let map_m = (one.x - other.x).hypot(one.y - other.y);
    assert!((map_m / ground_m - 1.0).abs() < 1e-5, "{map_m} against {ground_m}");
}

#[test]
fn the_centre_is_rounded_and_named_across_every_seam() {
    let name = |extent| measuring_crs(&wgs84(), extent).unwrap().crs.name;
    assert_eq!(name([13.1, 52.4, 13.75, 52.66]), "Lambert azimuthal equal-area at 13.4 E 52.5 N on WGS 84");
    assert_eq!(name([179.9, -17.3, -179.76, -16.9]), "Lambert azimuthal equal-area at 179.9 W 17.1 S on WGS 84");
    assert_eq!(name([179.93, 51.9, -179.97, 52.1]), "Lambert azimuthal equal-area at 180 E 52 N on WGS 84");
    assert_eq!(name([-180.0, 51.9, -179.98, 52.1]), "Lambert azimuthal equal-area at 180 E 52 N on WGS 84");
    assert_eq!(name([-0.04, -0.04, 0.02, 0.02]), "Lambert azimuthal equal-area at 0 E 0 N on WGS 84");
    for extent in [[f64::NAN, 0.0, 1.0, 1.0], [0.0, 1.0, 1.0, 0.0], [0.0, 0.0, 1.0, 91.0]] {
        assert!(measuring_crs(&wgs84(), extent).is_err());
    }
}

/// `cargo test --release --test suite -- --ignored --nocapture throughput`
#[test]
#[ignore = "a measurement, not a check"]
fn throughput_of_conversions() {
    let works = crs(26910);
    let measuring = measuring_crs(&works, [-123.2, 49.1, -123.0, 49.3]).unwrap();
    let to_wgs84 = ToWgs84::resolve(&measuring, (0.0, 0.0), None, 5.0).unwrap();
    let trees = resolve("trees", &wgs84(), &measuring.crs, (-123.1, 49.2), None, 5.0).unwrap();
    let grid = resolve("works", &works, &measuring.crs, (491_000.0, 5_456_000.0), None, 5.0).unwrap();
    for (label, operation, x, y) in [
        ("degrees", &trees, -123.1, 49.2),
        ("grid", &grid, 491_000.0, 5_456_000.0),
        ("to WGS 84", &to_wgs84, 100.0, 100.0),
    ] {
        let projector = Projector::new(operation).unwrap();
        let step = if x < 0.0 { 1e-7 } else { 0.01 };
        let points: Vec<Coord<f64>> = (0..1_000_000).map(|index| Coord { x: x + f64::from(index) * step, y }).collect();
        let start = std::time::Instant::now();
        let mut single = points.clone();
        for point in &mut single {
            *point = projector.forward(point.x, point.y).unwrap();
        }
        let one_by_one = start.elapsed();
        let start = std::time::Instant::now();
        let mut batches = points.clone();
        for batch in batches.chunks_mut(4096) {
            assert!(projector.forward_all(batch).is_empty());
        }
        let in_batches = start.elapsed();
        let start = std::time::Instant::now();
        for point in &points {
            projector.checked(point.x, point.y).unwrap();
        }
        let checked = start.elapsed();
        assert_eq!(single, batches);
        eprintln!(
            "{label}: 1e6 points one by one {one_by_one:?}, in batches {in_batches:?}, with round trip {checked:?}"
        );
    }
}
