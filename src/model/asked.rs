//! What an answer to a row has to bring within the rules.

use super::finding::Finding;

/// For one row that exceeds limits, alone or together with other permits.
#[derive(Debug, Clone, PartialEq)]
pub struct Asked {
    /// Index of the permit.
    pub permit: u32,
    /// Number of the tree, as in its rows.
    pub tree: u32,
    /// The limits with the verdict of the row that are exceeded, in the order of the rule set, the worst first; > 0 of them. Where several
    /// permits together have the worse verdict: those that this permit has a part in, or where it has none those of the permit alone.
    pub limits: Vec<AskedLimit>,
}

/// One of them.
#[derive(Debug, Clone, PartialEq)]
pub struct AskedLimit {
    /// What exceeds it; without warnings.
    pub finding: Finding,
    /// How much of it the permit's own works take where several permits together exceed it, percent as printed, > 0; `None` where the
    /// permit does so alone.
    pub own_pct: Option<f64>,
}
