use super::*;
use crate::model::tree::{Disposition, LifeStage, TreeGround};
use crate::normalise::columns::tests::record;
use std::collections::BTreeMap;

const SOURCE: SourceRef = SourceRef { file: 0, row: 1 };
const PLACE: Coord<f64> = Coord { x: 1.0, y: 2.0 };

fn names(names: &[&str]) -> Vec<String> {
    names.iter().map(ToString::to_string).collect()
}

fn choices(columns: &[(&str, &str)], unit: Option<LengthUnit>) -> ReadingChoices {
    let tree_columns: BTreeMap<String, String> =
        columns.iter().map(|(role, column)| (role.to_string(), column.to_string())).collect();
    ReadingChoices { tree_columns, diameter_unit: unit, ..ReadingChoices::default() }
}

/// One row through a plan that was made from the same row.
fn one(columns: &[&str], cells: &[&str]) -> (Option<Tree>, Vec<Issue>) {
    let sample = [record(1, cells)];
    let plan = decide_trees("in/trees.csv", &names(columns), &sample, true, &ReadingChoices::default()).unwrap();
    let mut issues = Vec::new();
    (plan.tree(&sample[0], SOURCE, PLACE, &mut issues), issues)
}

#[test]
fn a_whole_tree() {
    let columns = [
        "tree_id",
        "scientific_name",
        "dbh_cm",
        "crown_spread_m",
        "height_m",
        "condition",
        "owner",
        "disposition",
        "heritage",
        "accuracy_m",
        "root_crown_diameter_cm",
        "narrowest_diameter_cm",
        "age",
        "life_stage",
    ];
    let (tree, issues) = one(
        &columns,
        &[
            " T  7 ",
            "Quercus  robur",
            "45.5",
            "12",
            "18,5",
            "Good",
            "City",
            "Retain",
            "yes",
            "0.5",
            "60",
            "40",
            "80 years",
            "Early mature",
        ],
    );
    assert_eq!(issues, []);
    let expected = Tree {
        id: "T 7".into(),
        source: SOURCE,
        place: PLACE,
        species: "Quercus robur".into(),
        stems: Stems::Measured(vec![0.455]),
        rounding_m: tree.as_ref().unwrap().rounding_m,
        root_crown_diameter_m: Some(0.6),
        crown_radius_m: Some(6.0),
        height_m: Some(18.5),
        condition: "Good".into(),
        owner: "City".into(),
        disposition: Some(Disposition::Retain),
        botanical: match_species("Quercus robur", ""),
        narrowest_diameter_m: Some(0.4),
        age_years: Some(80.0),
        life_stage: Some(LifeStage::Mature),
        ground: Some(TreeGround::Public),
        designated: true,
        position_error_m: Some(0.5),
    };
    assert!((expected.rounding_m - 0.0005).abs() < 1e-12, "one decimal of a centimetre, from one row");
    assert_eq!(tree, Some(expected));
}

#[test]
fn names_of_species() {
    let cases: &[(&[&str], &[&str], &str)] = &[
        (&["scientific", "species", "genus", "common"], &["Tilia spp.", "TI", "Tilia", "linden"], "Tilia spp."),
        (
            &["genus_name", "species_name", "cultivar_name", "common_name"],
            &["PRUNUS", "CERASIFERA", "ATROPURPUREUM", "PISSARD PLUM"],
            "PRUNUS CERASIFERA 'ATROPURPUREUM'",
        ),
        (&["Genus", "Species", "Common_Name"], &["ULMUS", "PARVIFOLIA", "CHINESE ELM"], "ULMUS PARVIFOLIA"),
        (&["genus", "species"], &["Quercus", "Quercus robur"], "Quercus robur"),
        (&["genus", "species", "cultivar"], &["Tilia", "euchlora   x", "'Frosty'"], "Tilia euchlora x 'Frosty'"),
        (&["common name"], &["Red oak"], "Red oak"),
        (&["notes"], &["Red oak"], ""),
    ];
    for (columns, cells, species) in cases {
        let columns = [*columns, &["dbh_in"]].concat();
        let cells = [*cells, &["12"]].concat();
        assert_eq!(one(&columns, &cells).0.unwrap().species, *species, "{columns:?}");
    }
}

