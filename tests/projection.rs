//! Checks `projection` against the world: published points, geodesics, and what must be refused.

mod projection_support;

use geo::Coord;
use projection_support::{crs, unknown_datum};
use rootward::error::Error;
use rootward::projection::*;

fn message(error: &Error) -> String {
    format!("{error}\nhint: {}", error.hint())
}

#[test]
fn the_version_is_the_one_of_the_system() {
    let version = proj_version();
    assert_eq!(version.split('.').count(), 3, "{version}");
}

#[test]
fn a_workers_copy_gives_the_same_bits_as_every_other_and_as_a_batch() {
    for (code, x, y) in [(26910, 491_000.25, 5_456_789.5), (2263, 985_000.0, 200_000.0), (27700, 530_000.0, 180_000.0), (4326, -123.1, 49.2)] {
        let from = crs(code);
        let extent = extent_lonlat("works", &from, [Coord { x, y }]).unwrap();
        let measuring = measuring_crs(&from, extent).unwrap();
        let operation = resolve("works", &from, &measuring.crs, (x, y), Some(extent), DEFAULT_DATUM_ERROR_M).unwrap();
        let one = Projector::new(&operation).unwrap().forward(x, y).unwrap();
        let other = Projector::new(&operation).unwrap().forward(x, y).unwrap();
        let mut batch = vec![Coord { x, y }; 5];
        assert!(Projector::new(&operation).unwrap().forward_all(&mut batch).is_empty());
        assert_eq!((one.x.to_bits(), one.y.to_bits()), (other.x.to_bits(), other.y.to_bits()));
        assert_eq!((one.x.to_bits(), one.y.to_bits()), (batch[4].x.to_bits(), batch[4].y.to_bits()));
        let direct = proj::Proj::new_known_crs(&from.definition, &measuring.crs.definition, None).unwrap().convert((x, y)).unwrap();
        assert_eq!((one.x.to_bits(), one.y.to_bits()), (direct.0.to_bits(), direct.1.to_bits()), "EPSG:{code}: rebuilt from text");
        assert_eq!(operation.accuracy_m, Some(0.0), "EPSG:{code}: one datum");
        assert!(Projector::new(&operation).unwrap().round_trip_error_m(x, y).unwrap() < 0.001);
    }
}

#[test]
fn longitude_0_in_utm_zone_10_is_refused() {
    let works = crs(26910);
    let target = measuring_crs(&works, [-123.2, 49.1, -123.0, 49.3]).unwrap();
    // What PROJ gives for longitude 0, latitude 49 in zone 10, where it raises no error.
    let nonsense: (f64, f64) = proj::Proj::new_known_crs("EPSG:4269", "EPSG:26910", None).unwrap().convert((0.0, 49.0)).unwrap();
    assert!(nonsense.0.is_finite() && nonsense.1.is_finite(), "PROJ takes it");
    let error = resolve("works.geojson", &works, &target.crs, nonsense, None, 5.0).unwrap_err();
    assert!(message(&error).contains("outside the area where this CRS is valid"), "{}", message(&error));
    assert!(message(&error).contains("--works-crs"), "{}", message(&error));
    let operation = resolve("works", &works, &target.crs, (491_000.0, 5_456_000.0), None, 5.0).unwrap();
    assert_eq!(Projector::new(&operation).unwrap().forward(nonsense.0, nonsense.1), Err(PointProblem::OutsideArea));
}

#[test]
fn nad27_to_nad83_without_grids_is_refused_at_5_m_and_taken_at_11() {
    let (trees, works) = (crs(4267), crs(4269));
    let error = resolve("trees.csv", &trees, &works, (-122.3, 47.6), None, DEFAULT_DATUM_ERROR_M).unwrap_err();
    let text = message(&error);
    assert!(text.starts_with("trees.csv: from NAD27 to NAD83") && text.contains("11 m") && text.contains("--accept-datum-error 11"), "{text}");
    assert!(text.contains("NAD27 to"), "the operation is named: {text}");
    let taken = resolve("trees.csv", &trees, &works, (-122.3, 47.6), None, 11.0).unwrap();
    assert_eq!((taken.accuracy_m, taken.ballpark), (Some(11.0), false));
}

#[test]
fn an_unknown_datum_is_refused_until_accepted_at_a_kilometre() {
    let unknown = unknown_datum();
    let (sample, accept) = ((491_000.0, 5_456_000.0), UNKNOWN_ACCURACY_M);
    let error = resolve("works.shp", &unknown, &wgs84(), sample, None, 100.0).unwrap_err();
    assert!(message(&error).contains("--accept-datum-error 1000"), "{}", message(&error));
    let taken = resolve("works.shp", &unknown, &wgs84(), sample, None, accept).unwrap();
    assert_eq!((taken.accuracy_m, taken.ballpark), (None, true));
    // On its own datum nothing is shifted, so nothing needs to be accepted.
    let measuring = measuring_crs(&unknown, [-123.2, 49.1, -123.0, 49.3]).unwrap();
    let own = resolve("works.shp", &unknown, &measuring.crs, sample, None, DEFAULT_DATUM_ERROR_M).unwrap();
    assert_eq!((own.accuracy_m, own.ballpark), (Some(0.0), false));
}
