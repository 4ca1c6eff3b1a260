//! The written shape of a rule file into a [`RuleSet`]: names resolved to indices, contradictions refused with their place.

use super::RuleSet;
use super::file::{SetFile, Text, UnitStyle, did_you_mean};
use super::limit::{Measure, Outcome};
use super::provenance::{Provenance, Source, Status};
use super::radius::RingWay;
use super::sizes::{SizeRule, StatedSize};
use crate::error::Result;
use std::collections::BTreeMap;
use toml::Spanned;

/// Turns the shape into a set.
pub(super) fn check(file: SetFile, text: &Text<'_>) -> Result<RuleSet> {
    let checker = Checker { text, sources: &file.sources };
    checker.head(&file)?;
    checker.stems(&file.stems)?;
    let radius = checker.radius(file.radius)?;
    let rings = checker.rings(file.rings)?;
    let mut selections = Vec::new();
    let mut limits = Vec::new();
    for limit in file.limits {
        limits.push(checker.limit(limit, &rings, &mut selections)?);
    }
    // Worst first; flags, which decide nothing, at the end. The sort is stable: within a finding the file's order decides.
    limits.sort_by_key(|limit| match limit.gives {
        Outcome::Verdict(verdict) => std::cmp::Reverse(verdict as usize + 1),
        Outcome::Flag(_) => std::cmp::Reverse(0),
    });
    let severed_in_rings = limits
        .iter()
        .any(|limit| limit.ring.is_some() && matches!(limit.measure, Measure::Severed | Measure::Affected));
    let otherwise = checker.otherwise(file.otherwise)?;
    let exempt = file.exempt.into_iter().map(|exempt| checker.exempt(exempt)).collect::<Result<Vec<_>>>()?;
    let heritage = checker.size_classes(file.heritage)?;
    let protected = checker.size_classes(file.protected)?;
    let stated = heritage.is_empty().then_some(StatedSize::Default);
    let bores = file.bores.map(|bores| checker.bores(bores)).transpose()?;
    let mitigations = file.mitigations.into_iter().map(|rule| checker.mitigation(rule)).collect::<Result<Vec<_>>>()?;
    let replacement = checker.replacement(file.replacement)?;
    let protection = file.protection.map(|protection| checker.protection(protection, &rings)).transpose()?;
    let drip_ring = rings.iter().position(|ring| matches!(ring.way, RingWay::DripLine(_)));
    Ok(RuleSet {
        name: file.name.into_inner(),
        title: file.title,
        caution: file.caution.into_inner(),
        notes: file.notes,
        imperial: file.units == UnitStyle::FeetAndInches,
        stems: file.stems.into_inner(),
        radius,
        rings,
        limits,
        otherwise,
        heritage: SizeRule { classes: heritage, stated, exempt: exempt.clone() },
        protected: SizeRule { classes: protected, stated: None, exempt },
        bores,
        mitigations,
        replacement,
        protection,
        drip_ring,
        selections,
        severed_in_rings,
        sources: file.sources,
        source_text: text.text.to_string(),
    })
}

pub(super) struct Checker<'a> {
    pub text: &'a Text<'a>,
    pub sources: &'a BTreeMap<String, Source>,
}

impl Checker<'_> {
    fn head(&self, file: &SetFile) -> Result<()> {
        let name = file.name.get_ref();
        if name.is_empty() || !name.chars().all(|c| c.is_ascii_lowercase() || c.is_ascii_digit() || c == '-') {
            let what = format!("the name `{name}` cannot be used; expected lower-case letters, digits and `-`");
            return Err(self.text.error(file.name.span().start, what, ""));
        }
        if file.caution.get_ref().trim().is_empty() {
            return Err(self.text.error(
                file.caution.span().start,
                "the caution is empty; expected what a reader must be warned of",
                "",
            ));
        }
        Ok(())
    }

    /// Every value needs a source that exists; only common practice may do without.
    pub fn from(&self, from: &Provenance, at: usize) -> Result<()> {
        match &from.source {
            Some(key) if !self.sources.contains_key(key.0.get_ref().as_str()) => {
                let known: Vec<&str> = self.sources.keys().map(String::as_str).collect();
                let what =
                    format!("unknown source `{}`; expected a key of [sources]: {}", key.0.get_ref(), listed(&known));
                Err(self.text.error(key.0.span().start, what, did_you_mean(key.0.get_ref(), &known)))
            }
            None if from.status != Status::CommonPractice => {
                let what = format!("no source is named for a value whose status is `{}`", from.status.word());
                Err(self.text.error(at, what, "add `source = \"...\"`, or say `status = \"common practice\"`"))
            }
            _ => Ok(()),
        }
    }

    fn stems(&self, stems: &Spanned<super::stems::StemRule>) -> Result<()> {
        let (at, stems) = (stems.span().start, stems.get_ref());
        self.from(&stems.from, at)?;
        let heights = stems.measured_at.iter().map(|height| &height.from);
        let others = stems.many.iter().map(|many| &many.from).chain(stems.narrowest.iter().map(|rule| &rule.from));
        for from in heights.chain(others) {
            self.from(from, at)?;
        }
        if let Some(many) = stems.many.as_ref().filter(|many| many.more_than < 2) {
            let what =
                format!("the rule for many stems begins above {}; expected more_than of 2 or more", many.more_than);
            return Err(self.text.error(at, what, ""));
        }
        Ok(())
    }

    /// Exactly one of several ways must be given.
    pub fn one_way<W, const N: usize>(&self, at: usize, of: &str, ways: [Option<W>; N], names: &str) -> Result<W> {
        let mut given = ways.into_iter().flatten();
        match (given.next(), given.count()) {
            (Some(way), 0) => Ok(way),
            (way, more) => {
                let got = more + usize::from(way.is_some());
                Err(self.text.error(
                    at,
                    format!("a {of} has {got} ways to its length; expected exactly one of {names}"),
                    "",
                ))
            }
        }
    }
}

pub(super) fn listed(words: &[&str]) -> String {
    if words.is_empty() { "(there is none)".to_string() } else { words.join(", ") }
}
