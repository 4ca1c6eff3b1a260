use super::*;
use crate::model::effect::Effects;
use crate::model::source::SourceRef;
use crate::model::species::{Botanical, Tolerance};
use crate::model::tree::{LifeStage, Stems};
use crate::model::work::Lasting;
use crate::model::zone::Ring;
use std::f64::consts::PI;

fn tree(diameter_m: f64) -> Tree {
    Tree {
        stems: Stems::Measured(vec![diameter_m]),
        root_crown_diameter_m: Some(diameter_m),
        crown_radius_m: Some(5.0),
        botanical: Botanical { tolerance: Some(Tolerance::Good), ..Botanical::default() },
        life_stage: Some(LifeStage::Mature),
        ..Tree::only_placed("1", SourceRef { file: 0, row: 1 }, geo::Coord { x: 0.0, y: 0.0 })
    }
}

/// Measures for a set, in percent of the region: nothing in reach but what a test puts in.
fn measures(rules: &RuleSet, zone: &Zone) -> Overlap {
    let radii = std::iter::once(zone.radius_m).chain(zone.rings.iter().map(|ring: &Ring| ring.radius_m));
    let regions = radii.map(|radius_m| RegionAreas {
        radius_m,
        by_selection_m2: vec![0.0; rules.selections.len()],
        ..Default::default()
    });
    Overlap {
        regions: regions.collect(),
        distance_m: zone.radius_m * 0.9,
        nearest_work: 0,
        trunk_distance_m: f64::INFINITY,
        severing_distance_m: f64::INFINITY,
        widest_gap_deg: None,
        ..Overlap::default()
    }
}

struct Case {
    rules: RuleSet,
    tree: Tree,
    zone: Zone,
    overlap: Overlap,
}

impl Case {
    /// A tree of 0.6 m with nothing near.
    fn of(set: &str) -> Case {
        let rules = RuleSet::load(set).unwrap();
        Case::with(rules)
    }

    fn with(rules: RuleSet) -> Case {
        let tree = tree(0.6);
        let zone = rules.zone(&tree, 0.6);
        let overlap = measures(&rules, &zone);
        Case { rules, tree, zone, overlap }
    }

    /// Overlap of all works, percent of the region.
    fn all(mut self, region: usize, percent: f64) -> Case {
        self.overlap.regions[region].overlap_m2 = self.area(region, percent);
        self
    }

    fn effect(mut self, region: usize, effect: Effect, percent: f64) -> Case {
        let area_m2 = self.area(region, percent);
        self.overlap.regions[region].by_effect_m2[effect as usize] = area_m2;
        // A selection of that effect: where no surfaces are given all of it counts as new ground.
        for (number, selection) in self.rules.selections.iter().enumerate() {
            if selection.effects.has(effect) {
                self.overlap.regions[region].by_selection_m2[number] = area_m2;
            }
        }
        self
    }

    fn severed(mut self, percent: f64) -> Case {
        self.overlap.regions[0].severed_m2 = self.area(0, percent);
        self
    }

    fn area(&self, region: usize, percent: f64) -> f64 {
        let radius_m = self.overlap.regions[region].radius_m;
        PI * radius_m * radius_m * percent / 100.0
    }

    fn in_short(&self) -> super::Case<'_> {
        super::Case { rules: &self.rules, tree: &self.tree, zone: &self.zone, overlap: &self.overlap }
    }

    fn finding(&self) -> Finding {
        judge(&self.rules, &self.tree, &self.zone, &self.overlap, 1.0)
    }

    fn verdict(&self) -> Verdict {
        self.finding().verdict
    }
}

#[test]
fn exactly_at_a_limit_is_not_over_it() {
    let at = |percent: f64| Case::of("one-foot-per-inch").all(0, percent).verdict();
    assert_eq!(at(25.0), Verdict::Moderate);
    // 25.00004 is printed as 25.0000, 25.00006 as 25.0001.
    assert_eq!(at(25.00004), Verdict::Moderate);
    assert_eq!(at(25.00006), Verdict::Major);
    assert_eq!(at(10.0), Verdict::Minor);
    assert_eq!(at(10.0001), Verdict::Moderate);
    assert_eq!(at(0.0001), Verdict::Minor);
    // 0.00004 is printed as 0.0000: nothing that a reader could see.
    assert_eq!(at(0.00004), Verdict::Untouched);
    assert_eq!(at(0.0), Verdict::Untouched);
    assert_eq!(at(100.0), Verdict::Major);
}

