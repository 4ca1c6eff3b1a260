//! Service lines that cross root zones -> lengths, the bore that would pass beneath, the shortest shift, and what is advised.
//!
//! A line is moved whole, by a translation: that keeps its bends and its length, and the drawing says at once what it would take. Its
//! two ends move with it, so that the connections have to follow. A shift counts only where the strip leaves the zone by
//! 1 cm, comes no nearer to any other zone of a tree that stays than it is now, and no tree near it stands worse by the
//! run's own measures. Existing buildings and services are not known here: outputs say so.

use super::Site;
use super::service_advice::{Case, advise, needs_more};
use super::service_bore::Bores;
use super::service_shift::{Obstacle, shortest_shifts};
use super::service_values::ServiceValues;
use crate::geometry::centre_line::{distance_to_line_m, distance_to_segment_m, length_inside_m, segments};
use crate::model::effect::Effect;
use crate::model::protection::TreeFate;
use crate::model::results::Row;
use crate::model::service::{
    Advice, Clears, LineTree, MovedLine, NearTree, Placed, ServiceLine, Shift, Standing, TreeShift,
};
use crate::model::work::{DrawnLine, Permit, Work};
use crate::rules::stability::STABILITY_DIAMETERS;
use geo::{BoundingRect, Coord, Intersects, MapCoords, MultiLineString, MultiPolygon, Rect};
use rayon::prelude::*;
use std::cell::OnceCell;

/// A moved strip leaves a zone by so much, metres: the outlines of drawn-out lines keep within it.
const CLEAR_BY_M: f64 = 0.01;
/// A line beside a zone may stay as near as it is, but for what rounding takes, metres.
const AS_NEAR_SLACK_M: f64 = 1e-9;
/// Rounding does not undo that a zone is left, metres.
const LEAVES_SLACK_M: f64 = 1e-6;

/// How trees stand with a work's line somewhere: the work, where, and which of its near trees; in their order.
pub type StandingOf<'a> = &'a (dyn Fn(u32, Placed, &[usize]) -> Vec<Standing> + Sync);

/// The trees around all service lines and how they are measured: handed in, because stages do not import one another.
pub struct Lines<'a> {
    /// Per work the trees that it or a shift of it could reach, ordered by id; empty for works that are no service line.
    pub near: &'a [Vec<NearTree>],
    /// Measures and judges.
    pub standing: StandingOf<'a>,
    /// Depths and pits.
    pub values: &'a ServiceValues,
    /// How far a line may be moved, metres.
    pub within_m: f64,
    /// Names of the rule set's rings.
    pub rings: &'a [String],
}

/// All service lines of a permit that meet the root zone of a tree that stays, in the order of works.
pub(super) fn services(
    site: &Site<'_>,
    permit: &Permit,
    rows: &[(usize, &Row)],
    fates: &[TreeFate],
) -> Vec<ServiceLine> {
    let Some(lines) = &site.lines else { return Vec::new() };
    let boxes: Vec<(u32, Rect<f64>)> = permit
        .works
        .iter()
        .filter_map(|&work| Some((work, site.works[work as usize].shape.bounding_rect()?)))
        .collect();
    let one = |&work: &u32| {
        let found = &site.works[work as usize];
        let drawn = found.service_line()?;
        let near = lines.near.get(work as usize).filter(|near| !near.is_empty())?;
        Around::new(site, lines, (work, found, drawn), near, &boxes).line(rows, fates)
    };
    permit.works.par_iter().filter_map(one).collect()
}

/// One line among its trees.
struct Around<'a> {
    site: &'a Site<'a>,
    lines: &'a Lines<'a>,
    work: u32,
    shape: &'a MultiPolygon<f64>,
    centre: &'a MultiLineString<f64>,
    half_m: f64,
    near: &'a [NearTree],
    /// Centre line to each near tree as drawn, metres.
    distances_m: Vec<f64>,
    /// Segments of the line that a shift could bring to each near tree.
    segments: Vec<Vec<(Coord<f64>, Coord<f64>)>>,
    boxes: &'a [(u32, Rect<f64>)],
    as_drawn: OnceCell<Vec<Standing>>,
}

/// A shift with how every near tree then stands.
type Shifted = (Shift, Vec<Standing>);

