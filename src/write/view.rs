//! Results in the order in which they are written, and what several files need of them: worst rows, counts, labels.

use crate::error::{Error, Result};
use crate::issue::Outcome;
use crate::model::finding::Verdict;
use crate::model::owed::PermitOwed;
use crate::model::results::{Results, Row, TogetherRow};
use crate::model::run_facts::RunFacts;
use crate::model::source::SourceRef;
use crate::model::tree::Tree;
use crate::model::work::{Permit, Work};
use std::collections::{BTreeSet, HashMap};

/// Results and facts, ordered.
pub struct View<'a> {
    /// The results as given.
    pub results: &'a Results,
    /// The facts as given.
    pub facts: &'a RunFacts,
    /// Rows ordered by permit id, tree id, source of the tree.
    pub rows: Vec<&'a Row>,
    /// Rows of several permits together, ordered by tree id, source.
    pub together: Vec<&'a TogetherRow>,
    /// Trees with their worst rows, ordered by tree id, source.
    pub trees: Vec<TreeView<'a>>,
    /// Permits with their rows, ordered by id.
    pub permits: Vec<PermitView<'a>>,
    /// Works ordered by permit id, work id, source.
    pub works: Vec<&'a Work>,
    rows_of_tree: HashMap<u32, Vec<&'a Row>>,
    together_of_tree: HashMap<u32, &'a TogetherRow>,
    labels: Vec<String>,
}

/// A tree that has a row.
pub struct TreeView<'a> {
    /// The tree.
    pub tree: &'a Tree,
    /// Its worst row.
    pub worst: &'a Row,
    /// Number of rows.
    pub permits: u64,
    /// The row of several permits together, where there is one.
    pub together: Option<&'a TogetherRow>,
}

/// A permit and its rows.
pub struct PermitView<'a> {
    /// The permit.
    pub permit: &'a Permit,
    /// Number of its works.
    pub works: u64,
    /// Its rows in order.
    pub rows: Vec<&'a Row>,
    /// What is owed now for its removed trees; `None` where the set has no rule on replacement.
    pub owed: Option<&'a PermitOwed>,
}

impl<'a> View<'a> {
    /// Orders results.
    ///
    /// # Errors
    /// The counts of an input do not add up, or do not agree with the list of what was set aside: an internal error.
    pub fn new(results: &'a Results, facts: &'a RunFacts) -> Result<View<'a>> {
        check_counts(results, facts)?;
        let rows = rows_in_order(results);
        let owed = |at: usize| results.owed.get(at);
        let permits = results.permits.iter().enumerate();
        let mut permits: Vec<_> =
            permits.map(|(at, permit)| PermitView { permit, works: 0, rows: Vec::new(), owed: owed(at) }).collect();
        let mut rows_of_tree: HashMap<u32, Vec<&Row>> = HashMap::new();
        for &row in &rows {
            permits[row.permit as usize].rows.push(row);
            rows_of_tree.entry(row.tree).or_default().push(row);
        }
        for work in &results.works {
            permits[work.permit as usize].works += 1;
        }
        permits.sort_by(|a, b| a.permit.id.cmp(&b.permit.id));
        let mut works: Vec<_> = results.works.iter().collect();
        works.sort_by_key(|work| (&results.permits[work.permit as usize].id, &work.id, work.source));
        let mut together: Vec<_> = results.together.iter().collect();
        together.sort_by_key(|t| tree_order(&results.trees[t.row.tree as usize]));
        let together_of_tree = results.together.iter().map(|one| (one.row.tree, one)).collect();
        let trees = trees_in_order(results, &rows_of_tree, &together_of_tree);
        let labels = labels(facts);
        Ok(View { results, facts, rows, together, trees, permits, works, rows_of_tree, together_of_tree, labels })
    }

    /// The tree of a row.
    pub fn tree(&self, row: &Row) -> &'a Tree {
        &self.results.trees[row.tree as usize]
    }

    /// The permit of a row.
    pub fn permit(&self, row: &Row) -> &'a Permit {
        &self.results.permits[row.permit as usize]
    }

    /// The work that a row's distance speaks of.
    pub fn nearest_work(&self, row: &Row) -> Option<&'a Work> {
        self.results.works.get(row.overlap.nearest_work as usize)
    }

    /// The rows of a tree (by its index in the results), ordered by permit.
    pub fn rows_of_tree(&self, tree: u32) -> &[&'a Row] {
        self.rows_of_tree.get(&tree).map_or(&[], Vec::as_slice)
    }

    /// The row of several permits together for a tree (by its index in the results), where there is one.
    pub fn together_of_tree(&self, tree: u32) -> Option<&'a TogetherRow> {
        self.together_of_tree.get(&tree).copied()
    }

    /// The row of several permits together, where that one's is among them and the finding is worse than alone.
    pub fn worse_together(&self, row: &Row) -> Option<&'a TogetherRow> {
        let together = self.together_of_tree(row.tree)?;
        let worse = together.row.finding.verdict > row.finding.verdict;
        (worse && together.permits.contains(&row.permit)).then_some(together)
    }

    /// The row that decides on the tree of a row: its own, or that of several permits together where it is worse.
    pub fn decided<'r>(&self, row: &'r Row) -> &'r Row
    where
        'a: 'r,
    {
        self.worse_together(row).map_or(row, |together| &together.row)
    }

    /// Ids of the other permits of a row together.
    pub fn other_permit_ids(&self, together: &TogetherRow, permit: u32) -> String {
        let others: Vec<u32> = together.permits.iter().copied().filter(|&other| other != permit).collect();
        self.permit_ids(&others)
    }

    /// The label of an input: its short name; where two inputs share one, with its number among them.
    pub fn label(&self, source: SourceRef) -> &str {
        self.labels.get(source.file as usize).map_or("", String::as_str)
    }

    /// Ids of several permits, joined.
    pub fn permit_ids(&self, permits: &[u32]) -> String {
        self.of_permits(permits, |permit| &permit.id)
    }

    /// A text of several permits, joined.
    pub fn of_permits(&self, permits: &[u32], text: impl Fn(&Permit) -> &str) -> String {
        permits.iter().map(|&permit| text(&self.results.permits[permit as usize])).collect::<Vec<_>>().join("; ")
    }

    /// Rows at risk and rows at risk only together, worst first. The second member is set for those of several permits.
    pub fn at_risk(&self) -> Vec<(&'a Row, Option<&'a TogetherRow>)> {
        let alone = self.rows.iter().filter(|row| row.at_risk()).map(|&row| (row, None));
        let together = self.together.iter().filter(|t| t.at_risk_only_together).map(|&t| (&t.row, Some(t)));
        let mut all: Vec<_> = alone.chain(together).collect();
        // The sort is stable, and both lists are ordered by permit, tree and source already.
        all.sort_by(|(a, _), (b, _)| {
            a.worse_first(b).then_with(|| tree_order(self.tree(a)).cmp(&tree_order(self.tree(b))))
        });
        all
    }
}

