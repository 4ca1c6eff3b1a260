//! The open part of a root zone and how far a sprinkler throws -> places that cover it, and the share that they reach.
//!
//! The zone is strewn with points on a hexagonal lattice. Places are picked one after another from a coarser part of the same lattice, each
//! where it reaches most points that none has reached yet, until [`ENOUGH`] of them are reached; where none of those places reaches what is
//! left, any point of the lattice will do. Places stand on open ground within the zone. Good, not the fewest possible.

use geo::Coord;

/// Share of the points that has to be reached. More than the 95 % asked for, so that the area itself is above 95 %: a test compares.
pub const ENOUGH: f64 = 0.97;

/// Where the water has to go.
pub struct Ground<'a> {
    /// Trunk centre.
    pub centre: Coord<f64>,
    /// Radius of the root zone, metres.
    pub radius_m: f64,
    /// Ground this near the trunk centre need not be reached, and no sprinkler stands on it, metres.
    pub dry_m: f64,
    /// Whether a point lies on open ground.
    pub open: &'a dyn Fn(Coord<f64>) -> bool,
    /// Whether a point is watered with this tree and not with another.
    pub own: &'a dyn Fn(Coord<f64>) -> bool,
}

/// Sprinkler places.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Places {
    /// In the order in which they were picked.
    pub places: Vec<Coord<f64>>,
    /// Share of the wanted ground that they reach, 0 to 1; 1 where nothing is wanted.
    pub covered: f64,
    /// Share of the open points that are watered with this tree, 0 to 1; 1 where none is open.
    pub own: f64,
}

/// A point of the lattice.
struct Point {
    at: Coord<f64>,
    row: i32,
    coarse: bool,
}

/// Points of the coarse lattice are this many steps apart.
const COARSE: i32 = 2;

/// Finds the places. `throw_m` is at least half a metre.
pub fn sprinkler_places(ground: &Ground<'_>, throw_m: f64) -> Places {
    let step_m = (ground.radius_m / 11.0).min(throw_m / 4.0);
    let (points, open) = lattice(ground, step_m);
    let own = if open == 0 { 1.0 } else { points.len() as f64 / open as f64 };
    if points.is_empty() {
        return Places { covered: 1.0, own, ..Places::default() };
    }
    let near = Near::new(&points, throw_m);
    let mut reached = vec![false; points.len()];
    let mut gain: Vec<u32> = (0..points.len()).map(|one| near.of(one, &points).count() as u32).collect();
    let enough = (ENOUGH * points.len() as f64).ceil() as usize;
    let (mut done, mut picked) = (0, Vec::new());
    while done < enough {
        let best = |coarse: bool| {
            let candidates = (0..points.len()).filter(|&one| !coarse || points[one].coarse);
            candidates.max_by_key(|&one| (gain[one], std::cmp::Reverse(one))).filter(|&one| gain[one] > 0)
        };
        // Every point that is left reaches at least itself.
        let Some(place) = best(true).or_else(|| best(false)) else { break };
        picked.push(points[place].at);
        let newly: Vec<usize> = near.of(place, &points).filter(|&one| !reached[one]).collect();
        for one in newly {
            reached[one] = true;
            done += 1;
            near.of(one, &points).for_each(|other| gain[other] -= 1);
        }
    }
    Places { places: picked, covered: done as f64 / points.len() as f64, own }
}

/// The open points that are watered with this tree, row by row, and how many points are open in all.
fn lattice(ground: &Ground<'_>, step_m: f64) -> (Vec<Point>, usize) {
    let row_m = step_m * 3.0f64.sqrt() / 2.0;
    #[expect(clippy::cast_possible_truncation, reason = "a zone over a step, some hundreds")]
    let reach = (ground.radius_m / row_m).ceil() as i32 + 1;
    let (mut points, mut open) = (Vec::new(), 0);
    for row in -reach..=reach {
        // Odd rows stand half a step further on.
        let shift = if row.rem_euclid(2) == 1 { 0.5 } else { 0.0 };
        for column in -reach..=reach {
            let offset = Coord { x: (f64::from(column) + shift) * step_m, y: f64::from(row) * row_m };
            let distance_m = offset.x.hypot(offset.y);
            if distance_m > ground.radius_m || distance_m < ground.dry_m {
                continue;
            }
            let at = ground.centre + offset;
            if !(ground.open)(at) {
                continue;
            }
            open += 1;
            if (ground.own)(at) {
                let coarse = row.rem_euclid(COARSE) == 0 && column.rem_euclid(COARSE) == 0;
                points.push(Point { at, row, coarse });
            }
        }
    }
    (points, open)
}

/// Finds the points within the throw of one: points are sorted by row, then along it.
struct Near {
    throw_m: f64,
    /// First point of each row, and one past the last.
    starts: Vec<(i32, usize)>,
}

impl Near {
    fn new(points: &[Point], throw_m: f64) -> Near {
        let mut starts: Vec<(i32, usize)> = Vec::new();
        for (at, point) in points.iter().enumerate() {
            if starts.last().is_none_or(|&(row, _)| row != point.row) {
                starts.push((point.row, at));
            }
        }
        Near { throw_m, starts }
    }

    fn of<'a>(&'a self, one: usize, points: &'a [Point]) -> impl Iterator<Item = usize> + 'a {
        let centre = points[one].at;
        let throw_m = self.throw_m;
        let rows = self.starts.iter().enumerate().map(move |(index, &(_, first))| {
            let end = self.starts.get(index + 1).map_or(points.len(), |&(_, next)| next);
            (first, end)
        });
        rows.flat_map(move |(first, end)| {
            let dy = points[first].at.y - centre.y;
            let half = throw_m * throw_m - dy * dy;
            let half_m = if half < 0.0 { -1.0 } else { half.sqrt() };
            let row = &points[first..end];
            let from = row.partition_point(|point| point.at.x < centre.x - half_m);
            let to = row.partition_point(|point| point.at.x <= centre.x + half_m);
            if half_m < 0.0 { 0..0 } else { first + from..first + to }
        })
    }
}

#[cfg(test)]
#[path = "sprinklers_tests.rs"]
mod tests;
