//! How far the works of a permit would have to keep from the trunks that they put at risk, by the run's own measures and rule set.
//!
//! For each tree the least distance, in whole centimetres, is searched by halving: with less ground taken no measure grows, so a distance
//! that holds does so with every greater one, and together with the set-backs of other trees. The last is measured again all the same.

use super::rows::Bench;
use crate::geometry::set_back::kept_away;
use crate::index::WorkIndex;
use crate::measure::{Ground, Surfaces, Wants};
use crate::model::results::Results;
use crate::model::set_back::{SetBack, SetBackWork};
use crate::model::tree::{Disposition, Tree};
use crate::model::work::{Permit, Work};
use geo::Coord;
use rayon::prelude::*;
use std::sync::Arc;

/// Centimetres in a metre.
const CM: f64 = 100.0;
/// Most trees of one permit whose set-backs are held against each other.
const MOST_TOGETHER: usize = 2_000;

struct Search<'a> {
    bench: &'a Bench<'a>,
    permits: &'a [Permit],
    wants: &'a Wants,
    surfaces: Option<&'a Arc<Surfaces>>,
}

/// One for each row that puts a tree that stays at risk, by permit and tree.
pub(super) fn set_backs(
    bench: &Bench<'_>,
    results: &Results,
    wants: &Wants,
    surfaces: Option<&Arc<Surfaces>>,
) -> Vec<SetBack> {
    let search = Search { bench, permits: &results.permits, wants, surfaces };
    let goes = |tree: &Tree| matches!(tree.disposition, Some(Disposition::Remove | Disposition::Relocate));
    let at_risk = results.rows.iter().filter(|row| row.finding.verdict.puts_at_risk());
    let pairs: Vec<(u32, u32)> =
        at_risk.filter(|row| !goes(&results.trees[row.tree as usize])).map(|row| (row.permit, row.tree)).collect();
    let of_permits: Vec<&[(u32, u32)]> = pairs.chunk_by(|a, b| a.0 == b.0).collect();
    of_permits.into_par_iter().flat_map_iter(|of_one| search.of_permit(of_one, &results.trees)).collect()
}

impl Search<'_> {
    fn of_permit(&self, pairs: &[(u32, u32)], trees: &[Tree]) -> Vec<SetBack> {
        let tree = |number: u32| &trees[number as usize];
        let distances: Vec<Option<f64>> =
            pairs.iter().map(|&(permit, number)| self.least_m(permit, tree(number))).collect();
        let all: Vec<(Coord<f64>, f64)> = pairs
            .iter()
            .zip(&distances)
            .filter_map(|(&(_, number), distance_m)| Some((tree(number).place, (*distance_m)?)))
            .take(MOST_TOGETHER)
            .collect();
        let of_one = |(&(permit, number), distance_m): (&(u32, u32), Option<f64>)| {
            let tree = tree(number);
            let distance_m = distance_m.filter(|_| !self.is_at_risk(permit, tree, &all));
            SetBack { permit, tree: number, distance_m, works: self.nearer(permit, tree, distance_m) }
        };
        pairs.iter().zip(distances).map(of_one).collect()
    }

    /// The least distance at which the tree is no longer at risk; `None` where even the greatest does not help.
    fn least_m(&self, permit: u32, tree: &Tree) -> Option<f64> {
        let holds = |cm: u32| !self.is_at_risk(permit, tree, &[(tree.place, f64::from(cm) / CM)]);
        #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "a reach of metres")]
        let mut enough = (self.bench.reach_m(tree) * CM).ceil() as u32 + 1;
        let mut too_near = 0;
        if !holds(enough) {
            return None;
        }
        while enough - too_near > 1 {
            let middle = too_near + (enough - too_near) / 2;
            if holds(middle) { enough = middle } else { too_near = middle }
        }
        Some(f64::from(enough) / CM)
    }

    /// Whether the works of the permit, kept out of discs, put the tree at risk.
    fn is_at_risk(&self, permit: u32, tree: &Tree, discs: &[(Coord<f64>, f64)]) -> bool {
        let reach_m = self.bench.reach_m(tree);
        let near_disc = |(centre, distance_m): &&(Coord<f64>, f64)| {
            let way = *centre - tree.place;
            way.x.hypot(way.y) < 2.0 * reach_m + distance_m + 2.0
        };
        let discs: Vec<(Coord<f64>, f64)> = discs.iter().filter(near_disc).copied().collect();
        let cut = |&number: &u32| {
            let work = &self.bench.works[number as usize];
            let shape = kept_away(&work.shape, (tree.place, reach_m + 1.0), &discs);
            (!shape.0.is_empty()).then(|| Work { permit: 0, shape, ..work.clone() })
        };
        let works: Vec<Work> = self.bench.works_of(tree, permit).iter().filter_map(cut).collect();
        if works.is_empty() {
            return false;
        }
        let own = (0u32..).zip(&works).map(|(number, _)| number).collect();
        let permits = [Permit { works: own, ..self.permits[permit as usize].clone() }];
        let ground = Ground::prepare(&works, &permits, self.wants.clone(), self.surfaces.cloned());
        let index = WorkIndex::new((0u32..).zip(&works).map(|(number, work)| (number, &work.shape)));
        let bench = Bench { index: &index, ground: &ground, works: &works, ..*self.bench };
        bench.standing(tree, 0).verdict.puts_at_risk()
    }

    /// Counted works that come nearer than a distance.
    fn nearer(&self, permit: u32, tree: &Tree, distance_m: Option<f64>) -> Vec<SetBackWork> {
        let within_m = distance_m.unwrap_or_else(|| self.bench.reach_m(tree));
        let near = self.bench.works_of(tree, permit).into_iter().filter(|&work| {
            self.bench.works[work as usize].counted()
                && self.bench.ground.distance_m(work, tree.place, within_m).is_some()
        });
        near.map(|work| {
            let shape = &self.bench.works[work as usize].shape;
            let rest = || kept_away(shape, (tree.place, f64::MAX.sqrt()), &[(tree.place, within_m)]);
            SetBackWork { work, wholly_within: distance_m.is_some() && rest().0.is_empty() }
        })
        .collect()
    }
}
