//! Where a value comes from: every value of a rule set carries one of these, and every print-out shows it.

use schemars::{JsonSchema, Schema, SchemaGenerator, json_schema};
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;

/// How well a value is known.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
pub enum Status {
    /// The value stood in a text of the authority or the paper itself that was read.
    #[serde(rename = "seen")]
    Seen,
    /// The value stood in another text that quotes or paraphrases the document.
    #[serde(rename = "second-hand")]
    SecondHand,
    /// Nobody looked it up: verify before relying on it.
    #[serde(rename = "from memory")]
    FromMemory,
    /// The trade does it so; there is no document to cite.
    #[serde(rename = "common practice")]
    CommonPractice,
}

impl Status {
    /// The word in files and print-outs.
    pub fn word(self) -> &'static str {
        match self {
            Status::Seen => "seen",
            Status::SecondHand => "second-hand",
            Status::FromMemory => "from memory",
            Status::CommonPractice => "common practice",
        }
    }
}

/// How many objects of a set as JSON have a status.
pub(super) fn count_status(value: &serde_json::Value, status: Status) -> usize {
    match value {
        serde_json::Value::Object(members) => {
            let here = members.get("status").and_then(serde_json::Value::as_str) == Some(status.word());
            usize::from(here) + members.values().map(|member| count_status(member, status)).sum::<usize>()
        }
        serde_json::Value::Array(items) => items.iter().map(|item| count_status(item, status)).sum(),
        _ => 0,
    }
}

/// A document that values come from: one entry of `[sources]`.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Source {
    /// Short name, as it is cited: `BS 5837:2012`.
    pub title: String,
    /// Edition or version.
    #[serde(default)]
    pub edition: String,
    /// Where it was read, or what it was read in.
    #[serde(default)]
    pub address: String,
}

impl Source {
    /// The title, with the edition where the title does not already say it.
    pub fn name(&self) -> String {
        if self.edition.is_empty() || self.title.contains(&self.edition) {
            return self.title.clone();
        }
        format!("{} ({})", self.title, self.edition)
    }
}

/// A calendar day without a time.
#[derive(Debug, Clone, PartialEq)]
pub struct Day(pub String);

impl<'de> Deserialize<'de> for Day {
    fn deserialize<D: serde::Deserializer<'de>>(deserializer: D) -> Result<Day, D::Error> {
        let day = toml::value::Datetime::deserialize(deserializer)?;
        match (day.date, day.time) {
            (Some(date), None) => Ok(Day(date.to_string())),
            _ => Err(serde::de::Error::custom(format!(
                "`{day}` is not a day; expected one such as 2026-11-25, without a time"
            ))),
        }
    }
}

impl Serialize for Day {
    fn serialize<S: serde::Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.serialize_str(&self.0)
    }
}

impl JsonSchema for Day {
    fn schema_name() -> std::borrow::Cow<'static, str> {
        "Day".into()
    }

    fn json_schema(_: &mut SchemaGenerator) -> Schema {
        json_schema!({ "type": "string", "format": "date", "description": "a TOML date without quotes: 2026-11-25" })
    }
}

/// The key of a source, with its place in the file so that a wrong one can be pointed at.
#[derive(Debug, Clone, PartialEq, Eq, Deserialize)]
#[serde(transparent)]
pub struct SourceKey(pub(super) toml::Spanned<String>);

impl JsonSchema for SourceKey {
    fn schema_name() -> std::borrow::Cow<'static, str> {
        "SourceKey".into()
    }

    fn json_schema(_: &mut SchemaGenerator) -> Schema {
        json_schema!({ "type": "string", "description": "a key of [sources]" })
    }
}

impl Serialize for SourceKey {
    fn serialize<S: serde::Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.serialize_str(self.0.get_ref())
    }
}

/// What stands behind one value: `from = { source = "portland", clause = "...", status = "seen", date = 2026-11-25 }`.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Provenance {
    /// Key into `[sources]`; may be missing for common practice only.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub source: Option<SourceKey>,
    /// Clause, section, table or page; empty where none is known.
    #[serde(default)]
    pub clause: String,
    /// How well the value is known.
    pub status: Status,
    /// Day on which the value was noted in the rule file.
    pub date: Day,
    /// Anything a reviewer should know: contradicting values, codes to compare, how weak the source is.
    #[serde(default)]
    pub note: String,
}

impl Provenance {
    /// The key of the source, and where it stands in the file (bytes), where one is named.
    pub fn key(&self) -> Option<(&str, usize)> {
        self.source.as_ref().map(|key| (key.0.get_ref().as_str(), key.0.span().start))
    }

    /// One line for people: `BS 5837:2012, clause 7.4.2.3; from memory` or `common practice, no source`.
    ///
    /// The status is always in it, so that a remembered value is never printed as if it had been read.
    pub fn citation(&self, sources: &BTreeMap<String, Source>) -> String {
        let source = self.source.as_ref().and_then(|key| sources.get(key.0.get_ref().as_str()));
        let Some(source) = source else { return format!("{}, no source", self.status.word()) };
        let clause = if self.clause.is_empty() { String::new() } else { format!(", {}", self.clause) };
        format!("{}{clause}; {}", source.name(), self.status.word())
    }
}

/// A value with its provenance: `{ is = "15 m", from = { ... } }`.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Sourced<T> {
    /// The value.
    pub is: T,
    /// Where it comes from.
    pub from: Provenance,
}
