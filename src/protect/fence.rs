//! Trees that stay -> fences: as far from the trunk as the works allow, in lines that can be built.
//!
//! For each tree the ground that the rule set wants fenced (a disc, or the zone that barriers shape), less the works grown by the clearance, less existing buildings, within the site: the
//! part that holds the trunk. Parts that overlap become one. What is narrower than the least width goes (necks: `fence_neck`), corners come at
//! least half a metre apart (`fence_line`), and every line is checked. A tree around which nothing remains is told with the reason.

use super::fence_line::{LEAST_SIDE_M, buildable};
use super::fence_measure::measured;
use super::fence_neck::without_necks;
use super::ground::{Local, near};
use super::staying::Staying;
use super::values::FenceValues;
use crate::geometry::{Pieces, PreparedArea, disc_of_sides, union, without_narrow_parts};
use crate::model::protection::{Fence, Unfenced};
use geo::{Contains, MultiPolygon, Polygon, Validation};

/// A line around a trunk that stands outside a fence keeps this many radii from its centre: its corners are few.
const ROUND_TRUNK: f64 = 1.2;
/// What is given up, as multiples of the least width, one after another.
const SHARES: [f64; 4] = [1.0, 1.5, 2.25, 4.0];
/// How often necks of one ground are cut before more is given up.
const CUTS_PER_SHARE: usize = 8;

/// What stands in the way of fences, and where they may stand.
pub(super) struct InTheWay<'a> {
    /// The works of the permit, as drawn.
    pub works: &'a Pieces,
    /// The same, grown by the clearance.
    pub cleared: &'a Pieces,
    /// Existing buildings.
    pub buildings: &'a Pieces,
    /// The site; `None` where it is not given: everywhere.
    pub site: Option<&'a Pieces>,
    /// Clearance, metres.
    pub clearance_m: f64,
    /// What is narrower stays outside, metres.
    pub narrowest_m: f64,
    /// Height of a guard around a trunk, as written.
    pub guard: &'a str,
    /// How fences are built.
    pub built: &'a FenceValues,
}

/// The fences, ordered by their first tree, and the trees without one.
pub(super) fn fences(way: &InTheWay<'_>, trees: &[Staying]) -> (Vec<Fence>, Vec<Unfenced>) {
    let (mut open, mut unfenced, mut trunks) = (Vec::new(), Vec::new(), Vec::new());
    for tree in trees {
        match open_part(way, tree) {
            Ok(part) => open.push((tree, MultiPolygon(vec![part]))),
            Err(reason) => {
                trunks.push(trunk(tree));
                unfenced.push(told(way, tree, reason));
            }
        }
    }
    // A trunk that no fence holds stands in the way of the others: so it is tried again without its disc.
    loop {
        let (lines, held) = around(way, &open, &trunks);
        if held.iter().all(Option::is_some) {
            return (measured_all(way, lines, &open, &held), unfenced);
        }
        let mut still_open = Vec::new();
        for (one, holder) in open.into_iter().zip(held) {
            if holder.is_some() {
                still_open.push(one);
            } else {
                trunks.push(trunk(one.0));
                unfenced.push(told(way, one.0, too_narrow(way)));
            }
        }
        open = still_open;
    }
}

/// Lines around the open parts of trees, clear of the trunks that they do not hold; and for each tree the line that holds its trunk.
fn around(
    way: &InTheWay<'_>,
    open: &[(&Staying, MultiPolygon<f64>)],
    trunks: &[MultiPolygon<f64>],
) -> (Vec<Polygon<f64>>, Vec<Option<usize>>) {
    let mut grounds = union(&open.iter().map(|(_, part)| part).collect::<Vec<_>>());
    if !trunks.is_empty() {
        let trunks = Pieces::new(&trunks.iter().collect::<Vec<_>>());
        grounds = trunks.outside(&grounds).unwrap_or(grounds);
    }
    let trees: Vec<&Staying> = open.iter().map(|(tree, _)| *tree).collect();
    let lines: Vec<Polygon<f64>> = grounds.iter().flat_map(|ground| lines(way, ground)).collect();
    let held = Holders::new(&lines).holders(&trees);
    (lines, held)
}

/// The ground that a fence must leave free for a trunk outside it.
fn trunk(tree: &Staying) -> MultiPolygon<f64> {
    MultiPolygon(vec![disc_of_sides(tree.place, tree.trunk_m * ROUND_TRUNK, LEAST_SIDE_M)])
}

fn measured_all(
    way: &InTheWay<'_>,
    lines: Vec<Polygon<f64>>,
    open: &[(&Staying, MultiPolygon<f64>)],
    held: &[Option<usize>],
) -> Vec<Fence> {
    let mut within: Vec<Vec<&Staying>> = vec![Vec::new(); lines.len()];
    for ((tree, _), holder) in open.iter().zip(held) {
        within[holder.expect("every open tree is held")].push(tree);
    }
    let with_trees = lines.into_iter().zip(within).filter(|(_, trees)| !trees.is_empty());
    let mut fences: Vec<Fence> = with_trees.map(|(line, trees)| measured(line, &trees, way.built)).collect();
    fences.sort_by_key(|fence| fence.trees[0]);
    fences
}

