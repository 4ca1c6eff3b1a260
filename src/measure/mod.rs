//! **measure**: candidates -> overlaps: pure arithmetic on prepared ground, no judgement and no rounding.
//!
//! [`Ground`] holds every permit's works, united by effect; [`Ground::measure`] takes one place, the radii of a zone and its
//! rings, and one permit, and gives an [`Overlap`]. The same code measures several permits together (see [`together`]).

mod ground;
mod regions;
pub mod together;

#[cfg(test)]
#[path = "measure_tests.rs"]
mod tests;

pub use ground::{Ground, Wants};

use crate::model::overlap::Overlap;
use geo::Coord;

/// The circles to measure in: the zone's radius first, then its rings, metres.
pub type Radii<'a> = &'a [f64];

impl Ground {
    /// Measures one permit at one place.
    ///
    /// `near` lists candidate works of that permit, ascending; works further than the zone's radius do no harm.
    /// `None` where no work in question comes nearer than the zone's radius.
    pub fn measure(&self, permit: u32, near: &[u32], place: Coord<f64>, radii: Radii<'_>) -> Option<Overlap> {
        let mut overlap = self.distances(near, place, *radii.first()?)?;
        overlap.regions = regions::measure(self, &self.permits[permit as usize], &overlap, place, radii);
        Some(overlap)
    }

    /// Distances only, for a tree without a diameter: the nearest work in question within `within_m`.
    pub fn distances(&self, near: &[u32], place: Coord<f64>, within_m: f64) -> Option<Overlap> {
        let mut nearest = Nearest::default();
        for &work in near {
            if let Some(distance_m) = self.distance_m(work, place, within_m) {
                nearest.take(self, work, distance_m, place);
            }
        }
        nearest.overlap()
    }
}

/// The nearest works of each sort met so far; a tie keeps the work that came first.
struct Nearest {
    counted: Option<(f64, u32)>,
    bore: Option<(f64, u32)>,
    trunk_m: f64,
    severing_m: f64,
}

impl Default for Nearest {
    fn default() -> Nearest {
        Nearest { counted: None, bore: None, trunk_m: f64::INFINITY, severing_m: f64::INFINITY }
    }
}

impl Nearest {
    fn take(&mut self, ground: &Ground, work: u32, distance_m: f64, place: Coord<f64>) {
        let facts = ground.facts(work);
        let slot = if facts.counted { &mut self.counted } else { &mut self.bore };
        if slot.is_none_or(|(nearest_m, _)| distance_m < nearest_m) {
            *slot = Some((distance_m, work));
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

    fn overlap(self) -> Option<Overlap> {
        let (distance_m, nearest_work) = self.counted.or(self.bore)?;
        Some(Overlap {
            regions: Vec::new(),
            distance_m,
            nearest_work,
            trunk_distance_m: self.trunk_m,
            severing_distance_m: self.severing_m,
        })
    }
}
