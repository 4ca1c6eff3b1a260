//! Several permits together on one tree: the union of all their works near it, to be measured as one.

use super::ground::{Ground, Member, PermitGround};
use crate::geometry::clip::clip_to_box;
use crate::model::work::Work;
use geo::Coord;
use std::borrow::Cow;

/// A shape with more vertices than this is cut down to the tree's neighbourhood before it is united.
const VERTICES_WORTH_CLIPPING: usize = 64;

impl Ground {
    /// Unites the given works as if they were one permit's, as far as circles of `reach_m` around the place can see.
    pub fn unite(&self, works: &[Work], near: &[u32], place: Coord<f64>, reach_m: f64) -> PermitGround {
        let members: Vec<Member<'_>> = near.iter().map(|&work| neighbour(works, work, place, reach_m)).collect();
        PermitGround::unite(&members, &self.wants, self.surfaces())
    }
}

fn neighbour(works: &[Work], work: u32, place: Coord<f64>, radius_m: f64) -> Member<'_> {
    let whole = Member::of(works, work);
    let vertices: usize = whole.shape.iter().map(|part| part.exterior().0.len()).sum();
    if vertices <= VERTICES_WORTH_CLIPPING {
        return whole;
    }
    // A margin keeps the box's own edges out of every circle measured.
    let clipped = clip_to_box(&whole.shape, place, radius_m * 1.01 + 0.1);
    Member { shape: Cow::Owned(clipped), whole: false, ..whole }
}