#[test]
fn rows_that_are_no_trees_are_set_aside_and_dead_trees_stay() {
    let cases = [
        ("status", "Stump", Some("stump")),
        ("status", "vacant", Some("not-a-tree")),
        ("status", "Removed", Some("tree-removed")),
        ("condition", "Removed", Some("tree-removed")),
        ("common_name", "PLANTING SITE-SMALL", Some("not-a-tree")),
        ("species", "STUMP", Some("stump")),
        ("status", "Dead", None),
        ("condition", "Dead", None),
    ];
    for (column, cell, code) in cases {
        let (tree, issues) = one(&[column, "dbh_in"], &[cell, "12"]);
        assert_eq!(tree.is_none(), code.is_some(), "{cell}");
        assert_eq!(
            issues.iter().map(|issue| issue.code).collect::<Vec<_>>(),
            code.into_iter().collect::<Vec<_>>(),
            "{cell}"
        );
        assert!(issues.iter().all(|issue| issue.outcome == Outcome::SetAside && issue.detail.contains(cell)));
    }
}

#[test]
fn a_tree_without_a_usable_diameter_is_kept() {
    for (cell, code) in [
        ("", "diameter-missing"),
        ("0", "diameter-missing"),
        ("-4", "diameter-implausible"),
        ("12-Jun", "damaged-diameter"),
        ("9999", "diameter-implausible"),
    ] {
        let sample = [record(1, &["12"]), record(2, &[cell])];
        let plan = decide_trees("t.csv", &names(&["dbh_in"]), &sample, true, &ReadingChoices::default()).unwrap();
        let mut issues = Vec::new();
        let tree = plan.tree(&sample[1], SOURCE, PLACE, &mut issues).unwrap();
        assert_eq!((tree.stems, tree.id.as_str()), (Stems::Unknown(code), "t.csv:2"), "{cell}");
        assert_eq!((issues.len(), issues[0].code, issues[0].outcome), (1, code, Outcome::Used), "{cell}");
    }
}

#[test]
fn ids_that_are_missing() {
    let sample = [record(1, &["A", "12"]), record(2, &["", "12"])];
    let plan = decide_trees("in/t.csv", &names(&["id", "dbh_in"]), &sample, true, &ReadingChoices::default()).unwrap();
    let mut issues = Vec::new();
    assert_eq!(plan.tree(&sample[1], SOURCE, PLACE, &mut issues).unwrap().id, "t.csv:2");
    assert_eq!(issues[0].code, "id-missing");
}

#[test]
fn girths_help_out_where_diameters_are_empty() {
    let sample = [record(1, &["30", "94.2"]), record(2, &["", "100"])];
    let plan =
        decide_trees("t.csv", &names(&["dbh_cm", "girth_cm"]), &sample, true, &ReadingChoices::default()).unwrap();
    let stems = |at: usize| plan.tree(&sample[at], SOURCE, PLACE, &mut Vec::new()).unwrap().stems;
    assert_eq!(stems(0), Stems::Measured(vec![0.3]));
    let Stems::Measured(from_girth) = stems(1) else { panic!() };
    assert!((from_girth[0] - 1.0 / std::f64::consts::PI).abs() < 1e-12);
}

#[test]
fn crowns() {
    let crown = |columns: &[&str], cells: &[&str]| {
        one(&[columns, &["dbh_in"]].concat(), &[cells, &["12"]].concat()).0.unwrap().crown_radius_m
    };
    assert_eq!(crown(&["crown_spread_m"], &["9"]), Some(4.5));
    assert_eq!(crown(&["crown_radius_m"], &["4,5"]), Some(4.5));
    assert_eq!(crown(&["crown_n_m", "crown_e_m", "crown_s_m", "crown_w_m"], &["3", "5", "", "4"]), Some(5.0));
    assert_eq!(crown(&["crown_spread_m"], &["900"]), None);
    assert_eq!(crown(&["spread"], &["9 m"]), Some(4.5));
    assert_eq!(crown(&["spread"], &["9"]), None, "no unit: left out");
    let plan = decide_trees(
        "t.csv",
        &names(&["spread", "dbh_in"]),
        &[record(1, &["9", "12"])],
        true,
        &ReadingChoices::default(),
    )
    .unwrap();
    assert!(plan.notes()[0].contains("--crown-unit"), "{:?}", plan.notes());
}

#[test]
fn a_comma_that_may_mean_two_things_parts_stems_and_is_noted() {
    let columns = names(&["dbh_in", "lon", "lat"]);
    let sample: Vec<RawRecord> = ["18,16", "14,13", "22,9", "12", "16,15"]
        .iter()
        .enumerate()
        .map(|(at, dbh)| record(at as u64 + 1, &[dbh, &format!("-71.10{at}1"), &format!("42.37{at}1")]))
        .collect();
    let plan = decide_trees("t.csv", &columns, &sample, false, &ReadingChoices::default()).unwrap();
    let tree = plan.tree(&sample[0], SOURCE, PLACE, &mut Vec::new()).unwrap();
    let Stems::Measured(stems) = &tree.stems else { panic!("{tree:?}") };
    assert!((stems.iter().sum::<f64>() - 34.0 * 0.0254).abs() < 1e-12, "{stems:?}");
    assert!(plan.notes()[0].contains("`18,16` in column dbh_in is read as stems of 18 and 16"), "{:?}", plan.notes());
}

