//! Brings the trees of all files together: duplicate ids, the order of the results, and trees that several permits touch.

use super::rows::Bench;
use super::spent::Spent;
use crate::issue::{Issue, Outcome};
use crate::model::results::{Row, TogetherRow};
use crate::model::tree::Tree;
use crate::model::work::Permit;
use geo::{Distance, Euclidean, Point};
use rayon::prelude::*;
use std::collections::HashSet;

/// Two rows of one id within this distance are one tree, metres.
const SAME_PLACE_M: f64 = 0.1;

/// Trees ordered by id and source, and their rows ordered by permit and tree.
pub(super) struct Gathered {
    pub trees: Vec<Tree>,
    pub rows: Vec<Row>,
}

/// Sorts out duplicates, orders everything.
pub(super) fn gather(mut kept: Vec<(Tree, Vec<Row>)>, names: &[String], spent: &mut Spent) -> Gathered {
    sort(&mut kept);
    let mut kept = without_duplicates(kept, names, spent);
    sort(&mut kept);
    let mut trees = Vec::with_capacity(kept.len());
    let mut rows = Vec::new();
    for (number, (tree, of_tree)) in kept.into_iter().enumerate() {
        let number = u32::try_from(number).expect("fewer than 4 billion trees fit in memory");
        rows.extend(of_tree.into_iter().map(|row| Row { tree: number, ..row }));
        trees.push(tree);
    }
    rows.sort_by_key(|row| (row.permit, row.tree));
    Gathered { trees, rows }
}

fn sort(kept: &mut [(Tree, Vec<Row>)]) {
    kept.sort_by(|(a, _), (b, _)| (&a.id, a.source).cmp(&(&b.id, b.source)));
}

/// A later row with the same id at the same place is set aside; at another place it is kept as `id (file:row)`.
fn without_duplicates(sorted: Vec<(Tree, Vec<Row>)>, names: &[String], spent: &mut Spent) -> Vec<(Tree, Vec<Row>)> {
    let mut kept: Vec<(Tree, Vec<Row>)> = Vec::with_capacity(sorted.len());
    // First of the trees with the id at hand: all after it bear the same written id.
    let mut first = 0;
    let mut written = String::new();
    let mut dropped = HashSet::new();
    for (mut tree, rows) in sorted {
        if kept.is_empty() || tree.id != written {
            first = kept.len();
            written.clone_from(&tree.id);
            kept.push((tree, rows));
            continue;
        }
        let twin = kept[first..].iter().find(|(known, _)| near(known, &tree));
        if let Some((known, _)) = twin {
            let detail = format!(
                "same id within {SAME_PLACE_M} m of {}; this later row is set aside: remove one of them",
                named(known, names)
            );
            let counts = &mut spent.counts[tree.source.file as usize];
            counts.used -= 1;
            dropped.insert(tree.source);
            spent.set_aside(duplicate(&tree, "duplicate-tree", detail));
            continue;
        }
        let (other, this) = (named(&kept[first].0, names), named(&tree, names));
        let detail = format!("{other} has this id at another place; both are kept, this one as `{written} ({this})`");
        spent.note([Issue { outcome: Outcome::Used, ..duplicate(&tree, "duplicate-id", detail) }]);
        tree.id = format!("{written} ({this})");
        kept.push((tree, rows));
    }
    // What else was noted of a dropped row no longer matters.
    spent.issues.retain(|issue| issue.code == "duplicate-tree" || !dropped.contains(&issue.source));
    kept
}

fn near(a: &Tree, b: &Tree) -> bool {
    Euclidean.distance(Point(a.place), Point(b.place)) <= SAME_PLACE_M
}

fn named(tree: &Tree, names: &[String]) -> String {
    format!("{}:{}", names[tree.source.file as usize], tree.source.row)
}

fn duplicate(tree: &Tree, code: &'static str, detail: String) -> Issue {
    Issue { source: tree.source, id: tree.id.clone(), code, outcome: Outcome::SetAside, detail }
}

/// Measures every tree that more than one active permit touches against all of them together.
pub(super) fn together(bench: &Bench<'_>, gathered: &Gathered, permits: &[Permit]) -> Vec<TogetherRow> {
    let mut by_tree: Vec<&Row> = gathered.rows.iter().filter(|row| permits[row.permit as usize].active).collect();
    by_tree.sort_by_key(|row| (row.tree, row.permit));
    let groups: Vec<&[&Row]> = by_tree.chunk_by(|a, b| a.tree == b.tree).filter(|group| group.len() > 1).collect();
    groups.par_iter().filter_map(|group| one_together(bench, &gathered.trees, group)).collect()
}

fn one_together(bench: &Bench<'_>, trees: &[Tree], alone: &[&Row]) -> Option<TogetherRow> {
    let permits: Vec<u32> = alone.iter().map(|row| row.permit).collect();
    // The thickest end that any permit alone was judged at is the one to judge them together at.
    let thickest = alone.iter().copied().max_by(|a, b| thickness_m(a).total_cmp(&thickness_m(b)))?;
    let row = bench.together_row(&trees[thickest.tree as usize], &permits, thickest)?;
    let row = Row { tree: thickest.tree, ..row };
    let at_risk_only_together = row.at_risk() && !alone.iter().any(|row| row.at_risk());
    Some(TogetherRow { permits, row, at_risk_only_together })
}

fn thickness_m(row: &Row) -> f64 {
    row.diameter.used_m().unwrap_or(f64::NEG_INFINITY)
}
