//! One limit of a rule set: what is measured, on which part, as a share of what, and what passing it leads to.

use super::provenance::Provenance;
use super::quantity::Bound;
use crate::model::effect::Effects;
use crate::model::finding::Verdict;
use serde::{Deserialize, Serialize, Serializer};

/// What a limit compares.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Measure {
    /// Area under the counted works.
    Overlap,
    /// Area behind a severing cut, the cut included.
    Severed,
    /// Overlap and severed together.
    Affected,
    /// Trunk centre to the nearest counted work.
    Distance,
}

impl Measure {
    /// The word in files and columns.
    pub fn word(self) -> &'static str {
        match self {
            Measure::Overlap => "overlap",
            Measure::Severed => "severed",
            Measure::Affected => "affected",
            Measure::Distance => "distance",
        }
    }
}

/// Which overlap area is taken.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Counted {
    /// The union of all counted works.
    All,
    /// One effect: an index into `RegionAreas::by_effect_m2`.
    Effect(usize),
    /// Several effects: an index into `RuleSet::effect_sets` and `RegionAreas::by_set_m2`.
    Set(usize),
}

/// What a share is a share of.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Denominator {
    /// The whole root zone.
    Zone,
    /// The part that the limit looks at.
    Ring,
    /// The part of the root zone without an existing surface. Existing surfaces are not read yet: the whole zone is used, and said so.
    Unsurfaced,
}

/// What passing a limit leads to.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Outcome {
    /// A finding.
    Verdict(Verdict),
    /// A warning beside whatever finding.
    Flag(&'static str),
}

impl Serialize for Outcome {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        match self {
            Outcome::Verdict(verdict) => serializer.serialize_str(verdict.word()),
            Outcome::Flag(code) => serializer.serialize_str(&format!("flag {code}")),
        }
    }
}

/// One limit, with every name resolved.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Limit {
    /// What is compared.
    pub measure: Measure,
    /// The effects that count.
    #[serde(serialize_with = "effect_words")]
    pub effects: Effects,
    /// Where the measured area of those effects stands.
    #[serde(skip)]
    pub counted: Counted,
    /// Index into the set's rings; `None` for the whole zone.
    pub ring: Option<usize>,
    /// What the share is a share of; without meaning for a distance.
    pub denominator: Denominator,
    /// The comparison and its value.
    pub limit: Bound,
    /// What passing it leads to.
    pub gives: Outcome,
    /// The clause in words, without its source.
    pub text: String,
    /// Where it comes from.
    pub from: Provenance,
    /// The text, the source and the status: what findings print.
    pub clause: String,
    /// Name of the measure in findings: `overlap of cut`.
    pub measure_name: String,
    /// Name of the denominator in findings; empty for distances.
    pub denominator_name: String,
}

/// What an overlap leads to that passes no limit.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Otherwise {
    /// The finding.
    #[serde(serialize_with = "verdict_word")]
    pub gives: Verdict,
    /// The clause in words, without its source.
    pub text: String,
    /// Where it comes from.
    pub from: Provenance,
    /// The text, the source and the status: what findings print.
    pub clause: String,
}

fn verdict_word<S: Serializer>(verdict: &Verdict, serializer: S) -> Result<S::Ok, S::Error> {
    serializer.serialize_str(verdict.word())
}

fn effect_words<S: Serializer>(effects: &Effects, serializer: S) -> Result<S::Ok, S::Error> {
    serializer.serialize_str(&effects.words())
}

/// As a JSON list of words such as `cut+seal`.
pub(super) fn effect_set_words<S: Serializer>(sets: &[Effects], serializer: S) -> Result<S::Ok, S::Error> {
    serializer.collect_seq(sets.iter().map(|set| set.words()))
}
