//! One permit -> its sheet as HTML.

use super::advice;
use super::map::{PlanMap, maps};
use super::marks;
use super::plain_text::visible;
use super::side_protection::{self, Part};
use super::side_tables::{self, Figure, PlainTable};
use super::site::Site;
use super::tree_rows::{TreeRow, tree_rows};
use super::words::Words;
use super::{Pages, Records, letter, map_legend};
use crate::error::Result;
use crate::model::results::Counts;
use crate::model::run_facts::InputFacts;
use crate::write::layers::Drawing;
use crate::write::view::with_verdict;
use serde::Serialize;
use std::collections::BTreeMap;

/// What the template is given. Texts are escaped there; drawings are made of escaped parts.
#[derive(Serialize)]
struct Sheet<'a> {
    w: &'a BTreeMap<String, BTreeMap<String, String>>,
    policy: &'a str,
    style: &'a str,
    definitions: &'static str,
    title: String,
    plan: bool,
    permit: Permit<'a>,
    figures: Vec<Figure>,
    maps: Vec<Map>,
    maps_left_out: Option<String>,
    legend: Vec<map_legend::Entry>,
    map_crs: String,
    trees: Vec<TreeRow>,
    works: PlainTable,
    works_left_out: Option<String>,
    replacement: Vec<String>,
    /// What is said where nothing is owed now.
    replacement_nothing: &'a str,
    replacement_rule: Option<String>,
    design: PlainTable,
    protection: Vec<Part>,
    notes_on_protection: Vec<String>,
    remarks: PlainTable,
    near: PlainTable,
    near_said: Vec<String>,
    letter: String,
    letter_file: String,
    cautions: Vec<String>,
    notes: Vec<String>,
    method: String,
    sources: Vec<Source>,
    made_by: String,
}

#[derive(Serialize)]
struct Permit<'a> {
    id: String,
    status: String,
    date: String,
    rules: String,
    works: usize,
    trees: usize,
    inactive: bool,
    set_aside: Option<String>,
    file: &'a str,
}

#[derive(Serialize)]
struct Map {
    svg: String,
    heading: String,
    scale: String,
    beyond: bool,
    overview: bool,
}

/// The sheet, and the draft of the comments.
pub fn permit_page(
    site: &Site,
    file: &str,
    records: &Records,
    drawing: &Drawing,
    pages: &Pages,
) -> Result<(String, String)> {
    let (words, amounts, facts) = (&pages.words, pages.amounts, site.view.facts);
    let say = |key: &str, values: &[(&str, &str)]| words.fill("sheet", key, values);
    let permit = site.of.permit;
    let (drawn, left_out) = maps(site, drawing, amounts.units, words);
    let near = records.set_aside.near(site, pages);
    let (works, more_works) = side_tables::works(site, amounts, words);
    let letter = letter::letter(site, amounts, words);
    let plan = site.protection.is_some() && facts.settings.iter().any(|(flag, _)| flag == "permit");
    let crs = visible(&facts.measuring_crs.name).into_owned();
    let protection = side_protection::parts(site, amounts, words);
    let notes_on_protection = match (&site.view.results.upkeep, protection.is_empty()) {
        (Some(run), false) => run.notes.iter().map(|note| amounts.with_feet(&visible(&words.said(note)))).collect(),
        _ => Vec::new(),
    };
    let sheet = Sheet {
        w: words.sections(),
        policy: &pages.sheet_policy,
        style: &pages.style,
        definitions: marks::DEFINITIONS,
        title: say(if plan { "title_plan" } else { "title" }, &[("permit", &visible(&permit.id))]),
        plan,
        permit: Permit {
            id: visible(&permit.id).into_owned(),
            status: visible(&permit.status).into_owned(),
            date: visible(&permit.date).into_owned(),
            rules: visible(&words.said(&facts.rules.title)).into_owned(),
            works: site.works.len(),
            trees: site.rows.len(),
            inactive: !permit.active,
            set_aside: (permit.works_set_aside > 0)
                .then(|| say("set_aside_works", &[("count", &permit.works_set_aside.to_string())])),
            file,
        },
        figures: side_tables::figures(|verdict| with_verdict(&site.rows, verdict), words),
        maps_left_out: (left_out > 0).then(|| say("not_drawn", &[("count", &left_out.to_string())])),
        maps: map_headings(drawn, pages),
        legend: map_legend::legend(site, words),
        map_crs: say("map_crs", &[("crs", &crs)]),
        trees: tree_rows(site, amounts, words),
        works: works.without_empty_columns(),
        works_left_out: (more_works > 0).then(|| say("works_left_out", &[("count", &more_works.to_string())])),
        replacement: side_tables::replacement(site, amounts, words),
        replacement_nothing: words.get("sheet", nothing_owed(site)),
        replacement_rule: (!site.view.results.owed.is_empty())
            .then(|| say("replacement_rule", &[("text", &visible(&words.said(&facts.rules.replacement)))])),
        design: side_tables::design(site, amounts, words).without_empty_columns(),
        protection,
        notes_on_protection,
        remarks: side_tables::remarks(site, &records.remarks, words),
        near: near.table,
        near_said: near.said,
        letter_file: format!("{file}-comments.txt"),
        letter: letter.clone(),
        cautions: cautions(site, words),
        notes: facts.rules.notes.iter().map(|note| visible(&words.said(note)).into_owned()).collect(),
        method: say("method_text", &[("crs", &crs)]),
        sources: sources(site, words),
        made_by: words.fill("page", "made_by", &[("version", &facts.program_version)]),
    };
    Ok((pages.templates.sheet(&sheet)?, letter))
}

