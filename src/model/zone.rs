//! The ground that a rule set protects around one tree.

/// A named inner part of the zone: a concentric disc.
#[derive(Debug, Clone, PartialEq)]
pub struct Ring {
    /// Index into the rule set's list of rings.
    pub ring: usize,
    /// Radius, metres; never more than the zone's.
    pub radius_m: f64,
}

/// A root zone: a disc around the trunk centre.
#[derive(Debug, Clone, PartialEq)]
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
    pub warnings: Vec<&'static str>,
}

impl Zone {
    /// Area of the whole zone, square metres.
    pub fn area_m2(&self) -> f64 {
        std::f64::consts::PI * self.radius_m * self.radius_m
    }
}