#[test]
fn damaged_crowns_heights_and_accuracies_are_listed() {
    let columns = names(&["dbh_in", "crown_spread_m", "height_m", "accuracy_m"]);
    let good: &[&str] = &["12", "9", "10", "0.5"];
    let cases: &[(&[&str], &[&str])] = &[
        (good, &[]),
        (&["12", "", "n/a", "0"], &[]),
        (
            &["12", "-2", "abc", "5000"],
            &[
                "crown `-2` is negative",
                "height `abc` is no length; no height is used",
                "accuracy `5000` is more than 1000 m; the position error of the run",
            ],
        ),
        (
            &["12", "1e300", "131", "1e999"],
            &["crown `1e300` is more than", "height `131` is more than 130 m", "accuracy `1e999`"],
        ),
    ];
    for (cells, said) in cases {
        let sample = [record(1, good), record(2, good), record(3, cells)];
        let plan = decide_trees("t.csv", &columns, &sample, true, &ReadingChoices::default()).unwrap();
        let mut issues = Vec::new();
        let tree = plan.tree(&sample[2], SOURCE, PLACE, &mut issues).unwrap();
        assert_eq!(issues.len(), said.len(), "{issues:?}");
        for (issue, said) in issues.iter().zip(*said) {
            assert_eq!((issue.code, issue.outcome), ("damaged-size", Outcome::Used));
            assert!(issue.detail.contains(said), "{said} in {}", issue.detail);
        }
        let measures = (tree.crown_radius_m, tree.height_m, tree.position_error_m);
        assert_eq!(measures, if *cells == good { (Some(4.5), Some(10.0), Some(0.5)) } else { (None, None, None) });
    }
}

#[test]
fn a_second_diameter_that_cannot_be_used_is_listed() {
    let columns = names(&["dbh_cm", "narrowest_diameter_cm", "root_crown_diameter_cm"]);
    for (cells, said) in [
        (["30", "28", "35"], vec![]),
        (["30", "", ""], vec![]),
        (["30", "abc", "-3"], vec!["diameter above the root crown: ", "diameter at the narrowest point: "]),
        (["30", "20-30", "35"], vec!["diameter at the narrowest point: a class is no single diameter; it is left out"]),
    ] {
        let mut sample: Vec<_> = (0..20).map(|row| record(row, &["30", "28", "35"])).collect();
        sample.push(record(20, &cells));
        let plan = decide_trees("t.csv", &columns, &sample, true, &ReadingChoices::default()).unwrap();
        let mut issues = Vec::new();
        plan.tree(&sample[20], SOURCE, PLACE, &mut issues).unwrap();
        assert_eq!(issues.len(), said.len(), "{cells:?}: {issues:?}");
        for (issue, said) in issues.iter().zip(said) {
            assert!(issue.code == "damaged-size" && issue.detail.starts_with(said), "{issue:?}");
        }
    }
}

#[test]
fn what_stops_a_run() {
    let sample = [record(1, &["1", "oak"])];
    let no_diameter =
        decide_trees("t.csv", &names(&["id", "species"]), &sample, true, &ReadingChoices::default()).unwrap_err();
    assert!(no_diameter.to_string().contains("`species`") && no_diameter.hint().contains("diameter=COLUMN"));
    let no_place =
        decide_trees("t.csv", &names(&["id", "species"]), &sample, false, &ReadingChoices::default()).unwrap_err();
    assert!(no_place.hint().contains("x=COLUMN,y=COLUMN"));
    let without =
        decide_trees("t.csv", &names(&["id", "species"]), &sample, true, &choices(&[("diameter", "none")], None))
            .unwrap();
    assert_eq!(
        without.tree(&sample[0], SOURCE, PLACE, &mut Vec::new()).unwrap().stems,
        Stems::Unknown("diameter-missing")
    );
}

// Real inventories, from the folder `shared/data` beside the crate; skipped, and said so, where it is not there.

fn open_data(name: &str) -> Option<String> {
    let path = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("../shared/data").join(name);
    let other = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("../../shared/data").join(name);
    let text = [path, other].iter().find_map(|path| std::fs::read_to_string(path).ok());
    if text.is_none() {
        eprintln!("skipped: open data {name} is not here");
    }
    text
}

