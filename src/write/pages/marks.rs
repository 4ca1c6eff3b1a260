//! The marks of findings and the patterns of works: shape, outline and letter besides colour, so that a print in grey says the same.
//!
//! # Source
//! Colours: the eight of M. Okabe and K. Ito, "Color Universal Design" (2008), values from memory; each has a black outline.

use crate::model::effect::Effect;
use crate::model::finding::Verdict;
use crate::model::work::Work;

/// Symbols and patterns, written once into every page.
pub const DEFINITIONS: &str = include_str!("templates/definitions.svg");

/// Name of the symbol of a finding.
pub fn mark(verdict: Verdict) -> &'static str {
    match verdict {
        Verdict::TrunkInWork => "mark-trunk",
        Verdict::Major => "mark-major",
        Verdict::NotAssessed => "mark-unknown",
        Verdict::Moderate => "mark-moderate",
        Verdict::Minor => "mark-minor",
        Verdict::Untouched => "mark-untouched",
    }
}

/// How a work is drawn.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Drawn {
    /// Stands on the ground.
    Stands,
    /// Cuts and seals: paving with its base.
    Paving,
    /// Cuts.
    Cut,
    /// Seals what is there.
    Seal,
    /// Raises the ground.
    Fill,
    /// Presses it together.
    Compact,
    /// Passes beneath.
    Bore,
    /// Does nothing to roots.
    Harmless,
}

impl Drawn {
    /// By the gravest of what it does.
    pub fn of(work: &Work) -> Drawn {
        let has = |effect| work.effects.has(effect);
        match () {
            () if has(Effect::Occupy) => Drawn::Stands,
            () if has(Effect::Cut) && has(Effect::Seal) => Drawn::Paving,
            () if has(Effect::Cut) => Drawn::Cut,
            () if has(Effect::Seal) => Drawn::Seal,
            () if has(Effect::Fill) => Drawn::Fill,
            () if has(Effect::Compact) => Drawn::Compact,
            () if has(Effect::Bore) => Drawn::Bore,
            () => Drawn::Harmless,
        }
    }

    /// Fill, colour of the outline, and its dashes, as attributes.
    pub fn attributes(self) -> &'static str {
        match self {
            Drawn::Stands => r##"fill="url(#p-stands)" stroke="#000""##,
            Drawn::Paving => r##"fill="url(#p-paving)" stroke="#0072B2""##,
            Drawn::Cut => r##"fill="url(#p-cut)" stroke="#000" stroke-dasharray="180 70""##,
            Drawn::Seal => r##"fill="url(#p-seal)" stroke="#0072B2" stroke-dasharray="60 60""##,
            Drawn::Fill => r##"fill="url(#p-fill)" stroke="#8a4f74""##,
            Drawn::Compact => r##"fill="url(#p-compact)" stroke="#7a5400" stroke-dasharray="40 60""##,
            Drawn::Bore => r##"fill="none" stroke="#000" stroke-dasharray="220 60 40 60""##,
            Drawn::Harmless => r##"fill="url(#p-harmless)" stroke="#00664b""##,
        }
    }
}

/// A letter for each kind, by the kinds' own letters where those are free.
pub fn letters<'a>(kinds: impl Iterator<Item = &'a str>) -> Vec<(String, String)> {
    let mut kinds: Vec<&str> = kinds.collect();
    kinds.sort_unstable();
    kinds.dedup();
    let mut given: Vec<(String, String)> = Vec::new();
    for kind in kinds {
        let own = kind.chars().filter(char::is_ascii_alphabetic).map(|c| c.to_ascii_uppercase());
        let single = own.chain('A'..='Z').map(String::from);
        let double = ('A'..='Z').flat_map(|first| ('A'..='Z').map(move |second| format!("{first}{second}")));
        // H and N stand for other things on the map.
        let free = |letter: &String| !["H", "N"].contains(&letter.as_str()) && given.iter().all(|(_, l)| l != letter);
        let letter = single.chain(double).find(free).unwrap_or_default();
        given.push((kind.to_string(), letter));
    }
    given
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_kind_has_its_own_letter() {
        let given = letters(["trench", "building", "terrace", "trench", "bore"].into_iter());
        let letters: Vec<&str> = given.iter().map(|(_, letter)| letter.as_str()).collect();
        assert_eq!(
            given.iter().map(|(kind, _)| kind.as_str()).collect::<Vec<_>>(),
            ["bore", "building", "terrace", "trench"]
        );
        assert_eq!(letters, ["B", "U", "T", "R"]);
        let many: Vec<String> = (0..60).map(|n| format!("h{n}")).collect();
        let mut all: Vec<String> =
            super::letters(many.iter().map(String::as_str)).into_iter().map(|(_, l)| l).collect();
        all.sort();
        all.dedup();
        assert_eq!(all.len(), 60);
    }
}
