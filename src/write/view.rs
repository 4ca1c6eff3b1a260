//! Results in the order in which they are written, and what several files need of them: worst rows, counts, labels.

use crate::error::{Error, Result};
use crate::issue::Outcome;
use crate::model::finding::Verdict;
use crate::model::owed::PermitOwed;
use crate::model::results::{Results, Row, TogetherRow};
use crate::model::rows::{Judged, RowHead};
use crate::model::run_facts::RunFacts;
use crate::model::source::SourceRef;
use crate::model::tree::Tree;
use crate::model::work::{Permit, Work};
use rayon::prelude::*;
use std::collections::BTreeSet;

/// Results and facts, ordered.
pub struct View<'a> {
    /// The results as given.
    pub results: &'a Results,
    /// The facts as given.
    pub facts: &'a RunFacts,
    /// Rows in the order of the results: permit id, tree id, source of the tree.
    pub rows: &'a [RowHead],
    /// Rows of several permits together, ordered by tree id, source.
    pub together: &'a [TogetherRow],
    /// Trees with their worst rows, ordered by tree id, source.
    pub trees: Vec<TreeView<'a>>,
    /// Permits with their rows, ordered by id.
    pub permits: Vec<PermitView<'a>>,
    /// Works ordered by permit id, work id, source.
    pub works: Vec<&'a Work>,
    /// Indices of the rows, ordered by tree.
    by_tree: Vec<u32>,
    labels: Vec<String>,
}

