//! Which shift of a whole line is the shortest that keeps a given distance from every trunk.
//!
//! Along one bearing the answer is exact: for every trunk and segment the shifts that come too near are one interval in closed form
//! (`geometry::centre_line::shifts_within`), and the first shift outside all of them is sought. Bearings are the ones straight off
//! each segment and each point of the line as seen from the trunks to be left, which hold the shortest shift where only one piece of
//! line and one trunk bind, and [`BEARINGS`] more all around, the best of which are narrowed down. Where two trunks bind the result
//! can so be a few millimetres longer than the shortest. The order of trees and segments decides ties: the same every time.

use crate::geometry::centre_line::shifts_within;
use crate::model::service::Shift;
use geo::Coord;
use std::f64::consts::TAU;

/// Bearings all around that are tried: every 5 degrees.
const BEARINGS: usize = 72;
/// Bearings that are narrowed down.
const NARROWED: usize = 3;
/// Halvings of the step between bearings: 5 degrees to under 0.001.
const HALVINGS: usize = 13;
/// Shifts handed out, shortest first, for the caller to hold against every measure.
const HANDED_OUT: usize = 6;
/// Two shifts nearer to each other are one, metres.
const SAME_SHIFT_M: f64 = 0.001;
/// Segments of a bent line whose own bearings are tried.
const OWN_BEARINGS_OF: usize = 64;

/// What a line must keep its distance from.
pub(super) struct Obstacle<'a> {
    /// Trunk centre.
    pub place: Coord<f64>,
    /// Least distance from it to the centre line, metres.
    pub keep_m: f64,
    /// The line's segments that a shift could bring so near.
    pub segments: &'a [(Coord<f64>, Coord<f64>)],
    /// Whether it is to be left: its bearings are tried first.
    pub left: bool,
}

/// The shortest shifts of up to `within_m` that keep every distance, shortest first; empty where there is none.
pub(super) fn shortest_shifts(obstacles: &[Obstacle<'_>], within_m: f64) -> Vec<Shift> {
    let search = Search { obstacles, within_m };
    let around = (0..BEARINGS).map(|step| step as f64 / BEARINGS as f64 * TAU);
    let mut found: Vec<(f64, f64)> =
        search.own_bearings().into_iter().chain(around).filter_map(|bearing| search.first_free(bearing)).collect();
    sort(&mut found);
    let narrowed: Vec<(f64, f64)> = found.iter().take(NARROWED).map(|&one| search.narrowed(one)).collect();
    found.extend(narrowed);
    sort(&mut found);
    distinct(&found)
}

/// Shortest first, then by bearing.
fn sort(found: &mut [(f64, f64)]) {
    found.sort_by(|a, b| a.0.total_cmp(&b.0).then(a.1.total_cmp(&b.1)));
}

fn distinct(sorted: &[(f64, f64)]) -> Vec<Shift> {
    let mut shifts: Vec<Shift> = Vec::new();
    for &(distance_m, bearing) in sorted {
        let by = way(bearing) * distance_m;
        if shifts.iter().all(|known| (known.by.x - by.x).hypot(known.by.y - by.y) >= SAME_SHIFT_M) {
            shifts.push(Shift { by, distance_m, bearing_deg: bearing.to_degrees() });
        }
        if shifts.len() == HANDED_OUT {
            break;
        }
    }
    shifts
}

struct Search<'a> {
    obstacles: &'a [Obstacle<'a>],
    within_m: f64,
}

impl Search<'_> {
    /// Straight off each segment, and away from the trunk at each point, for the trunks to be left.
    fn own_bearings(&self) -> Vec<f64> {
        let mut bearings = Vec::new();
        for obstacle in self.obstacles.iter().filter(|obstacle| obstacle.left) {
            for &(p, q) in obstacle.segments.iter().take(OWN_BEARINGS_OF) {
                let along = q - p;
                let across = Coord { x: along.y, y: -along.x };
                bearings
                    .extend([across, -across, p - obstacle.place, q - obstacle.place].into_iter().filter_map(bearing));
            }
        }
        bearings
    }

    /// The first shift along a bearing that keeps every distance, with the bearing.
    fn first_free(&self, bearing: f64) -> Option<(f64, f64)> {
        let way = way(bearing);
        let near = self.obstacles.iter().flat_map(|obstacle| {
            obstacle
                .segments
                .iter()
                .filter_map(move |&segment| shifts_within(segment, way, obstacle.place, obstacle.keep_m))
        });
        let mut near: Vec<(f64, f64)> = near.filter(|&(from, to)| to > 0.0 && from < self.within_m).collect();
        near.sort_by(|a, b| a.0.total_cmp(&b.0));
        let mut shift_m = 0.0;
        for (from, to) in near {
            if from >= shift_m {
                break;
            }
            shift_m = to.max(shift_m);
        }
        (shift_m <= self.within_m).then_some((shift_m, bearing))
    }

    /// A shorter shift near a bearing, where there is one.
    fn narrowed(&self, mut best: (f64, f64)) -> (f64, f64) {
        let mut step = TAU / BEARINGS as f64 / 2.0;
        for _ in 0..HALVINGS {
            for bearing in [best.1 - step, best.1 + step] {
                let found = self.first_free(bearing.rem_euclid(TAU));
                best = found.filter(|found| found.0 < best.0).unwrap_or(best);
            }
            step /= 2.0;
        }
        best
    }
}

/// The unit vector of a bearing, radians clockwise from north.
fn way(bearing: f64) -> Coord<f64> {
    Coord { x: bearing.sin(), y: bearing.cos() }
}

/// The bearing of a vector, 0 to a whole turn; `None` for one without length.
fn bearing(vector: Coord<f64>) -> Option<f64> {
    (vector.x != 0.0 || vector.y != 0.0).then(|| vector.x.atan2(vector.y).rem_euclid(TAU))
}

#[cfg(test)]
#[path = "service_shift_tests.rs"]
mod tests;
