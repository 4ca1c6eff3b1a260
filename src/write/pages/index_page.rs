//! All permits -> `sheets/index.html`: worst first, with counts, a map, a filter and columns that sort.
//!
//! The first rows stand in the page as a table, which needs no script; all rows stand in it once more as data, from which the script
//! shows what is filtered or sorted. So a page of 20,000 permits opens at once.

use super::Pages;
use super::city_map::{Spot, city_map};
use super::marks::{self, mark};
use super::plain_text::visible;
use super::side_tables::{self, Figure};
use super::tree_rows::finding_word;
use super::words::Words;
use crate::error::Result;
use crate::model::finding::Verdict;
use crate::model::results::TogetherRow;
use crate::model::rows::RowHead;
use crate::write::view::{PermitView, View, with_verdict, worst};
use geo::{BoundingRect, Coord};
use serde::Serialize;
use std::collections::BTreeMap;

/// Rows that stand in the page as a table, and that are shown at a time.
const ROWS_SHOWN: usize = 250;

/// What the template is given.
#[derive(Serialize)]
struct Index<'a> {
    w: &'a BTreeMap<String, BTreeMap<String, String>>,
    policy: &'a str,
    style: &'a str,
    script: &'a str,
    definitions: &'static str,
    lead: String,
    figures: Vec<Figure>,
    at_risk: u64,
    not_assessed: u64,
    map: String,
    marks: [&'static str; 6],
    findings: Vec<&'a str>,
    rows: &'a [IndexRow],
    shown: String,
    data: String,
    cautions: Vec<String>,
    made_by: String,
}

/// A permit as the table lists it. The order of the fields is that of the data in the page.
#[derive(Serialize, Clone)]
struct IndexRow {
    id: String,
    file: String,
    status: String,
    date: String,
    /// 0 where no tree is in reach, else 1 for untouched to 6 for trunk in work.
    worst: u8,
    /// Trees by finding, worst first.
    counts: Vec<u64>,
    heritage_at_risk: u64,
    trees: u64,
    works_set_aside: u32,
    /// With which permits the worst finding was found; empty where the permit alone has it.
    together: String,
    inactive: bool,
}

/// The page. `files` holds the name of each permit's sheet, in the order of the view; empty where it has none.
pub fn index_page(view: &View, files: &[String], pages: &Pages) -> Result<String> {
    let words = &pages.words;
    let mut order: Vec<(IndexRow, usize)> =
        view.permits.iter().zip(files).map(|(of, file)| index_row(view, of, file, words)).zip(0..).collect();
    // Stable: equal permits stay in the order of their ids.
    order.sort_by(|(a, _), (b, _)| {
        let key = |row: &IndexRow| (!row.inactive, row.heritage_at_risk, row.worst, row.counts.clone());
        key(b).cmp(&key(a))
    });
    let (rows, numbers): (Vec<IndexRow>, Vec<usize>) = order.into_iter().unzip();
    let count = |number: usize| super::amounts::grouped(&number.to_string());
    let rules = words.said(&view.facts.rules.title);
    let lead =
        [("permits", &*count(view.permits.len())), ("trees", &*count(view.trees.len())), ("rules", &*visible(&rules))];
    let shown = &rows[..rows.len().min(ROWS_SHOWN)];
    let index = Index {
        w: words.sections(),
        policy: &pages.index_policy,
        style: &pages.style,
        script: super::INDEX_SCRIPT,
        definitions: marks::DEFINITIONS,
        lead: words.fill("index", "lead", &lead),
        figures: side_tables::figures(|verdict| with_verdict(view.rows, verdict), words),
        at_risk: trees(view, &|row| view.shared_head(row).at_risk()),
        not_assessed: trees(view, &|row| row.verdict == Verdict::NotAssessed),
        map: map(view, &numbers, files, pages)?,
        marks: Verdict::ALL.map(mark),
        findings: Verdict::ALL.iter().map(|&verdict| finding_word(verdict, words)).collect(),
        rows: shown,
        shown: words.fill("index", "shown", &[("shown", &count(shown.len())), ("all", &count(rows.len()))]),
        data: data(&rows, pages),
        cautions: view.facts.cautions.iter().map(|text| visible(&words.said(text)).into_owned()).collect(),
        made_by: words.fill("page", "made_by", &[("version", &view.facts.program_version)]),
    };
    pages.templates.index(&index)
}

