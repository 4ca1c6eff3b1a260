//! A tree's numbers into the radius of its root zone and of the rings in it. Look-ups only, no geometry.

use super::provenance::{Provenance, Sourced};
use super::quantity::{Factor, Growth, Length, SAME_LENGTH_M, Share};
use super::tolerance::ToleranceTable;
use super::who::{Meant, Who};
use crate::model::tree::Tree;
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// Which of several radii counts.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, JsonSchema, Default)]
#[serde(rename_all = "kebab-case")]
pub enum Take {
    /// The greatest.
    #[default]
    Greatest,
    /// The least.
    Least,
}

/// The radius of the root zone.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct RadiusRule {
    /// Which of the parts counts.
    pub take: Take,
    /// At least one.
    pub of: Vec<RadiusPart>,
    /// Never less than this.
    pub at_least: Option<Sourced<Length>>,
    /// Never more than this.
    pub at_most: Option<Sourced<Length>>,
    /// Brought to a multiple of a length, before the least and the most.
    pub rounding: Option<Rounding>,
}

/// How a radius is rounded.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Rounding {
    /// To a multiple of this.
    pub to: Length,
    /// Which way.
    pub direction: Direction,
    /// Where it comes from.
    pub from: Provenance,
}

/// Which way a radius is rounded.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum Direction {
    /// To the nearest multiple; half of one goes up.
    Nearest,
    /// To the next greater.
    Up,
    /// To the next less.
    Down,
}

impl Rounding {
    fn round(&self, radius_m: f64) -> f64 {
        // Whole multiples of an inch must not go up for the last binary digit.
        const LAST_DIGIT: f64 = 1e-9;
        let steps = radius_m / self.to.metres;
        let steps = match self.direction {
            Direction::Nearest => (steps + LAST_DIGIT).round(),
            Direction::Up => (steps - LAST_DIGIT).ceil(),
            Direction::Down => (steps + LAST_DIGIT).floor(),
        };
        steps * self.to.metres
    }
}

/// One way to a radius, with its provenance.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct RadiusPart {
    /// The way.
    pub way: RadiusWay,
    /// The trees that it is for. A tree that only perhaps is one of them has the wider zone of the two: the part counts for it where
    /// the greatest is taken, and is passed over where the least is.
    #[serde(skip_serializing_if = "Who::everyone")]
    pub only: Who,
    /// Where it comes from.
    pub from: Provenance,
}

/// How a radius is found.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum RadiusWay {
    /// A multiple of the diameter.
    TimesDiameter(Factor),
    /// The same, written as a length per length.
    LengthPerDiameter(Growth),
    /// The drip line and a margin.
    DripLine(Box<DripLine>),
    /// The same for every tree.
    Fixed(Length),
    /// A multiple of the diameter by tolerance and life stage.
    ByTolerance(Box<ToleranceTable>),
    /// By classes of diameter.
    Classes(Vec<ClassRow>),
    /// A share of the tree's height.
    Height(Box<HeightShare>),
}

/// One row of a table of radii by diameter.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct ClassRow {
    /// For diameters below this; the last row has none.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub below: Option<Length>,
    /// The end of the class as printed, where the next one does not begin there: `29 cm` before `30 cm`.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub printed_to: Option<Length>,
    /// The radius.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub radius: Option<Length>,
    /// Or a multiple of the diameter.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub length_per_diameter: Option<Growth>,
    /// Where it comes from.
    pub from: Provenance,
}

impl ClassRow {
    fn radius_m(&self, diameter_m: f64) -> f64 {
        let grown = self.length_per_diameter.as_ref().map(|growth| growth.times_diameter * diameter_m);
        self.radius.as_ref().map(|length| length.metres).or(grown).unwrap_or(0.0)
    }

    fn holds(&self, diameter_m: f64) -> bool {
        self.below.as_ref().is_none_or(|below| diameter_m < below.metres - SAME_LENGTH_M)
    }
}

