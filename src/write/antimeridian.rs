//! Cuts polygons in longitude and latitude that cross the 180th meridian, as RFC 7946 section 3.1.9 asks.
//!
//! # Source
//! RFC 7946 (August 2016), section 3.1.9: such geometries "SHOULD be represented by cutting" them in two, so that neither part
//! crosses the antimeridian.

use crate::geometry::overlay;
use geo::bool_ops::{FillRule, OpType};
use geo::{BoundingRect, Coord, LineString, MapCoords, MultiPolygon, Polygon, Rect};

/// Appends the polygon, or its parts on both sides of the meridian. Returns false, and appends nothing, for a polygon around a pole.
pub fn push_cut(polygon: Polygon<f64>, parts: &mut Vec<Polygon<f64>>) -> bool {
    if !jumps(polygon.exterior()) && !polygon.interiors().iter().any(jumps) {
        parts.push(polygon);
        return true;
    }
    let Some(whole) = unwrapped(&polygon) else { return false };
    let Some(bounds) = whole.bounding_rect() else { return true };
    if bounds.max().x <= 180.0 {
        parts.push(whole);
        return true;
    }
    // The windows are hardly larger than the polygon, because boolean operations snap to a grid that spans all their input.
    let (low, high) = (bounds.min(), bounds.max());
    let step = (high.x - low.x).max(high.y - low.y) / 16.0;
    let window =
        |west: f64, east: f64| Rect::new(Coord { x: west, y: low.y - step }, Coord { x: east, y: high.y + step });
    let part = |window: Rect<f64>| -> MultiPolygon<f64> {
        overlay(&whole, &window.to_polygon(), OpType::Intersection, FillRule::EvenOdd)
    };
    parts.extend(part(window(low.x - step, 180.0)).map_coords(|c| Coord { x: c.x.min(180.0), y: c.y }));
    parts.extend(part(window(180.0, high.x + step)).map_coords(|c| Coord { x: (c.x - 360.0).max(-180.0), y: c.y }));
    true
}

/// The line, or its parts on both sides of the meridian, each up to it.
pub fn cut_line(places: &[Coord<f64>]) -> Vec<Vec<Coord<f64>>> {
    let mut parts: Vec<Vec<Coord<f64>>> = vec![Vec::new()];
    let mut before: Option<Coord<f64>> = None;
    for &place in places {
        if let Some(before) = before.filter(|before| (place.x - before.x).abs() > 180.0) {
            let edge = if before.x > 0.0 { 180.0 } else { -180.0 };
            let beyond = place.x + 2.0 * edge;
            let share = if beyond == before.x { 0.0 } else { (edge - before.x) / (beyond - before.x) };
            let latitude = before.y + share * (place.y - before.y);
            parts.last_mut().expect("never empty").push(Coord { x: edge, y: latitude });
            parts.push(vec![Coord { x: -edge, y: latitude }]);
        }
        parts.last_mut().expect("never empty").push(place);
        before = Some(place);
    }
    parts
}

fn jumps(ring: &LineString<f64>) -> bool {
    ring.0.windows(2).any(|pair| (pair[1].x - pair[0].x).abs() > 180.0)
}

/// The polygon with longitudes that run on past 180, its west end within -180..180; `None` around a pole.
fn unwrapped(polygon: &Polygon<f64>) -> Option<Polygon<f64>> {
    let shell = unwrap_ring(polygon.exterior())?;
    let bounds = shell.bounding_rect()?;
    let shift = if bounds.min().x < -180.0 { 360.0 } else { 0.0 };
    let centre = bounds.center().x;
    let mut holes = Vec::new();
    for hole in polygon.interiors() {
        let hole = unwrap_ring(hole)?;
        let turns = ((centre - hole.0.first()?.x) / 360.0).round();
        holes.push(hole.map_coords(|c| Coord { x: c.x + turns * 360.0 + shift, y: c.y }));
    }
    Some(Polygon::new(shell.map_coords(|c| Coord { x: c.x + shift, y: c.y }), holes))
}

