//! Brings the trees of all files together: duplicate ids, the order of the results, and trees that several permits touch.

use super::rows::Bench;
use super::spent::Spent;
use super::trees::Kept;
use crate::error::Result;
use crate::issue::{Issue, Outcome};
use crate::model::results::{Compared, Row, TogetherRow};
use crate::model::rows::{RowHead, Rows};
use crate::model::source::SourceRef;
use crate::model::text::Text;
use crate::model::work::Permit;
use compact_str::format_compact;
use geo::{Coord, Distance, Euclidean, Point, Rect};
use rayon::prelude::*;
use std::collections::{BTreeMap, HashMap, HashSet};

/// Two rows of one id within this distance are one tree, metres.
const SAME_PLACE_M: f64 = 0.1;

/// Rows ordered by permit and tree; trees are numbered by id and source.
pub(super) struct Gathered {
    /// Those of the deciding rule set.
    pub rows: Vec<RowHead>,
    /// Ids of trees that are told otherwise than their records have them, by number.
    pub renamed: HashMap<u32, Text>,
    /// Empty where the run has one rule set.
    pub compared: Vec<Compared>,
}

/// Sorts out duplicates, orders everything.
pub(super) fn gather(
    (mut kept, heads): (Vec<Kept>, &[RowHead]),
    rule_sets: usize,
    names: &[String],
    spent: &mut Spent,
) -> Gathered {
    sort(&mut kept);
    let renamed = set_duplicates_aside(&mut kept, names, spent);
    sort(&mut kept);
    let mut gathered =
        Gathered { rows: Vec::with_capacity(heads.len()), renamed: HashMap::new(), compared: Vec::new() };
    let mut number = 0;
    for tree in &kept {
        let (first, count) = tree.rows;
        let of_tree = &heads[first as usize..][..count as usize];
        if rule_sets > 1 {
            gathered.compared.extend(side_by_side(tree, of_tree, rule_sets));
        }
        let deciding = of_tree.iter().filter(|head| head.rule_set == 0).map(|head| head.of_tree(number));
        let before = gathered.rows.len();
        gathered.rows.extend(deciding);
        if gathered.rows.len() > before {
            if renamed.contains(&tree.source) {
                gathered.renamed.insert(number, tree.id.clone());
            }
            number += 1;
        } else {
            // Only another rule set reaches it.
            let counts = &mut spent.counts[tree.source.file as usize];
            counts.used -= 1;
            counts.out_of_reach += 1;
        }
    }
    gathered.rows.par_sort_unstable_by_key(|row| (row.permit, row.tree));
    gathered
}

/// One tree under every rule set, permit by permit.
fn side_by_side(tree: &Kept, rows: &[RowHead], rule_sets: usize) -> Vec<Compared> {
    let mut by_permit: BTreeMap<u32, Vec<Option<RowHead>>> = BTreeMap::new();
    for row in rows {
        let of_permit = by_permit.entry(row.permit).or_insert_with(|| vec![None; rule_sets]);
        // Whatever its number: a row is read as its record has it.
        of_permit[row.rule_set as usize] = Some(row.of_tree(u32::MAX));
    }
    let compared = |(permit, rows)| Compared { permit, tree_id: tree.id.clone(), source: tree.source, rows };
    by_permit.into_iter().map(compared).collect()
}

fn sort(kept: &mut [Kept]) {
    // Two records have two sources: no order is lost, and no memory is asked for.
    kept.par_sort_unstable_by(|a, b| (&a.id, a.source).cmp(&(&b.id, b.source)));
}