/// A share of the tree's height.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct HeightShare {
    /// The share.
    pub share: Share,
    /// Radius as a multiple of the diameter where the inventory has no height.
    pub missing_height_times_diameter: Sourced<Factor>,
}

/// The drip line and a margin outside it.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct DripLine {
    /// Added to the crown radius.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub margin: Option<Sourced<Length>>,
    /// Added instead for columnar forms.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub columnar_margin: Option<Sourced<Length>>,
    /// Words of a species text that mark a columnar form; a `*` at the end stands for any ending.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub columnar_words: Option<Sourced<Vec<String>>>,
    /// Crown radius as a multiple of the diameter where the inventory has no crown.
    pub missing_crown_times_diameter: Sourced<Factor>,
}

impl RadiusRule {
    /// The radius in metres (> 0 for a diameter > 0), and what had to be assumed.
    pub fn radius_m(&self, tree: &Tree, diameter_m: f64, warnings: &mut Vec<&'static str>) -> f64 {
        let parts = self.of.iter().filter(|part| match part.only.means(tree) {
            Meant::Yes => true,
            Meant::Perhaps => self.take == Take::Greatest,
            Meant::No => false,
        });
        let parts = parts.map(|part| part.way.radius_m(tree, diameter_m, warnings));
        let radius_m = match self.take {
            Take::Greatest => parts.fold(0.0, f64::max),
            Take::Least => parts.fold(f64::INFINITY, f64::min),
        };
        let radius_m = self.rounding.as_ref().map_or(radius_m, |rounding| rounding.round(radius_m));
        let radius_m = self.at_least.as_ref().map_or(radius_m, |least| radius_m.max(least.is.metres));
        match &self.at_most {
            Some(most) if radius_m > most.is.metres => {
                warnings.push("radius_capped");
                most.is.metres
            }
            _ => radius_m,
        }
    }
}

impl RadiusWay {
    fn radius_m(&self, tree: &Tree, diameter_m: f64, warnings: &mut Vec<&'static str>) -> f64 {
        match self {
            RadiusWay::TimesDiameter(factor) => factor.0 * diameter_m,
            RadiusWay::LengthPerDiameter(growth) => growth.times_diameter * diameter_m,
            RadiusWay::Fixed(length) => length.metres,
            RadiusWay::DripLine(drip) => drip.radius_m(tree, diameter_m, warnings),
            RadiusWay::ByTolerance(table) => table.growth(tree, warnings).times_diameter * diameter_m,
            RadiusWay::Classes(rows) => class_radius_m(rows, diameter_m, warnings),
            RadiusWay::Height(height) => height.radius_m(tree, diameter_m, warnings),
        }
    }
}

/// The row of the class; classes are half-open, and a diameter between two classes as printed is said so.
fn class_radius_m(rows: &[ClassRow], diameter_m: f64, warnings: &mut Vec<&'static str>) -> f64 {
    let Some(row) = rows.iter().find(|row| row.holds(diameter_m)) else { return 0.0 };
    if row.printed_to.as_ref().is_some_and(|end| diameter_m > end.metres + SAME_LENGTH_M) {
        warnings.push("between_printed_classes");
    }
    row.radius_m(diameter_m)
}

impl HeightShare {
    fn radius_m(&self, tree: &Tree, diameter_m: f64, warnings: &mut Vec<&'static str>) -> f64 {
        match tree.height_m.filter(|&height| height > 0.0) {
            Some(height_m) => height_m * self.share.percent / 100.0,
            None => {
                warnings.push("height_missing");
                self.missing_height_times_diameter.is.0 * diameter_m
            }
        }
    }
}