/// The one order of rows: permit id, tree id (UTF-8 bytes), then the tree's file and row.
pub fn rows_in_order(results: &Results) -> Vec<&Row> {
    let mut rows: Vec<_> = results.rows.iter().collect();
    rows.sort_by_cached_key(|row| {
        let tree = &results.trees[row.tree as usize];
        (results.permits[row.permit as usize].id.as_str(), tree.id.as_str(), tree.source)
    });
    rows
}

fn tree_order(tree: &Tree) -> (&str, SourceRef) {
    (&tree.id, tree.source)
}

/// The worst of rows that are in order; the first where several are equally bad.
pub fn worst<'a>(rows: &[&'a Row]) -> Option<&'a Row> {
    rows.iter().copied().min_by(|a, b| a.worse_first(b))
}

fn trees_in_order<'a>(
    results: &'a Results,
    rows_of_tree: &HashMap<u32, Vec<&'a Row>>,
    together: &HashMap<u32, &'a TogetherRow>,
) -> Vec<TreeView<'a>> {
    let mut trees: Vec<_> = rows_of_tree
        .iter()
        .filter_map(|(index, rows)| {
            Some(TreeView {
                tree: &results.trees[*index as usize],
                worst: worst(rows)?,
                permits: rows.len() as u64,
                together: together.get(index).copied(),
            })
        })
        .collect();
    trees.sort_by(|a, b| tree_order(a.tree).cmp(&tree_order(b.tree)));
    trees
}

/// How many rows have a verdict.
pub fn with_verdict(rows: &[&Row], verdict: Verdict) -> u64 {
    rows.iter().filter(|row| row.finding.verdict == verdict).count() as u64
}

fn labels(facts: &RunFacts) -> Vec<String> {
    let same = |name: &str, upto: usize| facts.inputs[..upto].iter().filter(|input| input.name == name).count();
    facts
        .inputs
        .iter()
        .enumerate()
        .map(|(at, input)| match same(&input.name, facts.inputs.len()) {
            1 => input.name.clone(),
            _ => format!("{} ({})", input.name, same(&input.name, at) + 1),
        })
        .collect()
}

/// read = used + out of reach + set aside, for every input, and every record set aside is listed.
fn check_counts(results: &Results, facts: &RunFacts) -> Result<()> {
    let broken = |name: &str, what: String| {
        Err(Error::input(name, format!("{what}; this is a fault of the program"), "please report it with the files"))
    };
    if results.counts.len() != facts.inputs.len() {
        return broken("run", format!("{} inputs, but counts of {}", facts.inputs.len(), results.counts.len()));
    }
    for (file, (counts, input)) in (0u16..).zip(results.counts.iter().zip(&facts.inputs)) {
        let spent = counts.used + counts.out_of_reach + counts.set_aside;
        if counts.read != spent {
            let parts =
                format!("{} used, {} out of reach, {} set aside", counts.used, counts.out_of_reach, counts.set_aside);
            return broken(&input.name, format!("{} records read, but {spent} accounted for ({parts})", counts.read));
        }
        let aside = results.issues.iter().filter(|i| i.outcome == Outcome::SetAside && i.source.file == file);
        let listed = aside.map(|issue| issue.source.row).collect::<BTreeSet<_>>().len() as u64;
        if listed != counts.set_aside {
            return broken(&input.name, format!("{} records set aside, but {listed} listed", counts.set_aside));
        }
    }
    Ok(())
}

#[cfg(test)]
#[path = "view_tests.rs"]
mod tests;
