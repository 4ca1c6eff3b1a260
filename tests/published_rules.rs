//! Published numbers against the rule sets. The numbers, their sources and their status stand in `data/published_rules.toml`.

// A test may stop at what it does not expect.
#![allow(clippy::unwrap_used)]

use rootward::model::source::SourceRef;
use rootward::model::species::{Botanical, Certainty, Group, Tolerance};
use rootward::model::tree::{LifeStage, Stems, Tree, TreeGround};
use rootward::normalise::diameter::{DiameterCell, DiameterReading, parse_diameter};
use rootward::rules::RuleSet;
use rootward::rules::limit::Outcome;
use rootward::units::{METRES_PER_FOOT, METRES_PER_INCH, SQUARE_METRES_PER_SQUARE_FOOT, parse_length_m};
use serde::Deserialize;

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Checks {
    check: Vec<Check>,
}

/// A number with a unit and a tolerance, or a text that must be the same.
#[derive(Deserialize, Debug)]
#[serde(untagged)]
enum Expected {
    Number(f64),
    Text(String),
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Check {
    set: String,
    radius: Option<String>,
    stem_rule: Option<String>,
    heritage: Option<String>,
    #[serde(default)]
    stems: Vec<String>,
    #[serde(default)]
    circumference: Vec<String>,
    root_crown: Option<String>,
    narrowest: Option<String>,
    crown_radius: Option<String>,
    height: Option<String>,
    age_years: Option<f64>,
    #[serde(default)]
    species: String,
    group: Option<String>,
    tolerance_of_species: Option<String>,
    life_stage: Option<String>,
    #[serde(default)]
    condition: String,
    ground: Option<String>,
    what: String,
    expected: Expected,
    #[serde(default)]
    tolerance: f64,
    #[serde(default)]
    unit: String,
    #[serde(default)]
    wrong: bool,
    source: String,
    status: String,
}

fn length_m(text: &String) -> f64 {
    parse_length_m(text).unwrap_or_else(|| panic!("{text} is no length"))
}

/// The word of a list, by how it is written.
fn word<T: Copy>(written: &Option<String>, words: &[(&str, T)]) -> Option<T> {
    written.as_ref().map(|written| words.iter().find(|(word, _)| word == written).expect("a known word").1)
}

fn kept(text: &str) -> &'static str {
    Box::leak(text.to_string().into_boxed_str())
}

impl Check {
    /// The built-in set, with what the check puts in its place.
    fn rules(&self) -> RuleSet {
        let rules = RuleSet::load(&self.set).unwrap();
        let mut text = rules.source_text().to_string();
        let mut put = |own: &str, new: &str| {
            assert!(text.contains(own), "only a set with the line {own} takes another");
            text = text.replace(own, new);
        };
        if let Some(radius) = &self.radius {
            put("length_per_diameter = \"1 ft per 1 in\"", radius);
            put("is = \"6 ft\"", "is = \"0.1 ft\"");
        }
        if let Some(stem_rule) = &self.stem_rule {
            put("combine = \"sum\"", stem_rule);
        }
        if let Some(heritage) = &self.heritage {
            text += &format!(
                "\n[[heritage]]\nclass = \"listed\"\n{heritage}\n[heritage.from]\nstatus = \"common practice\"\ndate = 2026-11-25\n"
            );
        }
        if text == rules.source_text() { rules } else { RuleSet::from_text("changed set", &text).unwrap() }
    }

    /// The stems, or the diameters of the circumferences as the program reads them, largest first.
    fn stems(&self) -> Vec<f64> {
        let reading = DiameterReading { unit: None, girth: true, decimal_comma: false };
        let of_girth = self.circumference.iter().map(|girth| match parse_diameter(girth, &reading) {
            DiameterCell::Stems(stems) => stems[0],
            other => panic!("{girth}: {other:?}"),
        });
        let mut stems: Vec<f64> = self.stems.iter().map(length_m).chain(of_girth).collect();
        stems.sort_by(|a, b| b.total_cmp(a));
        stems
    }

    fn botanical(&self) -> Botanical {
        let group =
            word(&self.group, &[("broadleaf", Group::Broadleaf), ("conifer", Group::Conifer), ("palm", Group::Palm)]);
        let tolerances = [("good", Tolerance::Good), ("moderate", Tolerance::Moderate), ("poor", Tolerance::Poor)];
        let certainty = if self.species.is_empty() { Certainty::Unmatched } else { Certainty::Exact };
        Botanical {
            accepted: kept(&self.species),
            genus: kept(self.species.split(' ').next().unwrap()),
            group: group.unwrap_or_default(),
            tolerance: word(&self.tolerance_of_species, &tolerances),
            certainty,
            ..Botanical::default()
        }
    }

    fn tree(&self) -> Tree {
        let stages =
            [("young", LifeStage::Young), ("mature", LifeStage::Mature), ("overmature", LifeStage::Overmature)];
        let grounds = [("public", TreeGround::Public), ("private", TreeGround::Private)];
        Tree {
            species: (&self.species).into(),
            stems: Stems::Measured(self.stems()),
            root_crown_diameter_m: self.root_crown.as_ref().map(length_m),
            crown_radius_m: self.crown_radius.as_ref().map(length_m),
            height_m: self.height.as_ref().map(length_m),
            condition: (&self.condition).into(),
            botanical: self.botanical(),
            narrowest_diameter_m: self.narrowest.as_ref().map(length_m),
            age_years: self.age_years,
            life_stage: word(&self.life_stage, &stages),
            ground: word(&self.ground, &grounds),
            ..Tree::only_placed("1", SourceRef { file: 0, row: 1 }, geo::Coord { x: 0.0, y: 0.0 })
        }
    }

