//! The replacement rules of a rule file, checked.

use super::check::Checker;
use super::file::ReplacementFile;
use super::money::Amount;
use super::provenance::Provenance;
use super::replacement::{Listed, ReplacementRow, ReplacementRule, ReplacementWay};
use crate::error::Result;
use toml::Spanned;

impl Checker<'_> {
    pub(super) fn replacement(&self, files: Vec<Spanned<ReplacementFile>>) -> Result<Vec<ReplacementRule>> {
        let mut rules: Vec<ReplacementRule> = Vec::new();
        let mut currency: Option<String> = None;
        for file in files {
            let at = file.span().start;
            let rule = self.one_replacement(file.into_inner(), at)?;
            for money in rule.amounts() {
                let known = currency.get_or_insert_with(|| money.currency.clone());
                if *known != money.currency {
                    let what = format!("`{}` beside {known}; expected one currency in a set", money.written);
                    return Err(self.text.error(at, what, ""));
                }
            }
            if leave_nothing(&rules, &rule) {
                return Err(self.text.error(
                    at,
                    "no tree reaches this replacement: one before it is for all of them; expected the special case first",
                    "",
                ));
            }
            rules.push(rule);
        }
        Ok(rules)
    }

    fn one_replacement(&self, file: ReplacementFile, at: usize) -> Result<ReplacementRule> {
        self.who(&file.who, at)?;
        let sizes = file.each_at_least.iter().chain(&file.or_each_at_least).map(|size| &size.from);
        let most = file.at_most.iter().chain(&file.at_most_per_permit).map(|most| &most.from);
        for from in [&file.from].into_iter().chain(sizes).chain(most) {
            self.from(from, at)?;
        }
        let ways = [
            file.trees.map(ReplacementWay::Trees),
            file.share_of_diameter.map(ReplacementWay::ShareOfDiameter),
            file.classes.map(ReplacementWay::Classes),
            file.fee_per_length.map(ReplacementWay::FeePerLength),
            file.fee_per_tree.map(ReplacementWay::FeePerTree),
        ];
        let given = ways.iter().flatten().count();
        let Some(way) = ways.into_iter().flatten().next().filter(|_| given == 1) else {
            let what = format!(
                "a replacement has {given} ways to count it; expected exactly one of trees, share_of_diameter, classes, fee_per_length, fee_per_tree"
            );
            return Err(self.text.error(at, what, ""));
        };
        let clause_of = |from: &Provenance| format!("{} ({})", file.text, from.citation(self.sources));
        let row_clauses = match &way {
            ReplacementWay::Classes(rows) => rows.iter().map(|row| row.from.as_ref().map(clause_of)).collect(),
            _ => Vec::new(),
        };
        let rule = ReplacementRule {
            of: file.of,
            who: file.who,
            way,
            of_total: file.of_total,
            fee_is: file.fee_is.unwrap_or_default(),
            each_at_least: file.each_at_least,
            or_each_at_least: file.or_each_at_least,
            at_most: file.at_most,
            at_most_per_permit: file.at_most_per_permit,
            clause: clause_of(&file.from),
            text: file.text,
            from: file.from,
            row_clauses,
        };
        if let ReplacementWay::Classes(rows) = &rule.way {
            self.replacement_rows(rows, at)?;
        }
        match contradiction(&rule, file.fee_is.is_some()) {
            Some(what) => Err(self.text.error(at, what, "")),
            None => Ok(rule),
        }
    }

    /// Rows by ascending diameter, each of which asks something.
    fn replacement_rows(&self, rows: &[ReplacementRow], at: usize) -> Result<()> {
        let mut reached_m = 0.0;
        for (number, row) in (1..).zip(rows) {
            if let Some(from) = &row.from {
                self.from(from, at)?;
            }
            let wrong = |what: &str| Err(self.text.error(at, format!("row {number} of the classes {what}"), ""));
            if !row.plants() && row.fee.is_none() {
                return wrong(
                    "asks nothing; expected trees, share_of_diameter or fee (`trees = 0` where none is owed)",
                );
            }
            if row.or_trees.is_some() && row.trees.is_none() {
                return wrong("has or_trees without trees; expected both");
            }
            match &row.below {
                Some(below) if below.metres > reached_m => reached_m = below.metres,
                None if number == rows.len() => {}
                _ => return wrong("is out of order; expected each with a greater `below` than the one before"),
            }
            let beyond = |end: &super::quantity::Length| row.below.as_ref().is_none_or(|b| end.metres > b.metres);
            if row.printed_to.as_ref().is_some_and(beyond) {
                return wrong("is printed to beyond its end; expected printed_to at most `below`");
            }
        }
        if rows.is_empty() {
            return Err(self.text.error(at, "the classes have no row; expected at least one", ""));
        }
        Ok(())
    }
}

