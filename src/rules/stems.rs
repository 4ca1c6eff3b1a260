//! Stems of one tree into one diameter.

use super::provenance::{Provenance, Sourced};
use super::quantity::Length;
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// How several stems make one diameter.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum Combine {
    /// All stems added up.
    Sum,
    /// The thickest stem alone.
    Largest,
    /// The two thickest added up.
    TwoLargest,
    /// The three thickest added up.
    ThreeLargest,
    /// The thickest and half of each of the others.
    LargestAndHalfOfOthers,
    /// The thickest and the mean of the others.
    LargestAndMeanOfOthers,
    /// Square root of the sum of the squares: one trunk of the same cross-section.
    RootSumOfSquares,
    /// Mean diameter times the square root of the number of stems: `sqrt(mean^2 x n)`.
    MeanTimesRootCount,
}

impl Combine {
    /// The diameter in the unit of the stems, which stand largest first.
    pub fn diameter(self, stems: &[f64]) -> f64 {
        // A single stem is returned as it is: squaring and rooting could lose its last digit.
        let (largest, others) = match stems {
            [] => return 0.0,
            [one] => return *one,
            [largest, others @ ..] => (*largest, others),
        };
        let (sum_of_others, count) = (others.iter().sum::<f64>(), stems.len() as f64);
        match self {
            Combine::Sum => largest + sum_of_others,
            Combine::Largest => largest,
            Combine::TwoLargest => stems.iter().take(2).sum(),
            Combine::ThreeLargest => stems.iter().take(3).sum(),
            Combine::LargestAndHalfOfOthers => largest + sum_of_others / 2.0,
            Combine::LargestAndMeanOfOthers => largest + sum_of_others / (count - 1.0),
            Combine::RootSumOfSquares => stems.iter().map(|d| d * d).sum::<f64>().sqrt(),
            Combine::MeanTimesRootCount => (largest + sum_of_others) / count * count.sqrt(),
        }
    }

    /// As a person would say it.
    pub fn words(self) -> &'static str {
        match self {
            Combine::Sum => "sum of all stems",
            Combine::Largest => "the largest stem",
            Combine::TwoLargest => "sum of the two largest stems",
            Combine::ThreeLargest => "sum of the three largest stems",
            Combine::LargestAndHalfOfOthers => "the largest stem and half of each of the others",
            Combine::LargestAndMeanOfOthers => "the largest stem and the mean of the others",
            Combine::RootSumOfSquares => "square root of the sum of the squared stems",
            Combine::MeanTimesRootCount => "mean stem times the square root of the number of stems",
        }
    }
}

/// The rule for one stem or many.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct StemRule {
    /// Height above ground at which the trunk is measured, where the rule says one. Printed only.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub measured_at: Option<Sourced<Length>>,
    /// How stems are combined.
    pub combine: Combine,
    /// Where that comes from.
    pub from: Provenance,
    /// Another rule for many stems.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub many: Option<ManyStems>,
    /// What to do where the inventory gives the trunk at its narrowest point below the fork.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub narrowest: Option<Narrowest>,
}

/// The rule for trees with more than a number of stems.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct ManyStems {
    /// Applies to trees with more stems than this.
    pub more_than: usize,
    /// How they are combined.
    pub combine: Combine,
    /// Where that comes from.
    pub from: Provenance,
}

/// The rule for forked trees whose trunk was measured at its narrowest point below the fork.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Narrowest {
    /// How it is used.
    pub counts: NarrowestCounts,
    /// Where that comes from.
    pub from: Provenance,
}

/// How the narrowest point below the fork is used.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum NarrowestCounts {
    /// It is the diameter.
    Alone,
    /// The greater of it and half the sum of the stems.
    OrHalfTheSum,
}

impl NarrowestCounts {
    /// As a person would say it.
    pub fn words(self) -> &'static str {
        match self {
            NarrowestCounts::Alone => "the diameter there",
            NarrowestCounts::OrHalfTheSum => "the greater of the diameter there and half the sum of the stems",
        }
    }
}

impl StemRule {
    /// One diameter from the stems (largest first), in their unit; `narrowest` is the trunk below the fork where it was measured.
    pub fn diameter(&self, stems: &[f64], narrowest: Option<f64>) -> f64 {
        if let (Some(rule), Some(narrowest)) = (&self.narrowest, narrowest)
            && stems.len() > 1
        {
            return match rule.counts {
                NarrowestCounts::Alone => narrowest,
                NarrowestCounts::OrHalfTheSum => narrowest.max(stems.iter().sum::<f64>() / 2.0),
            };
        }
        match &self.many {
            Some(many) if stems.len() > many.more_than => many.combine.diameter(stems),
            _ => self.combine.diameter(stems),
        }
    }
}
