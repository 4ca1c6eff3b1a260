//! Checks `projection` against the world: published points, geodesics, and what must be refused.
#![allow(clippy::unwrap_used)]

use crate::projection_support::{base_of, crs, unknown_datum};
use geo::Coord;
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
    for (code, x, y) in [
        (26910, 491_000.25, 5_456_789.5),
        (2263, 985_000.0, 200_000.0),
        (27700, 530_000.0, 180_000.0),
        (4326, -123.1, 49.2),
    ] {
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
        let direct = proj::Proj::new_known_crs(&from.definition, &measuring.crs.definition, None)
            .unwrap()
            .convert((x, y))
            .unwrap();
        assert_eq!(
            (one.x.to_bits(), one.y.to_bits()),
            (direct.0.to_bits(), direct.1.to_bits()),
            "EPSG:{code}: rebuilt from text"
        );
        assert_eq!(operation.accuracy_m, Some(0.0), "EPSG:{code}: one datum");
        assert!(Projector::new(&operation).unwrap().round_trip_error_m(x, y).unwrap() < 0.001);
    }
}

#[test]
fn longitude_0_in_utm_zone_10_is_refused() {
    let works = crs(26910);
    let target = measuring_crs(&works, [-123.2, 49.1, -123.0, 49.3]).unwrap();
    // What PROJ gives for longitude 0, latitude 49 in zone 10, where it raises no error.
    let nonsense: (f64, f64) =
        proj::Proj::new_known_crs("EPSG:4269", "EPSG:26910", None).unwrap().convert((0.0, 49.0)).unwrap();
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
    assert!(
        text.starts_with("trees.csv: from NAD27 to NAD83")
            && text.contains("11 m")
            && text.contains("--accept-datum-error 11"),
        "{text}"
    );
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

fn definitions(points: &[(f64, f64)], near: Option<(f64, f64)>) -> Vec<String> {
    candidates(points, near).into_iter().map(|candidate| candidate.definition).collect()
}

#[test]
fn candidates_put_the_grid_that_leads_to_the_other_file_first() {
    // Lower Manhattan in EPSG:2263 (feet): read as metres (32118) it would lie far off.
    let new_york = [(981_000.0, 199_000.0), (985_000.0, 200_000.0), (990_000.0, 205_000.0)];
    assert_eq!(definitions(&new_york, Some((-74.0, 40.7)))[0], "EPSG:2263");
    let listed = candidates(&new_york, Some((-74.0, 40.7)));
    assert!(listed[0].why.contains("km from the other file"), "{:?}", listed[0]);
    assert_eq!(listed[0].name, "NAD83 / New York Long Island (ftUS)");
    assert!(definitions(&new_york, None).contains(&"EPSG:2263".to_string()) || candidates(&new_york, None).len() == 8);
    // London in the National Grid; UTM 30 in metres would put these points in Spain.
    assert_eq!(definitions(&[(530_000.0, 180_000.0)], Some((-0.1, 51.5)))[0], "EPSG:27700");
    assert_eq!(definitions(&[(491_000.0, 5_456_000.0)], Some((-123.1, 49.2)))[..2], ["EPSG:26910", "EPSG:32610"]);
    // Web Mercator over Malmo, and the southern hemisphere.
    assert!(definitions(&[(1_447_153.0, 7_475_000.0)], Some((13.0, 55.6))).contains(&"EPSG:3857".to_string()));
    assert_eq!(definitions(&[(334_000.0, 6_252_000.0)], Some((151.2, -33.9)))[0], "EPSG:28356");
}

#[test]
fn candidates_know_degrees_in_either_order() {
    assert_eq!(definitions(&[(-123.1, 49.2)], None), ["EPSG:4326"]);
    let swapped = candidates(&[(49.2, -123.1)], Some((-123.1, 49.2)));
    assert_eq!(swapped.len(), 1);
    assert!(swapped[0].why.contains("each other's columns"), "{:?}", swapped[0]);
}

#[test]
fn candidates_are_none_where_nothing_fits_and_utm_without_a_zone_where_it_could_be() {
    assert!(candidates(&[], None).is_empty());
    assert!(candidates(&[(f64::NAN, 1.0)], None).is_empty());
    assert!(definitions(&[(9.0e8, 9.0e8)], None).is_empty());
    assert!(definitions(&[(530_000.0, 180_000.0)], Some((151.0, -34.0))).is_empty(), "nothing within 300 km");
    assert!(definitions(&[(500_000.0, 9_000_000.0)], None).contains(&"EPSG:326ZZ".to_string()));
}

/// One row of `tests/data/crs_points.csv`.
struct Published {
    code: u32,
    lon: f64,
    lat: f64,
    grid: Option<(f64, f64)>,
    unit: String,
    tolerance: f64,
    outside: bool,
    source: String,
}

fn published() -> Vec<Published> {
    let mut reader = csv::ReaderBuilder::new()
        .comment(Some(b'#'))
        .from_path(concat!(env!("CARGO_MANIFEST_DIR"), "/tests/data/crs_points.csv"))
        .unwrap();
    let rows = reader.records().map(|row| row.unwrap());
    let number = |text: &str| text.parse::<f64>().ok();
    rows.map(|row| Published {
        code: row[0].parse().unwrap(),
        lon: number(&row[1]).unwrap(),
        lat: number(&row[2]).unwrap(),
        grid: number(&row[3]).zip(number(&row[4])),
        unit: row[5].to_string(),
        tolerance: number(&row[6]).unwrap_or(f64::NAN),
        outside: match &row[7] {
            "agrees" => false,
            "outside" => true,
            other => panic!("expected {other}?"),
        },
        source: format!("{} ({})", &row[8], &row[9]),
    })
    .collect()
}

#[test]
fn published_points_come_out_as_published_and_those_outside_are_refused() {
    let rows = published();
    assert!(rows.iter().filter(|row| !row.outside).count() >= 20 && rows.iter().filter(|row| row.outside).count() >= 6);
    for row in rows {
        let (grid, base) = (crs(row.code), base_of(row.code));
        let unit_m = match row.unit.as_str() {
            "m" => 1.0,
            "ft" => 0.3048,
            "US survey ft" => 1200.0 / 3937.0,
            other => panic!("unit {other}"),
        };
        assert_eq!(grid.kind, rootward::model::crs::CrsKind::Projected { unit_m }, "{}", row.source);
        let (x, y) = row.grid.unwrap_or_else(|| {
            proj::Proj::new_known_crs(&base.definition, &grid.definition, None)
                .unwrap()
                .convert((row.lon, row.lat))
                .unwrap()
        });
        let resolved = resolve("points", &grid, &base, (x, y), None, DEFAULT_DATUM_ERROR_M);
        if row.outside {
            let text = message(&resolved.expect_err(&row.source));
            assert!(text.contains("outside the area"), "{}: {text}", row.source);
            continue;
        }
        let projector = Projector::new(&resolved.unwrap_or_else(|error| panic!("{}: {error}", row.source))).unwrap();
        let back = projector.inverse(row.lon, row.lat).unwrap();
        let off = (back.x - x).abs().max((back.y - y).abs());
        assert!(
            off <= row.tolerance,
            "EPSG:{} {} {}: off by {off} {}; {}",
            row.code,
            row.lon,
            row.lat,
            row.unit,
            row.source
        );
        let place = projector.forward(x, y).unwrap();
        // A degree is at most 111.7 km long, whatever the ellipsoid.
        let off_m = (place.x - row.lon).hypot(place.y - row.lat) * 111_700.0;
        assert!(off_m <= row.tolerance * unit_m * 2.0, "EPSG:{} back: off by {off_m} m; {}", row.code, row.source);
        assert!(projector.round_trip_error_m(x, y).unwrap() < 0.001, "{}", row.source);
    }
}

#[test]
fn the_us_survey_foot_and_the_international_foot_are_kept_apart() {
    // The two Utah grids differ by their foot alone: GIGS 5103 parts 2 and 3 give the same place in both.
    let target = measuring_crs(&crs(2921), [-110.1, 40.9, -109.9, 41.1]).unwrap();
    let project = |code: u32, x: f64, y: f64| {
        let operation = resolve("works", &crs(code), &target.crs, (x, y), None, 5.0).unwrap();
        Projector::new(&operation).unwrap().forward(x, y).unwrap()
    };
    let (feet, survey) = (project(2921, 2_054_436.57, 3_527_302.73), project(3568, 2_054_432.46, 3_527_295.67));
    assert!((feet.x - survey.x).hypot(feet.y - survey.y) < 0.01, "the same place: {feet:?} {survey:?}");
    // Taken for each other they are 2 parts in a million apart: 2.5 m at 4.1 million feet from the origin.
    let mistaken = project(3568, 2_054_436.57, 3_527_302.73);
    let apart_m = (feet.x - mistaken.x).hypot(feet.y - mistaken.y);
    let expected_m = 2_054_436.57_f64.hypot(3_527_302.73) * (1200.0 / 3937.0 - 0.3048);
    assert!((apart_m - expected_m).abs() < 0.01, "{apart_m} m, expected {expected_m} m");
}

#[test]
fn a_measuring_crs_in_feet_gives_metres_and_leads_back_to_the_same_place() {
    let (works, given) = (crs(2263), crs(2263));
    let (x, y) = (985_000.0, 200_000.0);
    let extent = extent_lonlat("works", &works, [Coord { x, y }, Coord { x: x + 5000.0, y: y + 5000.0 }]).unwrap();
    let distortion = check_measure_crs(&given, extent).unwrap();
    assert!(distortion.length.abs() < 1e-4 && distortion.area.abs() < 1e-4);
    let operation = resolve("works", &works, &given, (x, y), Some(extent), 5.0).unwrap();
    let projector = Projector::new(&operation).unwrap();
    let place = projector.forward(x, y).unwrap();
    assert!((place.x - x * 1200.0 / 3937.0).abs() < 1e-6, "{place:?}");
    let further = projector.forward(x + 100.0, y).unwrap();
    assert!((further.x - place.x - 100.0 * 1200.0 / 3937.0).abs() < 1e-6);
    // Back to WGS 84 from metres, and there and back.
    let measuring = MeasuringCrs { crs: given, centre: None };
    let out = ToWgs84::resolve(&measuring, (place.x, place.y), Some(extent), 5.0).unwrap();
    assert_eq!(out.accuracy_m, Some(4.0), "NAD83 to WGS 84 is stated as 4 m: {}", out.name);
    let lonlat = ToWgs84::new(&out).unwrap().lonlat(place.x, place.y).unwrap();
    let direct: (f64, f64) =
        proj::Proj::new_known_crs("EPSG:2263", "EPSG:4326", None).unwrap().convert((x, y)).unwrap();
    assert!((lonlat.x - direct.0).abs() < 1e-10 && (lonlat.y - direct.1).abs() < 1e-10, "{lonlat:?} {direct:?}");
    assert!(Projector::new(&out).unwrap().round_trip_error_m(place.x, place.y).unwrap() < 0.001);
}

#[test]
fn a_measure_crs_that_is_off_by_more_than_1_in_10000_is_refused_with_the_reason() {
    // UTM at its central meridian is 4 parts in 10,000 too small by definition (scale factor 0.9996).
    let text = message(&check_measure_crs(&crs(26910), [-123.0, 49.0, -123.0, 49.0]).unwrap_err());
    assert!(text.contains("lengths 0.0400 % too small") && text.contains("areas 0.0800 % too small"), "{text}");
    assert!(text.contains("leave --measure-crs out"), "{text}");
    // Web Mercator at latitude 60: twice too long.
    let text = message(&check_measure_crs(&crs(3857), [10.0, 60.0, 10.1, 60.1]).unwrap_err());
    assert!(text.contains("too large"), "{text}");
    let text = message(&check_measure_crs(&crs(4326), [10.0, 60.0, 10.1, 60.1]).unwrap_err());
    assert!(text.contains("not a map projection"), "{text}");
    // Within the strip where UTM is true to 1e-4, about 180 km from the central meridian (from the formula: (d/R)^2/2 = 4e-4).
    assert!(check_measure_crs(&crs(26910), [-120.55, 49.0, -120.54, 49.01]).is_ok());
}

#[test]
fn a_batch_sets_bad_points_apart_and_converts_the_rest_alike() {
    let works = crs(26910);
    let target = measuring_crs(&works, [-123.2, 49.1, -123.0, 49.3]).unwrap();
    let operation = resolve("works", &works, &target.crs, (491_000.0, 5_456_000.0), None, 5.0).unwrap();
    let projector = Projector::new(&operation).unwrap();
    let good = Coord { x: 491_000.0, y: 5_456_000.0 };
    let nan = Coord { x: f64::NAN, y: 5_456_000.0 };
    let far = Coord { x: 0.0, y: 0.0 };
    let mut batch = [good, nan, far, good];
    let problems = projector.forward_all(&mut batch);
    assert_eq!(problems, [(1, PointProblem::NotFinite), (2, PointProblem::OutsideArea)]);
    let alone = projector.forward(good.x, good.y).unwrap();
    assert_eq!((batch[0], batch[3]), (alone, alone));
    assert!(batch[1].x.is_nan() && batch[2].x.is_nan());
    let line = geo::Geometry::LineString(geo::LineString(vec![good, far]));
    assert_eq!(projector.geometry(&line), Err(PointProblem::OutsideArea));
    let line = geo::Geometry::LineString(geo::LineString(vec![good, good]));
    assert_eq!(projector.geometry(&line), Ok(geo::Geometry::LineString(geo::LineString(vec![alone, alone]))));
}

#[test]
fn a_batch_that_proj_refuses_is_gone_through_one_by_one() {
    // Geographic input without a stated area: latitude 95 passes no range, so use a CRS whose range lets PROJ see a bad value.
    let unknown = unknown_datum();
    let measuring = measuring_crs(&unknown, [-123.2, 49.1, -123.0, 49.3]).unwrap();
    let operation = resolve("works", &unknown, &measuring.crs, (491_000.0, 5_456_000.0), None, 5.0).unwrap();
    let projector = Projector::new(&operation).unwrap();
    let (good, bad) = (Coord { x: 491_000.0, y: 5_456_000.0 }, Coord { x: 1.0e12, y: 1.0e12 });
    let mut batch = [bad, good, bad, good];
    let problems = projector.forward_all(&mut batch);
    assert_eq!(problems, [(0, PointProblem::NotFinite), (2, PointProblem::NotFinite)]);
    assert_eq!(batch[1], projector.forward(good.x, good.y).unwrap());
}

#[test]
fn unusable_crs_descriptions_are_errors_not_panics() {
    let mut local = crs(26910);
    local.kind = rootward::model::crs::CrsKind::Other;
    let text = message(&resolve("a.shp", &local, &wgs84(), (0.0, 0.0), None, 5.0).unwrap_err());
    assert!(text.contains("neither longitude and latitude nor a map projection"), "{text}");
    for definition in ["", "{}", "EPSG:999999", "LOCAL_CS[\"x\",UNIT[\"m\",1]]", "nonsense\0here"] {
        let mut wrong = crs(26910);
        wrong.definition = definition.to_string();
        let text = message(&resolve("a.shp", &wrong, &wgs84(), (500_000.0, 5_400_000.0), None, 5.0).unwrap_err());
        // The local CRS is known to PROJ, but no way leads out of it.
        assert!(
            text.contains("PROJ does not know the CRS") || text.contains("no way from LOCAL_CS"),
            "{definition}: {text}"
        );
    }
    let mut baseless = crs(26910);
    baseless.geographic_base = "not json".to_string();
    assert!(measuring_crs(&baseless, [-123.2, 49.1, -123.0, 49.3]).is_err());
}

#[test]
fn trees_come_in_and_results_go_out_by_the_same_datum_operation() {
    // Two traps of PROJ 9.1.1: an extent without width loses the operation for New Zealand (its area crosses the antimeridian), and
    // OGC:CRS84 lets another authority's operation in on the way from WGS 84 to the Netherlands, but not on the way back.
    for (code, x, y, datum_step, accuracy_m) in [
        (2193, 1_750_000.0, 5_920_000.0, "NZGD2000 to WGS 84 (1)", 1.0),
        (28992, 120_000.0, 487_000.0, "Amersfoort to WGS 84 (4)", 1.0),
    ] {
        let works = crs(code);
        let extent = extent_lonlat("works", &works, [Coord { x, y }]).unwrap();
        let measuring = measuring_crs(&works, extent).unwrap();
        let operation = resolve("works", &works, &measuring.crs, (x, y), Some(extent), DEFAULT_DATUM_ERROR_M).unwrap();
        let place = Projector::new(&operation).unwrap().checked(x, y).unwrap();
        let out = ToWgs84::resolve(&measuring, (place.x, place.y), Some(extent), DEFAULT_DATUM_ERROR_M).unwrap();
        assert!(
            out.name.contains(datum_step) && out.accuracy_m == Some(accuracy_m),
            "{}: {:?}",
            out.name,
            out.accuracy_m
        );
        let lonlat = ToWgs84::new(&out).unwrap().lonlat(place.x, place.y).unwrap();
        let mut trees = wgs84();
        trees.definition = "OGC:CRS84".to_string();
        let back = resolve("trees", &trees, &measuring.crs, (lonlat.x, lonlat.y), Some(extent), DEFAULT_DATUM_ERROR_M)
            .unwrap();
        assert!(back.name.contains(datum_step), "{}", back.name);
        let again = Projector::new(&back).unwrap().checked(lonlat.x, lonlat.y).unwrap();
        assert!((again.x - place.x).hypot(again.y - place.y) < 0.005, "{again:?} {place:?}");
    }
}
