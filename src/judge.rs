//! Judge: measures and a rule set into a finding that names its clause, measure, value, limit and denominator.
//!
//! Shares and distances are judged as printed (percent to 4 decimals, metres to 3), so that nobody is told "25.0000 %, limit > 25 %:
//! major". First match from the worst down: trunk in work, then the set's limits, then what the set says of any other overlap.

use crate::model::asked::LimitInPart;
use crate::model::effect::Effect;
use crate::model::finding::{Finding, Verdict};
use crate::model::overlap::{Overlap, Reached, RegionAreas};
use crate::model::tree::Tree;
use crate::model::zone::Zone;
use crate::rules::RuleSet;
use crate::rules::limit::{
    Counted, Denominator, Limit, Measure, MeasuredFrom, Outcome, SURFACES_NOT_GIVEN, Selection, Sides,
};
use crate::rules::quantity::BoundUnit;
use crate::rules::stability::STABILITY_DIAMETERS;
use crate::rules::who::Meant;

/// Decimals of a printed share, percent.
const PERCENT_DECIMALS: usize = 4;
/// Works that leave so much of the bearings free lie on one side of a straight line through the trunk.
const HALF_TURN_DEG: f64 = 180.0;
/// What is left of a root zone is nothing where it prints as 0.0000, square metres.
const LEAST_UNSURFACED_M2: f64 = 0.000_05;
/// Up to here a scaled number keeps its fraction to [`NEAR_THE_MIDDLE`] whatever rounding did to it.
const LARGEST_SCALED: f64 = 1e9;
/// A fraction this near one half is left to the text.
const NEAR_THE_MIDDLE: f64 = 1e-5;
/// Roots may be cut so near the trunk that it becomes unstable.
pub const CUT_MAY_BE_CLOSE: &str = "cut_may_be_close";
/// Decimals of a printed distance, metres.
const DISTANCE_DECIMALS: usize = 3;

/// The finding for one tree under the works that `overlap` measures.
///
/// `position_error_m` is the run's setting; the tree's own stated error goes before it. It feeds `verify_on_site` and `cut_may_be_close` only.
///
/// # Panics
/// Where `overlap` was not measured for this zone and rule set (the whole zone, then its rings; one area per effect set).
pub fn judge(rules: &RuleSet, tree: &Tree, zone: &Zone, overlap: &Overlap, position_error_m: f64) -> Finding {
    let case = Case { rules, tree, zone, overlap };
    let mut finding = trunk_in_work(zone, overlap)
        .or_else(|| case.exceeded().next().map(|exceeded| exceeded.finding(&case)))
        .unwrap_or_else(|| any_other_overlap(rules, overlap));
    finding.warnings = warnings(&case, tree.place_error_m(position_error_m));
    finding
}

/// The verdict of [`judge`] alone, for the many places of the borderline test.
pub fn verdict(rules: &RuleSet, tree: &Tree, zone: &Zone, overlap: &Overlap) -> Verdict {
    let case = Case { rules, tree, zone, overlap };
    if meets_trunk(zone, overlap).is_some() {
        return Verdict::TrunkInWork;
    }
    let deciding = case.exceeded().next().map(|exceeded| exceeded.verdict);
    deciding.unwrap_or_else(|| other_verdict(rules, overlap).0)
}

/// The limits that give `verdict` and are exceeded, in the order of the set, without warnings.
pub fn exceeded(case: &Case<'_>, verdict: Verdict) -> Vec<Finding> {
    case.exceeded().filter(|exceeded| exceeded.verdict == verdict).map(|exceeded| exceeded.finding(case)).collect()
}

/// Of these the ones in which a part of the works has a part.
pub fn exceeded_in_part(case: &Case<'_>, verdict: Verdict, part: &Case<'_>) -> Vec<LimitInPart> {
    let same = case.exceeded().filter(|exceeded| exceeded.verdict == verdict && part.has_part_in(exceeded.limit));
    let of_part = |exceeded: Exceeded| {
        let own_pct = exceeded.limit.measure.is_share().then(|| part.share(exceeded.limit)).flatten();
        LimitInPart { finding: exceeded.finding(case), own_pct }
    };
    same.map(of_part).collect()
}

