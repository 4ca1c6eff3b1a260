//! The names of a tree as an inventory writes them -> what the botanical table knows of them, and how surely.
//!
//! The scientific name goes first, the common name helps where it says nothing. A name that may mean several trees means their
//! genus, or nothing: a tree is never given a species that its text does not say.

use super::species_scientific::{Scientific, read_scientific};
use super::species_table::{SpeciesTable, TABLE, joined};
use super::species_text::{SpeciesText, one_letter_off};
use super::words::{cell_words, has_phrase};
use crate::model::species::{Botanical, Certainty};
use std::cell::RefCell;
use std::collections::HashMap;

/// A worker forgets what it matched beyond this many different texts, so that odd files do not fill the memory.
const REMEMBERED: usize = 20_000;
/// Words beside the name of a genus that say nothing of the species.
const NEUTRAL: &[&str] = &[
    "deciduous",
    "evergreen",
    "other",
    "species",
    "sp",
    "spp",
    "unknown",
    "hybrid",
    "hybrids",
    "various",
    "misc",
    "ornamental",
    "unspecified",
    "tree",
];

thread_local! {
    /// What was matched by its texts, and room for the texts that are asked for.
    static KNOWN: RefCell<(HashMap<String, Botanical>, String)> = RefCell::default();
}

/// Matches the scientific text and, where it leaves the species open, the common name. Each different pair is worked out once per thread.
pub fn match_species(scientific: &str, common: &str) -> Botanical {
    KNOWN.with_borrow_mut(|(known, key)| {
        key.clear();
        [scientific, "\u{1f}", common].into_iter().for_each(|part| key.push_str(part));
        if let Some(found) = known.get(key) {
            return *found;
        }
        if known.len() >= REMEMBERED {
            known.clear();
        }
        let found = matched(&TABLE, scientific, common);
        known.insert(key.clone(), found);
        found
    })
}

/// Whether the botanical table lacks a scientific name that a rule set writes: `Some` with the nearest name, where one is near.
pub fn unknown_taxon(name: &str) -> Option<Option<String>> {
    let found = match_species(name, "");
    let known = found.certainty == Certainty::Exact;
    let meant = if found.is_species() { found.accepted } else { found.genus };
    (!(known || found.certainty == Certainty::Genus && meant.eq_ignore_ascii_case(name)))
        .then(|| Some(meant.to_string()).filter(|meant| !meant.is_empty()))
}

/// A match of one text.
#[derive(Debug, Clone, Copy, Default)]
struct Match {
    botanical: Botanical,
    /// Only a genus is named, and nothing says which species: the other column may.
    open: bool,
}

fn matched(table: &SpeciesTable, scientific: &str, common: &str) -> Botanical {
    let first = one_text(table, scientific);
    if first.botanical.is_species() || common.trim().is_empty() {
        return first.botanical;
    }
    let second = one_text(table, common);
    let columnar = first.botanical.columnar || second.botanical.columnar;
    let same_genus = second.botanical.genus == first.botanical.genus;
    let chosen = match first.botanical.certainty {
        Certainty::Unmatched => second.botanical,
        _ if first.open && same_genus && second.botanical.is_species() => second.botanical,
        _ => first.botanical,
    };
    Botanical { columnar, ..chosen }
}

fn one_text(table: &SpeciesTable, cell: &str) -> Match {
    let text = SpeciesText::of(cell);
    if text.body.is_empty() {
        return Match::default();
    }
    let (found, beside) = best(table, &text);
    let mut botanical = found.botanical;
    if !text.cultivar.is_empty() && botanical.certainty != Certainty::Unmatched {
        botanical.certainty = botanical.certainty.max(Certainty::Cultivar);
    }
    botanical.columnar |= is_columnar(table, &cell_words(&format!("{} {beside}", text.cultivar)));
    Match { botanical, ..found }
}

/// The best reading of a cell, and its words beside the scientific name.
fn best(table: &SpeciesTable, text: &SpeciesText) -> (Match, String) {
    let whole = read_scientific(table, &text.body);
    let beside = |read: &Scientific| text.body.split_whitespace().skip(read.used).collect::<Vec<_>>().join(" ");
    let parts: Vec<Scientific> = text.parts.iter().filter_map(|part| read_scientific(table, part)).collect();
    let species_in_parts = parts.iter().filter(|part| part.botanical.is_species()).count();
    if let Some(read) = whole.filter(|read| read.botanical.is_species() && species_in_parts < 2) {
        return (Match { botanical: read.botanical, open: false }, beside(&read));
    }
    if let Some(agreed) = agreement(table, &parts) {
        return (Match { botanical: agreed, open: false }, text.body.clone());
    }
    let genera = |read: &Scientific| read.botanical.genus;
    if parts.len() > 1 && parts.iter().any(|part| genera(part) != genera(&parts[0])) {
        // `Quercus / Acer`: either, so neither.
        return (Match::default(), text.body.clone());
    }
    let genus = whole.or_else(|| parts.first().copied());
    if let Some(found) = common_by_all_words(table, text) {
        let of_genus = |read: Scientific| found.is_species() || read.botanical.genus == found.genus;
        if genus.is_none_or(of_genus) {
            return (Match { botanical: found, open: !found.is_species() }, text.body.clone());
        }
    }
    let in_part = common_in_a_part(table, text);
    match genus {
        Some(read) => {
            let open = read.bare_genus || parts.iter().any(|part| part.bare_genus);
            let better = in_part.filter(|part| open && part.genus == read.botanical.genus);
            let beside = if better.is_some() { text.body.clone() } else { beside(&read) };
            (Match { botanical: better.unwrap_or(read.botanical), open: open && better.is_none() }, beside)
        }
        None => {
            let found = in_part.or_else(|| misspelt_common(table, text)).or_else(|| genus_by_words(table, text));
            let botanical = found.unwrap_or_default();
            (Match { botanical, open: !botanical.is_species() }, text.body.clone())
        }
    }
}

