//! Judge: measures and a rule set into a finding that names its clause, measure, value, limit and denominator.
//!
//! Shares and distances are judged as printed (percent to 4 decimals, metres to 3), so that nobody is told "25.0000 %, limit > 25 %:
//! major". First match from the worst down: trunk in work, then the set's limits, then what the set says of any other overlap.

use crate::model::effect::Effect;
use crate::model::finding::{Finding, Verdict};
use crate::model::overlap::{Overlap, RegionAreas};
use crate::model::tree::Tree;
use crate::model::zone::Zone;
use crate::rules::RuleSet;
use crate::rules::limit::{Counted, Denominator, Limit, Measure, Outcome};
use crate::rules::quantity::BoundUnit;
use crate::rules::stability::STABILITY_DIAMETERS;

/// Decimals of a printed share, percent.
const PERCENT_DECIMALS: usize = 4;
/// Decimals of a printed distance, metres.
const DISTANCE_DECIMALS: usize = 3;

/// The finding for one tree under the works that `overlap` measures.
///
/// `position_error_m` is the run's setting; the tree's own stated error goes before it. It feeds `verify_on_site` only.
///
/// # Panics
/// Where `overlap` was not measured for this zone and rule set (the whole zone, then its rings; one area per effect set).
pub fn judge(rules: &RuleSet, tree: &Tree, zone: &Zone, overlap: &Overlap, position_error_m: f64) -> Finding {
    let mut finding = trunk_in_work(zone, overlap)
        .or_else(|| first_limit(rules, overlap))
        .unwrap_or_else(|| any_other_overlap(rules, overlap));
    finding.warnings = warnings(rules, zone, overlap, tree.place_error_m(position_error_m));
    finding
}

/// The finding for a tree that has a place but no usable diameter; `why` is the issue code.
pub fn not_assessed(rules: &RuleSet, why: &str) -> Finding {
    Finding {
        verdict: Verdict::NotAssessed,
        clause: format!("no usable diameter ({why}): {} cannot be applied; measure the tree", rules.name),
        measure: String::new(),
        value: None,
        limit: String::new(),
        denominator: String::new(),
        warnings: Vec::new(),
    }
}

