//! Replacement rules applied: what is owed for one tree, and for the removed trees of one permit, with the arithmetic.
//!
//! Of the rules that mean a tree the first that plants says what to plant, and the first that pays what to pay. Diameters and
//! circumferences are taken as printed, to 2 decimals of the set's unit, so that the arithmetic can be redone by hand.

use super::RuleSet;
use super::money::Girth;
use super::owed_part::{Part, Trunk, Wanted};
use super::replacement::{Listed, ReplacementRule, trees_text};
use super::who::Meant;
use crate::model::owed::{Money, Owed, PermitOwed};
use crate::model::results::RowDiameter;
use crate::model::tree::Tree;
use std::collections::BTreeSet;

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
        let is: BTreeSet<&str> = removed.iter().map(|owed| owed.money_is).filter(|word| !word.is_empty()).collect();
        all.money_is = is.into_iter().collect::<Vec<_>>().join("; ");
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
