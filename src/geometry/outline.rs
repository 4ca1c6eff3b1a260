//! Turns discs and their overlaps into polygons for layers and drawings.
//!
//! These outlines are for the eye: every area in a table comes from the closed forms of [`PreparedArea`], never from an outline.

use super::arc::circle;
use super::disc_clip::{Circle, clip_to_circle};
use super::overlay::overlay;
use super::prepared::PreparedArea;
use super::simple::is_valid;
use geo::bool_ops::{FillRule, OpType};
use geo::orient::{Direction, Orient};
use geo::{Coord, LineString, MapCoords, MultiPolygon, Polygon};

/// The departure of a drawn outline from the true arc that decides the number of sides, metres.
const SAGITTA_M: f64 = 0.005;

/// A disc as a polygon: within 5 mm of the true circle and of exactly its area, counter-clockwise, metres.
///
/// Between 24 and 4,096 sides; at 15 m it has 122. Above 17 km of radius the bound on the sides goes before the 5 mm.
pub fn disc_outline(centre: Coord<f64>, radius_m: f64) -> Polygon<f64> {
    circle(centre, radius_m, SAGITTA_M, 24, 4096)
}

/// The drawn overlap of a disc and the union of valid shapes: valid, shells counter-clockwise, within 1 cm of the true outline, metres.
///
/// Empty where they do not overlap or the radius is not above 0.
pub fn overlap_outline(shapes: &[&MultiPolygon<f64>], centre: Coord<f64>, radius_m: f64) -> MultiPolygon<f64> {
    if !radius_m.is_finite() || radius_m <= 0.0 {
        return MultiPolygon(Vec::new());
    }
    // Cutting to a square first keeps the engine's grid fine however large a shape is.
    let square_m = 2.0 * radius_m;
    let polygons = shapes.iter().flat_map(|shape| &shape.0);
    let near: Vec<Polygon<f64>> = polygons.filter_map(|polygon| cut_to_square(polygon, centre, square_m)).collect();
    if near.is_empty() {
        return MultiPolygon(Vec::new());
    }
    let disc = disc_outline(Coord { x: 0.0, y: 0.0 }, radius_m);
    let overlap = overlay(&MultiPolygon(near), &disc, OpType::Intersection, FillRule::Positive);
    overlap.map_coords(|point| point + centre).orient(Direction::Default)
}

/// The drawn part of a disc that an area covers: valid, shells counter-clockwise, within 1 cm of the true outline, metres.
///
/// Empty where they do not overlap or the radius is not above 0.
pub fn area_outline(area: &PreparedArea, centre: Coord<f64>, radius_m: f64) -> MultiPolygon<f64> {
    if !radius_m.is_finite() || radius_m <= 0.0 {
        return MultiPolygon(Vec::new());
    }
    // An arc between two points of the true circle lets its inner points stand out by up to 4/3 of what it is asked for.
    let by = Circle { radius_m, sagitta_m: SAGITTA_M * 0.7 };
    // The overlay engine draws what grazes the circle, and what touches itself so that the cut would not be a valid shape.
    match clip_to_circle(area, centre, by).filter(is_valid) {
        Some(cut) => cut.map_coords(|point| point + centre),
        None => overlap_outline(&[&area.polygons()], centre, radius_m),
    }
}

/// A polygon relative to `centre`, cut to the square of half side `half_m`; `None` where nothing is left.
///
/// A cut ring may run along the square's sides more than once; it encloses every other point as often as before, which is all that
/// the union asks for.
pub fn cut_to_square(polygon: &Polygon<f64>, centre: Coord<f64>, half_m: f64) -> Option<Polygon<f64>> {
    let local = polygon.map_coords(|point| point - centre).orient(Direction::Default);
    let shell = cut_ring(local.exterior(), half_m)?;
    let holes = local.interiors().iter().filter_map(|hole| cut_ring(hole, half_m)).collect();
    Some(Polygon::new(shell, holes))
}

/// Cuts a closed ring to one half plane after another.
///
/// # Source
/// I. Sutherland and G. Hodgman, Reentrant polygon clipping, Communications of the ACM 17 (1974).
fn cut_ring(ring: &LineString<f64>, half_m: f64) -> Option<LineString<f64>> {
    let mut points = ring.0.clone();
    points.pop();
    let inside_of: [fn(Coord<f64>) -> f64; 4] = [|p| p.x, |p| -p.x, |p| p.y, |p| -p.y];
    for height in inside_of {
        let depth = |point: Coord<f64>| height(point) + half_m;
        let mut kept = Vec::with_capacity(points.len() + 4);
        for (index, &to) in points.iter().enumerate() {
            let from = points[(index + points.len() - 1) % points.len()];
            let (from_depth, to_depth) = (depth(from), depth(to));
            if (from_depth >= 0.0) != (to_depth >= 0.0) {
                kept.push(from + (to - from) * (from_depth / (from_depth - to_depth)));
            }
            if to_depth >= 0.0 {
                kept.push(to);
            }
        }
        points = kept;
    }
    points.dedup();
    (points.len() >= 3).then(|| {
        let mut ring = LineString(points);
        ring.close();
        ring
    })
}

#[cfg(test)]
#[path = "outline_tests.rs"]
mod tests;
