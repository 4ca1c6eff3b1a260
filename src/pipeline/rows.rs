//! One tree -> its rows: zone, index, measure, judge, and whether the finding stands on the edge.

use super::barriers::{RootBarriers, Shapes, over_trunk};
use super::replacement;
use crate::index::WorkIndex;
use crate::judge;
use crate::measure::{Asked, Ground, PermitGround, Trunk, VerdictWants, Wants};
use crate::model::finding::{Finding, Verdict};
use crate::model::overlap::Overlap;
use crate::model::results::{Row, RowDiameter, UnshapedResult};
use crate::model::tree::{Stems, Tree};
use crate::model::work::Work;
use crate::model::zone::Zone;
use crate::rules::RuleSet;
use geo::{Coord, coord};
use std::sync::Arc;

/// What every tree is held against; shared by all workers.
pub(super) struct Bench<'a> {
    pub rules: &'a RuleSet,
    /// Its place among the run's rule sets.
    pub rule_set: u16,
    pub index: &'a WorkIndex,
    pub ground: &'a Ground,
    pub works: &'a [Work],
    pub position_error_m: f64,
    pub search_distance_m: f64,
    /// Works nearer the trunk than this are left out, metres: 0 but where set-backs are tried.
    pub works_from_m: f64,
    /// Barriers that shape root zones, where given.
    pub barriers: Option<&'a RootBarriers>,
}

/// What a rule set asks to be measured beyond the standard measures.
pub(super) fn wanted_by(rules: &RuleSet) -> Wants {
    Wants {
        selections: rules.selections.clone(),
        severed_in_rings: rules.severed_in_rings,
        reached: rules.wants_reached(),
        sides: rules.wants_sides(),
        verdict: VerdictWants {
            effects: rules.effects_of_verdict(),
            rings: rules.rings_of_verdict(),
            severed: rules.severed_of_verdict(),
        },
    }
}

/// Directions, evenly spread, in which a place is moved to see whether its finding is borderline.
const BEARINGS: usize = 16;

/// The works that a row is about: those of one permit, or of several together.
pub(super) struct Scope<'a> {
    /// The permit, or the first of several.
    pub permit: u32,
    /// Candidate works, ascending.
    pub near: &'a [u32],
    /// Their ground.
    pub united: &'a PermitGround,
    /// What barriers make of the tree's zones.
    pub shapes: &'a Shapes<'a>,
}

/// A finding with everything that led to it.
pub(super) struct Judged {
    pub zone: Zone,
    pub overlap: Overlap,
    pub finding: Finding,
}

/// The classes that a tree reaches; empty where none.
struct Classes {
    heritage: String,
    protected: String,
}

