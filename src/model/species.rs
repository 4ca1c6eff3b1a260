//! What is known of the species of a tree: a name matched to the botanical table, and how surely.
//!
//! Plain data. The table and the matching are in `normalise`; rule sets read this and never the text of the inventory.

use super::code::Code;

/// Leaves or needles.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Default, serde::Serialize, serde::Deserialize)]
pub enum Group {
    /// Flowering trees but palms.
    Broadleaf,
    /// Cone-bearing trees, with ginkgo, yews and tree-like kin.
    Conifer,
    /// Palms and palm-like trees without a thickening trunk.
    Palm,
    /// Not known.
    #[default]
    Unknown,
}

impl Group {
    /// The word in rule files and columns.
    pub fn word(self) -> &'static str {
        match self {
            Group::Broadleaf => "broadleaf",
            Group::Conifer => "conifer",
            Group::Palm => "palm",
            Group::Unknown => "unknown",
        }
    }
}

/// Whether the leaves stay over the winter.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Default, serde::Serialize, serde::Deserialize)]
pub enum LeafHabit {
    /// Sheds its leaves once a year.
    Deciduous,
    /// Keeps leaves all year.
    Evergreen,
    /// Not known, or both within what the name covers.
    #[default]
    Unknown,
}

impl LeafHabit {
    /// The word in rule files and columns.
    pub fn word(self) -> &'static str {
        match self {
            LeafHabit::Deciduous => "deciduous",
            LeafHabit::Evergreen => "evergreen",
            LeafHabit::Unknown => "unknown",
        }
    }
}

/// How well a species bears the loss of roots and other harm of construction, as a stated source has it.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, serde::Serialize, serde::Deserialize)]
pub enum Tolerance {
    /// Bears it well.
    Good,
    /// In between.
    Moderate,
    /// Is sensitive.
    Poor,
}

impl Tolerance {
    /// The word in rule files and columns.
    pub fn word(self) -> &'static str {
        match self {
            Tolerance::Good => "good",
            Tolerance::Moderate => "moderate",
            Tolerance::Poor => "poor",
        }
    }
}

/// How a name was matched, the surest first.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Default, serde::Serialize, serde::Deserialize)]
pub enum Certainty {
    /// The accepted scientific name.
    Exact,
    /// Another scientific name of the same species.
    Synonym,
    /// A common name that means one species.
    CommonName,
    /// The species is certain; the cultivar, variety or subspecies behind it was passed over.
    Cultivar,
    /// One letter of a word of at least six was wrong.
    Spelling,
    /// The genus only.
    Genus,
    /// Not in the table.
    #[default]
    Unmatched,
}

impl Certainty {
    /// The word in columns.
    pub fn word(self) -> &'static str {
        match self {
            Certainty::Exact => "exact",
            Certainty::Synonym => "synonym",
            Certainty::CommonName => "common name",
            Certainty::Cultivar => "cultivar",
            Certainty::Spelling => "spelling",
            Certainty::Genus => "genus",
            Certainty::Unmatched => "unmatched",
        }
    }
}

/// What the botanical table knows of a tree's name. All names are those of the table, so that a copy costs nothing.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Default, serde::Serialize, serde::Deserialize)]
pub struct Botanical {
    /// `Quercus robur`; `Quercus` where only the genus is known; empty where nothing is.
    #[serde(with = "super::code")]
    pub accepted: Code,
    /// `Quercus`; empty where not known.
    #[serde(with = "super::code")]
    pub genus: Code,
    /// Broadleaf, conifer or palm.
    pub group: Group,
    /// Deciduous or evergreen.
    pub habit: LeafHabit,
    /// Tolerance of root loss, only where a stated source has it.
    pub tolerance: Option<Tolerance>,
    /// A narrow upright form: a species or a cultivar that grows so.
    pub columnar: bool,
    /// How the name was matched.
    pub certainty: Certainty,
}

impl Botanical {
    /// Whether the species is known and not only its genus.
    pub fn is_species(&self) -> bool {
        self.certainty < Certainty::Genus
    }
}
