//! Turns a shape as drawn into valid ground, or says why it cannot.
//!
//! Finds rings that cross, touch or fold back on themselves, rings that overlap, holes outside their shell, parts inside one another, repeated
//! rings, and rings with too few points or no area. Orientation, repeated points and the choice of the first point are not errors.
//! A polygon arrives here with its rings closed; whether the file had left one open only the reader of the file can say.
//!
//! How it repairs, and why:
//! - Within one ring the non-zero rule: what the line goes round at all is ground. Both lobes of a bow-tie stay, and what a line
//!   goes round twice is not lost. Spikes vanish.
//! - Between the rings of one polygon the even-odd rule: a ring inside another is a hole, a ring outside it is another part (files
//!   that flatten their multipolygons do this), a ring in a hole is an island. A ring that repeats another of its polygon is left
//!   out; otherwise a hole equal to its shell would take the whole work away in silence.
//! - Between parts the union.
//!
//! Where in doubt ground stays: a work that counts can be looked at, one that vanished cannot.

use super::chain::{ChainTree, distinct_points};
use super::contacts::{Contact, Meeting, contacts};
use super::union::{fill, local_origin};
use geo::bool_ops::FillRule;
use geo::orient::{Direction, Orient};
use geo::{Area, BoundingRect, Coord, CoordsIter, InteriorPoint, LineString, MapCoords, MultiPolygon, Polygon};
use std::collections::HashSet;

/// Coordinates beyond this are no place on the ground in any projected system, metres.
pub const LARGEST_COORDINATE_M: f64 = 1e9;
/// The rebuilt shape has the same area as before up to this share, where rings only touch.
const SAME_AREA: f64 = 1e-9;

/// What came of a shape.
#[derive(Debug, Clone, PartialEq)]
pub enum Repair {
    /// It was valid; shells counter-clockwise, repeated points left out.
    Valid(MultiPolygon<f64>),
    /// It was not valid; this is its ground.
    Repaired {
        /// Valid, shells counter-clockwise, metres.
        shape: MultiPolygon<f64>,
        /// Area as the file's rings give it, shells less holes, square metres; at least 0.
        area_before_m2: f64,
        /// Area of `shape`, square metres.
        area_after_m2: f64,
        /// What was wrong, with a place for each kind of problem.
        what: String,
    },
    /// No ground could be made of it, for this reason.
    Failed(String),
}

/// Checks a shape and repairs it where needed.
pub fn repair(shape: &MultiPolygon<f64>) -> Repair {
    if let Some(bad) = shape.coords_iter().find(|c| !is_a_place(*c)) {
        return Repair::Failed(format!("a coordinate is not a place, got ({}, {})", bad.x, bad.y));
    }
    let (clean, mut problems) = without_degenerate_rings(shape);
    let Some(bounds) = clean.bounding_rect() else {
        return Repair::Failed("it has no ring with three different points".to_owned());
    };
    let tree = ChainTree::with_flat_rings(&clean);
    let contacts = contacts(&tree);
    problems.extend(contact_problems(&contacts));
    if contacts.is_empty() {
        problems.extend(nesting_problem(&tree));
        if problems.is_empty() {
            return Repair::Valid(clean.orient(Direction::Default));
        }
    }
    let origin = local_origin(bounds);
    let Some(rebuilt) = rebuild(&clean.map_coords(|c| c - origin)) else {
        return Repair::Failed(format!("its rings are too tangled to be told apart ({})", problems.join("; ")));
    };
    let (area_before_m2, area_after_m2) = (area_as_drawn_m2(shape), rebuilt.unsigned_area());
    let unchanged = (area_after_m2 - area_before_m2).abs() <= SAME_AREA * area_before_m2;
    if problems.is_empty() {
        if unchanged && same_rings(&rebuilt, &clean) {
            return Repair::Valid(clean.orient(Direction::Default));
        }
        problems.push(touch_problem(&contacts));
    }
    let what = problems.join("; ");
    if !(area_after_m2.is_finite() && area_after_m2 > 0.0) {
        return Repair::Failed(format!("no ground is left after the repair ({what})"));
    }
    if !is_clean(&rebuilt) {
        return Repair::Failed(format!("still not valid after the repair ({what})"));
    }
    let shape = rebuilt.map_coords(|c| c + origin).orient(Direction::Default);
    Repair::Repaired { shape, area_before_m2, area_after_m2, what }
}

