//! One tree of an inventory, normalised: metres, measuring CRS.

use super::source::SourceRef;
use geo::Coord;

/// What the inventory says of the trunk, in metres of diameter.
#[derive(Debug, Clone, PartialEq)]
pub enum Stems {
    /// One or more stems, largest first; never empty, each > 0.
    Measured(Vec<f64>),
    /// A class with both ends, low < high; judged at both.
    Range {
        /// Lower end.
        low_m: f64,
        /// Upper end.
        high_m: f64,
    },
    /// A class with no upper end; judged at its lower bound.
    AtLeast {
        /// Lower end.
        low_m: f64,
    },
    /// No usable diameter; the code of the issue that says why (`diameter-missing` ...).
    Unknown(&'static str),
}

/// What the application does with the tree.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Disposition {
    /// Stays.
    Retain,
    /// Is felled.
    Remove,
    /// Is moved.
    Relocate,
    /// Stands on other ground.
    OffSite,
}

impl Disposition {
    /// The word in files and columns.
    pub fn word(self) -> &'static str {
        match self {
            Disposition::Retain => "retain",
            Disposition::Remove => "remove",
            Disposition::Relocate => "relocate",
            Disposition::OffSite => "off site",
        }
    }
}

/// One tree that has a place.
#[derive(Debug, Clone, PartialEq)]
pub struct Tree {
    /// Its id as written; `file:row` where it has none.
    pub id: String,
    /// Where it came from.
    pub source: SourceRef,
    /// Trunk centre in the measuring CRS, metres.
    pub place: Coord<f64>,
    /// Species as written; empty where not given.
    pub species: String,
    /// Trunk.
    pub stems: Stems,
    /// Half of the rounding step of the diameter column, metres (0 where unknown): feeds `borderline` only.
    pub rounding_m: f64,
    /// Trunk diameter above the root crown, metres, where given.
    pub root_crown_diameter_m: Option<f64>,
    /// Crown radius (half the spread, or the longest of n/e/s/w), metres, where given.
    pub crown_radius_m: Option<f64>,
    /// Tree height, metres, where given.
    pub height_m: Option<f64>,
    /// Condition as written; empty where not given.
    pub condition: String,
    /// Owner as written; empty where not given.
    pub owner: String,
    /// What happens to it, where given.
    pub disposition: Option<Disposition>,
    /// Listed by the city whatever its size.
    pub designated: bool,
    /// Stated error of the place from an accuracy column, metres; else the run's setting applies.
    pub position_error_m: Option<f64>,
}

impl Tree {
    /// How far the place can be off, metres: as its own record states, else `otherwise_m`, the run's setting.
    pub fn place_error_m(&self, otherwise_m: f64) -> f64 {
        self.position_error_m.unwrap_or(otherwise_m)
    }
}