/// What was found for one tree.
struct Found {
    zone: Option<Shifted>,
    ring: Option<Shifted>,
}

/// A tree whose zone the line meets.
struct Crossed<'a> {
    near: usize,
    number: usize,
    row: &'a Row,
}

impl<'a> Around<'a> {
    fn new(
        site: &'a Site<'a>,
        lines: &'a Lines<'a>,
        (work, found, drawn): (u32, &'a Work, &'a DrawnLine),
        near: &'a [NearTree],
        boxes: &'a [(u32, Rect<f64>)],
    ) -> Around<'a> {
        let half_m = drawn.width_m / 2.0 + found.margin_m;
        let centre = &drawn.lines;
        let distances_m = near.iter().map(|tree| distance_m(centre, tree.place)).collect();
        let segments =
            near.iter().map(|tree| within(centre, tree.place, tree.radius_m + half_m + CLEAR_BY_M + lines.within_m));
        let segments = segments.collect();
        let shape = &found.shape;
        Around {
            site,
            lines,
            work,
            shape,
            centre,
            half_m,
            near,
            distances_m,
            segments,
            boxes,
            as_drawn: OnceCell::new(),
        }
    }

    fn line(&self, rows: &[(usize, &Row)], fates: &[TreeFate]) -> Option<ServiceLine> {
        let crossed = self.crossed(rows, fates);
        if crossed.is_empty() {
            return None;
        }
        let zones: Vec<(Coord<f64>, f64)> = crossed
            .iter()
            .filter_map(|one| Some((self.near[one.near].place, one.row.zone.as_ref()?.radius_m)))
            .collect();
        let bores = Bores::plan(self.centre, self.half_m, &zones, self.lines.values);
        let numbers: Vec<usize> = crossed.iter().map(|one| one.near).collect();
        let alone = (self.lines.standing)(self.work, Placed::Alone, &numbers);
        let without = (self.lines.standing)(self.work, Placed::Away, &numbers);
        // With one zone to leave, leaving every zone is leaving this one.
        let every = match zones.len() {
            0 | 1 => None,
            _ => self.shift(&|number| numbers.contains(&number).then(|| self.full_m(number, &crossed)).flatten()),
        };
        let mut shifts = Vec::new();
        let mut trees = Vec::new();
        for (at, one) in crossed.iter().enumerate() {
            let own = one.row.zone.as_ref().and_then(|_| self.shift(&|near| self.zone_to_leave(near, one, &crossed)));
            let ring = self.ring_shift(one);
            trees.push(self.tree(one, &bores, (alone[at], without[at]), (every.as_ref(), own.as_ref(), ring.as_ref())));
            shifts.push(Found { zone: own, ring: ring.map(|(_, found)| found) });
        }
        let moved = self.advise(&crossed, &mut trees, every, shifts);
        Some(ServiceLine { work: self.work, trees_near: count(self.near.len()), trees, moved })
    }

    /// Trees that stay, or that go only because a work stands on their trunk, and whose zone (or search distance) the strip meets.
    fn crossed<'r>(&self, rows: &[(usize, &'r Row)], fates: &[TreeFate]) -> Vec<Crossed<'r>> {
        let stays = |fate: &TreeFate| fate.stays() || fate.goes_because == "trunk in work";
        let reached = |(near, tree): (usize, &NearTree)| {
            let at = rows.binary_search_by_key(&tree.tree?, |(_, row)| row.tree).ok()?;
            let (number, row) = rows[at];
            let radius_m = row.zone.as_ref().map_or(tree.radius_m, |zone| zone.radius_m);
            let meets = self.distances_m[near] - self.half_m < radius_m;
            (meets && stays(&fates[at])).then_some(Crossed { near, number, row })
        };
        let mut crossed: Vec<Crossed<'r>> = self.near.iter().enumerate().filter_map(reached).collect();
        crossed.sort_by_key(|one| one.row.tree);
        crossed
    }

    /// How far the centre line must stay from a tree to be clear of its whole zone; `None` where that is not known.
    fn full_m(&self, near: usize, crossed: &[Crossed<'_>]) -> Option<f64> {
        let row = crossed.iter().find(|one| one.near == near)?.row;
        row.zone.as_ref().map(|_| self.clear_m(self.near[near].radius_m))
    }

    fn clear_m(&self, radius_m: f64) -> f64 {
        radius_m + self.half_m + CLEAR_BY_M
    }

    fn zone_to_leave(&self, near: usize, one: &Crossed<'_>, crossed: &[Crossed<'_>]) -> Option<f64> {
        (near == one.near).then(|| self.full_m(near, crossed)).flatten()
    }

    /// All of a row but the advice.
    fn tree(
        &self,
        one: &Crossed<'_>,
        bores: &Bores<'_>,
        (alone, without): (Standing, Standing),
        (every, own, ring): (Option<&Shifted>, Option<&Shifted>, Option<&(usize, Shifted)>),
    ) -> LineTree {
        let tree = &self.near[one.near];
        let zone = one.row.zone.as_ref();
        let inside_m =
            |radius_m: f64| self.centre.0.iter().map(|line| length_inside_m(line, tree.place, radius_m)).sum();
        let centre_line_m = self.distances_m[one.near];
        let edge_m = (centre_line_m - self.half_m).max(0.0);
        let diameters = zone.map(|zone| edge_m / zone.diameter_m);
        let ring_lengths_m = zone.map(|zone| zone.rings.iter().map(|ring| inside_m(ring.radius_m)).collect());
        let for_tree = |clears, found: &Shifted| TreeShift { clears, shift: found.0, after: found.1[one.near] };
        LineTree {
            row: one.number,
            tree: one.row.tree,
            zone_length_m: zone.map(|zone| inside_m(zone.radius_m)),
            ring_lengths_m: ring_lengths_m.unwrap_or_default(),
            centre_line_m,
            edge_m,
            edge_diameters: diameters,
            cut_close: diameters.is_some_and(|diameters| diameters <= STABILITY_DIAMETERS),
            alone,
            without,
            bore: zone.map(|zone| bores.beneath(tree.place, zone.radius_m, self.site.rules)),
            every_zone: zone.and(every).map(|found| for_tree(Clears::EveryZone, found)),
            zone: own.map(|found| for_tree(Clears::Zone, found)),
            ring: ring.map(|(ring, found)| for_tree(Clears::Ring(*ring), found)),
            advised: None,
            advice: Advice::HandDig,
            reason: String::new(),
        }
    }

    /// Chooses the one shift of the line and fills in what is advised of every tree.
    ///
    /// Of the shifts out of zones the one that leaves most of the zones where more than digging is needed, the shortest of such; without
    /// any, the same of the shifts out of rings, for trees beneath which no bore is possible.
    fn advise(
        &self,
        crossed: &[Crossed<'_>],
        trees: &mut [LineTree],
        every: Option<Shifted>,
        shifts: Vec<Found>,
    ) -> Option<MovedLine> {
        let needs: Vec<bool> = crossed.iter().zip(&*trees).map(|(one, line)| needs_more(line, one.row)).collect();
        let no_bore = |line: &LineTree| line.bore.as_ref().is_some_and(|bore| !bore.possible);
        let (mut out_of_zones, mut out_of_rings): (Vec<Shifted>, Vec<Shifted>) =
            (every.into_iter().collect(), Vec::new());
        for found in shifts {
            out_of_zones.extend(found.zone);
            out_of_rings.extend(found.ring);
        }
        let leaves_zone = |at: usize, shift: &Shift| {
            needs[at] && self.leaves(&crossed[at], self.near[crossed[at].near].radius_m, shift)
        };
        let leaves_ring = |at: usize, shift: &Shift| {
            let radius_m = ring_left(&trees[at], crossed[at].row).map(|(_, radius_m)| radius_m);
            needs[at]
                && no_bore(&trees[at])
                && radius_m.is_some_and(|radius_m| self.leaves(&crossed[at], radius_m, shift))
        };
        let zones = best(&out_of_zones, trees.len(), &leaves_zone);
        let chosen = zones.or_else(|| best(&out_of_rings, trees.len(), &leaves_ring));
        let of_rings = zones.is_none();
        let left: Vec<bool> = match chosen {
            Some((shift, _)) if of_rings => (0..trees.len()).map(|at| leaves_ring(at, shift)).collect(),
            Some((shift, _)) => (0..trees.len()).map(|at| leaves_zone(at, shift)).collect(),
            None => vec![false; trees.len()],
        };
        for (at, one) in crossed.iter().enumerate() {
            let line = &mut trees[at];
            line.advised = chosen.filter(|_| left[at]).map(|(shift, after)| {
                let every = line.every_zone.is_some_and(|every| every.shift == *shift);
                let ring = ring_left(line, one.row).filter(|_| of_rings).map(|(ring, _)| Clears::Ring(ring));
                let zone = if every { Clears::EveryZone } else { Clears::Zone };
                TreeShift { clears: ring.unwrap_or(zone), shift: *shift, after: after[one.near] }
            });
            advise(line, &self.case(line, one, crossed, chosen.map(|(shift, _)| shift.distance_m)));
        }
        let for_trees = trees.iter().filter(|line| line.advised.is_some()).map(|line| line.tree).collect();
        chosen.map(|(shift, _)| self.moved(shift, for_trees))
    }

    fn case<'r>(
        &'r self,
        line: &LineTree,
        one: &Crossed<'r>,
        crossed: &[Crossed<'_>],
        moved_m: Option<f64>,
    ) -> Case<'r> {
        let zone = one.row.zone.as_ref();
        Case {
            row: one.row,
            rings: self.lines.rings,
            within_m: self.lines.within_m,
            shallow_bore: self.site.works[self.work as usize].effects.has(Effect::Bore),
            crosses_more: crossed.len() > 1,
            moved_m,
            on_trunk: zone.is_some_and(|zone| line.edge_m <= zone.diameter_m / 2.0),
        }
    }

    /// Whether the shifted strip is clear of a disc around a tree.
    fn leaves(&self, one: &Crossed<'_>, radius_m: f64, shift: &Shift) -> bool {
        self.moved_distance_m(one.near, shift) >= self.clear_m(radius_m) - LEAVES_SLACK_M
    }

    /// From a tree to the shifted centre line, as far as a shift matters to it, metres.
    fn moved_distance_m(&self, near: usize, shift: &Shift) -> f64 {
        let place = self.near[near].place;
        let moved =
            self.segments[near].iter().map(|&(p, q)| distance_to_segment_m((p + shift.by, q + shift.by), place));
        moved.fold(f64::INFINITY, f64::min)
    }

    /// The shortest shift out of a ring: of the rings that a limit of the rule set speaks of and that the strip meets, the widest that
    /// can be left; without such, the innermost met.
    fn ring_shift(&self, one: &Crossed<'_>) -> Option<(usize, Shifted)> {
        let zone = one.row.zone.as_ref()?;
        let edge_m = self.distances_m[one.near] - self.half_m;
        let mut met: Vec<(usize, f64)> = zone
            .rings
            .iter()
            .map(|ring| (ring.ring, ring.radius_m))
            .filter(|&(_, radius_m)| edge_m < radius_m && radius_m < zone.radius_m)
            .collect();
        met.sort_by(|a, b| b.1.total_cmp(&a.1).then(a.0.cmp(&b.0)));
        let named = |ring: usize| self.site.rules.limits.iter().any(|limit| limit.ring == Some(ring));
        let innermost = met.last().copied();
        met.retain(|&(ring, _)| named(ring));
        met.extend(innermost);
        met.dedup();
        met.into_iter().find_map(|(ring, radius_m)| {
            let keep = |near| (near == one.near).then(|| self.clear_m(radius_m));
            self.shift(&keep).map(|found| (ring, found))
        })
    }

    /// The shortest shift that leaves what is to be left, with how every near tree then stands; `None` where there is none.
    fn shift(&self, keep_m: &dyn Fn(usize) -> Option<f64>) -> Option<Shifted> {
        let obstacles: Vec<Obstacle<'_>> = (0..self.near.len())
            .filter_map(|near| {
                let left = keep_m(near);
                // A tree that is removed anyway is in nobody's way, unless the advice is for it.
                if left.is_none() && self.near[near].goes {
                    return None;
                }
                let as_near_m = self.distances_m[near] - AS_NEAR_SLACK_M;
                let keep_m = left.unwrap_or_else(|| self.clear_m(self.near[near].radius_m).min(as_near_m));
                let obstacle = Obstacle {
                    place: self.near[near].place,
                    keep_m,
                    segments: &self.segments[near],
                    left: left.is_some(),
                };
                (keep_m > 0.0).then_some(obstacle)
            })
            .collect();
        let shifts = shortest_shifts(&obstacles, self.lines.within_m);
        shifts.into_iter().find_map(|shift| self.nobody_worse(&shift).map(|after| (shift, after)))
    }

    /// How every near tree stands after a shift; `None` where one stands worse.
    fn nobody_worse(&self, shift: &Shift) -> Option<Vec<Standing>> {
        let all: Vec<usize> = (0..self.near.len()).collect();
        let before = self.as_drawn.get_or_init(|| (self.lines.standing)(self.work, Placed::AsDrawn, &all));
        // Whom the line neither reaches now nor then stands as before.
        let concerned: Vec<usize> = all.into_iter().filter(|&near| self.reaches(near, shift)).collect();
        let found = (self.lines.standing)(self.work, Placed::Moved(shift.by), &concerned);
        let mut after = before.clone();
        for (&near, found) in concerned.iter().zip(found) {
            if !self.near[near].goes && found.is_worse_than(&before[near]) {
                return None;
            }
            after[near] = found;
        }
        Some(after)
    }

    fn reaches(&self, near: usize, shift: &Shift) -> bool {
        let reach_m = self.clear_m(self.near[near].radius_m);
        self.distances_m[near] < reach_m || self.moved_distance_m(near, shift) < reach_m
    }

    fn moved(&self, shift: &Shift, trees: Vec<u32>) -> MovedLine {
        let lines = self.centre.map_coords(|place| place + shift.by);
        MovedLine { shift: *shift, lines, trees, meets: self.newly_met(shift) }
    }

    /// Other works of the permit that the moved strip meets and the strip as drawn does not.
    fn newly_met(&self, shift: &Shift) -> Vec<u32> {
        let strip = self.shape.map_coords(|place| place + shift.by);
        let Some(bounds) = strip.bounding_rect() else { return Vec::new() };
        let others = self.boxes.iter().filter(|(work, other)| *work != self.work && other.intersects(&bounds));
        let shape = |work: &u32| &self.site.works[*work as usize].shape;
        let newly = |work: &u32| shape(work).intersects(&strip) && !shape(work).intersects(self.shape);
        others.map(|(work, _)| *work).filter(newly).collect()
    }
}

