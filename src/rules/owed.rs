//! Replacement rules applied: what is owed for one tree, and for the removed trees of one permit, with the arithmetic.
//!
//! Of the rules that mean a tree the first that plants says what to plant, and the first that pays what to pay. Diameters and
//! circumferences are taken as printed, to 2 decimals of the set's unit, so that the arithmetic can be redone by hand.

use super::RuleSet;
use super::money::{FeePerLength, Girth, Percent};
use super::quantity::SAME_LENGTH_M;
use super::replacement::{FeeIs, Listed, Most, ReplacementRow, ReplacementRule, ReplacementWay, trees_text};
use super::who::Meant;
use crate::model::owed::{Money, Owed, PermitOwed};
use crate::model::results::RowDiameter;
use crate::model::tree::Tree;
use crate::units::LengthUnit;

impl RuleSet {
    /// What is owed for a tree of this diameter if it goes; `None` where no rule of the set is for it.
    ///
    /// A class of diameters counts at its upper end, an open one at its lower bound; the arithmetic says so. The classes are those
    /// that [`RuleSet::protected_class`] and [`RuleSet::heritage_class`] give, empty where the tree reaches none.
    pub fn owed(&self, tree: &Tree, diameter: &RowDiameter, protected: &str, heritage: &str) -> Option<Owed> {
        if let (RowDiameter::Unknown(why), true) = (diameter, protected.is_empty() && heritage.is_empty()) {
            return self.owed_by_the_unknown(tree, why);
        }
        let means =
            |rule: &ReplacementRule| self.lists(rule.of, protected, heritage) && rule.who.means(tree) != Meant::No;
        let first =
            |kind: fn(&ReplacementRule) -> bool| self.replacement.iter().position(|rule| kind(rule) && means(rule));
        let (planting, fee) = (first(ReplacementRule::plants), first(ReplacementRule::pays));
        let trunk = diameter.replaced_m().map(|diameter_m| Trunk { diameter_m, imperial: self.imperial });
        let mut owed = Owed { planting_rule: planting, fee_rule: fee, ..Owed::default() };
        let mut words = Vec::new();
        let parts = match (planting, fee) {
            (None, None) => return None,
            (Some(one), Some(other)) if one == other => vec![(one, Wanted::BOTH)],
            _ => planting.map(|r| (r, Wanted::PLANTING)).into_iter().chain(fee.map(|r| (r, Wanted::FEE))).collect(),
        };
        for (rule, wanted) in parts {
            let rule = &self.replacement[rule];
            let part = rule.for_one(tree, trunk.as_ref(), diameter, wanted);
            owed.take(part, rule, &mut words);
        }
        let fee_is = fee.map(|fee| self.replacement[fee].fee_is);
        if let (Some(fee_is), true) = (fee_is, planting.is_some()) {
            owed.money_is = fee_is.word();
        }
        let joint = format!("; {} ", fee_is.unwrap_or_default().joint());
        owed.arithmetic = said_of(diameter, self.imperial) + &words.join(&joint);
        Some(owed)
    }

    fn lists(&self, of: Listed, protected: &str, heritage: &str) -> bool {
        match of {
            Listed::Any => true,
            Listed::Heritage => !heritage.is_empty(),
            Listed::Protected if self.protected.classes.is_empty() => !heritage.is_empty(),
            Listed::Protected => !protected.is_empty(),
            Listed::ProtectedOrHeritage => !protected.is_empty() || !heritage.is_empty(),
        }
    }

    /// A tree without a diameter may be protected or not: nothing can be said, and that must be.
    fn owed_by_the_unknown(&self, tree: &Tree, why: &str) -> Option<Owed> {
        let exempt = self.protected.exempt.iter().any(|exempt| exempt.who.means(tree) == Meant::Yes);
        let may = self.replacement.iter().any(|rule| rule.who.means(tree) != Meant::No);
        (may && !exempt).then(|| Owed {
            unknown: true,
            arithmetic: format!(
                "diameter not known ({why}): neither the class of the tree nor what is owed can be said; measure it"
            ),
            ..Owed::default()
        })
    }

