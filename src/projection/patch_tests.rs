use super::super::{ToWgs84, measuring_crs};
use super::*;
use crate::model::crs::Crs;
use crate::projection::Operation;
use crate::read::crs::describe_crs;

fn crs(definition: &str) -> Crs {
    describe_crs(definition, "test").unwrap()
}

/// The way to longitude and latitude from the plane that is chosen for a city at a place.
fn from_plane_at(lon: f64, lat: f64) -> (Projector, Coord<f64>) {
    let wgs84 = crs("EPSG:4326");
    let area = [lon - 0.1, lat - 0.1, lon + 0.1, lat + 0.1];
    let plane = measuring_crs(&wgs84, area).unwrap();
    let into = super::super::resolve("test", &wgs84, &plane.crs, (lon, lat), Some(area), 5.0).unwrap();
    let start = Projector::new(&into).unwrap().forward(lon, lat).unwrap();
    (back(&ToWgs84::resolve(&plane, start.x_y(), Some(area), 5.0).unwrap()), start)
}

fn back(operation: &Operation) -> Projector {
    Projector::new(operation).unwrap()
}

/// Corners of circles of several sizes, as outlines have them, spread over a kilometre.
fn outlines(start: Coord<f64>) -> Vec<Coord<f64>> {
    let corner = |n: u32| {
        let (circle, along) = (f64::from(n / 60), f64::from(n % 60) / 60.0 * std::f64::consts::TAU);
        let centre = start + Coord { x: 37.1 * (circle * 1.7).sin(), y: 41.3 * circle.cos() + 11.0 * circle };
        centre + Coord { x: along.cos(), y: along.sin() } * (1.0 + 0.3 * circle)
    };
    (0..6000).map(corner).collect()
}

fn rounded(places: &[Coord<f64>]) -> Vec<[i64; 2]> {
    places.iter().map(|place| [(place.x * 1e7).round() as i64, (place.y * 1e7).round() as i64]).collect()
}

/// What the whole is for: to the last decimal that is written, what PROJ alone says.
#[test]
fn rounded_answers_are_those_of_proj() {
    for (lon, lat) in
        [(15.12, 50.06), (-122.68, 45.52), (144.96, -37.81), (25.0, 70.5), (-78.5, -0.2), (179.9995, -17.0)]
    {
        let (projector, start) = from_plane_at(lon, lat);
        let places = outlines(start);
        let (mut all, mut few) = (places.clone(), places);
        assert!(projector.forward_all(&mut all).is_empty());
        projector.forward_rounded(&mut few, 7);
        assert_eq!(rounded(&few), rounded(&all), "at {lon} {lat}");
        // Beside the middle of the plane, and not where longitudes leap.
        let beside = start + Coord { x: 300.0, y: 500.0 };
        assert_eq!(Patch::around(&projector, beside).is_some(), lon < 170.0, "at {lon} {lat}");
    }
}

/// Feet, a datum shift by formula, Mercator, oblique planes: as the measuring plane may be given.
#[test]
fn planes_that_were_asked_for_round_as_proj_does() {
    let planes = [
        ("EPSG:2263", (300_000.0, 62_000.0)),
        ("EPSG:32633", (508_000.0, 5_545_000.0)),
        ("EPSG:27700", (530_000.0, 180_000.0)),
        ("EPSG:28992", (121_000.0, 487_000.0)),
        ("EPSG:2154", (652_000.0, 6_862_000.0)),
        ("EPSG:3035", (4_250_000.0, 2_850_000.0)),
    ];
    for (plane, start) in planes {
        let given = super::super::MeasuringCrs { crs: crs(plane), centre: None };
        let projector = back(&ToWgs84::resolve(&given, start, None, 1000.0).unwrap());
        let places = outlines(start.into());
        let (mut all, mut few) = (places.clone(), places);
        assert!(projector.forward_all(&mut all).is_empty(), "{plane}");
        projector.forward_rounded(&mut few, 7);
        assert_eq!(rounded(&few), rounded(&all), "{plane}");
        let smooth = is_smooth(&projector.operation().pipeline);
        assert!(!smooth || Patch::around(&projector, start.into()).is_some(), "{plane}");
        assert!(smooth || ["EPSG:27700", "EPSG:28992"].contains(&plane), "{plane}: {}", projector.operation().pipeline);
    }
}

/// The surface is used where a city is: within a hundredth of what it may be off, so that the limits have room.
#[test]
fn a_city_has_surfaces_far_closer_than_they_must_be() {
    let (projector, start) = from_plane_at(15.12, 50.06);
    let patch = Patch::around(&projector, start).unwrap();
    for place in outlines(start).iter().take(600) {
        let way = (*place - start) / REACH_M;
        let off = projector.forward(place.x, place.y).unwrap() - patch.at(way.x, way.y);
        assert!(off.x.abs() < 1e-13 && off.y.abs() < 1e-13, "{off:?}");
    }
}