impl Bench<'_> {
    /// All rows of one tree, by permit index ascending. Empty where nothing reaches it. `Row::tree` is left at 0 for the caller.
    pub(super) fn rows(&self, tree: &Arc<Tree>) -> Vec<Row> {
        let mut near = Vec::new();
        self.index.near(tree.place, self.reach_m(tree), &mut near);
        // Works are ordered by permit, so one permit's candidates stand side by side.
        let permits = near.chunk_by(|a, b| self.permit(*a) == self.permit(*b));
        let shapes = Shapes::new(self.barriers);
        let scopes = permits.map(|near| {
            let permit = self.permit(near[0]);
            Scope { permit, near, united: self.ground.permit(permit), shapes: &shapes }
        });
        scopes.filter_map(|scope| self.row(tree, &scope)).collect()
    }

    /// The row of several permits together; `permits` ascending.
    pub(super) fn together_row(&self, tree: &Arc<Tree>, permits: &[u32]) -> Option<Row> {
        let reach_m = self.reach_m(tree);
        let mut near = Vec::new();
        self.index.near(tree.place, reach_m, &mut near);
        near.retain(|&work| permits.contains(&self.permit(work)));
        let united = self.ground.unite(self.works, &near, tree.place, reach_m);
        let shapes = Shapes::new(self.barriers);
        self.row(tree, &Scope { permit: permits[0], near: &near, united: &united, shapes: &shapes })
    }

    pub(super) fn permit(&self, work: u32) -> u32 {
        self.works[work as usize].permit
    }

    /// How far a work can be and still matter to the tree, with room for the moves of the borderline test.
    pub(super) fn reach_m(&self, tree: &Tree) -> f64 {
        let reach_m = |diameter_m: f64| {
            let zone_m = self.rules.zone_radius_m(tree, diameter_m).max(diameter_m / 2.0);
            zone_m.max(self.rules.farthest_limit_m(tree, diameter_m))
        };
        let radius_m = match tree.stems {
            Stems::Measured(ref stems) => {
                let moved = self.rounded_away(tree, stems);
                moved.into_iter().flatten().map(reach_m).fold(reach_m(self.rules.diameter_m(tree, stems)), f64::max)
            }
            Stems::Range { low_m, high_m } => reach_m(low_m).max(reach_m(high_m)),
            Stems::AtLeast { low_m } => reach_m(low_m),
            Stems::Unknown(_) => self.search_distance_m,
        };
        let error_m = self.error_m(tree);
        let growth = self.barriers.map_or(1.0, |by| by.most_growth(tree.place, radius_m + error_m));
        growth * radius_m + error_m
    }

    fn error_m(&self, tree: &Tree) -> f64 {
        tree.place_error_m(self.position_error_m)
    }

    fn row(&self, tree: &Arc<Tree>, scope: &Scope<'_>) -> Option<Row> {
        let row = self.judged_row(tree, scope)?;
        Some(Row { replacement: replacement::of_row(self.rules, tree, &row).map(Box::new), ..row })
    }

    fn judged_row(&self, tree: &Arc<Tree>, scope: &Scope<'_>) -> Option<Row> {
        match tree.stems {
            Stems::Measured(ref stems) => {
                let diameter = RowDiameter::Known(self.rules.diameter_m(tree, stems));
                self.measured_row(tree, scope, diameter, self.rounded_away(tree, stems).as_slice().as_flattened())
            }
            Stems::AtLeast { low_m } => self.measured_row(tree, scope, RowDiameter::AtLeast(low_m), &[]),
            Stems::Range { low_m, high_m } => self.range_row(tree, scope, low_m, high_m),
            Stems::Unknown(why) => self.unknown_row(tree, scope, why),
        }
    }

    fn measured_row(
        &self,
        tree: &Arc<Tree>,
        scope: &Scope<'_>,
        diameter: RowDiameter,
        rounded_away_m: &[f64],
    ) -> Option<Row> {
        let diameter_m = diameter.used_m()?;
        let judged = self.judged(tree, scope, tree.place, diameter_m)?;
        let found = judged.finding.verdict;
        let place = self.place_flips(tree, scope, diameter_m, &judged);
        let rounding = rounded_away_m.iter().any(|&moved_m| self.verdict_at(tree, scope, tree.place, moved_m) != found);
        let at_least = matches!(diameter, RowDiameter::AtLeast(_));
        let classes = self.classes(tree, diameter_m, at_least);
        let unshaped = self.unshaped(tree, scope, &judged);
        let row =
            assembled((self.rule_set, scope.permit, tree), diameter, judged, classes, borderline_word(place, rounding));
        Some(Row { unshaped, ..row })
    }

    /// Judged at both ends of the class; the worse finding stays (the upper end where they are equal).
    fn range_row(&self, tree: &Arc<Tree>, scope: &Scope<'_>, low_m: f64, high_m: f64) -> Option<Row> {
        let low = self.judged(tree, scope, tree.place, low_m);
        let high = self.judged(tree, scope, tree.place, high_m);
        let (low_verdict, high_verdict) = (verdict_of(&low), verdict_of(&high));
        let (used, used_m, other) =
            if low_verdict > high_verdict { (low?, low_m, high_verdict) } else { (high?, high_m, low_verdict) };
        let flips = low_verdict != high_verdict;
        let place = self.place_flips(tree, scope, used_m, &used);
        let classes = self.classes(tree, high_m, false);
        let diameter = RowDiameter::Range { used_m, low_m, high_m, other };
        let unshaped = self.unshaped(tree, scope, &used);
        let row =
            assembled((self.rule_set, scope.permit, tree), diameter, used, classes, borderline_word(place, flips));
        Some(Row { unshaped, ..row })
    }

    fn unknown_row(&self, tree: &Arc<Tree>, scope: &Scope<'_>, why: &'static str) -> Option<Row> {
        let classes = self.classes(tree, 0.0, false);
        let overlap = self.ground.distances(scope.near, tree.place, self.search_distance_m)?;
        Some(Row {
            rule_set: self.rule_set,
            permit: scope.permit,
            tree: 0,
            of: Arc::clone(tree),
            diameter: RowDiameter::Unknown(why),
            zone: None,
            finding: judge::not_assessed(self.rules, why, &overlap),
            overlap,
            heritage_class: classes.heritage,
            protected_class: classes.protected,
            replacement: None,
            borderline: "",
            unshaped: None,
        })
    }

    fn classes(&self, tree: &Tree, diameter_m: f64, at_least: bool) -> Classes {
        Classes {
            heritage: self.rules.heritage_class(tree, diameter_m, at_least).unwrap_or_default(),
            protected: self.rules.protected_class(tree, diameter_m, at_least).unwrap_or_default(),
        }
    }

    pub(super) fn judged(&self, tree: &Tree, scope: &Scope<'_>, place: Coord<f64>, diameter_m: f64) -> Option<Judged> {
        let zone = scope.shapes.shaped(self.rules.zone(tree, diameter_m), place);
        self.judged_in(tree, scope, place, &zone)
    }

    fn judged_in(&self, tree: &Tree, scope: &Scope<'_>, place: Coord<f64>, zone: &Zone) -> Option<Judged> {
        let zone_m = zone.radius_m.max(zone.diameter_m / 2.0);
        let limits_m = self.rules.farthest_limit_m(tree, zone.diameter_m);
        let near = self.judged_within(tree, scope, place, zone, zone_m);
        if limits_m <= zone_m {
            return near;
        }
        // A work outside the zone matters to no limit but one on distance.
        let far = self.judged_within(tree, scope, place, zone, limits_m);
        if verdict_of(&far) > verdict_of(&near) { far } else { near }
    }

    fn judged_within(
        &self,
        tree: &Tree,
        scope: &Scope<'_>,
        place: Coord<f64>,
        zone: &Zone,
        reach_m: f64,
    ) -> Option<Judged> {
        let trunk = Trunk { place, works_from_m: self.works_from_m, asked: Asked::All };
        let overlap = self.measured(scope, trunk, zone, reach_m)?;
        let finding = judge::judge(self.rules, tree, zone, &overlap, self.position_error_m);
        Some(Judged { zone: zone.clone(), overlap, finding })
    }

    fn measured(&self, scope: &Scope<'_>, trunk: Trunk, zone: &Zone, reach_m: f64) -> Option<Overlap> {
        let radii: Vec<f64> =
            std::iter::once(zone.radius_m).chain(zone.rings.iter().map(|ring| ring.radius_m)).collect();
        match zone.ground() {
            None => self.ground.measure(scope.united, scope.near, trunk, &radii, reach_m),
            Some(ground) => self.ground.measure_shaped(ground, self.works, scope.near, trunk, &radii, reach_m),
        }
    }

    /// The verdict of [`Bench::judged_in`] alone.
    fn verdict_in(&self, tree: &Tree, scope: &Scope<'_>, place: Coord<f64>, zone: &Zone) -> Verdict {
        let trunk = Trunk { place, works_from_m: self.works_from_m, asked: Asked::Verdict };
        let within = |reach_m: f64| {
            let overlap = self.measured(scope, trunk, zone, reach_m);
            overlap.map_or(Verdict::Untouched, |overlap| judge::verdict(self.rules, tree, zone, &overlap))
        };
        let zone_m = zone.radius_m.max(zone.diameter_m / 2.0);
        let limits_m = self.rules.farthest_limit_m(tree, zone.diameter_m);
        let near = within(zone_m);
        if limits_m <= zone_m { near } else { near.max(within(limits_m)) }
    }

    /// What the whole disc would say where barriers shape the zone.
    fn unshaped(&self, tree: &Tree, scope: &Scope<'_>, judged: &Judged) -> Option<Box<UnshapedResult>> {
        judged.zone.shape.as_ref()?;
        let zone = self.rules.zone(tree, judged.zone.diameter_m);
        let area_m2 = zone.area_m2();
        let none =
            UnshapedResult { area_m2, overlap_m2: 0.0, severed_m2: 0.0, affected_m2: 0.0, verdict: Verdict::Untouched };
        let found = self.judged_in(tree, scope, tree.place, &zone).and_then(|judged| {
            let whole = judged.overlap.regions.first()?;
            let (overlap_m2, severed_m2, affected_m2) = (whole.overlap_m2, whole.severed_m2, whole.affected_m2);
            Some(UnshapedResult { area_m2, overlap_m2, severed_m2, affected_m2, verdict: judged.finding.verdict })
        });
        Some(Box::new(found.unwrap_or(none)))
    }

    fn verdict_at(&self, tree: &Tree, scope: &Scope<'_>, place: Coord<f64>, diameter_m: f64) -> Verdict {
        let zone = scope.shapes.shaped(self.rules.zone(tree, diameter_m), place);
        self.verdict_in(tree, scope, place, &zone)
    }

    /// Whether the verdict changes when the place moves by its error straight towards or away from the edge of the work that its
    /// distance speaks of, or in any of [`BEARINGS`] directions.
    fn place_flips(&self, tree: &Tree, scope: &Scope<'_>, diameter_m: f64, judged: &Judged) -> bool {
        let error_m = self.error_m(tree);
        // A trunk that stands deeper in a work than its place can be off stays there.
        if error_m == 0.0 || judged.overlap.trunk_distance_m + error_m < diameter_m / 2.0 {
            return false;
        }
        let around = (0..BEARINGS).map(|step| {
            let (sine, cosine) = (step as f64 / BEARINGS as f64 * std::f64::consts::TAU).sin_cos();
            coord! { x: cosine, y: sine }
        });
        // The likeliest flips first, which also saves looking around.
        let straight = self.towards(tree.place, judged.overlap.nearest_work);
        straight.into_iter().flat_map(|towards| [towards, -towards]).chain(around).any(|direction| {
            let place = tree.place + direction * error_m;
            if self.barriers.is_none() {
                return self.verdict_in(tree, scope, place, &judged.zone) != judged.finding.verdict;
            }
            let zone = scope.shapes.shaped(self.rules.zone(tree, diameter_m), place);
            // A tree does not stand where a barrier does, unless it seems to already.
            let on_barrier = over_trunk(&zone) && !over_trunk(&judged.zone);
            !on_barrier && self.verdict_in(tree, scope, place, &zone) != judged.finding.verdict
        })
    }

    /// The direction, of length 1, from a place to the nearest edge of a work; `None` where the place is on it.
    fn towards(&self, place: Coord<f64>, work: u32) -> Option<Coord<f64>> {
        let way = self.ground.way_to_edge(work, place)?;
        let length_m = way.x.hypot(way.y);
        (length_m > 0.0).then(|| way / length_m)
    }

    /// The least and the greatest diameter that the written stems can stand for; none where the rounding is not known.
    fn rounded_away(&self, tree: &Tree, stems: &[f64]) -> Option<[f64; 2]> {
        if tree.rounding_m <= 0.0 {
            return None;
        }
        let moved = |stem_m: f64, step_m: f64| (stem_m + step_m).max(stem_m / 2.0);
        Some([-tree.rounding_m, tree.rounding_m].map(|step_m| match stems {
            // Most trees: no memory is asked for.
            [stem_m] => self.rules.diameter_m(tree, &[moved(*stem_m, step_m)]),
            _ => self.rules.diameter_m(tree, &stems.iter().map(|&stem_m| moved(stem_m, step_m)).collect::<Vec<_>>()),
        }))
    }
}

fn verdict_of(judged: &Option<Judged>) -> Verdict {
    judged.as_ref().map_or(Verdict::Untouched, |judged| judged.finding.verdict)
}

fn borderline_word(place: bool, diameter: bool) -> &'static str {
    match (place, diameter) {
        (true, true) => "place+diameter",
        (true, false) => "place",
        (false, true) => "diameter",
        (false, false) => "",
    }
}

fn assembled(
    (rule_set, permit, tree): (u16, u32, &Arc<Tree>),
    diameter: RowDiameter,
    judged: Judged,
    classes: Classes,
    borderline: &'static str,
) -> Row {
    let Judged { zone, overlap, finding } = judged;
    let Classes { heritage, protected } = classes;
    Row {
        rule_set,
        permit,
        tree: 0,
        of: Arc::clone(tree),
        diameter,
        zone: Some(zone),
        overlap,
        finding,
        heritage_class: heritage,
        protected_class: protected,
        replacement: None,
        borderline,
        unshaped: None,
    }
}

#[cfg(test)]
#[path = "verdict_tests.rs"]
mod verdict_tests;
