//! A row -> what a reviewer asks for next, and what would bring it within the limits that it exceeds.
//!
//! Where several permits together exceed a limit, each is asked for no more than its own works take. It promises nothing that only a person
//! on site can see.

use super::amounts::Amounts;
use super::plain_text::visible;
use super::site::Site;
use super::words::Words;
use crate::model::asked::{AskedTogether, LimitInPart};
use crate::model::finding::{Finding, Verdict};
use crate::model::results::Row;
use crate::model::tree::{Disposition, Tree};
use crate::model::zone::Zone;
use crate::units::{parse_length_m, parse_multiple};
use crate::write::number::fixed;
use crate::write::sentence::sentence;

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
    let mut steps = design(site, row, amounts, words);
    let warned = |code: &str| row.finding.warnings.contains(&code);
    if severed_to_mend(site, row) {
        steps.push(say("severed"));
    }
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

/// Whether what lies cut off has to be spoken of besides what decided: under this permit, or under several in which it has a part.
pub fn severed_to_mend(site: &Site, row: &Row) -> bool {
    let has_part =
        site.asked(row).and_then(|asked| asked.together.as_ref()).is_some_and(|part| !part.limits.is_empty());
    let answered = if has_part { site.decided(row) } else { row };
    let finding = &answered.finding;
    finding.warnings.contains(&"severed_exceeds") && !finding.measure.starts_with("severed")
}

/// What the design of this permit has to change.
fn design(site: &Site, row: &Row, amounts: Amounts, words: &Words) -> Vec<String> {
    let asked = site.asked(row);
    let alone = asked.map_or(&[][..], |asked| &asked.alone);
    let shared = asked.and_then(|asked| asked.together.as_ref());
    let mut steps = match (site.view.worse_together(row), shared) {
        (Some(together), Some(part)) if !part.limits.is_empty() => of_several(&together.row, part, amounts, words),
        (Some(_), Some(part)) => {
            let permits = visible(&site.view.permit_ids(&part.others)).into_owned();
            let mut steps = vec![words.fill("keep", "others", &[("permits", &permits)])];
            if row.finding.verdict >= Verdict::Moderate && !alone.is_empty() {
                let sentence = told(&row.finding, amounts, words);
                steps.push(words.fill("keep", "alone", &[("sentence", &sentence)]));
            }
            steps.extend(of_one(row, alone, amounts, words));
            steps
        }
        _ => of_one(row, alone, amounts, words),
    };
    steps.extend(set_back(site, row, amounts, words));
    steps
}

/// What the permit has to change for what its own works exceed.
fn of_one(row: &Row, limits: &[Finding], amounts: Amounts, words: &Words) -> Vec<String> {
    // Beside a trunk in a work all of them stand besides.
    let besides = match row.finding.verdict {
        Verdict::TrunkInWork => limits,
        _ => limits.get(1..).unwrap_or_default(),
    };
    let sentences = besides.iter().map(|finding| told(finding, amounts, words)).collect();
    changes(row, keep_within((row, &row.finding), None, amounts, words), sentences, words)
}

/// What falls to the permit of what several exceed together.
fn of_several(together: &Row, part: &AskedTogether, amounts: Amounts, words: &Words) -> Vec<String> {
    let keep = part
        .limits
        .first()
        .map_or_else(String::new, |first| keep_within((together, &first.finding), first.own_pct, amounts, words));
    let of_limit = |limit: &LimitInPart| {
        let sentence = told(&limit.finding, amounts, words);
        limit.own_pct.map_or(sentence.clone(), |pct| {
            words.fill("keep", "in_part", &[("sentence", &sentence), ("own", &short_pct(pct))])
        })
    };
    changes(together, keep, part.limits.iter().skip(1).map(of_limit).collect(), words)
}

/// The step of a verdict, that of heritage-size trees before it, and what else is exceeded after it.
fn changes(row: &Row, keep: String, besides: Vec<String>, words: &Words) -> Vec<String> {
    let verdict = row.finding.verdict;
    let mut steps = Vec::new();
    if verdict.puts_at_risk() && !row.heritage_class.is_empty() {
        steps.push(words.get("next", "heritage").to_string());
    }
    steps.push(words.fill("next", verdict.word(), &[("keep", &keep)]).trim().to_string());
    if !besides.is_empty() {
        steps.push(words.fill("keep", "besides", &[("sentences", &besides.join(" "))]));
    }
    steps
}

/// A finding as a sentence of the page.
fn told(finding: &Finding, amounts: Amounts, words: &Words) -> String {
    amounts.with_feet(&visible(&words.said(&sentence(finding))))
}

