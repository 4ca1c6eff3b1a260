//! Works near one tree, united for it alone: those of several permits together, and those on the ground that barriers leave.

use super::ground::{Ground, Member, PermitGround};
use crate::geometry::clip::{clip_to_box, clip_to_ground};
use crate::model::work::Work;
use geo::{Coord, MultiPolygon};
use std::borrow::Cow;

/// A shape with more vertices than this is cut down to the tree's neighbourhood before it is united.
const VERTICES_WORTH_CLIPPING: usize = 64;

impl Ground {
    /// Unites the given works as if they were one permit's, as far as circles of `reach_m` around the place can see.
    pub fn unite(&self, works: &[Work], near: &[u32], place: Coord<f64>, reach_m: f64) -> PermitGround {
        let members: Vec<Member<'_>> = near.iter().map(|&work| neighbour(works, work, place, reach_m)).collect();
        PermitGround::unite(&members, &self.wants, self.surfaces())
    }

    /// Unites what of the given works lies on `ground`, as far as the circle of `radius_m` around the place.
    pub(super) fn unite_on(
        &self,
        ground: &MultiPolygon<f64>,
        works: &[Work],
        near: &[u32],
        place: Coord<f64>,
        radius_m: f64,
    ) -> PermitGround {
        let in_reach = near.iter().filter(|&&work| self.distance_m(work, place, radius_m).is_some());
        let members = in_reach.filter_map(|&work| {
            let member = neighbour(works, work, place, radius_m);
            let shape = clip_to_ground(&member.shape, ground, place);
            (!shape.0.is_empty()).then_some(Member { shape: Cow::Owned(shape), whole: false, ..member })
        });
        PermitGround::unite(&members.collect::<Vec<_>>(), &self.wants, self.surfaces())
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
