use super::*;
use crate::model::source::SourceRef;
use crate::model::tree::Stems;

fn tree(species: &str, diameter_m: f64) -> Tree {
    Tree {
        species: species.into(),
        stems: Stems::Measured(vec![diameter_m]),
        ..Tree::only_placed("1", SourceRef { file: 0, row: 1 }, geo::Coord { x: 0.0, y: 0.0 })
    }
}

#[test]
fn built_in_sets_load() {
    for name in RuleSet::names() {
        let set = RuleSet::load(name).unwrap();
        assert_eq!(set.name, name);
        assert!(set.describe().starts_with(&format!("{name}: {}", &set.title[..40])));
    }
}

#[test]
fn every_print_out_names_status_and_stability() {
    for name in RuleSet::names() {
        let set = RuleSet::load(name).unwrap();
        let text = set.describe();
        let unwrapped = text.split_whitespace().collect::<Vec<_>>().join(" ");
        assert!(unwrapped.contains(&set.otherwise.text), "{name}");
        assert!(unwrapped.contains("within 3 trunk diameters"), "{name}");
        for limit in &set.limits {
            assert!(
                limit.clause.contains(limit.from.status.word()),
                "{name}: a clause without its status: {}",
                limit.clause
            );
        }
        assert!(
            text.lines().all(|line| line.chars().count() <= 100 || line.contains("http")),
            "{name}: a line is too long"
        );
    }
}

#[test]
fn a_print_out_lists_only_warnings_that_can_come() {
    let lists = |set: &str, code: &str| RuleSet::load(set).unwrap().describe().contains(&format!("  {code}: "));
    assert!(lists("din18920-dripline", "crown_estimated") && !lists("bs5837-2012", "crown_estimated"));
    assert!(lists("bs5837-2012", "radius_capped") && !lists("one-foot-per-inch", "radius_capped"));
    assert!(lists("as4970-2009", "ring_from_breast_height") && lists("as4970-2009", "severed_exceeds"));
}

#[test]
fn no_national_standard_is_printed_as_read() {
    for name in ["bs5837-2012", "as4970-2009", "as4970-2025", "din18920-dripline", "ras-lp4-trench"] {
        let set = RuleSet::load(name).unwrap();
        assert!(!set.source_text().contains("status = \"seen\""), "{name}");
        assert!(set.caution.contains("not read"), "{name}");
    }
}

#[test]
fn scraped_copies_are_not_given_as_addresses() {
    for name in RuleSet::names() {
        for source in RuleSet::load(name).unwrap().sources.values() {
            let scraped = source.address.contains("not a source to cite");
            assert!(!(scraped && source.address.contains("http")), "{name}: {}", source.address);
            assert!(!source.address.contains("bs5837-root-protection-area-calculation"), "{name}");
        }
    }
}

#[test]
fn values_of_common_practice_name_no_source_and_all_others_do() {
    for name in RuleSet::names() {
        let set = RuleSet::load(name).unwrap();
        let limits = set.limits.iter().map(|limit| (&limit.from, &limit.clause));
        for (from, clause) in limits.chain([(&set.otherwise.from, &set.otherwise.clause)]) {
            let practice = from.status == provenance::Status::CommonPractice;
            assert_eq!(practice, clause.ends_with("(common practice, no source)"), "{name}: {clause}");
        }
    }
}

#[test]
fn feet_and_inches_only_where_written_so() {
    let metric: Vec<&str> =
        RuleSet::names().into_iter().filter(|name| !RuleSet::load(name).unwrap().imperial).collect();
    assert_eq!(
        metric,
        [
            "bs5837-2012",
            "veteran-tree",
            "as4970-2009",
            "as4970-2025",
            "din18920-dripline",
            "ras-lp4-trench",
            "berlin",
            "ottawa",
            "toronto-city-trees",
            "toronto-ravine",
        ]
    );
}

#[test]
fn effect_sets_hold_what_by_effect_does_not() {
    let sets = |name: &str| RuleSet::load(name).unwrap().selections.iter().map(|set| set.words()).collect::<Vec<_>>();
    assert!(sets("one-foot-per-inch").is_empty());
    // A share of unsurfaced ground is a part of it.
    assert_eq!(sets("bs5837-2012"), ["seal new ground"]);
    assert_eq!(sets("din18920-dripline"), ["cut+seal+fill+compact"]);
}

