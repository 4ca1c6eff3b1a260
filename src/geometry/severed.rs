//! Turns cuts around a trunk into what the trunk still sees: the ground in front of the first cut in every direction.
//!
//! A root is taken to run straight from the trunk centre. A point is severed where the straight line from it to the trunk centre meets the
//! inside of a cut; touching a boundary does not sever. The visible ground is a star around the trunk, the rest of the
//! zone is severed. A straight-line model: common sense, no source.

use super::beyond::between_circles;
use super::chain::Content;
use super::edge::{angle, chord, cross, triangle_in_disc_m2};
use super::envelope::{Bearing, Front, Nearer, Piece, Segment, behind_arcs, lower_envelope};
use super::prepared::PreparedArea;
use geo::Coord;
use std::f64::consts::PI;

/// A trunk centre this near to the boundary of a cut counts as on it, metres: ten times the rounding of a union of works.
const ON_BOUNDARY_M: f64 = 1e-6;
/// A trunk centre on a boundary is looked at from this far outside, metres.
const STEP_OFF_M: f64 = 2e-6;
/// The directions in which a place outside is looked for.
const STEP_OFF_DIRECTIONS: u32 = 64;

/// What is visible from a trunk centre, within a radius, in front of the union of the severing works.
#[derive(Debug, Clone)]
pub struct Sight {
    pub(super) origin: Coord<f64>,
    pub(super) radius_m: f64,
    /// Cuts nearer than this do not count.
    pub(super) beyond_m: f64,
    /// The trunk centre stands inside a cut: nothing is visible.
    pub(super) blind: bool,
    pub(super) segments: Vec<Segment>,
    pub(super) pieces: Vec<Piece>,
    /// The visible area from -pi to the start of each piece, and at the end in all, square metres.
    visible_m2: Vec<f64>,
}

impl Sight {
    /// Looks around from `centre` as far as `radius_m`, in front of `cuts`.
    ///
    /// A centre inside `cuts` sees nothing. A centre on their boundary (within a micrometre) is not inside: the cut takes the
    /// directions that lead into it and what lies behind.
    pub fn new(cuts: &PreparedArea, centre: Coord<f64>, radius_m: f64) -> Sight {
        Sight::looking(cuts, standing_place(cuts, centre), centre, (0.0, radius_m.max(0.0)))
    }

    /// [`Sight::new`] in front of what of `cuts` lies at least `beyond_m` from the centre; from 0 on it is the same.
    pub fn beyond(cuts: &PreparedArea, centre: Coord<f64>, beyond_m: f64, radius_m: f64) -> Sight {
        if beyond_m <= 0.0 {
            return Sight::new(cuts, centre, radius_m);
        }
        Sight::looking(cuts, Some(centre), centre, (beyond_m.min(radius_m), radius_m))
    }

    fn looking(
        cuts: &PreparedArea,
        origin: Option<Coord<f64>>,
        centre: Coord<f64>,
        (beyond_m, radius_m): (f64, f64),
    ) -> Sight {
        let mut sight = Sight {
            origin: origin.unwrap_or(centre),
            radius_m,
            beyond_m,
            blind: origin.is_none(),
            segments: Vec::new(),
            pieces: vec![Piece::OPEN],
            visible_m2: Vec::new(),
        };
        if let (false, Some(root)) = (sight.blind, cuts.tree.root) {
            sight.collect(cuts, root);
            sight.pieces = lower_envelope(&sight.segments, 0, sight.segments.len());
            if beyond_m > 0.0 {
                sight.pieces = behind_arcs(&sight.pieces, &cuts.arcs_inside(centre, beyond_m));
            }
        }
        sight.add_up();
        sight
    }

    /// Takes the edges within the disc that show their outside to the trunk: a ring has its inside on the left, so those that run
    /// clockwise around the trunk, turned round.
    fn collect(&mut self, cuts: &PreparedArea, node: u32) {
        let node = &cuts.tree.nodes[node as usize];
        if node.distance_squared(self.origin) >= self.radius_m * self.radius_m {
            return;
        }
        match node.content {
            Content::Leaf { first, last, .. } => {
                let edges = cuts.tree.edges(first, last);
                let (origin, beyond_m, radius_m) = (self.origin, self.beyond_m, self.radius_m);
                let seen = edges.flat_map(|(p, q)| between_circles((q - origin, p - origin), beyond_m, radius_m));
                self.segments.extend(seen);
            }
            Content::Chain { children, .. } | Content::Group { children } => {
                children.into_iter().for_each(|child| self.collect(cuts, child));
            }
        }
    }

