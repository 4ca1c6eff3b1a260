//! Turns lines and points into ground: lines drawn out to their full width, points to a radius, polygons by a margin.
//!
//! A line becomes one rectangle per segment, one sector on the outer side of each bend and a half disc at each end, united around a local
//! origin. Pieces that meet share the same points, so that rounding opens no gap between them. Arcs enclose exactly their true
//! area and stay within a millimetre of the true arc; points within a millimetre of the one before are left out.

use super::arc::{circle, sector};
use super::edge::{angle, length};
use super::repair::is_a_place;
use super::union::{local_origin, union, unite_around};
use geo::orient::{Direction, Orient};
use geo::{BoundingRect, Coord, LineString, MapCoords, MultiLineString, MultiPolygon, Polygon};
use std::f64::consts::PI;

/// The departure of a chord from its arc that decides the number of steps, metres; the outward one is smaller.
const SAGITTA_M: f64 = 0.000_5;

/// Points nearer to the one before than this are left out, metres: the jitter of a recorded track would otherwise cost a piece
/// for every point.
const JITTER_M: f64 = 0.001;

/// A line drawn out to its full width, with round joins and ends, metres.
///
/// Empty for no points, a width that is not above 0, or a coordinate that [`repair()`](super::repair()) would refuse.
/// A line whose points are all the same becomes a disc of that width.
pub fn draw_out_line(line: &LineString<f64>, full_width_m: f64) -> MultiPolygon<f64> {
    let half_m = full_width_m / 2.0;
    let refused = line.0.iter().any(|&point| !is_a_place(point));
    if line.0.is_empty() || refused || !is_length(half_m) {
        return MultiPolygon(Vec::new());
    }
    let points = without_jitter(&line.0);
    if points.len() == 1 {
        return MultiPolygon(vec![draw_out_point(points[0], half_m)]);
    }
    unite_pieces(points, |points| line_pieces(points, half_m))
}

/// The points that lie at least [`JITTER_M`] from the one kept before; the ends always stay.
fn without_jitter(points: &[Coord<f64>]) -> Vec<Coord<f64>> {
    let mut kept: Vec<Coord<f64>> = Vec::with_capacity(points.len());
    for &point in points {
        if kept.last().is_none_or(|&last| (point.x - last.x).hypot(point.y - last.y) >= JITTER_M) {
            kept.push(point);
        }
    }
    if let (Some(last), Some(&end)) = (kept.last_mut(), points.last()) {
        *last = end;
    }
    kept
}

/// Lines drawn out to their full width and united, metres.
pub fn draw_out_lines(lines: &MultiLineString<f64>, full_width_m: f64) -> MultiPolygon<f64> {
    let drawn: Vec<MultiPolygon<f64>> = lines.0.iter().map(|line| draw_out_line(line, full_width_m)).collect();
    union(&drawn.iter().collect::<Vec<_>>())
}

/// A point drawn out to a radius above 0: a polygon of exactly the disc's area, counter-clockwise, metres.
pub fn draw_out_point(centre: Coord<f64>, radius_m: f64) -> Polygon<f64> {
    circle(centre, radius_m, SAGITTA_M, 32, 4096)
}

/// A valid shape grown outwards by a margin with round corners, metres; unchanged where the margin is not above 0.
pub fn grow(shape: &MultiPolygon<f64>, margin_m: f64) -> MultiPolygon<f64> {
    let oriented = shape.orient(Direction::Default);
    if !is_length(margin_m) {
        return oriented;
    }
    let grown: Vec<MultiPolygon<f64>> = oriented.0.iter().map(|polygon| grow_polygon(polygon, margin_m)).collect();
    union(&grown.iter().collect::<Vec<_>>())
}

fn is_length(metres: f64) -> bool {
    metres.is_finite() && metres > 0.0
}

