//! What is measured for the verdict alone gives the verdict of all measures, for every built-in set, with surfaces and without.

use super::*;
use crate::measure::Surfaces;
use crate::model::effect::{Effect, Effects};
use crate::model::source::SourceRef;
use crate::model::species::{Botanical, Tolerance};
use crate::model::tree::LifeStage;
use crate::model::work::{Lasting, Permit};
use geo::{MultiPolygon, Rect};
use std::collections::BTreeSet;

/// Even numbers from 0 to 1, the same in every run.
struct Dice(u64);

impl Dice {
    fn between(&mut self, low: f64, high: f64) -> f64 {
        self.0 = self.0.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        low + (self.0 >> 11) as f64 / (1u64 << 53) as f64 * (high - low)
    }

    fn ground(&mut self) -> MultiPolygon<f64> {
        let (x, y) = (self.between(-14.0, 12.0), self.between(-14.0, 12.0));
        let corner = coord! { x: x + self.between(0.5, 8.0), y: y + self.between(0.5, 8.0) };
        MultiPolygon::from(Rect::new(coord! { x: x, y: y }, corner).to_polygon())
    }

    fn work(&mut self, number: u32) -> Work {
        let effect = Effect::ALL[self.between(0.0, 6.0) as usize];
        Work {
            id: number.to_string().into(),
            source: SourceRef { file: 0, row: u64::from(number) },
            permit: 0,
            kind: "excavation".into(),
            kind_written: Default::default(),
            effects: Effects::of(&[effect]),
            severs: effect == Effect::Cut,
            depth_m: (self.between(0.0, 1.0) < 0.7).then(|| self.between(0.05, 1.0)),
            lasting: if self.between(0.0, 1.0) < 0.5 { Lasting::Permanent } else { Lasting::Temporary },
            mitigations: Vec::new(),
            accepted: Vec::new(),
            margin_m: 0.0,
            size_of_kind_m: None,
            shape: self.ground(),
            line: None,
        }
    }

    fn tree(&mut self) -> (Tree, f64) {
        let diameter_m = self.between(0.1, 1.2);
        let tree = Tree {
            stems: Stems::Measured(vec![diameter_m]),
            root_crown_diameter_m: Some(diameter_m * 1.1),
            crown_radius_m: Some(self.between(2.0, 9.0)),
            height_m: Some(self.between(5.0, 25.0)),
            botanical: Botanical { tolerance: Some(Tolerance::Good), ..Botanical::default() },
            life_stage: Some(LifeStage::Mature),
            ..Tree::only_placed("1", SourceRef { file: 0, row: 1 }, Coord { x: 0.0, y: 0.0 })
        };
        (tree, diameter_m)
    }
}

/// The works of one permit, ready to measure under a set.
fn ground_under(rules: &RuleSet, works: &[Work], surfaces: Option<&MultiPolygon<f64>>) -> Ground {
    let permit = Permit {
        id: "P".into(),
        status: String::new(),
        date: Default::default(),
        active: true,
        works_set_aside: 0,
        works: (0u32..).zip(works).map(|(number, _)| number).collect(),
    };
    let surfaces = surfaces.map(|shape| Arc::new(Surfaces::new(std::slice::from_ref(shape))));
    Ground::prepare(works, &[permit], wanted_by(rules), surfaces)
}

/// The verdict of all measures, and that of what the verdict hangs on.
fn verdicts(rules: &RuleSet, ground: &Ground, near: &[u32], (tree, diameter_m): &(Tree, f64)) -> (Verdict, Verdict) {
    let zone = rules.zone(tree, *diameter_m);
    let radii: Vec<f64> = std::iter::once(zone.radius_m).chain(zone.rings.iter().map(|ring| ring.radius_m)).collect();
    let reach_m = zone.radius_m.max(rules.farthest_limit_m(tree, *diameter_m));
    let measured =
        |asked| ground.measure(ground.permit(0), near, Trunk { asked, ..tree.place.into() }, &radii, reach_m);
    match (measured(Asked::All), measured(Asked::Verdict)) {
        (Some(all), Some(some)) => {
            (judge::judge(rules, tree, &zone, &all, 0.0).verdict, judge::verdict(rules, tree, &zone, &some))
        }
        (None, None) => (Verdict::Untouched, Verdict::Untouched),
        (all, some) => panic!("only one of the two was measured: {all:?}, {some:?}"),
    }
}

fn all_agree(rules: &RuleSet) {
    let mut dice = Dice(20_261_128);
    let mut met = BTreeSet::new();
    for scene in 0..150 {
        let works: Vec<Work> = (0..1 + scene % 5).map(|number| dice.work(number)).collect();
        let near: Vec<u32> = (0u32..).zip(&works).map(|(number, _)| number).collect();
        let surfaces = (scene % 3 == 0).then(|| dice.ground());
        let ground = ground_under(rules, &works, surfaces.as_ref());
        let (of_all, alone) = verdicts(rules, &ground, &near, &dice.tree());
        assert_eq!(of_all, alone, "{}, scene {scene}", rules.name);
        met.insert(format!("{alone:?}"));
    }
    assert!(met.len() >= 3, "{}: the scenes meet only {met:?}", rules.name);
}

#[test]
fn every_built_in_set_gives_the_same_verdict() {
    RuleSet::names().into_iter().for_each(|name| all_agree(&RuleSet::load(name).unwrap()));
}

/// Limits on single effects, on selections, in a ring, on severed and affected area, each with a verdict of its own.
#[test]
fn limits_on_everything_give_the_same_verdict() {
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("everything.toml");
    std::fs::write(&file, EVERYTHING).unwrap();
    let rules = RuleSet::load(file.to_str().unwrap()).unwrap();
    assert!(
        rules.severed_of_verdict() && rules.effects_of_verdict().contains(&true) && rules.rings_of_verdict() == [true]
    );
    all_agree(&rules);
}

const EVERYTHING: &str = r#"name = "everything"
title = "Town of Alderwick"
units = "metric"
caution = "An example."
[sources.code]
title = "Tree code"
[stems]
combine = "sum"
from = { source = "code", status = "seen", date = 2026-11-25 }
[[radius.of]]
times_diameter = 12
from = { source = "code", status = "seen", date = 2026-11-25 }
[[rings]]
name = "half"
share_of_radius = "50 %"
from = { source = "code", status = "seen", date = 2026-11-25 }
[[limits]]
measure = "severed"
ring = "half"
limit = "> 15 %"
gives = "major"
text = "a limit"
from = { source = "code", status = "seen", date = 2026-11-25 }
[[limits]]
measure = "overlap"
effects = ["cut"]
ring = "half"
limit = "> 25 %"
gives = "moderate"
text = "a limit"
from = { source = "code", status = "seen", date = 2026-11-25 }
[[limits]]
measure = "affected"
limit = "> 60 %"
gives = "moderate"
text = "a limit"
from = { source = "code", status = "seen", date = 2026-11-25 }
[[limits]]
measure = "overlap"
effects = ["fill"]
limit = "> 15 %"
gives = "moderate"
text = "a limit"
from = { source = "code", status = "seen", date = 2026-11-25 }
[[limits]]
measure = "overlap"
effects = ["cut", "seal"]
lasting = "temporary"
limit = "> 12 %"
gives = "moderate"
text = "a limit"
from = { source = "code", status = "seen", date = 2026-11-25 }
[otherwise]
gives = "minor"
text = "any"
from = { source = "code", status = "seen", date = 2026-11-25 }
"#;
