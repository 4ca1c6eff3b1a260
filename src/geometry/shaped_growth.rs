//! Where a zone that barriers have cut down may grow beyond its disc, to make up the lost area.
//!
//! # The model
//! From every stretch of the circle that the zone reaches, straight outwards from the trunk, up to the first barrier (common sense, no source).
//! Nothing inside the disc changes, so the zone never comes nearer to the trunk than its disc did, but at the barriers themselves. Going straight outwards the
//! area grows steadily with the radius; growing around corners it would jump where a new way opens, and could not be kept.

use super::edge::{angle, edge_distance_squared, length};
use super::overlay::overlay;
use super::shaped::{MARGIN_M, around, less};
use geo::bool_ops::{FillRule, OpType};
use geo::orient::{Direction, Orient};
use geo::{Area, Coord, LineString, LinesIter, MultiPolygon, Polygon};

/// An edge that is seen under more than this from the trunk is cut in two before it throws its shadow, radians.
const WIDEST: f64 = 0.5;
/// How far beyond the largest radius shadows reach, as a share of it: a chord of [`WIDEST`] stays outside it.
const BEYOND: f64 = 1.25;
/// Parts of the ground smaller than this are rounding, square metres.
const LEAST_PART_M2: f64 = 1e-4;

/// The ground of the zone and where it may grow as far as `furthest_m`, around the origin; `pockets` is what barriers cut off within the disc.
pub(super) fn grown(
    pockets: &MultiPolygon<f64>,
    barriers: &MultiPolygon<f64>,
    radius_m: f64,
    furthest_m: f64,
) -> MultiPolygon<f64> {
    let largest = MultiPolygon(vec![around(furthest_m)]);
    let barriers = overlay(&largest, barriers, OpType::Intersection, FillRule::Positive);
    let further = less(&barriers, &MultiPolygon(vec![around(radius_m)]));
    // What lies outwards of the pockets' stretches of the circle, and of barriers at the circle and beyond.
    let at_circle = |from: Coord<f64>, to: Coord<f64>| {
        let nearest_m = radius_m + 0.5 * MARGIN_M;
        edge_distance_squared(from, to) >= nearest_m * nearest_m
    };
    let stretches = pockets.lines_iter().filter(|edge| at_circle(edge.start, edge.end)).chain(further.lines_iter());
    let mut taken: Vec<Polygon<f64>> = barriers.orient(Direction::Default).0;
    taken.extend(pockets.iter().cloned());
    for edge in stretches {
        shadow(edge.start, edge.end, BEYOND * furthest_m, &mut taken);
    }
    let mut ground = less(&largest, &MultiPolygon(taken));
    // Rounding leaves cracks between what was taken; they are no ground.
    ground.0.retain(|part| part.unsigned_area() > LEAST_PART_M2);
    ground
}

/// What lies behind an edge as seen from the origin, as far as `reach_m`, anticlockwise.
fn shadow(from: Coord<f64>, to: Coord<f64>, reach_m: f64, shadows: &mut Vec<Polygon<f64>>) {
    let turn = angle(from, to);
    if turn.abs() > WIDEST {
        let middle = (from + to) * 0.5;
        shadow(from, middle, reach_m, shadows);
        return shadow(middle, to, reach_m, shadows);
    }
    // An edge that points at the trunk has nothing behind it that its neighbours have not.
    if turn == 0.0 {
        return;
    }
    let (right, left) = if turn > 0.0 { (from, to) } else { (to, from) };
    let far = |point: Coord<f64>| point * (reach_m / length(point));
    shadows.push(Polygon::new(LineString(vec![right, far(right), far(left), left]), Vec::new()));
}
