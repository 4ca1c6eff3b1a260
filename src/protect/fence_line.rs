//! An outline -> a line that can be built: corners at least [`LEAST_SIDE_M`] apart, by moves that only give ground away.
//!
//! Nothing is ever added: a short side goes by cutting off a convex corner; between two reflex corners by lengthening the sides next to it until they
//! meet, or where they do not, by lengthening the short side itself. Each move is made only where the ground that it gives away holds no other
//! corner, so that the line never meets itself. What cannot be mended so is told, not forced.

use geo::{Coord, LineString, Polygon};

/// Corners of a fence are no closer than this, metres: common practice, no source.
pub(super) const LEAST_SIDE_M: f64 = 0.5;
/// A corner that lies this near the line between its neighbours is none, metres.
const STRAIGHT_M: f64 = 1e-5;
/// So many corners at most are taken out between two that stay: the rest goes as short sides do.
const LONGEST_RUN: usize = 256;
/// Sides next to a short one are lengthened by no more than this, metres.
const LONGEST_REACH_M: f64 = 2.0;

/// The line, or `None` where not all short sides can be mended.
pub(super) fn buildable(outline: &Polygon<f64>) -> Option<Polygon<f64>> {
    let rings = std::iter::once(outline.exterior()).chain(outline.interiors());
    let mut line = Line { rings: rings.map(corners_of).collect() };
    let corners: usize = line.rings.iter().map(Vec::len).sum();
    line.rings.iter_mut().for_each(straighten);
    for _ in 0..=2 * corners {
        match line.shortest() {
            None => return line.polygon(),
            Some(side) => line.mend(side)?,
        }
    }
    None
}

/// Corners of rings that have the ground on their left, the closing one left out.
struct Line {
    rings: Vec<Vec<Coord<f64>>>,
}

/// One side: its ring, and the corner at which it begins.
#[derive(Clone, Copy)]
struct Side {
    ring: usize,
    at: usize,
}

/// What a move puts in place of which corners, and the ground that it gives away.
struct Move {
    /// First corner that is replaced.
    from: usize,
    /// How many.
    count: usize,
    /// What stands there instead.
    instead: Vec<Coord<f64>>,
    /// Triangles of ground given away.
    given: Vec<[Coord<f64>; 3]>,
}

impl Move {
    fn area_m2(&self) -> f64 {
        self.given.iter().map(|[a, b, c]| cross(*b - *a, *c - *a).abs() / 2.0).sum()
    }
}

impl Line {
    /// The shortest side that is too short; the first of equals.
    fn shortest(&self) -> Option<Side> {
        let mut found: Option<(f64, Side)> = None;
        for (ring, corners) in self.rings.iter().enumerate() {
            for at in 0..corners.len() {
                let side_m = length(corners[(at + 1) % corners.len()] - corners[at]);
                if side_m < LEAST_SIDE_M - 1e-9 && found.is_none_or(|(shortest_m, _)| side_m < shortest_m) {
                    found = Some((side_m, Side { ring, at }));
                }
            }
        }
        found.map(|(_, side)| side)
    }

    /// Mends a short side by the move that gives away least.
    fn mend(&mut self, side: Side) -> Option<()> {
        let corners = &self.rings[side.ring];
        if corners.len() < 4 {
            return None;
        }
        let mut moves: Vec<Move> = [self.cut(side, 0), self.cut(side, 1), self.meet(side), self.lengthen(side)]
            .into_iter()
            .flatten()
            .collect();
        moves.sort_by(|a, b| a.area_m2().total_cmp(&b.area_m2()));
        let chosen = moves.into_iter().find(|one| self.is_free(side.ring, one))?;
        self.make(side.ring, &chosen);
        Some(())
    }

    fn corner(&self, side: Side, ahead: isize) -> Coord<f64> {
        let corners = &self.rings[side.ring];
        corners[(side.at.cast_signed() + ahead).rem_euclid(corners.len().cast_signed()).cast_unsigned()]
    }

    /// Cuts off the convex corner at the beginning (0) or the end (1) of a side.
    fn cut(&self, side: Side, end: isize) -> Option<Move> {
        let [before, at, after] = [-1, 0, 1].map(|ahead| self.corner(side, end + ahead));
        let convex = cross(at - before, after - at) >= 0.0 || is_straight(before, at, after);
        let count = self.rings[side.ring].len();
        let from = (side.at + end.cast_unsigned()) % count;
        convex.then(|| Move { from, count: 1, instead: Vec::new(), given: vec![[before, at, after]] })
    }

    /// Lengthens the sides before and after a side between reflex corners until they meet.
    fn meet(&self, side: Side) -> Option<Move> {
        let [p, a, b, q] = [-1, 0, 1, 2].map(|ahead| self.corner(side, ahead));
        let (along, back) = (a - p, b - q);
        if cross(along, b - a) >= 0.0 || cross(b - a, q - b) >= 0.0 {
            return None;
        }
        let turn = cross(along, back);
        let (before, after) = (cross(b - a, back) / turn, cross(b - a, along) / turn);
        let meets = turn.abs() > 1e-9 && before > 0.0 && after > 0.0;
        let reach_m = (before * length(along)).max(after * length(back));
        let at = a + along * before;
        (meets && reach_m < LONGEST_REACH_M).then(|| Move {
            from: side.at,
            count: 2,
            instead: vec![at],
            given: vec![[a, b, at]],
        })
    }

