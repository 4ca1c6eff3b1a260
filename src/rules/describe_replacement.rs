//! Replacement rules and the rows of their tables in words.

use super::replacement::{FeeIs, ReplacementRow, ReplacementRule, ReplacementWay, trees_text};

/// `below 13 in`, `13 to below 23 in`, `33 in and over`.
pub(super) fn class_words(rows: &[ReplacementRow], at: usize) -> String {
    let end = |row: &ReplacementRow| row.below.as_ref().map(|end| end.written.clone());
    let from = at.checked_sub(1).and_then(|before| end(&rows[before]));
    match (from, end(&rows[at])) {
        (None, None) => "any".to_string(),
        (None, Some(end)) => format!("below {end}"),
        (Some(from), None) => format!("{from} and over"),
        (Some(from), Some(end)) => {
            let unit =
                |text: &str| text.trim_start_matches(|c: char| c.is_ascii_digit() || c == '.').trim().to_string();
            let from =
                if unit(&from) == unit(&end) { from.trim_end_matches(&unit(&end)).trim().to_string() } else { from };
            format!("{from} to below {end}")
        }
    }
}

/// A rule in words, without its rows.
pub(super) fn rule_words(rule: &ReplacementRule) -> String {
    let counted = match &rule.way {
        ReplacementWay::Trees(trees) => format!("{} for each", trees_text(*trees)),
        ReplacementWay::ShareOfDiameter(share) => format!("{} % of the diameter", share.percent),
        ReplacementWay::Classes(_) if rule.of_total => {
            "by class of the diameters of all removed trees of a permit added up".to_string()
        }
        ReplacementWay::Classes(_) => "by class of diameter".to_string(),
        ReplacementWay::FeePerLength(fee) => fee.written.clone(),
        ReplacementWay::FeePerTree(fee) => format!("{} for each", fee.written),
    };
    let fee = match (rule.pays(), rule.fee_is) {
        (false, _) => "",
        (true, FeeIs::Instead) => ", the money instead of planting",
        (true, FeeIs::Besides) => ", the money besides planting",
    };
    let who = rule.who.words();
    let who = if who.is_empty() { who } else { format!(" ({who})") };
    format!("{}{who}: {counted}{fee}. \"{}\"", rule.of.words(), rule.text)
}

/// A row of a table in words.
pub(super) fn row_words(rule: &ReplacementRule, rows: &[ReplacementRow], at: usize) -> String {
    let row = &rows[at];
    let trees = row.trees.map(|trees| rule.trees_words(trees, row.or_trees));
    let share = row.share_of_diameter.map(|share| format!("{} % of the diameter", share.percent));
    let planting = trees.into_iter().chain(share).collect::<Vec<_>>().join(" and ");
    let fee = row.fee.as_ref().map(|fee| fee.written.clone());
    let parts: Vec<String> = Some(planting).filter(|words| !words.is_empty()).into_iter().chain(fee).collect();
    let printed = row.printed_to.as_ref().map_or(String::new(), |to| format!(" (printed to {})", to.written));
    format!("{}: {}{printed}", class_words(rows, at), parts.join(&format!(" {} ", rule.fee_is.joint())))
}