    /// What is owed for all removed trees of one permit: the sums, tables of totals, and what the set caps per permit.
    pub fn owed_together<'o>(&self, removed: impl IntoIterator<Item = &'o Owed>) -> PermitOwed {
        let removed: Vec<&Owed> = removed.into_iter().collect();
        let count = |matches: fn(&Owed) -> bool| {
            u32::try_from(removed.iter().filter(|owed| matches(owed)).count()).unwrap_or(u32::MAX)
        };
        let mut all =
            PermitOwed { removed: count(|_| true), unknown: count(|owed| owed.unknown), ..PermitOwed::default() };
        let mut words = Vec::new();
        for (number, rule) in self.replacement.iter().enumerate() {
            let planted: Vec<&Owed> = removed.iter().copied().filter(|o| o.planting_rule == Some(number)).collect();
            let paid: Vec<&Owed> = removed.iter().copied().filter(|o| o.fee_rule == Some(number)).collect();
            let mut part = if rule.of_total {
                rule.for_total(&planted, &paid, self.imperial)
            } else {
                Part {
                    trees: planted.iter().filter_map(|owed| owed.trees).reduce(u32::saturating_add),
                    length_m: sum(planted.iter().filter_map(|owed| owed.length_m)),
                    money: sum(paid.iter().filter_map(|owed| owed.money.as_ref().map(|money| money.amount))),
                    currency: paid.iter().find_map(|owed| owed.money.as_ref().map(|money| money.currency.clone())),
                    ..Part::default()
                }
            };
            if let Some(most) = &rule.at_most_per_permit {
                part.cap(&most.is, "the permit");
            }
            words.extend(Some(std::mem::take(&mut part.words)).filter(|words| !words.is_empty()));
            all.take(part);
        }
        if all.unknown > 0 {
            words.push(format!("not known for {}: the sums are too small", trees_text(all.unknown)));
        }
        all.arithmetic = words.join("; ");
        all
    }
}

fn sum(values: impl Iterator<Item = f64>) -> Option<f64> {
    values.reduce(|a, b| a + b)
}

/// What of a rule is asked for.
#[derive(Clone, Copy)]
struct Wanted {
    planting: bool,
    fee: bool,
}

impl Wanted {
    const BOTH: Wanted = Wanted { planting: true, fee: true };
    const PLANTING: Wanted = Wanted { planting: true, fee: false };
    const FEE: Wanted = Wanted { planting: false, fee: true };
}

/// What one rule asks, and how that was worked out.
#[derive(Default)]
struct Part {
    trees: Option<u32>,
    length_m: Option<f64>,
    money: Option<f64>,
    currency: Option<String>,
    words: String,
    clause: Option<String>,
    unknown: bool,
    towards_total_m: f64,
}

impl Part {
    /// No more than the set asks at most.
    fn cap(&mut self, most: &Most, of: &str) {
        let before = (self.trees, self.money);
        self.trees = self.trees.map(|trees| most.trees.map_or(trees, |most| trees.min(most)));
        self.money = self.money.map(|money| most.money.as_ref().map_or(money, |most| money.min(most.amount)));
        if before != (self.trees, self.money) {
            let joint = if self.words.is_empty() { "" } else { ", but " };
            self.words += &format!("{joint}at most {} for {of}", most.words());
        }
    }
}

impl Owed {
    fn take(&mut self, part: Part, rule: &ReplacementRule, words: &mut Vec<String>) {
        self.trees = self.trees.or(part.trees);
        self.length_m = self.length_m.or(part.length_m);
        let money = part.money.zip(part.currency).map(|(amount, currency)| Money { amount, currency });
        self.money = self.money.take().or(money);
        self.unknown |= part.unknown;
        self.towards_total_m = self.towards_total_m.max(part.towards_total_m);
        if let (Some(least), true) = (&rule.each_at_least, self.each_at_least.is_empty()) {
            self.each_at_least.clone_from(&least.is.written);
        }
        let clause = part.clause.unwrap_or_else(|| rule.clause.clone());
        if self.clause.is_empty() {
            self.clause = clause;
        } else if self.clause != clause {
            self.clause = format!("{}; {clause}", self.clause);
        }
        words.push(part.words);
    }
}

