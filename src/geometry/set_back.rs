//! Works as they would be if they kept away from a trunk.
//!
//! The disc that is taken out of a work is drawn a little too large, never too small: what remains keeps at least the distance.

use super::clip::clip_to_box;
use geo::{BooleanOps, Coord, LineString, MultiPolygon, Polygon};
use std::f64::consts::PI;

/// Sides of the polygon around the disc: at 15 m it goes beyond it by 1 mm at most.
const SIDES: u32 = 256;

/// What of a shape lies within `half_side_m` of `place` (a square) and at least so far from each of the centres, metres.
pub fn kept_away(
    shape: &MultiPolygon<f64>,
    (place, half_side_m): (Coord<f64>, f64),
    discs: &[(Coord<f64>, f64)],
) -> MultiPolygon<f64> {
    let near = clip_to_box(shape, place, half_side_m);
    discs.iter().filter(|(_, distance_m)| *distance_m > 0.0).fold(near, |rest, &(centre, distance_m)| {
        if rest.0.is_empty() { rest } else { rest.difference(&MultiPolygon(vec![around(centre, distance_m)])) }
    })
}

/// A polygon whose sides touch the disc from outside.
fn around(centre: Coord<f64>, radius_m: f64) -> Polygon<f64> {
    let corner_m = radius_m / (PI / f64::from(SIDES)).cos();
    let corners = (0..SIDES).map(|corner| {
        let (sine, cosine) = (2.0 * PI * f64::from(corner) / f64::from(SIDES)).sin_cos();
        centre + Coord { x: cosine, y: sine } * corner_m
    });
    Polygon::new(LineString(corners.collect()), Vec::new())
}

#[cfg(test)]
mod tests {
    use super::*;
    use geo::{Area, Rect};

    /// A square of 20 m with a disc of 5 m taken out of its middle: 400 less pi 25, the polygon being larger by less than 0.02 m2.
    #[test]
    fn a_disc_is_taken_out_and_nothing_nearer_stays() {
        let square =
            MultiPolygon(vec![Rect::new(Coord { x: -10.0, y: -10.0 }, Coord { x: 10.0, y: 10.0 }).to_polygon()]);
        let origin = Coord { x: 0.0, y: 0.0 };
        let rest = kept_away(&square, (origin, 50.0), &[(origin, 5.0)]);
        let gone_m2 = 400.0 - rest.unsigned_area();
        assert!((PI * 25.0 - 1e-6..PI * 25.0 + 0.02).contains(&gone_m2), "{gone_m2}");
        assert!(kept_away(&square, (origin, 50.0), &[(origin, 15.0)]).0.is_empty());
    }
}
