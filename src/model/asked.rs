//! What an answer to a row has to bring within the rules.

use super::finding::Finding;

/// For one row that exceeds more than the limit that decided on it, or limits together with other permits.
#[derive(Debug, Clone, PartialEq)]
pub struct Asked {
    /// Index of the permit.
    pub permit: u32,
    /// Number of the tree, as in its rows.
    pub tree: u32,
    /// The limits that the permit exceeds alone: those with the verdict of its row, where the trunk is in a work those that are `major`; in
    /// the order of the rule set, without warnings.
    pub alone: Vec<Finding>,
    /// Where the finding of several permits together is worse than that of the permit alone.
    pub together: Option<AskedTogether>,
}

/// What of several permits together falls to one of them.
#[derive(Debug, Clone, PartialEq)]
pub struct AskedTogether {
    /// The limits with the verdict of the row together that are exceeded and in which the permit has a part, in the order of the rule set;
    /// none where it has no part in what was found.
    pub limits: Vec<LimitInPart>,
    /// Indices of the other permits that have a part in what decided.
    pub others: Vec<u32>,
}

/// A limit that several permits exceed together.
#[derive(Debug, Clone, PartialEq)]
pub struct LimitInPart {
    /// What exceeds it; without warnings.
    pub finding: Finding,
    /// How much of it the permit's own works take, percent as printed, > 0; `None` where the limit is on no share.
    pub own_pct: Option<f64>,
}
