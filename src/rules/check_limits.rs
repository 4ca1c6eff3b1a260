//! The limits of a rule file, checked and with every name resolved.

use super::check::{Checker, listed};
use super::file::{Gives, LimitFile, OtherwiseFile, did_you_mean};
use super::limit::{Counted, Denominator, Limit, Measure, MeasuredFrom, Otherwise, Outcome, Selection, UNSURFACED};
use super::quantity::{Bound, BoundUnit, Comparison};
use super::radius::{RingRule, RingWay};
use super::warnings;
use crate::error::Result;
use crate::model::effect::Effects;
use crate::model::finding::Verdict;
use toml::Spanned;

impl Checker<'_> {
    pub(super) fn limit(
        &self,
        file: Spanned<LimitFile>,
        rings: &[RingRule],
        selections: &mut Vec<Selection>,
    ) -> Result<Limit> {
        let at = file.span().start;
        let file = file.into_inner();
        self.from(&file.from, at)?;
        self.who(&file.who, at)?;
        self.bound(&file)?;
        let ring = file.ring.as_ref().map(|name| self.ring(name, rings)).transpose()?;
        let gives = self.outcome(&file, at)?;
        let (selection, counted) = self.counted(&file, at, selections)?;
        let denominator = self.denominator(&file, ring, rings, at)?;
        let named = |ring: usize| format!("{} ring", rings[ring].name);
        let denominator_name = match (file.measure, denominator, ring) {
            (Measure::Distance | Measure::Depth, ..) => String::new(),
            (_, Denominator::Unsurfaced, _) => UNSURFACED.to_string(),
            (_, Denominator::DripLine, _) => "area under the crown".to_string(),
            (_, Denominator::Ring, Some(ring)) => named(ring),
            _ => "root zone".to_string(),
        };
        let written = Selection { new_ground: file.new_ground, ..selection };
        let of = if written == Selection::ALL { String::new() } else { format!(" of {}", written.words()) };
        let face = if file.measured_from == Some(MeasuredFrom::Face) { " from the trunk's face" } else { "" };
        let place = match (ring, denominator) {
            (Some(ring), _) if denominator != Denominator::Ring || file.measure == Measure::Depth => {
                format!(" in {}", named(ring))
            }
            _ => String::new(),
        };
        Ok(Limit {
            measure: file.measure,
            selection,
            counted,
            who: file.who,
            measured_from: file.measured_from.unwrap_or_default(),
            sides: file.sides,
            ring,
            denominator,
            limit: file.limit.into_inner(),
            gives,
            clause: format!("{} ({})", file.text, file.from.citation(self.sources)),
            text: file.text,
            from: file.from,
            measure_name: format!("{}{of}{place}{face}", file.measure.word()),
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
            (Measure::Distance, BoundUnit::Metre | BoundUnit::Diameter) if !upwards => Ok(()),
            (Measure::Distance, _) => wrong("< or <= and a length, such as \"< 3 m\" or \"< 6 x diameter\""),
            (Measure::Depth, BoundUnit::Metre) if upwards => Ok(()),
            (Measure::Depth, _) => wrong("> or >= and a length, such as \"> 6 in\""),
            (_, BoundUnit::Percent) if upwards && !always_or_never(bound) => Ok(()),
            _ => wrong("> or >= and a share that some works exceed and others do not, such as \"> 25 %\""),
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

    fn counted(&self, file: &LimitFile, at: usize, selections: &mut Vec<Selection>) -> Result<(Selection, Counted)> {
        let wrong = |what: &str| Err(self.text.error(at, what, ""));
        let effects = match file.effects.as_deref() {
            None => Effects::COUNTED,
            Some([]) => return wrong("`effects` is empty; expected at least one effect, or no such key"),
            Some(effects) => Effects::of(effects),
        };
        // What is a share of unsurfaced ground is a part of it.
        let unsurfaced = file.share_of == Some(Denominator::Unsurfaced);
        if unsurfaced && file.measure != Measure::Overlap {
            return wrong("`share_of` is unsurfaced; expected it with overlap only");
        }
        let new_ground = file.new_ground || unsurfaced;
        let selection = Selection { effects, lasting: file.lasting, new_ground };
        let area_behind = matches!(file.measure, Measure::Severed | Measure::Affected);
        let keys =
            [("effects", file.effects.is_some()), ("lasting", file.lasting.is_some()), ("new_ground", file.new_ground)];
        if let Some((key, _)) = keys.iter().find(|(_, given)| area_behind && *given) {
            let measure = file.measure.word();
            return wrong(&format!(
                "`{key}` does not fit the measure {measure}; expected it with overlap, distance or depth"
            ));
        }
        if file.new_ground && file.measure != Measure::Overlap {
            return wrong("`new_ground` fits overlap only");
        }
        if file.measured_from.is_some() && file.measure != Measure::Distance {
            return wrong("`measured_from` fits distance only");
        }
        let one_effect = effects.iter().count() == 1 && selection.lasting.is_none() && !selection.new_ground;
        let counted = match effects.iter().next() {
            _ if selection == Selection::ALL || file.measure != Measure::Overlap => Counted::All,
            Some(effect) if one_effect => Counted::Effect(effect as usize),
            _ => Counted::Selection(selections.iter().position(|&known| known == selection).unwrap_or_else(|| {
                selections.push(selection);
                selections.len() - 1
            })),
        };
        Ok((selection, counted))
    }

    fn denominator(&self, file: &LimitFile, ring: Option<usize>, rings: &[RingRule], at: usize) -> Result<Denominator> {
        let wrong = |what: &str| Err(self.text.error(at, what, ""));
        match (file.measure, file.share_of, ring) {
            (Measure::Distance, Some(_), _) | (Measure::Distance, _, Some(_)) => {
                wrong("a distance has no ring and is no share; expected neither `ring` nor `share_of` with it")
            }
            (Measure::Depth, Some(_), _) => wrong("a depth is no share; expected no `share_of` with it"),
            (_, Some(Denominator::DripLine), _)
                if !rings.iter().any(|ring| matches!(ring.way, RingWay::DripLine(_))) =>
            {
                wrong(
                    "`share_of` is drip_line, but no ring of the set is a drip line; expected `[[rings]]` with `drip_line`",
                )
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

    pub(super) fn otherwise(&self, file: Spanned<OtherwiseFile>) -> Result<Otherwise> {
        let at = file.span().start;
        let file = file.into_inner();
        self.from(&file.from, at)?;
        let clause = format!("{} ({})", file.text, file.from.citation(self.sources));
        Ok(Otherwise { gives: file.gives.verdict(), text: file.text, from: file.from, clause })
    }
}

/// `>= 0 %` holds for every tree and `> 100 %` for none.
fn always_or_never(bound: &Bound) -> bool {
    (bound.comparison == Comparison::AtLeast && bound.value == 0.0)
        || (bound.comparison == Comparison::Over && bound.value == 100.0)
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
