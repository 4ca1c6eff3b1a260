//! The closing summary: what a reviewer wants first.

use crate::diagnose::{say, visible_line};
use crate::summary_barriers::ShapedTrees;
use rootward::issue::Outcome;
use rootward::model::finding::Verdict;
use rootward::model::results::{Results, Row};
use rootward::model::rows::RowHead;
use rootward::model::service::Advice;
use rootward::pipeline::Screened;
use rootward::settings::Settings;
use std::collections::{BTreeMap, BTreeSet};
use std::io::IsTerminal;

/// How many of the worst trees the summary names.
const WORST_SHOWN: usize = 5;

/// Counts and the worst trees of a run.
pub struct Summary<'a> {
    screened: &'a Screened,
    out: String,
    /// What to open first, in that order.
    first: Vec<&'static str>,
    permits_with_trees: usize,
    trees_by_verdict: BTreeMap<Verdict, usize>,
    /// Heritage-size trees at risk (each tree once).
    pub heritage_at_risk: usize,
    /// Trees not assessed beside works (each tree once).
    pub not_assessed: usize,
    /// Trees with the warning of a severing cut close to the trunk (each tree once).
    cut_close: usize,
    worst: Vec<Worst>,
    set_aside: BTreeMap<&'static str, usize>,
    repaired: BTreeMap<&'static str, usize>,
}

/// A heritage-size tree at risk.
struct Worst {
    tree: String,
    species: String,
    diameter: String,
    permit: String,
    status: String,
    verdict: Verdict,
    affected_pct: f64,
    class: String,
}