#[test]
fn the_value_is_the_printed_one_with_limit_and_denominator() {
    let finding = Case::of("one-foot-per-inch").all(0, 27.412_345_6).finding();
    assert_eq!(finding.value, Some(27.4123));
    assert_eq!(
        (finding.measure.as_str(), finding.limit.as_str(), finding.denominator.as_str()),
        ("overlap", "> 25 %", "root zone")
    );
    assert_eq!(finding.clause, "more than a quarter of the root zone under works (common practice, no source)");
}

#[test]
fn a_limit_with_at_least_includes_its_value() {
    let text = RuleSet::load("one-foot-per-inch").unwrap().source_text().replace("\"> 25 %\"", "\">= 25 %\"");
    let at = |percent: f64| Case::with(RuleSet::from_text("test", &text).unwrap()).all(0, percent).verdict();
    assert_eq!((at(24.9999), at(24.99996), at(25.0)), (Verdict::Moderate, Verdict::Major, Verdict::Major));
}

#[test]
fn first_match_from_the_worst_down() {
    // 12 % in all would be moderate; a cut in the half ring makes it major, and names that clause.
    let case = Case::of("one-foot-per-inch").all(0, 12.0).effect(1, Effect::Cut, 1.5);
    let finding = case.finding();
    assert_eq!(finding.verdict, Verdict::Major);
    assert_eq!(
        (finding.measure.as_str(), finding.denominator.as_str(), finding.value),
        ("overlap of cut", "half ring", Some(1.5))
    );
    // Where both major limits are exceeded the first in the file is named.
    let finding = case.all(0, 30.0).finding();
    assert_eq!((finding.measure.as_str(), finding.value), ("overlap", Some(30.0)));
    // Paving without a cut in the half ring stays moderate.
    let sealed = Case::of("one-foot-per-inch").all(0, 12.0).effect(1, Effect::Seal, 40.0);
    assert_eq!(sealed.verdict(), Verdict::Moderate);
}

#[test]
fn every_exceeded_limit_of_a_verdict_is_told_with_the_part_of_some_works() {
    let whole = Case::of("one-foot-per-inch").all(0, 30.0).effect(1, Effect::Cut, 1.5);
    let named = |name: &str, value: f64| (name.to_string(), Some(value));
    let of = |case: &Case, verdict: Verdict| {
        let exceeded = exceeded(&case.in_short(), verdict).into_iter();
        exceeded.map(|finding| (finding.denominator, finding.value)).collect::<Vec<_>>()
    };
    assert_eq!(of(&whole, Verdict::Major), [named("root zone", 30.0), named("half ring", 1.5)]);
    // 30 % is more than a tenth as well.
    assert_eq!(of(&whole, Verdict::Moderate), [named("root zone", 30.0)]);
    let part_of = |part: &Case| {
        let exceeded = exceeded_in_part(&whole.in_short(), Verdict::Major, &part.in_short()).into_iter();
        let parts: Vec<_> = exceeded.map(|limit| (limit.finding.denominator, limit.own_pct)).collect();
        (parts, has_part_in_deciding(&whole.in_short(), &part.in_short()))
    };
    // The part has 8 % of the zone, and nothing within the half ring.
    let part = Case::of("one-foot-per-inch").all(0, 8.0);
    assert_eq!(part_of(&part), (vec![("root zone".to_string(), Some(8.0))], true));
    assert_eq!(part_of(&Case::of("one-foot-per-inch")), (vec![], false));
    let cut = Case::of("one-foot-per-inch").effect(1, Effect::Cut, 0.5);
    assert_eq!(part_of(&cut), (vec![("half ring".to_string(), Some(0.5))], false));
}

