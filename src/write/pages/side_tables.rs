//! What stands on a sheet below the trees: works, replacement, remarks, fences and ground cover, as cells for people.

use super::advice;
use super::amounts::Amounts;
use super::plain_text::visible;
use super::site::Site;
use super::tree_rows::finding_word;
use super::words::Words;
use crate::issue::Issue;
use crate::model::owed::PermitOwed;
use crate::model::set_back::SetBackWork;
use crate::model::source::SourceRef;
use crate::model::warning;
use crate::model::work::{Mitigations, Work};
use crate::write::number::fixed;
use serde::Serialize;
use std::collections::HashMap;

/// Works listed on one sheet.
const MOST_WORKS: usize = 200;

/// A table for the template; the first cell of a row names it.
#[derive(Serialize, Default)]
pub struct PlainTable {
    /// Words of the heads.
    pub heads: Vec<String>,
    /// Cells.
    pub rows: Vec<Vec<String>>,
}

impl PlainTable {
    /// Without the columns that say nothing in any row.
    pub fn without_empty_columns(self) -> PlainTable {
        let told: Vec<bool> = (0..self.heads.len())
            .map(|at| self.rows.iter().any(|row| row.get(at).is_some_and(|cell| !cell.is_empty())))
            .collect();
        let keep = |cells: Vec<String>| {
            cells.into_iter().zip(&told).filter(|(_, told)| **told).map(|(cell, _)| cell).collect()
        };
        PlainTable { heads: keep(self.heads), rows: self.rows.into_iter().map(keep).collect() }
    }
}

pub(super) fn table(words: &Words, heads: &[&str]) -> PlainTable {
    PlainTable { heads: heads.iter().map(|key| words.get("sheet", key).to_string()).collect(), rows: Vec::new() }
}

/// The works, and how many are not listed.
pub fn works(site: &Site, amounts: Amounts, words: &Words) -> (PlainTable, usize) {
    let mut works = table(words, &["label", "work", "work_kind", "effects", "size", "depth", "lasting", "stated"]);
    for one in site.works.iter().take(MOST_WORKS) {
        let work = one.work;
        let mut kind = visible(&words.said(&work.kind)).into_owned();
        if !work.kind_written.is_empty() && work.kind_written != work.kind {
            let written = words.fill("sheet", "as_written", &[("kind", &visible(&work.kind_written))]);
            kind = format!("{kind} ({written})");
        }
        let mut effects: Vec<String> =
            work.effects.iter().map(|effect| words.get("effect", effect.word()).to_string()).collect();
        if effects.is_empty() {
            effects.push(words.get("effect", "none").to_string());
        }
        if work.severs {
            effects.push(words.get("sheet", "severs").to_string());
        }
        if work.margin_m > 0.0 {
            effects.push(words.fill("sheet", "margin", &[("value", &amounts.length(work.margin_m))]));
        }
        let mut stated = words.said(&Mitigations::of(&work.mitigations).words()).into_owned();
        if !work.accepted.is_empty() {
            let accepted = Mitigations::of(&work.accepted).words();
            let accepted = words.said(&accepted);
            stated = format!("{stated} ({}: {accepted})", words.get("sheet", "accepted"));
        }
        let depth = work.depth_m.map_or_else(String::new, |depth_m| amounts.length(depth_m));
        let size = size(work, amounts, words);
        let id = visible(&work.id).into_owned();
        let lasting = words.said(work.lasting.word()).into_owned();
        works.rows.push(vec![one.label.clone(), id, kind, effects.join("; "), size, depth, lasting, stated]);
    }
    (works, site.works.len().saturating_sub(MOST_WORKS))
}

/// The width of a line, and the width or radius that the file does not state.
fn size(work: &Work, amounts: Amounts, words: &Words) -> String {
    let line = work.line.as_ref();
    match (line, work.size_of_kind_m) {
        (Some(line), None) => words.fill("sheet", "line_width", &[("value", &amounts.length(line.width_m))]),
        (Some(line), Some(_)) => words.fill("sheet", "line_width_of_kind", &[("value", &amounts.length(line.width_m))]),
        (None, Some(radius_m)) => words.fill("sheet", "radius_of_kind", &[("value", &amounts.length(radius_m))]),
        (None, None) => String::new(),
    }
}