fn index_row(view: &View, of: &PermitView, file: &str, words: &Words) -> IndexRow {
    let verdicts = Verdict::ALL.iter().rev();
    let together = worst_together(view, of);
    let worst = view.worst_verdict_of(of);
    IndexRow {
        id: visible(&of.permit.id).into_owned(),
        file: file.to_string(),
        status: visible(&of.permit.status).into_owned(),
        date: visible(&of.permit.date).into_owned(),
        worst: worst.map_or(0, |verdict| verdict as u8 + 1),
        counts: verdicts.map(|&verdict| with_verdict(of.rows, verdict)).collect(),
        heritage_at_risk: view.at_risk_of(of),
        trees: of.rows.len() as u64,
        works_set_aside: of.permit.works_set_aside,
        together: together.zip(of.rows.first()).map_or_else(String::new, |(one, row)| {
            let permits = view.other_permit_ids(one, row.permit);
            words.fill("index", "together", &[("permits", &visible(&permits))])
        }),
        inactive: !of.permit.active,
    }
}

/// The worst row that counts for a permit together with others, where it is worse than all rows of the permit alone.
fn worst_together<'a>(view: &View<'a>, of: &PermitView<'a>) -> Option<&'a TogetherRow> {
    let alone = worst(of.rows)?.verdict;
    let together = of.rows.iter().filter_map(|row| view.shared(row));
    together.filter(|one| one.row.finding.verdict > alone).min_by(|a, b| a.row.worse_first(&b.row))
}

/// Trees of which some row passes a test.
fn trees<'a>(view: &View<'a>, test: &dyn Fn(&RowHead) -> bool) -> u64 {
    let any = |of: &&crate::write::view::TreeView<'a>| view.rows_of_tree(of.worst.tree).any(test);
    view.trees.iter().filter(any).count() as u64
}

/// `order` holds the permits as the table lists them.
fn map(view: &View, order: &[usize], files: &[String], pages: &Pages) -> Result<String> {
    let words = &pages.words;
    let spots: Vec<Spot> = order
        .iter()
        .map(|&at| {
            let of = &view.permits[at];
            let worst = view.worst_verdict_of(of);
            let spot = |place| Spot { place, worst, id: &of.permit.id, file: &files[at] };
            Ok(place(view, of)?.map(spot))
        })
        .collect::<Result<Vec<_>>>()?
        .into_iter()
        .flatten()
        .collect();
    let permits = super::amounts::grouped(&spots.len().to_string());
    let description = words.fill("index", "map_description", &[("permits", &permits)]);
    Ok(city_map(&spots, words.get("index", "map_title"), &description))
}

/// Where a permit is: its worst tree, which is what a reviewer looks for, or the middle of its first work.
fn place(view: &View, of: &PermitView) -> Result<Option<Coord<f64>>> {
    if let Some(head) = worst(of.rows) {
        return Ok(Some(view.read(head)?.of.place));
    }
    let work = of.permit.works.first().and_then(|&first| view.results.works.get(first as usize));
    Ok(work.and_then(|work| work.shape.bounding_rect()).map(|bounds| bounds.center()))
}

/// All rows and the words that the script needs, as JSON that cannot end its own element.
fn data(rows: &[IndexRow], pages: &Pages) -> String {
    let words = &pages.words;
    let text = |key: &str| words.get("index", key);
    let rows: Vec<serde_json::Value> = rows
        .iter()
        .map(|row| {
            serde_json::json!([
                row.id,
                row.file,
                row.status,
                row.date,
                row.worst,
                row.counts,
                row.heritage_at_risk,
                row.trees,
                row.works_set_aside,
                row.together,
                u8::from(row.inactive)
            ])
        })
        .collect();
    let all = serde_json::json!({
        "rows": rows,
        "marks": Verdict::ALL.map(mark),
        "findings": Verdict::ALL.iter().map(|&verdict| finding_word(verdict, words)).collect::<Vec<_>>(),
        "shown": text("shown"),
        "more": text("more"),
        "none": text("no_trees"),
        "aside": text("works_set_aside"),
        "inactive": text("inactive"),
        "step": ROWS_SHOWN,
    });
    all.to_string().replace('<', "\\u003c").replace('>', "\\u003e").replace('&', "\\u0026")
}
