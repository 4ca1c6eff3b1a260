//! A row -> what a reviewer asks for next, and what would make it pass.
//!
//! It says what the limit that was passed asks for, no more: another limit may then decide. It promises nothing that only a person on site
//! can see.

use super::amounts::Amounts;
use super::site::Site;
use super::words::Words;
use crate::model::finding::Verdict;
use crate::model::results::Row;
use crate::model::tree::{Disposition, Tree};
use crate::units::parse_length_m;
use crate::write::number::fixed;

/// Why a tree goes by the application; `None` where it stays.
pub fn goes(row: &Row, tree: &Tree) -> Option<&'static str> {
    match tree.disposition {
        Some(Disposition::Remove) => Some("remove"),
        Some(Disposition::Relocate) => Some("relocate"),
        _ => row.replacement.as_ref().map(|one| one.removed_because).filter(|why| !why.is_empty()),
    }
}

/// What to do next, in the order of doing it.
pub fn next(site: &Site, row: &Row, amounts: Amounts, words: &Words) -> Vec<String> {
    let tree = site.tree(row);
    let say = |key: &str| words.get("next", key).to_string();
    match tree.disposition {
        Some(Disposition::Remove) => return vec![say("remove")],
        Some(Disposition::Relocate) => return vec![say("relocate")],
        _ => {}
    }
    let decided = site.decided(row);
    let verdict = decided.finding.verdict;
    let mut steps = Vec::new();
    if verdict.puts_at_risk() && !decided.heritage_class.is_empty() {
        steps.push(say("heritage"));
    }
    let pass = to_pass(decided, amounts, words);
    steps.push(words.fill("next", verdict.word(), &[("pass", &pass)]).trim().to_string());
    steps.extend(set_back(site, row, amounts, words));
    let warned = |code: &str| row.finding.warnings.contains(&code);
    if warned("qualified_arborist_before_cutting") {
        steps.push(say("stability"));
    }
    if warned("cut_may_be_close") {
        steps.push(say("stability_may"));
    }
    if warned("verify_on_site") {
        steps.push(say("verify"));
    }
    for (what, step) in [("place", "borderline_place"), ("diameter", "borderline_diameter")] {
        if row.borderline.contains(what) {
            steps.push(say(step));
        }
    }
    if tree.disposition == Some(Disposition::OffSite) {
        steps.push(say("off_site"));
    }
    steps
}

/// How far the works would have to keep away, all of the permit's together.
fn set_back(site: &Site, row: &Row, amounts: Amounts, words: &Words) -> Option<String> {
    let set_back = site.set_back(row)?;
    let Some(distance_m) = set_back.distance_m else { return Some(words.get("pass", "set_back_none").to_string()) };
    let gone = set_back.works.iter().filter(|one| one.wholly_within).filter_map(|one| site.label(one.work));
    let gone = gone.collect::<Vec<_>>().join(", ");
    let distance = amounts.at_least_in_both(distance_m);
    let key = if gone.is_empty() { "set_back" } else { "set_back_gone" };
    Some(words.fill("pass", key, &[("length", &distance), ("works", &gone)]))
}

/// What would make a finding pass the limit that decided it; empty where nothing has to.
pub fn to_pass(row: &Row, amounts: Amounts, words: &Words) -> String {
    let finding = &row.finding;
    let say = |key: &str, values: &[(&str, &str)]| words.fill("pass", key, values);
    match finding.verdict {
        Verdict::Minor | Verdict::Untouched | Verdict::NotAssessed => return String::new(),
        Verdict::TrunkInWork => return say("trunk", &[]),
        Verdict::Major | Verdict::Moderate => {}
    }
    let Some(value) = finding.value else { return String::new() };
    let (sign, bound) = finding.limit.split_once(' ').unwrap_or(("", &finding.limit));
    let share = bound.strip_suffix(" %").and_then(|number| number.trim().parse::<f64>().ok());
    match (finding.measure.starts_with("distance"), share, parse_length_m(bound)) {
        (false, Some(0.0), _) if sign == ">" => say("none_allowed", &[("whole", &words.said(whole(row)))]),
        (false, Some(limit), _) => {
            let over = (value - limit).max(0.0);
            let (share, whole) = (enough(over), words.said(whole(row)));
            match whole_m2(row).map(|area_m2| amounts.area_in_both(area_m2 * over / 100.0)) {
                Some(area) => say("share", &[("share", &share), ("whole", &whole), ("area", &area)]),
                None => say("share_only", &[("share", &share), ("whole", &whole)]),
            }
        }
        (true, _, Some(limit_m)) if limit_m > value => {
            say("distance", &[("length", &amounts.length_in_both(limit_m - value))])
        }
        _ => say("other", &[("limit", &finding.limit)]),
    }
}

/// Rounded up, so that what is asked for is enough.
fn enough(pct: f64) -> String {
    fixed((pct * 10.0).ceil() / 10.0, 1)
}

fn whole(row: &Row) -> &str {
    let name = row.finding.denominator.split(" (").next().unwrap_or_default();
    if name.is_empty() { "root zone" } else { name }
}

/// Area of what the share is of, where it is the whole zone.
fn whole_m2(row: &Row) -> Option<f64> {
    let zone = row.zone.as_ref()?;
    (whole(row) == "root zone").then(|| zone.area_m2())
}

#[cfg(test)]
#[path = "advice_tests.rs"]
mod tests;
