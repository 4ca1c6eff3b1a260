//! Moves on hand-made corners, and the laws of the line on random shapes.

use super::*;
use crate::geometry::shapes_for_tests::{any_shape, polygon};
use geo::{Area, BooleanOps, Validation};
use proptest::prelude::*;

fn outline(points: &[(f64, f64)]) -> Polygon<f64> {
    polygon(points).0.remove(0)
}

fn area_m2(line: &Option<Polygon<f64>>) -> f64 {
    line.as_ref().expect("can be built").unsigned_area()
}

fn shortest_m(line: &Polygon<f64>) -> f64 {
    let rings = std::iter::once(line.exterior()).chain(line.interiors());
    rings.flat_map(LineString::lines).map(|side| side.dx().hypot(side.dy())).fold(f64::INFINITY, f64::min)
}

/// A square stays; a corner on a straight side is none.
#[test]
fn what_can_be_built_stays() {
    let square = outline(&[(0.0, 0.0), (2.0, 0.0), (4.0, 0.0), (4.0, 0.2), (4.0, 4.0), (0.0, 4.0)]);
    let line = buildable(&square).expect("a square");
    assert_eq!(line.exterior().0.len(), 5);
    assert!((line.unsigned_area() - 16.0).abs() < 1e-12);
}

/// A triangle of 6 x 4 m, one of its corners drawn as two less than a micrometre apart, wherever its ring begins: both of them once went, each for
/// the other, and half the triangle with them.
#[test]
fn of_two_corners_in_one_place_one_stays() {
    let mut corners = vec![(0.0, 0.0), (6.0, 0.0), (6.0, 4.0), (6.0 - 4e-7, 4.0)];
    for _ in 0..4 {
        assert!((area_m2(&buildable(&outline(&corners))) - 12.0).abs() < 1e-5, "{corners:?}");
        corners.rotate_left(1);
    }
}

/// The quarter of a disc of 5 m drawn with 100,000 corners, from outside: no corner lies 10 micrometres from the line between its neighbours, and yet
/// the line keeps that distance at most from the arc.
#[test]
fn a_hollow_of_many_corners_is_followed() {
    let arc = (0..=100_000).rev().map(|n| f64::from(n) / 100_000.0 * std::f64::consts::FRAC_PI_2);
    let mut corners: Vec<(f64, f64)> = arc.map(|turn| (5.0 * turn.cos(), 5.0 * turn.sin())).collect();
    corners.extend([(9.0, 0.0), (9.0, 9.0), (0.0, 9.0)]);
    let line = buildable(&outline(&corners)).expect("can be built");
    let nearest_m = line.exterior().lines().map(|side| {
        let (from, way) = (side.start, side.end - side.start);
        let along = -(from.x * way.x + from.y * way.y) / (way.x * way.x + way.y * way.y);
        length(from + way * along.clamp(0.0, 1.0))
    });
    let nearest_m = nearest_m.fold(f64::INFINITY, f64::min);
    assert!(nearest_m > 5.0 - 2e-5, "{nearest_m}");
    assert!(shortest_m(&line) >= LEAST_SIDE_M - 1e-9);
}

/// A square of 4 m with a corner cut off at 0.2 m: the short side (0.283 m) goes with the smaller of the two triangles, 3.8 x 0.2 / 2.
#[test]
fn a_short_convex_side_is_cut_off() {
    let chamfer = outline(&[(0.0, 0.0), (4.0, 0.0), (4.0, 3.8), (3.8, 4.0), (0.0, 4.0)]);
    assert!((area_m2(&buildable(&chamfer)) - (16.0 - 0.02 - 0.38)).abs() < 1e-9);
}

/// A notch with a floor of 0.3 m between slanting walls: deepened to where the walls meet, 0.15 m further at 45 degrees.
#[test]
fn walls_of_a_notch_are_lengthened_until_they_meet() {
    let notch =
        outline(&[(0.0, 0.0), (6.0, 0.0), (6.0, 4.0), (4.15, 4.0), (3.15, 3.0), (2.85, 3.0), (1.85, 4.0), (0.0, 4.0)]);
    let before_m2 = notch.unsigned_area();
    assert!((before_m2 - area_m2(&buildable(&notch)) - 0.3 * 0.15 / 2.0).abs() < 1e-9);
}

/// The same with upright walls, which never meet: the floor is widened to half a metre on both sides of its middle.
#[test]
fn a_floor_between_parallel_walls_is_widened() {
    let notch =
        outline(&[(0.0, 0.0), (6.0, 0.0), (6.0, 4.0), (3.15, 4.0), (3.15, 3.0), (2.85, 3.0), (2.85, 4.0), (0.0, 4.0)]);
    let line = buildable(&notch).expect("can be built");
    assert!(shortest_m(&line) >= LEAST_SIDE_M - 1e-9);
    // Two triangles 0.1 m wide at the floor and 1 m high.
    assert!((notch.unsigned_area() - line.unsigned_area() - 0.1).abs() < 1e-3);
}

/// A triangle of 0.3 m cannot be mended, nor can a hole of that size be closed: it is told.
#[test]
fn what_is_too_small_is_told() {
    assert!(buildable(&outline(&[(0.0, 0.0), (0.3, 0.0), (0.0, 0.3)])).is_none());
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(512))]
    /// A line has no side under half a metre, gives ground away and takes none, and never meets itself.
    #[test]
    fn lines_only_give_ground_away(shape in any_shape()) {
        for outline in &shape {
            let Some(line) = buildable(outline) else { continue };
            prop_assert!(shortest_m(&line) >= LEAST_SIDE_M - 1e-8, "{}", shortest_m(&line));
            // The caller checks this too, and tries again with less ground.
            if line.is_valid() {
                // But for corners that are none: these lie no further than this from their side.
                let taken_m2 = STRAIGHT_M * line.exterior().lines().map(|side| length(side.delta())).sum::<f64>();
                prop_assert!(line.difference(outline).unsigned_area() < taken_m2);
                prop_assert!(line.unsigned_area() <= outline.unsigned_area() + taken_m2);
            }
        }
    }
}
