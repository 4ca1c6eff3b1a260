use super::*;

fn facts(written: &str, depth_m: Option<f64>) -> (String, String, bool) {
    let facts = Kinds::built_in().facts(written, depth_m);
    (facts.name, facts.effects.words(), facts.severs)
}

/// The table of the program's contract, row by row: kind, effects, severs.
#[test]
fn every_kind_does_what_the_table_says() {
    let cases: &[(&str, Option<f64>, &str, bool)] = &[
        ("building", None, "occupy+cut+seal", true),
        ("foundation", None, "occupy+cut+seal", true),
        ("basement", None, "occupy+cut+seal", true),
        ("pool", None, "occupy+cut+seal", true),
        ("wall", None, "occupy+cut+seal", true),
        ("excavation", None, "cut", true),
        ("grading (cut)", None, "cut", true),
        ("trench", None, "cut", true),
        ("utility", None, "cut", true),
        ("drain", None, "cut", true),
        ("pier", None, "occupy+cut", false),
        ("post", None, "occupy+cut", false),
        ("pole", None, "occupy+cut", false),
        ("bore", None, "cut+bore", true),
        ("bore", Some(1.0), "cut+bore", true),
        ("bore", Some(1.3716), "bore", false),
        ("fill", None, "fill", false),
        ("paving", None, "cut+seal", false),
        ("driveway", Some(0.3), "cut+seal", false),
        ("road", Some(0.31), "cut+seal", true),
        ("sidewalk", None, "cut+seal", false),
        ("parking", None, "cut+seal", false),
        ("resurfacing", None, "seal", false),
        ("demolition", None, "compact", false),
        ("access", None, "compact", false),
        ("haul route", None, "compact", false),
        ("staging", None, "compact", false),
        ("storage", None, "compact", false),
        ("crane pad", None, "compact", false),
        ("planting", None, "", false),
        ("soil improvement by hand", None, "", false),
    ];
    for &(written, depth_m, effects, severs) in cases {
        let (name, got, cuts) = facts(written, depth_m);
        assert_eq!((got.as_str(), cuts), (effects, severs), "{written} at {depth_m:?} became {name}");
    }
    let kinds = Kinds::built_in();
    assert_eq!(kinds.facts("trench", None).width_m, Some(0.6));
    assert_eq!(kinds.facts("bore", None).width_m, Some(0.3));
    assert_eq!(kinds.facts("post", None).radius_m, Some(0.3));
    assert_eq!(kinds.facts("wall", None).width_m, None);
}

#[test]
fn words_of_permit_files_find_their_kind() {
    let cases = [
        ("NEW SINGLE FAMILY HOUSE", "building"),
        ("Retaining Wall", "wall"),
        ("Leitungsgraben", "trench"),
        ("Gebäude", "building"),
        // The worst of what is named counts.
        ("paving and tree planting", "paving"),
        ("demolition, then new house", "building"),
        ("resurfacing of parking lot", "parking"),
        ("quantum works", "unknown"),
        ("", "unknown"),
    ];
    for (written, name) in cases {
        assert_eq!(facts(written, None).0, name, "{written}");
    }
    assert_eq!(facts("quantum works", None), ("unknown".to_string(), "cut".to_string(), true));
}

#[test]
fn a_file_of_ones_own_goes_first_and_says_where_it_is_wrong() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("kinds.toml");
    std::fs::write(&path, "[[kind]]\nname = \"wall\"\neffects = [\"occupy\"]\nsevers = false\nwidth_m = 0.2\nsynonyms = [\"gabion\"]\n").unwrap();
    let kinds = Kinds::with_file(&path).unwrap();
    assert_eq!(kinds.facts("gabion", None).name, "wall");
    assert!(!kinds.facts("wall", None).severs);
    assert_eq!(kinds.facts("trench", None).name, "trench");

    std::fs::write(&path, "[[kind]]\nname = \"wall\"\neffects = [\"occupy\"]\nsevers = false\nwidht_m = 0.2\n").unwrap();
    let error = Kinds::with_file(&path).unwrap_err().to_string();
    assert!(error.contains("kinds.toml:5:1") && error.contains("widht_m"), "{error}");
    std::fs::write(&path, "[[kind]]\nname = \"wall\"\neffects = [\"shout\"]\nsevers = false\n").unwrap();
    assert!(Kinds::with_file(&path).unwrap_err().to_string().contains("kinds.toml:3"));
    std::fs::write(&path, "[[kind]]\nname = \"wall\"\neffects = []\nsevers = false\nwidth_m = -1\n").unwrap();
    assert!(Kinds::with_file(&path).is_err());
}