/// Whether no ring meets another or itself, and every ring lies where it belongs: such a shape is valid. One of which rings only touch may be as well.
///
/// In near-linear time, where a look at each pair of rings would take long.
pub(super) fn is_apart(shape: &MultiPolygon<f64>) -> bool {
    let tree = ChainTree::with_flat_rings(shape);
    let rings: usize = shape.0.iter().map(|polygon| 1 + polygon.interiors().len()).sum();
    tree.rings.len() == rings && contacts(&tree).is_empty() && nesting_problem(&tree).is_none()
}

/// Whether both coordinates are finite and within [`LARGEST_COORDINATE_M`].
pub(super) fn is_a_place(point: Coord<f64>) -> bool {
    // A NaN fails both comparisons.
    point.x.abs() <= LARGEST_COORDINATE_M && point.y.abs() <= LARGEST_COORDINATE_M
}

/// Leaves out repeated points, and rings that have too few points or repeat another ring of their polygon.
fn without_degenerate_rings(shape: &MultiPolygon<f64>) -> (MultiPolygon<f64>, Vec<String>) {
    let mut too_few = 0;
    let mut repeated = 0;
    let mut polygons = Vec::new();
    for polygon in &shape.0 {
        let mut seen = HashSet::new();
        let mut rings = Vec::new();
        for ring in std::iter::once(polygon.exterior()).chain(polygon.interiors()) {
            let points = distinct_points(ring);
            if points.is_empty() {
                continue;
            }
            if different_points(&points) < 3 {
                too_few += 1;
            } else if !polygon.interiors().is_empty() && !seen.insert(signature(&points)) {
                repeated += 1;
            } else {
                rings.push(LineString(points));
            }
        }
        // A hole whose shell is gone becomes the shell: ground stays.
        if !rings.is_empty() {
            let shell = rings.remove(0);
            polygons.push(Polygon::new(shell, rings));
        }
    }
    let mut problems = Vec::new();
    if too_few > 0 {
        problems.push(format!("rings with fewer than three different points, left out: {too_few}"));
    }
    if repeated > 0 {
        problems.push(format!("rings that repeat another ring of their polygon, left out: {repeated}"));
    }
    (MultiPolygon(polygons), problems)
}

/// The number of different points, counted no further than three.
fn different_points(points: &[Coord<f64>]) -> usize {
    let first = points[0];
    match points.iter().find(|&&point| point != first) {
        None => 1,
        Some(&second) if points.iter().all(|&point| point == first || point == second) => 2,
        Some(_) => 3,
    }
}

/// The same for rings that differ only in their first point or direction.
fn signature(points: &[Coord<f64>]) -> Vec<(u64, u64)> {
    // Adding 0 turns -0 into 0.
    let bits: Vec<(u64, u64)> = points.iter().map(|c| ((c.x + 0.0).to_bits(), (c.y + 0.0).to_bits())).collect();
    let from_least = |mut bits: Vec<(u64, u64)>| {
        let least = (0..bits.len()).min_by_key(|&index| bits[index]).unwrap_or(0);
        bits.rotate_left(least);
        bits
    };
    let backwards = bits.iter().rev().copied().collect();
    from_least(bits).min(from_least(backwards))
}

/// Sentences for the contacts that are wrong by themselves: all but single touches between two rings.
fn contact_problems(contacts: &[Contact]) -> Vec<String> {
    let own = |contact: &Contact| contact.rings.0 == contact.rings.1;
    let first = |wanted: &dyn Fn(&Contact) -> bool| contacts.iter().find(|contact| wanted(contact)).map(place);
    let mut problems = Vec::new();
    let mut note = |what: &str, place: Option<String>| problems.extend(place.map(|place| format!("{what} {place}")));
    note("a ring crosses itself", first(&|c| own(c) && c.meeting == Meeting::Cross));
    note("a ring runs back along itself", first(&|c| own(c) && c.meeting == Meeting::Along));
    note("a ring touches itself", first(&|c| own(c) && c.meeting == Meeting::Touch));
    note("rings cross", first(&|c| !own(c) && c.meeting == Meeting::Cross));
    note("rings share an edge", first(&|c| !own(c) && c.meeting == Meeting::Along));
    problems
}

fn touch_problem(contacts: &[Contact]) -> String {
    let at = contacts.first().map(place).unwrap_or_default();
    format!("rings touch so that they overlap or cut the ground apart {at}")
}

fn place(contact: &Contact) -> String {
    format!("near ({:.3}, {:.3})", contact.at.x, contact.at.y)
}

