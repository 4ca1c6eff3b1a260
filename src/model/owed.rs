//! What a felled tree leaves to be replaced under a rule set: trees, length of trunk and money, and how each was worked out.

use super::code::Code;
use super::results::RowDiameter;

/// An amount in a currency.
#[derive(Debug, Clone, PartialEq, serde::Serialize, serde::Deserialize)]
pub struct Money {
    /// The amount, 0 or more.
    pub amount: f64,
    /// Three capital letters.
    pub currency: String,
}

/// What would be owed for one tree if it went.
#[derive(Debug, Clone, PartialEq, Default, serde::Serialize, serde::Deserialize)]
pub struct Owed {
    /// Trees to plant; `None` where the rule counts none for this tree alone.
    pub trees: Option<u32>,
    /// Trunk diameter to plant in all, metres.
    pub length_m: Option<f64>,
    /// Money to pay.
    pub money: Option<Money>,
    /// `instead` of planting, or `besides`; empty where it is one of them only.
    #[serde(with = "super::code")]
    pub money_is: Code,
    /// The least size of each tree planted, as the rule writes it; empty where it says none.
    pub each_at_least: String,
    /// How it was worked out, for people.
    pub arithmetic: String,
    /// The clause with its source and status.
    pub clause: String,
    /// Whether part of it cannot be said: no diameter, or a tree beyond the end of a table.
    pub unknown: bool,
    /// Diameter that counts towards the total of the permit, metres: by rules whose table is one of totals.
    pub towards_total_m: f64,
    /// Index of the rule that says what to plant.
    pub planting_rule: Option<usize>,
    /// Index of the rule that says what to pay.
    pub fee_rule: Option<usize>,
}

/// What one row says of replacement.
#[derive(Debug, Clone, PartialEq, serde::Serialize, serde::Deserialize)]
pub struct Replacement {
    /// `disposition remove` or `trunk in work`; empty where the tree stays or is moved.
    #[serde(with = "super::code")]
    pub removed_because: Code,
    /// What is owed if it goes; `None` where no rule of the set is for it.
    pub owed: Option<Owed>,
}

/// What is owed now for the removed trees of one permit.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct PermitOwed {
    /// Removed trees for which a rule asks something, or may.
    pub removed: u32,
    /// Those of them of which part cannot be said: the sums are then too small.
    pub unknown: u32,
    /// Trees to plant.
    pub trees: Option<u32>,
    /// Trunk diameter to plant, metres.
    pub length_m: Option<f64>,
    /// Money to pay.
    pub money: Option<Money>,
    /// `instead` of planting, `besides`, or both in turn for different trees; empty where the trees owe one of them only.
    pub money_is: String,
    /// How the sums came about where they are not plain sums of the rows: totals looked up, caps.
    pub arithmetic: String,
}

impl RowDiameter {
    /// The diameter that replacement is counted from, metres: the upper end of a class, the lower bound of an open one.
    pub fn replaced_m(&self) -> Option<f64> {
        match *self {
            RowDiameter::Known(diameter_m) | RowDiameter::AtLeast(diameter_m) => Some(diameter_m),
            RowDiameter::Range { high_m, .. } => Some(high_m),
            RowDiameter::Unknown(_) => None,
        }
    }
}
