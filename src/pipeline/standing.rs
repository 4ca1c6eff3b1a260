//! How one tree stands under a permit whose line is not where it was drawn: the same zone, measures and judgement as a row, without
//! what only a row tells.

use super::barriers::Shapes;
use super::rows::{Bench, Judged, Scope};
use crate::model::finding::Verdict;
use crate::model::service::Standing;
use crate::model::tree::{Stems, Tree};
use crate::rules::stability::STABILITY_DIAMETERS;

impl Bench<'_> {
    /// The tree against all works of a permit.
    pub(super) fn standing(&self, tree: &Tree, permit: u32) -> Standing {
        let near = self.works_of(tree, permit);
        let shapes = Shapes::new(self.barriers);
        self.standing_in(tree, &Scope { permit, near: &near, united: self.ground.permit(permit), shapes: &shapes })
    }

    /// The tree against the works of a permit for which `counts` holds.
    pub(super) fn standing_with(&self, tree: &Tree, permit: u32, counts: impl Fn(u32) -> bool) -> Standing {
        let mut near = self.works_of(tree, permit);
        near.retain(|&work| counts(work));
        let united = self.ground.unite(self.works, &near, tree.place, self.reach_m(tree));
        let shapes = Shapes::new(self.barriers);
        self.standing_in(tree, &Scope { permit, near: &near, united: &united, shapes: &shapes })
    }

    /// The works of a permit that can matter to the tree, ascending.
    pub(super) fn works_of(&self, tree: &Tree, permit: u32) -> Vec<u32> {
        let mut near = Vec::new();
        self.index.near(tree.place, self.reach_m(tree), &mut near);
        near.retain(|&work| self.permit(work) == permit);
        near
    }

    /// Radius of the root zone, the larger of a class; the search distance for a tree without a diameter, metres.
    pub(super) fn largest_radius_m(&self, tree: &Tree) -> f64 {
        let radius_m = |diameter_m: f64| self.rules.zone_radius_m(tree, diameter_m);
        match tree.stems {
            Stems::Measured(ref stems) => radius_m(self.rules.diameter_m(tree, stems)),
            Stems::Range { low_m, high_m } => radius_m(low_m).max(radius_m(high_m)),
            Stems::AtLeast { low_m } => radius_m(low_m),
            Stems::Unknown(_) => self.search_distance_m,
        }
    }

    /// The worse of both ends of a class of diameters.
    fn standing_in(&self, tree: &Tree, scope: &Scope<'_>) -> Standing {
        let at = |diameter_m: f64| standing_of(self.judged(tree, scope, tree.place, diameter_m));
        match tree.stems {
            Stems::Measured(ref stems) => at(self.rules.diameter_m(tree, stems)),
            Stems::Range { low_m, high_m } => worse(at(low_m), at(high_m)),
            Stems::AtLeast { low_m } => at(low_m),
            Stems::Unknown(_) => {
                let found = self.ground.distances(scope.near, tree.place, self.search_distance_m);
                found.map_or(Standing::OUT_OF_REACH, |overlap| Standing {
                    verdict: Verdict::NotAssessed,
                    distance_m: overlap.distance_m,
                    ..Standing::OUT_OF_REACH
                })
            }
        }
    }
}

fn standing_of(judged: Option<Judged>) -> Standing {
    let Some(Judged { zone, overlap, finding }) = judged else { return Standing::OUT_OF_REACH };
    let share = |area_m2: f64| printed(100.0 * area_m2 / zone.area_m2());
    let whole = overlap.regions.first();
    Standing {
        verdict: finding.verdict,
        affected_pct: whole.map_or(0.0, |whole| share(whole.affected_m2)),
        severed_pct: whole.map_or(0.0, |whole| share(whole.severed_m2)),
        cut_close: overlap.severing_distance_m <= STABILITY_DIAMETERS * zone.diameter_m,
        severed_exceeds: finding.warnings.contains(&"severed_exceeds"),
        distance_m: overlap.distance_m,
    }
}

/// A share as tables print it.
fn printed(percent: f64) -> f64 {
    (percent * 1e4).round() / 1e4
}

fn worse(a: Standing, b: Standing) -> Standing {
    Standing {
        verdict: a.verdict.max(b.verdict),
        affected_pct: a.affected_pct.max(b.affected_pct),
        severed_pct: a.severed_pct.max(b.severed_pct),
        cut_close: a.cut_close || b.cut_close,
        severed_exceeds: a.severed_exceeds || b.severed_exceeds,
        distance_m: a.distance_m.min(b.distance_m),
    }
}
