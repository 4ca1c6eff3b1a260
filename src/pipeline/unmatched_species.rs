//! The trees with rows -> one issue for each different species text that the botanical table does not have.

use crate::error::Result;
use crate::issue::{Issue, Outcome};
use crate::model::rows::{RowHead, Rows};
use crate::model::tree::Tree;
use std::collections::BTreeMap;
use std::sync::Arc;

/// Lists the texts that matched nothing, each once, at the first tree that has it; nothing where the rules do not read species.
///
/// # Errors
/// Rows cannot be read back.
pub(super) fn unmatched_species(rows: &Rows, rules_read_species: bool) -> Result<Vec<Issue>> {
    if !rules_read_species {
        return Ok(Vec::new());
    }
    let mut heads: Vec<&RowHead> = rows.heads().iter().filter(|head| head.species_unmatched).collect();
    heads.sort_unstable_by_key(|head| (head.tree, head.permit));
    heads.dedup_by_key(|head| head.tree);
    let read = |head: &RowHead| Ok(rows.read(head)?.of);
    let trees: Vec<Arc<Tree>> = heads.into_iter().map(read).collect::<Result<_>>()?;
    Ok(listed(trees.iter().map(Arc::as_ref)))
}

fn listed<'a>(trees: impl Iterator<Item = &'a Tree>) -> Vec<Issue> {
    let mut by_text: BTreeMap<&str, (usize, &Tree)> = BTreeMap::new();
    for tree in trees {
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
