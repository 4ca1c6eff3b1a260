//! One limit of a rule set: what is measured, on which part, as a share of what, and what passing it leads to.

use super::provenance::Provenance;
use super::quantity::{Bound, BoundUnit};
use super::who::Who;
use crate::model::effect::Effects;
use crate::model::finding::Verdict;
use crate::model::work::Lasting;
use schemars::JsonSchema;
use serde::{Deserialize, Serialize, Serializer};

/// What a limit compares.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum Measure {
    /// Area under the counted works.
    Overlap,
    /// Area behind a severing cut, the cut included.
    Severed,
    /// Overlap and severed together.
    Affected,
    /// Trunk to the nearest counted work.
    Distance,
    /// The deepest counted work within the zone or ring: of a fill its height, of all others how far they go down.
    Depth,
}

impl Measure {
    /// A share of ground, not a length.
    pub fn is_share(self) -> bool {
        matches!(self, Measure::Overlap | Measure::Severed | Measure::Affected)
    }

    /// The word in files and columns.
    pub fn word(self) -> &'static str {
        match self {
            Measure::Overlap => "overlap",
            Measure::Severed => "severed",
            Measure::Affected => "affected",
            Measure::Distance => "distance",
            Measure::Depth => "depth",
        }
    }
}

/// Which works a limit counts.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub struct Selection {
    /// Works with one of these effects.
    pub effects: Effects,
    /// Works that stay, works that go after the job, or both.
    pub lasting: Option<Lasting>,
    /// Only what lies outside existing surfaces.
    pub new_ground: bool,
}

impl Selection {
    /// Every counted work.
    pub const ALL: Selection = Selection { effects: Effects::COUNTED, lasting: None, new_ground: false };

    /// As a person would say it; empty for all.
    pub fn words(self) -> String {
        let effects = if self.effects == Effects::COUNTED { String::new() } else { self.effects.words() };
        let ground = if self.new_ground { "new ground" } else { "" };
        let words = [self.lasting.map_or("", Lasting::word), &effects, ground];
        words.into_iter().filter(|word| !word.is_empty()).collect::<Vec<_>>().join(" ")
    }
}

impl Serialize for Selection {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.serialize_str(&self.words())
    }
}

/// Which overlap area is taken.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Counted {
    /// The union of all counted works.
    All,
    /// One effect: an index into `RegionAreas::by_effect_m2`.
    Effect(usize),
    /// A selection of works: an index into `RuleSet::selections` and `RegionAreas::by_selection_m2`.
    Selection(usize),
}

/// From where on the trunk a distance is taken.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum MeasuredFrom {
    /// The centre of the trunk.
    #[default]
    Centre,
    /// Its face: the distance from the centre less half the diameter.
    Face,
}

/// On how many sides of the trunk the counted works lie.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum Sides {
    /// All within one half of the bearings: a straight line through the trunk has them on one side.
    One,
    /// On more than one side.
    Several,
}

/// What a share is a share of.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum Denominator {
    /// The whole root zone.
    Zone,
    /// The part that the limit looks at.
    Ring,
    /// The part of the root zone without an existing surface. Where none are given the whole zone is used, and said so.
    Unsurfaced,
    /// The area under the crown: the set's ring that is a drip line, be it wider than the zone.
    DripLine,
}

/// What exceeding a limit leads to.
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
    /// The works that count.
    pub selection: Selection,
    /// Where the measured area of those works stands.
    #[serde(skip)]
    pub counted: Counted,
    /// The trees that it is for; a tree that perhaps is one of them is held to it.
    #[serde(skip_serializing_if = "Who::everyone")]
    pub who: Who,
    /// From where a distance is taken.
    pub measured_from: MeasuredFrom,
    /// Holds only where the works lie on so many sides.
    pub sides: Option<Sides>,
    /// Index into the set's rings; `None` for the whole zone.
    pub ring: Option<usize>,
    /// What the share is a share of; without meaning for a distance.
    pub denominator: Denominator,
    /// The comparison and its value.
    pub limit: Bound,
    /// What exceeding it leads to.
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

impl Limit {
    /// The distance from the centre of the trunk within which a work can exceed a limit on distance, metres.
    pub(super) fn within_m(&self, diameter_m: f64) -> f64 {
        // Distances are compared as printed.
        const LAST_PRINTED_M: f64 = 0.001;
        let bound_m = match self.limit.unit {
            BoundUnit::Diameter => self.limit.value * diameter_m,
            BoundUnit::Metre | BoundUnit::Percent => self.limit.value,
        };
        let from_centre_m = if self.measured_from == MeasuredFrom::Face { diameter_m / 2.0 } else { 0.0 };
        bound_m + from_centre_m + LAST_PRINTED_M
    }
}

/// What an overlap leads to that exceeds no limit.
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

/// The denominator of a limit on unsurfaced ground where existing surfaces are given.
pub const UNSURFACED: &str = "unsurfaced ground of the root zone";
/// The same where they are not given: the whole zone is used, and said so.
pub const SURFACES_NOT_GIVEN: &str = "root zone (existing surfaces not given)";
