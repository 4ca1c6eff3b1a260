//! One replacement rule applied to one diameter: what it asks, and the arithmetic in words.

use super::describe_replacement::class_words;
use super::money::{FeePerLength, Girth, Percent};
use super::provenance::Sourced;
use super::quantity::{Length, SAME_LENGTH_M};
use super::replacement::{Most, ReplacementRow, ReplacementRule, ReplacementWay, trees_text};
use super::who::Meant;
use crate::model::owed::{Money, Owed};
use crate::model::results::RowDiameter;
use crate::model::tree::Tree;
use crate::units::LengthUnit;

/// What of a rule is asked for.
#[derive(Clone, Copy)]
pub(super) struct Wanted {
    pub planting: bool,
    pub fee: bool,
}

impl Wanted {
    pub const BOTH: Wanted = Wanted { planting: true, fee: true };
    pub const PLANTING: Wanted = Wanted { planting: true, fee: false };
    pub const FEE: Wanted = Wanted { planting: false, fee: true };
}

/// What one rule asks, and how that was worked out.
#[derive(Default)]
pub(super) struct Part {
    pub trees: Option<u32>,
    pub length_m: Option<f64>,
    pub money: Option<f64>,
    pub currency: Option<String>,
    pub words: String,
    pub clause: Option<String>,
    pub unknown: bool,
    pub towards_total_m: f64,
}

impl Part {
    /// No more than the set asks at most.
    pub(super) fn cap(&mut self, most: &Most, of: &str) {
        let before = (self.trees, self.money);
        self.trees = self.trees.map(|trees| most.trees.map_or(trees, |most| trees.min(most)));
        self.money = self.money.map(|money| most.money.as_ref().map_or(money, |most| money.min(most.amount)));
        if before != (self.trees, self.money) {
            let joint = if self.words.is_empty() { "" } else { ", but " };
            self.words += &format!("{joint}at most {} for {of}", most.words());
        }
    }
}

/// A diameter in the unit of the set.
pub(super) struct Trunk {
    pub diameter_m: f64,
    pub imperial: bool,
}

impl Trunk {
    fn unit(&self) -> LengthUnit {
        if self.imperial { LengthUnit::Inch } else { LengthUnit::Centimetre }
    }

    /// Diameter or circumference as printed, in the unit.
    pub(super) fn printed(&self, girth: Girth) -> f64 {
        let length_m = match girth {
            Girth::Diameter => self.diameter_m,
            Girth::Circumference => self.diameter_m * std::f64::consts::PI,
        };
        to_hundredths(length_m / self.unit().metres())
    }

    fn printed_m(&self, girth: Girth) -> f64 {
        self.printed(girth) * self.unit().metres()
    }

    pub(super) fn text(&self, value: f64) -> String {
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

impl ReplacementRule {
    /// For one tree, with the cap for one tree and what the total of the permit takes.
    pub(super) fn for_one(&self, tree: &Tree, trunk: Option<&Trunk>, diameter: &RowDiameter, wanted: Wanted) -> Part {
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
    pub(super) fn for_total(&self, planted: &[&Owed], paid: &[&Owed], imperial: bool) -> Part {
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

    pub(super) fn trees_words(&self, trees: u32, or_trees: Option<u32>) -> String {
        let sized = |trees: u32, least: &Option<Sourced<Length>>| {
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
