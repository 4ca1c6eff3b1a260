//! What a rule set makes of a work before it is measured: how deep a bore must pass, and which stated mitigations it accepts.

use super::provenance::{Provenance, Sourced};
use super::quantity::{Length, SAME_LENGTH_M};
use crate::model::effect::{Effect, Effects};
use crate::model::work::{Lasting, Mitigation, Work};
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// How deep a bore must pass, `[bores]`.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct BoreRule {
    /// A bore at this depth or deeper spares the roots; a shallower one, or one of unknown depth, is a severing cut.
    pub deep_from: Sourced<Length>,
}

/// What a stated mitigation changes, `[[mitigations]]`.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct MitigationRule {
    /// The mitigation.
    pub stated: Mitigation,
    /// Works with one of these effects; all where left out.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub on: Vec<Effect>,
    /// Only for works that stay, or only for works that go.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub lasting: Option<Lasting>,
    /// Effects that the work then does not have.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub removes: Vec<Effect>,
    /// Whether the work then severs no roots.
    #[serde(default)]
    pub keeps_roots: bool,
    /// The clause in words.
    pub text: String,
    /// Where it comes from.
    pub from: Provenance,
}

impl MitigationRule {
    fn fits(&self, work: &Work) -> bool {
        let on = Effects::of(&self.on);
        work.mitigations.contains(&self.stated)
            && (on.is_empty() || on.meets(work.effects))
            && self.lasting.is_none_or(|lasting| lasting == work.lasting)
    }
}

/// The work as the rule set sees it.
pub(super) fn seen(work: &Work, bores: Option<&BoreRule>, mitigations: &[MitigationRule]) -> Work {
    let mut seen = work.clone();
    // Two kinds in one, such as a trench and a bore, keep the worse of both.
    let only_bore = work.effects.has(Effect::Bore) && !work.kind.contains('+');
    if let Some(bores) = bores.filter(|_| only_bore) {
        let deep = work.depth_m.is_some_and(|depth_m| depth_m >= bores.deep_from.is.metres - SAME_LENGTH_M);
        let bore = Effects::of(&[Effect::Bore]);
        seen.effects = if deep { bore } else { bore.with(Effect::Cut) };
        seen.severs = !deep;
    }
    seen.accepted.clear();
    for rule in mitigations.iter().filter(|rule| rule.fits(work)) {
        let (effects, severs) = (seen.effects.without(Effects::of(&rule.removes)), seen.severs && !rule.keeps_roots);
        if (effects, severs) != (seen.effects, seen.severs) {
            seen.accepted.push(rule.stated);
        }
        (seen.effects, seen.severs) = (effects, severs);
    }
    seen.accepted.sort_unstable();
    seen.accepted.dedup();
    seen
}