impl<'a> Summary<'a> {
    /// Sums up a run.
    pub fn of(screened: &'a Screened, settings: &Settings) -> Summary<'a> {
        let sheets = settings.pages.as_ref().map(|_| "sheets/index.html in a web browser");
        let layers = (!settings.layers.is_empty()).then_some("layers/ in any GIS viewer");
        let first = sheets.into_iter().chain(["tables/heritage_at_risk.csv"]).chain(layers).collect();
        let results = &screened.results;
        let heads = || results.rows.heads().iter();
        let not_assessed = heads().filter(|row| row.verdict == Verdict::NotAssessed);
        let with_outcome = |outcome| {
            let mut codes = BTreeMap::new();
            for issue in results.issues.iter().filter(|issue| issue.outcome == outcome) {
                *codes.entry(issue.code).or_insert(0) += 1;
            }
            codes
        };
        Summary {
            screened,
            out: settings.out.display().to_string(),
            first,
            permits_with_trees: distinct(heads().map(|row| row.permit)),
            trees_by_verdict: worst_verdicts(results),
            heritage_at_risk: distinct(rows_at_risk(results).map(|(_, row)| row.tree)),
            not_assessed: distinct(not_assessed.map(|row| row.tree)),
            cut_close: distinct(heads().filter(|row| row.cut_close).map(|row| row.tree)),
            worst: worst(screened),
            set_aside: with_outcome(Outcome::SetAside),
            repaired: with_outcome(Outcome::Used),
        }
    }

    /// The summary as a person reads it.
    pub fn text(&self) -> String {
        let results = &self.screened.results;
        let (bold, plain) = if colour_on_stdout() { ("\x1b[1m", "\x1b[0m") } else { ("", "") };
        let rules = &self.screened.facts.rules;
        let mut lines = vec![
            format!("Rule set             {} ({})", visible_line(&rules.name), visible_line(&rules.title)),
            format!("Permits screened     {}, with trees in reach {}", results.permits.len(), self.permits_with_trees),
            format!("Trees in reach       {} of {} read", results.rows.trees(), self.trees_read()),
        ];
        for verdict in Verdict::ALL.into_iter().rev() {
            if let Some(count) = self.trees_by_verdict.get(&verdict) {
                lines.push(format!("  {:<19}{count}", verdict.word()));
            }
        }
        let many = if self.heritage_at_risk > WORST_SHOWN { ", the worst five:" } else { "" };
        lines.push(format!("{bold}Heritage-size trees at risk: {}{plain}{many}", self.heritage_at_risk));
        lines.extend(self.worst.iter().map(Worst::line));
        if !rules.heritage.is_empty() {
            lines.push(format!("  heritage size: {}", visible_line(&rules.heritage)));
        }
        match self.not_assessed {
            0 => {}
            1 => {
                lines.push(format!("{bold}Not assessed: 1{plain} tree beside works has no usable diameter: measure it"))
            }
            many => lines.push(format!(
                "{bold}Not assessed: {many}{plain} trees beside works have no usable diameter: measure them"
            )),
        }
        if self.cut_close > 0 {
            let have = if self.cut_close == 1 { "tree has" } else { "trees have" };
            lines.push(format!(
                "{bold}Cut close to the trunk: {}{plain} {have} a severing cut within 3 trunk diameters, whatever the finding: a qualified arborist before cutting (warnings in overlaps.csv)",
                self.cut_close
            ));
        }
        lines.extend(ShapedTrees::of(results).line());
        lines.push(format!("Replacement          {}", visible_line(&self.replacement())));
        lines.extend(self.services().map(|text| format!("Service lines        {text}")));
        lines.extend(self.records());
        lines.extend(self.said().into_iter().map(|text| format!("Note                 {text}")));
        lines.push(format!("Results              {}", visible_line(&self.out)));
        lines.push(format!("  open first         {}", self.first.join("; ")));
        lines.push(
            "Decision support for qualified people: no permit and no tree risk assessment; local codes decide."
                .to_string(),
        );
        lines.join("\n")
    }

    fn trees_read(&self) -> u64 {
        let facts = &self.screened.facts.inputs;
        let trees = facts.iter().filter(|input| input.role == rootward::model::run_facts::InputRole::Trees).count();
        self.screened.results.counts.iter().take(trees).map(|counts| counts.read).sum()
    }

    /// What is owed now under all permits, or that the set asks nothing.
    fn replacement(&self) -> String {
        let (owed, imperial) = (&self.screened.results.owed, self.screened.facts.rules.imperial);
        if owed.is_empty() {
            return self.screened.facts.rules.replacement.clone();
        }
        let permits = &self.screened.results.permits;
        let (now, inactive): (Vec<_>, Vec<_>) = owed.iter().zip(permits).partition(|(_, permit)| permit.active);
        let owed = || now.iter().map(|(owed, _)| owed);
        let removed: u32 = owed().map(|owed| owed.removed).sum();
        let unknown: u32 = owed().map(|owed| owed.unknown).sum();
        let inactive: u32 = inactive.iter().map(|(owed, _)| owed.removed).sum();
        let trees = owed().filter_map(|owed| owed.trees).reduce(|a, b| a + b);
        let length_m = owed().filter_map(|owed| owed.length_m).reduce(|a, b| a + b);
        let length = length_m.map(|length_m| match imperial {
            true => format!("{:.1} in of trunk", length_m / rootward::units::METRES_PER_INCH),
            false => format!("{:.1} cm of trunk", length_m * 100.0),
        });
        let mut parts: Vec<String> = trees.map(|trees| tree_count(trees as usize)).into_iter().chain(length).collect();
        for (is, joint) in [
            ("", ""),
            ("besides", "besides "),
            ("instead", "or instead "),
            ("besides; instead", "and, instead or besides, "),
        ] {
            let money = || owed().filter(|owed| owed.money_is == is).filter_map(|owed| owed.money.as_ref());
            if let Some(first) = money().next() {
                let amount: f64 = money().map(|money| money.amount).sum();
                parts.push(format!("{joint}{amount:.2} {}", first.currency));
            }
        }
        let asked = if parts.is_empty() { "nothing".to_string() } else { parts.join(", ") };
        let unknown = match unknown {
            0 => String::new(),
            many => format!("; not known for {many} of them, so more"),
        };
        let inactive = match inactive {
            0 => String::new(),
            many => format!("; {many} more under permits withdrawn, denied or expired are not counted"),
        };
        format!("owed now for {removed} removed (permit by permit): {asked}{unknown}{inactive}; tables/replacement.csv")
    }

    /// What is advised of service lines, by words; nothing where protection is not asked for.
    fn services(&self) -> Option<String> {
        let permits = self.screened.results.protection.as_ref()?;
        let lines = permits.iter().flat_map(|permit| &permit.services);
        let trees: Vec<Advice> = lines.clone().flat_map(|line| &line.trees).map(|tree| tree.advice).collect();
        if trees.is_empty() {
            return Some("none crosses the root zone of a tree that stays".to_string());
        }
        let counted = Advice::ALL.into_iter().filter_map(|advice| {
            let many = trees.iter().filter(|&&given| given == advice).count();
            (many > 0).then(|| format!("{} {many}", advice.words()))
        });
        Some(format!(
            "{} in root zones of trees that stay, crossings {}: {}; tables/services.csv. Locate services before you dig; the utility's rules decide",
            lines.count(),
            trees.len(),
            counted.collect::<Vec<_>>().join(" | ")
        ))
    }

    fn records(&self) -> Vec<String> {
        let listed = |codes: &BTreeMap<&'static str, usize>| {
            codes.iter().map(|(code, count)| format!("{code} {count}")).collect::<Vec<_>>().join(", ")
        };
        let mut lines = Vec::new();
        let total: usize = self.set_aside.values().sum();
        if total > 0 {
            lines.push(format!("Records set aside    {total}: {}", listed(&self.set_aside)));
        } else {
            lines.push("Records set aside    none".to_string());
        }
        if !self.repaired.is_empty() {
            lines.push(format!("Used with a remark   {}", listed(&self.repaired)));
        }
        lines
    }

