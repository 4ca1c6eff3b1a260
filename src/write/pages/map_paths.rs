//! Polygons on the ground -> SVG path data on paper, in whole hundredths of a millimetre.

use super::map_frame::Frame;
use crate::geometry::outline::cut_to_square;
use geo::{Coord, LineString, MapCoords, MultiPolygon, Polygon};
use std::fmt::Write;

/// Points nearer than this to the one before are left out, 0.01 mm: finer than any printer.
const FINEST: i64 = 3;

/// The polygons as one path; empty where nothing is on the map. What lies beyond the window is cut away outside of what shows.
pub fn path(shape: &MultiPolygon<f64>, frame: &Frame) -> String {
    let mut data = String::new();
    for polygon in cut(shape, frame) {
        ring(polygon.exterior(), frame, &mut data);
        polygon.interiors().iter().for_each(|hole| ring(hole, frame, &mut data));
    }
    data
}

/// The parts of the polygons in and around the window.
pub fn cut(shape: &MultiPolygon<f64>, frame: &Frame) -> Vec<Polygon<f64>> {
    let centre = frame.window.centre();
    let size = frame.window.size_m();
    // Wider than the window, so that the edges along the cut are out of sight.
    let half_m = 0.55 * size.x.max(size.y) + 1.0;
    let parts = shape.iter().filter_map(|polygon| cut_to_square(polygon, centre, half_m));
    parts.map(|polygon| polygon.map_coords(|point| point + centre)).collect()
}

fn ring(ring: &LineString<f64>, frame: &Frame, data: &mut String) {
    let mut points: Vec<(i64, i64)> = Vec::new();
    for &place in &ring.0 {
        let (x, y) = frame.at(place);
        if points.last().is_none_or(|last| (x - last.0).abs() >= FINEST || (y - last.1).abs() >= FINEST) {
            points.push((x, y));
        }
    }
    if points.first() == points.last() {
        points.pop();
    }
    if points.len() < 3 {
        return;
    }
    let mut last = points[0];
    let _ = write!(data, "M{} {}l", last.0, last.1);
    for &point in &points[1..] {
        let (x, y) = (point.0 - last.0, point.1 - last.1);
        let _ = write!(data, "{x} {y} ");
        last = point;
    }
    data.pop();
    data.push('z');
}

/// Whether a place is on the paper, at least so far from its edge, 0.01 mm.
pub fn shows(frame: &Frame, place: Coord<f64>, inside: i64) -> bool {
    let (x, y) = frame.at(place);
    x >= inside && y >= inside && x <= super::map_frame::WIDTH - inside && y <= frame.height - inside
}