#[test]
fn limits_stand_worst_first_and_flags_last() {
    let set = RuleSet::load("one-foot-per-inch").unwrap();
    let order: Vec<_> = set
        .limits
        .iter()
        .map(|limit| (limit.gives, limit.measure_name.as_str(), limit.denominator_name.as_str()))
        .collect();
    use crate::model::finding::Verdict::{Major, Moderate};
    use limit::Outcome::{Flag, Verdict};
    assert_eq!(
        order,
        [
            (Verdict(Major), "overlap", "root zone"),
            (Verdict(Major), "overlap of cut", "half ring"),
            (Verdict(Moderate), "overlap", "root zone"),
            (Flag("qualified_arborist_before_cutting"), "overlap of cut", "quarter ring"),
        ]
    );
}

#[test]
fn rings_follow_the_zone_and_never_leave_it() {
    // 24 in: radius 24 ft, rings 12 and 6 ft.
    let zone = RuleSet::load("one-foot-per-inch").unwrap().zone(&tree("", 0.6096), 0.6096);
    let radii: Vec<f64> = zone.rings.iter().map(|ring| ring.radius_m).collect();
    assert!(
        (zone.radius_m - 7.3152).abs() < 1e-12
            && (radii[0] - 3.6576).abs() < 1e-12
            && (radii[1] - 1.8288).abs() < 1e-12
    );

    // A structural ring from a very wide root crown stays within the zone: 0.64 x (10 x 50)^0.42 = 8.70 m, zone 2.4 m.
    let mut wide = tree("", 0.2);
    wide.root_crown_diameter_m = Some(10.0);
    let zone = RuleSet::load("as4970-2009").unwrap().zone(&wide, 0.2);
    assert_eq!(zone.rings[0].radius_m, zone.radius_m);
    assert!(zone.warnings.is_empty());
}

#[test]
fn what_was_assumed_is_said() {
    let as4970 = RuleSet::load("as4970-2009").unwrap();
    assert_eq!(as4970.zone(&tree("", 0.6), 0.6).warnings, ["ring_from_breast_height"]);
    assert_eq!(as4970.zone(&tree("", 2.0), 2.0).warnings, ["radius_capped", "ring_from_breast_height"]);
    // Exactly at the cap nothing is cut off.
    assert!(RuleSet::load("bs5837-2012").unwrap().zone(&tree("", 1.25), 1.25).warnings.is_empty());
}

#[test]
fn drip_line_with_crown_without_crown_and_columnar() {
    let din = RuleSet::load("din18920-dripline").unwrap();
    let mut oak = tree("Quercus robur", 0.5);
    // No crown: 12 x 0.5 m + 1.5 m.
    let zone = din.zone(&oak, 0.5);
    assert_eq!((zone.radius_m, zone.warnings.as_slice()), (7.5, ["crown_estimated"].as_slice()));
    oak.crown_radius_m = Some(4.0);
    assert_eq!(din.zone(&oak, 0.5).radius_m, 5.5);
    for columnar in [
        "Quercus robur 'Fastigiata'",
        "QUERCUS ROBUR FASTIGIATA",
        "Populus nigra Italica",
        "Säuleneiche",
        "säulen-hainbuche",
    ] {
        oak.species = columnar.into();
        let zone = din.zone(&oak, 0.5);
        assert_eq!((zone.radius_m, zone.warnings.as_slice()), (9.0, ["columnar_form"].as_slice()), "{columnar}");
    }
    for not_columnar in ["Italicaster", "Quercus robur", ""] {
        oak.species = not_columnar.into();
        assert_eq!(din.zone(&oak, 0.5).radius_m, 5.5, "{not_columnar}");
    }
}

#[test]
fn every_warning_of_the_sets_has_a_meaning() {
    let codes: Vec<&str> = warnings::WARNINGS.iter().map(|&(code, _)| code).collect();
    assert!(codes.is_sorted());
    assert!(warnings::FLAGS.iter().all(|flag| codes.contains(flag)));
    for code in ["crown_estimated", "columnar_form", "radius_capped", "ring_from_breast_height"] {
        assert!(codes.contains(&code));
    }
}

