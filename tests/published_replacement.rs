//! Published replacement rules against the rule language. The numbers, their sources and their status stand in
//! `data/published_replacement.toml`, the rules as a rule file writes them in `data/replacement/`.

// A test may stop at what it does not expect.
#![allow(clippy::unwrap_used)]

use rootward::model::owed::{Owed, PermitOwed};
use rootward::model::results::RowDiameter;
use rootward::model::source::SourceRef;
use rootward::model::species::{Botanical, Certainty};
use rootward::model::tree::{Stems, Tree};
use rootward::rules::RuleSet;
use rootward::units::{METRES_PER_INCH, parse_length_m};
use serde::Deserialize;
use std::path::Path;

/// The rest of a set, so that replacement rules can stand in one. Every tree of 1 in is protected and heritage-size.
const REST: &str = r#"name = "published-replacement"
title = "A set for checks"
units = "feet-and-inches"
caution = "For checks only."
[stems]
combine = "sum"
from = { status = "common practice", date = 2026-11-25 }
[[radius.of]]
times_diameter = 12
from = { status = "common practice", date = 2026-11-25 }
[otherwise]
gives = "minor"
text = "any"
from = { status = "common practice", date = 2026-11-25 }
[[protected]]
class = "protected"
size = ">= 1 in"
from = { status = "common practice", date = 2026-11-25 }
[[heritage]]
class = "heritage"
size = ">= 1 in"
from = { status = "common practice", date = 2026-11-25 }
"#;

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Checks {
    check: Vec<Check>,
}

#[derive(Deserialize, Debug)]
#[serde(deny_unknown_fields)]
struct Check {
    rules: String,
    removed: Vec<String>,
    #[serde(default)]
    girth: bool,
    #[serde(default)]
    species: String,
    trees: Option<u32>,
    length_in: Option<f64>,
    money: Option<f64>,
    #[serde(default)]
    unknown: bool,
    #[serde(default)]
    total: bool,
    arithmetic: Option<String>,
    source: String,
    status: String,
}

fn folder() -> std::path::PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/data/replacement")
}

fn rules(name: &str) -> RuleSet {
    let text = std::fs::read_to_string(folder().join(format!("{name}.toml"))).unwrap();
    RuleSet::from_text(name, &format!("{REST}{text}")).unwrap_or_else(|error| panic!("{error} {}", error.hint()))
}

/// As the botanical table would give it; unmatched where no species is named.
fn botanical(species: &str) -> Botanical {
    let known = |accepted, genus| Botanical { accepted, genus, certainty: Certainty::Exact, ..Botanical::default() };
    match species {
        "" => Botanical::default(),
        "Acer rubrum" => known("Acer rubrum", "Acer"),
        "Quercus virginiana" => known("Quercus virginiana", "Quercus"),
        other => panic!("{other} is not in this list"),
    }
}

fn tree(species: &str, diameter_m: f64) -> Tree {
    Tree {
        species: species.into(),
        stems: Stems::Measured(vec![diameter_m]),
        botanical: botanical(species),
        ..Tree::only_placed("1", SourceRef { file: 0, row: 1 }, geo::Coord { x: 0.0, y: 0.0 })
    }
}

impl Check {
    fn owed(&self, rules: &RuleSet) -> Vec<Owed> {
        let one = |length: &String| {
            let length_m = parse_length_m(length).unwrap();
            let diameter_m = if self.girth { length_m / std::f64::consts::PI } else { length_m };
            let tree = tree(&self.species, diameter_m);
            let protected = rules.protected_class(&tree, diameter_m, false).unwrap_or_default();
            let heritage = rules.heritage_class(&tree, diameter_m, false).unwrap_or_default();
            rules.owed(&tree, &RowDiameter::Known(diameter_m), &protected, &heritage).expect("a rule for the tree")
        };
        self.removed.iter().map(one).collect()
    }

    fn agrees(&self, one: &Owed, all: &PermitOwed) -> bool {
        let same = |a: Option<f64>, b: Option<f64>| match (a, b) {
            (Some(a), Some(b)) => (a - b).abs() < 1e-6,
            (a, b) => a == b,
        };
        let arithmetic = if self.total { &all.arithmetic } else { &one.arithmetic };
        all.trees == self.trees
            && same(all.length_m.map(|length_m| length_m / METRES_PER_INCH), self.length_in)
            && same(all.money.as_ref().map(|money| money.amount), self.money)
            && (all.unknown > 0) == self.unknown
            && self.arithmetic.as_ref().is_none_or(|expected| arithmetic.starts_with(expected.as_str()))
    }
}

#[test]
fn published_numbers_come_out() {
    let checks: Checks = toml::from_str(include_str!("data/published_replacement.toml")).unwrap();
    let mut failures = Vec::new();
    for check in &checks.check {
        assert!(["seen", "second-hand", "computed"].contains(&check.status.as_str()), "{}", check.status);
        assert!(!check.source.is_empty());
        let rules = rules(&check.rules);
        let owed = check.owed(&rules);
        let all = rules.owed_together(&owed);
        if !check.agrees(&owed[0], &all) {
            failures.push(format!("{check:?}\n  one {:?}\n  all {all:?}", owed[0]));
        }
    }
    assert!(checks.check.len() > 70, "the data file has lost rows: {}", checks.check.len());
    assert!(failures.is_empty(), "{} fail:\n{}", failures.len(), failures.join("\n"));
}

/// Every file is used, and what is printed of it names each value's status.
#[test]
fn every_file_is_checked_and_described() {
    let data = include_str!("data/published_replacement.toml");
    let mut files = 0;
    for entry in std::fs::read_dir(folder()).unwrap() {
        let name = entry.unwrap().path().file_stem().unwrap().to_string_lossy().into_owned();
        assert!(data.contains(&format!("rules = \"{name}\"")), "{name} has no check");
        let rules = rules(&name);
        let page = rules.describe();
        let words = page.split_whitespace().collect::<Vec<_>>().join(" ");
        for rule in &rules.replacement {
            assert!(words.contains(&rule.text), "{name}: {}", rule.text);
            assert!(rule.clause.contains(rule.from.status.word()), "{name}: {}", rule.clause);
        }
        assert!(page.lines().all(|line| line.chars().count() <= 100 || line.contains("http")), "{name}:\n{page}");
        files += 1;
    }
    assert!(files >= 13, "{files} files");
}
