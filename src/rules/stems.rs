//! Stems of one tree into one diameter.

use super::provenance::Provenance;
use super::quantity::Length;
use serde::{Deserialize, Serialize};

/// How several stems make one diameter.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Combine {
    /// All stems added up.
    Sum,
    /// The thickest stem alone.
    Largest,
    /// Square root of the sum of the squares: one trunk of the same cross-section.
    RootSumOfSquares,
    /// Mean diameter times the square root of the number of stems: `sqrt(mean^2 x n)`.
    MeanTimesRootCount,
}

impl Combine {
    /// The diameter in the unit of the stems.
    pub fn diameter(self, stems: &[f64]) -> f64 {
        match self {
            Combine::Sum => stems.iter().sum(),
            Combine::Largest => stems.iter().copied().fold(0.0, f64::max),
            // A single stem is returned as it is: squaring and rooting could lose its last digit.
            Combine::RootSumOfSquares if stems.len() > 1 => stems.iter().map(|d| d * d).sum::<f64>().sqrt(),
            Combine::MeanTimesRootCount if stems.len() > 1 => {
                let count = stems.len() as f64;
                stems.iter().sum::<f64>() / count * count.sqrt()
            }
            _ => stems.first().copied().unwrap_or(0.0),
        }
    }

    /// As a person would say it.
    pub fn words(self) -> &'static str {
        match self {
            Combine::Sum => "sum of all stems",
            Combine::Largest => "the largest stem",
            Combine::RootSumOfSquares => "square root of the sum of the squared stems",
            Combine::MeanTimesRootCount => "mean stem times the square root of the number of stems",
        }
    }
}

/// The rule for one stem or many.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct StemRule {
    /// Height above ground at which the trunk is measured, where the rule says one. Printed only.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub measured_at: Option<super::provenance::Sourced<Length>>,
    /// How stems are combined.
    pub combine: Combine,
    /// Where that comes from.
    pub from: Provenance,
    /// Another rule for many stems.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub many: Option<ManyStems>,
}

/// The rule for trees with more than a number of stems.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct ManyStems {
    /// Applies to trees with more stems than this.
    pub more_than: usize,
    /// How they are combined.
    pub combine: Combine,
    /// Where that comes from.
    pub from: Provenance,
}

impl StemRule {
    /// One diameter from the stems, in their unit.
    pub fn diameter(&self, stems: &[f64]) -> f64 {
        match &self.many {
            Some(many) if stems.len() > many.more_than => many.combine.diameter(stems),
            _ => self.combine.diameter(stems),
        }
    }
}