fn grow_polygon(polygon: &Polygon<f64>, margin_m: f64) -> MultiPolygon<f64> {
    let Some(bounds) = polygon.bounding_rect() else { return MultiPolygon(Vec::new()) };
    let origin = local_origin(bounds);
    let mut pieces = vec![moved(polygon, origin)];
    for ring in std::iter::once(polygon.exterior()).chain(polygon.interiors()) {
        let mut points: Vec<Coord<f64>> = ring.0.iter().map(|&point| point - origin).collect();
        points.dedup();
        let directions: Vec<Coord<f64>> = points.windows(2).map(|pair| unit(pair[1] - pair[0])).collect();
        for (index, pair) in points.windows(2).enumerate() {
            let arm = right_of(directions[index]) * margin_m;
            pieces.push(ring_of(&[pair[0], pair[0] + arm, pair[1] + arm, pair[1]]));
            // The ground is on the left of its ring, so a left bend opens a gap on the outside.
            let next = directions[(index + 1) % directions.len()];
            pieces.extend(
                bend(pair[1], directions[index], next, margin_m).filter(|_| angle(directions[index], next) > 0.0),
            );
        }
    }
    let united = unite_around(Coord { x: 0.0, y: 0.0 }, &pieces.iter().collect::<Vec<_>>());
    MultiPolygon(united.0.iter().map(|polygon| moved(polygon, -origin)).collect())
}

/// Builds pieces around a local origin, unites them and moves them back.
fn unite_pieces(mut points: Vec<Coord<f64>>, pieces: impl Fn(&[Coord<f64>]) -> Vec<Polygon<f64>>) -> MultiPolygon<f64> {
    let Some(bounds) = LineString(points.clone()).bounding_rect() else { return MultiPolygon(Vec::new()) };
    let origin = local_origin(bounds);
    points.iter_mut().for_each(|point| *point = *point - origin);
    let pieces = pieces(&points);
    let united = unite_around(Coord { x: 0.0, y: 0.0 }, &pieces.iter().collect::<Vec<_>>());
    MultiPolygon(united.0.iter().map(|polygon| moved(polygon, -origin)).collect())
}

fn line_pieces(points: &[Coord<f64>], half_m: f64) -> Vec<Polygon<f64>> {
    let directions: Vec<Coord<f64>> = points.windows(2).map(|pair| unit(pair[1] - pair[0])).collect();
    let mut pieces = Vec::with_capacity(2 * points.len());
    for (pair, direction) in points.windows(2).zip(&directions) {
        let arm = right_of(*direction) * half_m;
        let [p, q] = [pair[0], pair[1]];
        // The line's own points are corners too: the sectors at its bends and ends meet the rectangle there.
        pieces.push(ring_of(&[p, p + arm, q + arm, q, q - arm, p - arm]));
    }
    for (index, pair) in directions.windows(2).enumerate() {
        pieces.extend(bend(points[index + 1], pair[0], pair[1], half_m));
    }
    let (first, last) = (directions[0], directions[directions.len() - 1]);
    let (start_arm, end_arm) = (right_of(first) * half_m, right_of(last) * half_m);
    pieces.push(sector(points[0], -start_arm, start_arm, PI, SAGITTA_M));
    pieces.push(sector(points[points.len() - 1], end_arm, -end_arm, PI, SAGITTA_M));
    pieces
}

/// The sector on the outer side of a bend; none where the line goes straight on.
fn bend(at: Coord<f64>, before: Coord<f64>, after: Coord<f64>, radius_m: f64) -> Option<Polygon<f64>> {
    let turn = angle(before, after);
    let (from, to) = (right_of(before) * radius_m, right_of(after) * radius_m);
    if from == to {
        None
    } else if turn > 0.0 {
        Some(sector(at, from, to, turn, SAGITTA_M))
    } else {
        Some(sector(at, -to, -from, -turn, SAGITTA_M))
    }
}

fn unit(vector: Coord<f64>) -> Coord<f64> {
    vector / length(vector)
}

fn right_of(direction: Coord<f64>) -> Coord<f64> {
    Coord { x: direction.y, y: -direction.x }
}

fn ring_of(corners: &[Coord<f64>]) -> Polygon<f64> {
    Polygon::new(LineString(corners.to_vec()), Vec::new())
}

fn moved(polygon: &Polygon<f64>, by: Coord<f64>) -> Polygon<f64> {
    polygon.map_coords(|point| point - by)
}

#[cfg(test)]
#[path = "offset_tests.rs"]
mod tests;
