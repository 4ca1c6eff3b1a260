//! **measure**: candidates -> overlaps: pure arithmetic on prepared ground, no judgement and no rounding.
//!
//! [`Ground`] holds every permit's works, united by effect; [`Ground::measure`] takes one place, the radii of a zone and its
//! rings, and one permit, and gives an [`Overlap`]. The same code measures several permits together (see [`Ground::unite`]).

mod ground;
mod regions;
mod together;
mod within;

#[cfg(test)]
#[path = "shaped_tests.rs"]
mod shaped_tests;
#[cfg(test)]
#[path = "measure_tests.rs"]
mod tests;

pub use ground::{Ground, PermitGround, Surfaces, VerdictWants, Wants};

use crate::model::overlap::{Overlap, Reached};
use crate::model::work::{Mitigations, Work};
use geo::{Coord, MultiPolygon};
use std::borrow::Cow;
use within::Within;

/// The circles to measure in: the zone's radius first, then its rings, metres.
pub type Radii<'a> = &'a [f64];

/// The middle of a zone, and from where on works count.
#[derive(Debug, Clone, Copy)]
pub struct Trunk {
    /// Measuring CRS.
    pub place: Coord<f64>,
    /// What of a work is nearer than this is left out, as if works kept away, metres; 0 where they are as drawn.
    pub works_from_m: f64,
    /// What is to be told of it.
    pub asked: Asked,
}

/// What is to be told of a place.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Asked {
    /// Every measure.
    All,
    /// Those that the verdict hangs on ([`VerdictWants`]); the other areas are 0. For the many places of the borderline test.
    Verdict,
}

impl From<Coord<f64>> for Trunk {
    fn from(place: Coord<f64>) -> Trunk {
        Trunk { place, works_from_m: 0.0, asked: Asked::All }
    }
}

impl Ground {
    /// Measures one permit, or several united by [`Ground::unite`], at one trunk.
    ///
    /// `near` lists candidate works of `united`, ascending; works further away do no harm. `None` where no work in question comes
    /// nearer than `reach_m`: the zone's radius, or the trunk's where that is greater.
    pub fn measure(
        &self,
        united: &PermitGround,
        near: &[u32],
        trunk: impl Into<Trunk>,
        radii: Radii<'_>,
        reach_m: f64,
    ) -> Option<Overlap> {
        self.measure_in(&Within::Disc, near, trunk.into(), radii, reach_m, || Cow::Borrowed(united))
    }

    /// Measures works on the part of the zone's circles that lies on `ground`: a zone shaped by barriers.
    ///
    /// `works` are those of the ground, `near` the candidates among them of one permit, or of several together. Distances are not shaped: they tell how near
    /// the trunk a work comes, whatever stands between.
    pub fn measure_shaped(
        &self,
        ground: &MultiPolygon<f64>,
        works: &[Work],
        near: &[u32],
        trunk: impl Into<Trunk>,
        radii: Radii<'_>,
        reach_m: f64,
    ) -> Option<Overlap> {
        let (trunk, radius_m) = (trunk.into(), radii.first().copied().unwrap_or_default());
        let united = || Cow::Owned(self.unite_on(ground, works, near, trunk.place, radius_m));
        self.measure_in(&Within::ground(ground), near, trunk, radii, reach_m, united)
    }

    fn measure_in<'a>(
        &'a self,
        within: &Within<'_>,
        near: &[u32],
        trunk: Trunk,
        radii: Radii<'_>,
        reach_m: f64,
        united: impl FnOnce() -> Cow<'a, PermitGround>,
    ) -> Option<Overlap> {
        let nearest = self.nearest(near, trunk, reach_m);
        let closest_m = nearest.closest_m();
        let mut overlap = nearest.overlap()?;
        let circles = regions::Circles { ground: self, permit: &united(), within, trunk, closest_m };
        overlap.regions = circles.measure(radii, overlap.severing_distance_m);
        overlap.widest_gap_deg =
            self.wants.sides.then(|| circles.widest_gap_deg(radii.first().copied().unwrap_or_default()));
        Some(overlap)
    }

    /// Distances only, for a tree without a diameter: the nearest work in question within `within_m`.
    pub fn distances(&self, near: &[u32], place: Coord<f64>, within_m: f64) -> Option<Overlap> {
        self.nearest(near, place.into(), within_m).overlap()
    }

    fn nearest(&self, near: &[u32], trunk: Trunk, within_m: f64) -> Nearest {
        let mut nearest = Nearest::default();
        for &work in near {
            if let Some(distance_m) = self.distance_m(work, trunk, within_m) {
                nearest.take(self, work, distance_m, trunk.place);
            }
        }
        nearest
    }
}

/// The nearest works of each sort met so far; a tie keeps the work that came first.
struct Nearest {
    counted: Option<(f64, u32)>,
    bore: Option<(f64, u32)>,
    trunk_m: f64,
    severing_m: f64,
    reached: Vec<Reached>,
    accepted: Mitigations,
    not_accepted: Mitigations,
}

impl Default for Nearest {
    fn default() -> Nearest {
        Nearest {
            counted: None,
            bore: None,
            trunk_m: f64::INFINITY,
            severing_m: f64::INFINITY,
            reached: Vec::new(),
            accepted: Mitigations::default(),
            not_accepted: Mitigations::default(),
        }
    }
}

impl Nearest {
    fn take(&mut self, ground: &Ground, work: u32, distance_m: f64, place: Coord<f64>) {
        let facts = ground.facts(work);
        self.accepted = self.accepted.and(facts.accepted);
        self.not_accepted = self.not_accepted.and(facts.stated.without(facts.accepted));
        let slot = if facts.counted { &mut self.counted } else { &mut self.bore };
        if slot.is_none_or(|(nearest_m, _)| distance_m < nearest_m) {
            *slot = Some((distance_m, work));
        }
        if facts.counted && ground.wants.reached {
            let (effects, lasting, depth_m) = (facts.effects, facts.lasting, facts.depth_m);
            self.reached.push(Reached { effects, lasting, depth_m, distance_m });
        }
        if facts.disturbs_trunk {
            // Inside, the deepest of several works counts: the others cannot bring the trunk out.
            let signed_m = if distance_m > 0.0 { distance_m } else { -ground.depth_inside_m(work, place) };
            self.trunk_m = self.trunk_m.min(signed_m);
        }
        if facts.severs {
            self.severing_m = self.severing_m.min(distance_m);
        }
    }

    /// Distance to the nearest work of any sort; infinite where there is none.
    fn closest_m(&self) -> f64 {
        let distance_m = |found: Option<(f64, u32)>| found.map_or(f64::INFINITY, |(distance_m, _)| distance_m);
        distance_m(self.counted).min(distance_m(self.bore))
    }

    fn overlap(self) -> Option<Overlap> {
        let (distance_m, nearest_work) = self.counted.or(self.bore)?;
        Some(Overlap {
            regions: Vec::new(),
            distance_m,
            nearest_work,
            trunk_distance_m: self.trunk_m,
            severing_distance_m: self.severing_m,
            reached: self.reached,
            accepted: self.accepted,
            not_accepted: self.not_accepted,
            widest_gap_deg: None,
        })
    }
}
