//! The trees of a permit that stay, with the radii that fences and covers are made from.

use super::Site;
use super::fence_line::LEAST_SIDE_M;
use super::ground::Local;
use crate::geometry::disc_of_sides;
use crate::model::protection::{TreeFate, Unfenced};
use crate::model::results::Row;
use crate::model::zone::{Zone, ZoneShape};
use crate::rules::protection::FenceAt;
use geo::{Coord, Polygon, Rect};
use std::sync::Arc;

/// Trunk diameters that a fence keeps away where the rule set has no ring: the distance of the stability rule, common practice.
const RESERVED_DIAMETERS: f64 = 3.0;

/// A tree that stays and has a root zone.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Staying {
    /// Index into `Results::trees`.
    pub tree: u32,
    /// Trunk centre.
    pub place: Coord<f64>,
    /// Radius of the trunk, metres.
    pub trunk_m: f64,
    /// Radius of the root zone, metres.
    pub zone_m: f64,
    /// Radius of the line that a fence follows in open ground, metres.
    pub fence_m: f64,
    /// Radius that a fence must keep outside of, metres.
    pub reserved_m: f64,
    /// Whether the drip line was asked for and is not known.
    pub without_drip_line: bool,
    /// The root zone where barriers give it a shape other than a disc.
    pub shape: Option<Arc<ZoneShape>>,
}

impl Staying {
    /// The root zone, discs in sides of the least length of a fence.
    pub fn zone_ground(&self) -> Vec<Polygon<f64>> {
        match &self.shape {
            Some(shape) => {
                // The ground goes beyond the disc of the zone: far beyond it where lost area is made up.
                let disc = disc_of_sides(self.place, self.zone_m, LEAST_SIDE_M);
                let ground = Local::union_of(self.place, &shape.ground);
                ground.within(&Local::union_of(self.place, [&disc])).placed().0
            }
            None => vec![disc_of_sides(self.place, self.zone_m, LEAST_SIDE_M)],
        }
    }

    /// The ground that a fence encloses where nothing is in the way.
    pub fn fence_ground(&self) -> Vec<Polygon<f64>> {
        // A drip line stays round: barriers shape roots, not crowns.
        if self.fence_m == self.zone_m {
            return self.zone_ground();
        }
        vec![disc_of_sides(self.place, self.fence_m, LEAST_SIDE_M)]
    }

    /// The box around the root zone and the line of the fence, and a margin.
    pub fn window(&self, margin_m: f64) -> Rect<f64> {
        let reach_m = self.zone_m.max(self.fence_m) * 1.1 + margin_m;
        let reach = Coord { x: reach_m, y: reach_m };
        Rect::new(self.place - reach, self.place + reach)
    }
}

/// Those that stay: with a root zone, and without one, in the order of rows.
pub(super) fn staying(site: &Site<'_>, rows: &[(usize, &Row)], fates: &[TreeFate]) -> (Vec<Staying>, Vec<Unfenced>) {
    let (mut with, mut without) = (Vec::new(), Vec::new());
    for (&(_, row), _) in rows.iter().zip(fates).filter(|(_, fate)| fate.stays()) {
        match &row.zone {
            Some(zone) => with.push(one(site, row, zone)),
            None => without.push(Unfenced {
                tree: row.tree,
                reason: "not assessed: no usable diameter, so no root zone".to_string(),
                advice: "measure the trunk and run again; until then fence as wide as the works allow".to_string(),
            }),
        }
    }
    (with, without)
}

fn one(site: &Site<'_>, row: &Row, zone: &Zone) -> Staying {
    let tree = &site.trees[row.tree as usize];
    let asked = site.rules.protection.as_ref().map_or(FenceAt::Zone, |rule| rule.fence_at);
    let drip_m = zone.drip_line_m.or(tree.crown_radius_m).filter(|&drip_m| drip_m > 0.0);
    let fence_m = match asked {
        FenceAt::Zone => zone.radius_m,
        FenceAt::DripLine => drip_m.unwrap_or(zone.radius_m),
        FenceAt::Greater => drip_m.map_or(zone.radius_m, |drip_m| drip_m.max(zone.radius_m)),
    };
    Staying {
        tree: row.tree,
        place: tree.place,
        trunk_m: zone.diameter_m / 2.0,
        zone_m: zone.radius_m,
        fence_m,
        reserved_m: reserved_m(site, zone),
        without_drip_line: asked != FenceAt::Zone && drip_m.is_none(),
        shape: zone.shape.clone(),
    }
}

/// The ring that the set names, else its innermost, else three trunk diameters; never more than the zone.
fn reserved_m(site: &Site<'_>, zone: &Zone) -> f64 {
    let named = site.rules.protection.as_ref().and_then(|rule| rule.reserve_ring);
    let drip = site.rules.drip_ring;
    let radius_m = match named {
        Some(ring) => zone.rings.iter().find(|known| known.ring == ring).map(|ring| ring.radius_m),
        None => {
            let inner = zone.rings.iter().filter(|ring| Some(ring.ring) != drip && ring.radius_m > 0.0);
            inner.map(|ring| ring.radius_m).min_by(f64::total_cmp)
        }
    };
    radius_m.unwrap_or(RESERVED_DIAMETERS * zone.diameter_m).min(zone.radius_m)
}
