//! Brings the trees of all files together: duplicate ids, the order of the results, and trees that several permits touch.

use super::rows::Bench;
use super::spent::Spent;
use crate::issue::{Issue, Outcome};
use crate::model::results::{Compared, Row, TogetherRow};
use crate::model::tree::{Stems, Tree};
use crate::model::work::Permit;
use geo::{Coord, Distance, Euclidean, Point, Rect};
use rayon::prelude::*;
use std::collections::{BTreeMap, HashMap};

/// Two rows of one id within this distance are one tree, metres.
const SAME_PLACE_M: f64 = 0.1;

/// Trees ordered by id and source, and their rows ordered by permit and tree.
pub(super) struct Gathered {
    pub trees: Vec<Tree>,
    /// Those of the deciding rule set.
    pub rows: Vec<Row>,
    /// Empty where the run has one rule set.
    pub compared: Vec<Compared>,
}

/// Sorts out duplicates, orders everything.
pub(super) fn gather(
    mut kept: Vec<(Tree, Vec<Row>)>,
    rule_sets: usize,
    names: &[String],
    spent: &mut Spent,
) -> Gathered {
    sort(&mut kept);
    let mut kept = without_duplicates(kept, names, spent);
    sort(&mut kept);
    let mut trees = Vec::with_capacity(kept.len());
    let (mut rows, mut compared) = (Vec::new(), Vec::new());
    for (tree, of_tree) in kept {
        if rule_sets > 1 {
            compared.extend(side_by_side(&tree, &of_tree, rule_sets));
        }
        let number = u32::try_from(trees.len()).expect("fewer than 4 billion trees fit in memory");
        let deciding = of_tree.into_iter().filter(|row| row.rule_set == 0).map(|row| Row { tree: number, ..row });
        let before = rows.len();
        rows.extend(deciding);
        if rows.len() > before {
            trees.push(tree);
        } else {
            // Only another rule set reaches it.
            let counts = &mut spent.counts[tree.source.file as usize];
            counts.used -= 1;
            counts.out_of_reach += 1;
        }
    }
    rows.sort_by_key(|row| (row.permit, row.tree));
    Gathered { trees, rows, compared }
}

/// One tree under every rule set, permit by permit.
fn side_by_side(tree: &Tree, rows: &[Row], rule_sets: usize) -> Vec<Compared> {
    let mut by_permit: BTreeMap<u32, Vec<Option<Row>>> = BTreeMap::new();
    for row in rows {
        let of_permit = by_permit.entry(row.permit).or_insert_with(|| vec![None; rule_sets]);
        of_permit[row.rule_set as usize] = Some(row.clone());
    }
    let compared = |(permit, rows)| {
        let (tree_id, species) = (tree.id.clone(), tree.species.clone());
        Compared { permit, tree_id, species, source: tree.source, rows }
    };
    by_permit.into_iter().map(compared).collect()
}

fn sort(kept: &mut [(Tree, Vec<Row>)]) {
    kept.sort_by(|(a, _), (b, _)| (&a.id, a.source).cmp(&(&b.id, b.source)));
}

/// A later row with the same id at the same place is set aside; at another place it is kept as `id (file:row)`.
///
/// Of two rows of one tree, one with a usable diameter goes before one without, whichever comes first.
fn without_duplicates(sorted: Vec<(Tree, Vec<Row>)>, names: &[String], spent: &mut Spent) -> Vec<(Tree, Vec<Row>)> {
    let mut kept: Vec<(Tree, Vec<Row>)> = Vec::with_capacity(sorted.len());
    let mut written = String::new();
    let mut first = String::new();
    let mut places = Places::default();
    for (mut tree, rows) in sorted {
        if kept.is_empty() || tree.id != written {
            written.clone_from(&tree.id);
            first = named(&tree, names);
            places = Places::default();
            places.put(tree.place, kept.len());
            kept.push((tree, rows));
            continue;
        }
        if let Some(twin) = places.near(tree.place, &kept) {
            let known = &mut kept[twin];
            if unmeasured(&known.0) && !unmeasured(&tree) {
                let detail = format!(
                    "same id within {SAME_PLACE_M} m of {}, which has a diameter; this row without one is set aside",
                    named(&tree, names)
                );
                tree.id.clone_from(&known.0.id);
                let dropped = std::mem::replace(known, (tree, rows)).0;
                drop_tree(&dropped, detail, spent);
            } else {
                let other = named(&known.0, names);
                drop_tree(
                    &tree,
                    format!(
                        "same id within {SAME_PLACE_M} m of {other}; this later row is set aside: remove one of them"
                    ),
                    spent,
                );
            }
            continue;
        }
        let this = named(&tree, names);
        let detail = format!("{first} has this id at another place; both are kept, this one as `{written} ({this})`");
        spent.note([Issue { outcome: Outcome::Used, ..duplicate(&tree, "duplicate-id", detail) }]);
        tree.id = format!("{written} ({this})");
        places.put(tree.place, kept.len());
        kept.push((tree, rows));
    }
    kept
}

fn unmeasured(tree: &Tree) -> bool {
    matches!(tree.stems, Stems::Unknown(_))
}

/// Books a tree that was counted as used as set aside.
fn drop_tree(tree: &Tree, detail: String, spent: &mut Spent) {
    let counts = &mut spent.counts[tree.source.file as usize];
    counts.used -= 1;
    if unmeasured(tree) {
        counts.without_diameter -= 1;
    }
    spent.set_aside(duplicate(tree, "duplicate-tree", detail));
}

/// The places of the trees of one id, in cells as wide as [`SAME_PLACE_M`], so that many rows of one id cost no more each.
#[derive(Default)]
struct Places {
    cells: HashMap<(i64, i64), Vec<usize>>,
}

impl Places {
    fn cell(place: Coord<f64>) -> (i64, i64) {
        ((place.x / SAME_PLACE_M).floor() as i64, (place.y / SAME_PLACE_M).floor() as i64)
    }

    fn put(&mut self, place: Coord<f64>, number: usize) {
        self.cells.entry(Places::cell(place)).or_default().push(number);
    }

    /// The first tree kept within [`SAME_PLACE_M`].
    fn near(&self, place: Coord<f64>, kept: &[(Tree, Vec<Row>)]) -> Option<usize> {
        let (column, row) = Places::cell(place);
        let around = (-1..=1).flat_map(|dx| (-1..=1).map(move |dy| (column + dx, row + dy)));
        let candidates = around.filter_map(|cell| self.cells.get(&cell)).flatten().copied();
        candidates.filter(|&number| Euclidean.distance(Point(kept[number].0.place), Point(place)) <= SAME_PLACE_M).min()
    }
}

fn named(tree: &Tree, names: &[String]) -> String {
    format!("{}:{}", names[tree.source.file as usize], tree.source.row)
}

fn duplicate(tree: &Tree, code: &'static str, detail: String) -> Issue {
    Issue::new(tree.source, tree.id.clone(), code, Outcome::SetAside, detail)
        .at(Some(Rect::new(tree.place, tree.place)))
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
    let tree = alone[0].tree;
    let row = Row { tree, ..bench.together_row(&trees[tree as usize], &permits)? };
    let at_risk_only_together = row.at_risk() && !alone.iter().any(|row| row.at_risk());
    Some(TogetherRow { permits, row, at_risk_only_together })
}
