//! What an application states of a work -> whether it stays, and which mitigations are promised.
//!
//! The names of mitigations are in `mitigations.toml`. A promise with a condition, a refusal and an unknown word change nothing: they
//! are handed back, to be listed. What a mitigation changes is decided by the rule set.

use super::words::{cell_words, find_phrase, has_phrase};
use crate::model::work::{Lasting, Mitigation};
use serde::Deserialize;
use std::sync::LazyLock;

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Table {
    mitigation: Vec<Entry>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Entry {
    is: Mitigation,
    names: Vec<String>,
}

/// Names of mitigations, the longest first: `no dig driveway` before `no dig`.
static NAMES: LazyLock<Vec<(String, Mitigation)>> = LazyLock::new(|| {
    let table: Table = toml::from_str(include_str!("mitigations.toml")).expect("a test reads the built-in table");
    let names = |entry: Entry| entry.names.into_iter().map(move |name| (name, entry.is));
    let mut names: Vec<(String, Mitigation)> = table.mitigation.into_iter().flat_map(names).collect();
    names.sort_by(|a, b| b.0.len().cmp(&a.0.len()).then_with(|| a.0.cmp(&b.0)));
    names
});

/// Cells that state nothing.
const NOTHING: &[&str] = &[
    "",
    "none",
    "no",
    "n",
    "nil",
    "n a",
    "na",
    "null",
    "not applicable",
    "0",
    "keine",
    "kein",
    "aucune",
    "aucun",
    "ninguna",
    "ninguno",
    "nessuna",
    "geen",
    "ingen",
    "brak",
];

/// Words that take a promise back, or make it depend on something.
#[rustfmt::skip]
const NOT_PROMISED: &[&str] = &[
    "no", "not", "without", "none", "never", "cannot", "refused", "declined", "waived", "omitted", "instead", "if", "unless", "maybe", "may", "might", "possible",
    "possibly", "optional", "tbd", "tbc", "proposed alternative", "where", "when", "recommended", "should",
    "kein", "keine", "ohne", "nicht", "falls", "wenn", "ggf", "gegebenenfalls", "sans", "pas", "aucun", "aucune", "si", "sin", "senza", "se", "non", "geen", "zonder",
    "niet", "indien", "uden", "ingen", "hvis", "uten", "utan", "om", "nie", "bez",
];

/// The mitigations that a cell promises, sorted, each once; and the parts of it that are not understood, as written.
///
/// Parts are separated by `;`, `,`, `/`, `+`, `&`, `|` or a line break; names are found in longer text, unless the rest of the part takes
/// them back or makes them depend on something.
pub fn mitigations(written: &str) -> (Vec<Mitigation>, Vec<String>) {
    let (mut found, mut unknown) = (Vec::new(), Vec::new());
    if NOTHING.contains(&cell_words(written).as_str()) {
        return (found, unknown);
    }
    for part in written.split([';', ',', '/', '+', '&', '|', '\n', '\r']) {
        let mut words = cell_words(part);
        if NOTHING.contains(&words.as_str()) {
            continue;
        }
        let mut here = Vec::new();
        for (name, mitigation) in NAMES.iter() {
            while let Some(at) = find_phrase(&words, name) {
                words.replace_range(at..at + name.len(), "");
                here.push(*mitigation);
            }
        }
        if here.is_empty() || NOT_PROMISED.iter().any(|word| has_phrase(words.trim(), word)) {
            unknown.push(part.trim().to_string());
        } else {
            found.extend(here);
        }
    }
    found.sort_unstable();
    found.dedup();
    (found, unknown)
}

#[rustfmt::skip]
const TEMPORARY: &[&str] = &[
    "temporary", "temp", "t", "temporarily", "provisional", "interim", "short term", "during construction", "during works", "construction only", "removed after", "reinstated",
    "temporaire", "provisoire", "vorubergehend", "voruebergehend", "temporar", "temporaer", "bauzeitlich", "temporal", "provisionale", "temporaneo", "temporanea", "provvisorio",
    "provvisoria", "temporario", "temporaria", "provisorio", "tijdelijk", "midlertidig", "tillfallig", "tillfalligt", "tymczasowy", "tymczasowe", "docasny", "docasne", "zacasno",
];

#[rustfmt::skip]
const PERMANENT: &[&str] = &[
    "permanent", "perm", "p", "permanently", "lasting", "final", "long term", "permanente", "definitif", "definitive", "dauerhaft", "dauernd", "bleibend", "definitivo",
    "definitiva", "blijvend", "varig", "varaktig", "staly", "stale", "trvaly", "trvale", "trajno",
];

/// Whether a cell says that a work stays or goes; `None` for a cell that says neither or both.
pub fn lasting(written: &str) -> Option<Lasting> {
    let words = cell_words(written);
    let says = |list: &[&str]| list.iter().any(|word| has_phrase(&words, word));
    match (says(TEMPORARY), says(PERMANENT)) {
        (true, false) if !has_phrase(&words, "not") && !has_phrase(&words, "non") => Some(Lasting::Temporary),
        (false, true) if !has_phrase(&words, "not") && !has_phrase(&words, "non") => Some(Lasting::Permanent),
        _ => None,
    }
}

#[cfg(test)]
#[path = "stated_tests.rs"]
mod tests;
