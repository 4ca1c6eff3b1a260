//! What a rule set says of fences, `[protection]`: the line that they follow, the ring that they must keep outside of, how they are built.

use super::check::Checker;
use super::file::did_you_mean;
use super::provenance::Provenance;
use super::radius::RingRule;
use crate::error::Result;
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};
use toml::Spanned;

/// The line that a fence follows where no work is in the way.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum FenceAt {
    /// The edge of the root zone.
    #[default]
    Zone,
    /// The drip line.
    DripLine,
    /// The edge of the root zone or the drip line, whichever is further out.
    Greater,
}

impl FenceAt {
    /// In words.
    pub fn words(self) -> &'static str {
        match self {
            FenceAt::Zone => "the edge of the root zone",
            FenceAt::DripLine => "the drip line",
            FenceAt::Greater => "the edge of the root zone or the drip line, whichever is further out",
        }
    }
}

/// The table as it is written.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub(super) struct ProtectionFile {
    #[serde(default)]
    pub fence_at: FenceAt,
    #[schemars(with = "Option<String>")]
    pub reserve_ring: Option<Spanned<String>>,
    pub fence: Option<String>,
    pub from: Provenance,
}

/// The table with its ring found.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct ProtectionRule {
    /// The line that a fence follows.
    pub fence_at: FenceAt,
    /// Index of the ring that a fence must keep outside of; the innermost where the set names none.
    pub reserve_ring: Option<usize>,
    /// Name of the fence in the table of protection values.
    pub fence: Option<String>,
    /// Where it comes from.
    pub from: Provenance,
}

impl Checker<'_> {
    /// Checks the table: its source, and the ring that it names.
    pub fn protection(&self, file: Spanned<ProtectionFile>, rings: &[RingRule]) -> Result<ProtectionRule> {
        let at = file.span().start;
        let file = file.into_inner();
        self.from(&file.from, at)?;
        let ring = |name: Spanned<String>| {
            let names: Vec<&str> = rings.iter().map(|ring| ring.name.as_str()).collect();
            names.iter().position(|known| known == name.get_ref()).ok_or_else(|| {
                let what = format!("no ring is named `{}`; expected one of: {}", name.get_ref(), names.join(", "));
                self.text.error(name.span().start, what, did_you_mean(name.get_ref(), &names))
            })
        };
        let reserve_ring = file.reserve_ring.map(ring).transpose()?;
        Ok(ProtectionRule { fence_at: file.fence_at, reserve_ring, fence: file.fence, from: file.from })
    }
}
