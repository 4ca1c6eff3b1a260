//! Growing and shrinking with few corners, for what people build: fences have straight sides.
//!
//! Where [`grow`](super::grow()) rounds a corner with an arc of the exact area, here a corner gets a few tangents of that arc. So what is grown
//! holds the whole true growth, and nothing outside it comes nearer than the margin. Growing back what was shrunk restores every corner
//! that turns by no more than [`SQUARE`]; what is narrower than twice the margin does not come back: that is how strips and spikes go.

use super::edge::{angle, length};
use super::overlay::overlay;
use super::union::local_origin;
use geo::bool_ops::{FillRule, OpType};
use geo::orient::{Direction, Orient};
use geo::{BoundingRect, Coord, LineString, MapCoords, MultiPolygon, Polygon};
use std::f64::consts::PI;

/// A corner that turns by up to this gets one tangent vertex when it must come back as it was, radians (100 degrees).
pub const SQUARE: f64 = PI * 5.0 / 9.0;
/// The largest turn of one vertex where a round corner is wanted with few sides, radians (60 degrees).
pub const BLUNT: f64 = PI / 3.0;

/// A valid polygon grown by a margin, every corner with as few tangents as `widest_turn` (radians, below a half turn) allows, metres.
///
/// Holds every place nearer than the margin. Unchanged where the margin is not above 0.
pub fn grow_with_corners(polygon: &Polygon<f64>, margin_m: f64, widest_turn: f64) -> MultiPolygon<f64> {
    displaced(polygon, margin_m, widest_turn, 1.0)
}

/// What of a valid polygon is further than the margin from its edge, corners cut as [`grow_with_corners`] grows them, metres.
pub fn shrink_with_corners(polygon: &Polygon<f64>, margin_m: f64, widest_turn: f64) -> MultiPolygon<f64> {
    displaced(polygon, margin_m, widest_turn, -1.0)
}

/// Moves the sides of all rings to their right (1) or their left (-1), and keeps what the moved rings go around.
///
/// A moved ring may cross itself. Where two sides move apart they are joined by tangents of the arc between them; where they move into each
/// other they are joined through the corner, which leaves loops that go around nothing, or around something the wrong way. So what has a positive
/// winding number is the grown or shrunk ground.
///
/// # Source
/// The way is that of B. Vatti's clipping applied to offsets, as X. Chen and S. McMains describe it (Polygon offsetting by computing winding
/// numbers, ASME DETC 2005; from memory).
fn displaced(polygon: &Polygon<f64>, margin_m: f64, widest_turn: f64, sign: f64) -> MultiPolygon<f64> {
    let oriented = polygon.orient(Direction::Default);
    let (true, Some(bounds)) = (margin_m > 0.0, polygon.bounding_rect()) else {
        return MultiPolygon(vec![oriented]);
    };
    let origin = local_origin(bounds);
    let local = oriented.map_coords(|c| c - origin);
    let mut moved = rings(&local)
        .filter(|points| points.len() >= 3)
        .map(|points| LineString(moved_ring(&points, margin_m, widest_turn, sign)));
    let Some(shell) = moved.next() else { return MultiPolygon(Vec::new()) };
    let holes = moved.collect();
    let ground = overlay(
        &MultiPolygon(vec![Polygon::new(shell, holes)]),
        &MultiPolygon::<f64>(Vec::new()),
        OpType::Union,
        FillRule::Positive,
    );
    ground.map_coords(|c| c + origin).orient(Direction::Default)
}

