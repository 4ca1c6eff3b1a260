//! What of the circles around a trunk belongs to its zone: all, or the part on the ground that barriers leave.
//!
//! The works of a shaped zone are cut to that ground beforehand ([`Ground::measure_shaped`](super::Ground::measure_shaped)); here is what else depends on it.

use super::ground::Surfaces;
use crate::geometry::prepared::PreparedArea;
use crate::geometry::severed::Sight;
use geo::{Coord, MultiPolygon};
use std::f64::consts::PI;

/// The part of every circle that counts.
pub(super) enum Within<'a> {
    /// All of it.
    Disc,
    /// What lies on the ground.
    Ground { ground: &'a MultiPolygon<f64>, prepared: PreparedArea },
}

impl<'a> Within<'a> {
    /// The part on a ground.
    pub(super) fn ground(ground: &'a MultiPolygon<f64>) -> Within<'a> {
        Within::Ground { ground, prepared: PreparedArea::new(ground) }
    }

    /// Area of the part of a circle, square metres; `None` where it is the whole circle.
    pub(super) fn shaped_m2(&self, place: Coord<f64>, radius_m: f64) -> Option<f64> {
        match self {
            Within::Disc => None,
            Within::Ground { prepared, .. } => Some(prepared.disc_area_m2(place, radius_m)),
        }
    }

    /// Area of the part of a circle, and what of it is out of sight, square metres.
    pub(super) fn whole_and_severed_m2(&self, sight: &Sight, place: Coord<f64>, radius_m: f64) -> (f64, f64) {
        match self {
            Within::Disc => (PI * radius_m * radius_m, sight.severed_m2()),
            Within::Ground { prepared, .. } => {
                let whole_m2 = prepared.disc_area_m2(place, radius_m);
                (whole_m2, (whole_m2 - sight.visible_area_m2(prepared)).max(0.0))
            }
        }
    }

    /// Area of the part of a circle under existing surfaces, square metres.
    pub(super) fn surfaced_m2(&self, surfaces: &Surfaces, place: Coord<f64>, radius_m: f64) -> f64 {
        match self {
            Within::Disc => surfaces.area.disc_area_m2(place, radius_m),
            Within::Ground { ground, prepared } => match surfaces.pieces.outside(ground) {
                None => 0.0,
                Some(bare) => {
                    let bare_m2 = PreparedArea::new(&bare).disc_area_m2(place, radius_m);
                    (prepared.disc_area_m2(place, radius_m) - bare_m2).max(0.0)
                }
            },
        }
    }
}
