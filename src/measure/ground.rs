//! Every permit's works, united by what they do and prepared for measuring.
//!
//! A *layer* is the union of a set of works. Most permits need few: layers made of the same works are made once, and a
//! layer of one work is that work's own ground. What lies on existing surfaces is taken away from layers on new ground.

use super::Trunk;
use crate::geometry::outline::area_outline;
use crate::geometry::pieces::Pieces;
use crate::geometry::prepared::PreparedArea;
use crate::geometry::union::union;
use crate::model::effect::{Effect, Effects};
use crate::model::work::{Lasting, Mitigations, Permit, Work};
use crate::rules::limit::Selection;
use geo::{Coord, MultiPolygon};
use rayon::prelude::*;
use std::sync::Arc;

/// No tree's place is off by as much; further inside, the depth does not matter, metres.
const DEEP_INSIDE_M: f64 = 1000.0;

/// What a rule set asks to be measured beyond the standard measures.
#[derive(Debug, Clone, Default)]
pub struct Wants {
    /// Selections of works that limits count, in the rule set's order.
    pub selections: Vec<Selection>,
    /// Measure severed and affected in rings as well.
    pub severed_in_rings: bool,
    /// Tell the works in reach one by one.
    pub reached: bool,
    /// Tell the widest gap between the works around the trunk.
    pub sides: bool,
    /// What is measured where only the verdict is asked for.
    pub verdict: VerdictWants,
}

/// What the verdict hangs on, besides the union of all works in the zone and the selections.
#[derive(Debug, Clone, Default)]
pub struct VerdictWants {
    /// Per effect, in the order of [`Effect::ALL`].
    pub effects: [bool; 6],
    /// Per ring of the rule set.
    pub rings: Vec<bool>,
    /// Severed or affected area.
    pub severed: bool,
}

/// Facts of a work that the inner loop asks for.
#[derive(Debug, Clone, Copy)]
pub(super) struct WorkFacts {
    /// What it does.
    pub effects: Effects,
    /// Whether it stays.
    pub lasting: Lasting,
    /// Its depth, metres, where given.
    pub depth_m: Option<f64>,
    /// Counts as overlap.
    pub counted: bool,
    /// Occupies, cuts or fills: the trunk must not meet it.
    pub disturbs_trunk: bool,
    /// Severs roots.
    pub severs: bool,
    /// What is stated to spare roots.
    pub stated: Mitigations,
    /// What of it changes something under the rule set.
    pub accepted: Mitigations,
}

/// Existing pavement and buildings, ready to be measured and to be taken away from works.
#[derive(Debug, Clone)]
pub struct Surfaces {
    pub(super) pieces: Pieces,
    pub(super) area: PreparedArea,
}

impl Surfaces {
    /// Prepares surfaces, which may overlap one another.
    pub fn new(shapes: &[MultiPolygon<f64>]) -> Surfaces {
        let pieces = Pieces::new(&shapes.iter().collect::<Vec<_>>());
        Surfaces { area: pieces.prepared(), pieces }
    }
}

/// A union of works: nothing, one work's own ground, or a union made for it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Layer {
    /// No work.
    None,
    /// The ground of one work (index into the run's works).
    Work(u32),
    /// Index into [`PermitGround::unions`].
    Union(u16),
}

/// The layers of one permit (or of several together).
#[derive(Debug, Clone)]
pub struct PermitGround {
    unions: Box<[PreparedArea]>,
    /// All counted works.
    pub(super) all: Layer,
    /// Works per effect, in the order of [`Effect::ALL`].
    pub(super) by_effect: [Layer; 6],
    /// Per selection of the rule set.
    pub(super) by_selection: Vec<Layer>,
    /// Severing works.
    pub(super) severing: Layer,
    /// Counted works that do not sever.
    pub(super) other: Layer,
    /// All counted works on ground without an existing surface; as `all` where no surfaces are given.
    pub(super) new_ground: Layer,
    /// Counted works that go with the job.
    pub(super) temporary: Layer,
    /// Counted works that stay.
    pub(super) permanent: Layer,
}

/// Permits that a worker unites at a time: few, so that none of them waits long for the others at the end.
const PERMITS_AT_ONCE: usize = 64;

/// All permits' ground, ready to measure. Immutable; shared by all workers.
pub struct Ground {
    works: Vec<PreparedArea>,
    facts: Vec<WorkFacts>,
    permits: Vec<PermitGround>,
    surfaces: Option<Arc<Surfaces>>,
    pub(super) wants: Wants,
}

