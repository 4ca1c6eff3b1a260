//! The covering, measured by exact areas of polygons.

use super::*;
use crate::geometry::disc_outline;
use geo::{Area, BooleanOps, MultiPolygon, Polygon, Rect, coord, unary_union};
use proptest::prelude::*;

/// The share of wanted ground within the throw of any place, by area, and that ground.
fn covered(wanted: &MultiPolygon<f64>, places: &[Coord<f64>], throw_m: f64) -> f64 {
    let discs: Vec<Polygon<f64>> = places.iter().map(|&place| disc_outline(place, throw_m)).collect();
    wanted.intersection(&unary_union(&discs)).unsigned_area() / wanted.unsigned_area()
}

fn open_disc(radius_m: f64, throw_m: f64) -> Places {
    let ground = Ground { centre: coord! { x: 0.0, y: 0.0 }, radius_m, dry_m: 0.0, open: &|_| true, own: &|_| true };
    sprinkler_places(&ground, throw_m)
}

#[test]
fn open_ground_needs_at_least_its_area_over_that_of_one_throw() {
    // 24 ft, thrown 3 m: the area alone is 5.95 throws; no covering by discs does with less than 1.209 times that.
    let places = open_disc(7.3152, 3.0);
    let zone = MultiPolygon::from(disc_outline(coord! { x: 0.0, y: 0.0 }, 7.3152));
    assert!(covered(&zone, &places.places, 3.0) >= 0.95);
    assert!((7..=11).contains(&places.places.len()), "{}", places.places.len());
    assert_eq!(places.own, 1.0);
}

#[test]
fn one_place_serves_a_zone_no_wider_than_the_throw() {
    for (radius_m, throw_m) in [(1.8, 3.0), (2.9, 3.0), (0.6, 0.61)] {
        let places = open_disc(radius_m, throw_m);
        assert_eq!(places.places.len(), 1, "{radius_m} {throw_m}: {places:?}");
    }
}

#[test]
fn no_open_ground_needs_no_place_and_a_strip_is_covered_from_within() {
    let ground =
        Ground { centre: coord! { x: 5.0, y: 5.0 }, radius_m: 6.0, dry_m: 0.3, open: &|_| false, own: &|_| true };
    assert_eq!(sprinkler_places(&ground, 3.0), Places { places: Vec::new(), covered: 1.0, own: 1.0 });
    // A strip 0.9 m wide: the coarse lattice may have no point on it.
    let strip = |point: Coord<f64>| (7.05..7.95).contains(&point.y);
    let ground = Ground { open: &strip, ..ground };
    let places = sprinkler_places(&ground, 3.0);
    assert!(places.covered >= ENOUGH && places.places.iter().all(|&place| strip(place)));
}

#[test]
fn a_throw_of_half_a_metre_on_the_largest_zone() {
    let places = open_disc(15.0, 0.5);
    assert!(places.covered >= ENOUGH && (1000..1800).contains(&places.places.len()), "{}", places.places.len());
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 2000, ..ProptestConfig::default() })]
    #[test]
    fn at_least_95_percent_by_area_are_reached_from_open_ground(
        radius_m in 1.5f64..15.0, throw_m in 1.5f64..6.0,
        (x, y, width, height) in (-12.0f64..10.0, -12.0f64..10.0, 1.0f64..14.0, 1.0f64..14.0),
        (east, north) in (0.0f64..5e5, 0.0f64..5e6),
    ) {
        let centre = coord! { x: east, y: north };
        let work = Rect::new(coord! { x: x, y: y }, coord! { x: x + width, y: y + height });
        let free = |point: Coord<f64>| {
            let p = point - centre;
            p.x < work.min().x || p.x > work.max().x || p.y < work.min().y || p.y > work.max().y
        };
        let ground = Ground { centre, radius_m, dry_m: 0.0, open: &free, own: &|_| true };
        let places = sprinkler_places(&ground, throw_m);
        let zone = MultiPolygon::from(disc_outline(coord! { x: 0.0, y: 0.0 }, radius_m));
        let open = zone.difference(&MultiPolygon::from(work.to_polygon()));
        let local: Vec<Coord<f64>> = places.places.iter().map(|&place| place - centre).collect();
        if open.unsigned_area() > 0.05 * zone.unsigned_area() {
            let share = covered(&open, &local, throw_m);
            prop_assert!(share >= 0.95, "{share} of {} places", local.len());
            prop_assert!((share - places.covered).abs() < 0.03, "{} by points, {} by area", places.covered, share);
        }
        prop_assert!(places.places.iter().all(|&place| free(place)));
        prop_assert!(local.iter().all(|place| place.x.hypot(place.y) <= radius_m + 1e-6));
    }
}