#[test]
fn heritage_by_default_size_typed_size_and_list() {
    let set = RuleSet::load("one-foot-per-inch").unwrap();
    let class = |set: &RuleSet, inches: f64| set.heritage_class(&tree("", inches * 0.0254), inches * 0.0254, false);
    assert_eq!(class(&set, 29.99), None);
    assert_eq!(class(&set, 30.0).as_deref(), Some("heritage-size (>= 30 in, default)"));
    // Stems of 12.1 and 17.9 in add up to 30 in although their binary sum may be a hair below.
    let sum_m = set.diameter_m(&tree("", 1.0), &[17.9 * 0.0254, 12.1 * 0.0254]);
    assert!(set.heritage_class(&tree("", sum_m), sum_m, false).is_some());

    let typed = set.clone().with_heritage_size(Some(0.6096));
    assert_eq!(class(&typed, 24.0).as_deref(), Some("heritage-size (>= 24 in, --heritage-size)"));
    assert_eq!(class(&typed, 23.9), None);
    let metric = RuleSet::load("bs5837-2012").unwrap().with_heritage_size(Some(0.755));
    assert_eq!(class(&metric, 30.0).as_deref(), Some("heritage-size (>= 75.5 cm, --heritage-size)"));

    let mut listed = tree("", 0.05);
    listed.designated = true;
    assert_eq!(set.heritage_class(&listed, 0.05, false).as_deref(), Some("designated"));
    listed.stems = Stems::Unknown("diameter-missing");
    assert_eq!(set.heritage_class(&listed, 0.0, false).as_deref(), Some("designated"));
}

#[test]
fn a_big_tree_in_a_coarse_inventory_stays_in_sight() {
    let set = RuleSet::load("one-foot-per-inch").unwrap();
    let inch = 0.0254;
    let class = |stems: Stems, used_in: f64, at_least: bool| {
        let mut tree = tree("", 0.1);
        tree.stems = stems;
        set.heritage_class(&tree, used_in * inch, at_least)
    };
    let at_least = |low: f64| class(Stems::AtLeast { low_m: low * inch }, low, true);
    assert_eq!(at_least(24.0).as_deref(), Some("possible (at least 24 in)"));
    assert_eq!(at_least(31.0).as_deref(), Some("heritage-size (>= 30 in, default)"));
    let range =
        |low: f64, high: f64, used: f64| class(Stems::Range { low_m: low * inch, high_m: high * inch }, used, false);
    // Whichever end was used, the class is the same.
    assert_eq!(range(25.0, 31.0, 25.0).as_deref(), Some("possible (25 in to 31 in)"));
    assert_eq!(range(25.0, 31.0, 31.0).as_deref(), Some("possible (25 in to 31 in)"));
    assert_eq!(range(7.0, 12.0, 12.0), None);
    assert_eq!(range(31.0, 36.0, 31.0).as_deref(), Some("heritage-size (>= 30 in, default)"));
    assert_eq!(class(Stems::Unknown("diameter-missing"), 0.0, false), None);
}

#[test]
fn unknown_names_are_usage_errors_with_the_nearest() {
    let error = RuleSet::load("bs5837").unwrap_err();
    assert!(matches!(error, Error::Usage { .. }));
    assert!(error.to_string().contains(&RuleSet::names().join(", ")), "{error}");
    assert_eq!(error.hint(), "did you mean bs5837-2012?");
    assert!(RuleSet::load("zzz").unwrap_err().hint().contains("rootward rules"));
    assert!(matches!(RuleSet::load("not-there.toml").unwrap_err(), Error::Io { .. }));
}

#[test]
fn files_that_are_not_rule_files_are_refused() {
    let folder = tempfile::tempdir().unwrap();
    assert!(matches!(RuleSet::load(folder.path().to_str().unwrap()).unwrap_err(), Error::Io { .. }));
    let file = folder.path().join("a.toml");
    std::fs::write(&file, [b'n', 0xff]).unwrap();
    let error = RuleSet::load(file.to_str().unwrap()).unwrap_err().to_string();
    assert!(error.contains("not UTF-8 text") && error.contains("offset 1"), "{error}");
    std::fs::write(&file, vec![b' '; 2 << 20]).unwrap();
    assert!(RuleSet::load(file.to_str().unwrap()).unwrap_err().to_string().contains("larger than"));
}

