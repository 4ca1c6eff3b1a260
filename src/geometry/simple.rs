//! Tells quickly that a drawn ring does not meet itself, which is the common case; what it cannot tell is left to a full check.

use super::repair::is_apart;
use geo::{Coord, GeoNum, Kernel, MultiPolygon, Orientation, Validation};

/// Whether a shape of finite coordinates is valid: one ring that meets itself nowhere is known at once, and rings that do not meet soon; any other
/// shape is looked into.
pub(super) fn is_valid(shape: &MultiPolygon<f64>) -> bool {
    let one_ring = match shape.0.as_slice() {
        [one] if one.interiors().is_empty() => {
            let ring = &one.exterior().0;
            let left = |from, corner, to| side(from, corner, to) == Orientation::CounterClockwise;
            let east = |from: Coord<f64>, to: Coord<f64>| (from.x, from.y) < (to.x, to.y);
            is_convex(ring, left, east) || meets_itself_nowhere(ring)
        }
        _ => is_apart(shape),
    };
    one_ring || shape.is_valid()
}

/// Whether a closed ring turns left at every corner and goes round once: it then meets itself nowhere. Most drawn overlaps do.
///
/// `turns_left` is asked of three places in a row, `runs_east` of the two ends of an edge (straight north counts as east).
pub(crate) fn is_convex<P: Copy>(
    ring: &[P],
    turns_left: impl Fn(P, P, P) -> bool,
    runs_east: impl Fn(P, P) -> bool,
) -> bool {
    let corners = ring.len().saturating_sub(1);
    if corners < 3 {
        return false;
    }
    let mut changes = 0;
    let mut ran_east = runs_east(ring[corners - 1], ring[corners]);
    for at in 0..corners {
        let (from, corner, to) = (ring[at], ring[at + 1], ring[(at + 1) % corners + 1]);
        if !turns_left(from, corner, to) {
            return false;
        }
        let runs = runs_east(from, corner);
        changes += usize::from(runs != ran_east);
        ran_east = runs;
    }
    // Each turn is less than half a round, so that a ring that goes round once heads east once and west once.
    changes == 2
}

/// An edge of a ring: its ends from west to east, and its place in the ring.
struct Edge {
    west: Coord<f64>,
    east: Coord<f64>,
    at: usize,
}

impl Edge {
    fn new(at: usize, from: Coord<f64>, to: Coord<f64>) -> Edge {
        let (west, east) = if from.x <= to.x { (from, to) } else { (to, from) };
        Edge { west, east, at }
    }

    fn heights_meet(&self, other: &Edge) -> bool {
        let south_to_north = |edge: &Edge| (edge.west.y.min(edge.east.y), edge.west.y.max(edge.east.y));
        let ((south, north), (other_south, other_north)) = (south_to_north(self), south_to_north(other));
        south <= other_north && other_south <= north
    }

    /// Whether both ends of the other edge lie on one side of this edge's line, none on it.
    fn has_on_one_side(&self, other: &Edge) -> bool {
        let (one, two) = (side(self.west, self.east, other.west), side(self.west, self.east, other.east));
        one == two && one != Orientation::Collinear
    }
}

fn side(from: Coord<f64>, to: Coord<f64>, at: Coord<f64>) -> Orientation {
    <f64 as GeoNum>::Ker::orient2d(from, to, at)
}

