//! What a rule set asks for a tree that goes, `[[replacement]]`: trees to plant, diameter to plant, or money.
//!
//! The rules as data; how they are applied stands in `owed`.

use super::money::{Amount, FeePerLength, Percent};
use super::provenance::{Provenance, Sourced};
use super::quantity::Length;
use super::who::Who;
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// Which trees are replaced, by their standing under the set.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum Listed {
    /// Those that the set protects; heritage ones too where it names no protected class.
    Protected,
    /// Heritage-size and designated ones.
    Heritage,
    /// Either.
    #[default]
    ProtectedOrHeritage,
    /// Every tree, protected or not.
    Any,
}

impl Listed {
    /// Whether all trees of `other` are among these.
    pub(super) fn covers(self, other: Listed) -> bool {
        self == Listed::Any || self == other || (self == Listed::ProtectedOrHeritage && other != Listed::Any)
    }

    /// As a person would say it.
    pub fn words(self) -> &'static str {
        match self {
            Listed::Protected => "protected trees",
            Listed::Heritage => "heritage-size trees",
            Listed::ProtectedOrHeritage => "protected and heritage-size trees",
            Listed::Any => "every tree",
        }
    }
}

/// How a fee stands to planting.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "lowercase")]
pub enum FeeIs {
    /// It may be paid instead.
    #[default]
    Instead,
    /// It is due as well.
    Besides,
}

impl FeeIs {
    /// The word in rule files and columns.
    pub fn word(self) -> &'static str {
        match self {
            FeeIs::Instead => "instead",
            FeeIs::Besides => "besides",
        }
    }

    /// Joins planting and fee.
    pub(super) fn joint(self) -> &'static str {
        match self {
            FeeIs::Instead => "or",
            FeeIs::Besides => "and",
        }
    }
}

/// One row of a table by class of diameter.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct ReplacementRow {
    /// Diameters below this; left out in the last row where the table has no end.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub below: Option<Length>,
    /// The upper end as the table prints it, where that leaves a gap before `below`.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub printed_to: Option<Length>,
    /// Trees to plant; may be 0.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub trees: Option<u32>,
    /// Or so many of the other size, `or_each_at_least`; may be 0.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub or_trees: Option<u32>,
    /// Share of the diameter to plant.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub share_of_diameter: Option<Percent>,
    /// Money.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub fee: Option<Amount>,
    /// Where it comes from; as the whole table where left out.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub from: Option<Provenance>,
}

impl ReplacementRow {
    /// Whether it says what to plant.
    pub fn plants(&self) -> bool {
        self.trees.is_some() || self.share_of_diameter.is_some()
    }
}

/// The most that is asked.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Most {
    /// Trees.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub trees: Option<u32>,
    /// Money.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub money: Option<Amount>,
}

impl Most {
    /// As a person would say it.
    pub fn words(&self) -> String {
        let trees = self.trees.map(trees_text);
        trees.into_iter().chain(self.money.iter().map(|money| money.written.clone())).collect::<Vec<_>>().join(" and ")
    }
}

/// `1 tree`, `3 trees`.
pub(super) fn trees_text(trees: u32) -> String {
    format!("{trees} {}", if trees == 1 { "tree" } else { "trees" })
}

/// How the replacement is counted.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum ReplacementWay {
    /// So many trees for each.
    Trees(u32),
    /// Diameter to plant as a share of the diameter that goes.
    ShareOfDiameter(Percent),
    /// By class of diameter.
    Classes(Vec<ReplacementRow>),
    /// Money by length.
    FeePerLength(FeePerLength),
    /// Money for each tree.
    FeePerTree(Amount),
}

/// One rule, checked.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct ReplacementRule {
    /// Which trees, by their standing.
    pub of: Listed,
    /// Which of those.
    #[serde(skip_serializing_if = "Who::everyone")]
    pub who: Who,
    /// How it is counted.
    pub way: ReplacementWay,
    /// The table is one of the diameters of all removed trees of a permit added up.
    pub of_total: bool,
    /// How a fee stands to planting.
    pub fee_is: FeeIs,
    /// The least size of each tree planted.
    pub each_at_least: Option<Sourced<Length>>,
    /// The least size of each of `or_trees`.
    pub or_each_at_least: Option<Sourced<Length>>,
    /// The most for one tree.
    pub at_most: Option<Sourced<Most>>,
    /// The most for one permit.
    pub at_most_per_permit: Option<Sourced<Most>>,
    /// The clause in words, without its source.
    pub text: String,
    /// Where it comes from.
    pub from: Provenance,
    /// The text, the source and the status.
    pub clause: String,
    /// The same for rows of the table with a source of their own.
    #[serde(skip)]
    pub row_clauses: Vec<Option<String>>,
}

impl ReplacementRule {
    /// Whether it says what to plant.
    pub fn plants(&self) -> bool {
        match &self.way {
            ReplacementWay::Trees(_) | ReplacementWay::ShareOfDiameter(_) => true,
            ReplacementWay::Classes(rows) => rows.iter().any(ReplacementRow::plants),
            ReplacementWay::FeePerLength(_) | ReplacementWay::FeePerTree(_) => false,
        }
    }

    /// Whether it says what to pay.
    pub fn pays(&self) -> bool {
        match &self.way {
            ReplacementWay::Trees(_) | ReplacementWay::ShareOfDiameter(_) => false,
            ReplacementWay::Classes(rows) => rows.iter().any(|row| row.fee.is_some()),
            ReplacementWay::FeePerLength(_) | ReplacementWay::FeePerTree(_) => true,
        }
    }
}