impl PermitOwed {
    fn take(&mut self, part: Part) {
        self.trees = self.trees.into_iter().chain(part.trees).reduce(u32::saturating_add);
        self.length_m = sum(self.length_m.into_iter().chain(part.length_m));
        if let Some((amount, currency)) = part.money.zip(part.currency) {
            let before = self.money.as_ref().map_or(0.0, |money| money.amount);
            self.money = Some(Money { amount: before + amount, currency });
        }
        if part.unknown {
            // A total beyond the table: no single tree is to blame, and the sums are too small all the same.
            self.unknown = self.unknown.max(1);
        }
    }
}

/// A diameter in the unit of the set.
struct Trunk {
    diameter_m: f64,
    imperial: bool,
}

impl Trunk {
    fn unit(&self) -> LengthUnit {
        if self.imperial { LengthUnit::Inch } else { LengthUnit::Centimetre }
    }

    /// Diameter or circumference as printed, in the unit.
    fn printed(&self, girth: Girth) -> f64 {
        let length_m = match girth {
            Girth::Diameter => self.diameter_m,
            Girth::Circumference => self.diameter_m * std::f64::consts::PI,
        };
        to_hundredths(length_m / self.unit().metres())
    }

    fn printed_m(&self, girth: Girth) -> f64 {
        self.printed(girth) * self.unit().metres()
    }

    fn text(&self, value: f64) -> String {
        format!("{} {}", decimal(value), self.unit())
    }
}

/// Rounded to 2 decimals, as it is printed.
fn to_hundredths(value: f64) -> f64 {
    format!("{value:.2}").parse().expect("a printed number can be read")
}

/// With 2 decimals, or with 1 where the second is 0.
fn decimal(value: f64) -> String {
    let text = format!("{value:.2}");
    text.strip_suffix('0').unwrap_or(&text).to_string()
}

/// Whole amounts without decimals.
fn money_text(amount: f64, currency: &str) -> String {
    let text = format!("{amount:.2}");
    format!("{} {currency}", text.strip_suffix(".00").unwrap_or(&text))
}

/// What of a diameter must be said before it is used.
fn said_of(diameter: &RowDiameter, imperial: bool) -> String {
    let text = |diameter_m: f64| {
        let trunk = Trunk { diameter_m, imperial };
        trunk.text(trunk.printed(Girth::Diameter))
    };
    match *diameter {
        RowDiameter::Range { low_m, high_m, .. } => {
            format!("the upper end of {} to {}: ", text(low_m), text(high_m))
        }
        RowDiameter::AtLeast(low_m) => format!("{} or more, so at least: ", text(low_m)),
        RowDiameter::Known(_) | RowDiameter::Unknown(_) => String::new(),
    }
}

impl ReplacementRule {
    /// For one tree, with the cap for one tree and what the total of the permit takes.
    fn for_one(&self, tree: &Tree, trunk: Option<&Trunk>, diameter: &RowDiameter, wanted: Wanted) -> Part {
        let mut part = match trunk {
            Some(trunk) => self.counted(trunk, wanted),
            None => self.without_diameter(diameter),
        };
        if let Some(most) = &self.at_most {
            part.cap(&most.is, "one tree");
        }
        if self.who.means(tree) == Meant::Perhaps {
            part.words = format!("if it is {} (not known well enough): {}", self.who.words(), part.words);
        }
        if let (true, Some(trunk)) = (self.of_total, trunk) {
            let diameter = trunk.printed(Girth::Diameter);
            let words =
                format!("{} counts towards the total of the permit (alone {})", trunk.text(diameter), part.words);
            // Whether the total is within the table is not for one tree to say.
            let towards_total_m = trunk.printed_m(Girth::Diameter);
            return Part { towards_total_m, words, clause: part.clause, ..Part::default() };
        }
        part
    }

    /// The table of totals for the removed trees of one permit.
    fn for_total(&self, planted: &[&Owed], paid: &[&Owed], imperial: bool) -> Part {
        let of = if planted.is_empty() { paid } else { planted };
        let total_m: f64 = of.iter().map(|owed| owed.towards_total_m).sum();
        if total_m <= 0.0 {
            return Part::default();
        }
        let wanted = Wanted { planting: !planted.is_empty(), fee: !paid.is_empty() };
        let part = self.counted(&Trunk { diameter_m: total_m, imperial }, wanted);
        Part { words: format!("total {}", part.words), ..part }
    }

