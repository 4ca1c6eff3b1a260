//! Many places close together, as the corners of drawn outlines are: a surface laid through a few of PROJ's answers gives the rest.
//!
//! PROJ has the last word: the surface is held against more of its answers before it is used, and a place that it would leave within
//! [`GUARD_DEG`] of where rounding turns is asked of PROJ. What is rounded is therefore what PROJ's own answer rounds to.
//!
//! # Source
//! Interpolation of second degree in each direction through nine places (Newton, common knowledge). On 200 m it is off by less than 1e-12
//! degree up to latitude 70 (measured against PROJ 9.1 in ten projections), and by more towards the poles, where the comparison refuses it. The limits here
//! are the program's own decisions.

use super::projector::{NOWHERE, Projector};
use geo::Coord;

/// Half the side of a patch, metres (the unit of what goes in).
const REACH_M: f64 = 100.0;
/// A patch takes the place of so many questions at least, or is not worth its own thirteen.
const LEAST_PLACES: usize = 32;
/// The surface may be this far off PROJ where the two are compared, degrees: a micrometre.
const AGREES_DEG: f64 = 1e-11;
/// A place this near to where rounding turns is PROJ's, degrees.
const GUARD_DEG: f64 = 1e-10;
/// Beyond, longitudes jump at the antimeridian and meridians meet at the poles.
const MOST_LON_DEG: f64 = 170.0;
/// As for longitudes.
const MOST_LAT_DEG: f64 = 85.0;
/// Where surface and PROJ are compared, in parts of the reach: away from the nine places, where it is worst.
const COMPARED_AT: [(f64, f64); 4] = [(0.58, 0.58), (-0.58, 0.58), (0.58, -0.58), (-0.58, -0.58)];

/// PROJ takes what lies within a millimetre of the middle of some planes for the middle itself; a patch keeps this far from it, metres.
const FROM_ORIGIN_M: f64 = 1.0;

/// Steps of a PROJ pipeline without leaps but at the middle of a plane: formulas on an ellipsoid. A step that reads a grid is none of them.
const SMOOTH_STEPS: [&str; 22] = [
    "pipeline",
    "noop",
    "axisswap",
    "unitconvert",
    "longlat",
    "cart",
    "helmert",
    "molobadekas",
    "push",
    "pop",
    "utm",
    "tmerc",
    "lcc",
    "laea",
    "aea",
    "merc",
    "webmerc",
    "omerc",
    "somerc",
    "stere",
    "sterea",
    "krovak",
];

impl Projector {
    /// As [`Projector::forward_all`] from metres to degrees, for answers that are then rounded to so many decimals: there they are the same.
    pub fn forward_rounded(&self, places: &mut [Coord<f64>], decimals: u32) {
        if !is_smooth(&self.operation().pipeline) {
            self.forward_all(places);
            return;
        }
        let origin = false_origin(&self.operation().pipeline);
        let rounding = Rounding { per_degree: 10_f64.powi(decimals.cast_signed()) };
        let mut rest = places;
        while let [first, ..] = rest {
            let centre = *first;
            let close =
                |place: &Coord<f64>| (*place - centre).x.abs() <= REACH_M && (*place - centre).y.abs() <= REACH_M;
            let together = rest.iter().take_while(|place| close(place)).count().max(1);
            let (run, after) = std::mem::take(&mut rest).split_at_mut(together);
            let worth_it = run.len() >= LEAST_PLACES && !reaches(centre, origin);
            match worth_it.then(|| Patch::around(self, centre)).flatten() {
                Some(patch) => run.iter_mut().for_each(|place| *place = patch.rounded(self, *place, rounding)),
                None => drop(self.forward_all(run)),
            }
            rest = after;
        }
    }
}

/// Whether all steps of a pipeline are among [`SMOOTH_STEPS`].
pub(super) fn is_smooth(pipeline: &str) -> bool {
    let mut steps = stated(pipeline, "proj=");
    !pipeline.contains("grids=") && !pipeline.contains("init=") && steps.all(|step| SMOOTH_STEPS.contains(&step))
}

