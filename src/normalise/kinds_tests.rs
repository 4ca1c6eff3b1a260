use super::*;
use std::io::Write;

/// Every row of the contract's table: name, effects, severs, width, radius.
#[test]
fn the_built_in_table() {
    let kinds = Kinds::built_in();
    type Row<'a> = (&'a [&'a str], &'a str, bool, Option<f64>, Option<f64>);
    let rows: &[Row] = &[
        (&["building", "foundation", "basement", "pool", "wall"], "occupy+cut+seal", true, None, None),
        (&["excavation", "grading"], "cut", true, None, None),
        (&["trench", "utility", "drain"], "cut", true, Some(0.6), None),
        (&["pier", "post", "pole"], "occupy+cut", false, None, Some(0.3)),
        (&["fill"], "fill", false, None, None),
        (&["paving", "driveway", "road", "sidewalk", "parking"], "cut+seal", false, None, None),
        (&["resurfacing"], "seal", false, None, None),
        (&["demolition", "access", "haul route", "staging", "storage", "crane pad"], "compact", false, None, None),
        (&["planting", "soil improvement by hand"], "", false, None, None),
    ];
    for (names, effects, severs, width, radius) in rows {
        for name in *names {
            let kind = kinds.find(name).unwrap_or_else(|| panic!("{name}"));
            assert_eq!(kind.name, *name);
            let (at, cuts_off) = kind.at_depth(None);
            assert_eq!(
                (at.words().as_str(), cuts_off, kind.width_m, kind.radius_m),
                (*effects, *severs, *width, *radius),
                "{name}"
            );
        }
    }
    assert_eq!(kinds.all().len(), rows.iter().map(|row| row.0.len()).sum::<usize>() + 1, "and the bore");
}

#[test]
fn depth_decides_on_bores_and_paving() {
    let kinds = Kinds::built_in();
    let bore = kinds.find("bore").unwrap();
    for (depth, words, severs) in [
        (None, "cut+bore", true),
        (Some(1.0), "cut+bore", true),
        (Some(1.37), "bore", false),
        (Some(3.0), "bore", false),
    ] {
        assert_eq!((bore.at_depth(depth).0.words().as_str(), bore.at_depth(depth).1), (words, severs), "{depth:?}");
    }
    let road = kinds.find("road").unwrap();
    for (depth, severs) in [(None, false), (Some(0.3), false), (Some(0.31), true)] {
        assert_eq!(road.at_depth(depth), (Effects::of(&[Effect::Cut, Effect::Seal]), severs), "{depth:?}");
    }
}

#[test]
fn synonyms_and_longer_texts() {
    let kinds = Kinds::built_in();
    let cases: &[(&str, Option<&str>)] = &[
        ("TRENCH", Some("trench")),
        ("Tranchée", Some("trench")),
        ("Graben", Some("trench")),
        ("DRIVE-PAV", Some("driveway")),
        ("PRKNG-UNP", Some("parking")),
        ("Haul_Route", Some("haul route")),
        ("New asphalt driveway", Some("driveway")),
        ("Temporary storage area 2", Some("storage")),
        ("Retaining wall", Some("wall")),
        ("sidewalk", Some("sidewalk")),
        ("Garage addition and new driveway", Some("building+driveway")),
        ("Demolition of existing house", Some("demolition+building")),
        ("HDD", Some("bore")),
        ("Gas fill station", None),
        ("no excavation", None),
        ("ohne Aushub", None),
        // Beside another kind nothing is taken away: the denial may end in between, and `no` is no denial in Portuguese.
        ("Neubau ohne Aushub", Some("building+excavation")),
        ("Trench: no. Paving", Some("trench+paving")),
        ("No parking, new driveway", None),
        ("Planting bed excavation", Some("excavation")),
        ("Tree planting and fireworks", None),
        ("Planning Board Special Permit", None),
        ("", None),
        ("unknown", None),
    ];
    for (written, kind) in cases {
        assert_eq!(kinds.find(written).map(|kind| kind.name.clone()).as_deref(), *kind, "{written}");
    }
    assert_eq!(
        (kinds.unknown().effects.words().as_str(), kinds.unknown().severs),
        ("occupy+cut+seal+fill+compact", true)
    );
}

