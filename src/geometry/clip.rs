//! Cuts a shape down to a square around a place, so that what follows need not touch far vertices.

use super::overlay::overlay;
use geo::bool_ops::{FillRule, OpType};
use geo::orient::{Direction, Orient};
use geo::{Coord, MapCoords, MultiPolygon, Rect, Translate, coord};

/// The part of a valid shape within `half_side_m` of the place along both axes, worked out around the place as origin.
pub fn clip_to_box(shape: &MultiPolygon<f64>, place: Coord<f64>, half_side_m: f64) -> MultiPolygon<f64> {
    let corner = coord! { x: half_side_m, y: half_side_m };
    let square = MultiPolygon::from(Rect::new(-corner, corner).to_polygon());
    let local = shape.translate(-place.x, -place.y);
    overlay(&local, &square, OpType::Intersection, FillRule::EvenOdd).translate(place.x, place.y)
}

/// The part of a valid shape on `ground` (valid too), worked out around the place as origin; its parts do not overlap.
pub fn clip_to_ground(shape: &MultiPolygon<f64>, ground: &MultiPolygon<f64>, place: Coord<f64>) -> MultiPolygon<f64> {
    let local = |of: &MultiPolygon<f64>| of.map_coords(|c| c - place).orient(Direction::Default);
    let common = overlay(&local(shape), &local(ground), OpType::Intersection, FillRule::Positive);
    common.map_coords(|c| c + place).orient(Direction::Default)
}

#[cfg(test)]
mod tests {
    use super::*;
    use geo::Area;

    #[test]
    fn only_the_part_in_the_square_is_left() {
        let far = coord! { x: 5e5, y: 5e6 };
        let shape = MultiPolygon::from(Rect::new(far, far + coord! { x: 100.0, y: 4.0 }).to_polygon());
        let clipped = clip_to_box(&shape, far, 10.0);
        assert!((clipped.unsigned_area() - 40.0).abs() < 1e-6, "{}", clipped.unsigned_area());
    }
}
