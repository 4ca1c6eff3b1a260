use super::*;
use crate::normalise::columns::tests::record;
use geo::{LineString, MultiPoint, Point};
use std::collections::BTreeMap;

fn decide(columns: &[&str], rows: &[&[&str]], choices: &[(&str, &str)]) -> Result<PlacePlan> {
    let sample: Vec<RawRecord> = rows.iter().enumerate().map(|(at, cells)| record(at as u64 + 1, cells)).collect();
    let names: Vec<String> = columns.iter().map(ToString::to_string).collect();
    let choices: BTreeMap<String, String> =
        choices.iter().map(|(role, column)| (role.to_string(), column.to_string())).collect();
    let mut decided = Columns::decide("trees.csv", "--tree-columns", TREE_ROLES, &names, &sample, &choices)?;
    decide_place("trees.csv", "--tree-columns", &mut decided, &sample, false)
}

fn first_place(plan: &PlacePlan, cells: &[&str]) -> std::result::Result<(f64, f64), &'static str> {
    plan.point(&record(1, cells)).map(|place| (place.x, place.y)).map_err(|problem| problem.code)
}

#[test]
fn every_form_of_a_place() {
    let ewkb = "0101000020E61000002AFD35453BA45EC0ACB1EA96AAC94640";
    // columns, cells, place, longitude and latitude for sure, SRID
    type Case<'a> = (&'a [&'a str], &'a [&'a str], (f64, f64), bool, Option<u32>);
    let cases: &[Case] = &[
        (&["Longitude", "Latitude"], &["-123.1", "49.2"], (-123.1, 49.2), true, None),
        (&["lat", "lon"], &["49.2", "-123.1"], (-123.1, 49.2), true, None),
        (&["Längengrad", "Breitengrad"], &["13,404954", "52,520008"], (13.404954, 52.520008), true, None),
        (&["x", "y"], &["-123.1", "49.2"], (-123.1, 49.2), false, None),
        (&["easting", "northing"], &["491000", "5459000"], (491_000.0, 5_459_000.0), false, None),
        (&["Rechtswert", "Hochwert"], &["391.123,45", "5.820.456,78"], (391_123.45, 5_820_456.78), false, None),
        (&["wkt"], &["POINT (491000 5459000)"], (491_000.0, 5_459_000.0), false, None),
        (&["geom"], &["SRID=26910;POINT(491000 5459000)"], (491_000.0, 5_459_000.0), false, Some(26910)),
        (&["geo_point_2d"], &["49.2, -123.1"], (-123.1, 49.2), true, None),
        (&["location"], &["(49.2, -123.1)"], (-123.1, 49.2), true, None),
        (&["lonlat"], &["13.4, 52.5"], (13.4, 52.5), true, None),
        (&["location"], &["-123.1, 49.2"], (-123.1, 49.2), true, None),
        (&["geo_shape"], &["{\"type\":\"Point\",\"coordinates\":[-123.1,49.2]}"], (-123.1, 49.2), true, None),
    ];
    for (columns, cells, place, lonlat, srid) in cases {
        let plan = decide(columns, &[cells], &[]).unwrap();
        assert_eq!(first_place(&plan, cells), Ok(*place), "{columns:?}");
        assert_eq!((plan.lonlat, plan.srid), (*lonlat, *srid), "{columns:?}");
    }
    let plan = decide(&["the_geom"], &[&[ewkb]], &[]).unwrap();
    assert_eq!(plan.srid, Some(4326));
    assert!(first_place(&plan, &[ewkb]).is_ok_and(|(x, _)| (x + 122.566).abs() < 0.001));
}

#[test]
fn places_that_are_none() {
    let plan = decide(&["lon", "lat"], &[&["-123.1", "49.2"]], &[]).unwrap();
    let cases: &[(&[&str], &str)] = &[
        (&["", ""], "no-place"),
        (&["0", "0"], "no-place"),
        (&["NaN", "1"], "no-place"),
        (&["abc", "49.2"], "bad-coordinate"),
        (&["-123.1"], "no-place"),
    ];
    for (cells, code) in cases {
        assert_eq!(first_place(&plan, cells), Err(*code), "{cells:?}");
    }
    let plan = decide(&["wkt"], &[&["POINT (1 2)"]], &[]).unwrap();
    for (cell, code) in [
        ("", "no-place"),
        ("LINESTRING (1 2, 3 4)", "wrong-geometry"),
        ("hello", "bad-coordinate"),
        ("MULTIPOINT (1 2, 3 4)", "wrong-geometry"),
    ] {
        assert_eq!(first_place(&plan, &[cell]), Err(code), "{cell}");
        assert!(crate::issue::CODES.iter().any(|(known, _)| *known == code));
    }
}

#[test]
fn geometries_of_records() {
    let plan = PlacePlan { form: PlaceForm::Record, lonlat: false, srid: None };
    let point = Point::new(1.0, 2.0);
    let cases = [
        (Some(Geometry::Point(point)), Ok((1.0, 2.0))),
        (Some(Geometry::MultiPoint(MultiPoint(vec![point]))), Ok((1.0, 2.0))),
        (Some(Geometry::MultiPoint(MultiPoint(vec![point, point]))), Err("wrong-geometry")),
        (Some(Geometry::MultiPoint(MultiPoint(vec![]))), Err("empty-geometry")),
        (Some(Geometry::LineString(LineString(vec![]))), Err("wrong-geometry")),
        (Some(Geometry::Point(Point::new(f64::INFINITY, 2.0))), Err("bad-coordinate")),
        (Some(Geometry::Point(Point::new(f64::NAN, f64::NAN))), Err("empty-geometry")),
        (Some(Geometry::Point(Point::new(0.0, 0.0))), Err("no-place")),
        (None, Err("no-place")),
    ];
    for (geometry, expected) in cases {
        let mut found = record(1, &[]);
        found.geometry = geometry.clone();
        assert_eq!(
            plan.point(&found).map(|place| (place.x, place.y)).map_err(|problem| problem.code),
            expected,
            "{geometry:?}"
        );
    }
}

#[test]
fn swapped_columns_are_an_error_with_the_flag() {
    let rows: &[&[&str]] = &[&["-123.1", "49.2"], &["-123.2", "49.3"]];
    let error = decide(&["latitude", "longitude"], rows, &[]).unwrap_err();
    assert!(error.to_string().contains("swapped"), "{error}");
    assert_eq!(error.hint(), "--tree-columns x=latitude,y=longitude");
    let mended = decide(&["latitude", "longitude"], rows, &[("x", "latitude"), ("y", "longitude")]).unwrap();
    assert_eq!(first_place(&mended, rows[0]), Ok((-123.1, 49.2)));
    assert!(mended.lonlat);
}

#[test]
fn mixed_srids_are_an_error() {
    let error = decide(&["geom"], &[&["SRID=26910;POINT(1 2)"], &["SRID=4326;POINT(1 2)"]], &[]).unwrap_err();
    assert!(error.to_string().contains("[4326, 26910]"), "{error}");
}

#[test]
fn absurd_coordinates_are_said_and_not_merely_out_of_reach() {
    for (x, y) in [(1e300, 1.0), (1.0, -1e13)] {
        let mut record = RawRecord::default();
        record.clear(1);
        record.geometry = Some(geo::Geometry::Point(geo::Point::new(x, y)));
        let plan = PlacePlan { form: PlaceForm::Record, lonlat: false, srid: None };
        assert_eq!(plan.point(&record).unwrap_err().code, "bad-coordinate");
    }
}