/// Whether a closed ring is simple. `false` may also mean that it was not looked into: repeated points, neighbours in one line that turn back.
fn meets_itself_nowhere(ring: &[Coord<f64>]) -> bool {
    let edges = ring.len().saturating_sub(1);
    if edges < 3 {
        return false;
    }
    let corner_is_plain = |at: usize| {
        let (before, corner, after) = (ring[at], ring[at + 1], ring[(at + 1) % edges + 1]);
        let onward = (corner.x - before.x) * (after.x - corner.x) + (corner.y - before.y) * (after.y - corner.y);
        corner != before && (onward > 0.0 || side(before, corner, after) != Orientation::Collinear)
    };
    if !(0..edges).all(corner_is_plain) {
        return false;
    }
    let mut sorted: Vec<Edge> = ring.windows(2).enumerate().map(|(at, ends)| Edge::new(at, ends[0], ends[1])).collect();
    sorted.sort_unstable_by(|a, b| a.west.x.total_cmp(&b.west.x));
    let apart = |a: &Edge, b: &Edge| {
        let between = a.at.abs_diff(b.at);
        // Neighbours share a corner, which was looked at; two edges that are not one line meet nowhere else.
        between == 1 || between == edges - 1 || !a.heights_meet(b) || a.has_on_one_side(b) || b.has_on_one_side(a)
    };
    sorted.iter().enumerate().all(|(at, edge)| {
        sorted[at + 1..].iter().take_while(|next| next.west.x <= edge.east.x).all(|next| apart(edge, next))
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use geo::{LineString, Polygon};
    use proptest::prelude::*;

    fn shape(points: &[(f64, f64)]) -> MultiPolygon<f64> {
        Polygon::new(LineString::from(points.to_vec()), Vec::new()).into()
    }

    #[test]
    fn plain_and_crooked_rings() {
        let plain = shape(&[(0.0, 0.0), (4.0, 0.0), (4.0, 1.0), (2.0, 0.5), (0.0, 3.0)]);
        assert!(meets_itself_nowhere(&plain.0[0].exterior().0));
        for (name, crooked) in [
            ("bow-tie", shape(&[(0.0, 0.0), (2.0, 2.0), (2.0, 0.0), (0.0, 2.0)])),
            ("spike", shape(&[(0.0, 0.0), (2.0, 0.0), (4.0, 0.0), (2.0, 0.0), (1.0, 2.0)])),
            ("spike at the start", shape(&[(4.0, 0.0), (2.0, 0.0), (1.0, 2.0), (0.0, 0.0), (2.0, 0.0)])),
            ("a corner on an edge", shape(&[(0.0, 0.0), (4.0, 0.0), (4.0, 4.0), (2.0, 0.0), (0.0, 4.0)])),
            ("a point twice", shape(&[(0.0, 0.0), (2.0, 0.0), (2.0, 0.0), (0.0, 2.0)])),
        ] {
            assert!(!meets_itself_nowhere(&crooked.0[0].exterior().0), "{name}");
            assert_eq!(is_valid(&crooked), crooked.is_valid(), "{name}");
        }
    }

    /// Rings of few whole-numbered places, each a part of its own, or with one in it as its hole: many are apart, many touch, cross or fold flat.
    fn rings() -> impl Strategy<Value = MultiPolygon<f64>> {
        let ring = |least: i32, most: i32| proptest::collection::vec((least..most, least..most), 3..6);
        let line =
            |points: &[(i32, i32)]| LineString::from_iter(points.iter().map(|&(x, y)| (f64::from(x), f64::from(y))));
        let alone = ring(0, 16).prop_map(move |shell| Polygon::new(line(&shell), Vec::new()));
        let frame =
            (-3i32..3, 14i32..20).prop_map(|(low, high)| vec![(low, low), (high, low), (high, high), (low, high)]);
        let holed = (frame, ring(0, 16)).prop_map(move |(shell, hole)| Polygon::new(line(&shell), vec![line(&hole)]));
        prop_oneof![proptest::collection::vec(alone, 2..4), holed.prop_map(|one| vec![one])].prop_map(MultiPolygon)
    }

    /// A square with a hole and an island in it, all apart; each moved onto another is not.
    #[test]
    fn rings_that_do_not_meet_are_valid_where_they_belong() {
        let square =
            |x: f64, side: f64| LineString::from(vec![(x, x), (x + side, x), (x + side, x + side), (x, x + side)]);
        let (shell, hole, island) = (square(0.0, 10.0), square(1.0, 8.0), square(2.0, 6.0));
        let of = |a: &LineString<f64>, b: &LineString<f64>, c: &LineString<f64>| {
            MultiPolygon(vec![Polygon::new(a.clone(), vec![b.clone()]), Polygon::new(c.clone(), Vec::new())])
        };
        assert!(is_apart(&of(&shell, &hole, &island)));
        for wrong in [
            of(&hole, &shell, &island),
            of(&shell, &island, &hole),
            of(&shell, &hole, &hole),
            of(&shell, &hole, &square(1.5, 8.0)),
        ] {
            assert!(!is_apart(&wrong) && !is_valid(&wrong), "{wrong:?}");
        }
    }

    proptest! {
        /// What is said to be apart is valid by the check of the `geo` crate. (That one ends in a panic on some that are not, where its own assertions
        /// are on.)
        #[test]
        fn rings_that_are_apart_pass_the_full_check(shape in rings()) {
            prop_assert!(!is_apart(&shape) || shape.is_valid());
        }

        /// Against the validity check of the `geo` crate, on rings of few whole-numbered places, where touching is common.
        #[test]
        fn agrees_with_the_full_check(points in proptest::collection::vec((0i32..6, 0i32..6), 3..9)) {
            let points: Vec<(f64, f64)> = points.into_iter().map(|(x, y)| (f64::from(x), f64::from(y))).collect();
            let shape = shape(&points);
            prop_assert_eq!(is_valid(&shape), shape.is_valid());
        }

        /// A star goes round several times, though it turns left at every corner.
        #[test]
        fn stars_and_their_convex_hulls_are_told_apart(points in 3usize..30, skip in 1usize..30, turned in 0.0f64..6.0) {
            let at = |n: usize| {
                let angle = turned + n as f64 * skip as f64 / points as f64 * std::f64::consts::TAU;
                (angle.cos(), angle.sin())
            };
            let star = shape(&(0..points).map(at).collect::<Vec<_>>());
            prop_assert_eq!(is_valid(&star), star.is_valid());
        }
    }
}
