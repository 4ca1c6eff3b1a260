//! A rule set as a reviewer would read it: every value with its source and status beside it.

use super::RuleSet;
use super::describe_replacement::{row_words as replacement_row_words, rule_words};
use super::describe_words::{class_words, mitigation_words, part_words, ring_words, row_words};
use super::limit::{Denominator, Limit, Measure, Outcome, Sides};
use super::provenance::{Provenance, Sourced};
use super::quantity::Length;
use super::radius::{DripLine, Measured, RadiusWay, RingWay, Take};
use super::replacement::ReplacementWay;
use super::stability::STABILITY_TEXT;
use super::warnings::WARNINGS;

/// Columns of a print-out.
const WIDTH: usize = 100;

impl RuleSet {
    /// What `rootward rules NAME` prints.
    pub fn describe(&self) -> String {
        let mut page = Page { set: self, text: String::new() };
        page.head();
        page.diameter();
        page.zone();
        page.rings();
        page.limits();
        page.heritage();
        page.protected();
        page.replacement();
        page.works();
        page.protection();
        page.sources();
        page.text
    }
}

impl RuleSet {
    /// The warnings for which the set has no rule: they are left out of its print-out.
    fn warnings_that_cannot_come(&self) -> Vec<&'static str> {
        let drip_lines = || {
            let of_radius = self.radius.of.iter().filter_map(|part| match &part.way {
                RadiusWay::DripLine(drip) => Some(drip),
                _ => None,
            });
            of_radius.chain(self.rings.iter().filter_map(|ring| match &ring.way {
                RingWay::DripLine(drip) => Some(drip),
                _ => None,
            }))
        };
        let way = |wanted: fn(&RadiusWay) -> bool| self.radius.of.iter().any(|part| wanted(&part.way));
        let by_tolerance = way(|way| matches!(way, RadiusWay::ByTolerance(_)));
        let limit = |wanted: fn(&Limit) -> bool| self.limits.iter().any(wanted);
        let can = [
            ("crown_estimated", drip_lines().next().is_some()),
            ("columnar_form", drip_lines().any(|drip| drip.columnar_margin.is_some())),
            (
                "between_printed_classes",
                way(|way| matches!(way, RadiusWay::Classes(rows) if rows.iter().any(|row| row.printed_to.is_some()))),
            ),
            ("height_missing", way(|way| matches!(way, RadiusWay::Height(_)))),
            ("life_stage_unknown", by_tolerance),
            ("tolerance_unknown", by_tolerance),
            ("depth_not_given", limit(|limit| limit.measure == Measure::Depth)),
            (
                "surfaces_not_given",
                limit(|limit| limit.denominator == Denominator::Unsurfaced || limit.selection.new_ground),
            ),
            ("zone_wholly_surfaced", limit(|limit| limit.denominator == Denominator::Unsurfaced)),
            ("mitigation_accepted", !self.mitigations.is_empty()),
            ("radius_capped", self.radius.at_most.is_some()),
            ("ring_from_breast_height", self.rings.iter().any(|ring| ring.measured == Measured::RootCrown)),
        ];
        can.into_iter().filter(|&(_, can)| !can).map(|(code, _)| code).collect()
    }
}

struct Page<'a> {
    set: &'a RuleSet,
    text: String,
}

