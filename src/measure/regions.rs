//! The areas of one permit in each circle of a zone: the whole circle, or its part on the ground that barriers leave.
//!
//! Surfaced: the area of the disc under the union of existing surfaces, in the same closed form.
//!
//! # Source
//! Overlap: closed form along the boundary of the union (`geometry::prepared`). Severed: straight-line sight from the trunk
//! (`geometry::severed`); common sense, no source. Affected = severed + what of the other works is still in sight.

use super::ground::{Ground, Layer, PermitGround};
use super::within::Within;
use super::{Asked, Radii, Trunk};
use crate::geometry::prepared::PreparedArea;
use crate::geometry::severed::Sight;
use crate::model::overlap::RegionAreas;

/// Circles around one trunk over the works of one permit, or of several united.
pub(super) struct Circles<'a> {
    pub ground: &'a Ground,
    pub permit: &'a PermitGround,
    /// What of the circles belongs to the zone.
    pub within: &'a Within<'a>,
    pub trunk: Trunk,
    /// Distance to the nearest work of any sort: smaller circles hold nothing.
    pub closest_m: f64,
}

impl Circles<'_> {
    /// One [`RegionAreas`] per radius.
    pub(super) fn measure(&self, radii: Radii<'_>, severing_distance_m: f64) -> Vec<RegionAreas> {
        let one = |(number, &radius_m): (usize, &f64)| {
            let circle = self.circle(radius_m);
            let sever = number == 0 || self.ground.wants.severed_in_rings;
            let areas = match self.closest_m >= radius_m || !self.is_asked(number) {
                true => circle.nothing(),
                false => circle.areas(sever && severing_distance_m < radius_m),
            };
            let surfaced_m2 = if number == 0 { circle.surfaced_m2() } else { None };
            RegionAreas { surfaced_m2, shaped_m2: self.within.shaped_m2(self.trunk.place, radius_m), ..areas }
        };
        radii.iter().enumerate().map(one).collect()
    }

    /// Whether the circle of this number, the zone's first, is to be measured.
    fn is_asked(&self, number: usize) -> bool {
        let of_ring = |ring: usize| self.ground.wants.verdict.rings.get(ring).is_some_and(|&wanted| wanted);
        self.trunk.asked == Asked::All || number.checked_sub(1).is_none_or(of_ring)
    }

    /// The widest part of the bearings around the trunk without a counted work in the zone, degrees.
    pub(super) fn widest_gap_deg(&self, radius_m: f64) -> f64 {
        self.circle(radius_m).widest_gap_deg()
    }

    fn circle(&self, radius_m: f64) -> Circle<'_> {
        Circle { ground: self.ground, permit: self.permit, within: self.within, trunk: self.trunk, radius_m }
    }
}

/// One circle around the trunk and the works of one permit.
struct Circle<'a> {
    ground: &'a Ground,
    permit: &'a PermitGround,
    within: &'a Within<'a>,
    trunk: Trunk,
    radius_m: f64,
}

impl Circle<'_> {
    fn nothing(&self) -> RegionAreas {
        let by_selection_m2 = vec![0.0; self.permit.by_selection.len()];
        let new_m2 = self.ground.surfaces().map(|_| 0.0);
        RegionAreas { radius_m: self.radius_m, by_selection_m2, new_m2, ..RegionAreas::default() }
    }

    fn areas(&self, sever: bool) -> RegionAreas {
        let (all, verdict) = (self.trunk.asked == Asked::All, &self.ground.wants.verdict);
        let mut seen = Vec::with_capacity(8);
        let mut area_m2 = |asked: bool, layer: Layer| if asked { self.layer_m2(layer, &mut seen) } else { 0.0 };
        let overlap_m2 = area_m2(true, self.permit.all);
        let by_effect_m2 =
            std::array::from_fn(|effect| area_m2(all || verdict.effects[effect], self.permit.by_effect[effect]));
        let by_selection_m2 = self.permit.by_selection.iter().map(|&layer| area_m2(true, layer)).collect();
        let new_m2 = self.ground.surfaces().map(|_| area_m2(all, self.permit.new_ground));
        let temporary_m2 = area_m2(all, self.permit.temporary);
        let permanent_m2 = area_m2(all, self.permit.permanent);
        let sever = sever && (all || verdict.severed);
        let (severed_m2, affected_m2) = if sever { self.severed(overlap_m2) } else { (0.0, overlap_m2) };
        RegionAreas {
            radius_m: self.radius_m,
            overlap_m2,
            by_effect_m2,
            by_selection_m2,
            new_m2,
            temporary_m2,
            permanent_m2,
            shaped_m2: None,
            surfaced_m2: None,
            severed_m2,
            affected_m2,
        }
    }

    fn surfaced_m2(&self) -> Option<f64> {
        self.ground.surfaces().map(|surfaces| self.within.surfaced_m2(surfaces, self.trunk.place, self.radius_m))
    }

    /// The widest part of the bearings without a counted work, degrees.
    fn widest_gap_deg(&self) -> f64 {
        let works = self.ground.area(self.permit, self.permit.all);
        works.map_or(360.0, |works| self.sight(works).widest_gap_deg())
    }

    /// Area of a layer in the circle; a layer met before is not measured again.
    fn layer_m2(&self, layer: Layer, seen: &mut Vec<(Layer, f64)>) -> f64 {
        if let Some((_, area_m2)) = seen.iter().find(|(met, _)| *met == layer) {
            return *area_m2;
        }
        let area = self.ground.area(self.permit, layer);
        let area_m2 = area.map_or(0.0, |area| self.works_m2(area));
        seen.push((layer, area_m2));
        area_m2
    }

    /// Severed and affected area, held to the bounds that they have by definition (rounding in the last digits aside).
    fn severed(&self, overlap_m2: f64) -> (f64, f64) {
        let Some(cuts) = self.ground.area(self.permit, self.permit.severing) else {
            return (0.0, overlap_m2);
        };
        let sight = self.sight(cuts);
        let (whole_m2, severed_m2) = self.within.whole_and_severed_m2(&sight, self.trunk.place, self.radius_m);
        let severed_m2 = severed_m2.max(self.works_m2(cuts)).min(whole_m2);
        let others = self.ground.area(self.permit, self.permit.other);
        let in_sight_m2 = others.map_or(0.0, |others| sight.visible_area_m2(others) - self.left_out_m2(others));
        let least_m2 = overlap_m2.max(severed_m2);
        let most_m2 = (overlap_m2 + severed_m2).min(whole_m2).max(least_m2);
        (severed_m2, (severed_m2 + in_sight_m2).clamp(least_m2, most_m2))
    }

    fn sight(&self, cuts: &PreparedArea) -> Sight {
        Sight::beyond(cuts, self.trunk.place, self.trunk.works_from_m, self.radius_m)
    }

    /// What of works counts in the circle.
    fn works_m2(&self, works: &PreparedArea) -> f64 {
        works.annulus_area_m2(self.trunk.place, self.trunk.works_from_m, self.radius_m)
    }

    /// What of works lies too near the trunk to count.
    fn left_out_m2(&self, works: &PreparedArea) -> f64 {
        works.disc_area_m2(self.trunk.place, self.trunk.works_from_m.min(self.radius_m))
    }
}