    /// What the rule set gives: a number in the unit of the check, or a text.
    fn computed(&self) -> Expected {
        let (rules, tree) = (self.rules(), self.tree());
        let Stems::Measured(stems) = &tree.stems else { unreachable!() };
        let diameter_m = rules.diameter_m(&tree, stems);
        let zone = rules.zone(&tree, diameter_m);
        let or_none = |class: Option<String>| Expected::Text(class.unwrap_or_else(|| "none".to_string()));
        let value = match (self.what.as_str(), self.what.split_once(' ')) {
            (_, Some(("ring", name))) => {
                let ring = rules.rings.iter().position(|ring| ring.name == name).expect("a ring of the set");
                zone.rings[ring].radius_m
            }
            ("diameter", _) => diameter_m,
            ("radius", _) => zone.radius_m,
            ("area", _) => zone.area_m2(),
            ("bore depth", _) => rules.bores.expect("a set with a depth for bores").deep_from.is.metres,
            ("heritage", _) => return or_none(rules.heritage_class(&tree, diameter_m, false)),
            ("protected", _) => return or_none(rules.protected_class(&tree, diameter_m, false)),
            ("warnings", _) => {
                let codes = zone.warnings.join(" ");
                return or_none((!codes.is_empty()).then_some(codes));
            }
            ("limit", _) => return Expected::Text(self.limit(&rules)),
            _ => panic!("unknown measure {}", self.what),
        };
        let unit = match self.unit.as_str() {
            "m" | "m2" => 1.0,
            "mm" => 0.001,
            "cm" => 0.01,
            "in" => METRES_PER_INCH,
            "ft" => METRES_PER_FOOT,
            "ft2" => SQUARE_METRES_PER_SQUARE_FOOT,
            unit => panic!("unknown unit {unit}"),
        };
        assert_eq!(self.unit.ends_with('2'), self.what == "area", "areas in areas, lengths in lengths");
        Expected::Number(value / unit)
    }

    /// The expected limit where the set has it, else all that it has.
    fn limit(&self, rules: &RuleSet) -> String {
        let limits: Vec<String> = rules
            .limits
            .iter()
            .filter_map(|limit| match limit.gives {
                Outcome::Verdict(verdict) => {
                    let of = if limit.denominator_name.is_empty() { "" } else { " of " };
                    let (name, written) = (&limit.measure_name, &limit.limit.written);
                    Some(format!("{}: {name} {written}{of}{}", verdict.word(), limit.denominator_name))
                }
                Outcome::Flag(_) => None,
            })
            .collect();
        let wanted = limits.iter().find(|limit| matches!(&self.expected, Expected::Text(text) if text == *limit));
        wanted.cloned().unwrap_or_else(|| limits.join(" | "))
    }

    /// Rounding in the binary number must not decide at the half unit.
    fn agrees(&self, computed: &Expected) -> bool {
        match (computed, &self.expected) {
            (Expected::Number(computed), Expected::Number(expected)) => {
                (computed - expected).abs() <= self.tolerance * (1.0 + 1e-9)
            }
            (Expected::Text(computed), Expected::Text(expected)) => computed == expected,
            _ => panic!("{} of {} is no {:?}", self.what, self.set, self.expected),
        }
    }
}

#[test]
fn published_numbers_come_out_and_wrong_ones_do_not() {
    let checks: Checks = toml::from_str(include_str!("data/published_rules.toml")).unwrap();
    let mut failures = Vec::new();
    for check in &checks.check {
        assert!(
            ["seen", "second-hand", "from memory", "computed"].contains(&check.status.as_str()),
            "{}",
            check.status
        );
        assert!(!check.source.is_empty());
        let computed = check.computed();
        if check.agrees(&computed) == check.wrong {
            let must = if check.wrong { "must not be" } else { "must be" };
            failures.push(format!(
                "{} {:?}{:?} {} {}: {computed:?} {} {must} {:?} +- {} ({}; {})",
                check.set,
                check.stems,
                check.circumference,
                check.species,
                check.what,
                check.unit,
                check.expected,
                check.tolerance,
                check.source,
                check.status
            ));
        }
    }
    let wrong = checks.check.iter().filter(|check| check.wrong).count();
    assert!(
        checks.check.len() > 350 && wrong >= 9,
        "the data file has lost rows: {} with {wrong} wrong ones",
        checks.check.len()
    );
    assert!(failures.is_empty(), "{} of {} fail:\n{}", failures.len(), checks.check.len(), failures.join("\n"));
}

#[test]
fn every_set_of_a_place_has_a_published_number() {
    let checks: Checks = toml::from_str(include_str!("data/published_rules.toml")).unwrap();
    for name in RuleSet::names() {
        assert!(checks.check.iter().any(|check| check.set == name && !check.wrong), "{name}");
    }
}