/// The part of a tree's disc that is free and holds the trunk, or why there is none.
fn open_part(way: &InTheWay<'_>, tree: &Staying) -> Result<Polygon<f64>, String> {
    let origin = tree.place;
    let trees = [tree];
    let mut free = Local::union_of(origin, &tree.fence_ground());
    if let Some(site) = way.site {
        free = free.within(&Local::union_of(origin, near(site, &trees, 0.0)));
        if part_with_trunk(&free, tree).is_none() {
            return Err("the trunk stands off the site".to_string());
        }
    }
    free = free.without(&Local::union_of(origin, near(way.cleared, &trees, 0.0)));
    if part_with_trunk(&free, tree).is_none() {
        let distance_m = prepared(way.works, tree).distance_m(tree.place, tree.fence_m + way.clearance_m + 1.0);
        let distance_m = distance_m.unwrap_or(0.0);
        let clearance_m = way.clearance_m;
        return Err(match distance_m > 0.0 {
            true => {
                format!("the trunk centre is {distance_m:.3} m from a work, within the clearance of {clearance_m} m")
            }
            false => "the trunk stands within a work".to_string(),
        });
    }
    free = free.without(&Local::union_of(origin, near(way.buildings, &trees, 0.0)));
    part_with_trunk(&free, tree).ok_or_else(|| "the trunk stands within an existing building".to_string())
}

fn prepared(pieces: &Pieces, tree: &Staying) -> PreparedArea {
    let near = pieces.near(tree.window(2.0));
    PreparedArea::new(&MultiPolygon(near.into_iter().cloned().collect()))
}

fn part_with_trunk(free: &Local, tree: &Staying) -> Option<Polygon<f64>> {
    free.placed().0.into_iter().find(|part| part.contains(&tree.place))
}

/// The lines that can be built on one connected ground.
///
/// Where corners cannot be brought far enough apart, or necks are left however often they are cut, more of what is narrow is given up and the
/// line is tried again. What still cannot be built may hold trees: they are told with the reason.
fn lines(way: &InTheWay<'_>, ground: &Polygon<f64>) -> Vec<Polygon<f64>> {
    let mut done = Vec::new();
    let mut open = vec![(ground.clone(), 0)];
    while let Some((ground, tries)) = open.pop() {
        let Some(share) = SHARES.get(tries / CUTS_PER_SHARE) else { continue };
        for part in without_narrow_parts(&ground, way.narrowest_m * share).0 {
            let Some(line) = buildable(&part).filter(|line| line.is_valid()) else {
                open.push((part, (tries / CUTS_PER_SHARE + 1) * CUTS_PER_SHARE));
                continue;
            };
            match without_necks(&line, way.narrowest_m) {
                Some(grounds) => open.extend(grounds.into_iter().map(|ground| (ground, tries + 1))),
                None => done.push(line),
            }
        }
    }
    done
}

/// Lines under a hierarchy of boxes: which of them holds a whole trunk.
struct Holders {
    lines: Vec<PreparedArea>,
    order: Vec<(f64, f64, usize)>,
    widest_m: f64,
}

impl Holders {
    fn new(lines: &[Polygon<f64>]) -> Holders {
        let lines: Vec<PreparedArea> =
            lines.iter().map(|line| PreparedArea::new(&MultiPolygon(vec![line.clone()]))).collect();
        let bounds = lines.iter().enumerate().filter_map(|(at, line)| line.bounds().map(|bounds| (bounds, at)));
        let mut order: Vec<(f64, f64, usize)> =
            bounds.map(|(bounds, at)| (bounds.min().x, bounds.max().x, at)).collect();
        order.sort_by(|a, b| a.0.total_cmp(&b.0).then(a.2.cmp(&b.2)));
        let widest_m = order.iter().map(|(from, to, _)| to - from).fold(0.0, f64::max);
        Holders { lines, order, widest_m }
    }

    /// For each tree the first line that holds the whole of its trunk.
    fn holders(&self, trees: &[&Staying]) -> Vec<Option<usize>> {
        trees.iter().map(|tree| self.holder(tree)).collect()
    }

    fn holder(&self, tree: &Staying) -> Option<usize> {
        let x = tree.place.x;
        let from = self.order.partition_point(|(left, _, _)| *left < x - self.widest_m);
        let near = self.order[from..].iter().take_while(|(left, _, _)| *left <= x).filter(|(_, right, _)| *right >= x);
        let holds = |line: &PreparedArea| {
            line.contains(tree.place)
                && line.boundary_distance_m(tree.place, tree.trunk_m.max(1e-3)).is_none_or(|d| d >= tree.trunk_m)
        };
        near.map(|(_, _, at)| *at).filter(|&at| holds(&self.lines[at])).min()
    }
}

fn too_narrow(way: &InTheWay<'_>) -> String {
    format!("the room between the trunk and the works is narrower than {} m, or than the trunk", way.narrowest_m)
}

fn told(way: &InTheWay<'_>, tree: &Staying, reason: String) -> Unfenced {
    let advice = if reason.contains("off the site") {
        "agree with its owner where a fence can stand; on the site keep works, traffic and storage off its root zone"
            .to_string()
    } else {
        format!(
            "move the work, or guard the trunk with padded boards at least {} high, held by straps and never nailed, and cover the root zone; a qualified arborist decides whether the tree can stay",
            way.guard
        )
    };
    Unfenced { tree: tree.tree, reason, advice }
}