#[test]
fn no_surface_where_longitudes_leap_or_proj_has_no_answer() {
    let (projector, start) = from_plane_at(179.9995, -17.0);
    assert!(Patch::around(&projector, start).is_none());
    let (projector, _) = from_plane_at(15.12, 50.06);
    assert!(Patch::around(&projector, Coord { x: f64::NAN, y: 0.0 }).is_none());
    let mut places = vec![Coord { x: f64::NAN, y: 0.0 }, Coord { x: 1e9, y: 1e9 }];
    projector.forward_rounded(&mut places, 7);
    assert!(places[0].x.is_nan(), "{places:?}");
}

/// Nine answers and four more say nothing of a leap between them.
#[test]
fn grids_are_not_smooth() {
    assert!(is_smooth(
        "proj=pipeline step inv proj=laea lat_0=50 lon_0=15 ellps=WGS84 step proj=unitconvert xy_in=rad xy_out=deg"
    ));
    assert!(!is_smooth(
        "+proj=pipeline +step +inv +proj=utm +zone=33 +step +proj=hgridshift +grids=a.gsb +step +proj=noop"
    ));
    assert!(!is_smooth("proj=pipeline step proj=longlat nadgrids=conus step proj=noop"));
    assert!(!is_smooth("proj=pipeline step inv proj=igh step proj=unitconvert xy_in=rad xy_out=deg"));
}

#[test]
fn what_rounds_either_way_is_not_settled() {
    let rounding = Rounding { per_degree: 1e7 };
    for (degrees, settled) in
        [(12.345_678_9, true), (12.345_678_95, false), (-12.345_678_95, false), (1.000_000_049_8, true)]
    {
        assert_eq!(rounding.is_settled(degrees), settled, "{degrees}");
    }
    assert!(!rounding.is_settled(1.000_000_049_95));
}

/// A surface that is off by half of what the guard allows rounds as PROJ does, and would not without the guard.
#[test]
fn the_guard_makes_up_for_what_a_surface_may_be_off() {
    let (projector, start) = from_plane_at(15.12, 50.06);
    let mut patch = Patch::around(&projector, start).unwrap();
    let off = GUARD_DEG / 2.0;
    patch.factors[0][0] = patch.factors[0][0] + Coord { x: off, y: -off };
    let places = (0..40_000)
        .map(|n| start + Coord { x: f64::from(n % 200), y: f64::from(n / 200) } * 0.99 - Coord { x: 99.0, y: 99.0 });
    let places: Vec<Coord<f64>> = places.collect();
    let unguarded = |place: &Coord<f64>| {
        let way = (*place - start) / REACH_M;
        patch.at(way.x, way.y)
    };
    let guarded = |place: &Coord<f64>| patch.rounded(&projector, *place, Rounding { per_degree: 1e7 });
    let asked = |place: &Coord<f64>| projector.forward(place.x, place.y).unwrap();
    let all = rounded(&places.iter().map(asked).collect::<Vec<_>>());
    assert_ne!(rounded(&places.iter().map(unguarded).collect::<Vec<_>>()), all);
    assert_eq!(rounded(&places.iter().map(guarded).collect::<Vec<_>>()), all);
}

/// Within 0.6 mm of the middle of an azimuthal plane PROJ answers with the middle.
#[test]
fn the_middle_of_a_plane_is_left_to_proj() {
    let given = crs("+proj=laea +lat_0=50 +lon_0=15.12345675 +x_0=4000 +y_0=-2000 +datum=WGS84 +units=m +type=crs");
    let given = super::super::MeasuringCrs { crs: given, centre: None };
    let projector = back(&ToWgs84::resolve(&given, (4050.0, -2050.0), None, 5.0).unwrap());
    let middle = false_origin(&projector.operation().pipeline);
    assert_eq!(middle, Coord { x: 4000.0, y: -2000.0 }, "{}", projector.operation().pipeline);
    assert!(
        reaches(middle + Coord { x: 100.5, y: 0.0 }, middle) && !reaches(middle + Coord { x: 0.0, y: 102.0 }, middle)
    );
    let near = (0..400).map(|n| middle + Coord { x: f64::from(n % 20), y: f64::from(n / 20) } * 1e-4);
    let places: Vec<Coord<f64>> = std::iter::once(middle + Coord { x: 50.0, y: 50.0 }).chain(near).collect();
    let (mut all, mut few) = (places.clone(), places);
    projector.forward_all(&mut all);
    projector.forward_rounded(&mut few, 7);
    assert_eq!(rounded(&few), rounded(&all));
}