/// Two works on two sides within 3 m break a limit that looks at several sides; each of them has a part in it, a third at 4 m has none.
#[test]
fn a_length_that_several_permits_break_together_is_the_part_of_each() {
    let text = RuleSet::load("one-foot-per-inch").unwrap().source_text().replacen(
        "[[limits]]",
        "[[limits]]\nmeasure = \"distance\"\nlimit = \"< 3 m\"\nsides = \"several\"\ngives = \"major\"\ntext = \"on several sides\"\nfrom = { status = \"common practice\", date = 2026-11-28 }\n\n[[limits]]",
        1,
    );
    let at = |distances_m: &[f64], gap_deg: f64| {
        let mut case = Case::with(RuleSet::from_text("test", &text).unwrap());
        let reached = |&distance_m: &f64| Reached {
            distance_m,
            effects: Effects::of(&[Effect::Cut]),
            lasting: Lasting::Permanent,
            depth_m: None,
        };
        case.overlap.reached = distances_m.iter().map(reached).collect();
        case.overlap.widest_gap_deg = Some(gap_deg);
        case
    };
    let both = at(&[2.0, 2.5, 4.0], 120.0);
    assert_eq!(both.finding().measure, "distance");
    for (distance_m, part) in [(2.0, 1), (2.5, 1), (4.0, 0)] {
        let alone = at(&[distance_m], 300.0);
        assert_ne!(alone.finding().measure, "distance", "on one side only");
        let exceeded = exceeded_in_part(&both.in_short(), Verdict::Major, &alone.in_short());
        assert_eq!((exceeded.len(), has_part_in_deciding(&both.in_short(), &alone.in_short())), (part, part == 1));
        assert!(exceeded.iter().all(|limit| limit.own_pct.is_none()));
    }
}

#[test]
fn a_cut_in_the_quarter_ring_raises_the_stability_flag() {
    let case = Case::of("one-foot-per-inch").all(0, 1.0).effect(1, Effect::Cut, 4.0).effect(2, Effect::Cut, 0.01);
    assert_eq!(case.finding().warnings, ["qualified_arborist_before_cutting"]);
    assert!(case.effect(2, Effect::Cut, 0.0).finding().warnings.is_empty());
}

#[test]
fn a_severing_cut_within_three_diameters_is_flagged_under_every_set() {
    for set in RuleSet::names() {
        let mut case = Case::of(set);
        case.overlap.severing_distance_m = 1.8;
        let finding = case.finding();
        assert_eq!(finding.warnings, ["qualified_arborist_before_cutting"], "{set}");
        assert_eq!(finding.verdict, Verdict::Untouched, "{set}: stability is kept apart from the finding");
        case.overlap.severing_distance_m = 1.8004;
        assert!(!case.finding().warnings.is_empty(), "{set}: printed as 1.800");
        case.overlap.severing_distance_m = 1.801;
        assert!(!case.finding().warnings.contains(&"qualified_arborist_before_cutting"), "{set}");
    }
}

#[test]
fn the_trunk_itself_goes_before_every_limit() {
    let mut case = Case::of("one-foot-per-inch").all(0, 90.0);
    case.overlap.trunk_distance_m = 0.3;
    let finding = case.finding();
    assert_eq!(finding.verdict, Verdict::TrunkInWork);
    assert_eq!((finding.measure.as_str(), finding.value, finding.limit.as_str()), ("trunk", Some(0.3), "<= 0.300 m"));
    assert!(finding.warnings.contains(&"verify_on_site"));
    // Beyond the trunk's face by more than a printed millimetre: no longer in it.
    case.overlap.trunk_distance_m = 0.301;
    assert_eq!(case.verdict(), Verdict::Major);
}

#[test]
fn verify_on_site_follows_the_position_error() {
    let mut case = Case::of("bs5837-2012").all(0, 5.0);
    let warned = |case: &Case, error_m: f64| {
        judge(&case.rules, &case.tree, &case.zone, &case.overlap, error_m).warnings.contains(&"verify_on_site")
    };
    case.overlap.trunk_distance_m = 1.2;
    assert!(warned(&case, 1.0) && !warned(&case, 0.5));
    // The tree's own stated error goes before the run's.
    case.tree.position_error_m = Some(0.1);
    assert!(!warned(&case, 5.0));
    case.overlap.trunk_distance_m = f64::INFINITY;
    case.tree.position_error_m = Some(50.0);
    assert!(!warned(&case, 50.0), "nothing in reach");
}

