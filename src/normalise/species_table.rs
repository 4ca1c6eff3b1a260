//! The botanical table (`species.txt`) -> look-ups by scientific and by common name.
//!
//! Reads our own file only; what a cell of an inventory means is decided in [`species`](super::species). The sources stand at
//! the head of the file.

use super::words::{cell_words, fold};
use crate::model::species::{Botanical, Certainty, Group, LeafHabit, Tolerance};
use std::collections::{BTreeMap, HashMap};
use std::sync::LazyLock;

/// The file, so that every name in the program is a part of it.
const TEXT: &str = include_str!("species.txt");
/// Shorter common names are more likely codes.
const SHORTEST_COMMON: usize = 3;

/// The table that comes with the program.
pub static TABLE: LazyLock<SpeciesTable> = LazyLock::new(|| SpeciesTable::read(TEXT));

/// One genus as a first word.
#[derive(Debug, Default)]
pub struct GenusEntry {
    /// The genus itself; `None` for a name that is only the first word of synonyms.
    pub own: Option<Botanical>,
    /// Epithet (and, after a space, that of a subspecies or variety) in lower-case letters -> taxon, exact or synonym.
    pub epithets: BTreeMap<String, Botanical>,
}

/// Look-ups by name.
#[derive(Debug, Default)]
pub struct SpeciesTable {
    /// First words in lower-case letters.
    pub genera: BTreeMap<String, GenusEntry>,
    /// Common names in lower-case letters without spaces; `None`: ambiguous.
    pub common: HashMap<String, Option<Botanical>>,
    /// Common names as words, for the search for misspellings, in the order of the file.
    pub common_words: Vec<String>,
    /// Last words that are sure to name a genus.
    pub heads: Vec<(String, Botanical)>,
    /// Words and phrases of upright cultivars; `*` at the end stands for any ending.
    pub columnar: Vec<String>,
    /// Accepted names of species, in the order of the file.
    pub accepted: Vec<Botanical>,
}

/// Letters and digits only, in lower case without accents.
pub fn joined(text: &str) -> String {
    fold(text).chars().filter(|c| c.is_alphanumeric()).collect()
}

impl SpeciesTable {
    /// Reads the table; lines that are none of its forms are left out (a test holds the file to them).
    fn read(text: &'static str) -> SpeciesTable {
        let mut table = SpeciesTable::default();
        let lines = || text.lines().filter(|line| !line.trim().is_empty() && !line.starts_with('#'));
        for line in lines() {
            let cells: Vec<&'static str> = line.split('|').map(str::trim).collect();
            match cells.as_slice() {
                ["columnar", words] => table.columnar.extend(columnar_words(words)),
                ["heads" | "ambiguous", ..] => {}
                [name, kind, tolerance, synonyms, common] => table.taxon([name, kind, tolerance, synonyms, common]),
                _ => debug_assert!(false, "no line of the table: {line}"),
            }
        }
        for line in lines() {
            let cells: Vec<&'static str> = line.split('|').map(str::trim).collect();
            match cells.as_slice() {
                ["heads", genus, words] => {
                    if let Some(own) = table.genus(genus) {
                        table.heads.extend(words.split(',').map(|word| (cell_words(word), own)));
                    }
                }
                ["ambiguous", names] => {
                    for name in names.split(',') {
                        table.common.insert(joined(name), None);
                    }
                }
                _ => {}
            }
        }
        table
    }

    /// The genus of that name.
    pub fn genus(&self, name: &str) -> Option<Botanical> {
        self.genera.get(&genus_key(name))?.own
    }

    fn taxon(&mut self, [name, kind, tolerance, synonyms, common]: [&'static str; 5]) {
        let (genus, epithet) = genus_and_epithet(name);
        let tolerance = match tolerance {
            "good" => Some(Tolerance::Good),
            "moderate" => Some(Tolerance::Moderate),
            "poor" => Some(Tolerance::Poor),
            // What the source says of a genus holds for all its species.
            _ => self.genus(genus).and_then(|genus| genus.tolerance),
        };
        let botanical = Botanical {
            accepted: name,
            genus,
            group: group(kind),
            habit: habit(kind),
            tolerance,
            columnar: kind.ends_with('^'),
            certainty: if epithet.is_empty() { Certainty::Genus } else { Certainty::Exact },
        };
        if epithet.is_empty() {
            self.genera.entry(genus_key(genus)).or_default().own = Some(botanical);
        } else {
            self.accepted.push(botanical);
            self.scientific(name, botanical);
        }
        for synonym in synonyms.split(',').filter(|name| !name.trim().is_empty()) {
            self.scientific(synonym, Botanical { certainty: Certainty::Synonym, ..botanical });
        }
        let certainty = botanical.certainty.max(Certainty::CommonName);
        for name in common.split(',').filter(|name| !name.trim().is_empty()) {
            let columnar = botanical.columnar || name.ends_with('^');
            self.common_name(name.trim_end_matches('^'), Botanical { columnar, certainty, ..botanical });
        }
    }

    /// Enters a scientific name; the first that has it keeps it.
    fn scientific(&mut self, name: &str, botanical: Botanical) {
        let words: Vec<&str> = name.split_whitespace().filter(|word| !word.eq_ignore_ascii_case("x")).collect();
        let [genus, epithet, rest @ ..] = words.as_slice() else { return };
        let key = match rest.last() {
            Some(last) => format!("{} {}", joined(epithet), joined(last)),
            None => joined(epithet),
        };
        let entry = self.genera.entry(genus_key(genus)).or_default();
        entry.epithets.entry(key).or_insert(botanical);
    }

    /// Enters a common name; several taxa of one genus make it the name of the genus, of several genera that of nothing.
    fn common_name(&mut self, name: &str, botanical: Botanical) {
        let key = joined(name);
        if key.len() < SHORTEST_COMMON {
            return;
        }
        self.common_words.push(cell_words(name));
        let genus = self.genus(botanical.genus);
        let known = self.common.entry(key).or_insert(Some(botanical));
        if let Some(other) = *known
            && other.accepted != botanical.accepted
        {
            *known = if other.genus == botanical.genus { genus } else { None };
        }
    }
}

fn genus_key(genus: &str) -> String {
    joined(genus.trim_start_matches("x "))
}

/// `x Cuprocyparis leylandii` gives `x Cuprocyparis` and `leylandii`; `Acer x freemanii` gives `Acer` and `x freemanii`.
fn genus_and_epithet(name: &'static str) -> (&'static str, &'static str) {
    let from = if name.starts_with("x ") { 2 } else { 0 };
    match name[from..].find(' ') {
        Some(at) => (&name[..from + at], &name[from + at + 1..]),
        None => (name, ""),
    }
}

fn group(kind: &str) -> Group {
    match kind.as_bytes().first() {
        Some(b'b') => Group::Broadleaf,
        Some(b'c') => Group::Conifer,
        Some(b'p') => Group::Palm,
        _ => Group::Unknown,
    }
}

fn habit(kind: &str) -> LeafHabit {
    match kind.as_bytes().get(1) {
        Some(b'd') => LeafHabit::Deciduous,
        Some(b'e') => LeafHabit::Evergreen,
        _ => LeafHabit::Unknown,
    }
}

/// Single words parted by spaces, or phrases parted by `;`.
fn columnar_words(words: &str) -> Vec<String> {
    if words.contains(';') {
        words.split(';').map(cell_words).collect()
    } else {
        words.split_whitespace().map(str::to_string).collect()
    }
}

#[cfg(test)]
#[path = "species_table_tests.rs"]
mod tests;
