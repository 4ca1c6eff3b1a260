//! What one permit (or several together) takes of one root zone: numbers only, no judgement.

use super::effect::{Effect, Effects};
use super::work::{Lasting, Mitigations};

/// Areas within one region: the whole zone or a ring.
#[derive(Debug, Clone, PartialEq, Default, serde::Serialize, serde::Deserialize)]
pub struct RegionAreas {
    /// Radius of the region, metres.
    pub radius_m: f64,
    /// Its area where barriers shape it, square metres; `None` for a disc.
    pub shaped_m2: Option<f64>,
    /// Union of all counted works, square metres.
    pub overlap_m2: f64,
    /// Union per effect, in the order of [`Effect::ALL`].
    pub by_effect_m2: [f64; 6],
    /// Union per selection of works that a limit of the rule set counts, in the order of `RuleSet::selections`.
    pub by_selection_m2: Vec<f64>,
    /// Union of the counted works on ground without an existing surface; `None` where no surfaces are given.
    pub new_m2: Option<f64>,
    /// Union of the counted works that go with the job, square metres.
    pub temporary_m2: f64,
    /// Union of the counted works that stay, square metres. Where both lie on one another both areas have it.
    pub permanent_m2: f64,
    /// The part under existing surfaces, square metres; `None` in rings, and where no surfaces are given.
    pub surfaced_m2: Option<f64>,
    /// What lies behind a severing cut, the cut included.
    pub severed_m2: f64,
    /// Overlap and severed together.
    pub affected_m2: f64,
}

impl RegionAreas {
    /// Area of the region, square metres.
    pub fn area_m2(&self) -> f64 {
        self.shaped_m2.unwrap_or(std::f64::consts::PI * self.radius_m * self.radius_m)
    }

    /// Overlap by one effect, square metres.
    pub fn effect_m2(&self, effect: Effect) -> f64 {
        self.by_effect_m2[effect as usize]
    }
}

/// A work that reaches into the zone, for limits on distance by effect and on depth.
#[derive(Debug, Clone, Copy, PartialEq, serde::Serialize, serde::Deserialize)]
pub struct Reached {
    /// What it does.
    pub effects: Effects,
    /// Whether it stays.
    pub lasting: Lasting,
    /// Depth, metres, where given.
    pub depth_m: Option<f64>,
    /// Trunk centre to its edge, 0 inside, metres.
    pub distance_m: f64,
}

/// The measures of one tree against the works of one permit, or of several permits together.
#[derive(Debug, Clone, PartialEq, Default, serde::Serialize, serde::Deserialize)]
pub struct Overlap {
    /// The whole zone first, then the rule set's rings in its order. Empty for a tree without a diameter.
    pub regions: Vec<RegionAreas>,
    /// Trunk centre to the edge of the nearest counted work, 0 inside (nearest bore where nothing else is near), metres.
    pub distance_m: f64,
    /// Index of that work.
    pub nearest_work: u32,
    /// Trunk centre to the nearest work that occupies, cuts or fills; below 0 inside one, by its depth from the edge; infinite
    /// where there is none in reach.
    pub trunk_distance_m: f64,
    /// Trunk centre to the nearest severing work; infinite where there is none in reach.
    pub severing_distance_m: f64,
    /// Every counted work in reach, where the rule set asks for it; else empty.
    pub reached: Vec<Reached>,
    /// What is stated of works in reach to spare roots, and changes what they do under the rule set.
    pub accepted: Mitigations,
    /// What is stated and changes nothing.
    pub not_accepted: Mitigations,
    /// The widest part of the bearings around the trunk without a counted work in the zone, degrees, where the rule set asks for it.
    pub widest_gap_deg: Option<f64>,
}