#[test]
fn severed_passes_what_overlap_keeps() {
    let warned = |overlap: f64, severed: f64| {
        let case = Case::of("one-foot-per-inch").all(0, overlap).severed(severed);
        (case.verdict(), case.finding().warnings.contains(&"severed_exceeds"))
    };
    assert_eq!(warned(3.2, 19.6), (Verdict::Minor, true), "19.6 % passes the 10 % that 3.2 % keeps");
    assert_eq!(warned(12.0, 19.6), (Verdict::Moderate, false));
    assert_eq!(warned(12.0, 25.0001), (Verdict::Moderate, true));
    assert_eq!(warned(3.2, 10.0), (Verdict::Minor, false));
    assert_eq!(warned(30.0, 50.0), (Verdict::Major, false));
}

#[test]
fn bs5837_any_overlap_and_new_sealing() {
    assert_eq!(Case::of("bs5837-2012").all(0, 0.0001).verdict(), Verdict::Moderate);
    let sealed = |percent: f64| Case::of("bs5837-2012").all(0, percent).effect(0, Effect::Seal, percent).finding();
    assert_eq!(sealed(20.0).verdict, Verdict::Moderate);
    let major = sealed(20.0001);
    assert_eq!((major.verdict, major.measure.as_str()), (Verdict::Major, "overlap of seal"));
    assert_eq!(major.denominator, "root zone (existing surfaces not given)");
    assert!(major.clause.ends_with("(BS 5837:2012, clause 7.4.2.3; from memory)"), "{}", major.clause);
    // 60 % dug up but not sealed: moderate, says this set.
    assert_eq!(Case::of("bs5837-2012").all(0, 60.0).effect(0, Effect::Cut, 60.0).verdict(), Verdict::Moderate);
}

#[test]
fn as4970_ten_percent_and_the_structural_ring() {
    let at = |zone: f64, ring: f64| Case::of("as4970-2009").all(0, zone).all(1, ring).verdict();
    assert_eq!(at(10.0, 0.0), Verdict::Minor);
    assert_eq!(at(10.0001, 0.0), Verdict::Major);
    assert_eq!(at(3.0, 0.0001), Verdict::Major);
    assert_eq!(at(3.0, 0.00004), Verdict::Minor);
}

#[test]
fn din18920_any_of_four_effects() {
    let mut case = Case::of("din18920-dripline").all(0, 2.0);
    // Something only stands there.
    assert_eq!(case.verdict(), Verdict::Moderate);
    case.overlap.regions[0].by_selection_m2[0] = case.area(0, 2.0);
    let finding = case.finding();
    assert_eq!((finding.verdict, finding.measure.as_str()), (Verdict::Major, "overlap of cut+seal+fill+compact"));
}

#[test]
fn only_a_deep_bore_leaves_the_tree_untouched() {
    for set in RuleSet::names() {
        let mut case = Case::of(set).effect(0, Effect::Bore, 4.0);
        case.overlap.distance_m = 0.0;
        let finding = case.finding();
        assert_eq!(finding.verdict, Verdict::Untouched, "{set}");
        assert!(finding.clause.starts_with("only a deep bore"), "{set}");
        assert!(finding.warnings.is_empty(), "{set}");
    }
}

/// A set with one limit on the distance, in feet.
fn distance_rules() -> RuleSet {
    let text = RuleSet::load("one-foot-per-inch").unwrap().source_text().to_string();
    let limit = "[[limits]]\nmeasure = \"distance\"\nlimit = \"< 5 ft\"\ngives = \"major\"\ntext = \"closer than 5 ft\"\n\
                 [limits.from]\nstatus = \"common practice\"\ndate = 2026-11-25\n";
    RuleSet::from_text("test", &text.replace("[otherwise]\n", &format!("{limit}[otherwise]\n"))).unwrap()
}

#[test]
fn distances_are_judged_as_printed() {
    let at = |distance_m: f64| {
        let mut case = Case::with(distance_rules()).all(0, 1.0);
        case.overlap.reached = vec![Reached {
            effects: Effects::of(&[Effect::Seal]),
            lasting: crate::model::work::Lasting::Permanent,
            depth_m: None,
            distance_m,
        }];
        case.finding()
    };
    // 5 ft is 1.524 m.
    assert_eq!(at(1.524).verdict, Verdict::Minor);
    assert_eq!(at(1.5236).verdict, Verdict::Minor, "printed as 1.524");
    let close = at(1.5234);
    assert_eq!((close.verdict, close.measure.as_str(), close.denominator.as_str()), (Verdict::Major, "distance", ""));
    assert_eq!(close.value, Some(1.523));
}