    fn add_up(&mut self) {
        let mut sum = 0.0;
        self.visible_m2 = Vec::with_capacity(self.pieces.len() + 1);
        for index in 0..self.pieces.len() {
            self.visible_m2.push(sum);
            if !self.blind {
                sum += self.piece_m2(index, self.pieces[index].from, self.piece_end(index));
            }
        }
        self.visible_m2.push(sum);
    }

    pub(super) fn piece_end(&self, index: usize) -> Bearing {
        self.pieces.get(index + 1).map_or(Bearing::END, |next| next.from)
    }

    /// The visible area of part of a piece: `a x b / 2` in front of an edge, `r^2 / 2 dtheta` in front of an arc or where nothing is in
    /// the way.
    fn piece_m2(&self, index: usize, from: Bearing, to: Bearing) -> f64 {
        let sector_m2 = |radius_m: f64| 0.5 * radius_m * radius_m * (to.angle - from.angle);
        match self.pieces[index].front {
            Front::Segment(segment) => self.segments[segment as usize].triangle_m2(from, to),
            Front::Arc => sector_m2(self.beyond_m),
            Front::Open => sector_m2(self.radius_m),
        }
    }

    /// Whether nothing is in the way in any direction.
    fn all_open(&self) -> bool {
        !self.blind && self.pieces.iter().all(|piece| piece.front == Front::Open)
    }

    fn zone_m2(&self) -> f64 {
        PI * self.radius_m * self.radius_m
    }

    fn all_visible_m2(&self) -> f64 {
        self.visible_m2.last().copied().unwrap_or(0.0)
    }

    /// The widest part of the bearings in which nothing is met within the radius, degrees, 0 to 360; 0 where the trunk stands inside.
    pub fn widest_gap_deg(&self) -> f64 {
        if self.blind {
            return 0.0;
        }
        let open = |index: usize| self.pieces[index].front == Front::Open;
        let width = |index: usize| self.piece_end(index).angle - self.pieces[index].from.angle;
        // The gap at the end goes on at the start, on the other side of -pi.
        let at_start: f64 = (0..self.pieces.len()).take_while(|&index| open(index)).map(width).sum();
        let (mut widest, mut gap) = (0.0, 0.0);
        for index in 0..self.pieces.len() {
            gap = if open(index) { gap + width(index) } else { 0.0 };
            widest = f64::max(widest, gap);
        }
        (widest.max(gap + at_start)).to_degrees().min(360.0)
    }

    /// The area of the disc that is severed, the cut itself included, square metres, 0 to pi r^2.
    pub fn severed_m2(&self) -> f64 {
        if self.all_open() {
            return 0.0;
        }
        (self.zone_m2() - self.all_visible_m2()).clamp(0.0, self.zone_m2())
    }

    /// The area of the part of `of` that is visible: within the radius and not severed, square metres.
    ///
    /// `severed_m2() + visible_area_m2(other works)` is the area of severed ground and other works together.
    ///
    /// # Source
    /// The sum over directed edges of `of` of the integral of `min(edge(theta), sight(theta))^2 / 2` over theta, split where the edge crosses
    /// the edge in the way. A chain of edges whose box does not meet the disc adds the visible area between its two ends.
    pub fn visible_area_m2(&self, of: &PreparedArea) -> f64 {
        let Some(root) = of.tree.root else { return 0.0 };
        if self.blind || self.radius_m == 0.0 {
            return 0.0;
        }
        if self.all_open() {
            return of.disc_area_m2(self.origin, self.radius_m);
        }
        self.visible_sum(of, root).clamp(0.0, self.all_visible_m2())
    }

    fn visible_sum(&self, of: &PreparedArea, node: u32) -> f64 {
        let node = &of.tree.nodes[node as usize];
        let outside = node.distance_squared(self.origin) >= self.radius_m * self.radius_m;
        match node.content {
            Content::Group { .. } if outside => 0.0,
            Content::Leaf { first, last, .. } | Content::Chain { first, last, .. } if outside => {
                let [start, end] = [first, last].map(|index| of.tree.points[index as usize] - self.origin);
                self.between_m2(start, end)
            }
            Content::Leaf { first, last, .. } => {
                of.tree.edges(first, last).map(|(p, q)| self.edge_m2(p - self.origin, q - self.origin)).sum()
            }
            Content::Chain { children, .. } | Content::Group { children } => {
                children.into_iter().map(|child| self.visible_sum(of, child)).sum()
            }
        }
    }

