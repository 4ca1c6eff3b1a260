//! A closed line -> how many posts it takes: panels are straight, so that corners and tight bends ask for more than the length does.
//!
//! One post after another is set as far along as the spacing and the bend allow, from the sharpest corner on. Good, not always the fewest.

use geo::{Coord, Distance, Euclidean, Line, Point};

/// A panel may leave the line by so much, metres: common practice, no source.
pub(super) const OFF_LINE_M: f64 = 0.3;
/// A closed line needs at least this many posts.
const FEWEST_POSTS: u32 = 3;
/// Halvings of a side to find how far a panel may reach along it: to a thousandth of the side.
const HALVINGS: u32 = 10;
/// Lengths closer than this are equal, metres.
const SAME_M: f64 = 1e-9;

/// A side of a closed line.
#[derive(Debug, Clone, Copy)]
pub(super) struct Side {
    /// Where it begins; the next side begins where it ends.
    pub from: Coord<f64>,
    /// Its length, of the arc that it stands for, metres.
    pub length_m: f64,
}

/// A place on the line: a side, and the share of it that is passed, 0 to below 1.
#[derive(Debug, Clone, Copy)]
struct Place {
    side: usize,
    share: f64,
}

/// Posts of a closed line no further apart along it than `spacing_m`, and so that no straight panel leaves it by more than [`OFF_LINE_M`].
pub(super) fn posts(sides: &[Side], spacing_m: f64) -> u32 {
    let least = super::fence_measure::stretches(sides.iter().map(|side| side.length_m).sum(), spacing_m);
    if sides.len() < 3 {
        return least.max(FEWEST_POSTS);
    }
    let line = Closed { sides: from_the_sharpest(sides) };
    let (mut count, mut place) = (0, Place { side: 0, share: 0.0 });
    while place.side < line.sides.len() {
        place = line.next_post(place, spacing_m);
        count += 1;
    }
    least.max(count).max(FEWEST_POSTS)
}

/// The sides in order, beginning at the corner that turns most.
fn from_the_sharpest(sides: &[Side]) -> Vec<Side> {
    let count = sides.len();
    let way = |at: usize| sides[(at + 1) % count].from - sides[at % count].from;
    let turn = |at: usize| {
        let (before, after) = (way(at + count - 1), way(at));
        (before.x * after.y - before.y * after.x).atan2(before.x * after.x + before.y * after.y).abs()
    };
    let first = (0..count).max_by(|&a, &b| turn(a).total_cmp(&turn(b)).then(b.cmp(&a))).unwrap_or(0);
    sides.iter().cycle().skip(first).take(count).copied().collect()
}

struct Closed {
    sides: Vec<Side>,
}

impl Closed {
    fn corner(&self, side: usize) -> Coord<f64> {
        self.sides[side % self.sides.len()].from
    }

    fn at(&self, place: Place) -> Coord<f64> {
        let from = self.corner(place.side);
        from + (self.corner(place.side + 1) - from) * place.share
    }

    /// The furthest place for the next post; past the last side where the line is closed.
    fn next_post(&self, post: Place, spacing_m: f64) -> Place {
        let mut left_m = spacing_m + SAME_M;
        let (mut side, mut share) = (post.side, post.share);
        while side < self.sides.len() {
            let rest_m = self.sides[side].length_m * (1.0 - share);
            let whole = Place { side: side + 1, share: 0.0 };
            if rest_m <= left_m && self.keeps_to_the_line(post, whole) {
                (left_m, side, share) = (left_m - rest_m, side + 1, 0.0);
                continue;
            }
            let most = (share + left_m / self.sides[side].length_m).min(1.0);
            return self.along(post, side, share, most);
        }
        Place { side, share: 0.0 }
    }

    /// How far along a side, between two shares of it, a panel may reach. The first share holds.
    fn along(&self, post: Place, side: usize, mut holds: f64, most: f64) -> Place {
        let fits = |share: f64| self.keeps_to_the_line(post, Place { side, share });
        if fits(most) && most < 1.0 {
            return Place { side, share: most };
        }
        let mut fails = most;
        for _ in 0..HALVINGS {
            let middle = f64::midpoint(holds, fails);
            if fits(middle) { holds = middle } else { fails = middle }
        }
        Place { side, share: holds }
    }

    /// Whether the corners between two posts lie near the panel between them.
    fn keeps_to_the_line(&self, post: Place, next: Place) -> bool {
        let panel = Line::new(self.at(post), self.at(next));
        (post.side + 1..next.side + usize::from(next.share > 0.0))
            .all(|corner| Euclidean.distance(&Point(self.corner(corner)), &panel) <= OFF_LINE_M)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::f64::consts::PI;

    fn sides(corners: &[(f64, f64)]) -> Vec<Side> {
        let at = |(x, y): (f64, f64)| Coord { x, y };
        let next = corners.iter().cycle().skip(1);
        let side = |(&from, &to): (&(f64, f64), &(f64, f64))| {
            let way = at(to) - at(from);
            Side { from: at(from), length_m: way.x.hypot(way.y) }
        };
        corners.iter().zip(next).map(side).collect()
    }

    fn circle(radius_m: f64, count: u32) -> Vec<(f64, f64)> {
        let turn = |side: u32| 2.0 * PI * f64::from(side) / f64::from(count);
        (0..count).map(|side| (radius_m * turn(side).cos(), radius_m * turn(side).sin())).collect()
    }

    /// 24 ft: 150.80 ft of line, 16 posts within 10 ft, 19 within 8 ft; a panel of 10 ft leaves the arc by 100 / (8 x 24) = 0.52 ft.
    #[test]
    fn a_wide_circle_asks_for_no_more_than_its_length() {
        let wide = sides(&circle(7.3152, 90));
        assert_eq!((posts(&wide, 3.048), posts(&wide, 2.4384)), (16, 19));
    }

    /// Radius 1.5 m: a panel of `s` leaves the arc by 1.5 - sqrt(2.25 - s2 / 4), 0.3 m at s = 1.8, which is 2 x 1.5 x asin 0.6 = 1.93 m along it:
    /// 9.42 m take 5 panels, where the spacing of 3 m alone would ask for 4.
    #[test]
    fn a_tight_circle_asks_for_more() {
        let tight = posts(&sides(&circle(1.5, 90)), 3.0);
        assert_eq!(tight, 5);
        assert_eq!(posts(&sides(&circle(15.0, 90)), 3.0), 32);
    }

    /// A square of 4 m: 6 stretches of 3 m, but each side takes a post at its corner and one between.
    #[test]
    fn a_corner_has_a_post_near_it() {
        let square = posts(&sides(&[(0.0, 0.0), (4.0, 0.0), (4.0, 4.0), (0.0, 4.0)]), 3.0);
        assert!((7..=8).contains(&square), "{square}");
        assert_eq!(posts(&sides(&[(0.0, 0.0), (3.0, 0.0), (3.0, 3.0), (0.0, 3.0)]), 3.0), 4);
        // A triangle of 1 m would be three panels.
        assert_eq!(posts(&sides(&[(0.0, 0.0), (1.0, 0.0), (0.5, 0.8)]), 3.0), 3);
    }
}