/// Whether a part of the works has a part in what decided on all of them.
pub fn has_part_in_deciding(case: &Case<'_>, part: &Case<'_>) -> bool {
    if meets_trunk(case.zone, case.overlap).is_some() {
        return meets_trunk(part.zone, part.overlap).is_some();
    }
    case.exceeded().next().is_some_and(|exceeded| part.has_part_in(exceeded.limit))
}

/// The finding for a tree that has a place but no usable diameter; `why` is the issue code.
pub fn not_assessed(rules: &RuleSet, why: &str, overlap: &Overlap) -> Finding {
    // Three diameters of nothing known may be any distance.
    let cut_in_reach = overlap.severing_distance_m.is_finite();
    Finding {
        verdict: Verdict::NotAssessed,
        clause: format!("no usable diameter ({why}): {} cannot be applied; measure the tree", rules.name),
        measure: String::new(),
        value: None,
        limit: String::new(),
        denominator: String::new(),
        warnings: cut_in_reach.then_some(CUT_MAY_BE_CLOSE).into_iter().collect(),
    }
}

/// The trunk disc meets a work that occupies, cuts or fills.
fn trunk_in_work(zone: &Zone, overlap: &Overlap) -> Option<Finding> {
    meets_trunk(zone, overlap).map(|(distance_m, trunk_radius_m)| Finding {
        verdict: Verdict::TrunkInWork,
        clause: "the trunk meets a work that occupies, cuts or fills (every rule set; common practice, no source)"
            .to_string(),
        measure: "trunk".to_string(),
        value: Some(distance_m),
        limit: format!("<= {trunk_radius_m:.3} m"),
        denominator: String::new(),
        warnings: Vec::new(),
    })
}

/// The printed distance of the trunk centre and the printed radius of the trunk, metres, where the trunk meets a work.
fn meets_trunk(zone: &Zone, overlap: &Overlap) -> Option<(f64, f64)> {
    let trunk_radius_m = printed(zone.diameter_m / 2.0, DISTANCE_DECIMALS);
    let distance_m = printed(overlap.trunk_distance_m, DISTANCE_DECIMALS);
    (distance_m <= trunk_radius_m).then_some((distance_m, trunk_radius_m))
}

/// One tree under works, those of one permit or of several together.
#[derive(Clone, Copy)]
pub struct Case<'a> {
    /// The rule set.
    pub rules: &'a RuleSet,
    /// The tree.
    pub tree: &'a Tree,
    /// Its root zone by the rule set.
    pub zone: &'a Zone,
    /// What the works take of it, measured for this zone and rule set.
    pub overlap: &'a Overlap,
}

/// A limit that is exceeded.
struct Exceeded<'a> {
    limit: &'a Limit,
    verdict: Verdict,
    value: f64,
}

impl Exceeded<'_> {
    fn finding(&self, case: &Case<'_>) -> Finding {
        let limit = self.limit;
        Finding {
            verdict: self.verdict,
            clause: limit.clause.clone(),
            measure: limit.measure_name.clone(),
            value: Some(self.value),
            limit: limit.limit.written.clone(),
            denominator: case.denominator_name(limit),
            warnings: Vec::new(),
        }
    }
}

