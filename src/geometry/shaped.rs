//! The root zone shaped by existing barriers: the ground within its radius that roots can reach.
//!
//! # The model
//! Roots do not cross a barrier, and go around its ends: the zone is the part of the disc, less the barriers, that hangs together with the trunk
//! (common sense, no source). A gap of any width lets them through. Of the two simple models (this one, and the ground in a straight line from
//! the trunk) it keeps more ground, so it protects more. A barrier on which the trunk centre stands cannot be right for that tree and is passed over.
//! With the lost area made up, the same area is reached where roots can go on: see `shaped_growth`.
//!
//! # Exact areas
//! The ground is a polygon with straight sides that goes a little beyond the circle, so the zone is a disc in a polygon, and everything is measured in the
//! closed forms of [`PreparedArea`]: no arc is drawn. Only what hangs together is decided on a polygon around the disc, up to 6 mm outside it.

use super::arc::around_disc;
use super::outline::{disc_outline, overlap_outline};
use super::overlay::overlay;
use super::prepared::PreparedArea;
use super::shaped_growth::grown;
use super::shaped_parts::Barriers;
use geo::bool_ops::{FillRule, OpType};
use geo::orient::{Direction, Orient};
use geo::{Contains, Coord, Distance, Euclidean, MapCoords, MultiPolygon, Point, Polygon};
use std::f64::consts::PI;

/// How far the polygon around a disc departs from the circle, metres.
const SAGITTA_M: f64 = 0.005;
/// How far outside the circle that polygon begins, so that rounding never cuts the disc, metres.
pub(super) const MARGIN_M: f64 = 0.001;
/// A disc that loses less than what prints as 0.0000 m2 is whole.
const LEAST_LOST_M2: f64 = 0.000_05;

/// A zone shaped by barriers: the part of the disc of `radius_m` on `ground`.
#[derive(Debug, Clone, PartialEq)]
pub struct Shaped {
    /// Valid ground, measuring CRS; goes a little beyond the disc.
    pub ground: MultiPolygon<f64>,
    /// Outer radius, metres: that of the disc, or greater where lost area is made up.
    pub radius_m: f64,
    /// Area, square metres.
    pub area_m2: f64,
    /// The largest radius was reached before all lost area was made up.
    pub capped: bool,
}

/// What barriers make of a disc.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct ShapedBy {
    /// `None` where they take nothing of it.
    pub shaped: Option<Shaped>,
    /// The centre stands on a barrier, which was passed over.
    pub over_trunk: bool,
}

impl Barriers {
    /// What the barriers make of the disc around a trunk.
    ///
    /// `near` lists the parts within `furthest_m` of the place, ascending. Where `furthest_m` is above `radius_m`, lost area is made up as far as that.
    pub fn shape(&self, near: &[u32], place: Coord<f64>, radius_m: f64, furthest_m: f64) -> ShapedBy {
        let (inner, under) = self.beside_and_under(near, place, radius_m);
        let over_trunk = !under.is_empty();
        if inner.is_empty() {
            return ShapedBy { shaped: None, over_trunk };
        }
        let (beside, _) = self.beside_and_under(near, place, furthest_m.max(radius_m));
        let parts: Vec<Polygon<f64>> = self
            .parts_of(&beside, near)
            .flat_map(|part| &part.0)
            .map(|polygon| polygon.map_coords(|c| c - place))
            .collect();
        let shaped = shape(&MultiPolygon(parts), radius_m, furthest_m);
        let back = |shaped: Shaped| Shaped { ground: shaped.ground.map_coords(|c| c + place), ..shaped };
        ShapedBy { shaped: shaped.map(back), over_trunk }
    }
}

/// The same around the origin; `None` where the disc keeps its area.
fn shape(barriers: &MultiPolygon<f64>, radius_m: f64, furthest_m: f64) -> Option<Shaped> {
    let (home, pockets) = reachable(barriers, radius_m)?;
    let disc_m2 = PI * radius_m * radius_m;
    let area_m2 = PreparedArea::new(&home).disc_area_m2(Coord::zero(), radius_m);
    if disc_m2 - area_m2 < LEAST_LOST_M2 {
        return None;
    }
    if furthest_m <= radius_m {
        return Some(Shaped { ground: home, radius_m, area_m2, capped: false });
    }
    Some(made_up(grown(&pockets, barriers, radius_m, furthest_m), radius_m, furthest_m))
}

/// The ground that hangs together with the origin, within a polygon around the disc, and what does not.
fn reachable(barriers: &MultiPolygon<f64>, radius_m: f64) -> Option<(MultiPolygon<f64>, MultiPolygon<f64>)> {
    let mut open = less(&MultiPolygon(vec![around(radius_m)]), barriers);
    let trunk = Point::new(0.0, 0.0);
    // Within the rounding of a barrier's edge the trunk may be in no part: the nearest is its own.
    let nearest = || {
        let distances_m = open.0.iter().map(|part| Euclidean.distance(part, &trunk));
        distances_m.enumerate().min_by(|a, b| a.1.total_cmp(&b.1)).map(|(number, _)| number)
    };
    let home = open.0.iter().position(|part| part.contains(&trunk)).or_else(nearest)?;
    Some((MultiPolygon(vec![open.0.remove(home)]), open))
}

/// A polygon that holds the disc around the origin.
pub(super) fn around(radius_m: f64) -> Polygon<f64> {
    around_disc(radius_m + MARGIN_M, SAGITTA_M)
}

/// Ground without what is taken; both may overlap themselves where they are wound anticlockwise.
pub(super) fn less(ground: &MultiPolygon<f64>, taken: &MultiPolygon<f64>) -> MultiPolygon<f64> {
    overlay(ground, taken, OpType::Difference, FillRule::Positive).orient(Direction::Default)
}

/// The least outer radius at which the ground holds the area of the disc. The area grows steadily with the radius, so halving finds it.
fn made_up(ground: MultiPolygon<f64>, radius_m: f64, furthest_m: f64) -> Shaped {
    let prepared = PreparedArea::new(&ground);
    let area_m2 = |radius_m: f64| prepared.disc_area_m2(Coord::zero(), radius_m);
    let wanted_m2 = PI * radius_m * radius_m;
    let most_m2 = area_m2(furthest_m);
    if most_m2 < wanted_m2 - LEAST_LOST_M2 {
        return Shaped { ground, radius_m: furthest_m, area_m2: most_m2, capped: true };
    }
    let (mut low_m, mut high_m) = (radius_m, furthest_m);
    for _ in 0..60 {
        let middle_m = 0.5 * (low_m + high_m);
        if area_m2(middle_m) < wanted_m2 { low_m = middle_m } else { high_m = middle_m }
    }
    let area_m2 = area_m2(high_m);
    Shaped { ground, radius_m: high_m, area_m2, capped: false }
}

/// The outline of a zone, within 1 cm: the disc, or what of it lies on the ground that shapes it.
pub fn zone_outline(centre: Coord<f64>, radius_m: f64, ground: Option<&MultiPolygon<f64>>) -> MultiPolygon<f64> {
    match ground {
        None => disc_outline(centre, radius_m).into(),
        Some(ground) => overlap_outline(&[ground], centre, radius_m),
    }
}

#[cfg(test)]
#[path = "shaped_tests.rs"]
mod tests;