    fn without_diameter(&self, diameter: &RowDiameter) -> Part {
        match &self.way {
            ReplacementWay::Trees(trees) => Part::of_trees(*trees),
            ReplacementWay::FeePerTree(fee) => Part::of_fee(fee.money()),
            _ => {
                let why = match diameter {
                    RowDiameter::Unknown(why) => why,
                    _ => "",
                };
                Part {
                    unknown: true,
                    words: format!("diameter not known ({why}): measure the tree"),
                    ..Part::default()
                }
            }
        }
    }

    fn counted(&self, trunk: &Trunk, wanted: Wanted) -> Part {
        match &self.way {
            ReplacementWay::Trees(trees) => Part::of_trees(*trees),
            ReplacementWay::ShareOfDiameter(share) => Part::of_share(trunk, *share),
            ReplacementWay::FeePerTree(fee) => Part::of_fee(fee.money()),
            ReplacementWay::FeePerLength(fee) => Part::of_length(trunk, fee),
            ReplacementWay::Classes(rows) => self.by_class(rows, trunk, wanted),
        }
    }

    fn by_class(&self, rows: &[ReplacementRow], trunk: &Trunk, wanted: Wanted) -> Part {
        let diameter_m = trunk.printed_m(Girth::Diameter);
        let diameter = trunk.text(trunk.printed(Girth::Diameter));
        let below = |row: &ReplacementRow| row.below.as_ref().is_none_or(|end| diameter_m < end.metres - SAME_LENGTH_M);
        let Some(at) = rows.iter().position(below) else {
            let end = rows.last().and_then(|row| row.below.as_ref()).map_or("", |end| &end.written);
            let words = format!("{diameter} is beyond the table, which ends below {end}: ask the authority");
            return Part { unknown: true, words, ..Part::default() };
        };
        let row = &rows[at];
        let mut part = self.of_row(row, trunk, wanted);
        part.clause = self.row_clauses.get(at).cloned().flatten();
        let gap = row.printed_to.as_ref().filter(|end| diameter_m > end.metres + SAME_LENGTH_M);
        let gap =
            gap.map_or(String::new(), |end| format!(" (between two classes: this one is printed to {})", end.written));
        part.words = format!("{diameter}: class {}{gap}: {}", class_words(rows, at), part.words);
        part
    }

    fn of_row(&self, row: &ReplacementRow, trunk: &Trunk, wanted: Wanted) -> Part {
        let mut planting = Part::default();
        let mut words = Vec::new();
        if let (Some(trees), true) = (row.trees, wanted.planting) {
            planting.trees = Some(trees);
            words.push(self.trees_words(trees, row.or_trees));
        }
        if let (Some(share), true) = (row.share_of_diameter, wanted.planting) {
            let share = Part::of_share(trunk, share);
            planting.length_m = share.length_m;
            words.push(share.words);
        }
        planting.words = words.join(" and ");
        let Some(fee) = row.fee.as_ref().filter(|_| wanted.fee) else { return planting };
        let joint = format!(" {} ", self.fee_is.joint());
        let words: Vec<String> = [planting.words, fee.written.clone()].into_iter().filter(|w| !w.is_empty()).collect();
        Part { money: Some(fee.amount), currency: Some(fee.currency.clone()), words: words.join(&joint), ..planting }
    }

    fn trees_words(&self, trees: u32, or_trees: Option<u32>) -> String {
        let sized = |trees: u32, least: &Option<super::provenance::Sourced<super::quantity::Length>>| {
            let least = least.as_ref().map_or(String::new(), |least| format!(" of at least {}", least.is.written));
            trees_text(trees) + &least
        };
        match or_trees {
            None => trees_text(trees),
            Some(0) => sized(trees, &self.each_at_least),
            Some(others) => {
                format!("{} or {}", sized(trees, &self.each_at_least), sized(others, &self.or_each_at_least))
            }
        }
    }
}

impl Part {
    fn of_trees(trees: u32) -> Part {
        Part { trees: Some(trees), words: trees_text(trees), ..Part::default() }
    }