#[test]
fn a_set_goes_through_json() {
    let set = RuleSet::load("as4970-2009").unwrap();
    let json = serde_json::to_value(&set).unwrap();
    assert_eq!(json["radius"]["at_most"]["is"]["metres"], 15.0);
    assert_eq!(json["radius"]["at_most"]["from"]["status"], "second-hand");
    assert_eq!(json["limits"][0]["gives"], "major");
    assert_eq!(json["rings"][0]["way"]["power"]["exponent"], 0.42);
    assert_eq!(json["heritage"]["stated"], "default");
}

/// One foot per inch, and 2 ft per inch for beeches.
fn wider_for_beeches(take: &str) -> RuleSet {
    let text = RuleSet::load("one-foot-per-inch").unwrap().source_text().to_string();
    let part = format!(
        "[radius]\ntake = \"{take}\"\n\n[[radius.of]]\nlength_per_diameter = \"2 ft per 1 in\"\nonly = {{ genus = [\"Fagus\"] }}\n\
         from = {{ status = \"common practice\", date = 2026-11-25 }}\n\n[[radius.of]]\n"
    );
    RuleSet::from_text("a.toml", &text.replacen("[[radius.of]]\n", &part, 1)).unwrap()
}

#[test]
fn a_tree_of_no_known_species_gets_the_wider_zone() {
    let radius_m = |take: &str, species: &str| {
        let mut tree = tree(species, 0.5);
        tree.botanical = crate::model::species::Botanical {
            genus: if species == "Fagus" { "Fagus" } else { "Quercus" },
            certainty: match species {
                "" => crate::model::species::Certainty::Unmatched,
                _ => crate::model::species::Certainty::Genus,
            },
            ..Default::default()
        };
        wider_for_beeches(take).zone(&tree, 0.5).radius_m
    };
    for (take, species, expected_m) in [
        ("greatest", "Fagus", 12.0),
        ("greatest", "Quercus", 6.0),
        ("greatest", "", 12.0),
        ("least", "Fagus", 6.0),
        ("least", "", 6.0),
    ] {
        assert!((radius_m(take, species) - expected_m).abs() < 1e-9, "{take} {species:?}: {}", radius_m(take, species));
    }
}

#[test]
fn a_class_of_any_size_needs_no_diameter() {
    let set = RuleSet::load("oak-harbor").unwrap();
    let mut tree = tree("Quercus garryana", 0.5);
    tree.stems = Stems::Unknown("diameter-missing");
    tree.botanical = crate::model::species::Botanical {
        accepted: "Quercus garryana",
        genus: "Quercus",
        certainty: crate::model::species::Certainty::Exact,
        ..Default::default()
    };
    assert_eq!(set.protected_class(&tree, 0.0, false).as_deref(), Some("Garry oak"));
    tree.botanical.certainty = crate::model::species::Certainty::Genus;
    tree.botanical.accepted = "Quercus";
    let class = set.protected_class(&tree, 0.0, false).unwrap();
    assert_eq!(class, "possible (Garry oak; species not known well enough)");
    // A class with a size cannot be said to be reached.
    assert_eq!(RuleSet::load("pleasanton-texas").unwrap().protected_class(&tree, 0.0, false), None);
}

#[test]
fn a_heritage_tree_is_never_without_what_is_owed_for_it() {
    for set in RuleSet::names().into_iter().map(|name| RuleSet::load(name).unwrap()) {
        if set.replacement.is_empty() {
            continue;
        }
        let tree = tree("Quercus robur", 1.5);
        let heritage = set.heritage_class(&tree, 1.5, false).unwrap_or_default();
        let protected = set.protected_class(&tree, 1.5, false).unwrap_or_default();
        assert!(!heritage.is_empty(), "{}: 1.5 m is heritage-size under every set", set.name);
        let owed = set.owed(&tree, &crate::model::results::RowDiameter::Known(1.5), &protected, &heritage);
        assert!(owed.is_some(), "{}", set.name);
    }
}
