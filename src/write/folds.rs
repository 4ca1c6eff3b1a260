//! Rounded polygons -> polygons that do not cross or touch themselves, where rounding made them do so.
//!
//! Rounding moves each point by up to half a unit (5 mm); where an outline is thinner than that it may fold over. Such a
//! polygon is filled anew and rounded again. Whole numbers decide what crosses, exactly.

use super::position::{Position, Rings, rings_of};
use crate::geometry::is_convex;
use crate::geometry::overlay;
use geo::bool_ops::{FillRule, OpType};
use geo::{Coord, LineString, MultiPolygon, Polygon};

/// Filling anew makes new points, which are rounded as well; few polygons need it twice.
const ROUNDS: usize = 4;

/// The polygons of one shape without folds: where there are none they come back as they are. A part thinner than the precision may vanish.
pub fn unfolded(polygons: Vec<Rings>) -> Vec<Rings> {
    let mut polygons = polygons;
    for _ in 0..ROUNDS {
        if !folds(&polygons) {
            break;
        }
        let filled = filled_anew(&polygons);
        // What still touches itself is then what is allowed to: a hole that meets its shell in one point.
        if filled == polygons {
            break;
        }
        polygons = filled;
    }
    polygons
}

/// Whether two edges of a shape meet otherwise than as neighbours; the polygons of one shape must not meet either.
fn folds(polygons: &[Rings]) -> bool {
    if let [rings] = polygons
        && let [ring] = rings.as_slice()
        && is_convex(ring, |from, corner, to| side(from, corner, to) > 0, |from, to| from < to)
    {
        return false;
    }
    let mut edges: Vec<Edge> = Vec::new();
    for (ring, points) in polygons.iter().flatten().enumerate() {
        let last = points.len() - 2;
        let ends = points.windows(2).enumerate();
        edges.extend(ends.map(|(at, ends)| Edge { ring, at, last, from: ends[0], to: ends[1] }));
    }
    edges.sort_unstable_by_key(Edge::west);
    edges.iter().enumerate().any(|(at, edge)| {
        edges[at + 1..].iter().take_while(|other| other.west() <= edge.east()).any(|other| edge.meets(other))
    })
}

struct Edge {
    ring: usize,
    at: usize,
    last: usize,
    from: Position,
    to: Position,
}

impl Edge {
    fn west(&self) -> i64 {
        self.from[0].min(self.to[0])
    }

    fn east(&self) -> i64 {
        self.from[0].max(self.to[0])
    }

    /// Whether the edges meet anywhere but in the corner that neighbours share.
    fn meets(&self, other: &Edge) -> bool {
        let (south, north) = (self.from[1].min(self.to[1]), self.from[1].max(self.to[1]));
        if other.from[1].max(other.to[1]) < south || other.from[1].min(other.to[1]) > north {
            return false;
        }
        let follows = |a: &Edge, b: &Edge| a.ring == b.ring && (a.at + 1 == b.at || (a.at == a.last && b.at == 0));
        if follows(self, other) {
            return back_on_itself(self.from, self.to, other.to);
        }
        if follows(other, self) {
            return back_on_itself(other.from, other.to, self.to);
        }
        let (a, b) = (side(self.from, self.to, other.from), side(self.from, self.to, other.to));
        let (c, d) = (side(other.from, other.to, self.from), side(other.from, other.to, self.to));
        // On one line, boxes that meet are edges that meet: west ends and heights were compared already.
        a * b <= 0 && c * d <= 0
    }
}

/// Where `at` lies of the line: 1 left, -1 right, 0 on it.
fn side(from: Position, to: Position, at: Position) -> i128 {
    let [ux, uy] = [0, 1].map(|axis| i128::from(to[axis] - from[axis]));
    let [vx, vy] = [0, 1].map(|axis| i128::from(at[axis] - from[axis]));
    (ux * vy - uy * vx).signum()
}

/// Whether the way from the first place over the second to the third turns right round.
fn back_on_itself(first: Position, corner: Position, third: Position) -> bool {
    let dot = |axis: usize| i128::from(corner[axis] - first[axis]) * i128::from(third[axis] - corner[axis]);
    side(first, corner, third) == 0 && dot(0) + dot(1) < 0
}

/// Fills what the rings enclose, around their first place so that the overlay's grid is fine, and rounds it again.
fn filled_anew(polygons: &[Rings]) -> Vec<Rings> {
    let Some(&origin) = polygons.iter().flatten().flatten().next() else { return Vec::new() };
    #[expect(clippy::cast_precision_loss, reason = "at most 3.6e9")]
    let local = |at: &Position| Coord { x: (at[0] - origin[0]) as f64, y: (at[1] - origin[1]) as f64 };
    let line = |ring: &Vec<Position>| ring.iter().map(local).collect::<LineString<f64>>();
    let polygon = |rings: &Rings| Some(Polygon::new(line(rings.first()?), rings[1..].iter().map(line).collect()));
    let folded = MultiPolygon(polygons.iter().filter_map(polygon).collect());
    let nothing = MultiPolygon::<f64>(Vec::new());
    let filled = overlay(&folded, &nothing, OpType::Union, FillRule::Positive);
    #[expect(clippy::cast_possible_truncation, reason = "within the box of the rings")]
    let rounded = |at: &Coord<f64>| [at.x.round() as i64 + origin[0], at.y.round() as i64 + origin[1]];
    let places = |line: &LineString<f64>| line.0.iter().map(rounded).collect();
    let polygons = filled
        .iter()
        .map(|polygon| rings_of(places(polygon.exterior()), polygon.interiors().iter().map(places).collect()));
    polygons.filter(|rings| !rings.is_empty()).collect()
}

#[cfg(test)]
#[path = "folds_tests.rs"]
mod tests;
