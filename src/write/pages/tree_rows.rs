//! Rows of a permit -> the cells of its table of trees, as text for people.

use super::advice;
use super::amounts::{Amounts, trimmed};
use super::marks::mark;
use super::plain_text::visible;
use super::site::Site;
use super::words::Words;
use crate::model::finding::Verdict;
use crate::model::results::{Row, RowDiameter};
use crate::model::warning;
use crate::write::measures::Measured;
use crate::write::number::fixed;
use crate::write::sentence::sentence;
use serde::Serialize;

/// One row of the table.
#[derive(Serialize)]
pub struct TreeRow {
    number: usize,
    mark: &'static str,
    verdict: &'static str,
    finding: String,
    id: String,
    species: String,
    about: Vec<String>,
    tags: Vec<String>,
    diameter: String,
    zone: String,
    overlap: Option<Bar>,
    severed: Option<Bar>,
    sentence: String,
    clause: String,
    borderline: String,
    together: String,
    unshaped: String,
    notes: Vec<String>,
    next: Vec<String>,
    stays: bool,
}

/// A share as a bar of 0 to 100.
#[derive(Serialize)]
pub struct Bar {
    /// For the bar: 0 to 100.
    width: String,
    /// For people.
    text: String,
    /// Where the limit stands, where the finding speaks of this share of the whole zone.
    limit: Option<String>,
}

/// A verdict in the words of the pages.
pub fn finding_word(verdict: Verdict, words: &Words) -> &str {
    words.get("finding", verdict.word())
}

/// `2 major, 1 minor`; worst first.
pub fn counts(rows: &[&Row], words: &Words) -> String {
    let of = |verdict: Verdict| (rows.iter().filter(|row| row.finding.verdict == verdict).count(), verdict);
    let counted = Verdict::ALL.iter().rev().map(|&verdict| of(verdict)).filter(|(count, _)| *count > 0);
    counted.map(|(count, verdict)| format!("{count} {}", finding_word(verdict, words))).collect::<Vec<_>>().join(", ")
}

/// All rows, worst first.
pub fn tree_rows(site: &Site, amounts: Amounts, words: &Words) -> Vec<TreeRow> {
    site.rows.iter().enumerate().map(|(index, row)| tree_row(site, index + 1, row, amounts, words)).collect()
}

fn tree_row(site: &Site, number: usize, row: &Row, amounts: Amounts, words: &Words) -> TreeRow {
    let tree = site.tree(row);
    let measured = Measured::of(row);
    let finding = &row.finding;
    let known =
        [("condition", &tree.condition), ("owner", &tree.owner)].into_iter().filter(|(_, text)| !text.is_empty());
    let about = known.map(|(key, text)| words.fill("sheet", key, &[("what", &visible(text))])).collect();
    TreeRow {
        number,
        mark: mark(finding.verdict),
        verdict: finding.verdict.word(),
        finding: finding_word(finding.verdict, words).to_string(),
        id: visible(&tree.id).into_owned(),
        species: visible(&tree.species).into_owned(),
        about,
        tags: tags(row, site, words),
        diameter: diameter(&row.diameter, amounts, words),
        zone: row.zone.as_ref().map_or_else(String::new, |zone| amounts.length(zone.radius_m)),
        overlap: bar(row, measured.pct(measured.overlap_m2()), "overlap"),
        severed: bar(row, measured.pct(measured.severed_m2()), "severed"),
        sentence: amounts.with_feet(&visible(&words.said(&sentence(finding)))),
        // Without a measure the sentence is the clause.
        clause: match finding.value {
            Some(_) => words.fill("sheet", "clause", &[("clause", &visible(&words.said(&finding.clause)))]),
            None => String::new(),
        },
        borderline: match row.borderline {
            "" => String::new(),
            _ => words.fill("sheet", "borderline", &[("what", &borderline_words(row, words))]),
        },
        together: together(site, row, amounts, words),
        unshaped: unshaped(row, words),
        notes: notes(row, words),
        next: advice::next(site, row, amounts, words),
        stays: advice::goes(row, tree).is_none(),
    }
}

/// What flips a borderline finding, in words.
fn borderline_words(row: &Row, words: &Words) -> String {
    let known = [("place", "borderline_place"), ("diameter", "borderline_diameter")];
    let parts = known.iter().filter(|(what, _)| row.borderline.contains(what));
    parts.map(|(_, key)| words.get("sheet", key)).collect::<Vec<_>>().join(" / ")
}

