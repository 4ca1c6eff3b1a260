//! What is nearest in every direction: the lower envelope of segments around a centre.
//!
//! Divide and conquer: the envelopes of two halves are merged direction by direction. At every step two segments are compared by a
//! number, never by an order that a rounding error could make contradict itself; segments that cross, though those of a
//! union should not, are split at the crossing.

use super::edge::{chord, cross, dot, length};
use geo::Coord;
use std::f64::consts::PI;

/// A direction from the centre: its angle and its unit vector.
#[derive(Debug, Clone, Copy)]
pub(super) struct Bearing {
    /// Radians, -pi to pi.
    pub(super) angle: f64,
    /// Length 1.
    pub(super) unit: Coord<f64>,
}

impl Bearing {
    /// The bearing of -pi, where every envelope starts.
    pub(super) const START: Bearing = Bearing { angle: -PI, unit: Coord { x: -1.0, y: 0.0 } };
    /// The bearing of pi, where every envelope ends.
    pub(super) const END: Bearing = Bearing { angle: PI, unit: Coord { x: -1.0, y: 0.0 } };

    /// The bearing of a point other than the centre.
    pub(super) fn of(point: Coord<f64>) -> Bearing {
        Bearing { angle: point.y.atan2(point.x), unit: point / length(point) }
    }
}

/// A segment inside the disc, anticlockwise as seen from the centre, on the line of all x with `inverse . x = 1`.
///
/// In the direction of the unit vector d that line is at the distance `1 / (inverse . d)`, so two lines are compared, and their
/// crossing found, by a dot product.
#[derive(Debug, Clone, Copy)]
pub(super) struct Segment {
    from: Bearing,
    to: Bearing,
    inverse: Coord<f64>,
    /// The distance of the further end, metres.
    furthest_m: f64,
}

impl Segment {
    /// The segment from `a` to `b`; `None` where it does not run anticlockwise, or spans no angle that can be told from 0.
    pub(super) fn new(a: Coord<f64>, b: Coord<f64>) -> Option<Segment> {
        let twice_area = cross(a, b);
        if twice_area.is_nan() || twice_area <= 0.0 {
            return None;
        }
        let (from, to) = (Bearing::of(a), Bearing::of(b));
        let span = if to.angle < from.angle { to.angle + 2.0 * PI - from.angle } else { to.angle - from.angle };
        // Rounding may swap the bearings of a radial edge: it would seem to go nearly all the way round.
        if span == 0.0 || span > PI + 1e-9 {
            return None;
        }
        let inverse = Coord { x: b.y - a.y, y: a.x - b.x } / twice_area;
        Some(Segment { from, to, inverse, furthest_m: length(a).max(length(b)) })
    }

    /// The part of the edge from `p` to `q` within the disc, where the edge runs anticlockwise.
    pub(super) fn in_disc(p: Coord<f64>, q: Coord<f64>, radius_m: f64) -> Option<Segment> {
        let (a, b) = chord(p, q, radius_m)?;
        Segment::new(a, b)
    }

    /// The ranges of bearings that it covers: one, or two where it crosses the bearing of pi.
    pub(super) fn ranges(&self) -> impl Iterator<Item = (Bearing, Bearing)> + use<> {
        let (first, second) = if self.from.angle <= self.to.angle {
            (Some((self.from, self.to)), None)
        } else {
            (Some((Bearing::START, self.to)), Some((self.from, Bearing::END)))
        };
        first.into_iter().chain(second).filter(|(from, to)| from.angle < to.angle)
    }

    /// The distance of the line in a direction that it covers, metres.
    pub(super) fn distance_m(&self, towards: Coord<f64>) -> f64 {
        let inverse = dot(self.inverse, towards);
        if inverse > 0.0 { (1.0 / inverse).min(self.furthest_m) } else { self.furthest_m }
    }

    /// The area between the centre and this segment from one bearing to another, square metres: `a x b / 2`.
    pub(super) fn triangle_m2(&self, from: Bearing, to: Bearing) -> f64 {
        let sine = cross(from.unit, to.unit).max(0.0);
        0.5 * self.distance_m(from.unit) * self.distance_m(to.unit) * sine
    }

    /// Which of two segments is nearer between two bearings that both cover.
    pub(super) fn nearer(&self, other: &Segment, from: Bearing, to: Bearing) -> Nearer {
        let difference = self.inverse - other.inverse;
        let (at_start, at_end) = (dot(difference, from.unit), dot(difference, to.unit));
        if at_start >= 0.0 && at_end >= 0.0 {
            return Nearer::First;
        }
        if at_start <= 0.0 && at_end <= 0.0 {
            return Nearer::Second;
        }
        let along = Coord { x: -difference.y, y: difference.x } / length(difference);
        let unit = if dot(along, from.unit + to.unit) >= 0.0 { along } else { -along };
        let turn = cross(from.unit, unit).atan2(dot(from.unit, unit));
        let angle = (from.angle + turn).clamp(from.angle, to.angle);
        let at = Bearing { angle, unit };
        if at_start > 0.0 { Nearer::FirstUntil(at) } else { Nearer::SecondUntil(at) }
    }
}

