//! What is drawn on the maps of a permit -> the entries of their legend: a swatch and its words.

use super::marks::{Drawn, mark};
use super::plain_text::visible;
use super::site::Site;
use super::tree_rows::finding_word;
use super::words::Words;
use crate::model::finding::Verdict;
use serde::Serialize;

/// One entry.
#[derive(Serialize)]
pub struct Entry {
    /// An SVG of 9 x 5 mm, of the program's own making.
    swatch: String,
    /// A letter before the words; may be empty.
    letter: String,
    /// The words.
    words: String,
}

/// Findings, works by kind, then what the program draws.
pub fn legend(site: &Site, words: &Words) -> Vec<Entry> {
    let say = |key: &str| words.get("map", key).to_string();
    let mut entries = Vec::new();
    for &verdict in Verdict::ALL.iter().rev() {
        if site.rows.iter().any(|row| row.finding.verdict == verdict) {
            let symbol = format!("<use href=\"#{}\" x=\"200\" y=\"0\" width=\"500\" height=\"500\"/>", mark(verdict));
            entries.push(entry(&symbol, "", finding_word(verdict, words)));
        }
    }
    if let Some(class) = site.rows.iter().map(|row| &row.heritage_class).find(|class| !class.is_empty()) {
        let words = words.fill("sheet", "heritage", &[("class", &visible(&words.said(class)))]);
        entries.push(entry("", "H", &words));
    }
    for (kind, letter) in &site.letters {
        let mut looks: Vec<Drawn> =
            site.works.iter().filter(|one| one.work.kind == *kind).map(|one| one.drawn).collect();
        looks.sort_unstable();
        looks.dedup();
        for drawn in looks {
            let block = format!("<path d=\"M30 30H870V470H30z\" {} stroke-width=\"35\"/>", drawn.attributes());
            entries.push(entry(&block, letter, &visible(&words.said(kind))));
        }
    }
    entries.push(entry(&block(ROOT_ZONE), "", &say("root_zone")));
    for ring in &site.view.facts.rules.rings {
        entries.push(entry(&block(RING), "", &words.fill("map", "ring", &[("name", &visible(&words.said(ring)))])));
    }
    entries.push(entry(&block(OVERLAP), "", &say("overlap")));
    entries.push(entry(&block(SEVERED), "", &say("severed")));
    entries.push(entry("<circle cx=\"450\" cy=\"250\" r=\"130\"/>", "", &say("trunk")));
    if site.rows.iter().any(|row| row.diameter.used_m().is_none()) {
        let look = "<circle cx=\"450\" cy=\"250\" r=\"130\" fill=\"#fff\" stroke=\"#000\" stroke-width=\"24\" stroke-dasharray=\"40 30\"/>";
        entries.push(entry(look, "", &say("trunk_unknown")));
    }
    if site.protection.is_some_and(|all| !all.fences.is_empty()) {
        let line = "<path d=\"M0 250H900\" stroke=\"#000\" stroke-width=\"45\"/><path d=\"M20 250H900\" stroke=\"#000\" stroke-width=\"130\" stroke-dasharray=\"30 270\"/>";
        entries.push(entry(line, "", &say("fence")));
    }
    if site.protection.is_some_and(|all| !all.covers.is_empty()) {
        entries.push(entry(&block(COVER), "", &say("cover")));
    }
    if site.protection.is_some_and(|all| all.services.iter().any(|line| line.moved.is_some())) {
        let line = format!("<path d=\"M0 250H900\" {}/>", super::map_protection::MOVED);
        entries.push(entry(&line, "", &say("moved")));
    }
    let has_distance =
        |row: &&crate::model::results::Row| site.set_back(row).is_some_and(|one| one.distance_m.is_some());
    if site.rows.iter().any(has_distance) {
        let line = format!("<path d=\"M0 250H900\" {}/>", super::map_protection::SET_BACK);
        entries.push(entry(&line, "", &say("set_back")));
    }
    entries
}

pub(super) const ROOT_ZONE: &str = r##"fill="#009E73" fill-opacity=".09" stroke="#00664b" stroke-width="32""##;
pub(super) const RING: &str = r##"fill="none" stroke="#00664b" stroke-width="16" stroke-dasharray="90 70""##;
const OVERLAP: &str = r##"fill="url(#p-overlap)" stroke="#9e4500" stroke-width="24""##;
const SEVERED: &str = r##"fill="url(#p-severed)" stroke="#a14d7c" stroke-width="16" stroke-dasharray="50 40""##;
const COVER: &str = r##"fill="url(#p-cover)" stroke="#00664b" stroke-width="12""##;

fn block(attributes: &str) -> String {
    format!("<path d=\"M30 30H870V470H30z\" {attributes}/>")
}

fn entry(drawn: &str, letter: &str, words: &str) -> Entry {
    let swatch = if drawn.is_empty() {
        String::new()
    } else {
        format!("<svg class=\"swatch\" viewBox=\"0 0 900 500\" aria-hidden=\"true\" focusable=\"false\">{drawn}</svg>")
    };
    Entry { swatch, letter: letter.to_string(), words: words.to_string() }
}