#[test]
fn a_distance_to_a_bore_passes_no_limit() {
    let mut case = Case::with(distance_rules()).effect(0, Effect::Bore, 3.0);
    case.overlap.distance_m = 0.1;
    assert_eq!(case.verdict(), Verdict::Untouched);
}

#[test]
fn a_limit_on_severed_ground_in_a_ring_is_announced_to_measure() {
    let text = RuleSet::load("one-foot-per-inch").unwrap().source_text().replace(
        "effects = [\"cut\"]\nring = \"half\"\nlimit = \"> 0 %\"\ngives = \"major\"",
        "ring = \"half\"\nmeasure = \"severed\"\nlimit = \"> 0 %\"\ngives = \"major\"",
    );
    let text = text.replace("measure = \"overlap\"\nring = \"half\"\n", "ring = \"half\"\n");
    let rules = RuleSet::from_text("test", &text).unwrap();
    assert!(rules.severed_in_rings);
    let mut case = Case::with(rules).all(0, 1.0);
    assert_eq!(case.verdict(), Verdict::Minor);
    case.overlap.regions[1].severed_m2 = 1.0;
    let finding = case.finding();
    assert_eq!(
        (finding.verdict, finding.measure.as_str(), finding.denominator.as_str()),
        (Verdict::Major, "severed", "half ring")
    );
}

#[test]
fn a_tree_without_a_diameter_is_not_assessed() {
    let rules = RuleSet::load("bs5837-2012").unwrap();
    let at = |severing_distance_m: f64| {
        not_assessed(&rules, "diameter-missing", &Overlap { severing_distance_m, ..Overlap::default() })
    };
    let finding = at(f64::INFINITY);
    assert_eq!((finding.verdict, finding.value), (Verdict::NotAssessed, None));
    assert!(finding.clause.contains("diameter-missing") && finding.warnings.is_empty());
    // How far three diameters reach is not known.
    assert_eq!(at(2.0).warnings, ["cut_may_be_close"]);
}

/// A trunk of 0.6 m: 3 diameters are 1.8 m; with a place that may be off by 1 m, a cut 2.8 m away may lie within them.
#[test]
fn a_cut_that_may_be_close_is_told_apart_from_one_that_is() {
    for (distance_m, warned) in [
        (1.8, Some("qualified_arborist_before_cutting")),
        (1.801, Some("cut_may_be_close")),
        (2.8, Some("cut_may_be_close")),
        (2.801, None),
    ] {
        let mut case = Case::of("as4970-2009");
        case.overlap.severing_distance_m = distance_m;
        let warnings = judge(&case.rules, &case.tree, &case.zone, &case.overlap, 1.0).warnings;
        let about_cuts = |code: &&&str| ["qualified_arborist_before_cutting", "cut_may_be_close"].contains(*code);
        assert_eq!(warnings.iter().find(about_cuts).copied(), warned, "{distance_m}");
    }
}

#[test]
fn every_warning_has_a_meaning() {
    let known: Vec<&str> = crate::rules::warnings::WARNINGS.iter().map(|&(code, _)| code).collect();
    let mut case = Case::of("as4970-2009").all(0, 3.0).severed(40.0);
    case.overlap.severing_distance_m = 0.5;
    case.overlap.trunk_distance_m = 0.5;
    let warnings = case.finding().warnings;
    assert_eq!(warnings, ["qualified_arborist_before_cutting", "severed_exceeds", "verify_on_site"]);
    assert!(warnings.iter().all(|warning| known.contains(warning)));
}

#[test]
fn printed_numbers_are_those_that_text_shows() {
    assert_eq!(printed(0.000_05, 4), format!("{:.4}", 0.000_05).parse::<f64>().unwrap());
    assert_eq!(printed(2.675, 2), 2.67, "the binary number is below the half");
    assert_eq!(printed(f64::INFINITY, 3), f64::INFINITY);
}