impl DripLine {
    pub(super) fn radius_m(&self, tree: &Tree, diameter_m: f64, warnings: &mut Vec<&'static str>) -> f64 {
        let crown_m = tree.crown_radius_m.filter(|&crown| crown > 0.0).unwrap_or_else(|| {
            warnings.push("crown_estimated");
            self.missing_crown_times_diameter.is.0 * diameter_m
        });
        let margin = match &self.columnar_margin {
            Some(margin) if tree.botanical.columnar || self.is_columnar(&tree.species) => {
                warnings.push("columnar_form");
                Some(margin)
            }
            _ => self.margin.as_ref(),
        };
        crown_m + margin.map_or(0.0, |margin| margin.is.metres)
    }

    /// Whether a word of the species text is in the list of columnar forms.
    fn is_columnar(&self, species: &str) -> bool {
        let Some(words) = &self.columnar_words else { return false };
        let species = species.to_lowercase();
        species.split(|c: char| !c.is_alphabetic()).filter(|word| !word.is_empty()).any(|word| {
            words.is.iter().any(|listed| match listed.strip_suffix('*') {
                Some(start) => word.starts_with(&start.to_lowercase()),
                None => word == listed.to_lowercase(),
            })
        })
    }
}

/// A named inner part of the root zone.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct RingRule {
    /// Its name: lower-case letters, digits and `_`, unique in the set.
    pub name: String,
    /// How its radius is found.
    pub way: RingWay,
    /// Which diameter the way starts from.
    pub measured: Measured,
    /// Never less than this (but never more than the zone).
    pub at_least: Option<Sourced<Length>>,
    /// Where it comes from.
    pub from: Provenance,
}

/// How the radius of a ring is found.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum RingWay {
    /// A share of the radius of the zone.
    ShareOfRadius(Share),
    /// A multiple of the diameter.
    TimesDiameter(Factor),
    /// The same for every tree.
    Fixed(Length),
    /// A power of the diameter.
    Power(Power),
    /// The drip line and a margin.
    DripLine(Box<DripLine>),
}

/// `radius in metres = factor x (diameter in metres x scale) ^ exponent`.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Power {
    /// Multiplies the result.
    pub factor: Factor,
    /// Multiplies the diameter.
    pub scale: Factor,
    /// The exponent.
    pub exponent: Factor,
}

/// Where on the trunk the diameter of a ring is taken.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, JsonSchema, Default)]
#[serde(rename_all = "kebab-case")]
pub enum Measured {
    /// The diameter of the tree.
    #[default]
    BreastHeight,
    /// Just above the root crown; breast height with a warning where that is missing.
    RootCrown,
}

impl RingRule {
    /// The radius in metres, never more than the zone's.
    pub fn radius_m(&self, tree: &Tree, diameter_m: f64, zone_radius_m: f64, warnings: &mut Vec<&'static str>) -> f64 {
        self.whole_radius_m(tree, diameter_m, zone_radius_m, warnings).min(zone_radius_m)
    }

    /// The radius in metres, be it wider than the zone.
    pub fn whole_radius_m(
        &self,
        tree: &Tree,
        diameter_m: f64,
        zone_radius_m: f64,
        warnings: &mut Vec<&'static str>,
    ) -> f64 {
        let diameter_m = match self.measured {
            Measured::BreastHeight => diameter_m,
            Measured::RootCrown => tree.root_crown_diameter_m.filter(|&d| d > 0.0).unwrap_or_else(|| {
                warnings.push("ring_from_breast_height");
                diameter_m
            }),
        };
        let radius_m = match &self.way {
            RingWay::ShareOfRadius(share) => zone_radius_m * (share.percent / 100.0),
            RingWay::TimesDiameter(factor) => factor.0 * diameter_m,
            RingWay::Fixed(length) => length.metres,
            RingWay::Power(power) => power.factor.0 * (diameter_m * power.scale.0).powf(power.exponent.0),
            RingWay::DripLine(drip) => drip.radius_m(tree, diameter_m, warnings),
        };
        let least_m = self.at_least.as_ref().map_or(0.0, |least| least.is.metres);
        radius_m.max(least_m)
    }
}
