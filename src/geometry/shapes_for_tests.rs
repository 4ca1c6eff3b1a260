//! Shapes that several tests use.

use geo::{Coord, LineString, MultiPolygon, Polygon};
use proptest::prelude::*;

/// A point, metres.
pub(crate) fn at(x: f64, y: f64) -> Coord<f64> {
    Coord { x, y }
}

/// A ring from pairs.
pub(crate) fn ring(points: &[(f64, f64)]) -> LineString<f64> {
    points.to_vec().into()
}

/// A polygon without holes from pairs.
pub(crate) fn polygon(points: &[(f64, f64)]) -> MultiPolygon<f64> {
    MultiPolygon(vec![Polygon::new(ring(points), Vec::new())])
}

/// An upright rectangle.
pub(crate) fn rectangle(left: f64, bottom: f64, right: f64, top: f64) -> MultiPolygon<f64> {
    polygon(&[(left, bottom), (right, bottom), (right, top), (left, top)])
}

/// A star-shaped polygon around a place: one distance per evenly spaced bearing, so its ring cannot cross itself.
pub(crate) fn star(centre: Coord<f64>, distances_m: &[f64]) -> MultiPolygon<f64> {
    let count = distances_m.len() as f64;
    let points = distances_m.iter().enumerate().map(|(index, distance)| {
        let turn = std::f64::consts::TAU * index as f64 / count;
        centre + at(turn.cos(), turn.sin()) * *distance
    });
    MultiPolygon(vec![Polygon::new(LineString(points.collect()), Vec::new())])
}

/// Stars and thin rectangles in random places near the origin.
pub(crate) fn any_shape() -> impl Strategy<Value = MultiPolygon<f64>> {
    let place = || (-12.0..12.0f64, -12.0..12.0f64).prop_map(|(x, y)| at(x, y));
    let stars = (place(), proptest::collection::vec(0.3..9.0f64, 3..24))
        .prop_map(|(centre, distances)| star(centre, &distances));
    let trenches = (place(), 0.0..3.2f64, 0.5..30.0f64, 0.05..1.0f64).prop_map(|(centre, turn, long, wide)| {
        let (u, v) = (at(turn.cos(), turn.sin()) * long, at(-turn.sin(), turn.cos()) * wide);
        let corners = [centre - u - v, centre + u - v, centre + u + v, centre - u + v];
        MultiPolygon(vec![Polygon::new(LineString(corners.to_vec()), Vec::new())])
    });
    prop_oneof![2 => stars, 1 => trenches]
}

/// The union of one to five of them.
pub(crate) fn any_works() -> impl Strategy<Value = MultiPolygon<f64>> {
    proptest::collection::vec(any_shape(), 1..6).prop_map(|shapes| super::union(&shapes.iter().collect::<Vec<_>>()))
}
