//! What is advised of one line at one tree, by a table of rules; the first that holds decides. No promise: the words say what a
//! qualified person has to look at.

use crate::model::finding::Verdict;
use crate::model::service::{Advice, LineTree};
use crate::model::zone::Zone;
use std::fmt::Write;

/// The rules in their order, each with its reason: what `docs` prints. Common practice, no source, where no source is named.
pub const RULES: [(Advice, &str, &str); 7] = [
    (
        Advice::Measure,
        "the tree has no usable diameter",
        "no root zone can be drawn, and nothing is advised on a guess",
    ),
    (Advice::NoneNeeded, "the line takes nothing of the root zone", "there is nothing to spare"),
    (
        Advice::Dig,
        "the line alone is at most `minor`, makes no finding of the permit worse than `minor`, cuts nothing within 3 trunk diameters, and severs no more than the share that the rule set allows of footprint",
        "the rule set bears it; roots that are met are cut clean and covered by somebody who knows how",
    ),
    (
        Advice::Move,
        "a shift within the given distance takes the line out of the zone, and no tree near it is worse off",
        "a line on paper is moved for nothing, and leaves the whole zone alone",
    ),
    (
        Advice::Bore,
        "both pits have room outside every root zone",
        "the bore passes beneath nearly all roots (most lie in the upper 0.6 to 1 m: general knowledge, no source)",
    ),
    (
        Advice::MoveAndHandDig,
        "a shift takes the line out of a ring of the rule set",
        "the roots nearest to the trunk, which hold the tree up, are left alone",
    ),
    (Advice::HandDig, "nothing of the above", "large roots can be left whole only where somebody sees them"),
];

/// What decides, apart from what stands in the line's own row.
pub(super) struct Case<'a> {
    /// The verdict of the row: all works of the permit.
    pub verdict: Verdict,
    /// The zone of the row.
    pub zone: Option<&'a Zone>,
    /// Names of the rule set's rings.
    pub rings: &'a [String],
    /// How far a line may be moved, metres.
    pub within_m: f64,
    /// The line's trench meets the trunk.
    pub on_trunk: bool,
    /// The line is a bore already, of unknown depth or not deep enough.
    pub shallow_bore: bool,
    /// The line crosses the zones of other trees as well.
    pub crosses_more: bool,
}

/// Fills in advice and reason.
pub(super) fn advise(line: &mut LineTree, case: &Case<'_>) {
    line.advice = decided(line, case);
    line.reason = reason(line, case);
}

fn decided(line: &LineTree, case: &Case<'_>) -> Advice {
    if case.zone.is_none() {
        return Advice::Measure;
    }
    if line.alone.affected_pct <= 0.0 {
        return Advice::NoneNeeded;
    }
    if !needs_more(line, case) {
        return Advice::Dig;
    }
    if line.every_zone.is_some() || line.zone.is_some() {
        return Advice::Move;
    }
    match line.bore.as_ref().is_some_and(|bore| bore.possible) {
        true => Advice::Bore,
        false if line.ring.is_some() => Advice::MoveAndHandDig,
        false => Advice::HandDig,
    }
}

fn needs_more(line: &LineTree, case: &Case<'_>) -> bool {
    let too_much = |verdict: Verdict| verdict > Verdict::Minor;
    let adds = too_much(case.verdict) && line.without.verdict < case.verdict;
    too_much(line.alone.verdict) || adds || line.cut_close || line.alone.severed_exceeds
}

fn reason(line: &LineTree, case: &Case<'_>) -> String {
    if case.zone.is_none() {
        return "no usable diameter: measure the tree before the line is laid out".to_string();
    }
    let mut text = format!(
        "alone the line affects {:.1} % of the root zone ({}); with all works of the permit {}, without the line {}",
        line.alone.affected_pct,
        line.alone.verdict.word(),
        case.verdict.word(),
        line.without.verdict.word()
    );
    if case.on_trunk {
        text.push_str("; the line as drawn meets the trunk");
    }
    if case.shallow_bore {
        text.push_str("; a bore of unknown depth, or not deep enough for the rule set, counts as a cut: state its depth, or pass deeper");
    }
    if line.cut_close {
        text.push_str("; within 3 trunk diameters: stability, a qualified arborist before any cut");
    }
    if line.alone.severed_exceeds {
        text.push_str("; what it severs passes the share that the rule set allows of footprint");
    }
    if line.advice != Advice::NoneNeeded && line.advice != Advice::Dig {
        text.push_str(&ways_out(line, case));
    }
    text
}

/// Which ways out there are, and why not the others.
fn ways_out(line: &LineTree, case: &Case<'_>) -> String {
    let mut text = String::new();
    match (&line.every_zone, &line.zone) {
        (None, None) => {
            let _ = write!(
                text,
                "; no shift within {} m leaves the zone without making another tree worse off",
                case.within_m
            );
        }
        (Some(every), _) => {
            let _ = write!(text, "; {:.2} m to the side it leaves every zone that it crosses", every.shift.distance_m);
        }
        (None, Some(zone)) => {
            let others = if case.crosses_more { ", though not every other that it crosses" } else { "" };
            let _ = write!(text, "; {:.2} m to the side it leaves this zone{others}", zone.shift.distance_m);
        }
    }
    if line.bore.as_ref().is_some_and(|bore| !bore.possible) {
        text.push_str("; no bore, because a pit has no room outside the zones");
    }
    if let Some(ring) = line.ring.as_ref().filter(|_| line.advice == Advice::MoveAndHandDig) {
        let name = match ring.clears {
            crate::model::service::Clears::Ring(ring) => case.rings.get(ring).map_or("", String::as_str),
            _ => "",
        };
        let _ = write!(text, "; {:.2} m to the side it leaves the {name} ring", ring.shift.distance_m);
    }
    text
}