impl<'a> Case<'a> {
    /// The limits with a verdict that are exceeded, worst first: the first decides.
    fn exceeded(&self) -> impl Iterator<Item = Exceeded<'a>> {
        let case = *self;
        self.rules.limits.iter().filter_map(move |limit| {
            let Outcome::Verdict(verdict) = limit.gives else { return None };
            case.exceeding(limit).map(|value| Exceeded { limit, verdict, value })
        })
    }

    /// Whether the limit is for this tree and for works on so many sides.
    fn applies(&self, limit: &Limit) -> bool {
        limit.who.means(self.tree) != Meant::No && self.on_sides(limit)
    }

    /// The printed value where the limit is for this tree and these works, and is exceeded.
    fn exceeding(&self, limit: &Limit) -> Option<f64> {
        if self.applies(limit) { self.breaking(limit) } else { None }
    }

    /// The printed value where it breaks the bound, whomever the limit is for.
    fn breaking(&self, limit: &Limit) -> Option<f64> {
        self.value(limit).filter(|&value| limit.limit.comparison.holds(value, self.bound(limit)))
    }

    /// What the value is compared to: a limit in feet or diameters to the same decimals as the distance.
    fn bound(&self, limit: &Limit) -> f64 {
        match limit.limit.unit {
            BoundUnit::Percent => limit.limit.value,
            BoundUnit::Metre => printed(limit.limit.value, DISTANCE_DECIMALS),
            BoundUnit::Diameter => printed(limit.limit.value * self.zone.diameter_m, DISTANCE_DECIMALS),
        }
    }

    /// Whether the works lie on as many sides as the limit asks.
    fn on_sides(&self, limit: &Limit) -> bool {
        let Some(sides) = limit.sides else { return true };
        let gap_deg = self.overlap.widest_gap_deg.expect("measure tells the widest gap where a limit asks for sides");
        (gap_deg >= HALF_TURN_DEG) == (sides == Sides::One)
    }

    /// What the limit compares, as printed. `None` where there is nothing to compare.
    fn value(&self, limit: &Limit) -> Option<f64> {
        match limit.measure {
            Measure::Distance => self.distance_m(limit).map(|distance_m| printed(distance_m, DISTANCE_DECIMALS)),
            Measure::Depth => self.depth_m(limit).map(|depth_m| printed(depth_m, DISTANCE_DECIMALS)),
            Measure::Overlap | Measure::Severed | Measure::Affected => self.share(limit),
        }
    }

    fn distance_m(&self, limit: &Limit) -> Option<f64> {
        let centre_m = self.reached(limit, f64::INFINITY).map(|reached| reached.distance_m).reduce(f64::min);
        centre_m.map(|centre_m| match limit.measured_from {
            MeasuredFrom::Centre => centre_m,
            MeasuredFrom::Face => (centre_m - self.zone.diameter_m / 2.0).max(0.0),
        })
    }

    /// The greatest stated depth of the counted works within the zone or ring.
    fn depth_m(&self, limit: &Limit) -> Option<f64> {
        self.reached(limit, self.region(limit).radius_m).filter_map(|reached| reached.depth_m).reduce(f64::max)
    }

    /// The works that the limit counts, nearer than `within_m`.
    fn reached(&self, limit: &Limit, within_m: f64) -> impl Iterator<Item = &Reached> {
        let Selection { effects, lasting, .. } = limit.selection;
        self.overlap.reached.iter().filter(move |reached| {
            reached.distance_m < within_m
                && reached.effects.meets(effects)
                && lasting.is_none_or(|lasting| lasting == reached.lasting)
        })
    }

    fn region(&self, limit: &Limit) -> &RegionAreas {
        limit.ring.map_or(whole_zone(self.overlap), |ring| {
            // A ring that was not measured must not pass for one without works.
            self.overlap.regions.get(ring + 1).expect("measure fills one region per ring of the rule set")
        })
    }

    /// Whether these works take some of the share that the limit is on, or by themselves break its bound on a length; on how many sides other
    /// works lie is not asked.
    fn has_part_in(&self, limit: &Limit) -> bool {
        if limit.measure.is_share() {
            return self.share(limit).is_some_and(|pct| pct > 0.0);
        }
        self.breaking(limit).is_some()
    }

    /// The share as printed; `None` where existing surfaces leave nothing to be a share of.
    fn share(&self, limit: &Limit) -> Option<f64> {
        let region = self.region(limit);
        let area_m2 = match limit.measure {
            Measure::Severed => region.severed_m2,
            Measure::Affected => region.affected_m2,
            _ => counted_m2(limit.counted, region),
        };
        if limit.denominator == Denominator::Unsurfaced {
            let whole_m2 = unsurfaced_m2(self.overlap)?;
            // Both were rounded on their way, so that a part may be larger than the whole in the last digits.
            return Some(percent(area_m2.min(whole_m2), whole_m2));
        }
        Some(percent(area_m2, self.whole_m2(limit, region)))
    }

    fn whole_m2(&self, limit: &Limit, region: &RegionAreas) -> f64 {
        let zone = whole_zone(self.overlap);
        match limit.denominator {
            Denominator::Ring => region.area_m2(),
            Denominator::Zone | Denominator::Unsurfaced => zone.area_m2(),
            // A barrier in the ground does not shape the crown.
            Denominator::DripLine => {
                let radius_m = self.zone.drip_line_m.expect("a set with such a limit has a ring that is a drip line");
                std::f64::consts::PI * radius_m * radius_m
            }
        }
    }

    fn denominator_name(&self, limit: &Limit) -> String {
        match limit.denominator {
            Denominator::Unsurfaced if whole_zone(self.overlap).surfaced_m2.is_none() => SURFACES_NOT_GIVEN.to_string(),
            _ => limit.denominator_name.clone(),
        }
    }

    /// A published share of the whole zone that the overlap keeps within and the severed share exceeds.
    fn severed_exceeds(&self, limit: &Limit) -> bool {
        let published_share = limit.measure == Measure::Overlap && limit.ring.is_none() && limit.limit.value > 0.0;
        let zone = whole_zone(self.overlap);
        published_share
            && self.applies(limit)
            && self.exceeding(limit).is_none()
            && limit.limit.comparison.holds(percent(zone.severed_m2, zone.area_m2()), limit.limit.value)
    }

    /// What could not be judged as written, for want of data.
    fn not_judged(&self, limit: &Limit) -> Option<&'static str> {
        if !self.applies(limit) {
            return None;
        }
        let surfaces_wanted = limit.denominator == Denominator::Unsurfaced || limit.selection.new_ground;
        let zone = whole_zone(self.overlap);
        if surfaces_wanted && zone.surfaced_m2.is_none() && zone.overlap_m2 > 0.0 {
            return Some("surfaces_not_given");
        }
        if limit.denominator == Denominator::Unsurfaced
            && zone.overlap_m2 > 0.0
            && unsurfaced_m2(self.overlap).is_none()
        {
            return Some("zone_wholly_surfaced");
        }
        let mut reached = self.reached(limit, self.region(limit).radius_m);
        (limit.measure == Measure::Depth && reached.any(|reached| reached.depth_m.is_none()))
            .then_some("depth_not_given")
    }
}

