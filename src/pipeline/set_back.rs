//! How far the works of a permit would have to keep from the trunks that they put at risk, by the run's own measures and rule set.
//!
//! For each tree the least distance, in whole centimetres, is searched by halving: with less ground taken no measure grows, so a distance
//! that holds does so with every greater one, and together with the set-backs of other trees. Ground nearer than the distance is left out of
//! the measures in closed form (`geometry::beyond`); nothing is cut and united again.

use super::rows::Bench;
use crate::error::Result;
use crate::measure::Trunk;
use crate::model::results::Results;
use crate::model::rows::RowHead;
use crate::model::set_back::{SetBack, SetBackWork};
use crate::model::tree::{Disposition, Tree};
use rayon::prelude::*;

/// Centimetres in a metre.
const CM: f64 = 100.0;

/// One for each row that puts a tree that stays at risk, by permit and tree.
///
/// # Errors
/// Rows cannot be read back.
pub(super) fn set_backs(bench: &Bench<'_>, results: &Results) -> Result<Vec<SetBack>> {
    let goes = |tree: &Tree| matches!(tree.disposition, Some(Disposition::Remove | Disposition::Relocate));
    let of_row = |head: &RowHead| {
        let row = results.rows.read(head)?;
        if goes(&row.of) {
            return Ok(None);
        }
        let search = Search { bench, permit: row.permit, tree: &row.of };
        let distance_m = search.least_m();
        Ok(Some(SetBack { permit: row.permit, tree: row.tree, distance_m, works: search.nearer(distance_m) }))
    };
    let at_risk = results.rows.heads().par_iter().filter(|row| row.verdict.puts_at_risk());
    Ok(at_risk.map(of_row).collect::<Result<Vec<_>>>()?.into_iter().flatten().collect())
}

/// One tree and the works of one permit around it.
struct Search<'a> {
    bench: &'a Bench<'a>,
    permit: u32,
    tree: &'a Tree,
}

impl Search<'_> {
    /// The least distance at which the tree is no longer at risk; `None` where even the greatest does not help.
    fn least_m(&self) -> Option<f64> {
        #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "a reach of metres")]
        let most = (self.bench.reach_m(self.tree) * CM).ceil() as u32 + 1;
        if !self.holds(most) {
            return None;
        }
        let (mut too_near, mut enough) = (0, most);
        while enough - too_near > 1 {
            let middle = too_near + (enough - too_near) / 2;
            if self.holds(middle) { enough = middle } else { too_near = middle }
        }
        Some(f64::from(enough) / CM)
    }

    fn holds(&self, cm: u32) -> bool {
        let bench = Bench { works_from_m: f64::from(cm) / CM, ..*self.bench };
        !bench.standing(self.tree, self.permit).verdict.puts_at_risk()
    }

    /// Counted works that come nearer than a distance.
    fn nearer(&self, distance_m: Option<f64>) -> Vec<SetBackWork> {
        let within_m = distance_m.unwrap_or_else(|| self.bench.reach_m(self.tree));
        let ground = self.bench.ground;
        let near = self.bench.works_of(self.tree, self.permit).into_iter();
        let counted = near.filter(|&work| self.bench.works[work as usize].counted());
        counted
            .filter_map(|work| {
                let as_drawn_m = ground.distance_m(work, self.tree.place, within_m)?;
                let kept_away = Trunk { works_from_m: within_m, ..self.tree.place.into() };
                let rest = || ground.distance_m(work, kept_away, f64::INFINITY);
                Some(SetBackWork { work, as_drawn_m, wholly_within: distance_m.is_some() && rest().is_none() })
            })
            .collect()
    }
}