/// The trunk disc meets a work that occupies, cuts or fills.
fn trunk_in_work(zone: &Zone, overlap: &Overlap) -> Option<Finding> {
    let trunk_radius_m = printed(zone.diameter_m / 2.0, DISTANCE_DECIMALS);
    let distance_m = printed(overlap.trunk_distance_m, DISTANCE_DECIMALS);
    (distance_m <= trunk_radius_m).then(|| Finding {
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

/// The first limit with a verdict that is passed; limits stand worst first.
fn first_limit(rules: &RuleSet, overlap: &Overlap) -> Option<Finding> {
    rules.limits.iter().find_map(|limit| {
        let Outcome::Verdict(verdict) = limit.gives else { return None };
        let value = passed(limit, overlap)?;
        Some(Finding {
            verdict,
            clause: limit.clause.clone(),
            measure: limit.measure_name.clone(),
            value: Some(value),
            limit: limit.limit.written.clone(),
            denominator: limit.denominator_name.clone(),
            warnings: Vec::new(),
        })
    })
}

/// The printed value where it passes the limit.
fn passed(limit: &Limit, overlap: &Overlap) -> Option<f64> {
    let value = limit_value(limit, overlap)?;
    // A limit in feet is compared to the same decimals as the distance.
    let bound = match limit.limit.unit {
        BoundUnit::Percent => limit.limit.value,
        BoundUnit::Metre => printed(limit.limit.value, DISTANCE_DECIMALS),
    };
    limit.limit.comparison.holds(value, bound).then_some(value)
}

/// What the limit compares, as printed. `None` where there is nothing to compare.
fn limit_value(limit: &Limit, overlap: &Overlap) -> Option<f64> {
    let zone = whole_zone(overlap);
    if limit.measure == Measure::Distance {
        // Without an overlap the distance may be that of a bore, which no limit counts.
        return (zone.overlap_m2 > 0.0).then(|| printed(overlap.distance_m, DISTANCE_DECIMALS));
    }
    let region = limit.ring.map_or(zone, |ring| {
        // A ring that was not measured must not pass for one without works.
        overlap.regions.get(ring + 1).expect("measure fills one region per ring of the rule set")
    });
    let area_m2 = match limit.measure {
        Measure::Severed => region.severed_m2,
        Measure::Affected => region.affected_m2,
        Measure::Overlap | Measure::Distance => counted_m2(limit.counted, region),
    };
    let whole_m2 = match limit.denominator {
        Denominator::Ring => region.area_m2(),
        Denominator::Zone | Denominator::Unsurfaced => zone.area_m2(),
    };
    Some(percent(area_m2, whole_m2))
}

fn whole_zone(overlap: &Overlap) -> &RegionAreas {
    overlap.regions.first().expect("a tree without a diameter is not judged, and every other has a zone")
}

fn counted_m2(counted: Counted, region: &RegionAreas) -> f64 {
    match counted {
        Counted::All => region.overlap_m2,
        Counted::Effect(effect) => region.by_effect_m2[effect],
        Counted::Set(set) => *region.by_set_m2.get(set).expect("measure fills one area per effect set of the rule set"),
    }
}

/// No limit is passed: what the set says of any overlap, or untouched.
fn any_other_overlap(rules: &RuleSet, overlap: &Overlap) -> Finding {
    let zone = whole_zone(overlap);
    let share = percent(zone.overlap_m2, zone.area_m2());
    let (verdict, clause, limit) = if share > 0.0 {
        (rules.otherwise.gives, rules.otherwise.clause.clone(), "> 0 %".to_string())
    } else {
        (Verdict::Untouched, untouched_clause(zone).to_string(), String::new())
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

fn untouched_clause(zone: &RegionAreas) -> &'static str {
    if zone.effect_m2(Effect::Bore) > 0.0 && zone.overlap_m2 <= 0.0 {
        "only a deep bore passes beneath the root zone; nothing else meets it"
    } else {
        "no counted work meets the root zone"
    }
}

/// The codes beside the finding: those of the zone, the set's flags, stability, trunk and severed shares. Sorted, unique.
fn warnings(rules: &RuleSet, zone: &Zone, overlap: &Overlap, position_error_m: f64) -> Vec<&'static str> {
    let mut warnings = zone.warnings.clone();
    warnings.extend(rules.limits.iter().filter_map(|limit| match limit.gives {
        Outcome::Flag(code) => passed(limit, overlap).map(|_| code),
        Outcome::Verdict(_) => None,
    }));
    let close_m = printed(STABILITY_DIAMETERS * zone.diameter_m, DISTANCE_DECIMALS);
    if printed(overlap.severing_distance_m, DISTANCE_DECIMALS) <= close_m {
        warnings.push("qualified_arborist_before_cutting");
    }
    if (overlap.trunk_distance_m - zone.diameter_m / 2.0).abs() <= position_error_m {
        warnings.push("verify_on_site");
    }
    if rules.limits.iter().any(|limit| severed_exceeds(limit, overlap)) {
        warnings.push("severed_exceeds");
    }
    warnings.sort_unstable();
    warnings.dedup();
    warnings
}

/// A published share of the whole zone that the overlap keeps and the severed share passes.
fn severed_exceeds(limit: &Limit, overlap: &Overlap) -> bool {
    let published_share = limit.measure == Measure::Overlap && limit.ring.is_none() && limit.limit.value > 0.0;
    let zone = whole_zone(overlap);
    published_share
        && passed(limit, overlap).is_none()
        && limit.limit.comparison.holds(percent(zone.severed_m2, zone.area_m2()), limit.limit.value)
}

/// A share as printed, percent.
fn percent(part_m2: f64, whole_m2: f64) -> f64 {
    printed(100.0 * part_m2 / whole_m2, PERCENT_DECIMALS)
}

/// A number as it is printed with that many decimals. Through text, so that it is the same number that a reader sees.
fn printed(value: f64, decimals: usize) -> f64 {
    if !value.is_finite() {
        return value;
    }
    format!("{value:.decimals$}").parse().expect("a printed number can be read")
}

#[cfg(test)]
#[path = "judge_tests.rs"]
mod tests;