/// The species that all scientific names of a cell agree on; their genus where only that is shared; nothing known where not even that.
fn agreement(table: &SpeciesTable, parts: &[Scientific]) -> Option<Botanical> {
    let species: Vec<Botanical> = parts.iter().map(|part| part.botanical).filter(Botanical::is_species).collect();
    let first = *species.first()?;
    if species.iter().all(|other| other.accepted == first.accepted) {
        return species.into_iter().min_by_key(|found| found.certainty);
    }
    let one_genus = species.iter().all(|other| other.genus == first.genus);
    Some(if one_genus { table.genus(first.genus).unwrap_or_default() } else { Botanical::default() })
}

/// A common name made of all words of the cell, in one of their orders.
fn common_by_all_words(table: &SpeciesTable, text: &SpeciesText) -> Option<Botanical> {
    let orders = text.orders();
    orders.iter().enumerate().find_map(|(at, order)| {
        let found = common(table, order)?;
        // The last order leaves words out.
        let left_out = at == 3 && text.parts.len() > 2;
        let certainty = if left_out { found.certainty.max(Certainty::Cultivar) } else { found.certainty };
        Some(Botanical { certainty, ..found })
    })
}

/// A common name, with or without `tree` at its end.
fn common(table: &SpeciesTable, name: &str) -> Option<Botanical> {
    let key = joined(name);
    match table.common.get(&key) {
        Some(found) => *found,
        None => {
            let words = cell_words(name);
            let bare = words.strip_suffix(" tree").or_else(|| words.strip_suffix(" trees"))?;
            *table.common.get(&joined(bare))?
        }
    }
}

/// A common name of at least two words that is one part of the cell: `Red maple (street tree)`. Parts that disagree say nothing.
fn common_in_a_part(table: &SpeciesTable, text: &SpeciesText) -> Option<Botanical> {
    let several_words = text.parts.iter().filter(|part| part.split_whitespace().count() > 1);
    let found: Vec<Botanical> =
        several_words.filter_map(|part| common(table, part)).filter(Botanical::is_species).collect();
    let first = *found.first()?;
    found.iter().all(|other| other.accepted == first.accepted).then_some(first)
}

/// A common name with one wrong letter in one word of at least six.
fn misspelt_common(table: &SpeciesTable, text: &SpeciesText) -> Option<Botanical> {
    text.orders().iter().find_map(|order| {
        let words = cell_words(order);
        if table.common.contains_key(&joined(&words)) {
            return None;
        }
        let near = table.common_words.iter().filter(|known| one_word_off(&words, known));
        let found: Vec<Botanical> = near.filter_map(|known| common(table, known)).collect();
        let first = *found.first()?;
        let unique = found.iter().all(|other| other.accepted == first.accepted);
        unique.then_some(Botanical { certainty: first.certainty.max(Certainty::Spelling), ..first })
    })
}

fn one_word_off(words: &str, known: &str) -> bool {
    if words.len().abs_diff(known.len()) > 1 || words.split(' ').count() != known.split(' ').count() {
        return false;
    }
    let mut differing = words.split(' ').zip(known.split(' ')).filter(|(a, b)| a != b);
    let (Some((a, b)), None) = (differing.next(), differing.next()) else { return false };
    a.len() >= 6 && b.len() >= 6 && one_letter_off(a, b)
}

/// The genus alone: a name beside words that say nothing (`oak, deciduous`), or a last word that is sure (`... maple`).
fn genus_by_words(table: &SpeciesTable, text: &SpeciesText) -> Option<Botanical> {
    let neutral = |part: &str| cell_words(part).split(' ').all(|word| NEUTRAL.contains(&word));
    let named: Vec<&String> = text.parts.iter().filter(|part| !neutral(part)).collect();
    if let [only] = named.as_slice()
        && text.parts.len() > 1
        && let Some(found) = common(table, only)
    {
        return table.genus(found.genus);
    }
    let orders = text.orders();
    orders.iter().find_map(|order| {
        let words = cell_words(order);
        table.heads.iter().find(|(head, _)| words.ends_with(&format!(" {head}"))).map(|(_, genus)| *genus)
    })
}

/// Whether one of the words or phrases is that of an upright form.
fn is_columnar(table: &SpeciesTable, words: &str) -> bool {
    table.columnar.iter().any(|pattern| match pattern.strip_suffix('*') {
        Some(beginning) => words.split(' ').any(|word| word.starts_with(beginning)),
        None => has_phrase(words, pattern),
    })
}

#[cfg(test)]
#[path = "species_tests.rs"]
mod tests;