/// New sealing of 15 % of the zone, half of which is surfaced: 30 % of what is left, over the limit of 20 %.
#[test]
fn unsurfaced_ground_is_what_new_sealing_is_a_share_of() {
    let mut case = Case::of("bs5837-2012").all(0, 40.0).effect(0, Effect::Seal, 15.0);
    assert_eq!(case.verdict(), Verdict::Moderate);
    assert!(case.finding().warnings.contains(&"surfaces_not_given"));
    case.overlap.regions[0].surfaced_m2 = Some(case.area(0, 50.0));
    let finding = case.finding();
    assert_eq!((finding.verdict, finding.value), (Verdict::Major, Some(30.0)));
    assert_eq!(finding.denominator, "unsurfaced ground of the root zone");
    assert_eq!(finding.measure, "overlap of seal");
    assert!(finding.warnings.is_empty(), "{:?}", finding.warnings);
}

#[test]
fn a_zone_that_is_wholly_surfaced_has_nothing_to_be_a_share_of() {
    let mut case = Case::of("bs5837-2012").all(0, 40.0).effect(0, Effect::Seal, 40.0);
    case.overlap.regions[0].surfaced_m2 = Some(case.area(0, 100.0));
    let finding = case.finding();
    assert_eq!(finding.verdict, Verdict::Moderate);
    assert_eq!(finding.warnings, ["zone_wholly_surfaced"]);
    // A sliver of the last digits is nothing either, and no share passes 100 %.
    case.overlap.regions[0].surfaced_m2 = Some(case.area(0, 100.0) - 0.000_04);
    assert_eq!(case.finding().warnings, ["zone_wholly_surfaced"]);
    case.overlap.regions[0].surfaced_m2 = Some(case.area(0, 99.0));
    assert_eq!(case.finding().value, Some(100.0));
}

#[test]
fn stated_mitigations_are_said_to_be_accepted_or_not() {
    use crate::model::work::{Mitigation, Mitigations};
    let mut case = Case::of("one-foot-per-inch").all(0, 12.0);
    case.overlap.not_accepted = Mitigations::of(&[Mitigation::Mats]);
    assert_eq!(case.finding().warnings, ["mitigation_not_accepted"]);
    case.overlap.accepted = Mitigations::of(&[Mitigation::NoDig]);
    assert_eq!(case.finding().warnings, ["mitigation_accepted", "mitigation_not_accepted"]);
}

#[test]
fn a_limit_that_is_not_for_these_works_or_this_tree_warns_of_nothing() {
    let source = "from = { status = \"common practice\", date = 2026-11-25 }\n\n";
    let limit = |more: &str| {
        format!(
            "[[limits]]\nmeasure = \"overlap\"\nlimit = \"> 20 %\"\ngives = \"major\"\ntext = \"a\"\n{more}{source}"
        )
    };
    let set = |more: &str| {
        let text = RuleSet::load("veteran-tree").unwrap().source_text().to_string();
        RuleSet::from_text("test", &text.replace("[otherwise]\n", &format!("{}[otherwise]\n", limit(more)))).unwrap()
    };
    let warned = |more: &str, gap_deg: f64| {
        let mut case = Case::with(set(more)).all(0, 5.0).severed(30.0);
        case.overlap.widest_gap_deg = Some(gap_deg);
        case.finding().warnings.contains(&"severed_exceeds")
    };
    assert!(warned("", 90.0));
    assert!(warned("sides = \"one\"\n", 200.0));
    assert!(!warned("sides = \"one\"\n", 90.0), "works on several sides are not held to a rule for one");
    assert!(
        !warned("who = { ground = [\"public\"], age = \">= 75 years\" }\n", 200.0),
        "nor is a tree of no known age"
    );

    let depth = limit("who = { age = \">= 75 years\" }\n").replace("overlap", "depth").replace("> 20 %", "> 6 in");
    let text = RuleSet::load("veteran-tree").unwrap().source_text().to_string();
    let rules = RuleSet::from_text("test", &text.replace("[otherwise]\n", &format!("{depth}[otherwise]\n"))).unwrap();
    let mut case = Case::with(rules).all(0, 5.0);
    let cut = Effects::of(&[Effect::Cut]);
    case.overlap.reached =
        vec![Reached { effects: cut, lasting: crate::model::work::Lasting::Permanent, depth_m: None, distance_m: 1.0 }];
    assert!(!case.finding().warnings.contains(&"depth_not_given"));
    case.tree.age_years = Some(80.0);
    assert!(case.finding().warnings.contains(&"depth_not_given"));
}