    /// The signed visible part of the triangle (centre, p, q).
    fn edge_m2(&self, p: Coord<f64>, q: Coord<f64>) -> f64 {
        match chord(p, q, self.radius_m) {
            None => self.between_m2(p, q),
            Some((a, b)) => {
                let inside = if cross(a, b) >= 0.0 { self.in_front_m2(a, b) } else { -self.in_front_m2(b, a) };
                self.between_m2(p, a) + inside + self.between_m2(b, q)
            }
        }
    }

    /// The signed visible area between the bearings of two points, the short way round.
    fn between_m2(&self, p: Coord<f64>, q: Coord<f64>) -> f64 {
        let turn = angle(p, q);
        if turn == 0.0 {
            return 0.0;
        }
        let (from, to) = (Bearing::of(p), Bearing::of(q));
        let straight = self.visible_up_to(to) - self.visible_up_to(from);
        // Passing the bearing of pi means going on from -pi.
        match (turn > 0.0, to.angle > from.angle) {
            (true, false) if from.angle - to.angle > 1.0 => straight + self.all_visible_m2(),
            (false, true) if to.angle - from.angle > 1.0 => straight - self.all_visible_m2(),
            _ => straight,
        }
    }

    fn piece_at(&self, angle: f64) -> usize {
        self.pieces.partition_point(|piece| piece.from.angle <= angle).saturating_sub(1)
    }

    /// The visible area from the bearing of -pi to this one, square metres.
    fn visible_up_to(&self, bearing: Bearing) -> f64 {
        let index = self.piece_at(bearing.angle);
        self.visible_m2[index] + self.piece_m2(index, self.pieces[index].from, bearing)
    }

    /// The visible area in front of the segment from `a` to `b`, which runs anticlockwise within the disc.
    fn in_front_m2(&self, a: Coord<f64>, b: Coord<f64>) -> f64 {
        let Some(segment) = Segment::new(a, b) else { return 0.0 };
        segment.ranges().map(|(from, to)| self.in_front_of_range_m2(&segment, from, to)).sum()
    }

    fn in_front_of_range_m2(&self, segment: &Segment, start: Bearing, end: Bearing) -> f64 {
        let mut sum = 0.0;
        let mut from = start;
        let mut index = self.piece_at(start.angle);
        while from.angle < end.angle && index < self.pieces.len() {
            let piece_end = self.piece_end(index);
            let to = if piece_end.angle < end.angle { piece_end } else { end };
            sum += self.nearer_triangle_m2(segment, index, from, to);
            (from, index) = (to, index + 1);
        }
        sum
    }

    fn nearer_triangle_m2(&self, segment: &Segment, index: usize, from: Bearing, to: Bearing) -> f64 {
        let in_the_way = match self.pieces[index].front {
            Front::Open => return segment.triangle_m2(from, to),
            Front::Arc => {
                let [start, end] = [from, to].map(|bearing| bearing.unit * segment.distance_m(bearing.unit));
                return triangle_in_disc_m2(start, end, self.beyond_m).max(0.0);
            }
            Front::Segment(index) => &self.segments[index as usize],
        };
        match segment.nearer(in_the_way, from, to) {
            Nearer::First => segment.triangle_m2(from, to),
            Nearer::Second => in_the_way.triangle_m2(from, to),
            Nearer::FirstUntil(at) => segment.triangle_m2(from, at) + in_the_way.triangle_m2(at, to),
            Nearer::SecondUntil(at) => in_the_way.triangle_m2(from, at) + segment.triangle_m2(at, to),
        }
    }
}

/// Where to look from: the centre, or a step outside where it stands on a boundary; `None` where it stands inside.
///
/// A centre on the boundary in a cleft too narrow for that step counts as inside, the worse case.
fn standing_place(cuts: &PreparedArea, centre: Coord<f64>) -> Option<Coord<f64>> {
    if cuts.boundary_distance_m(centre, ON_BOUNDARY_M).is_none() {
        return (!cuts.inside(centre)).then_some(centre);
    }
    let mut best: Option<(f64, Coord<f64>)> = None;
    for step in 0..STEP_OFF_DIRECTIONS {
        let turn = 2.0 * PI * f64::from(step) / f64::from(STEP_OFF_DIRECTIONS);
        let place = centre + Coord { x: turn.cos(), y: turn.sin() } * STEP_OFF_M;
        if cuts.inside(place) {
            continue;
        }
        let clearance_m = cuts.boundary_distance_m(place, 2.0 * STEP_OFF_M).unwrap_or(2.0 * STEP_OFF_M);
        if clearance_m > 0.1 * ON_BOUNDARY_M && best.is_none_or(|(most, _)| clearance_m > most) {
            best = Some((clearance_m, place));
        }
    }
    best.map(|(_, place)| place)
}

#[cfg(test)]
#[path = "severed_tests.rs"]
mod tests;