impl Ground {
    /// Prepares every work and unites every permit's layers, in parallel; `surfaces` are those that exist, where given.
    pub fn prepare(works: &[Work], permits: &[Permit], wants: Wants, surfaces: Option<Arc<Surfaces>>) -> Ground {
        let prepared = works.par_iter().map(|work| PreparedArea::new(&work.shape)).collect();
        let facts = works.iter().map(WorkFacts::of).collect();
        let grounds = permits
            .par_iter()
            .with_max_len(PERMITS_AT_ONCE)
            .map(|permit| {
                let members: Vec<Member> = permit.works.iter().map(|&work| Member::of(works, work)).collect();
                PermitGround::unite(&members, &wants, surfaces.as_deref())
            })
            .collect();
        Ground { works: prepared, facts, permits: grounds, surfaces, wants }
    }

    /// The ground of one permit.
    pub fn permit(&self, permit: u32) -> &PermitGround {
        &self.permits[permit as usize]
    }

    /// The drawn part of a disc that a permit's counted works cover, measuring CRS: of the ground that is measured.
    pub fn outline(&self, permit: u32, centre: Coord<f64>, radius_m: f64) -> MultiPolygon<f64> {
        let permit = self.permit(permit);
        self.area(permit, permit.all).map_or(MultiPolygon(Vec::new()), |area| area_outline(area, centre, radius_m))
    }

    pub(super) fn surfaces(&self) -> Option<&Surfaces> {
        self.surfaces.as_deref()
    }

    pub(super) fn facts(&self, work: u32) -> WorkFacts {
        self.facts[work as usize]
    }

    /// Distance to a work, or `None` where it is `within_m` away or more. Inside is always near enough.
    pub fn distance_m(&self, work: u32, trunk: impl Into<Trunk>, within_m: f64) -> Option<f64> {
        let Trunk { place, works_from_m, .. } = trunk.into();
        self.works[work as usize]
            .distance_beyond_m(place, works_from_m, within_m)
            .filter(|&distance_m| distance_m < within_m || distance_m == 0.0)
    }

    /// The way from a place to the nearest edge of a work; `None` where there is no such work, or it covers no ground.
    pub fn way_to_edge(&self, work: u32, place: Coord<f64>) -> Option<Coord<f64>> {
        self.works.get(work as usize)?.way_to_boundary(place)
    }

    /// How far a place inside a work is from the work's edge, metres; at most [`DEEP_INSIDE_M`].
    pub(super) fn depth_inside_m(&self, work: u32, place: Coord<f64>) -> f64 {
        self.works[work as usize].boundary_distance_m(place, DEEP_INSIDE_M).unwrap_or(DEEP_INSIDE_M)
    }

    pub(super) fn area<'a>(&'a self, permit: &'a PermitGround, layer: Layer) -> Option<&'a PreparedArea> {
        match layer {
            Layer::None => None,
            Layer::Work(work) => Some(&self.works[work as usize]),
            Layer::Union(union) => Some(&permit.unions[union as usize]),
        }
    }
}

impl WorkFacts {
    fn of(work: &Work) -> WorkFacts {
        let trunk = Effects::of(&[Effect::Occupy, Effect::Cut, Effect::Fill]);
        WorkFacts {
            effects: work.effects,
            lasting: work.lasting,
            depth_m: work.depth_m,
            counted: work.counted(),
            disturbs_trunk: work.effects.meets(trunk),
            severs: work.severs,
            stated: Mitigations::of(&work.mitigations),
            accepted: Mitigations::of(&work.accepted),
        }
    }
}

/// A work as it goes into unions: perhaps cut down to the neighbourhood of one tree.
pub(super) struct Member<'a> {
    pub work: u32,
    pub effects: Effects,
    pub lasting: Lasting,
    pub severs: bool,
    pub shape: std::borrow::Cow<'a, MultiPolygon<f64>>,
    /// The shape is the work's whole ground, so that the work's own prepared area can stand for it.
    pub whole: bool,
}

