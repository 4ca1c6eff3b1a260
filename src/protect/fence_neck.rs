//! A line around ground -> where that ground narrows to a neck, and the ground with its necks cut.
//!
//! Two zones that hardly touch, or a place between two corners of works, leave a neck that taking away what is narrow does not find: both sides
//! of it are wide enough, and meet. A neck is narrowest at a corner that points into the ground, so each such corner is held against
//! all other sides.

use crate::geometry::Pieces;
use geo::{Area, Coord, LineString, MultiPolygon, Polygon};

/// Necks may be this much narrower than asked, for rounding, metres.
const ROUNDING_M: f64 = 1e-3;
/// Half the width of the strip that cuts a neck, metres.
const HALF_CUT_M: f64 = 0.25;
/// Beyond a neck the line goes on for more than this many widths of it: what is shorter is the tip of a blunt corner.
const LEAST_WAY_ROUND: f64 = 2.0;

/// The ground within a line without its necks narrower than a width; `None` where it has none, metres.
pub(super) fn without_necks(line: &Polygon<f64>, width_m: f64) -> Option<Vec<Polygon<f64>>> {
    let cuts = cuts_of_necks(line, width_m);
    let strips: Vec<MultiPolygon<f64>> = cuts.into_iter().map(|strip| MultiPolygon(vec![strip])).collect();
    let strips = Pieces::new(&strips.iter().collect::<Vec<_>>());
    strips.outside(&MultiPolygon(vec![line.clone()])).map(|left| left.0)
}

/// Strips across every neck narrower than a width.
fn cuts_of_necks(line: &Polygon<f64>, width_m: f64) -> Vec<Polygon<f64>> {
    let rings: Vec<Ring> = rings(line);
    let sides = Sides::new(&rings);
    let corners = rings.iter().enumerate().flat_map(|(ring, corners)| corners_into_ground(ring, corners));
    corners.filter_map(|corner| sides.across(&corner, width_m - ROUNDING_M).map(|to| strip(corner.at, to))).collect()
}

/// A ring with the ground on its left, the closing corner left out.
struct Ring {
    corners: Vec<Coord<f64>>,
    /// Length of the line from the first corner to each, metres.
    way_m: Vec<f64>,
    length_m: f64,
}

fn rings(line: &Polygon<f64>) -> Vec<Ring> {
    let hole = |ring| ring_of(ring, true);
    std::iter::once(ring_of(line.exterior(), false)).chain(line.interiors().iter().map(hole)).collect()
}

fn ring_of(ring: &LineString<f64>, is_hole: bool) -> Ring {
    let mut corners = ring.0[..ring.0.len().saturating_sub(1)].to_vec();
    let is_left = Polygon::new(ring.clone(), Vec::new()).signed_area() >= 0.0;
    if is_left == is_hole {
        corners.reverse();
    }
    let (mut way_m, mut length_m) = (Vec::with_capacity(corners.len()), 0.0);
    for (at, &corner) in corners.iter().enumerate() {
        way_m.push(length_m);
        length_m += length(corners[(at + 1) % corners.len()] - corner);
    }
    Ring { corners, way_m, length_m }
}

/// A corner at which the line turns right, with the ground on its left: it points into the ground.
struct Corner {
    ring: usize,
    way_m: f64,
    before: Coord<f64>,
    at: Coord<f64>,
    after: Coord<f64>,
}

impl Corner {
    /// Whether the way to a place begins in the ground: all round but for what lies on the right of both sides.
    fn sees(&self, to: Coord<f64>) -> bool {
        let way = to - self.at;
        let right_of = |side: Coord<f64>| cross(side, way) <= 1e-9;
        !(right_of(self.at - self.before) && right_of(self.after - self.at))
    }
}