/// The answer of [`Segment::nearer`]; the other one is nearer after the bearing.
#[derive(Debug, Clone, Copy)]
pub(super) enum Nearer {
    First,
    Second,
    FirstUntil(Bearing),
    SecondUntil(Bearing),
}

/// What is nearest in a direction.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Front {
    /// Nothing within the disc.
    Open,
    /// The segment of this index.
    Segment(u32),
    /// The circle before which nothing counts, where it runs inside a cut.
    Arc,
}

/// What is nearest from this bearing to that of the next piece.
#[derive(Debug, Clone, Copy)]
pub(super) struct Piece {
    pub(super) from: Bearing,
    pub(super) front: Front,
}

impl Piece {
    /// Nothing from the bearing of -pi on.
    pub(super) const OPEN: Piece = Piece { from: Bearing::START, front: Front::Open };
}

/// A range of bearings, from less to more.
pub(super) type Range = (Bearing, Bearing);

/// The nearest of the segments `first..last` in every direction, pieces in order of bearing from -pi.
pub(super) fn lower_envelope(segments: &[Segment], first: usize, last: usize) -> Vec<Piece> {
    match last - first {
        0 => vec![Piece::OPEN],
        1 => single(&segments[first], first as u32),
        count => {
            let middle = first + count / 2;
            merge(segments, &lower_envelope(segments, first, middle), &lower_envelope(segments, middle, last))
        }
    }
}

fn single(segment: &Segment, index: u32) -> Vec<Piece> {
    let mut pieces = Vec::with_capacity(4);
    for (from, to) in segment.ranges() {
        if pieces.is_empty() && from.angle > -PI {
            pieces.push(Piece::OPEN);
        }
        pieces.push(Piece { from, front: Front::Segment(index) });
        if to.angle < PI {
            pieces.push(Piece { from: to, front: Front::Open });
        }
    }
    if pieces.is_empty() {
        pieces.push(Piece::OPEN);
    }
    pieces
}

fn merge(segments: &[Segment], left: &[Piece], right: &[Piece]) -> Vec<Piece> {
    let mut merged: Vec<Piece> = Vec::with_capacity(left.len() + right.len());
    let (mut l, mut r) = (0, 0);
    let mut from = Bearing::START;
    loop {
        let end_of = |pieces: &[Piece], index: usize| pieces.get(index + 1).map_or(Bearing::END, |next| next.from);
        let (left_end, right_end) = (end_of(left, l), end_of(right, r));
        let to = if left_end.angle <= right_end.angle { left_end } else { right_end };
        if from.angle < to.angle {
            merge_range(segments, left[l].front, right[r].front, from, to, &mut merged);
        }
        // Both advance at a common end, so that no piece is empty.
        l += usize::from(left_end.angle <= to.angle && l + 1 < left.len());
        r += usize::from(right_end.angle <= to.angle && r + 1 < right.len());
        from = to;
        if to.angle >= PI {
            return merged;
        }
    }
}

fn merge_range(segments: &[Segment], left: Front, right: Front, from: Bearing, to: Bearing, merged: &mut Vec<Piece>) {
    let (Front::Segment(l), Front::Segment(r)) = (left, right) else {
        return push(merged, from, if left == Front::Open { right } else { left });
    };
    match segments[l as usize].nearer(&segments[r as usize], from, to) {
        Nearer::First => push(merged, from, left),
        Nearer::Second => push(merged, from, right),
        Nearer::FirstUntil(at) => {
            push(merged, from, left);
            push(merged, at, right);
        }
        Nearer::SecondUntil(at) => {
            push(merged, from, right);
            push(merged, at, left);
        }
    }
}

/// Goes on with the last piece where it has the same front.
fn push(pieces: &mut Vec<Piece>, from: Bearing, front: Front) {
    if pieces.last().is_none_or(|last| last.front != front) {
        pieces.push(Piece { from, front });
    }
}

/// Puts arcs, ascending and apart from each other, in front of all pieces.
pub(super) fn behind_arcs(pieces: &[Piece], arcs: &[Range]) -> Vec<Piece> {
    let mut merged = Vec::with_capacity(pieces.len() + 2 * arcs.len());
    let mut arcs = arcs.iter().peekable();
    let mut from = Bearing::START;
    for (index, piece) in pieces.iter().enumerate() {
        let end = pieces.get(index + 1).map_or(Bearing::END, |next| next.from);
        while let Some((start, stop)) = arcs.next_if(|(start, _)| start.angle < end.angle) {
            if from.angle < start.angle {
                push(&mut merged, from, piece.front);
            }
            push(&mut merged, *start, Front::Arc);
            from = *stop;
        }
        if from.angle < end.angle {
            push(&mut merged, from, piece.front);
            from = end;
        }
    }
    merged
}