/// Of rings that do not meet: every shell must lie outside all other ground, every hole inside its own shell and in no other hole.
fn nesting_problem(tree: &ChainTree) -> Option<String> {
    let shells: Vec<u32> = shells_by_part(tree);
    for (ring, origin) in (0u32..).zip(&tree.rings) {
        let at = tree.points[origin.first as usize];
        let around = tree.winding(at, &|other| other != ring);
        let what = if !origin.hole {
            (around != 0).then_some("a part lies inside another part")
        } else if tree.winding(at, &|other| other == shells[origin.part as usize]) != 1 {
            Some("a hole lies outside its shell")
        } else {
            (around != 1).then_some("a hole lies inside another hole or part")
        };
        if let Some(what) = what {
            return Some(format!("{what} near ({:.3}, {:.3})", at.x, at.y));
        }
    }
    None
}

fn shells_by_part(tree: &ChainTree) -> Vec<u32> {
    let rings = (0u32..).zip(&tree.rings);
    rings.filter(|(_, origin)| !origin.hole).map(|(ring, _)| ring).collect()
}

/// The ground of a shape around its local origin: non-zero in each ring, even-odd between the rings of a part, the union of the parts.
/// `None` where the overlay engine makes nothing of it.
fn rebuild(shape: &MultiPolygon<f64>) -> Option<MultiPolygon<f64>> {
    let mut parts: Vec<Polygon<f64>> = Vec::new();
    for polygon in &shape.0 {
        let rings = std::iter::once(polygon.exterior()).chain(polygon.interiors());
        let mut filled = MultiPolygon(Vec::new());
        for ring in rings {
            let ring = MultiPolygon(vec![Polygon::new(ring.clone(), Vec::new())]);
            filled.0.extend(fill(&ring, FillRule::NonZero)?.0);
        }
        if !polygon.interiors().is_empty() {
            filled = fill(&filled, FillRule::EvenOdd)?;
        }
        parts.extend(filled.0);
    }
    // Wound the same way, so that the union counts them all as filled.
    fill(&MultiPolygon(parts).orient(Direction::Default), FillRule::Positive)
        .map(|ground| holes_at_home(ground.orient(Direction::Default)))
}

/// Each hole with the shell that holds it. The overlay engine gives some holes to a shell that they only touch.
fn holes_at_home(ground: MultiPolygon<f64>) -> MultiPolygon<f64> {
    if ground.0.len() < 2 || ground.0.iter().all(|polygon| polygon.interiors().is_empty()) {
        return ground;
    }
    let tree = ChainTree::with_flat_rings(&ground);
    let shells = shells_by_part(&tree);
    let area_m2 = |part: usize| Polygon::new(ground.0[part].exterior().clone(), Vec::new()).unsigned_area();
    let home = |part: usize, hole: &LineString<f64>| {
        let Some(inside) = Polygon::new(hole.clone(), Vec::new()).interior_point() else { return part };
        let holds = |part: &usize| tree.winding(inside.0, &|ring| ring == shells[*part]) != 0;
        let others = || (0..shells.len()).filter(holds).min_by(|&a, &b| area_m2(a).total_cmp(&area_m2(b)));
        if holds(&part) { part } else { others().unwrap_or(part) }
    };
    let mut parts: Vec<Polygon<f64>> =
        ground.0.iter().map(|polygon| Polygon::new(polygon.exterior().clone(), Vec::new())).collect();
    for (part, polygon) in ground.0.iter().enumerate() {
        for hole in polygon.interiors() {
            parts[home(part, hole)].interiors_push(hole.clone());
        }
    }
    MultiPolygon(parts)
}

/// Shells less holes as drawn, each part at least 0.
fn area_as_drawn_m2(shape: &MultiPolygon<f64>) -> f64 {
    shape.0.iter().map(|polygon| polygon.signed_area().abs()).sum()
}

/// As many shells and holes, and shells of the same area: a shell and its hole may have changed places, which leaves the ground as large as it was.
fn same_rings(a: &MultiPolygon<f64>, b: &MultiPolygon<f64>) -> bool {
    let holes = |shape: &MultiPolygon<f64>| shape.0.iter().map(|polygon| polygon.interiors().len()).sum::<usize>();
    let shell_m2 = |polygon: &Polygon<f64>| Polygon::new(polygon.exterior().clone(), Vec::new()).unsigned_area();
    let shells_m2 = |shape: &MultiPolygon<f64>| shape.0.iter().map(shell_m2).sum::<f64>();
    let (of_a, of_b) = (shells_m2(a), shells_m2(b));
    a.0.len() == b.0.len() && holes(a) == holes(b) && (of_a - of_b).abs() <= SAME_AREA * of_a
}

/// Whether no ring crosses or follows another or itself; the engine's output may touch at points.
fn is_clean(shape: &MultiPolygon<f64>) -> bool {
    contacts(&ChainTree::with_flat_rings(shape)).iter().all(|contact| contact.meeting == Meeting::Touch)
}

#[cfg(test)]
#[path = "repair_tests.rs"]
mod tests;
