//! Root zones shaped by existing barriers: which barriers stop roots, what they make of a tree's zone, and what is said of it.

use super::ground::Given;
use crate::geometry::shaped::ShapedBy;
use crate::geometry::shaped_parts::Barriers;
use crate::index::WorkIndex;
use crate::model::barrier::BarrierClass;
use crate::model::zone::{Zone, ZoneShape};
use crate::settings::BarrierChoices;
use geo::{Coord, MultiPolygon};
use std::cell::RefCell;
use std::collections::HashMap;
use std::sync::Arc;

/// Lost area is made up as far as this many radii from the trunk. A choice of the program, no source.
const FURTHEST_RADII: f64 = 2.0;

/// The barriers of a run that stop roots.
pub(super) struct RootBarriers {
    barriers: Barriers,
    index: WorkIndex,
    make_up_area: bool,
}

impl RootBarriers {
    /// Of what the files hold, what stops roots; `None` where no file is given.
    pub(super) fn new(given: &Given, choices: &BarrierChoices) -> Option<RootBarriers> {
        if given.opened.is_empty() {
            return None;
        }
        let barriers = Barriers::new(stopping(given, choices));
        let index = WorkIndex::new(barriers.parts());
        Some(RootBarriers { barriers, index, make_up_area: choices.make_up_area })
    }

    /// How much further than its radius the zone of a tree can reach.
    pub(super) fn most_growth(&self, place: Coord<f64>, radius_m: f64) -> f64 {
        if !self.make_up_area {
            return 1.0;
        }
        let mut near = Vec::new();
        self.index.near(place, radius_m, &mut near);
        if near.is_empty() { 1.0 } else { FURTHEST_RADII }
    }

    fn shape(&self, place: Coord<f64>, radius_m: f64) -> ShapedBy {
        let furthest_m = if self.make_up_area { FURTHEST_RADII * radius_m } else { radius_m };
        let mut near = Vec::new();
        self.index.near(place, furthest_m, &mut near);
        self.barriers.shape(&near, place, radius_m, furthest_m)
    }
}

fn stopping<'a>(given: &'a Given, choices: &BarrierChoices) -> impl Iterator<Item = &'a MultiPolygon<f64>> {
    let of_each = given.shapes.iter().zip(&given.kinds);
    of_each.filter(|(_, kind)| choices.stop(BarrierClass::of_kind(kind))).map(|(shape, _)| shape)
}

/// What barriers make of one tree's zones at its places; each is worked out once.
pub(super) struct Shapes<'a> {
    by: Option<&'a RootBarriers>,
    known: RefCell<HashMap<[u64; 3], Known>>,
}

#[derive(Clone)]
struct Known {
    /// With the radius of the shaped zone, metres.
    shape: Option<(Arc<ZoneShape>, f64)>,
    warnings: Vec<&'static str>,
}

impl<'a> Shapes<'a> {
    pub(super) fn new(by: Option<&'a RootBarriers>) -> Shapes<'a> {
        Shapes { by, known: RefCell::default() }
    }

    /// The zone as barriers shape it at a place.
    pub(super) fn shaped(&self, zone: Zone, place: Coord<f64>) -> Zone {
        let Some(by) = self.by else { return zone };
        let key = [place.x.to_bits(), place.y.to_bits(), zone.radius_m.to_bits()];
        let known = self.known.borrow().get(&key).cloned();
        let Known { shape, warnings } = known.unwrap_or_else(|| {
            let made = Known::of(by.shape(place, zone.radius_m), zone.radius_m, by.make_up_area);
            self.known.borrow_mut().insert(key, made.clone());
            made
        });
        let mut zone = zone;
        zone.warnings.extend(warnings);
        zone.warnings.sort_unstable();
        if let Some((shape, radius_m)) = shape {
            zone.radius_m = radius_m;
            zone.shape = Some(shape);
        }
        zone
    }
}

impl Known {
    fn of(found: ShapedBy, disc_radius_m: f64, made_up: bool) -> Known {
        let capped = found.shaped.as_ref().is_some_and(|shaped| shaped.capped);
        let warnings = [
            ("barrier_over_trunk", found.over_trunk),
            ("made_up_area_capped", capped),
            ("zone_shaped_by_barrier", found.shaped.is_some()),
        ];
        let shape = found.shaped.map(|shaped| {
            let shape = ZoneShape { ground: shaped.ground, area_m2: shaped.area_m2, disc_radius_m, made_up };
            (Arc::new(shape), shaped.radius_m)
        });
        Known { shape, warnings: warnings.into_iter().filter(|(_, holds)| *holds).map(|(code, _)| code).collect() }
    }
}

/// Whether the tree was taken to stand on a barrier.
pub(super) fn over_trunk(zone: &Zone) -> bool {
    zone.warnings.contains(&"barrier_over_trunk")
}

/// What a reader must know of barriers and of the model; nothing where none are given.
pub(super) fn notes(given: &Given, choices: &BarrierChoices) -> Vec<String> {
    if given.opened.is_empty() {
        return Vec::new();
    }
    let counts = BarrierClass::ALL.map(|class| {
        let many = given.kinds.iter().filter(|kind| BarrierClass::of_kind(kind) == class).count();
        (class, many)
    });
    let each = counts.iter().filter(|(_, many)| *many > 0);
    let each = each.map(|(class, many)| format!("{many} {} ({})", class.word(), choices.word(*class)));
    let mut notes = vec![format!("barriers to roots: {}", each.collect::<Vec<_>>().join(", "))];
    if stopping(given, choices).next().is_none() {
        notes.push("no barrier of the files stops roots: every root zone is a whole disc (--barrier-roots others=stop takes barriers of unknown kind too)".to_string());
        return notes;
    }
    notes.push("a root zone is the part of its disc that hangs together with the trunk once barriers that stop roots are taken away; roots are taken to go around the ends of barriers. A simple model (common sense, no source): confirm by root investigation. The whole disc stands beside it (columns disc_*)".to_string());
    if choices.make_up_area {
        notes.push(format!("lost area of root zones is made up: straight outwards from where the zone reaches the circle, to one outer radius, up to the first barrier, at most to {FURTHEST_RADII} times the radius (a choice of the program, no source)"));
    }
    notes
}

#[cfg(test)]
#[path = "barriers_tests.rs"]
mod tests;