fn csv_rows(text: &str) -> (Vec<String>, Vec<RawRecord>) {
    let mut reader = csv::Reader::from_reader(text.as_bytes());
    let columns = reader.headers().unwrap().iter().map(str::to_string).collect();
    let rows =
        reader.records().enumerate().map(|(at, row)| record(at as u64 + 2, &row.unwrap().iter().collect::<Vec<_>>()));
    (columns, rows.collect())
}

fn chosen(plan: &TreePlan, roles: &[&str]) -> Vec<String> {
    roles
        .iter()
        .map(|role| plan.decisions().iter().find(|decision| decision.role == *role).unwrap().column_name.clone())
        .collect()
}

/// City of Vancouver, British Columbia: public street trees, Open Government Licence - Vancouver. Diameters are inches by the
/// city's documentation; the column does not say so.
#[test]
fn vancouver() {
    let Some(text) = open_data("vancouver/trees.csv") else { return };
    let (columns, rows) = csv_rows(&text);
    let error = decide_trees("trees.csv", &columns, &rows, false, &ReadingChoices::default()).unwrap_err();
    assert!(error.to_string().contains("`diameter`") && error.to_string().contains("in 9"), "{error}");
    assert!(error.hint().contains("--diameter-unit in"), "{}", error.hint());
    let plan = decide_trees("trees.csv", &columns, &rows, false, &choices(&[], Some(LengthUnit::Inch))).unwrap();
    assert_eq!(
        chosen(&plan, &["id", "diameter", "genus", "epithet", "cultivar", "common", "x", "y", "height"]),
        [
            "tree_id",
            "diameter",
            "genus_name",
            "species_name",
            "cultivar_name",
            "common_name",
            "longitude",
            "latitude",
            ""
        ]
    );
    assert!(plan.lonlat_by_columns());
    let mut issues = Vec::new();
    let trees: Vec<Tree> =
        rows.iter().filter_map(|row| plan.tree(row, SOURCE, plan.place(row).unwrap(), &mut issues)).collect();
    assert_eq!(
        (trees[0].species.as_str(), trees[0].id.as_str(), &trees[0].stems),
        ("CATALPA BIGNONIOIDES", "9945", &Stems::Measured(vec![34.0 * 0.0254]))
    );
    assert!(
        (trees[0].rounding_m - 0.0127).abs() < 1e-12,
        "a whole inch among mostly whole inches, {}",
        trees[0].rounding_m
    );
    assert_eq!(trees.len(), rows.len());
    assert!(issues.len() * 100 < rows.len(), "{} issues", issues.len());
}

/// Portland Parks & Recreation, Oregon: street trees 2016. The place is hex EWKB.
#[test]
fn portland() {
    let Some(text) = open_data("portland/pdx_street_trees.csv") else { return };
    let (columns, rows) = csv_rows(&text);
    assert!(
        decide_trees("pdx.csv", &columns, &rows, false, &ReadingChoices::default()).is_err(),
        "`dbh` alone states no unit"
    );
    let plan = decide_trees("pdx.csv", &columns, &rows, false, &choices(&[], Some(LengthUnit::Inch))).unwrap();
    assert_eq!(
        chosen(&plan, &["diameter", "species", "place", "condition", "x"]),
        ["dbh", "scientific", "the_geom", "condition", ""]
    );
    assert_eq!((plan.embedded_srid(), plan.lonlat_by_columns()), (Some(4326), false));
    let place = plan.place(&rows[0]).unwrap();
    assert!((place.x + 122.566).abs() < 0.001 && (place.y - 45.5755).abs() < 0.001, "{place:?}");
    let mut issues = Vec::new();
    let trees: Vec<Tree> = rows.iter().filter_map(|row| plan.tree(row, SOURCE, PLACE, &mut issues)).collect();
    assert_eq!(trees[0].species, "Tilia spp.");
    assert!((trees[0].rounding_m - 0.05 * 0.0254).abs() < 1e-12, "one decimal of an inch");
}

