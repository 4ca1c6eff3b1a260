//! How far the works of a permit would have to keep from the trunks that they put at risk, by the run's own measures and rule set.
//!
//! For each tree the least distance, in whole centimetres, is searched by halving: with less ground taken no measure grows, so a distance
//! that holds does so with every greater one, and together with the set-backs of other trees. The last is measured again all the same.

use super::rows::Bench;
use crate::geometry::clip::clip_to_box;
use crate::geometry::set_back::{Outline, kept_away};
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
            pairs.par_iter().map(|&(permit, number)| self.near(permit, tree(number)).least_m()).collect();
        let all: Vec<(Coord<f64>, f64)> = pairs
            .iter()
            .zip(&distances)
            .filter_map(|(&(_, number), distance_m)| Some((tree(number).place, (*distance_m)?)))
            .take(MOST_TOGETHER)
            .collect();
        let of_one = |(&(permit, number), distance_m): (&(u32, u32), Option<f64>)| {
            let tree = tree(number);
            let distance_m = distance_m.filter(|_| !self.near(permit, tree).is_at_risk(&all, Outline::Fine));
            SetBack { permit, tree: number, distance_m, works: self.nearer(permit, tree, distance_m) }
        };
        pairs.par_iter().zip(distances).map(of_one).collect()
    }

    /// The works of the permit in reach of a tree, cut to what can matter to it.
    fn near<'b>(&'b self, permit: u32, tree: &'b Tree) -> Near<'b> {
        let reach_m = self.bench.reach_m(tree);
        let cut = |&number: &u32| {
            let work = &self.bench.works[number as usize];
            let shape = clip_to_box(&work.shape, tree.place, reach_m + 1.0);
            (!shape.0.is_empty()).then(|| Work { permit: 0, shape, ..work.clone() })
        };
        let works = self.bench.works_of(tree, permit).iter().filter_map(cut).collect();
        Near { search: self, permit, tree, reach_m, works }
    }

    /// Counted works that come nearer than a distance.
    fn nearer(&self, permit: u32, tree: &Tree, distance_m: Option<f64>) -> Vec<SetBackWork> {
        let within_m = distance_m.unwrap_or_else(|| self.bench.reach_m(tree));
        let counted = |work: &u32| self.bench.works[*work as usize].counted();
        let near = self.bench.works_of(tree, permit).into_iter().filter(counted);
        near.filter_map(|work| {
            let as_drawn_m = self.bench.ground.distance_m(work, tree.place, within_m)?;
            let shape = &self.bench.works[work as usize].shape;
            let rest = || kept_away(shape, &[(tree.place, within_m)], Outline::Fine);
            Some(SetBackWork { work, as_drawn_m, wholly_within: distance_m.is_some() && rest().0.is_empty() })
        })
        .collect()
    }
}

/// One tree and the works of one permit around it.
struct Near<'a> {
    search: &'a Search<'a>,
    permit: u32,
    tree: &'a Tree,
    reach_m: f64,
    works: Vec<Work>,
}

impl Near<'_> {
    /// The least distance at which the tree is no longer at risk; `None` where even the greatest does not help.
    fn least_m(&self) -> Option<f64> {
        #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "a reach of metres")]
        let most = (self.reach_m * CM).ceil() as u32 + 1;
        if !self.holds(most, Outline::Fine) {
            return None;
        }
        let (too_near, enough) = self.halved(0, most, Outline::Rough);
        // The rough outline takes more ground than the fine one, and none that lies beyond its corners.
        #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "a reach of metres")]
        let surely = ((f64::from(enough) * Outline::Rough.beyond()).ceil() as u32 + 1).min(most);
        let surely = if self.holds(surely, Outline::Fine) { surely } else { most };
        let (_, enough) = self.halved(too_near.saturating_sub(1), surely, Outline::Fine);
        Some(f64::from(enough) / CM)
    }

    /// Halves between a distance that does not hold and one that does, until they are a centimetre apart.
    fn halved(&self, mut too_near: u32, mut enough: u32, outline: Outline) -> (u32, u32) {
        while enough - too_near > 1 {
            let middle = too_near + (enough - too_near) / 2;
            if self.holds(middle, outline) { enough = middle } else { too_near = middle }
        }
        (too_near, enough)
    }

    fn holds(&self, cm: u32, outline: Outline) -> bool {
        !self.is_at_risk(&[(self.tree.place, f64::from(cm) / CM)], outline)
    }

    /// Whether the works of the permit, kept out of discs, put the tree at risk.
    fn is_at_risk(&self, discs: &[(Coord<f64>, f64)], outline: Outline) -> bool {
        let near_disc = |(centre, distance_m): &&(Coord<f64>, f64)| {
            let way = *centre - self.tree.place;
            way.x.hypot(way.y) < 2.0 * self.reach_m + distance_m + 2.0
        };
        let discs: Vec<(Coord<f64>, f64)> = discs.iter().filter(near_disc).copied().collect();
        let cut = |work: &Work| {
            let shape = kept_away(&work.shape, &discs, outline);
            (!shape.0.is_empty()).then(|| Work { shape, ..work.clone() })
        };
        let works: Vec<Work> = self.works.iter().filter_map(cut).collect();
        if works.is_empty() {
            return false;
        }
        let search = self.search;
        let own = (0u32..).zip(&works).map(|(number, _)| number).collect();
        let permits = [Permit { works: own, ..search.permits[self.permit as usize].clone() }];
        let ground = Ground::prepare(&works, &permits, search.wants.clone(), search.surfaces.cloned());
        let index = WorkIndex::new((0u32..).zip(&works).map(|(number, work)| (number, &work.shape)));
        let bench = Bench { index: &index, ground: &ground, works: &works, ..*search.bench };
        bench.standing(self.tree, 0).verdict.puts_at_risk()
    }
}