impl<'a> Member<'a> {
    pub(super) fn of(works: &'a [Work], work: u32) -> Member<'a> {
        let found = &works[work as usize];
        let shape = std::borrow::Cow::Borrowed(&found.shape);
        Member { work, effects: found.effects, lasting: found.lasting, severs: found.severs, shape, whole: true }
    }

    fn counted(&self) -> bool {
        self.effects.meets(Effects::COUNTED)
    }

    fn selected(&self, selection: Selection) -> bool {
        self.counted()
            && self.effects.meets(selection.effects)
            && selection.lasting.is_none_or(|lasting| lasting == self.lasting)
    }
}

impl PermitGround {
    /// Unites the members into the layers that the standard measures and the rule set need.
    pub(super) fn unite(members: &[Member<'_>], wants: &Wants, surfaces: Option<&Surfaces>) -> PermitGround {
        let mut maker = LayerMaker { members, surfaces, made: Vec::new(), unions: Vec::new() };
        let all = maker.layer(|m| m.counted());
        // A deep bore does not count, but where it passes is told.
        let by_effect = Effect::ALL.map(|effect| maker.layer(|m| m.effects.has(effect)));
        let selected = |selection: Selection| move |m: &Member<'_>| m.selected(selection);
        let by_selection = wants.selections.iter().map(|&selection| match selection.new_ground {
            true => maker.new_ground(selected(selection)),
            false => maker.layer(selected(selection)),
        });
        let by_selection = by_selection.collect();
        let severing = maker.layer(|m| m.severs);
        let other = maker.layer(|m| m.counted() && !m.severs);
        let new_ground = maker.new_ground(|m| m.counted());
        let [temporary, permanent] = [Lasting::Temporary, Lasting::Permanent]
            .map(|lasting| maker.layer(|m| m.counted() && m.lasting == lasting));
        PermitGround {
            unions: maker.unions.into_boxed_slice(),
            all,
            by_effect,
            by_selection,
            severing,
            other,
            new_ground,
            temporary,
            permanent,
        }
    }
}

struct LayerMaker<'a, 'b> {
    members: &'a [Member<'b>],
    surfaces: Option<&'a Surfaces>,
    /// What was made of which members, whole or without existing surfaces.
    made: Vec<(Vec<usize>, bool, Layer)>,
    unions: Vec<PreparedArea>,
}

impl LayerMaker<'_, '_> {
    /// The layer of the members that pass; made once for each set of members.
    fn layer(&mut self, passes: impl Fn(&Member<'_>) -> bool) -> Layer {
        let chosen = self.chosen(passes);
        self.made_once(chosen, false)
    }

    /// What of the layer lies outside existing surfaces; all of it where none are given.
    fn new_ground(&mut self, passes: impl Fn(&Member<'_>) -> bool) -> Layer {
        let chosen = self.chosen(passes);
        self.made_once(chosen, self.surfaces.is_some())
    }

    fn chosen(&self, passes: impl Fn(&Member<'_>) -> bool) -> Vec<usize> {
        (0..self.members.len()).filter(|&i| passes(&self.members[i])).collect()
    }

    fn made_once(&mut self, chosen: Vec<usize>, new_ground: bool) -> Layer {
        let known = self.made.iter().find(|(made_of, new, _)| *made_of == chosen && *new == new_ground);
        if let Some((.., layer)) = known {
            return *layer;
        }
        let layer = match self.surfaces {
            Some(surfaces) if new_ground => self.make_outside(surfaces, &chosen),
            _ => self.make(&chosen),
        };
        self.made.push((chosen, new_ground, layer));
        layer
    }

    fn make(&mut self, chosen: &[usize]) -> Layer {
        match chosen {
            [] => Layer::None,
            [one] if self.members[*one].whole => Layer::Work(self.members[*one].work),
            _ => {
                let united = self.united(chosen);
                self.keep(&united)
            }
        }
    }

    fn make_outside(&mut self, surfaces: &Surfaces, chosen: &[usize]) -> Layer {
        let outside = match chosen {
            [one] => surfaces.pieces.outside(self.members[*one].shape.as_ref()),
            _ => surfaces.pieces.outside(&self.united(chosen)),
        };
        match outside {
            None => self.made_once(chosen.to_vec(), false),
            Some(ground) => self.keep(&ground),
        }
    }

    fn united(&self, chosen: &[usize]) -> MultiPolygon<f64> {
        let shapes: Vec<&MultiPolygon<f64>> = chosen.iter().map(|&i| self.members[i].shape.as_ref()).collect();
        union(&shapes)
    }

    fn keep(&mut self, ground: &MultiPolygon<f64>) -> Layer {
        self.unions.push(PreparedArea::new(ground));
        Layer::Union(u16::try_from(self.unions.len() - 1).expect("a rule set has far fewer than 65,536 selections"))
    }
}
