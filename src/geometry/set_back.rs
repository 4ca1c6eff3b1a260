//! Works as they would be if they kept away from a trunk.
//!
//! The disc that is taken out of a work is drawn a little too large, never too small: what remains keeps at least the distance.

use super::overlay::overlay;
use geo::bool_ops::{FillRule, OpType};
use geo::{Coord, LineString, MultiPolygon, Polygon};
use std::f64::consts::PI;

/// How closely the polygon around a disc follows it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Outline {
    /// For a first search: several times as fast.
    Rough,
    /// At 15 m it goes beyond the disc by 1 mm at most.
    Fine,
}

impl Outline {
    fn sides(self) -> u32 {
        match self {
            Outline::Rough => 32,
            Outline::Fine => 256,
        }
    }

    /// The corners of the polygon lie so many times the radius from the centre.
    pub fn beyond(self) -> f64 {
        1.0 / (PI / f64::from(self.sides())).cos()
    }
}

/// What of a shape lies at least so far from each of the centres, metres.
pub fn kept_away(shape: &MultiPolygon<f64>, discs: &[(Coord<f64>, f64)], outline: Outline) -> MultiPolygon<f64> {
    let discs: Vec<Polygon<f64>> = discs
        .iter()
        .filter(|(_, distance_m)| *distance_m > 0.0)
        .map(|&(centre, distance_m)| around(centre, distance_m, outline))
        .collect();
    if discs.is_empty() || shape.0.is_empty() {
        return shape.clone();
    }
    overlay(shape, &MultiPolygon(discs), OpType::Difference, FillRule::Positive)
}

/// A polygon whose sides touch the disc from outside.
fn around(centre: Coord<f64>, radius_m: f64, outline: Outline) -> Polygon<f64> {
    let (sides, corner_m) = (outline.sides(), radius_m * outline.beyond());
    let corners = (0..sides).map(|corner| {
        let (sine, cosine) = (2.0 * PI * f64::from(corner) / f64::from(sides)).sin_cos();
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
        let rest = kept_away(&square, &[(origin, 5.0)], Outline::Fine);
        let gone_m2 = 400.0 - rest.unsigned_area();
        assert!((PI * 25.0 - 1e-6..PI * 25.0 + 0.02).contains(&gone_m2), "{gone_m2}");
        assert!(kept_away(&square, &[(origin, 15.0)], Outline::Fine).0.is_empty());
    }

    /// Two discs of 2 m, 2 m apart: together they take pi 8 less their lens, 2 r2 acos(d/2r) - d/2 sqrt(4 r2 - d2).
    #[test]
    fn discs_that_overlap_are_taken_out_together() {
        let square =
            MultiPolygon(vec![Rect::new(Coord { x: -10.0, y: -10.0 }, Coord { x: 10.0, y: 10.0 }).to_polygon()]);
        let discs = [(Coord { x: -1.0, y: 0.0 }, 2.0), (Coord { x: 1.0, y: 0.0 }, 2.0)];
        let lens_m2 = 8.0 * 0.5f64.acos() - 12f64.sqrt();
        let gone_m2 = 400.0 - kept_away(&square, &discs, Outline::Fine).unsigned_area();
        assert!((gone_m2 - (8.0 * PI - lens_m2)).abs() < 0.01, "{gone_m2}");
        let rough_m2 = 400.0 - kept_away(&square, &discs, Outline::Rough).unsigned_area();
        assert!(rough_m2 > gone_m2 && rough_m2 < gone_m2 * Outline::Rough.beyond().powi(2), "{rough_m2}");
    }
}
