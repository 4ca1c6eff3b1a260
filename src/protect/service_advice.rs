//! What is advised of one line at one tree, by a table of rules; the first that holds decides. No promise: the words say what a
//! qualified person has to look at.

use crate::model::finding::Verdict;
use crate::model::results::Row;
use crate::model::service::{Advice, Clears, LineTree};
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
        "the one shift of the line that leaves most of the zones that need it takes it out of this one, and no tree near it is worse off",
        "a line on paper is moved for nothing, and leaves the whole zone alone",
    ),
    (
        Advice::Bore,
        "both pits have room outside every root zone",
        "the bore passes beneath nearly all roots (most lie in the upper 0.6 to 1 m: general knowledge, no source)",
    ),
    (
        Advice::MoveAndHandDig,
        "no shift leaves a zone, and one takes the line out of a ring of the rule set",
        "the roots nearest to the trunk, which hold the tree up, are left alone",
    ),
    (Advice::HandDig, "nothing of the above", "large roots can be left whole only where somebody sees them"),
];

/// What decides, apart from what stands in the line's own row.
pub(super) struct Case<'a> {
    /// The row: all works of the permit.
    pub row: &'a Row,
    /// Names of the rule set's rings.
    pub rings: &'a [String],
    /// How far a line may be moved, metres.
    pub within_m: f64,
    /// The one shift that is advised for the line, for this tree or for others, metres.
    pub moved_m: Option<f64>,
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
    if case.row.zone.is_none() {
        return Advice::Measure;
    }
    if line.alone.affected_pct <= 0.0 {
        return Advice::NoneNeeded;
    }
    if !needs_more(line, case.row) {
        return Advice::Dig;
    }
    match line.advised.map(|advised| advised.clears) {
        Some(Clears::EveryZone | Clears::Zone) => Advice::Move,
        _ if line.bore.as_ref().is_some_and(|bore| bore.possible) => Advice::Bore,
        Some(Clears::Ring(_)) => Advice::MoveAndHandDig,
        None => Advice::HandDig,
    }
}

/// Whether digging is not enough: by the line alone, or by what it adds to the other works.
pub(super) fn needs_more(line: &LineTree, row: &Row) -> bool {
    let too_much = |verdict: Verdict| verdict > Verdict::Minor;
    let verdict = row.finding.verdict;
    let adds = too_much(verdict) && line.without.verdict < verdict;
    let taken = row.zone.is_some() && line.alone.affected_pct > 0.0;
    taken && (too_much(line.alone.verdict) || adds || line.cut_close || line.alone.severed_exceeds)
}

fn reason(line: &LineTree, case: &Case<'_>) -> String {
    if case.row.zone.is_none() {
        return "no usable diameter: measure the tree before the line is laid out".to_string();
    }
    let mut text = format!(
        "alone the line affects {:.1} % of the root zone ({}); with all works of the permit {}, without the line {}",
        line.alone.affected_pct,
        line.alone.verdict.word(),
        case.row.finding.verdict.word(),
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
        text.push_str("; what it severs is more than the share that the rule set allows of footprint");
    }
    if line.advice != Advice::NoneNeeded && line.advice != Advice::Dig {
        text.push_str(&ways_out(line, case));
    }
    text
}

/// Which ways out there are, and why not the others.
fn ways_out(line: &LineTree, case: &Case<'_>) -> String {
    let mut text = String::new();
    match line.advised {
        Some(advised) => {
            let left = match advised.clears {
                Clears::EveryZone => "every zone that it crosses".to_string(),
                Clears::Zone if case.crosses_more => "this zone, though not every other that it crosses".to_string(),
                Clears::Zone => "this zone".to_string(),
                Clears::Ring(ring) => format!("the {} ring", case.rings.get(ring).map_or("", String::as_str)),
            };
            let _ = write!(text, "; {:.2} m to the side it leaves {left}", at_least(advised.shift.distance_m));
        }
        None if line.zone.is_none() => {
            let within_m = case.within_m;
            let _ =
                write!(text, "; no shift within {within_m} m leaves the zone without making another tree worse off");
        }
        None => text.push_str(
            "; the shift out of this zone leaves fewer of the zones that the line crosses than the one advised",
        ),
    }
    if let Some(moved_m) = case.moved_m.filter(|_| line.advised.is_none()) {
        let _ = write!(
            text,
            "; the line is moved by {:.2} m for other trees, which brings it no nearer to this one",
            at_least(moved_m)
        );
    }
    if line.bore.as_ref().is_some_and(|bore| !bore.possible) {
        text.push_str("; no bore, because a pit has no room outside the zones");
    }
    text
}

/// To the centimetre above, so that a line moved by what is printed is out of the zone.
fn at_least(length_m: f64) -> f64 {
    (length_m * 100.0 - 1e-6).ceil() / 100.0
}
