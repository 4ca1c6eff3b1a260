//! The ground that a rule set protects around one tree.

use geo::MultiPolygon;
use std::sync::Arc;

/// A named inner part of the zone: a concentric disc.
#[derive(Debug, Clone, PartialEq, serde::Serialize, serde::Deserialize)]
pub struct Ring {
    /// Index into the rule set's list of rings.
    pub ring: usize,
    /// Radius, metres; never more than the zone's.
    pub radius_m: f64,
}

/// What shapes a zone: existing barriers to roots.
#[derive(Debug, Clone, PartialEq, serde::Serialize, serde::Deserialize)]
pub struct ZoneShape {
    /// The zone is the part of the disc of its radius on this ground: valid, goes a little beyond the disc; metres, measuring CRS.
    pub ground: MultiPolygon<f64>,
    /// Area of the zone, square metres.
    pub area_m2: f64,
    /// The radius that the rule set gives, metres; the zone's own is greater where lost area is made up.
    pub disc_radius_m: f64,
    /// Whether lost area was to be made up.
    pub made_up: bool,
}

/// A root zone: a disc around the trunk centre, or the part of one that barriers leave.
#[derive(Debug, Clone, PartialEq, serde::Serialize, serde::Deserialize)]
pub struct Zone {
    /// The diameter that the rule set made of the stems, metres.
    pub diameter_m: f64,
    /// Radius, metres, > 0.
    pub radius_m: f64,
    /// One per ring of the rule set, in its order.
    pub rings: Vec<Ring>,
    /// Radius of the drip line, be it wider than the zone, metres, where the rule set has a ring for it.
    pub drip_line_m: Option<f64>,
    /// What had to be assumed, as warning codes (`crown_estimated`, `ring_from_breast_height` ...).
    #[serde(with = "super::code::list")]
    pub warnings: Vec<&'static str>,
    /// What shapes it; `None` for a disc. Shared by the rows of a tree.
    pub shape: Option<Arc<ZoneShape>>,
}

impl Zone {
    /// Area of the whole zone, square metres.
    pub fn area_m2(&self) -> f64 {
        let disc_m2 = std::f64::consts::PI * self.radius_m * self.radius_m;
        self.shape.as_ref().map_or(disc_m2, |shape| shape.area_m2)
    }

    /// The ground that shapes it; `None` for a disc.
    pub fn ground(&self) -> Option<&MultiPolygon<f64>> {
        self.shape.as_ref().map(|shape| &shape.ground)
    }

    /// The radius that the rule set gives, metres, be the zone shaped or not.
    pub fn disc_radius_m(&self) -> f64 {
        self.shape.as_ref().map_or(self.radius_m, |shape| shape.disc_radius_m)
    }
}
