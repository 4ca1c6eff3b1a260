//! One tree -> its rows: zone, index, measure, judge, and whether the finding stands on the edge.

use crate::index::WorkIndex;
use crate::judge;
use crate::measure::Ground;
use crate::model::finding::{Finding, Verdict};
use crate::model::overlap::Overlap;
use crate::model::results::{Row, RowDiameter};
use crate::model::tree::{Stems, Tree};
use crate::model::work::Work;
use crate::model::zone::Zone;
use crate::rules::RuleSet;
use geo::{Coord, coord};

/// What every tree is held against; shared by all workers.
pub(super) struct Bench<'a> {
    pub rules: &'a RuleSet,
    pub index: &'a WorkIndex,
    pub ground: &'a Ground,
    pub works: &'a [Work],
    pub position_error_m: f64,
    pub search_distance_m: f64,
}

/// Directions in which a place is moved to see whether its finding is borderline, besides straight along the two axes.
const BEARINGS: usize = 8;

/// A finding with everything that led to it.
struct Judged {
    zone: Zone,
    overlap: Overlap,
    finding: Finding,
}

impl Bench<'_> {
    /// All rows of one tree, by permit index ascending. Empty where nothing reaches it. `tree` is left at 0 for the caller.
    pub(super) fn rows(&self, tree: &Tree) -> Vec<Row> {
        let mut near = Vec::new();
        self.index.near(tree.place, self.reach_m(tree), &mut near);
        if near.is_empty() {
            return Vec::new();
        }
        // Works are ordered by permit, so one permit's candidates stand side by side.
        let permits = near.chunk_by(|a, b| self.permit(*a) == self.permit(*b));
        permits.filter_map(|works| self.row(tree, self.permit(works[0]), works)).collect()
    }

    fn permit(&self, work: u32) -> u32 {
        self.works[work as usize].permit
    }

    /// How far a work can be and still matter to the tree, with room for the moves of the borderline test.
    fn reach_m(&self, tree: &Tree) -> f64 {
        let zone_m = |diameter_m: f64| self.rules.zone(tree, diameter_m).radius_m;
        let radius_m = match tree.stems {
            Stems::Measured(ref stems) => {
                let moved = self.rounded_away(tree, stems);
                moved.into_iter().map(zone_m).fold(zone_m(self.rules.diameter_m(stems)), f64::max)
            }
            Stems::Range { low_m, high_m } => zone_m(low_m).max(zone_m(high_m)),
            Stems::AtLeast { low_m } => zone_m(low_m),
            Stems::Unknown(_) => self.search_distance_m,
        };
        radius_m + self.error_m(tree)
    }

    fn error_m(&self, tree: &Tree) -> f64 {
        tree.position_error_m.unwrap_or(self.position_error_m)
    }

    fn row(&self, tree: &Tree, permit: u32, near: &[u32]) -> Option<Row> {
        match tree.stems {
            Stems::Measured(ref stems) => {
                let diameter = RowDiameter::Known(self.rules.diameter_m(stems));
                self.measured_row(tree, permit, near, diameter, &self.rounded_away(tree, stems))
            }
            Stems::AtLeast { low_m } => self.measured_row(tree, permit, near, RowDiameter::AtLeast(low_m), &[]),
            Stems::Range { low_m, high_m } => self.range_row(tree, permit, near, low_m, high_m),
            Stems::Unknown(why) => self.unknown_row(tree, permit, near, why),
        }
    }

    fn measured_row(
        &self,
        tree: &Tree,
        permit: u32,
        near: &[u32],
        diameter: RowDiameter,
        rounded_away_m: &[f64],
    ) -> Option<Row> {
        let diameter_m = diameter.used_m()?;
        let judged = self.judged(tree, permit, near, tree.place, diameter_m)?;
        let verdict = judged.finding.verdict;
        let place = self.place_flips(tree, permit, near, diameter_m, verdict);
        let rounding =
            rounded_away_m.iter().any(|&moved_m| self.verdict_at(tree, permit, near, tree.place, moved_m) != verdict);
        let at_least = matches!(diameter, RowDiameter::AtLeast(_));
        let heritage_class = self.rules.heritage_class(tree, diameter_m, at_least).unwrap_or_default();
        Some(assembled(permit, diameter, judged, heritage_class, borderline_word(place, rounding)))
    }

    /// Judged at both ends of the class; the worse finding stays (the upper end where they are equal).
    fn range_row(&self, tree: &Tree, permit: u32, near: &[u32], low_m: f64, high_m: f64) -> Option<Row> {
        let low = self.judged(tree, permit, near, tree.place, low_m);
        let high = self.judged(tree, permit, near, tree.place, high_m);
        let verdict = |judged: &Option<Judged>| judged.as_ref().map_or(Verdict::Untouched, |j| j.finding.verdict);
        let (low_verdict, high_verdict) = (verdict(&low), verdict(&high));
        let (used, used_m, other) =
            if low_verdict > high_verdict { (low?, low_m, high_verdict) } else { (high?, high_m, low_verdict) };
        let flips = low_verdict != high_verdict;
        let place = self.place_flips(tree, permit, near, used_m, used.finding.verdict);
        let heritage_class = self.rules.heritage_class(tree, high_m, false).unwrap_or_default();
        let diameter = RowDiameter::Range { used_m, low_m, high_m, other };
        Some(assembled(permit, diameter, used, heritage_class, borderline_word(place, flips)))
    }

    fn unknown_row(&self, tree: &Tree, permit: u32, near: &[u32], why: &'static str) -> Option<Row> {
        let overlap = self.ground.distances(near, tree.place, self.search_distance_m)?;
        Some(Row {
            permit,
            tree: 0,
            diameter: RowDiameter::Unknown(why),
            zone: None,
            overlap,
            finding: judge::not_assessed(self.rules, why),
            heritage_class: self.rules.heritage_class(tree, 0.0, false).unwrap_or_default(),
            borderline: "",
        })
    }

    fn judged(&self, tree: &Tree, permit: u32, near: &[u32], place: Coord<f64>, diameter_m: f64) -> Option<Judged> {
        let zone = self.rules.zone(tree, diameter_m);
        let radii = radii(&zone);
        let overlap = self.ground.measure(permit, near, place, &radii)?;
        let finding = judge::judge(self.rules, tree, &zone, &overlap, self.error_m(tree));
        Some(Judged { zone, overlap, finding })
    }

    fn verdict_at(&self, tree: &Tree, permit: u32, near: &[u32], place: Coord<f64>, diameter_m: f64) -> Verdict {
        self.judged(tree, permit, near, place, diameter_m).map_or(Verdict::Untouched, |judged| judged.finding.verdict)
    }

    /// Whether the verdict changes when the place moves by its error in any of [`BEARINGS`] directions.
    fn place_flips(&self, tree: &Tree, permit: u32, near: &[u32], diameter_m: f64, verdict: Verdict) -> bool {
        let error_m = self.error_m(tree);
        error_m > 0.0
            && (0..BEARINGS).any(|step| {
                let (sine, cosine) = (step as f64 / BEARINGS as f64 * std::f64::consts::TAU).sin_cos();
                let moved = tree.place + coord! { x: error_m * cosine, y: error_m * sine };
                self.verdict_at(tree, permit, near, moved, diameter_m) != verdict
            })
    }

    /// The least and the greatest diameter that the written stems can stand for; none where the rounding is not known.
    fn rounded_away(&self, tree: &Tree, stems: &[f64]) -> Vec<f64> {
        if tree.rounding_m <= 0.0 {
            return Vec::new();
        }
        let moved = |step_m: f64| stems.iter().map(|&stem_m| (stem_m + step_m).max(stem_m / 2.0)).collect::<Vec<_>>();
        [-tree.rounding_m, tree.rounding_m].map(|step_m| self.rules.diameter_m(&moved(step_m))).to_vec()
    }

    /// The row of several permits together; `alone` is the tree's row under one of them, whose diameter is used.
    pub(super) fn together_row(&self, tree: &Tree, permits: &[u32], alone: &Row) -> Option<Row> {
        let diameter_m = alone.diameter.used_m()?;
        let mut near = Vec::new();
        self.index.near(tree.place, self.reach_m(tree), &mut near);
        near.retain(|&work| permits.contains(&self.permit(work)));
        let zone = self.rules.zone(tree, diameter_m);
        let overlap = self.ground.measure_together(self.works, &near, tree.place, &radii(&zone))?;
        let finding = judge::judge(self.rules, tree, &zone, &overlap, self.error_m(tree));
        let judged = Judged { zone, overlap, finding };
        Some(assembled(permits[0], alone.diameter.clone(), judged, alone.heritage_class.clone(), ""))
    }
}

fn radii(zone: &Zone) -> Vec<f64> {
    std::iter::once(zone.radius_m).chain(zone.rings.iter().map(|ring| ring.radius_m)).collect()
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
    permit: u32,
    diameter: RowDiameter,
    judged: Judged,
    heritage_class: String,
    borderline: &'static str,
) -> Row {
    let Judged { zone, overlap, finding } = judged;
    Row { permit, tree: 0, diameter, zone: Some(zone), overlap, finding, heritage_class, borderline }
}