impl Page<'_> {
    fn heading(&mut self, heading: &str) {
        self.text += &format!("\n{heading}\n");
    }

    /// Wraps a paragraph; `first` starts its first line, later lines are indented as far.
    fn paragraph(&mut self, first: &str, words: &str) {
        let indent = first.chars().count();
        let mut line = first.to_string();
        let mut used = indent;
        for word in words.split_whitespace() {
            let length = word.chars().count();
            if used > indent && used + 1 + length > WIDTH {
                self.text += &(line.trim_end().to_string() + "\n");
                line = " ".repeat(indent);
                used = indent;
            }
            if used > indent {
                line.push(' ');
                used += 1;
            }
            line += word;
            used += length;
        }
        self.text += &(line.trim_end().to_string() + "\n");
    }

    /// One value and, beneath it, where it comes from.
    fn value(&mut self, value: &str, from: &Provenance) {
        self.paragraph("  ", value);
        self.paragraph("      from: ", &format!("{} (noted {})", from.citation(&self.set.sources), from.date.0));
        if !from.note.is_empty() {
            self.paragraph("      note: ", &from.note);
        }
    }

    fn length(&mut self, before: &str, length: &Option<Sourced<Length>>) {
        if let Some(length) = length {
            self.value(&format!("{before} {}", length.is.written), &length.from);
        }
    }

    fn head(&mut self) {
        self.paragraph(&format!("{}: ", self.set.name), &self.set.title);
        self.text.push('\n');
        self.paragraph("Caution: ", &self.set.caution);
        for note in &self.set.notes {
            self.paragraph("Note: ", note);
        }
    }

    fn diameter(&mut self) {
        let stems = &self.set.stems;
        self.heading("Diameter");
        self.length("measured at a height of", &stems.measured_at);
        match &stems.many {
            None => self.value(&format!("several stems: {}", stems.combine.words()), &stems.from),
            Some(many) => {
                self.value(&format!("2 to {} stems: {}", many.more_than, stems.combine.words()), &stems.from);
                self.value(&format!("more than {} stems: {}", many.more_than, many.combine.words()), &many.from);
            }
        }
        if let Some(narrowest) = &stems.narrowest {
            let words = format!("several stems, trunk measured below the fork: {}", narrowest.counts.words());
            self.value(&words, &narrowest.from);
        }
    }

    fn zone(&mut self) {
        let radius = &self.set.radius;
        self.heading("Root zone (a disc around the trunk centre)");
        if radius.of.len() > 1 {
            let take = if radius.take == Take::Greatest { "greatest" } else { "least" };
            self.paragraph("  ", &format!("radius: the {take} of"));
        }
        for part in &radius.of {
            self.value(&part_words(part), &part.from);
            match &part.way {
                RadiusWay::DripLine(drip) => self.drip_line(drip),
                RadiusWay::ByTolerance(table) => {
                    for (tolerance, row) in table.rows() {
                        let (young, mature, old) = (&row.young, &row.mature, &row.overmature);
                        let words =
                            format!("young {}, mature {}, overmature {}", young.written, mature.written, old.written);
                        self.paragraph(&format!("      tolerance {tolerance}: "), &words);
                    }
                }
                RadiusWay::Classes(rows) => rows.iter().for_each(|row| self.value(&row_words(row), &row.from)),
                RadiusWay::Height(height) => {
                    let missing = &height.missing_height_times_diameter;
                    let words = format!(
                        "where the inventory has no height: {} x diameter (warning height_missing)",
                        missing.is.0
                    );
                    self.value(&words, &missing.from);
                }
                RadiusWay::TimesDiameter(_) | RadiusWay::LengthPerDiameter(_) | RadiusWay::Fixed(_) => {}
            }
        }
        if let Some(rounding) = &radius.rounding {
            let direction = format!("{:?}", rounding.direction).to_lowercase();
            self.value(&format!("rounded {direction} to a multiple of {}", rounding.to.written), &rounding.from);
        }
        self.length("at least", &radius.at_least);
        self.length("at most", &radius.at_most);
    }

    fn drip_line(&mut self, drip: &DripLine) {
        self.length("margin outside the drip line", &drip.margin);
        self.length("margin for columnar forms", &drip.columnar_margin);
        if let Some(words) = &drip.columnar_words {
            self.value(&format!("columnar where the species text has one of: {}", words.is.join(", ")), &words.from);
        }
        let missing = &drip.missing_crown_times_diameter;
        self.value(
            &format!(
                "crown radius where the inventory has none: {} x diameter (warning crown_estimated)",
                missing.is.0
            ),
            &missing.from,
        );
    }

    fn rings(&mut self) {
        if self.set.rings.is_empty() {
            return;
        }
        self.heading("Rings (never wider than the root zone)");
        for ring in &self.set.rings {
            self.value(&format!("{}: {}", ring.name, ring_words(ring)), &ring.from);
            if let RingWay::DripLine(drip) = &ring.way {
                self.drip_line(drip);
            }
            self.length(&format!("{}: at least", ring.name), &ring.at_least);
        }
    }

    fn limits(&mut self) {
        self.heading(
            "Findings (worst first; the first that fits decides; shares judged to 4 decimals, distances to 3)",
        );
        self.paragraph("  ", "trunk_in_work: the trunk meets a work that occupies, cuts or fills (every rule set)");
        for limit in &self.set.limits {
            if let Outcome::Verdict(verdict) = limit.gives {
                self.limit(verdict.word(), limit);
            }
        }
        let otherwise = &self.set.otherwise;
        self.value(&format!("{}: any other overlap. \"{}\"", otherwise.gives.word(), otherwise.text), &otherwise.from);
        self.paragraph("  ", "untouched: no overlap");
        self.paragraph("  ", "not_assessed: the tree has no usable diameter (every rule set)");
        self.heading("Warnings beside any finding");
        for limit in &self.set.limits {
            if let Outcome::Flag(code) = limit.gives {
                self.limit(code, limit);
            }
        }
        self.paragraph("  ", STABILITY_TEXT);
        let unusable = self.set.warnings_that_cannot_come();
        for &(code, meaning) in WARNINGS.iter().filter(|(code, _)| !unusable.contains(code)) {
            self.paragraph(&format!("  {code}: "), meaning);
        }
    }

    fn limit(&mut self, leads_to: &str, limit: &Limit) {
        let of =
            if limit.denominator_name.is_empty() { String::new() } else { format!(" of {}", limit.denominator_name) };
        let sides = match limit.sides {
            Some(Sides::One) => ", works on one side of the trunk only",
            Some(Sides::Several) => ", works on more than one side of the trunk",
            None => "",
        };
        let who = limit.who.words();
        let who = if who.is_empty() { who } else { format!(" (for {who})") };
        let what = format!("{} {}{of}{sides}{who}", limit.measure_name, limit.limit.written);
        let value = format!("{leads_to}: {what}. \"{}\"", limit.text);
        self.value(&value, &limit.from);
    }

    fn heritage(&mut self) {
        self.heading("Heritage-size trees");
        self.paragraph("  ", "designated: every tree that the inventory lists as designated, whatever its size");
        for class in &self.set.heritage.classes {
            self.value(&class_words(class), &class.from);
        }
        if let Some(stated) = self.set.heritage.stated {
            self.paragraph("  ", &stated.class_text(self.set.imperial));
            self.paragraph("      ", stated.explanation());
        }
    }

    fn protected(&mut self) {
        if !self.set.protected.classes.is_empty() {
            self.heading("Protected trees");
            for class in &self.set.protected.classes {
                self.value(&class_words(class), &class.from);
            }
        }
        if !self.set.protected.exempt.is_empty() {
            self.heading("Trees neither protected nor heritage-size, unless designated");
            for exempt in &self.set.protected.exempt {
                self.value(&format!("{}: \"{}\"", exempt.who.words(), exempt.text), &exempt.from);
            }
        }
    }

    fn replacement(&mut self) {
        if self.set.replacement.is_empty() {
            return;
        }
        self.heading(
            "Replacement (of the rules that mean a tree the first that plants and the first that pays decide)",
        );
        for rule in &self.set.replacement {
            self.value(&rule_words(rule), &rule.from);
            if let ReplacementWay::Classes(rows) = &rule.way {
                for (at, row) in rows.iter().enumerate() {
                    let words = replacement_row_words(rule, rows, at);
                    match &row.from {
                        Some(from) => self.value(&words, from),
                        None => self.paragraph("      ", &words),
                    }
                }
            }
            self.length("each tree planted at least", &rule.each_at_least);
            self.length("or each at least", &rule.or_each_at_least);
            for (most, of) in [(&rule.at_most, "for one tree"), (&rule.at_most_per_permit, "for one permit")] {
                if let Some(most) = most {
                    self.value(&format!("at most {} {of}", most.is.words()), &most.from);
                }
            }
        }
    }

    fn works(&mut self) {
        if self.set.bores.is_none() && self.set.mitigations.is_empty() {
            return;
        }
        self.heading("Works that spare roots");
        if let Some(bores) = &self.set.bores {
            let words = format!("a bore at {} or deeper; a shallower one severs", bores.deep_from.is.written);
            self.value(&words, &bores.deep_from.from);
        }
        for rule in &self.set.mitigations {
            self.value(&mitigation_words(rule), &rule.from);
        }
    }

    fn protection(&mut self) {
        let Some(rule) = &self.set.protection else { return };
        self.heading("Fences (where protection is asked for)");
        let kept = rule.reserve_ring.map(|ring| format!("; kept outside: ring {}", self.set.rings[ring].name));
        let built = rule.fence.as_ref().map(|fence| format!("; built as {fence}"));
        let words = format!("at {}{}{}", rule.fence_at.words(), kept.unwrap_or_default(), built.unwrap_or_default());
        self.value(&words, &rule.from);
    }

    fn sources(&mut self) {
        self.heading("Sources");
        for source in self.set.sources.values() {
            let address = if source.address.is_empty() { String::new() } else { format!(": {}", source.address) };
            self.paragraph("  ", &format!("{}{address}", source.name()));
        }
        self.paragraph("  ", "Status: seen = read in the authority's own text or the paper; second-hand = read in a text that quotes it; from memory = not looked up, verify it; common practice = no document to cite.");
    }
}
