//! The radius and the rings of a rule file, checked.

use super::check::Checker;
use super::file::{RadiusFile, RadiusPartFile, RingFile};
use super::radius::{ClassRow, DripLine, RadiusPart, RadiusRule, RadiusWay, RingRule, RingWay};
use crate::error::Result;
use toml::Spanned;

impl Checker<'_> {
    pub(super) fn radius(&self, radius: Spanned<RadiusFile>) -> Result<RadiusRule> {
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
        if of.iter().all(|part| !part.only.everyone()) {
            return Err(self.text.error(
                at,
                "every part of the radius is for some trees only; expected one for all the others",
                "",
            ));
        }
        if let Some(rounding) = &radius.rounding {
            self.from(&rounding.get_ref().from, rounding.span().start)?;
        }
        let rounding = radius.rounding.map(Spanned::into_inner);
        let (at_least, at_most) = (radius.at_least.map(Spanned::into_inner), radius.at_most.map(Spanned::into_inner));
        Ok(RadiusRule { take: radius.take, of, at_least, at_most, rounding })
    }

    fn radius_part(&self, part: Spanned<RadiusPartFile>) -> Result<RadiusPart> {
        let at = part.span().start;
        let part = part.into_inner();
        self.from(&part.from, at)?;
        self.who(&part.only, at)?;
        if let Some(drip) = &part.drip_line {
            self.drip_line(drip, at)?;
        }
        let ways = [
            part.times_diameter.map(RadiusWay::TimesDiameter),
            part.length_per_diameter.map(RadiusWay::LengthPerDiameter),
            part.drip_line.map(Box::new).map(RadiusWay::DripLine),
            part.fixed.map(RadiusWay::Fixed),
            part.by_tolerance.map(Box::new).map(RadiusWay::ByTolerance),
            part.classes.map(RadiusWay::Classes),
            part.height.map(Box::new).map(RadiusWay::Height),
        ];
        let names = "times_diameter, length_per_diameter, drip_line, fixed, by_tolerance, classes, height";
        let way = self.one_way(at, "part of the radius", ways, names)?;
        match &way {
            RadiusWay::Classes(rows) => self.classes(rows, at)?,
            RadiusWay::Height(height) => self.from(&height.missing_height_times_diameter.from, at)?,
            _ => {}
        }
        Ok(RadiusPart { way, only: part.only, from: part.from })
    }

    /// Rows by ascending diameter, the last without an end, each with one radius.
    fn classes(&self, rows: &[ClassRow], at: usize) -> Result<()> {
        let wrong = |what: String| Err(self.text.error(at, what, ""));
        let mut reached_m = 0.0;
        for (number, row) in (1..).zip(rows) {
            self.from(&row.from, at)?;
            if row.radius.is_some() == row.length_per_diameter.is_some() {
                return wrong(format!(
                    "row {number} of the classes needs exactly one of radius and length_per_diameter"
                ));
            }
            let last = number == rows.len();
            match &row.below {
                Some(below) if !last && below.metres > reached_m => reached_m = below.metres,
                None if last => {}
                Some(_) if last => {
                    return wrong(
                        "the last row of the classes ends; expected it without `below`, for every greater tree"
                            .to_string(),
                    );
                }
                _ => {
                    return wrong(format!(
                        "row {number} of the classes is out of order; expected each with a greater `below` than the one before"
                    ));
                }
            }
            if row
                .printed_to
                .as_ref()
                .is_some_and(|end| row.below.as_ref().is_none_or(|below| end.metres > below.metres))
            {
                return wrong(format!(
                    "row {number} of the classes is printed to beyond its end; expected printed_to at most `below`"
                ));
            }
        }
        if rows.is_empty() { wrong("the classes have no row; expected at least one".to_string()) } else { Ok(()) }
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

    pub(super) fn rings(&self, files: Vec<Spanned<RingFile>>) -> Result<Vec<RingRule>> {
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
                ring.drip_line.map(Box::new).map(RingWay::DripLine),
            ];
            let way = self.one_way(at, "ring", ways, "share_of_radius, times_diameter, fixed, power, drip_line")?;
            if let RingWay::DripLine(drip) = &way {
                self.drip_line(drip, at)?;
            }
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
}
