//! A line seen from a trunk: how much of it lies inside a disc, how near it comes, and which shifts of it stay near.
//!
//! Closed forms per segment, with the disc's centre subtracted first. A line of one place (all points the same) has no length and
//! still has a distance.

use super::edge::{chord, cross, dot, edge_distance_squared, length};
use geo::{Coord, LineString};

/// Stretches nearer to each other than this are one, metres.
const SAME_PLACE_M: f64 = 1e-9;

/// From where to where along a line, metres from its first point.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Stretch {
    /// Beginning.
    pub from_m: f64,
    /// End, not before the beginning.
    pub to_m: f64,
}

impl Stretch {
    /// Its length, metres.
    pub fn length_m(self) -> f64 {
        self.to_m - self.from_m
    }
}

/// Length of a line, metres.
pub fn line_length_m(line: &LineString<f64>) -> f64 {
    line.0.windows(2).map(|ends| length(ends[1] - ends[0])).sum()
}

/// The stretches of a line inside the disc, in order; those that meet are one.
pub fn stretches_inside(line: &LineString<f64>, centre: Coord<f64>, radius_m: f64) -> Vec<Stretch> {
    let mut found: Vec<Stretch> = Vec::new();
    let mut along_m = 0.0;
    for ends in line.0.windows(2) {
        let (p, q) = (ends[0] - centre, ends[1] - centre);
        if let Some((a, b)) = chord(p, q, radius_m) {
            let from_m = along_m + length(a - p);
            let to_m = from_m + length(b - a);
            match found.last_mut() {
                Some(last) if from_m - last.to_m <= SAME_PLACE_M => last.to_m = to_m,
                _ => found.push(Stretch { from_m, to_m }),
            }
        }
        along_m += length(q - p);
    }
    found
}

/// Length of a line inside the disc, metres.
pub fn length_inside_m(line: &LineString<f64>, centre: Coord<f64>, radius_m: f64) -> f64 {
    stretches_inside(line, centre, radius_m).into_iter().map(Stretch::length_m).sum()
}

/// Distance from a place to a line, metres; `None` for a line without points.
pub fn distance_to_line_m(line: &LineString<f64>, from: Coord<f64>) -> Option<f64> {
    let first = line.0.first()?;
    let squared = segments(line).map(|(p, q)| edge_distance_squared(p - from, q - from));
    Some(squared.fold(dot(*first - from, *first - from), f64::min).sqrt())
}

/// Distance from a place to a segment, metres.
pub fn distance_to_segment_m((p, q): (Coord<f64>, Coord<f64>), from: Coord<f64>) -> f64 {
    edge_distance_squared(p - from, q - from).sqrt()
}

/// The segments of a line; one without length for a line of a single point.
pub fn segments(line: &LineString<f64>) -> impl Iterator<Item = (Coord<f64>, Coord<f64>)> + '_ {
    let single = (line.0.len() == 1).then(|| (line.0[0], line.0[0]));
    line.0.windows(2).map(|ends| (ends[0], ends[1])).chain(single)
}

/// The place at a distance along a line, metres from its first point; the nearer end where there is none. `None` without points.
pub fn place_along(line: &LineString<f64>, along_m: f64) -> Option<Coord<f64>> {
    let mut left_m = along_m.max(0.0);
    for ends in line.0.windows(2) {
        let step = ends[1] - ends[0];
        let step_m = length(step);
        if left_m <= step_m && step_m > 0.0 {
            return Some(ends[0] + step * (left_m / step_m));
        }
        left_m -= step_m;
    }
    line.0.last().copied()
}

/// The greatest change of direction of a line at a point within a stretch of it, degrees.
pub fn sharpest_bend_deg(line: &LineString<f64>, within: Stretch) -> f64 {
    let mut along_m = 0.0;
    let mut before: Option<Coord<f64>> = None;
    let mut sharpest: f64 = 0.0;
    for ends in line.0.windows(2) {
        let step = ends[1] - ends[0];
        if length(step) == 0.0 {
            continue;
        }
        if let Some(before) = before.filter(|_| along_m > within.from_m && along_m < within.to_m) {
            sharpest = sharpest.max(cross(before, step).atan2(dot(before, step)).abs());
        }
        along_m += length(step);
        before = Some(step);
    }
    sharpest.to_degrees()
}

/// The shifts `t` (metres) for which the segment, moved by `t` times the unit vector `way`, comes nearer to `centre` than `radius_m`.
///
/// One open interval, `None` where it never comes nearer or only touches: seen from the segment the centre moves the other way on a
/// straight line, and all places nearer than the radius to a segment make a convex shape (a rectangle with a half disc at each end).
pub fn shifts_within(
    (p, q): (Coord<f64>, Coord<f64>),
    way: Coord<f64>,
    centre: Coord<f64>,
    radius_m: f64,
) -> Option<(f64, f64)> {
    let ends = [through_disc(centre - p, way, radius_m), through_disc(centre - q, way, radius_m)];
    let parts = ends.into_iter().chain([through_rectangle(centre - p, q - p, way, radius_m)]).flatten();
    parts.reduce(|(a, b), (c, d)| (a.min(c), b.max(d)))
}

/// Where `from - t way` is inside the disc around the origin.
fn through_disc(from: Coord<f64>, way: Coord<f64>, radius_m: f64) -> Option<(f64, f64)> {
    let offset = cross(way, from);
    if offset.abs() >= radius_m {
        return None;
    }
    let half = ((radius_m - offset) * (radius_m + offset)).sqrt();
    let middle = dot(from, way);
    Some((middle - half, middle + half))
}

/// Where `from - t way` is inside the rectangle along the segment from the origin to `to`, `radius_m` to either side.
fn through_rectangle(from: Coord<f64>, to: Coord<f64>, way: Coord<f64>, radius_m: f64) -> Option<(f64, f64)> {
    let long_m = length(to);
    if long_m == 0.0 {
        return None;
    }
    let unit = to / long_m;
    let along = through_slab(dot(from, unit), dot(way, unit), 0.0, long_m)?;
    let across = through_slab(cross(unit, from), cross(unit, way), -radius_m, radius_m)?;
    let (start, end) = (along.0.max(across.0), along.1.min(across.1));
    (start < end).then_some((start, end))
}

/// Where `low < at - t speed < high`.
fn through_slab(at: f64, speed: f64, low: f64, high: f64) -> Option<(f64, f64)> {
    if speed == 0.0 {
        return (at > low && at < high).then_some((f64::NEG_INFINITY, f64::INFINITY));
    }
    let (a, b) = ((at - low) / speed, (at - high) / speed);
    Some((a.min(b), a.max(b)))
}

#[cfg(test)]
#[path = "centre_line_tests.rs"]
mod tests;
