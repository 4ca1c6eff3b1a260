//! One tree of an inventory, normalised: metres, measuring CRS.

use super::code::Code;
use super::source::SourceRef;
use super::species::Botanical;
use super::text::Text;
use geo::Coord;

/// What the inventory says of the trunk, in metres of diameter.
#[derive(Debug, Clone, PartialEq, serde::Serialize, serde::Deserialize)]
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
    Unknown(#[serde(with = "super::code")] Code),
}

/// What the application does with the tree.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, serde::Serialize, serde::Deserialize)]
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

/// How far a tree is in its life, as the inventory says.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, serde::Serialize, serde::Deserialize)]
pub enum LifeStage {
    /// Newly planted to semi-mature.
    Young,
    /// Early mature and mature.
    Mature,
    /// Past its prime: over-mature, veteran, ancient.
    Overmature,
}

impl LifeStage {
    /// The word in rule files and columns.
    pub fn word(self) -> &'static str {
        match self {
            LifeStage::Young => "young",
            LifeStage::Mature => "mature",
            LifeStage::Overmature => "overmature",
        }
    }
}

/// Whose ground a tree stands on, as the words of the owner column say.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, serde::Serialize, serde::Deserialize)]
pub enum TreeGround {
    /// A street, park or other public ground.
    Public,
    /// Private ground, that of the application among it.
    Private,
    /// The ground of a neighbour of the application.
    Neighbour,
    /// On the line between two owners.
    Boundary,
}

impl TreeGround {
    /// The word in rule files and columns.
    pub fn word(self) -> &'static str {
        match self {
            TreeGround::Public => "public",
            TreeGround::Private => "private",
            TreeGround::Neighbour => "neighbour",
            TreeGround::Boundary => "boundary",
        }
    }
}

/// One tree that has a place.
#[derive(Debug, Clone, PartialEq, serde::Serialize, serde::Deserialize)]
pub struct Tree {
    /// Its id as written; `file:row` where it has none.
    pub id: Text,
    /// Where it came from.
    pub source: SourceRef,
    /// Trunk centre in the measuring CRS, metres.
    pub place: Coord<f64>,
    /// Species as written; empty where not given.
    pub species: Text,
    /// What the botanical table knows of that name.
    pub botanical: Botanical,
    /// Trunk.
    pub stems: Stems,
    /// Half of the rounding step of the diameter column, metres (0 where unknown): feeds `borderline` only.
    pub rounding_m: f64,
    /// Trunk diameter above the root crown, metres, where given.
    pub root_crown_diameter_m: Option<f64>,
    /// Diameter of the trunk where it is narrowest below the fork, metres, where given.
    pub narrowest_diameter_m: Option<f64>,
    /// Crown radius (half the spread, or the longest of n/e/s/w), metres, where given.
    pub crown_radius_m: Option<f64>,
    /// Tree height, metres, where given.
    pub height_m: Option<f64>,
    /// Age in years, where given; a planting year is no age.
    pub age_years: Option<f64>,
    /// How far it is in its life, where given.
    pub life_stage: Option<LifeStage>,
    /// Condition as written; empty where not given.
    pub condition: Text,
    /// Owner as written; empty where not given.
    pub owner: Text,
    /// Whose ground it stands on, where the owner's words say so.
    pub ground: Option<TreeGround>,
    /// What happens to it, where given.
    pub disposition: Option<Disposition>,
    /// Listed by the city whatever its size.
    pub designated: bool,
    /// Stated error of the place from an accuracy column, metres; else the run's setting applies.
    pub position_error_m: Option<f64>,
}

impl Tree {
    /// A tree of which only the place is known: no species, no diameter, nothing stated.
    pub fn only_placed(id: impl Into<Text>, source: SourceRef, place: Coord<f64>) -> Tree {
        Tree {
            id: id.into(),
            source,
            place,
            species: Text::default(),
            botanical: Botanical::default(),
            stems: Stems::Unknown("diameter-missing"),
            rounding_m: 0.0,
            root_crown_diameter_m: None,
            narrowest_diameter_m: None,
            crown_radius_m: None,
            height_m: None,
            age_years: None,
            life_stage: None,
            condition: Text::default(),
            owner: Text::default(),
            ground: None,
            disposition: None,
            designated: false,
            position_error_m: None,
        }
    }

    /// How far the place can be off, metres: as its own record states, else `otherwise_m`, the run's setting.
    pub fn place_error_m(&self, otherwise_m: f64) -> f64 {
        self.position_error_m.unwrap_or(otherwise_m)
    }
}
