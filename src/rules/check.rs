//! The written shape of a rule file into a [`RuleSet`]: names resolved to indices, contradictions refused with their place.

use super::RuleSet;
use super::file::{
    Gives, LimitFile, OtherwiseFile, RadiusFile, RadiusPartFile, RingFile, SetFile, Text, UnitStyle, did_you_mean,
};
use super::heritage::{HeritageRule, SizeClass, StatedSize};
use super::limit::{Counted, Denominator, Limit, Measure, Otherwise, Outcome};
use super::provenance::{Provenance, Source, Status};
use super::quantity::{Bound, BoundUnit, Comparison};
use super::radius::{DripLine, RadiusPart, RadiusRule, RadiusWay, RingRule, RingWay};
use super::warnings;
use crate::error::Result;
use crate::model::effect::Effects;
use crate::model::finding::Verdict;
use std::collections::BTreeMap;
use toml::Spanned;

/// Turns the shape into a set.
pub(super) fn check(file: SetFile, text: &Text<'_>) -> Result<RuleSet> {
    let checker = Checker { text, sources: &file.sources };
    checker.head(&file)?;
    checker.stems(&file.stems)?;
    let radius = checker.radius(file.radius)?;
    let rings = checker.rings(file.rings)?;
    let mut effect_sets = Vec::new();
    let mut limits = Vec::new();
    for limit in file.limits {
        limits.push(checker.limit(limit, &rings, &mut effect_sets)?);
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
    let classes = file.heritage.into_iter().map(|class| checker.size_class(class)).collect::<Result<Vec<_>>>()?;
    let stated = classes.is_empty().then_some(StatedSize::Default);
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
        heritage: HeritageRule { classes, stated },
        effect_sets,
        severed_in_rings,
        sources: file.sources,
        source_text: text.text.to_string(),
    })
}

