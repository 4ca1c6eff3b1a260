//! Turns shapes that may overlap into one union with disjoint parts.
//!
//! The overlay engine rounds to a grid of about one part in 10^9 of what it is given at once. So shapes are grouped into clusters that
//! hang together by their boxes, each cluster is united around its own local origin, and what stands alone is not touched: a work
//! 60 km away does not change the others. A cluster 200 m across is rounded to 0.1 micrometre, one of 10 km to 10 micrometres; one of very many
//! polygons to four times as much, and once for each time that it is halved.

use super::cluster::clusters;
use super::halves::unite_by_halves;
use super::overlay::{overlay, try_overlay};
use geo::bool_ops::{FillRule, OpType};
use geo::orient::{Direction, Orient};
use geo::{BoundingRect, Coord, MapCoords, MultiPolygon, Polygon, Rect};

/// More polygons than this that hang together are united by halves: fewer lie too thin for it to matter.
const MANY: usize = 256;

/// The union of valid shapes, in the order of their first part; shells counter-clockwise, holes clockwise, metres.
///
/// A polygon whose box meets no other shape's comes back point by point as it was, but for its orientation.
pub fn union(shapes: &[&MultiPolygon<f64>]) -> MultiPolygon<f64> {
    unite_clusters(shapes, unite_cluster)
}

/// The union of polygons that hang together, and `bounds` the box around them.
pub(super) fn unite_cluster(bounds: Rect<f64>, polygons: &[&Polygon<f64>]) -> MultiPolygon<f64> {
    match polygons.len() > MANY {
        true => unite_by_halves(bounds, polygons),
        false => unite_at_once(bounds, polygons),
    }
}

/// The same, however many they are: every edge is cut where it meets another one.
pub(super) fn unite_at_once(bounds: Rect<f64>, polygons: &[&Polygon<f64>]) -> MultiPolygon<f64> {
    unite_around(local_origin(bounds), polygons)
}

/// The union of valid shapes, where `unite` gives that of polygons of several shapes that hang together, and of the box around them.
pub(super) fn unite_clusters(
    shapes: &[&MultiPolygon<f64>],
    unite: impl Fn(Rect<f64>, &[&Polygon<f64>]) -> MultiPolygon<f64>,
) -> MultiPolygon<f64> {
    let mut parts: Vec<(usize, &Polygon<f64>, Rect<f64>)> = Vec::new();
    for (shape, polygons) in shapes.iter().enumerate() {
        parts.extend(polygons.0.iter().filter_map(|polygon| Some((shape, polygon, polygon.bounding_rect()?))));
    }
    let boxes: Vec<Rect<f64>> = parts.iter().map(|part| part.2).collect();
    let mut united = Vec::new();
    for cluster in clusters(&boxes) {
        let (owner, _, mut bounds) = parts[cluster[0]];
        if cluster.iter().all(|&index| parts[index].0 == owner) {
            united.extend(cluster.iter().map(|&index| parts[index].1.orient(Direction::Default)));
            continue;
        }
        for &index in &cluster {
            bounds = enclosing(bounds, boxes[index]);
        }
        let polygons: Vec<&Polygon<f64>> = cluster.iter().map(|&index| parts[index].1).collect();
        united.extend(unite(bounds, &polygons).0);
    }
    MultiPolygon(united)
}

/// The union of polygons, computed around a local origin.
pub(super) fn unite_around(origin: Coord<f64>, polygons: &[&Polygon<f64>]) -> MultiPolygon<f64> {
    // The engine takes what is wound anticlockwise as filled, so the winding has to be the same throughout.
    let local: Vec<Polygon<f64>> =
        polygons.iter().map(|polygon| polygon.map_coords(|c| c - origin).orient(Direction::Default)).collect();
    let united = overlay(&MultiPolygon(local), &MultiPolygon::<f64>(Vec::new()), OpType::Union, FillRule::Positive);
    united.map_coords(|c| c + origin).orient(Direction::Default)
}

/// The ground that rings enclose by a fill rule, as valid polygons; `None` where the engine makes nothing of them.
pub(super) fn fill(rings: &MultiPolygon<f64>, rule: FillRule) -> Option<MultiPolygon<f64>> {
    try_overlay(rings, &MultiPolygon::<f64>(Vec::new()), OpType::Union, rule)
}

/// A place near the middle of a box, in whole metres, so that subtracting it is exact.
pub(super) fn local_origin(bounds: Rect<f64>) -> Coord<f64> {
    let middle = bounds.center();
    Coord { x: middle.x.round(), y: middle.y.round() }
}

/// The box around two boxes.
pub(crate) fn enclosing(a: Rect<f64>, b: Rect<f64>) -> Rect<f64> {
    Rect::new(
        Coord { x: a.min().x.min(b.min().x), y: a.min().y.min(b.min().y) },
        Coord { x: a.max().x.max(b.max().x), y: a.max().y.max(b.max().y) },
    )
}

#[cfg(test)]
#[path = "union_tests.rs"]
mod tests;