/// A later row with the same id at the same place is set aside; at another place it is kept as `id (file:row)`.
///
/// Of two rows of one tree, one with a usable diameter goes before one without, whichever comes first. Gives the sources of the trees whose
/// id is no longer that of their record.
fn set_duplicates_aside(sorted: &mut Vec<Kept>, names: &[String], spent: &mut Spent) -> HashSet<SourceRef> {
    let mut written = Text::default();
    let mut first = String::new();
    let mut places = Places::default();
    let mut renamed = HashSet::new();
    // Those before `stay` stay; those between it and `at` were set aside.
    let mut stay = 0;
    for at in 0..sorted.len() {
        let tree = &sorted[at];
        if stay == 0 || tree.id != written {
            written.clone_from(&tree.id);
            first = named(tree, names);
            places = Places::default();
            places.put(tree.place, stay);
            sorted.swap(stay, at);
            stay += 1;
            continue;
        }
        if let Some(twin) = places.near(tree.place, sorted) {
            let known = &sorted[twin];
            if known.unmeasured && !tree.unmeasured {
                let detail = format!(
                    "same id within {SAME_PLACE_M} m of {}, which has a diameter; this row without one is set aside",
                    named(tree, names)
                );
                drop_tree(known, detail, spent);
                let id = known.id.clone();
                if renamed.contains(&known.source) {
                    renamed.insert(tree.source);
                }
                sorted[at].id = id;
                sorted.swap(twin, at);
            } else {
                let detail = format!(
                    "same id within {SAME_PLACE_M} m of {}; this later row is set aside, whatever it says of the tree: compare the two and remove one",
                    named(known, names)
                );
                drop_tree(tree, detail, spent);
            }
            continue;
        }
        let this = named(tree, names);
        let detail = format!("{first} has this id at another place; both are kept, this one as `{written} ({this})`");
        spent.note([Issue { outcome: Outcome::Used, ..duplicate(tree, "duplicate-id", detail) }]);
        places.put(tree.place, stay);
        renamed.insert(tree.source);
        sorted[at].id = format_compact!("{written} ({this})");
        sorted.swap(stay, at);
        stay += 1;
    }
    sorted.truncate(stay);
    renamed
}

/// Books a tree that was counted as used as set aside.
fn drop_tree(tree: &Kept, detail: String, spent: &mut Spent) {
    let counts = &mut spent.counts[tree.source.file as usize];
    counts.used -= 1;
    if tree.unmeasured {
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
    fn near(&self, place: Coord<f64>, kept: &[Kept]) -> Option<usize> {
        let (column, row) = Places::cell(place);
        let around = (-1..=1).flat_map(|dx| (-1..=1).map(move |dy| (column + dx, row + dy)));
        let candidates = around.filter_map(|cell| self.cells.get(&cell)).flatten().copied();
        candidates.filter(|&number| Euclidean.distance(Point(kept[number].place), Point(place)) <= SAME_PLACE_M).min()
    }
}

fn named(tree: &Kept, names: &[String]) -> String {
    format!("{}:{}", names[tree.source.file as usize], tree.source.row)
}

fn duplicate(tree: &Kept, code: &'static str, detail: String) -> Issue {
    Issue::new(tree.source, tree.id.clone(), code, Outcome::SetAside, detail)
        .at(Some(Rect::new(tree.place, tree.place)))
}

/// Measures every tree that more than one active permit touches against all of them together.
///
/// # Errors
/// Rows cannot be read back.
pub(super) fn together(bench: &Bench<'_>, rows: &Rows, permits: &[Permit]) -> Result<Vec<TogetherRow>> {
    let active = |row: &&RowHead| permits[row.permit as usize].active;
    let mut by_tree: Vec<&RowHead> = rows.heads().iter().filter(active).collect();
    by_tree.par_sort_unstable_by_key(|row| (row.tree, row.permit));
    let groups: Vec<&[&RowHead]> = by_tree.chunk_by(|a, b| a.tree == b.tree).filter(|group| group.len() > 1).collect();
    let measured = groups.par_iter().map(|alone| one_together(bench, rows, alone));
    Ok(measured.collect::<Result<Vec<_>>>()?.into_iter().flatten().collect())
}

fn one_together(bench: &Bench<'_>, rows: &Rows, alone: &[&RowHead]) -> Result<Option<TogetherRow>> {
    let permits: Vec<u32> = alone.iter().map(|row| row.permit).collect();
    let of = rows.read(alone[0])?.of;
    let Some(row) = bench.together_row(&of, &permits) else { return Ok(None) };
    let row = Row { tree: alone[0].tree, ..row };
    let at_risk_only_together = row.at_risk() && !alone.iter().any(|row| row.at_risk());
    Ok(Some(TogetherRow { permits, row, at_risk_only_together }))
}

#[cfg(test)]
#[path = "gather_tests.rs"]
mod tests;