struct Checker<'a> {
    text: &'a Text<'a>,
    sources: &'a BTreeMap<String, Source>,
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
    fn from(&self, from: &Provenance, at: usize) -> Result<()> {
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
        for from in stems.measured_at.iter().map(|height| &height.from).chain(stems.many.iter().map(|many| &many.from))
        {
            self.from(from, at)?;
        }
        if let Some(many) = stems.many.as_ref().filter(|many| many.more_than < 2) {
            let what =
                format!("the rule for many stems begins above {}; expected more_than of 2 or more", many.more_than);
            return Err(self.text.error(at, what, ""));
        }
        Ok(())
    }

    fn radius(&self, radius: Spanned<RadiusFile>) -> Result<RadiusRule> {
        let at = radius.span().start;
        let radius = radius.into_inner();
        if radius.of.is_empty() {
            return Err(self.text.error(at, "the radius has no part; expected at least one [[radius.of]]", ""));
        }
        for bound in radius.at_least.iter().chain(&radius.at_most) {
            self.from(&bound.get_ref().from, bound.span().start)?;
        }
        if let (Some(at_least), Some(at_most)) = (&radius.at_least, &radius.at_most)
            && at_least.get_ref().is.metres > at_most.get_ref().is.metres
        {
            let (least, most) = (&at_least.get_ref().is.written, &at_most.get_ref().is.written);
            let what = format!("the radius is at least {least} and at most {most}; expected the least below the most");
            return Err(self.text.error(at_least.span().start, what, ""));
        }
        let of = radius.of.into_iter().map(|part| self.radius_part(part)).collect::<Result<Vec<_>>>()?;
        let (at_least, at_most) = (radius.at_least.map(Spanned::into_inner), radius.at_most.map(Spanned::into_inner));
        Ok(RadiusRule { take: radius.take, of, at_least, at_most })
    }

    fn radius_part(&self, part: Spanned<RadiusPartFile>) -> Result<RadiusPart> {
        let at = part.span().start;
        let part = part.into_inner();
        self.from(&part.from, at)?;
        if let Some(drip) = &part.drip_line {
            self.drip_line(drip, at)?;
        }
        let ways = [
            part.times_diameter.map(RadiusWay::TimesDiameter),
            part.length_per_diameter.map(RadiusWay::LengthPerDiameter),
            part.drip_line.map(Box::new).map(RadiusWay::DripLine),
            part.fixed.map(RadiusWay::Fixed),
        ];
        let names = "times_diameter, length_per_diameter, drip_line, fixed";
        Ok(RadiusPart { way: self.one_way(at, "part of the radius", ways, names)?, from: part.from })
    }

    fn drip_line(&self, drip: &DripLine, at: usize) -> Result<()> {
        let margins = drip.margin.iter().chain(&drip.columnar_margin).map(|margin| &margin.from);
        let words = drip.columnar_words.iter().map(|words| &words.from);
        for from in margins.chain(words).chain([&drip.missing_crown_times_diameter.from]) {
            self.from(from, at)?;
        }
        if drip.columnar_margin.is_some() != drip.columnar_words.is_some() {
            let what =
                "columnar forms need both a margin and words; expected columnar_margin and columnar_words, or neither";
            return Err(self.text.error(at, what, ""));
        }
        let empty = |word: &String| word.trim_end_matches('*').is_empty();
        if drip.columnar_words.as_ref().is_some_and(|words| words.is.iter().any(empty)) {
            return Err(self.text.error(
                at,
                "a word for columnar forms is empty and would fit every species; expected letters",
                "",
            ));
        }
        Ok(())
    }

    /// Exactly one of several ways must be given.
    fn one_way<W, const N: usize>(&self, at: usize, of: &str, ways: [Option<W>; N], names: &str) -> Result<W> {
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

    fn rings(&self, files: Vec<Spanned<RingFile>>) -> Result<Vec<RingRule>> {
        let mut rings: Vec<RingRule> = Vec::new();
        for file in files {
            let at = file.span().start;
            let ring = file.into_inner();
            self.ring_name(&ring.name, &rings)?;
            self.from(&ring.from, at)?;
            if let Some(least) = &ring.at_least {
                self.from(&least.from, at)?;
            }
            let ways = [
                ring.share_of_radius.map(RingWay::ShareOfRadius),
                ring.times_diameter.map(RingWay::TimesDiameter),
                ring.fixed.map(RingWay::Fixed),
                ring.power.map(RingWay::Power),
            ];
            let way = self.one_way(at, "ring", ways, "share_of_radius, times_diameter, fixed, power")?;
            let name = ring.name.into_inner();
            rings.push(RingRule { name, way, measured: ring.measured, at_least: ring.at_least, from: ring.from });
        }
        Ok(rings)
    }

    /// Names end up in columns: plain letters, each once.
    fn ring_name(&self, spanned: &Spanned<String>, rings: &[RingRule]) -> Result<()> {
        let name = spanned.get_ref();
        let good = name.starts_with(|c: char| c.is_ascii_lowercase())
            && name.chars().all(|c| c.is_ascii_lowercase() || c.is_ascii_digit() || c == '_')
            && name != "zone";
        let what = if !good {
            format!(
                "the ring name `{name}` cannot be used; expected lower-case letters, digits and `_`, and not `zone`"
            )
        } else if rings.iter().any(|other| other.name == *name) {
            format!("two rings are named `{name}`; expected each name once")
        } else {
            return Ok(());
        };
        Err(self.text.error(spanned.span().start, what, ""))
    }

    fn limit(&self, file: Spanned<LimitFile>, rings: &[RingRule], sets: &mut Vec<Effects>) -> Result<Limit> {
        let at = file.span().start;
        let file = file.into_inner();
        self.from(&file.from, at)?;
        self.bound(&file)?;
        let ring = file.ring.as_ref().map(|name| self.ring(name, rings)).transpose()?;
        let gives = self.outcome(&file, at)?;
        let (effects, counted) = self.counted(&file, at, sets)?;
        let denominator = self.denominator(&file, ring, at)?;
        let named = |ring: usize| format!("{} ring", rings[ring].name);
        let denominator_name = match (file.measure, denominator, ring) {
            (Measure::Distance, ..) => String::new(),
            (_, Denominator::Unsurfaced, _) => "root zone (existing surfaces not given)".to_string(),
            (_, Denominator::Ring, Some(ring)) => named(ring),
            _ => "root zone".to_string(),
        };
        let of = if counted == Counted::All { String::new() } else { format!(" of {}", effects.words()) };
        let place = match (ring, denominator) {
            (Some(ring), Denominator::Zone | Denominator::Unsurfaced) => format!(" in {}", named(ring)),
            _ => String::new(),
        };
        Ok(Limit {
            measure: file.measure,
            effects,
            counted,
            ring,
            denominator,
            limit: file.limit.into_inner(),
            gives,
            clause: format!("{} ({})", file.text, file.from.citation(self.sources)),
            text: file.text,
            from: file.from,
            measure_name: format!("{}{of}{place}", file.measure.word()),
            denominator_name,
        })
    }

    /// Areas are compared upwards in percent, distances downwards in a length.
    fn bound(&self, file: &LimitFile) -> Result<()> {
        let (at, bound) = (file.limit.span().start, file.limit.get_ref());
        let upwards = matches!(bound.comparison, Comparison::Over | Comparison::AtLeast);
        let wrong = |expected: &str| {
            let what =
                format!("`{}` does not fit the measure {}; expected {expected}", bound.written, file.measure.word());
            Err(self.text.error(at, what, ""))
        };
        match (file.measure, bound.unit) {
            (Measure::Distance, BoundUnit::Metre) if !upwards => Ok(()),
            (Measure::Distance, _) => wrong("< or <= and a length, such as \"< 3 m\""),
            (_, BoundUnit::Percent) if upwards && !always_or_never(bound) => Ok(()),
            _ => wrong("> or >= and a share that some works pass and others do not, such as \"> 25 %\""),
        }
    }

    fn ring(&self, name: &Spanned<String>, rings: &[RingRule]) -> Result<usize> {
        rings.iter().position(|ring| ring.name == *name.get_ref()).ok_or_else(|| {
            let known: Vec<&str> = rings.iter().map(|ring| ring.name.as_str()).collect();
            let what =
                format!("unknown ring `{}`; expected one of the set's rings: {}", name.get_ref(), listed(&known));
            self.text.error(name.span().start, what, did_you_mean(name.get_ref(), &known))
        })
    }

    fn outcome(&self, file: &LimitFile, at: usize) -> Result<Outcome> {
        match (file.gives, &file.flag) {
            (Some(gives), None) => Ok(Outcome::Verdict(gives.verdict())),
            (None, Some(code)) => warnings::flag(code.get_ref()).map(Outcome::Flag).ok_or_else(|| {
                let what = format!("unknown flag `{}`; expected one of {}", code.get_ref(), listed(warnings::FLAGS));
                self.text.error(code.span().start, what, did_you_mean(code.get_ref(), warnings::FLAGS))
            }),
            _ => Err(self.text.error(at, "a limit leads to one thing; expected either `gives` or `flag`", "")),
        }
    }

    fn counted(&self, file: &LimitFile, at: usize, sets: &mut Vec<Effects>) -> Result<(Effects, Counted)> {
        let Some(effects) = &file.effects else { return Ok((Effects::COUNTED, Counted::All)) };
        if file.measure != Measure::Overlap {
            let what =
                format!("`effects` does not fit the measure {}; expected it with overlap only", file.measure.word());
            return Err(self.text.error(at, what, ""));
        }
        let set = Effects::of(effects);
        let counted = match effects.as_slice() {
            [] => {
                return Err(self.text.error(
                    at,
                    "`effects` is empty; expected at least one effect, or no such key",
                    "",
                ));
            }
            _ if set == Effects::COUNTED => Counted::All,
            _ if set.iter().count() == 1 => Counted::Effect(effects[0] as usize),
            _ => Counted::Set(sets.iter().position(|&known| known == set).unwrap_or_else(|| {
                sets.push(set);
                sets.len() - 1
            })),
        };
        Ok((set, counted))
    }

    fn denominator(&self, file: &LimitFile, ring: Option<usize>, at: usize) -> Result<Denominator> {
        let wrong = |what: &str| Err(self.text.error(at, what, ""));
        match (file.measure, file.share_of, ring) {
            (Measure::Distance, Some(_), _) | (Measure::Distance, _, Some(_)) => {
                wrong("a distance has no ring and is no share; expected neither `ring` nor `share_of` with it")
            }
            (_, Some(Denominator::Ring), None) => {
                wrong("`share_of` is ring, but the limit names no ring; expected `ring = \"...\"`")
            }
            (_, Some(Denominator::Unsurfaced), Some(_)) => {
                wrong("`share_of` is unsurfaced, but the limit names a ring; expected the whole zone")
            }
            (_, Some(denominator), _) => Ok(denominator),
            (_, None, Some(_)) => Ok(Denominator::Ring),
            (_, None, None) => Ok(Denominator::Zone),
        }
    }

    fn otherwise(&self, file: Spanned<OtherwiseFile>) -> Result<Otherwise> {
        let at = file.span().start;
        let file = file.into_inner();
        self.from(&file.from, at)?;
        let clause = format!("{} ({})", file.text, file.from.citation(self.sources));
        Ok(Otherwise { gives: file.gives.verdict(), text: file.text, from: file.from, clause })
    }

    fn size_class(&self, class: Spanned<SizeClass>) -> Result<SizeClass> {
        let at = class.span().start;
        let class = class.into_inner();
        self.from(&class.from, at)?;
        let upwards = matches!(class.size.comparison, Comparison::Over | Comparison::AtLeast);
        if class.size.unit == BoundUnit::Metre && upwards {
            return Ok(class);
        }
        let what = format!(
            "`{}` is no size of a trunk; expected > or >= and a length, such as \">= 30 in\"",
            class.size.written
        );
        Err(self.text.error(at, what, ""))
    }
}

/// `>= 0 %` holds for every tree and `> 100 %` for none.
fn always_or_never(bound: &Bound) -> bool {
    (bound.comparison == Comparison::AtLeast && bound.value == 0.0)
        || (bound.comparison == Comparison::Over && bound.value == 100.0)
}

fn listed(words: &[&str]) -> String {
    if words.is_empty() { "(there is none)".to_string() } else { words.join(", ") }
}

impl Gives {
    fn verdict(self) -> Verdict {
        match self {
            Gives::Minor => Verdict::Minor,
            Gives::Moderate => Verdict::Moderate,
            Gives::Major => Verdict::Major,
        }
    }
}