/// City of Pasadena, California: street trees, with stumps and planting sites among the species.
#[test]
fn pasadena() {
    let Some(text) = open_data("pasadena/trees.geojson") else { return };
    let collection: serde_json::Value = serde_json::from_str(&text).unwrap();
    let features = collection["features"].as_array().unwrap();
    let columns: Vec<String> = features[0]["properties"].as_object().unwrap().keys().cloned().collect();
    let cell = |value: &serde_json::Value| match value {
        serde_json::Value::Null => String::new(),
        serde_json::Value::String(text) => text.clone(),
        other => other.to_string(),
    };
    let rows: Vec<RawRecord> = features
        .iter()
        .enumerate()
        .map(|(at, feature)| {
            let cells: Vec<String> =
                columns.iter().map(|column| cell(&feature["properties"][column.as_str()])).collect();
            let mut row = record(at as u64 + 1, &cells.iter().map(String::as_str).collect::<Vec<_>>());
            let at = &feature["geometry"]["coordinates"];
            row.geometry =
                Some(geo::Geometry::Point(geo::Point::new(at[0].as_f64().unwrap(), at[1].as_f64().unwrap())));
            row
        })
        .collect();
    let error = decide_trees("trees.geojson", &columns, &rows, true, &ReadingChoices::default()).unwrap_err();
    assert!(error.to_string().contains("`Trunk_Diameter`"), "{error}");
    let plan = decide_trees("trees.geojson", &columns, &rows, true, &choices(&[], Some(LengthUnit::Inch))).unwrap();
    assert_eq!(
        chosen(&plan, &["id", "diameter", "genus", "epithet", "common", "x"]),
        ["OBJECTID", "Trunk_Diameter", "Genus", "Species", "Common_Name", ""]
    );
    let mut issues = Vec::new();
    let trees: Vec<Tree> = rows.iter().filter_map(|row| plan.tree(row, SOURCE, PLACE, &mut issues)).collect();
    let count = |code: &str| issues.iter().filter(|issue| issue.code == code).count();
    // Counted in the file itself, by the beginning of the common name.
    let says = |words: &[&str]| {
        let begins = |name: &str| words.iter().any(|word| name.starts_with(word));
        features.iter().filter(|feature| feature["properties"]["Common_Name"].as_str().is_some_and(begins)).count()
    };
    assert_eq!(count("stump"), says(&["STUMP"]));
    assert_eq!(
        count("not-a-tree"),
        says(&["PLANTING SITE", "VACANT", "NO ROOM FOR REPLANT", "UNDER PROCESS FOR PLANT", "NO TREE AT THIS SITE"])
    );
    assert!(count("stump") > 0 && count("not-a-tree") > 0);
    assert_eq!(trees.len() + count("stump") + count("not-a-tree"), rows.len());
    eprintln!(
        "pasadena: {} trees, {} stumps, {} sites, {} without diameter",
        trees.len(),
        count("stump"),
        count("not-a-tree"),
        issues.len() - count("stump") - count("not-a-tree")
    );
}

/// Malmö residential trees 2018 (B. Klobucar, CC BY 4.0): stem lists in centimetres; the equivalent diameter is the dataset's own.
#[test]
fn malmo_stem_lists() {
    let Some(text) = open_data("malmo/trees_joined.csv") else { return };
    let (columns, rows) = csv_rows(&text);
    let plan =
        decide_trees("malmo.csv", &columns, &rows, true, &choices(&[("diameter", "dbh_cm_list")], None)).unwrap();
    for row in &rows {
        let Stems::Measured(stems) = plan.tree(row, SOURCE, PLACE, &mut Vec::new()).unwrap().stems else {
            panic!("{}", row.cell(2))
        };
        assert_eq!(stems.len().to_string(), row.cell(1));
        let equivalent_cm = 100.0 * stems.iter().map(|d| d * d).sum::<f64>().sqrt();
        assert!((equivalent_cm - row.cell(3).parse::<f64>().unwrap()).abs() <= 0.0051, "{}", row.cell(2));
    }
    let by_itself = decide_trees("malmo.csv", &columns, &rows, true, &ReadingChoices::default()).unwrap();
    assert_eq!(chosen(&by_itself, &["diameter", "id"]), ["dbh_cm_list", "tree_id"]);
}

/// Mapped forest plots (Debian's r-cran-spatstat.data): columns without a telling name or unit.
#[test]
fn plots_need_flags() {
    let Some(text) = open_data("plots/spruces.csv") else { return };
    let (columns, rows) = csv_rows(&text);
    assert!(decide_trees("spruces.csv", &columns, &rows, false, &ReadingChoices::default()).is_err());
    let error =
        decide_trees("spruces.csv", &columns, &rows, false, &choices(&[("diameter", "mark")], None)).unwrap_err();
    assert!(error.hint().starts_with("--diameter-unit m"), "metres first: {error} {}", error.hint());
    let plan = decide_trees("spruces.csv", &columns, &rows, false, &choices(&[("diameter", "mark:m")], None)).unwrap();
    assert!(!plan.lonlat_by_columns());
    assert!((plan.tree(&rows[0], SOURCE, PLACE, &mut Vec::new()).unwrap().rounding_m - 0.005).abs() < 1e-12);
}