/// The corners of a ring whose sides are moved.
fn moved_ring(points: &[Coord<f64>], margin_m: f64, widest_turn: f64, sign: f64) -> Vec<Coord<f64>> {
    let count = points.len();
    let sides: Vec<Coord<f64>> = (0..count).map(|at| points[(at + 1) % count] - points[at]).collect();
    let mut moved = Vec::with_capacity(2 * count);
    for at in 0..count {
        let (before, after) = (sides[(at + count - 1) % count], sides[at]);
        let [arm, end_arm] = [before, after].map(|side| right_of(side) * (sign * margin_m / length(side)));
        let turn = sign * angle(before, after);
        let reach_m = margin_m * (turn / 2.0).abs().tan();
        if turn >= 0.0 {
            let tangents = (turn / widest_turn - 1e-9).ceil().max(1.0);
            let step = turn / tangents;
            for index in 0..tangents as u32 {
                let bearing = sign * step * (f64::from(index) + 0.5);
                moved.push(points[at] + turned(arm, bearing) / (step / 2.0).cos());
            }
        } else if turn > -PI / 4.0 && 2.0 * reach_m < length(before).min(length(after)) {
            moved.push(points[at] + turned(arm, sign * turn / 2.0) / (turn / 2.0).cos());
        } else {
            moved.extend([points[at] + arm, points[at], points[at] + end_arm]);
        }
    }
    moved
}

fn right_of(side: Coord<f64>) -> Coord<f64> {
    Coord { x: side.y, y: -side.x }
}

fn turned(arm: Coord<f64>, by: f64) -> Coord<f64> {
    let (sine, cosine) = by.sin_cos();
    Coord { x: cosine * arm.x - sine * arm.y, y: sine * arm.x + cosine * arm.y }
}

/// A valid polygon without what is narrower than a width: shrunk by half of it and grown back, never beyond itself, metres.
pub fn without_narrow_parts(polygon: &Polygon<f64>, width_m: f64) -> MultiPolygon<f64> {
    let Some(bounds) = polygon.bounding_rect() else { return MultiPolygon(Vec::new()) };
    let origin = local_origin(bounds);
    let local = polygon.map_coords(|c| c - origin);
    let left = shrink_with_corners(&local, width_m / 2.0, SQUARE);
    let grown: Vec<Polygon<f64>> =
        left.iter().flat_map(|part| grow_with_corners(part, width_m / 2.0, SQUARE).0).collect();
    let whole = MultiPolygon(vec![local.orient(Direction::Default)]);
    let opened = overlay(&MultiPolygon(grown), &whole, OpType::Intersection, FillRule::Positive);
    opened.map_coords(|c| c + origin).orient(Direction::Default)
}

/// A disc as a polygon of exactly its area with as many sides as fit at the given least length (6 or more), counter-clockwise, metres.
///
/// With n sides of the angle `t = 2 pi / n` the corners lie at `r sqrt(t / sin t)`, as in the outlines of zones.
pub fn disc_of_sides(centre: Coord<f64>, radius_m: f64, least_side_m: f64) -> Polygon<f64> {
    let sides = sides_of_disc(radius_m, least_side_m);
    let step = 2.0 * PI / f64::from(sides);
    let reach_m = radius_m * (step / step.sin()).sqrt();
    let corner = |side: u32| {
        let (sine, cosine) = (step * f64::from(side)).sin_cos();
        centre + Coord { x: cosine, y: sine } * reach_m
    };
    ring_of((0..sides).map(corner).collect())
}

/// How many sides [`disc_of_sides`] has: at least 6, at most 4,096.
pub fn sides_of_disc(radius_m: f64, least_side_m: f64) -> u32 {
    // A chord of the angle t is a little longer here than 2 r sin(t / 2): the corners lie outside the circle.
    (PI / (least_side_m / (2.0 * radius_m)).min(0.5).asin()).floor().clamp(6.0, 4096.0) as u32
}

/// The rings as points without the closing one and without repetitions.
fn rings(polygon: &Polygon<f64>) -> impl Iterator<Item = Vec<Coord<f64>>> {
    std::iter::once(polygon.exterior()).chain(polygon.interiors()).map(|ring| {
        let mut points = ring.0.clone();
        points.dedup();
        if points.len() > 1 && points.first() == points.last() {
            points.pop();
        }
        points
    })
}

fn ring_of(corners: Vec<Coord<f64>>) -> Polygon<f64> {
    Polygon::new(LineString(corners), Vec::new())
}

#[cfg(test)]
#[path = "corners_tests.rs"]
mod tests;