fn whole_zone(overlap: &Overlap) -> &RegionAreas {
    overlap.regions.first().expect("a tree without a diameter is not judged, and every other has a zone")
}

/// The part of the zone without an existing surface, square metres: all of it where none are given, `None` where nothing is left.
fn unsurfaced_m2(overlap: &Overlap) -> Option<f64> {
    let zone = whole_zone(overlap);
    Some(zone.area_m2() - zone.surfaced_m2.unwrap_or(0.0)).filter(|&area_m2| area_m2 >= LEAST_UNSURFACED_M2)
}

fn counted_m2(counted: Counted, region: &RegionAreas) -> f64 {
    match counted {
        Counted::All => region.overlap_m2,
        Counted::Effect(effect) => region.by_effect_m2[effect],
        Counted::Selection(selection) => {
            *region.by_selection_m2.get(selection).expect("measure fills one area per selection of the rule set")
        }
    }
}

/// No limit is exceeded: what the set says of any overlap, or untouched.
fn any_other_overlap(rules: &RuleSet, overlap: &Overlap) -> Finding {
    let (verdict, share) = other_verdict(rules, overlap);
    let (clause, limit) = if share > 0.0 {
        (rules.otherwise.clause.clone(), "> 0 %".to_string())
    } else {
        (untouched_clause(overlap).to_string(), String::new())
    };
    Finding {
        verdict,
        clause,
        measure: "overlap".to_string(),
        value: Some(share),
        limit,
        denominator: "root zone".to_string(),
        warnings: Vec::new(),
    }
}