/// For each work that puts trees at risk, how far it would have to keep from each of them; then the trees that no set-back helps.
pub fn design(site: &Site, amounts: Amounts, words: &Words) -> PlainTable {
    let mut found = table(words, &["work", "tree", "as_drawn", "keep_away", "pull_back"]);
    let say = |key: &str| words.get("sheet", key).to_string();
    let set_backs: Vec<_> = site.rows.iter().filter_map(|row| Some((row, site.set_back(row)?))).collect();
    let mut of_works: HashMap<&str, Vec<(u32, f64, &SetBackWork)>> = HashMap::new();
    for (row, set_back) in &set_backs {
        let Some(distance_m) = set_back.distance_m else { continue };
        for near in &set_back.works {
            let Some(label) = site.label(near.work) else { continue };
            of_works.entry(label).or_default().push((row.tree, distance_m, near));
        }
    }
    for one in &site.works {
        let name = format!("{} ({})", one.label, visible(&one.work.id));
        for &(tree, distance_m, near) in of_works.get(&*one.label).into_iter().flatten() {
            let change = match near.wholly_within {
                true => say("elsewhere"),
                false => amounts.at_least_in_both(distance_m - near.as_drawn_m),
            };
            let away = amounts.at_least_in_both(distance_m);
            let as_drawn = amounts.length_in_both(near.as_drawn_m);
            found.rows.push(vec![name.clone(), tree_list(site, &[tree]), as_drawn, away, change]);
        }
    }
    for (row, set_back) in set_backs.iter().filter(|(_, set_back)| set_back.distance_m.is_none()) {
        let labels: Vec<&str> = set_back.works.iter().filter_map(|near| site.label(near.work)).collect();
        let tree = tree_list(site, &[row.tree]);
        found.rows.push(vec![labels.join(", "), tree, String::new(), say("no_set_back"), String::new()]);
    }
    found
}

/// What is owed now: the sums, then each tree that goes.
pub fn replacement(site: &Site, amounts: Amounts, words: &Words) -> Vec<String> {
    let mut said: Vec<String> = site.of.owed.map_or_else(Vec::new, |owed| sums(owed, amounts, words));
    for row in &site.rows {
        let Some(replacement) = row.replacement.as_ref().filter(|one| !one.removed_because.is_empty()) else {
            continue;
        };
        let Some(owed) = &replacement.owed else { continue };
        let tree = site.tree(row);
        let why = advice::goes(row, tree).unwrap_or(replacement.removed_because);
        let why = visible(&words.said(why)).into_owned();
        let id = visible(&tree.id);
        said.push(words.fill(
            "sheet",
            "owed_for",
            &[("tree", &id), ("why", &why), ("how", &visible(&owed.arithmetic))],
        ));
    }
    said
}

fn sums(owed: &PermitOwed, amounts: Amounts, words: &Words) -> Vec<String> {
    let say = |key: &str, values: &[(&str, &str)]| words.fill("sheet", key, values);
    let mut said = Vec::new();
    said.extend(owed.trees.map(|trees| say("owed_trees", &[("count", &trees.to_string())])));
    said.extend(owed.length_m.map(|length_m| say("owed_length", &[("value", &amounts.diameter(length_m))])));
    said.extend(owed.money.as_ref().map(|money| {
        let amount = super::amounts::grouped(&fixed(money.amount, 2));
        say("owed_money", &[("amount", &amount), ("currency", &visible(&money.currency))])
    }));
    if !owed.arithmetic.is_empty() {
        said.push(visible(&owed.arithmetic).into_owned());
    }
    if owed.unknown > 0 {
        said.push(say("owed_unknown", &[("count", &owed.unknown.to_string())]));
    }
    said
}

/// Remarks on records, by where they stand.
pub type Remarks<'a> = HashMap<SourceRef, Vec<&'a Issue>>;

/// Remarks on the trees and works of a sheet.
pub fn remarks(site: &Site, remarks: &Remarks, words: &Words) -> PlainTable {
    let mut found = table(words, &["record", "record_place", "remark"]);
    let trees = site.rows.iter().map(|row| site.tree(row)).map(|tree| (&tree.id, tree.source));
    let works = site.works.iter().map(|one| (&one.work.id, one.work.source));
    for (id, source) in trees.chain(works) {
        for issue in remarks.get(&source).into_iter().flatten() {
            let place = format!("{}:{}", visible(site.view.label(source)), source.row);
            let detail = format!("{} ({})", visible(&issue.detail), issue.code);
            found.rows.push(vec![visible(id).into_owned(), place, detail]);
        }
    }
    found
}

