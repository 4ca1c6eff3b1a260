//! The trees with rows -> one issue for each different species text that the botanical table does not have.

use crate::issue::{Issue, Outcome};
use crate::model::species::Certainty;
use crate::model::tree::Tree;
use std::collections::BTreeMap;

/// Lists the texts that matched nothing, each once, at the first tree that has it; nothing where the rules do not read species.
pub(super) fn unmatched_species(trees: &[Tree], rules_read_species: bool) -> Vec<Issue> {
    if !rules_read_species {
        return Vec::new();
    }
    let mut by_text: BTreeMap<&str, (usize, &Tree)> = BTreeMap::new();
    for tree in trees.iter().filter(|tree| tree.botanical.certainty == Certainty::Unmatched) {
        let (count, first) = by_text.entry(&tree.species).or_insert((0, tree));
        *count += 1;
        if tree.source < first.source {
            *first = tree;
        }
    }
    by_text.into_iter().map(|(text, (count, first))| issue(text, count, first)).collect()
}

fn issue(text: &str, count: usize, first: &Tree) -> Issue {
    let what = if text.is_empty() {
        "no species is given".to_string()
    } else {
        format!("`{text}` is not in the botanical table")
    };
    let trees =
        if count == 1 { "1 tree in reach".to_string() } else { format!("{count} trees in reach, this the first") };
    let detail = format!(
        "{what} ({trees}); judged as a tree of no known species, with poor tolerance of root loss where the rules ask for it"
    );
    Issue::new(first.source, first.id.clone(), "species-unknown", Outcome::Used, detail)
}

#[cfg(test)]
#[path = "unmatched_species_tests.rs"]
mod tests;
