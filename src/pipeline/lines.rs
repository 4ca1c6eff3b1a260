//! The trees around every service line, and how they stand when the line is moved, alone or gone.
//!
//! A shift may bring a line to a tree that no work reaches and that has no row: the tree pass keeps such trees where protection is
//! asked for, so that a trench is never pushed into a neighbour that nobody measured.

use super::rows::Bench;
use crate::index::WorkIndex;
use crate::measure::{Ground, Surfaces, Wants};
use crate::model::service::{NearTree, Placed, Standing};
use crate::model::tree::{Disposition, Tree};
use crate::model::work::{Permit, Work};
use geo::{Coord, MapCoords};
use rayon::prelude::*;
use std::sync::Arc;

/// What of a run decides which trees are near a line.
pub(super) struct LineReach<'a> {
    pub bench: &'a Bench<'a>,
    /// How far a line may be moved, metres.
    pub shift_m: f64,
}

impl LineReach<'_> {
    /// The service lines that reach a tree, or would after a shift, ascending.
    pub(super) fn lines_near(&self, tree: &Tree) -> Vec<u32> {
        let within_m = self.bench.reach_m(tree) + self.shift_m;
        let mut near = Vec::new();
        self.bench.index.near(tree.place, within_m, &mut near);
        near.retain(|&work| {
            self.bench.works[work as usize].service_line().is_some()
                && self.bench.ground.distance_m(work, tree.place, within_m).is_some()
        });
        near
    }

    /// Whether a tree without a row has to be remembered.
    pub(super) fn is_neighbour(&self, tree: &Tree) -> bool {
        !self.lines_near(tree).is_empty()
    }
}

/// The trees around all service lines.
pub(super) struct Neighbourhood<'a> {
    bench: &'a Bench<'a>,
    permits: &'a [Permit],
    surfaces: Option<Arc<Surfaces>>,
    wants: Wants,
    /// Per work, ordered by tree id and source.
    pub near: Vec<Vec<NearTree>>,
    trees: Vec<Vec<&'a Tree>>,
}

impl<'a> Neighbourhood<'a> {
    /// Gathers trees with rows and those that were remembered, line by line.
    pub(super) fn new(
        reach: &LineReach<'a>,
        (with_rows, without): (&'a [Tree], &'a [Tree]),
        permits: &'a [Permit],
        (surfaces, wants): (Option<Arc<Surfaces>>, Wants),
    ) -> Neighbourhood<'a> {
        let bench = reach.bench;
        let numbered = (0u32..).zip(with_rows).map(|(number, tree)| (Some(number), tree));
        let all: Vec<(Option<u32>, &'a Tree)> = numbered.chain(without.iter().map(|tree| (None, tree))).collect();
        let mut pairs: Vec<(u32, Option<u32>, &'a Tree)> = all
            .par_iter()
            .flat_map_iter(|&(number, tree)| reach.lines_near(tree).into_iter().map(move |work| (work, number, tree)))
            .collect();
        pairs.sort_by(|a, b| (a.0, &a.2.id, a.2.source).cmp(&(b.0, &b.2.id, b.2.source)));
        let mut near = vec![Vec::new(); bench.works.len()];
        let mut trees = vec![Vec::new(); bench.works.len()];
        for (work, number, tree) in pairs {
            near[work as usize].push(near_tree(bench, number, tree));
            trees[work as usize].push(tree);
        }
        Neighbourhood { bench, permits, surfaces, wants, near, trees }
    }

    /// How some of the trees near a line stand with it somewhere.
    pub(super) fn standing(&self, line: u32, placed: Placed, numbers: &[usize]) -> Vec<Standing> {
        let permit = self.bench.works[line as usize].permit;
        let trees = numbers.iter().map(|&number| self.trees[line as usize][number]);
        match placed {
            Placed::AsDrawn => trees.map(|tree| self.bench.standing(tree, permit)).collect(),
            Placed::Away => trees.map(|tree| self.bench.standing_with(tree, permit, |work| work != line)).collect(),
            Placed::Alone => trees.map(|tree| self.bench.standing_with(tree, permit, |work| work == line)).collect(),
            Placed::Moved(by) => self.moved(line, by, &trees.collect::<Vec<_>>()),
        }
    }

    /// The works of the permit near these trees, prepared anew with the line elsewhere.
    fn moved(&self, line: u32, by: Coord<f64>, trees: &[&Tree]) -> Vec<Standing> {
        let permit = self.bench.works[line as usize].permit;
        let mut numbers: Vec<u32> = trees.iter().flat_map(|tree| self.bench.works_of(tree, permit)).collect();
        numbers.push(line);
        numbers.sort_unstable();
        numbers.dedup();
        let works: Vec<Work> = numbers
            .iter()
            .map(|&number| {
                let work = Work { permit: 0, ..self.bench.works[number as usize].clone() };
                if number == line { Work { shape: work.shape.map_coords(|place| place + by), ..work } } else { work }
            })
            .collect();
        let own = (0u32..).zip(&works).map(|(number, _)| number).collect();
        let permits = [Permit { works: own, ..self.permits[permit as usize].clone() }];
        let ground = Ground::prepare(&works, &permits, self.wants.clone(), self.surfaces.clone());
        let in_question = (0u32..).zip(&works).filter(|(_, work)| work.in_question());
        let index = WorkIndex::new(in_question.map(|(number, work)| (number, &work.shape)));
        let bench = Bench { index: &index, ground: &ground, works: &works, ..*self.bench };
        trees.iter().map(|tree| bench.standing(tree, 0)).collect()
    }
}

fn near_tree(bench: &Bench<'_>, number: Option<u32>, tree: &Tree) -> NearTree {
    NearTree {
        tree: number,
        place: tree.place,
        radius_m: bench.largest_radius_m(tree),
        measured: !matches!(tree.stems, crate::model::tree::Stems::Unknown(_)),
        goes: matches!(tree.disposition, Some(Disposition::Remove | Disposition::Relocate)),
    }
}
