//! Published numbers against the rule sets. The numbers, their sources and their status stand in `data/published_rules.toml`.

// A test may stop at what it does not expect.
#![allow(clippy::unwrap_used)]

use rootward::model::source::SourceRef;
use rootward::model::species::Botanical;
use rootward::model::tree::{Stems, Tree};
use rootward::rules::RuleSet;
use rootward::units::{METRES_PER_FOOT, METRES_PER_INCH, SQUARE_METRES_PER_SQUARE_FOOT, parse_length_m};
use serde::Deserialize;

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Checks {
    check: Vec<Check>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Check {
    set: String,
    radius: Option<String>,
    stems: Vec<String>,
    root_crown: Option<String>,
    what: String,
    expected: f64,
    tolerance: f64,
    unit: String,
    #[serde(default)]
    wrong: bool,
    source: String,
    status: String,
}

impl Check {
    fn rules(&self) -> RuleSet {
        let rules = RuleSet::load(&self.set).unwrap();
        let Some(radius) = &self.radius else { return rules };
        let own = "length_per_diameter = \"1 ft per 1 in\"";
        assert!(rules.source_text().contains(own), "only a set with this line takes another radius");
        let text = rules.source_text().replace(own, radius).replace("is = \"6 ft\"", "is = \"0.1 ft\"");
        RuleSet::from_text("changed set", &text).unwrap()
    }

    fn tree(&self) -> Tree {
        let mut stems: Vec<f64> = self.stems.iter().map(|stem| parse_length_m(stem).unwrap()).collect();
        stems.sort_by(|a, b| b.total_cmp(a));
        Tree {
            id: "1".to_string(),
            source: SourceRef { file: 0, row: 1 },
            place: geo::Coord { x: 0.0, y: 0.0 },
            species: String::new(),
            stems: Stems::Measured(stems),
            rounding_m: 0.0,
            root_crown_diameter_m: self.root_crown.as_ref().map(|length| parse_length_m(length).unwrap()),
            crown_radius_m: None,
            height_m: None,
            condition: String::new(),
            owner: String::new(),
            disposition: None,
            botanical: Botanical::default(),
            narrowest_diameter_m: None,
            age_years: None,
            life_stage: None,
            ground: None,
            designated: false,
            position_error_m: None,
        }
    }

    /// What the rule set gives, in the unit of the check.
    fn computed(&self) -> f64 {
        let (rules, tree) = (self.rules(), self.tree());
        let Stems::Measured(stems) = &tree.stems else { unreachable!() };
        let diameter_m = rules.diameter_m(&tree, stems);
        let zone = rules.zone(&tree, diameter_m);
        let value = match self.what.split_once(' ') {
            Some(("ring", name)) => {
                let ring = rules.rings.iter().position(|ring| ring.name == name).expect("a ring of the set");
                zone.rings[ring].radius_m
            }
            None if self.what == "diameter" => diameter_m,
            None if self.what == "radius" => zone.radius_m,
            None if self.what == "area" => zone.area_m2(),
            _ => panic!("unknown measure {}", self.what),
        };
        let unit = match self.unit.as_str() {
            "m" | "m2" => 1.0,
            "mm" => 0.001,
            "in" => METRES_PER_INCH,
            "ft" => METRES_PER_FOOT,
            "ft2" => SQUARE_METRES_PER_SQUARE_FOOT,
            unit => panic!("unknown unit {unit}"),
        };
        assert_eq!(self.unit.ends_with('2'), self.what == "area", "areas in areas, lengths in lengths");
        value / unit
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
        // Rounding in the binary number must not decide at the half unit.
        let agrees = (computed - check.expected).abs() <= check.tolerance * (1.0 + 1e-9);
        if agrees == check.wrong {
            let must = if check.wrong { "must not be" } else { "must be" };
            failures.push(format!(
                "{} {:?} {}: {computed} {} {must} {} +- {} ({}; {})",
                check.set,
                check.stems,
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
        checks.check.len() > 150 && wrong >= 4,
        "the data file has lost rows: {} with {wrong} wrong ones",
        checks.check.len()
    );
    assert!(failures.is_empty(), "{} of {} fail:\n{}", failures.len(), checks.check.len(), failures.join("\n"));
}