fn unwrap_ring(ring: &LineString<f64>) -> Option<LineString<f64>> {
    let mut turns = 0.0;
    let mut before: Option<f64> = None;
    let mut coords = Vec::with_capacity(ring.0.len());
    for c in &ring.0 {
        if let Some(before) = before {
            turns += if c.x - before > 180.0 {
                -360.0
            } else if c.x - before < -180.0 {
                360.0
            } else {
                0.0
            };
        }
        before = Some(c.x);
        coords.push(Coord { x: c.x + turns, y: c.y });
    }
    (turns == 0.0).then(|| LineString::new(coords))
}

#[cfg(test)]
mod tests {
    use super::*;
    use geo::{Area, polygon};

    fn cut(polygon: Polygon<f64>) -> Vec<Polygon<f64>> {
        let mut parts = Vec::new();
        assert!(push_cut(polygon, &mut parts));
        parts
    }

    #[test]
    fn a_square_with_a_hole_over_the_meridian_is_cut_in_two() {
        // Taveuni, Fiji, lies on the meridian: 0.02 degrees wide, and a hole of 0.01 degrees, both half on either side.
        let square = polygon!(
            exterior: [(x: 179.99, y: -16.8), (x: -179.99, y: -16.8), (x: -179.99, y: -16.7), (x: 179.99, y: -16.7)],
            interiors: [[(x: -179.995, y: -16.76), (x: -179.995, y: -16.74), (x: 179.995, y: -16.74), (x: 179.995, y: -16.76)]]
        );
        let parts = cut(square);
        assert_eq!(parts.len(), 2);
        for (part, (west, east)) in parts.iter().zip([(179.99, 180.0), (-180.0, -179.99)]) {
            let bounds = part.bounding_rect().unwrap();
            assert!((bounds.min().x - west).abs() < 1e-9 && (bounds.max().x - east).abs() < 1e-9, "{bounds:?}");
            // Half of 0.02 x 0.1 less half of 0.01 x 0.02.
            assert!((part.unsigned_area() - (0.001 - 0.0001)).abs() < 1e-9, "{}", part.unsigned_area());
        }
    }

    #[test]
    fn a_line_over_the_meridian_is_cut_in_two() {
        let line = [(179.9, 1.0), (-179.9, 3.0), (-179.8, 3.0)].map(|(x, y)| Coord { x, y });
        let parts = cut_line(&line);
        assert_eq!(parts.len(), 2);
        assert!((parts[0][1].y - 2.0).abs() < 1e-9 && parts[0][1].x == 180.0, "{parts:?}");
        assert!(parts[1][0].x == -180.0 && parts[1].len() == 3, "{parts:?}");
        assert_eq!(cut_line(&line[1..]), vec![line[1..].to_vec()]);
    }

    #[test]
    fn a_polygon_that_only_touches_the_meridian_stays_whole() {
        let touches = polygon![(x: 179.99, y: 1.0), (x: -180.0, y: 1.0), (x: -180.0, y: 1.1), (x: 179.99, y: 1.1)];
        let parts = cut(touches);
        assert_eq!(parts.len(), 1);
        assert_eq!(parts[0].bounding_rect().unwrap().max().x, 180.0);
    }

    #[test]
    fn a_polygon_elsewhere_is_not_touched() {
        let square = polygon![(x: 10.0, y: 1.0), (x: 10.1, y: 1.0), (x: 10.1, y: 1.1)];
        assert_eq!(cut(square.clone()), vec![square]);
    }

    #[test]
    fn a_polygon_around_a_pole_is_refused() {
        let cap = polygon![(x: 0.0, y: 89.0), (x: 120.0, y: 89.0), (x: -120.0, y: 89.0)];
        assert!(!push_cut(cap, &mut Vec::new()));
    }
}