    fn of_fee(fee: Money) -> Part {
        let words = money_text(fee.amount, &fee.currency);
        Part { money: Some(fee.amount), currency: Some(fee.currency), words, ..Part::default() }
    }

    fn of_share(trunk: &Trunk, share: Percent) -> Part {
        let diameter = trunk.printed(Girth::Diameter);
        let length = to_hundredths(diameter * share.percent / 100.0);
        let words = format!("{} x {} % = {}", trunk.text(diameter), share.percent, trunk.text(length));
        Part { length_m: Some(length * trunk.unit().metres()), words, ..Part::default() }
    }

    fn of_length(trunk: &Trunk, fee: &FeePerLength) -> Part {
        let of = if fee.of == Girth::Circumference { " circumference" } else { "" };
        let amount = to_hundredths(trunk.printed_m(fee.of) / fee.per.metres * fee.amount.amount);
        let currency = fee.amount.currency.clone();
        let (rate, per) = (&fee.amount.written, &fee.per.written);
        let length = trunk.text(trunk.printed(fee.of));
        let words = format!("{length}{of} x {rate} per {per} = {}", money_text(amount, &currency));
        Part { money: Some(amount), currency: Some(currency), words, ..Part::default() }
    }
}

/// `below 13 in`, `13 to below 23 in`, `33 in and over`.
pub(super) fn class_words(rows: &[ReplacementRow], at: usize) -> String {
    let end = |row: &ReplacementRow| row.below.as_ref().map(|end| end.written.clone());
    let from = at.checked_sub(1).and_then(|before| end(&rows[before]));
    match (from, end(&rows[at])) {
        (None, None) => "any".to_string(),
        (None, Some(end)) => format!("below {end}"),
        (Some(from), None) => format!("{from} and over"),
        (Some(from), Some(end)) => {
            let unit =
                |text: &str| text.trim_start_matches(|c: char| c.is_ascii_digit() || c == '.').trim().to_string();
            let from =
                if unit(&from) == unit(&end) { from.trim_end_matches(&unit(&end)).trim().to_string() } else { from };
            format!("{from} to below {end}")
        }
    }
}

/// A rule in words, without its rows.
pub(super) fn rule_words(rule: &ReplacementRule) -> String {
    let counted = match &rule.way {
        ReplacementWay::Trees(trees) => format!("{} for each", trees_text(*trees)),
        ReplacementWay::ShareOfDiameter(share) => format!("{} % of the diameter", share.percent),
        ReplacementWay::Classes(_) if rule.of_total => {
            "by class of the diameters of all removed trees of a permit added up".to_string()
        }
        ReplacementWay::Classes(_) => "by class of diameter".to_string(),
        ReplacementWay::FeePerLength(fee) => fee.written.clone(),
        ReplacementWay::FeePerTree(fee) => format!("{} for each", fee.written),
    };
    let fee = match (rule.pays(), rule.fee_is) {
        (false, _) => "",
        (true, FeeIs::Instead) => ", the money instead of planting",
        (true, FeeIs::Besides) => ", the money besides planting",
    };
    let who = rule.who.words();
    let who = if who.is_empty() { who } else { format!(" ({who})") };
    format!("{}{who}: {counted}{fee}. \"{}\"", rule.of.words(), rule.text)
}

/// A row of a table in words.
pub(super) fn row_words(rule: &ReplacementRule, rows: &[ReplacementRow], at: usize) -> String {
    let row = &rows[at];
    let trees = row.trees.map(|trees| rule.trees_words(trees, row.or_trees));
    let share = row.share_of_diameter.map(|share| format!("{} % of the diameter", share.percent));
    let planting = trees.into_iter().chain(share).collect::<Vec<_>>().join(" and ");
    let fee = row.fee.as_ref().map(|fee| fee.written.clone());
    let parts: Vec<String> = Some(planting).filter(|words| !words.is_empty()).into_iter().chain(fee).collect();
    let printed = row.printed_to.as_ref().map_or(String::new(), |to| format!(" (printed to {})", to.written));
    format!("{}: {}{printed}", class_words(rows, at), parts.join(&format!(" {} ", rule.fee_is.joint())))
}
