//! The text of a rule file into the shape it is written in, with positions; what it means is checked in `check`.
//!
//! Every key that is not listed here is refused. Numbers with units are checked while they are read (see `quantity`).

use super::limit::{Denominator, Measure, MeasuredFrom, Sides};
use super::money::{Amount, FeePerLength, Percent};
use super::protection::ProtectionFile;
use super::provenance::{Provenance, Source, Sourced};
use super::quantity::{Bound, Factor, Growth, Length, Share};
use super::radius::{ClassRow, DripLine, HeightShare, Measured, Power, Rounding, Take};
use super::replacement::{FeeIs, Listed, Most, ReplacementRow};
use super::sizes::{Exempt, SizeClass};
use super::spared::{BoreRule, MitigationRule};
use super::stems::StemRule;
use super::tolerance::ToleranceTable;
use super::who::Who;
use crate::error::Error;
use crate::model::effect::Effect;
use crate::model::work::Lasting;
use schemars::JsonSchema;
use serde::Deserialize;
use std::collections::BTreeMap;
use toml::Spanned;

/// The units that a set is written in.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub(super) enum UnitStyle {
    Metric,
    FeetAndInches,
}

/// A rule set of Rootward, as one TOML file.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
#[schemars(rename = "rule set")]
pub(super) struct SetFile {
    #[schemars(with = "String")]
    pub name: Spanned<String>,
    pub title: String,
    pub units: UnitStyle,
    #[schemars(with = "String")]
    pub caution: Spanned<String>,
    #[serde(default)]
    pub notes: Vec<String>,
    #[serde(default)]
    pub sources: BTreeMap<String, Source>,
    #[schemars(with = "StemRule")]
    pub stems: Spanned<StemRule>,
    #[schemars(with = "RadiusFile")]
    pub radius: Spanned<RadiusFile>,
    #[serde(default)]
    #[schemars(with = "Vec<RingFile>")]
    pub rings: Vec<Spanned<RingFile>>,
    #[serde(default)]
    #[schemars(with = "Vec<LimitFile>")]
    pub limits: Vec<Spanned<LimitFile>>,
    #[schemars(with = "OtherwiseFile")]
    pub otherwise: Spanned<OtherwiseFile>,
    #[serde(default)]
    #[schemars(with = "Vec<SizeClass>")]
    pub heritage: Vec<Spanned<SizeClass>>,
    #[serde(default)]
    #[schemars(with = "Vec<SizeClass>")]
    pub protected: Vec<Spanned<SizeClass>>,
    #[serde(default)]
    #[schemars(with = "Vec<Exempt>")]
    pub exempt: Vec<Spanned<Exempt>>,
    #[serde(default)]
    #[schemars(with = "Vec<ReplacementFile>")]
    pub replacement: Vec<Spanned<ReplacementFile>>,
    #[schemars(with = "Option<BoreRule>")]
    pub bores: Option<Spanned<BoreRule>>,
    #[serde(default)]
    #[schemars(with = "Vec<MitigationRule>")]
    pub mitigations: Vec<Spanned<MitigationRule>>,
    #[schemars(with = "Option<ProtectionFile>")]
    pub protection: Option<Spanned<ProtectionFile>>,
}

#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub(super) struct RadiusFile {
    #[serde(default)]
    pub take: Take,
    #[schemars(with = "Vec<RadiusPartFile>")]
    pub of: Vec<Spanned<RadiusPartFile>>,
    #[schemars(with = "Option<Sourced<Length>>")]
    pub at_least: Option<Spanned<Sourced<Length>>>,
    #[schemars(with = "Option<Sourced<Length>>")]
    pub at_most: Option<Spanned<Sourced<Length>>>,
    #[schemars(with = "Option<Rounding>")]
    pub rounding: Option<Spanned<Rounding>>,
}

#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub(super) struct RadiusPartFile {
    pub times_diameter: Option<Factor>,
    pub length_per_diameter: Option<Growth>,
    pub drip_line: Option<DripLine>,
    pub fixed: Option<Length>,
    pub by_tolerance: Option<ToleranceTable>,
    pub classes: Option<Vec<ClassRow>>,
    pub height: Option<HeightShare>,
    #[serde(default)]
    pub only: Who,
    pub from: Provenance,
}

#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub(super) struct RingFile {
    #[schemars(with = "String")]
    pub name: Spanned<String>,
    pub share_of_radius: Option<Share>,
    pub times_diameter: Option<Factor>,
    pub fixed: Option<Length>,
    pub power: Option<Power>,
    pub drip_line: Option<DripLine>,
    #[serde(default)]
    pub measured: Measured,
    pub at_least: Option<Sourced<Length>>,
    pub from: Provenance,
}