    /// Defaults and assumptions that a reader must know.
    fn said(&self) -> Vec<String> {
        let facts = &self.screened.facts;
        let notes =
            facts.inputs.iter().flat_map(|input| input.notes.iter().map(move |note| format!("{}: {note}", input.name)));
        // The default heritage size has its own line.
        let defaults = facts.defaults.iter().filter(|text| **text != facts.rules.heritage).cloned();
        defaults.chain(notes).map(|text| visible_line(&text)).collect()
    }

    /// The summary for machines.
    pub fn json(&self) -> String {
        let results = &self.screened.results;
        let verdicts: serde_json::Map<String, serde_json::Value> = self
            .trees_by_verdict
            .iter()
            .map(|(verdict, count)| (verdict.word().to_string(), (*count).into()))
            .collect();
        let mut value = serde_json::json!({
            "rule_set": self.screened.facts.rules.name,
            "permits": results.permits.len(),
            "permits_with_trees": self.permits_with_trees,
            "trees_read": self.trees_read(),
            "trees_in_reach": results.rows.trees(),
            "trees_by_worst_finding": verdicts,
            "heritage_at_risk": self.heritage_at_risk,
            "not_assessed": self.not_assessed,
            "cut_close_to_the_trunk": self.cut_close,
            "heritage_size": self.screened.facts.rules.heritage,
            "replacement": self.replacement(),
            "service_lines": self.services(),
            "notes": self.said(),
            "cautions": self.screened.facts.cautions,
            "worst": self.worst.iter().map(Worst::json).collect::<Vec<_>>(),
            "set_aside": self.set_aside,
            "used_with_a_remark": self.repaired,
            "out": self.out,
        });
        if self.screened.facts.barriers_given() {
            value["zones_shaped_by_barriers"] = ShapedTrees::of(results).json();
        }
        value.to_string()
    }
}

impl Worst {
    fn line(&self) -> String {
        let status = if self.status.is_empty() { String::new() } else { format!(" ({})", self.status) };
        // The common class is on the line below the list.
        let class = if self.class.starts_with("heritage-size") { String::new() } else { format!(" [{}]", self.class) };
        let Worst { tree, species, diameter, permit, affected_pct, .. } = self;
        let finding = self.verdict.word();
        format!(
            "  {finding:<13} {tree} {species} {diameter}, permit {permit}{status}: {affected_pct:.1} % of the root zone affected{class}"
        )
    }

    fn json(&self) -> serde_json::Value {
        serde_json::json!({
            "tree_id": self.tree, "species": self.species, "permit_id": self.permit, "permit_status": self.status,
            "finding": self.verdict.word(), "affected_pct": (self.affected_pct * 10_000.0).round() / 10_000.0,
            "heritage_class": self.class,
        })
    }
}