fn corners_into_ground(number: usize, ring: &Ring) -> impl Iterator<Item = Corner> {
    let (corners, count) = (&ring.corners, ring.corners.len());
    let corner = move |at: usize| Corner {
        ring: number,
        way_m: ring.way_m[at],
        before: corners[(at + count - 1) % count],
        at: corners[at],
        after: corners[(at + 1) % count],
    };
    (0..count).map(corner).filter(|one| cross(one.at - one.before, one.after - one.at) < 0.0)
}

/// A side of a ring, with the length of the line up to its beginning.
struct Side {
    ring: usize,
    way_m: f64,
    ring_m: f64,
    from: Coord<f64>,
    to: Coord<f64>,
}

impl Side {
    fn left(&self) -> f64 {
        self.from.x.min(self.to.x)
    }

    /// The place of the side that is nearest to a corner.
    fn nearest(&self, corner: &Corner) -> Coord<f64> {
        let (side, way) = (self.to - self.from, corner.at - self.from);
        let along = (way.x * side.x + way.y * side.y) / (side.x * side.x + side.y * side.y);
        self.from + side * along.clamp(0.0, 1.0)
    }

    /// The shorter way along the line from a corner to a place on this side, metres.
    fn way_round_m(&self, corner: &Corner, place: Coord<f64>) -> f64 {
        if corner.ring != self.ring {
            return f64::INFINITY;
        }
        let ahead_m = (self.way_m + length(place - self.from) - corner.way_m).rem_euclid(self.ring_m);
        ahead_m.min(self.ring_m - ahead_m)
    }
}

/// All sides, in the order of their left ends.
struct Sides {
    sides: Vec<Side>,
    longest_m: f64,
}

impl Sides {
    fn new(rings: &[Ring]) -> Sides {
        let mut sides = Vec::new();
        for (number, ring) in rings.iter().enumerate() {
            for (at, &from) in ring.corners.iter().enumerate() {
                let to = ring.corners[(at + 1) % ring.corners.len()];
                sides.push(Side { ring: number, way_m: ring.way_m[at], ring_m: ring.length_m, from, to });
            }
        }
        sides.sort_by(|a, b| a.left().total_cmp(&b.left()));
        let longest_m = sides.iter().map(|side| (side.to.x - side.from.x).abs()).fold(0.0, f64::max);
        Sides { sides, longest_m }
    }

    /// The nearest place of the line that a corner sees across a neck narrower than a width.
    fn across(&self, corner: &Corner, width_m: f64) -> Option<Coord<f64>> {
        let from = self.sides.partition_point(|side| side.left() < corner.at.x - width_m - self.longest_m);
        let near = self.sides[from..].iter().take_while(|side| side.left() <= corner.at.x + width_m);
        let places = near.filter_map(|side| {
            let place = side.nearest(corner);
            let apart_m = length(place - corner.at);
            let is_neck = apart_m < width_m
                && side.from != corner.at
                && side.to != corner.at
                && side.way_round_m(corner, place) > LEAST_WAY_ROUND * apart_m
                && corner.sees(place);
            is_neck.then_some((apart_m, place))
        });
        places.min_by(|a, b| a.0.total_cmp(&b.0)).map(|(_, place)| place)
    }
}

/// A strip across a neck, a little longer than the neck is wide.
fn strip(from: Coord<f64>, to: Coord<f64>) -> Polygon<f64> {
    let way_m = length(to - from);
    let along = if way_m > 1e-9 { (to - from) / way_m } else { Coord { x: 1.0, y: 0.0 } };
    let (ahead, aside) = (along * HALF_CUT_M, Coord { x: -along.y, y: along.x } * HALF_CUT_M);
    let corners = [from - ahead - aside, to + ahead - aside, to + ahead + aside, from - ahead + aside];
    Polygon::new(LineString(corners.to_vec()), Vec::new())
}

fn cross(a: Coord<f64>, b: Coord<f64>) -> f64 {
    a.x * b.y - a.y * b.x
}

fn length(a: Coord<f64>) -> f64 {
    a.x.hypot(a.y)
}

#[cfg(test)]
#[path = "fence_neck_tests.rs"]
mod tests;