/// The verdict where no limit is exceeded, and the share of the zone, percent.
fn other_verdict(rules: &RuleSet, overlap: &Overlap) -> (Verdict, f64) {
    let zone = whole_zone(overlap);
    let share = percent(zone.overlap_m2, zone.area_m2());
    (if share > 0.0 { rules.otherwise.gives } else { Verdict::Untouched }, share)
}

fn untouched_clause(overlap: &Overlap) -> &'static str {
    let zone = whole_zone(overlap);
    if zone.overlap_m2 > 0.0 || overlap.distance_m >= zone.radius_m {
        return "no counted work meets the root zone";
    }
    if zone.effect_m2(Effect::Bore) > 0.0 {
        return "only a deep bore passes beneath the root zone; nothing else meets it";
    }
    if zone.shaped_m2.is_some() && overlap.accepted.is_empty() {
        return "the works in reach lie where barriers keep the roots out";
    }
    "what meets the root zone spares it by the mitigations that the application states and the rule set accepts"
}

/// The codes beside the finding: those of the zone, the set's flags, stability, trunk, severed shares, and what was not judged.
fn warnings(case: &Case<'_>, position_error_m: f64) -> Vec<&'static str> {
    let Case { rules, zone, overlap, .. } = case;
    let mut warnings = zone.warnings.clone();
    warnings.extend(rules.limits.iter().filter_map(|limit| match limit.gives {
        Outcome::Flag(code) => case.exceeding(limit).map(|_| code),
        Outcome::Verdict(_) => None,
    }));
    warnings.extend(rules.limits.iter().filter_map(|limit| case.not_judged(limit)));
    warnings.extend((!overlap.accepted.is_empty()).then_some("mitigation_accepted"));
    warnings.extend((!overlap.not_accepted.is_empty()).then_some("mitigation_not_accepted"));
    let close_m = printed(STABILITY_DIAMETERS * zone.diameter_m, DISTANCE_DECIMALS);
    let severing_m = printed(overlap.severing_distance_m, DISTANCE_DECIMALS);
    if severing_m <= close_m {
        warnings.push("qualified_arborist_before_cutting");
    } else if severing_m - position_error_m <= close_m {
        warnings.push(CUT_MAY_BE_CLOSE);
    }
    if (overlap.trunk_distance_m - zone.diameter_m / 2.0).abs() <= position_error_m {
        warnings.push("verify_on_site");
    }
    if rules.limits.iter().any(|limit| case.severed_exceeds(limit)) {
        warnings.push("severed_exceeds");
    }
    warnings.sort_unstable();
    warnings.dedup();
    warnings
}

/// A share as printed, percent.
fn percent(part_m2: f64, whole_m2: f64) -> f64 {
    printed(100.0 * part_m2 / whole_m2, PERCENT_DECIMALS)
}

/// A number as it is printed with that many decimals: the same number that a reader sees. Through text where it lies between two of them.
fn printed(value: f64, decimals: usize) -> f64 {
    if !value.is_finite() {
        return value;
    }
    let scale = 10f64.powi(decimals as i32);
    let scaled = value * scale;
    // A whole number of so many digits divided by a power of ten is rounded once, as reading its text is.
    if scaled.abs() < LARGEST_SCALED && ((scaled - scaled.floor()) - 0.5).abs() > NEAR_THE_MIDDLE {
        return scaled.round() / scale;
    }
    format!("{value:.decimals$}").parse().expect("a printed number can be read")
}

#[cfg(test)]
#[path = "judge_tests.rs"]
mod tests;
