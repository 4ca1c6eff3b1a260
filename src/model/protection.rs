//! What has to stand, lie and happen under one permit so that the trees that stay come through.

use super::service::ServiceLine;
use super::traffic::Traffic;
use super::upkeep::Upkeep;
use geo::{MultiPolygon, Polygon};

/// All of it for one permit.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Protection {
    /// What becomes of every tree with a row under the permit, in the order of rows.
    pub trees: Vec<TreeFate>,
    /// Fences, ordered by the first tree within.
    pub fences: Vec<Fence>,
    /// Ground cover, ordered by place, traffic and what lies lowest.
    pub covers: Vec<Cover>,
    /// Service lines that cross root zones of trees that stay, in the order of works.
    pub services: Vec<ServiceLine>,
    /// Trees that stay and around which no fence can stand, in the order of rows.
    pub unfenced: Vec<Unfenced>,
    /// Ground of root zones and fences by what is done there: adds up to their union.
    pub balance: GroundBalance,
    /// Water, calendar and quantities.
    pub upkeep: Upkeep,
}

/// A tree that stays without a fence.
#[derive(Debug, Clone, PartialEq)]
pub struct Unfenced {
    /// Index into `Results::trees`.
    pub tree: u32,
    /// Why.
    pub reason: String,
    /// What to do instead.
    pub advice: String,
}

/// Ground of the root zones and fences of one permit, square metres; every place counts once.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct GroundBalance {
    /// Union of the root zones of trees that stay and of the fences.
    pub all_m2: f64,
    /// Covered inside the fences.
    pub inside_m2: f64,
    /// Covered outside the fences.
    pub outside_m2: f64,
    /// Covered under access, storage and the like.
    pub routes_m2: f64,
    /// Under works outside the fences.
    pub works_m2: f64,
    /// Existing pavement and buildings, inside the fences and outside.
    pub surfaced_m2: f64,
    /// Beyond the site, where it is given.
    pub off_site_m2: f64,
    /// Trunks and the ground kept free around them.
    pub trunks_m2: f64,
}

impl GroundBalance {
    /// The parts added up.
    pub fn parts_m2(&self) -> f64 {
        let covered_m2 = self.inside_m2 + self.outside_m2 + self.routes_m2;
        covered_m2 + self.works_m2 + self.surfaced_m2 + self.off_site_m2 + self.trunks_m2
    }
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
    /// Trees to which the fence comes nearer than the ring that is reserved (indices into `Results::trees`), ascending.
    pub inside_ring: Vec<u32>,
    /// Height of the specification, metres.
    pub height_m: f64,
    /// Where height and distance of posts come from, with the status of the sources.
    pub origins: [String; 2],
}

/// Where a cover lies.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum CoverPlace {
    /// Inside the fence.
    Inside,
    /// On root zone outside the fence that is not built on.
    Outside,
    /// On root zone under access, storage and other ground that only bears traffic for the time of the job.
    Routes,
}

impl CoverPlace {
    /// The word in columns.
    pub fn word(self) -> &'static str {
        match self {
            CoverPlace::Inside => "inside fence",
            CoverPlace::Outside => "outside fence",
            CoverPlace::Routes => "access and storage",
        }
    }
}

/// One material on one stretch of ground; zones that overlap count once.
#[derive(Debug, Clone, PartialEq)]
pub struct Cover {
    /// Where.
    pub place: CoverPlace,
    /// `compost`, `mulch`, `geotextile`, `chips`, `boards`, `mats`.
    pub material: &'static str,
    /// The ground, in the measuring CRS.
    pub shape: MultiPolygon<f64>,
    /// Area, square metres.
    pub area_m2: f64,
    /// Least and greatest depth, metres; `None` for sheets, boards and mats.
    pub depth_m: Option<(f64, f64)>,
    /// Whether an engineer has to say what is needed; the depth is then no more than a beginning.
    pub to_be_engineered: bool,
    /// The traffic that it is made for; `None` inside the fence, where there is none.
    pub traffic: Option<Traffic>,
    /// Where material and depth come from, with the status of the source.
    pub clause: String,
}