/// How far the works would have to keep away, all of the permit's together.
fn set_back(site: &Site, row: &Row, amounts: Amounts, words: &Words) -> Option<String> {
    let set_back = site.set_back(row)?;
    let Some(distance_m) = set_back.distance_m else { return Some(words.get("keep", "set_back_none").to_string()) };
    let gone = set_back.works.iter().filter(|one| one.wholly_within).filter_map(|one| site.label(one.work));
    let gone = gone.collect::<Vec<_>>().join(", ");
    let distance = amounts.at_least_in_both(distance_m);
    let key = if gone.is_empty() { "set_back" } else { "set_back_gone" };
    Some(words.fill("keep", key, &[("length", &distance), ("works", &gone)]))
}

/// What would bring a finding of a row within its limit; empty where nothing has to. `own_pct` is this permit's own part of the share where
/// several permits together exceed it.
fn keep_within((row, finding): (&Row, &Finding), own_pct: Option<f64>, amounts: Amounts, words: &Words) -> String {
    let say = |key: &str, values: &[(&str, &str)]| words.fill("keep", key, values);
    match finding.verdict {
        Verdict::Minor | Verdict::Untouched | Verdict::NotAssessed => return String::new(),
        Verdict::TrunkInWork => return say("trunk", &[]),
        Verdict::Major | Verdict::Moderate => {}
    }
    let Some(value) = finding.value else { return String::new() };
    let (sign, bound) = finding.limit.split_once(' ').unwrap_or(("", &finding.limit));
    let diameters_m = |zone: &Zone| parse_multiple(bound).map(|diameters| diameters * zone.diameter_m);
    let length_m = parse_length_m(bound).or_else(|| row.zone.as_ref().and_then(diameters_m));
    let share = bound.strip_suffix(" %").and_then(|number| number.trim().parse::<f64>().ok());
    match (finding.measure.starts_with("distance"), share, length_m) {
        (false, Some(0.0), _) if sign == ">" => say("none_allowed", &[("whole", &words.said(whole(finding)))]),
        (false, Some(limit), _) => {
            let over = (value - limit).max(0.0);
            let less = Part { pct: over, text: enough(over) };
            match own_pct {
                None => say_share((row, finding), "share", &[("share", less)], amounts, words),
                Some(pct) => {
                    let own = Part { pct, text: short_pct(pct) };
                    say_share((row, finding), "share_together", &[("share", less), ("own", own)], amounts, words)
                }
            }
        }
        (true, _, Some(limit_m)) if limit_m > value => {
            say("distance", &[("length", &amounts.length_in_both(limit_m - value))])
        }
        _ => say("other", &[("measure", &words.said(&finding.measure)), ("limit", &finding.limit)]),
    }
}

/// A share of what a limit speaks of.
struct Part {
    pct: f64,
    text: String,
}

/// A text on shares, with their areas where they are of the whole zone.
fn say_share(
    (row, finding): (&Row, &Finding),
    key: &str,
    parts: &[(&str, Part)],
    amounts: Amounts,
    words: &Words,
) -> String {
    let mut values = vec![("whole".to_string(), words.said(whole(finding)).into_owned())];
    let whole_m2 = whole_m2(row, finding);
    for (name, part) in parts {
        values.push(((*name).to_string(), part.text.clone()));
        if let Some(area_m2) = whole_m2 {
            values.push((format!("{name}_area"), amounts.area_in_both(area_m2 * part.pct / 100.0)));
        }
    }
    let values: Vec<(&str, &str)> = values.iter().map(|(name, value)| (name.as_str(), value.as_str())).collect();
    words.fill("keep", &if whole_m2.is_some() { key.to_string() } else { format!("{key}_only") }, &values)
}

/// With one decimal, or with the four that are judged where that would say nothing.
fn short_pct(pct: f64) -> String {
    let short = fixed(pct, 1);
    if short == "0.0" { fixed(pct, 4) } else { short }
}

/// Rounded up, so that what is asked for is enough.
fn enough(pct: f64) -> String {
    fixed((pct * 10.0).ceil() / 10.0, 1)
}

fn whole(finding: &Finding) -> &str {
    let name = finding.denominator.split(" (").next().unwrap_or_default();
    if name.is_empty() { "root zone" } else { name }
}

/// Area of what the share is of, where it is the whole zone.
fn whole_m2(row: &Row, finding: &Finding) -> Option<f64> {
    let zone = row.zone.as_ref()?;
    (whole(finding) == "root zone").then(|| zone.area_m2())
}

#[cfg(test)]
#[path = "advice_tests.rs"]
mod tests;