/// What stands in a cell happens, all of it: effects, severing and sizes of all kinds that it names.
#[test]
fn several_kinds_in_one_cell() {
    let kinds = Kinds::built_in();
    type Row<'a> = (&'a str, &'a str, &'a str, bool, Option<f64>);
    let rows: &[Row] = &[
        ("excavation and paving", "excavation+paving", "cut+seal", true, None),
        ("Paving; excavation", "paving+excavation", "cut+seal", true, None),
        ("fill / cut", "fill+grading", "cut+fill", true, None),
        ("road resurfacing", "road+resurfacing", "cut+seal", false, None),
        ("bore, trench", "bore+trench", "cut+bore", true, Some(0.6)),
        ("demolition and staging", "demolition+staging", "compact", false, None),
        // One kind under two names, a name inside another, a material before a kind, a kind that does nothing.
        ("trench / tranchee / trench", "trench", "cut", true, Some(0.6)),
        ("parking lot and parking area", "parking", "cut+seal", false, None),
        ("concrete retaining wall and wall", "wall", "occupy+cut+seal", true, None),
        ("excavation and concrete", "excavation+paving", "cut+seal", true, None),
        ("tree planting, mulch", "planting", "", false, None),
    ];
    for &(written, name, effects, severs, width_m) in rows {
        let kind = kinds.find(written).unwrap_or_else(|| panic!("{written}"));
        let (at, cuts_off) = kind.at_depth(None);
        assert_eq!(
            (kind.name.as_str(), at.words().as_str(), cuts_off, kind.width_m),
            (name, effects, severs, width_m),
            "{written}"
        );
    }
    let both = kinds.find("road and bore").unwrap();
    assert_eq!(
        (both.at_depth(Some(0.2)).1, both.at_depth(Some(1.0)).1, both.at_depth(Some(2.0)).1),
        (true, true, true)
    );
}

#[test]
fn no_two_kinds_share_a_name() {
    let file: KindsFile = toml::from_str(BUILT_IN).unwrap();
    let mut seen: HashMap<String, String> = HashMap::new();
    for entry in file.kind {
        let entry = entry.into_inner();
        for name in entry.names.iter().chain([&entry.name]) {
            assert_eq!(*name, cell_words(name), "names are plain words");
            if let Some(other) = seen.insert(name.clone(), entry.name.clone()) {
                assert_eq!(other, entry.name, "`{name}`");
            }
        }
    }
}

fn with(text: &str) -> Result<Kinds> {
    let mut file = tempfile::NamedTempFile::new().unwrap();
    file.write_all(text.as_bytes()).unwrap();
    Kinds::with_file(file.path())
}

#[test]
fn a_citys_own_table_adds_and_changes() {
    let kinds = with(
        "[[kind]]\nname = \"trench\"\nwidth_m = 0.9\nmargin_m = 0.2\nnames = [\"Open Cut\"]\n\n[[kind]]\nname = \"boardwalk\"\neffects = [\"occupy\"]\nsevers = false\n",
    )
    .unwrap();
    let trench = kinds.find("open cut").unwrap();
    assert_eq!(
        (trench.name.as_str(), trench.width_m, trench.margin_m, trench.severs),
        ("trench", Some(0.9), 0.2, true)
    );
    assert_eq!(kinds.find("Boardwalk").unwrap().effects.words(), "occupy");
}

#[test]
fn mistakes_name_their_line() {
    let cases = [
        ("[[kind]]\nname = \"x\"\ncolour = \"red\"\n", ":3:", "colour"),
        ("[[kind]]\nname = \"x\"\neffects = [\"melt\"]\n", ":3:", "melt"),
        ("\n[[kind]]\nname = \"boardwalk\"\n", ":2:", "no effects"),
        ("[[kind]]\nname = \"trench\"\nwidth_m = -1\n", ":1:", "width_m"),
        ("[[kind]]\nname = \"trench\"\nwidth_m = nan\n", ":1:", "width_m"),
        ("[[kind]]\nname = \"unknown\"\n", ":1:", "unknown"),
        ("kind = 3\n", ":1:", "not a table of kinds"),
    ];
    for (text, line, what) in cases {
        let error = with(text).unwrap_err();
        let shown = error.to_string();
        assert!(shown.contains(line) && shown.contains(what) && !error.hint().is_empty(), "{text}: {shown}");
    }
    assert!(matches!(Kinds::with_file(Path::new("/no/such/file.toml")), Err(Error::Io { .. })));
}
