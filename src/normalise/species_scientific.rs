//! Text -> taxon, read as a scientific name: genus, epithet, hybrid signs, authors, ranks.
//!
//! Never guesses: an epithet that the table does not have leaves the genus.

use super::species_table::{GenusEntry, SpeciesTable, joined};
use super::species_text::one_letter_off;
use crate::model::species::{Botanical, Certainty};

/// Words of fewer letters are not searched for misspellings.
const SHORTEST_MISSPELT: usize = 6;
/// Second words that say that the species is not known.
const NO_SPECIES: &[&str] =
    &["sp", "spp", "spec", "species", "various", "hybrid", "hybrids", "unknown", "other", "xx", "ssp", "cvs", "indet"];
const RANKS: &[&str] = &["subsp", "ssp", "var", "f", "forma", "fo", "subspecies", "variety", "v"];
/// Authors as they stand behind names, for those written without a dot (general knowledge).
const AUTHORS: &[&str] = &[
    "l", "mill", "miller", "marsh", "marshall", "ehrh", "ait", "aiton", "willd", "michx", "borkh", "hook", "thunb",
    "siebold", "sieb", "zucc", "lam", "scop", "gaertn", "roth", "moench", "du", "roi", "sarg", "nutt", "torr", "gray",
    "dc", "franco", "carr", "karst", "engelm", "loudon", "arn", "lindl", "don", "maxim", "rehd", "rehder", "wils",
    "wilson", "matt", "liebl", "swingle", "poir", "desf", "vent", "salisb", "huds", "medik", "link", "koch", "britton",
    "walter", "ledeb", "ex", "et", "and", "in", "al", "linnaeus", "h", "karsten", "hort", "bailey", "cav", "labill",
];

/// A name that was read.
#[derive(Debug, Clone, Copy)]
pub struct Scientific {
    /// The taxon.
    pub botanical: Botanical,
    /// The genus stands alone or with `sp.`: another column may say more.
    pub bare_genus: bool,
    /// How many words were used; what follows is an author, a cultivar or a common name.
    pub used: usize,
}

/// The words of a name in lower case, with a mark where a dot stood behind: an author or a rank.
fn tokens(text: &str) -> Vec<(String, bool)> {
    text.split(|c: char| c.is_whitespace() || c == ',' || c == '(' || c == ')')
        .map(|word| (joined(word), word.trim_end().ends_with('.')))
        .filter(|(word, _)| !word.is_empty())
        .collect()
}

/// Reads a text as a scientific name; `None` where its first word is no genus of the table.
pub fn read_scientific(table: &SpeciesTable, text: &str) -> Option<Scientific> {
    let mut words = tokens(text);
    let mut skipped = 0;
    if words.first().is_some_and(|(word, _)| word == "x") {
        words.remove(0);
        skipped += 1;
    }
    let first = words.first()?.0.clone();
    let known = table.genera.get(&first).or_else(|| table.genera.get(first.strip_prefix('x')?));
    let Some(entry) = known else { return misspelt_genus(table, &first, &words[1..], skipped) };
    while words.get(1).is_some_and(|(word, _)| word == "x") {
        words.remove(1);
        skipped += 1;
    }
    let bare = |entry: &GenusEntry, bare_genus, used| {
        Some(Scientific { botanical: entry.own?, bare_genus, used: used + skipped })
    };
    let Some((second, dotted)) = words.get(1) else { return bare(entry, true, 1) };
    if NO_SPECIES.contains(&second.as_str()) || (*dotted && RANKS.contains(&second.as_str())) {
        return bare(entry, true, 2);
    }
    let Some((botanical, used)) = epithet(entry, &words[1..]) else { return bare(entry, false, 2) };
    let rest = &words[1 + used..];
    // `Quercus robur x petraea` is neither of its parents, unless the first name is that of the hybrid.
    if rest.len() > 1 && rest[0].0 == "x" && !botanical.accepted.contains(" x ") {
        return bare(table.genera.get(&joined(botanical.genus)).unwrap_or(entry), false, words.len());
    }
    let certainty = botanical.certainty.max(rest_certainty(table, &botanical, rest));
    Some(Scientific { botanical: Botanical { certainty, ..botanical }, bare_genus: false, used: 1 + used + skipped })
}