/// A tree that has a row.
pub struct TreeView<'a> {
    /// Its worst row.
    pub worst: &'a RowHead,
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
    pub rows: &'a [RowHead],
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
        let rows = results.rows.heads();
        let owed = |at: usize| results.owed.get(at);
        let permits = (0u32..).zip(&results.permits);
        let of_permit = |number: u32| &rows[results.rows.of_permit(number)];
        let viewed = |(number, permit): (u32, &'a Permit)| PermitView {
            permit,
            works: 0,
            rows: of_permit(number),
            owed: owed(number as usize),
        };
        let mut permits: Vec<_> = permits.map(viewed).collect();
        for work in &results.works {
            permits[work.permit as usize].works += 1;
        }
        permits.sort_by(|a, b| a.permit.id.cmp(&b.permit.id));
        let mut works: Vec<_> = results.works.iter().collect();
        works.par_sort_by_key(|work| (&results.permits[work.permit as usize].id, &work.id, work.source));
        let mut by_tree: Vec<u32> = (0..).zip(rows).map(|(index, _)| index).collect();
        // Stable: the rows of a tree stay in order.
        by_tree.par_sort_by_key(|&index| rows[index as usize].tree);
        let trees = trees_in_order(rows, &by_tree, results);
        let labels = labels(facts);
        Ok(View { results, facts, rows, together: &results.together, trees, permits, works, by_tree, labels })
    }

    /// Reads a row back.
    ///
    /// # Errors
    /// As the system says.
    pub fn read(&self, head: &RowHead) -> Result<Row> {
        Ok(self.results.rows.read(head)?)
    }

    /// Reads several.
    ///
    /// # Errors
    /// As the system says.
    pub fn read_all(&self, heads: &[RowHead]) -> Result<Vec<Row>> {
        Ok(self.results.rows.read_all(heads)?)
    }

    /// The tree of a row.
    pub fn tree<'r>(&self, row: &'r Row) -> &'r Tree {
        &row.of
    }

    /// The permit of a row.
    pub fn permit(&self, row: &impl Judged) -> &'a Permit {
        &self.results.permits[row.permit() as usize]
    }

    /// The work that a row's distance speaks of.
    pub fn nearest_work(&self, row: &Row) -> Option<&'a Work> {
        self.results.works.get(row.overlap.nearest_work as usize)
    }

    /// The rows of a tree (by its index in the results), ordered by permit.
    pub fn rows_of_tree(&self, tree: u32) -> impl Iterator<Item = &'a RowHead> {
        let rows = self.rows;
        let from = self.by_tree.partition_point(|&index| rows[index as usize].tree < tree);
        let rest = self.by_tree[from..].iter().map(move |&index| &rows[index as usize]);
        rest.take_while(move |row| row.tree == tree)
    }

    /// How many trees have a row that matches.
    pub fn trees_with(&self, matches: impl Fn(&RowHead) -> bool) -> usize {
        let row = |&index: &u32| &self.rows[index as usize];
        let of_tree = self.by_tree.chunk_by(|a, b| row(a).tree == row(b).tree);
        of_tree.filter(|of| of.iter().map(row).any(&matches)).count()
    }

    /// The row of several permits together for a tree (by its index in the results), where there is one.
    pub fn together_of_tree(&self, tree: u32) -> Option<&'a TogetherRow> {
        self.results.together_of_tree(tree)
    }

    /// The row of several permits together, where that one's is among them and the finding is worse than alone.
    pub fn worse_together(&self, row: &impl Judged) -> Option<&'a TogetherRow> {
        self.results.worse_together(row)
    }

    /// The row that decides on the tree of a row: its own, or that of several permits together where it is worse.
    pub fn decided<'r>(&self, row: &'r Row) -> &'r Row
    where
        'a: 'r,
    {
        self.worse_together(row).map_or(row, |together| &together.row)
    }

    /// The row of several permits together, where it is worse than this one's and counts for this permit: not where its works do nothing to the
    /// tree, nor where the trunk stands in the works of others.
    pub fn shared(&self, row: &RowHead) -> Option<&'a TogetherRow> {
        let together = self.worse_together(row)?;
        let counts = row.verdict > Verdict::Untouched && together.row.finding.verdict != Verdict::TrunkInWork;
        counts.then_some(together)
    }

    /// What a row counts for its permit: what it is alone, or together with others.
    pub fn shared_head(&self, row: &RowHead) -> RowHead {
        self.shared(row).map_or(*row, |together| together.row.head())
    }

    /// Heritage-size trees at risk under a permit, alone or together with others.
    pub fn at_risk_of(&self, of: &PermitView) -> u64 {
        of.rows.iter().filter(|row| self.shared_head(row).at_risk()).count() as u64
    }

    /// The worst verdict under a permit, alone or together with others; `None` without trees in reach.
    pub fn worst_verdict_of(&self, of: &PermitView) -> Option<Verdict> {
        of.rows.iter().map(|row| self.shared_head(row).verdict).max()
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
    pub fn at_risk(&self) -> Vec<(RowHead, Option<&'a TogetherRow>)> {
        let alone = self.rows.iter().filter(|row| row.at_risk()).map(|&row| (row, None));
        let together = self.together.iter().filter(|t| t.at_risk_only_together).map(|t| (t.row.head(), Some(t)));
        let mut all: Vec<_> = alone.chain(together).collect();
        // The sort is stable, and both lists are ordered by permit and tree already.
        all.sort_by(|(a, _), (b, _)| a.worse_first(b).then(a.tree.cmp(&b.tree)));
        all
    }
}

/// The worst of rows that are in order; the first where several are equally bad.
pub fn worst<'a>(rows: impl IntoIterator<Item = &'a RowHead>) -> Option<&'a RowHead> {
    rows.into_iter().min_by(|a, b| a.worse_first(b))
}

fn trees_in_order<'a>(rows: &'a [RowHead], by_tree: &[u32], results: &'a Results) -> Vec<TreeView<'a>> {
    let row = |index: u32| &rows[index as usize];
    let of_tree = |of: &[u32]| {
        Some(TreeView {
            worst: worst(of.iter().map(|&index| row(index)))?,
            permits: of.len() as u64,
            together: results.together_of_tree(row(of[0]).tree),
        })
    };
    by_tree.chunk_by(|&a, &b| row(a).tree == row(b).tree).filter_map(of_tree).collect()
}

/// How many rows have a verdict.
pub fn with_verdict(rows: &[impl Judged], verdict: Verdict) -> u64 {
    rows.iter().filter(|row| row.verdict() == verdict).count() as u64
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