/// Rows of heritage-size trees at risk with the permit's name; `(together)` for those at risk only together.
fn rows_at_risk(results: &Results) -> impl Iterator<Item = (Named<'_>, RowHead)> {
    let alone = results.rows.heads().iter().filter(|row| row.at_risk());
    let alone = alone.map(|row| (Named::Alone(&results.permits[row.permit as usize].id), *row));
    let together = results.together.iter().filter(|found| found.at_risk_only_together);
    alone.chain(together.map(|found| (Named::Together(&found.row), found.row.head())))
}

/// What a row at risk is of.
#[derive(Clone, Copy)]
enum Named<'a> {
    /// One permit, of this id.
    Alone(&'a str),
    /// Several permits, of which this is the row.
    Together(&'a Row),
}

/// How many numbers there are, each counted once.
fn distinct(numbers: impl Iterator<Item = u32>) -> usize {
    let mut numbers: Vec<u32> = numbers.collect();
    numbers.sort_unstable();
    numbers.dedup();
    numbers.len()
}

/// Each tree once, under its worst row.
fn worst(screened: &Screened) -> Vec<Worst> {
    let results = &screened.results;
    let mut rows: Vec<(Named, RowHead)> = rows_at_risk(results).collect();
    // What stands under a permit that is withdrawn, denied or expired comes last: nobody builds it now.
    let inactive = |row: &RowHead| !results.permits[row.permit as usize].active;
    rows.sort_by(|(_, a), (_, b)| {
        inactive(a).cmp(&inactive(b)).then_with(|| a.worse_first(b)).then(a.tree.cmp(&b.tree))
    });
    let mut seen = BTreeSet::new();
    rows.retain(|(_, row)| seen.insert(row.tree));
    rows.into_iter().take(WORST_SHOWN).map(|(of, row)| named(screened, of, &row)).collect()
}

fn named(screened: &Screened, of: Named, head: &RowHead) -> Worst {
    let read;
    let (permit, row) = match of {
        Named::Together(row) => ("(together)", Some(row)),
        Named::Alone(permit) => {
            // The results are in place: what cannot be told of them any more is no failure of the run.
            read = screened.results.rows.read(head).map_err(|error| say(&format!("warning: {error}"))).ok();
            (permit, read.as_ref())
        }
    };
    let diameter = row.and_then(|row| row.diameter.used_m()).map_or_else(String::new, |diameter_m| {
        if screened.facts.rules.imperial {
            format!("{:.1} in", diameter_m / rootward::units::METRES_PER_INCH)
        } else {
            format!("{:.0} cm", diameter_m * 100.0)
        }
    });
    Worst {
        tree: row.map_or_else(String::new, |row| visible_line(&row.of.id)),
        species: row.map_or_else(String::new, |row| visible_line(&row.of.species)),
        diameter,
        permit: visible_line(permit),
        status: visible_line(&screened.results.permits[head.permit as usize].status),
        verdict: head.verdict,
        affected_pct: head.affected_share * 100.0,
        class: row.map_or_else(String::new, |row| visible_line(&row.heritage_class)),
    }
}

/// Trees by the worst finding of their rows.
fn worst_verdicts(results: &Results) -> BTreeMap<Verdict, usize> {
    let mut worst = vec![None; results.rows.trees()];
    for row in results.rows.heads() {
        let known = &mut worst[row.tree as usize];
        *known = (*known).max(Some(row.verdict));
    }
    let mut counts = BTreeMap::new();
    for verdict in worst.into_iter().flatten() {
        *counts.entry(verdict).or_insert(0) += 1;
    }
    counts
}

fn colour_on_stdout() -> bool {
    std::io::stdout().is_terminal() && std::env::var_os("NO_COLOR").is_none_or(|value| value.is_empty())
}

/// `1 tree`, `2 trees`.
pub fn tree_count(trees: usize) -> String {
    match trees {
        1 => "1 tree".to_string(),
        many => format!("{many} trees"),
    }
}
