//! A line that can be built -> its length, posts, signs, and how near it comes to the trunks.

use super::fence_line::LEAST_SIDE_M;
use super::fence_posts::{Side, posts};
use super::staying::Staying;
use super::values::FenceValues;
use crate::geometry::PreparedArea;
use crate::geometry::corners::sides_of_disc;
use crate::model::protection::Fence;
use geo::{Area, Coord, LineString, MultiPolygon, Polygon};
use std::collections::HashMap;
use std::f64::consts::PI;

/// A side that lies this near a side of a tree's disc is part of it, metres.
const SAME_SIDE_M: f64 = 1e-3;

/// Measures a line around trees, of which there is at least one.
pub(super) fn measured(line: Polygon<f64>, trees: &[&Staying], built: &FenceValues) -> Fence {
    let discs = Discs::new(trees);
    let rings = std::iter::once(line.exterior()).chain(line.interiors());
    let rings: Vec<Vec<Side>> = rings.map(|ring| discs.sides(ring)).collect();
    let posts: u32 = rings.iter().map(|sides| posts(sides, built.post_spacing.is.metres)).sum();
    let length_m: f64 = rings.iter().flatten().map(|side| side.length_m).sum();
    let area = PreparedArea::new(&MultiPolygon(vec![line.clone()]));
    let distances_m: Vec<f64> = trees.iter().map(|tree| distance_m(&area, tree)).collect();
    let (nearest, trunk_distance_m) = distances_m
        .iter()
        .enumerate()
        .min_by(|a, b| a.1.total_cmp(b.1).then(trees[a.0].tree.cmp(&trees[b.0].tree)))
        .map_or((0, 0.0), |(at, &distance_m)| (at, distance_m));
    // As printed: to the millimetre.
    let is_inside = |(tree, distance_m): &(&&Staying, &f64)| **distance_m < tree.reserved_m - 5e-4;
    let mut inside_ring: Vec<u32> =
        trees.iter().zip(&distances_m).filter(is_inside).map(|(tree, _)| tree.tree).collect();
    inside_ring.sort_unstable();
    let mut warnings = Vec::new();
    if trees.iter().any(|tree| tree.without_drip_line) {
        warnings.push("fence_without_drip_line");
    }
    if !inside_ring.is_empty() {
        warnings.push("fence_within_reserved_ring");
    }
    let mut numbers: Vec<u32> = trees.iter().map(|tree| tree.tree).collect();
    numbers.sort_unstable();
    Fence {
        trees: numbers,
        area_m2: line.unsigned_area(),
        shape: line,
        length_m,
        specification: built.name.clone(),
        posts,
        panels: posts,
        signs: stretches(length_m, built.sign_spacing.is.metres).max(1),
        gates: built.gates.is,
        trunk_distance_m,
        nearest_tree: trees[nearest].tree,
        warnings,
        inside_ring,
        height_m: built.height.is.metres,
        origins: built.origins.clone(),
    }
}

/// How many stretches of at most a spacing make up a closed line.
pub(super) fn stretches(length_m: f64, spacing_m: f64) -> u32 {
    (length_m / spacing_m - 1e-9).ceil().clamp(0.0, f64::from(u32::MAX)) as u32
}

/// From the trunk centre to the line; on its own disc the radius of the disc.
fn distance_m(area: &PreparedArea, tree: &Staying) -> f64 {
    let middle_of_side_m = Disc::of(tree).apothem_m;
    match area.boundary_distance_m(tree.place, f64::INFINITY) {
        Some(distance_m) if distance_m < middle_of_side_m - SAME_SIDE_M => distance_m,
        Some(distance_m) => distance_m.max(tree.fence_m),
        None => tree.fence_m,
    }
}

/// The many-sided disc of a tree.
struct Disc {
    place: Coord<f64>,
    apothem_m: f64,
    step: f64,
    /// Length of the true arc over that of its side.
    arc_per_side: f64,
}

impl Disc {
    fn of(tree: &Staying) -> Disc {
        let step = 2.0 * PI / f64::from(sides_of_disc(tree.fence_m, LEAST_SIDE_M));
        let reach_m = tree.fence_m * (step / step.sin()).sqrt();
        Disc {
            place: tree.place,
            apothem_m: reach_m * (step / 2.0).cos(),
            step,
            arc_per_side: tree.fence_m * step / (2.0 * reach_m * (step / 2.0).sin()),
        }
    }

    /// Whether a side of a line runs along a side of the disc.
    fn carries(&self, from: Coord<f64>, to: Coord<f64>) -> bool {
        let middle = (from + to) / 2.0 - self.place;
        let side = (middle.y.atan2(middle.x).rem_euclid(2.0 * PI) / self.step).floor();
        let (sine, cosine) = ((side + 0.5) * self.step).sin_cos();
        let off =
            |at: Coord<f64>| ((at.x - self.place.x) * cosine + (at.y - self.place.y) * sine - self.apothem_m).abs();
        off(from) < SAME_SIDE_M && off(to) < SAME_SIDE_M
    }
}

/// The discs of a group by the cell of a grid in which their centre lies.
struct Discs {
    cell_m: f64,
    cells: HashMap<(i64, i64), Vec<Disc>>,
}

impl Discs {
    fn new(trees: &[&Staying]) -> Discs {
        let cell_m = trees.iter().map(|tree| tree.fence_m).fold(1.0, f64::max) * 1.2;
        let mut discs = Discs { cell_m, cells: HashMap::new() };
        for tree in trees {
            let cell = discs.cell(tree.place);
            discs.cells.entry(cell).or_default().push(Disc::of(tree));
        }
        discs
    }

    fn cell(&self, at: Coord<f64>) -> (i64, i64) {
        ((at.x / self.cell_m).floor() as i64, (at.y / self.cell_m).floor() as i64)
    }

    /// The sides of a ring; those along a disc count as its true arc.
    fn sides(&self, ring: &LineString<f64>) -> Vec<Side> {
        ring.lines()
            .map(|side| {
                let length_m = side.dx().hypot(side.dy());
                let length_m = length_m * self.arc_per_side(side.start, side.end).unwrap_or(1.0);
                Side { from: side.start, length_m }
            })
            .collect()
    }

    fn arc_per_side(&self, from: Coord<f64>, to: Coord<f64>) -> Option<f64> {
        let (column, row) = self.cell((from + to) / 2.0);
        let around = (-1..=1).flat_map(|x| (-1..=1).map(move |y| (column + x, row + y)));
        around
            .filter_map(|cell| self.cells.get(&cell))
            .flatten()
            .find(|disc| disc.carries(from, to))
            .map(|disc| disc.arc_per_side)
    }
}