/// Whether rules before it, alone or those of heritage and of protected trees together, are for all trees of this one.
fn leave_nothing(earlier: &[ReplacementRule], rule: &ReplacementRule) -> bool {
    let only_of = |of: Listed| ReplacementRule { of, ..rule.clone() };
    let reached = |rule: &ReplacementRule| !earlier.iter().any(|earlier| earlier.leaves_nothing_to(rule));
    match rule.of {
        Listed::ProtectedOrHeritage => {
            !reached(rule) || !(reached(&only_of(Listed::Protected)) || reached(&only_of(Listed::Heritage)))
        }
        _ => !reached(rule),
    }
}

/// What of the keys of a rule does not fit together.
fn contradiction(rule: &ReplacementRule, fee_is_given: bool) -> Option<&'static str> {
    let classes = match &rule.way {
        ReplacementWay::Classes(rows) => Some(rows),
        _ => None,
    };
    let or_trees = classes.is_some_and(|rows| rows.iter().any(|row| row.or_trees.is_some()));
    let most = || rule.at_most.iter().chain(&rule.at_most_per_permit).map(|most| &most.is);
    if matches!(rule.way, ReplacementWay::Trees(0)) {
        return Some("the replacement plants 0 trees; expected 1 or more");
    }
    if rule.of_total && classes.is_none() {
        return Some("`of_total` fits classes only: everything else adds up by itself");
    }
    if rule.of_total && rule.at_most.is_some() {
        return Some("`at_most` is for one tree, but the table is one of totals; expected at_most_per_permit");
    }
    if or_trees != rule.or_each_at_least.is_some() {
        return Some("or_trees and or_each_at_least belong together; expected both or neither");
    }
    if rule.each_at_least.is_some() && !rule.plants() {
        return Some("`each_at_least` is the size of trees planted, but the replacement plants none");
    }
    if fee_is_given && !rule.pays() {
        return Some("`fee_is` tells how a fee stands to planting, but the replacement has no fee");
    }
    if most().any(|most| most.trees.is_none() && most.money.is_none()) {
        return Some("the most is empty; expected trees or money");
    }
    if most().any(|most| most.trees.is_some()) && !rule.plants() {
        return Some("the most is counted in trees, but the replacement plants none");
    }
    if most().any(|most| most.money.is_some()) && !rule.pays() {
        return Some("the most is counted in money, but the replacement has no fee");
    }
    None
}

impl ReplacementRule {
    /// Every amount of money in it.
    fn amounts(&self) -> Vec<&Amount> {
        let most = self.at_most.iter().chain(&self.at_most_per_permit).filter_map(|most| most.is.money.as_ref());
        let mut amounts: Vec<&Amount> = most.collect();
        match &self.way {
            ReplacementWay::Classes(rows) => amounts.extend(rows.iter().filter_map(|row| row.fee.as_ref())),
            ReplacementWay::FeePerLength(fee) => amounts.push(&fee.amount),
            ReplacementWay::FeePerTree(fee) => amounts.push(fee),
            ReplacementWay::Trees(_) | ReplacementWay::ShareOfDiameter(_) => {}
        }
        amounts
    }

    /// Whether every tree of a later rule is decided by this one already.
    fn leaves_nothing_to(&self, later: &ReplacementRule) -> bool {
        self.who.everyone()
            && self.of.covers(later.of)
            && (self.plants() || !later.plants())
            && (self.pays() || !later.pays())
    }
}