/// The shift that leaves most of `many` zones or rings, the shortest of such, the first of equals; `None` where none leaves any.
fn best<'s>(shifts: &'s [Shifted], many: usize, leaves: &dyn Fn(usize, &Shift) -> bool) -> Option<&'s Shifted> {
    let left = |shift: &Shift| (0..many).filter(|&at| leaves(at, shift)).count();
    let counted = shifts.iter().map(|found| (left(&found.0), found)).filter(|(left, _)| *left > 0);
    let better = counted.min_by(|a, b| b.0.cmp(&a.0).then(a.1.0.distance_m.total_cmp(&b.1.0.distance_m)));
    better.map(|(_, found)| found)
}

/// The ring that the tree's own shift leaves, with its radius, metres.
fn ring_left(line: &LineTree, row: &Row) -> Option<(usize, f64)> {
    let Clears::Ring(ring) = line.ring.as_ref()?.clears else { return None };
    let radius_m = row.zone.as_ref()?.rings.iter().find(|one| one.ring == ring)?.radius_m;
    Some((ring, radius_m))
}

fn count(many: usize) -> u32 {
    u32::try_from(many).expect("fewer than 4 billion trees fit in memory")
}

fn distance_m(lines: &MultiLineString<f64>, place: Coord<f64>) -> f64 {
    lines.0.iter().filter_map(|line| distance_to_line_m(line, place)).fold(f64::INFINITY, f64::min)
}

/// The segments of a line nearer to a place than a distance.
fn within(lines: &MultiLineString<f64>, place: Coord<f64>, distance_m: f64) -> Vec<(Coord<f64>, Coord<f64>)> {
    let all = lines.0.iter().flat_map(segments);
    all.filter(|&segment| distance_to_segment_m(segment, place) < distance_m).collect()
}