/// The findings that a limit may lead to.
#[derive(Debug, Clone, Copy, Deserialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
pub(super) enum Gives {
    Minor,
    Moderate,
    Major,
}

#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub(super) struct LimitFile {
    pub measure: Measure,
    pub effects: Option<Vec<Effect>>,
    #[schemars(with = "Option<String>")]
    pub ring: Option<Spanned<String>>,
    pub share_of: Option<Denominator>,
    pub lasting: Option<Lasting>,
    #[serde(default)]
    pub new_ground: bool,
    #[serde(default)]
    pub who: Who,
    pub measured_from: Option<MeasuredFrom>,
    pub sides: Option<Sides>,
    #[schemars(with = "Bound")]
    pub limit: Spanned<Bound>,
    pub gives: Option<Gives>,
    #[schemars(with = "Option<String>")]
    pub flag: Option<Spanned<String>>,
    pub text: String,
    pub from: Provenance,
}

#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub(super) struct OtherwiseFile {
    pub gives: Gives,
    pub text: String,
    pub from: Provenance,
}

#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub(super) struct ReplacementFile {
    #[serde(default)]
    pub of: Listed,
    #[serde(default)]
    pub who: Who,
    pub trees: Option<u32>,
    pub share_of_diameter: Option<Percent>,
    pub classes: Option<Vec<ReplacementRow>>,
    #[serde(default)]
    pub of_total: bool,
    pub fee_per_length: Option<FeePerLength>,
    pub fee_per_tree: Option<Amount>,
    pub fee_is: Option<FeeIs>,
    pub each_at_least: Option<Sourced<Length>>,
    pub or_each_at_least: Option<Sourced<Length>>,
    pub at_most: Option<Sourced<Most>>,
    pub at_most_per_permit: Option<Sourced<Most>>,
    pub text: String,
    pub from: Provenance,
}

/// Where a rule file stands and what it says: turns byte offsets into `file:line:column`.
pub(crate) struct Text<'a> {
    pub name: &'a str,
    pub text: &'a str,
}

impl Text<'_> {
    /// An error at a byte offset.
    pub fn error(&self, at: usize, what: impl Into<String>, hint: impl Into<String>) -> Error {
        let before = self.text.get(..at).unwrap_or(self.text);
        let line = before.matches('\n').count() + 1;
        let column = before.rsplit('\n').next().unwrap_or("").chars().count() + 1;
        Error::Rules { at: format!("{}:{line}:{column}", self.name), what: what.into(), hint: hint.into() }
    }

    /// Reads the file's shape.
    pub fn parse<T: serde::de::DeserializeOwned>(&self) -> Result<T, Error> {
        toml::from_str(self.text).map_err(|error| self.explain(&error))
    }

    /// The message of the TOML reader in plain words, with the nearest known key or word.
    fn explain(&self, error: &toml::de::Error) -> Error {
        let message = error.message();
        let at = error.span().map_or(0, |span| span.start);
        let quoted: Vec<&str> = message.split('`').skip(1).step_by(2).collect();
        let what = message
            .replace("unknown field", "unknown key")
            .replace("missing field", "missing key")
            .replace("duplicate field", "duplicate key")
            .replace("unknown variant", "unknown word");
        let known = message.starts_with("unknown field") || message.starts_with("unknown variant");
        let hint = match (known, quoted.split_first()) {
            (true, Some((typed, words))) => did_you_mean(typed, words),
            (false, Some((key, _))) if message.starts_with("missing field") => missing_key(key),
            _ => String::new(),
        };
        self.error(at, what.trim_end(), hint)
    }
}

/// What to write where a key is missing.
fn missing_key(key: &str) -> String {
    let wanted = match key {
        "from" => "`from = { ... }` with the source, the clause and whether the value was seen there or is from memory"
            .to_string(),
        key => format!("`{key} = ...`"),
    };
    format!("add {wanted} to the table that begins here; the page on rule sets lists the keys that each table needs")
}

/// `did you mean ...?` where a known word is near; else empty.
pub(crate) fn did_you_mean(typed: &str, known: &[&str]) -> String {
    nearest(typed, known).map_or_else(String::new, |word| format!("did you mean `{word}`?"))
}

/// The nearest known word, where one is near enough to be meant.
pub(crate) fn nearest<'a>(typed: &str, known: &[&'a str]) -> Option<&'a str> {
    known
        .iter()
        .map(|&word| (strsim::jaro_winkler(&typed.to_lowercase(), word), word))
        .filter(|&(likeness, _)| likeness > 0.75)
        .max_by(|a, b| a.0.total_cmp(&b.0))
        .map(|(_, word)| word)
}