/// The taxon of an epithet with its infraspecific name, and how many words it took.
fn epithet(entry: &GenusEntry, words: &[(String, bool)]) -> Option<(Botanical, usize)> {
    let first = &words[0].0;
    if let [_, rank, name, ..] = words
        && RANKS.contains(&rank.0.as_str())
        && let Some(found) = entry.epithets.get(&format!("{first} {}", name.0))
    {
        return Some((*found, 3));
    }
    let whole = entry.epithets.get(first).or_else(|| entry.epithets.get(first.strip_prefix('x')?));
    if let Some(found) = whole {
        return Some((*found, 1));
    }
    // `crus galli`
    if let Some((second, _)) = words.get(1)
        && let Some(found) = entry.epithets.get(&format!("{first}{second}"))
    {
        return Some((*found, 2));
    }
    let like = |fits: &dyn Fn(&str) -> bool| {
        let found: Vec<&Botanical> =
            entry.epithets.iter().filter(|(known, _)| fits(known)).map(|(_, taxon)| taxon).collect();
        let first = *found.first()?;
        let unique = found.iter().all(|other| other.accepted == first.accepted);
        unique.then_some(Botanical { certainty: Certainty::Spelling, ..*first })
    };
    let stem = without_ending(first);
    like(&|known| stem.len() > 3 && without_ending(known) == stem)
        .or_else(|| {
            let long = |word: &str| word.len() >= SHORTEST_MISSPELT;
            like(&|known| long(first) && long(known) && one_letter_off(first, known))
        })
        .map(|found| (found, 1))
}

/// `japonica` and `japonicus` are one name in two genders.
fn without_ending(epithet: &str) -> &str {
    ["us", "um", "is", "ii", "a", "e", "i"].iter().find_map(|ending| epithet.strip_suffix(ending)).unwrap_or(epithet)
}

/// Exact where authors or the tree's common name follow; a cultivar or another rank was passed over where anything else does.
fn rest_certainty(table: &SpeciesTable, botanical: &Botanical, rest: &[(String, bool)]) -> Certainty {
    let all: String = rest.iter().map(|(word, _)| word.as_str()).collect();
    let common = || table.common.get(&all).is_some_and(|name| name.is_some_and(|n| n.genus == botanical.genus));
    let ranked = rest.iter().any(|(word, _)| RANKS.contains(&word.as_str()) && word != "f");
    let author = |(word, dotted): &(String, bool)| *dotted || word == "x" || AUTHORS.contains(&word.as_str());
    if !ranked && (rest.iter().all(author) || common()) { Certainty::Exact } else { Certainty::Cultivar }
}

/// A genus with one wrong letter counts only with an epithet that it has.
fn misspelt_genus(table: &SpeciesTable, first: &str, words: &[(String, bool)], skipped: usize) -> Option<Scientific> {
    let (epithet, _) = words.iter().find(|(word, _)| word != "x")?;
    if first.len() < SHORTEST_MISSPELT - 1 || epithet.len() < SHORTEST_MISSPELT - 1 {
        return None;
    }
    let near = |known: &str| known.len() >= SHORTEST_MISSPELT && one_letter_off(first, known);
    let mut found =
        table.genera.iter().filter(|(known, _)| near(known)).filter_map(|(_, entry)| entry.epithets.get(epithet));
    let only = *found.next()?;
    let unique = found.all(|other| other.accepted == only.accepted);
    unique.then_some(Scientific {
        botanical: Botanical { certainty: Certainty::Spelling, ..only },
        bare_genus: false,
        used: 2 + skipped,
    })
}