pub(super) fn tree_list(site: &Site, trees: &[u32]) -> String {
    let name = |&tree: &u32| match (site.number(tree), site.view.results.trees.get(tree as usize)) {
        (Some(number), _) => format!("{} ({number})", visible(&site.tree(site.rows[number - 1]).id)),
        (None, Some(tree)) => visible(&tree.id).into_owned(),
        (None, None) => String::new(),
    };
    trees.iter().map(name).collect::<Vec<_>>().join(", ")
}

/// Numbers of trees on the map, runs of them as one; trees that have none by their ids.
pub(super) fn tree_numbers(site: &Site, trees: &[u32]) -> String {
    let mut numbers: Vec<usize> = trees.iter().filter_map(|&tree| site.number(tree)).map(|number| number - 1).collect();
    numbers.sort_unstable();
    let others: Vec<u32> = trees.iter().copied().filter(|&tree| site.number(tree).is_none()).collect();
    let parts = [super::map::ranges(&numbers), tree_list(site, &others)];
    parts.into_iter().filter(|part| !part.is_empty()).collect::<Vec<_>>().join(", ")
}

/// Fences.
pub fn fences(site: &Site, amounts: Amounts, words: &Words) -> PlainTable {
    let heads = [
        "fence",
        "around",
        "length",
        "area",
        "specification",
        "posts",
        "panels",
        "signs",
        "gates",
        "nearest",
        "fence_remark",
    ];
    let mut found = table(words, &heads);
    for (index, fence) in site.protection.iter().flat_map(|all| all.fences.iter()).enumerate() {
        let mut cells = vec![(index + 1).to_string(), tree_list(site, &fence.trees), amounts.length(fence.length_m)];
        cells.push(amounts.area(fence.area_m2));
        cells.push(visible(&words.said(&fence.specification)).into_owned());
        cells.extend([fence.posts, fence.panels, fence.signs, fence.gates].map(|count| count.to_string()));
        cells.push(amounts.length(fence.trunk_distance_m));
        let remarks = fence.warnings.iter().filter_map(|code| warning::meaning(code));
        cells.push(remarks.map(|meaning| words.said(meaning).into_owned()).collect::<Vec<_>>().join("; "));
        found.rows.push(cells);
    }
    found
}

/// Ground cover.
pub fn covers(site: &Site, amounts: Amounts, words: &Words) -> PlainTable {
    let mut found = table(words, &["place", "material", "area", "depth_range"]);
    for cover in site.protection.iter().flat_map(|all| all.covers.iter()) {
        let mut depth = cover.depth_m.map_or_else(String::new, |(least_m, most_m)| {
            let (low, high) = (amounts.depth(least_m), amounts.depth(most_m));
            let low = low.split(' ').next().unwrap_or(&low);
            if least_m == most_m { high } else { words.fill("sheet", "range", &[("low", low), ("high", &high)]) }
        });
        if cover.to_be_engineered {
            depth = format!("{depth} {}", words.get("sheet", "engineered")).trim().to_string();
        }
        let [place, material] = [cover.place.word(), cover.material].map(|text| words.said(text).into_owned());
        found.rows.push(vec![place, material, amounts.area(cover.area_m2), depth]);
    }
    found
}

/// Counts by finding for a strip of figures, worst first: symbol, word, number.
#[derive(Serialize)]
pub struct Figure {
    /// Name of the symbol.
    pub mark: &'static str,
    /// The word.
    pub word: String,
    /// How many.
    pub count: u64,
}

/// One figure per finding, those without a tree as well.
pub fn figures(count: impl Fn(crate::model::finding::Verdict) -> u64, words: &Words) -> Vec<Figure> {
    let all = crate::model::finding::Verdict::ALL.iter().rev();
    let figure = |&verdict| Figure {
        mark: super::marks::mark(verdict),
        word: finding_word(verdict, words).to_string(),
        count: count(verdict),
    };
    all.map(figure).collect()
}
