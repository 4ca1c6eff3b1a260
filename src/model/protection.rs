//! What has to stand, lie and happen under one permit so that the trees that stay come through.

use super::upkeep::Upkeep;
use geo::{MultiPolygon, Polygon};

/// All of it for one permit.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Protection {
    /// What becomes of every tree with a row under the permit, in the order of rows.
    pub trees: Vec<TreeFate>,
    /// Fences, ordered by the first tree within.
    pub fences: Vec<Fence>,
    /// Ground cover, ordered by place and material.
    pub covers: Vec<Cover>,
    /// Water, calendar and quantities.
    pub upkeep: Upkeep,
}

/// What becomes of a tree.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct TreeFate {
    /// Index into `Results::rows`.
    pub row: usize,
    /// Index into `Results::trees`.
    pub tree: u32,
    /// Empty where it stays; else why it goes: `disposition remove`, `disposition relocate`, `trunk in work`.
    pub goes_because: &'static str,
}

impl TreeFate {
    /// Whether it stays.
    pub fn stays(&self) -> bool {
        self.goes_because.is_empty()
    }
}

/// One closed fence around a tree or a group.
#[derive(Debug, Clone, PartialEq)]
pub struct Fence {
    /// Trees within (indices into `Results::trees`), ascending.
    pub trees: Vec<u32>,
    /// The line, closed, counter-clockwise, in the measuring CRS; holes where a work stands in the middle.
    pub shape: Polygon<f64>,
    /// Length of the line and of its holes, metres.
    pub length_m: f64,
    /// Area enclosed, square metres.
    pub area_m2: f64,
    /// Name of the specification.
    pub specification: String,
    /// Posts, at the spacing of the specification.
    pub posts: u32,
    /// Panels: the stretches between posts.
    pub panels: u32,
    /// Signs, at the spacing of the specification; at least one.
    pub signs: u32,
    /// Gates.
    pub gates: u32,
    /// Least distance from a trunk centre within to the fence, metres.
    pub trunk_distance_m: f64,
    /// The tree of that distance (index into `Results::trees`).
    pub nearest_tree: u32,
    /// Warning codes, see `model::warning`.
    pub warnings: Vec<&'static str>,
}

/// Where a cover lies.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum CoverPlace {
    /// Inside the fence.
    Inside,
    /// On root zone outside the fence that is not built on.
    Outside,
}

impl CoverPlace {
    /// The word in columns.
    pub fn word(self) -> &'static str {
        match self {
            CoverPlace::Inside => "inside fence",
            CoverPlace::Outside => "outside fence",
        }
    }
}

/// One material on one stretch of ground; zones that overlap count once.
#[derive(Debug, Clone, PartialEq)]
pub struct Cover {
    /// Where.
    pub place: CoverPlace,
    /// `mulch`, `compost`, `chips`, `geotextile`, `boards`, `mats`.
    pub material: &'static str,
    /// The ground, in the measuring CRS.
    pub shape: MultiPolygon<f64>,
    /// Area, square metres.
    pub area_m2: f64,
    /// Least and greatest depth, metres; `None` for sheets, boards and mats.
    pub depth_m: Option<(f64, f64)>,
    /// Whether an engineer has to say what is needed; the depth is then no more than a beginning.
    pub to_be_engineered: bool,
}