/// The diameter as judged.
pub fn diameter(diameter: &RowDiameter, amounts: Amounts, words: &Words) -> String {
    match *diameter {
        RowDiameter::Known(known_m) => amounts.diameter(known_m),
        RowDiameter::AtLeast(low_m) => words.fill("sheet", "at_least", &[("value", &amounts.diameter(low_m))]),
        RowDiameter::Range { low_m, high_m, .. } => {
            let (low, high) = (amounts.diameter(low_m), amounts.diameter(high_m));
            words.fill("sheet", "range", &[("low", low.split(' ').next().unwrap_or(&low)), ("high", &high)])
        }
        RowDiameter::Unknown(_) => words.get("sheet", "no_diameter").to_string(),
    }
}

fn tags(row: &Row, site: &Site, words: &Words) -> Vec<String> {
    let tree = site.tree(row);
    let mut tags = Vec::new();
    if !row.heritage_class.is_empty() {
        tags.push(words.fill("sheet", "heritage", &[("class", &visible(&words.said(&row.heritage_class)))]));
    }
    if !row.protected_class.is_empty() {
        tags.push(words.fill("sheet", "protected", &[("class", &visible(&words.said(&row.protected_class)))]));
    }
    if tree.designated {
        tags.push(words.get("sheet", "designated").to_string());
    }
    if let Some(disposition) = tree.disposition {
        tags.push(words.fill("sheet", "disposition", &[("what", &words.said(disposition.word()))]));
    }
    tags
}

fn bar(row: &Row, share_pct: Option<f64>, measure: &str) -> Option<Bar> {
    let share_pct = share_pct?;
    let whole = row.finding.denominator.starts_with("root zone");
    let limit = || row.finding.limit.split_whitespace().nth(1)?.parse::<f64>().ok();
    let limit = (row.finding.measure == measure && whole).then(limit).flatten().filter(|&pct| pct > 0.0);
    Some(Bar {
        width: fixed(share_pct.clamp(0.0, 100.0), 1),
        text: fixed(share_pct, 1),
        limit: limit.map(|pct| fixed(pct.clamp(0.0, 100.0), 1)),
    })
}

fn together(site: &Site, row: &Row, amounts: Amounts, words: &Words) -> String {
    let found = site.view.together_of_tree(row.tree).filter(|one| one.permits.contains(&site.permit));
    found.map_or_else(String::new, |one| {
        let permits = site.view.other_permit_ids(one, site.permit);
        let finding = finding_word(one.row.finding.verdict, words);
        let sentence = amounts.with_feet(&visible(&words.said(&sentence(&one.row.finding))));
        let said =
            [("permits", &*visible(&permits)), ("finding", finding), ("sentence", sentence.trim_end_matches('.'))];
        // Where nothing gets worse, the word is enough.
        let key = if site.view.worse_together(row).is_some() { "together_worse" } else { "together" };
        words.fill("sheet", key, &said)
    })
}

/// What the whole disc would give where barriers shape the zone.
fn unshaped(row: &Row, words: &Words) -> String {
    let shaped = row.zone.as_ref().is_some_and(|zone| zone.shape.is_some());
    row.unshaped.as_ref().filter(|_| shaped).map_or_else(String::new, |disc| {
        let pct = |part_m2: f64| fixed(100.0 * part_m2 / disc.area_m2, 1);
        let (overlap, severed) = (pct(disc.overlap_m2), pct(disc.severed_m2));
        let finding = finding_word(disc.verdict, words);
        words.fill("sheet", "unshaped", &[("finding", finding), ("overlap", &overlap), ("severed", &severed)])
    })
}

/// Warnings that have a step of their own in what to do next.
const SAID_AS_STEPS: [&str; 4] =
    ["severed_exceeds", "qualified_arborist_before_cutting", "cut_may_be_close", "verify_on_site"];

/// What the other warning codes of a row mean.
fn notes(row: &Row, words: &Words) -> Vec<String> {
    let zone = row.zone.iter().flat_map(|zone| &zone.warnings);
    let mut codes: Vec<&str> = row.finding.warnings.iter().chain(zone).copied().collect();
    codes.sort_unstable();
    codes.dedup();
    codes.retain(|code| !SAID_AS_STEPS.contains(code));
    codes.into_iter().filter_map(warning::meaning).map(|meaning| capital(&words.said(meaning))).collect()
}

fn capital(text: &str) -> String {
    let mut letters = text.chars();
    let first = letters.next().map(|first| first.to_uppercase().to_string()).unwrap_or_default();
    format!("{first}{}.", letters.as_str())
}

/// A share of so many percent, for people.
pub fn share(pct: f64) -> String {
    trimmed(pct, 1)
}