fn map_headings(drawn: Vec<PlanMap>, pages: &Pages) -> Vec<Map> {
    let words = &pages.words;
    let say = |key: &str, values: &[(&str, &str)]| words.fill("sheet", key, values);
    let of = drawn.iter().filter(|map| !map.overview).count();
    let mut number = 0;
    let heading = |map: PlanMap| {
        number += usize::from(!map.overview);
        let values = [("number", &*number.to_string()), ("count", &*of.to_string()), ("trees", &*map.trees)];
        let heading = match (map.overview, of) {
            (true, _) => say("overview", &[]),
            (false, 1) => String::new(),
            (false, _) => say("map_n", &values),
        };
        Map {
            heading,
            scale: pages.scale_text(map.scale),
            beyond: map.beyond && !map.overview,
            overview: map.overview,
            svg: map.svg,
        }
    };
    drawn.into_iter().map(heading).collect()
}

/// The rule set's, then the run's.
fn cautions(site: &Site, words: &Words) -> Vec<String> {
    let facts = site.view.facts;
    let all = facts.rules.cautions.iter().chain(&facts.cautions).filter(|text| !text.is_empty());
    all.map(|text| visible(&words.said(text)).into_owned()).collect()
}

/// An input of the run.
#[derive(Serialize)]
struct Source {
    name: String,
    role: String,
    records: u64,
    /// The days that its records state, in words.
    dates: String,
    /// The beginning of each file's hash.
    hash: String,
}

fn sources(site: &Site, words: &Words) -> Vec<Source> {
    let inputs = site.view.facts.inputs.iter().zip(&site.view.results.counts);
    let source = |(input, counts): (&InputFacts, &Counts)| {
        let hashes: Vec<&str> = input.files.iter().map(|file| file.sha256.get(..16).unwrap_or(&file.sha256)).collect();
        Source {
            name: visible(&input.name).into_owned(),
            role: words.get("role", &input.role.to_string()).to_string(),
            records: counts.read,
            dates: dates(counts, words),
            hash: hashes.join(" "),
        }
    };
    inputs.map(source).collect()
}

/// Why nothing is owed now.
fn nothing_owed(site: &Site) -> &'static str {
    let goes = site.rows.iter().any(|row| advice::goes(row, site.tree(row)).is_some());
    match goes {
        _ if site.view.results.owed.is_empty() => "replacement_unknown",
        true => "replacement_not_asked",
        false => "replacement_none",
    }
}

/// From when to when the records of a file are, by what they say of themselves.
fn dates(counts: &Counts, words: &Words) -> String {
    let say = |key: &str, values: &[(&str, &str)]| words.fill("sheet", key, values);
    let Some(dates) = counts.dates else { return say("undated", &[]) };
    let (first, last, records) = (dates.first.to_string(), dates.last.to_string(), dates.records.to_string());
    let span = if first == last { first } else { say("dated", &[("first", &first), ("last", &last)]) };
    match dates.records == counts.read {
        true => span,
        false => say("dated_partly", &[("dates", &span), ("records", &records), ("all", &counts.read.to_string())]),
    }
}