    /// Lengthens a side between reflex corners at both ends.
    fn lengthen(&self, side: Side) -> Option<Move> {
        let [p, a, b, q] = [-1, 0, 1, 2].map(|ahead| self.corner(side, ahead));
        if cross(a - p, b - a) >= 0.0 || cross(b - a, q - b) >= 0.0 {
            return None;
        }
        let middle = (a + b) / 2.0;
        let half = (b - a) * (0.5 * (LEAST_SIDE_M + 1e-6) / length(b - a));
        let (start, end) = (middle - half, middle + half);
        let given = vec![[p, a, start], [b, q, end]];
        (length(b - a) > 1e-6).then(|| Move { from: side.at, count: 2, instead: vec![start, end], given })
    }

    /// Whether the ground that is given away holds no corner of any ring but those of its own triangles.
    fn is_free(&self, ring: usize, one: &Move) -> bool {
        let corners = &self.rings[ring];
        if corners.len() - one.count + one.instead.len() < 3 {
            return false;
        }
        let replaced: Vec<Coord<f64>> = (0..one.count).map(|k| corners[(one.from + k) % corners.len()]).collect();
        one.given.iter().all(|triangle| {
            let own = |c: &Coord<f64>| triangle.contains(c) || replaced.contains(c);
            self.rings.iter().flatten().filter(|c| !own(c)).all(|c| !holds(triangle, *c))
        })
    }

    fn make(&mut self, ring: usize, one: &Move) {
        let corners = &mut self.rings[ring];
        // The ring is turned so that what is replaced stands at its beginning: it may run over the end.
        corners.rotate_left(one.from);
        corners.splice(..one.count, one.instead.iter().copied());
        straighten_near(corners, one.instead.len());
    }

    fn polygon(&self) -> Option<Polygon<f64>> {
        let mut rings = self.rings.iter().map(|corners| LineString::from(corners.clone()));
        let shell = rings.next().filter(|shell| shell.0.len() >= 3)?;
        Some(Polygon::new(shell, rings.collect()))
    }
}

/// The corners of a ring, the closing one and repetitions left out.
fn corners_of(ring: &LineString<f64>) -> Vec<Coord<f64>> {
    let mut corners = ring.0.clone();
    corners.pop();
    corners.dedup_by(|a, b| length(*a - *b) < 1e-7);
    while corners.len() > 1 && length(corners[0] - corners[corners.len() - 1]) < 1e-7 {
        corners.pop();
    }
    corners
}

/// Takes out corners on a straight line: all that go between two that stay lie on the line between these.
fn straighten(corners: &mut Vec<Coord<f64>>) {
    // The leftmost corner, of several the lowest, lies between no others: it stays.
    let leftmost = (0..corners.len()).min_by(|&a, &b| {
        let (a, b) = (corners[a], corners[b]);
        a.x.total_cmp(&b.x).then(a.y.total_cmp(&b.y))
    });
    let Some(leftmost) = leftmost else { return };
    corners.rotate_left(leftmost);
    let (mut kept, mut last) = (vec![corners[0]], 0);
    for at in 1..corners.len() {
        let after = corners[(at + 1) % corners.len()];
        let between = &corners[last + 1..=at];
        if between.len() > LONGEST_RUN || !between.iter().all(|&corner| is_straight(corners[last], corner, after)) {
            kept.push(corners[at]);
            last = at;
        }
    }
    if kept.len() >= 3 {
        *corners = kept;
    }
}

/// Takes out corners on the line between their neighbours, around the first `count`.
fn straighten_near(corners: &mut Vec<Coord<f64>>, count: usize) {
    let back = 2.min(corners.len());
    corners.rotate_right(back);
    let mut at = 0;
    while at < count + 4 && corners.len() > 3 && at < corners.len() {
        let len = corners.len();
        if is_straight(corners[(at + len - 1) % len], corners[at], corners[(at + 1) % len]) {
            corners.remove(at);
        } else {
            at += 1;
        }
    }
}

/// Whether a corner lies on the line between its neighbours, between them.
fn is_straight(before: Coord<f64>, at: Coord<f64>, after: Coord<f64>) -> bool {
    let whole = after - before;
    let span_m = length(whole);
    let along = (at - before).x * whole.x + (at - before).y * whole.y;
    span_m > 0.0 && cross(at - before, whole).abs() / span_m < STRAIGHT_M && along >= 0.0 && along <= span_m * span_m
}

/// Whether a triangle, its edge included, holds a place.
fn holds(triangle: &[Coord<f64>; 3], place: Coord<f64>) -> bool {
    let [a, b, c] = *triangle;
    let sides = [cross(b - a, place - a), cross(c - b, place - b), cross(a - c, place - c)];
    sides.iter().all(|side| *side >= -1e-12) || sides.iter().all(|side| *side <= 1e-12)
}

fn cross(a: Coord<f64>, b: Coord<f64>) -> f64 {
    a.x * b.y - a.y * b.x
}

fn length(a: Coord<f64>) -> f64 {
    a.x.hypot(a.y)
}

#[cfg(test)]
#[path = "fence_line_tests.rs"]
mod tests;