/// Where the middle of the plane lies that a pipeline leads out of, metres.
fn false_origin(pipeline: &str) -> Coord<f64> {
    let metres = |name| stated(pipeline, name).next().and_then(|number| number.parse().ok()).unwrap_or(0.0);
    Coord { x: metres("x_0="), y: metres("y_0=") }
}

/// What a pipeline's text states under a name (`proj=`), in order.
fn stated<'a>(pipeline: &'a str, name: &'a str) -> impl Iterator<Item = &'a str> {
    pipeline.split_whitespace().filter_map(move |word| word.trim_start_matches('+').strip_prefix(name))
}

/// Whether a patch around a centre comes near the middle of its plane.
fn reaches(centre: Coord<f64>, origin: Coord<f64>) -> bool {
    let off = centre - origin;
    off.x.abs().max(off.y.abs()) <= REACH_M + FROM_ORIGIN_M
}

#[derive(Clone, Copy)]
struct Rounding {
    per_degree: f64,
}

impl Rounding {
    /// Whether a value rounds as every other within [`GUARD_DEG`] of it.
    fn is_settled(self, degrees: f64) -> bool {
        let scaled = degrees * self.per_degree;
        (scaled - scaled.floor() - 0.5).abs() > GUARD_DEG * self.per_degree
    }
}

/// The surface around a place.
struct Patch {
    centre: Coord<f64>,
    /// Factors of the powers of the way east (columns) and north (rows), in parts of the reach.
    factors: [[Coord<f64>; 3]; 3],
}

impl Patch {
    /// `None` where PROJ does not answer, or not as the surface does.
    fn around(projector: &Projector, centre: Coord<f64>) -> Option<Patch> {
        let asked = |east: f64, north: f64| {
            let place = centre + Coord { x: east, y: north } * REACH_M;
            let answer = projector.forward(place.x, place.y).ok()?;
            (answer.x.abs() < MOST_LON_DEG && answer.y.abs() < MOST_LAT_DEG).then_some(answer)
        };
        let row = |north: f64| Some(through([asked(-1.0, north)?, asked(0.0, north)?, asked(1.0, north)?]));
        let [south, middle, north] = [row(-1.0)?, row(0.0)?, row(1.0)?];
        let columns = [0, 1, 2].map(|column| through([south[column], middle[column], north[column]]));
        let patch = Patch { centre, factors: [0, 1, 2].map(|row| columns.map(|column| column[row])) };
        let agrees = |&(east, north): &(f64, f64)| {
            let off = asked(east, north).map(|answer| answer - patch.at(east, north));
            off.is_some_and(|off| off.x.abs() <= AGREES_DEG && off.y.abs() <= AGREES_DEG)
        };
        COMPARED_AT.iter().all(agrees).then_some(patch)
    }

    fn rounded(&self, projector: &Projector, place: Coord<f64>, rounding: Rounding) -> Coord<f64> {
        let way = (place - self.centre) / REACH_M;
        let found = self.at(way.x, way.y);
        if rounding.is_settled(found.x) && rounding.is_settled(found.y) {
            return found;
        }
        projector.forward(place.x, place.y).unwrap_or(NOWHERE)
    }

    /// The surface so many parts of the reach to the east and north of the centre.
    fn at(&self, east: f64, north: f64) -> Coord<f64> {
        let [low, middle, high] = self.factors.map(|[fixed, slope, bend]| (bend * east + slope) * east + fixed);
        (high * north + middle) * north + low
    }
}

/// The factors of 1, t and t² of the curve through three values at t = -1, 0 and 1.
fn through([before, at, after]: [Coord<f64>; 3]) -> [Coord<f64>; 3] {
    [at, (after - before) / 2.0, (after + before) / 2.0 - at]
}

#[cfg(test)]
#[path = "patch_tests.rs"]
mod tests;
