use super::*;
use crate::normalise::column_names::{TREE_ROLES, WORK_ROLES};

/// A record of cells.
pub fn record(row: u64, cells: &[&str]) -> RawRecord {
    let mut record = RawRecord::default();
    record.clear(row);
    cells.iter().for_each(|cell| record.push(cell));
    record
}

fn rule(role: &str) -> &'static RoleNames {
    TREE_ROLES.iter().chain(WORK_ROLES).find(|rule| rule.role == role).unwrap()
}

/// The tree role, x and y included, that a name alone points to best.
fn role_of(name: &str) -> Option<&'static str> {
    let axes = [("x", LONGITUDE), ("x", EASTING), ("y", LATITUDE), ("y", NORTHING)];
    let axes = axes.iter().map(|(role, names)| RoleNames { names, ..*rule(role) });
    let scored = TREE_ROLES.iter().copied().chain(axes).filter_map(|rule| Some((match_name(name, &rule)?, rule.role)));
    scored.max_by(|a, b| a.0.total_cmp(&b.0)).map(|(_, role)| role)
}

/// Field names as city inventories write them (English, French, German, Spanish, Italian, Portuguese, Dutch, Nordic, Slavic).
#[test]
fn names_of_tree_columns_in_many_languages() {
    let cases: &[(&str, &[&str])] = &[
        (
            "diameter",
            &[
                "dbh",
                "DBH",
                "dbh_in",
                "DBH (cm)",
                "Dbh_Inches",
                "diameter",
                "Trunk_Diameter",
                "TRUNK_D",
                "TRUNK_DIAM",
                "trunkDiameter",
                "diam",
                "Stem diameter (mm)",
                "dbhcm",
                "caliper",
                "Calliper_in",
                "diametre",
                "Diamètre du tronc (cm)",
                "DHP",
                "diametro",
                "Diámetro_tronco",
                "DAP",
                "dap_cm",
                "Stammdurchmesser",
                "Stammdurchmesser in cm",
                "BHD",
                "stamdiameter",
                "premer",
                "Premer debla (cm)",
                "průměr kmene",
                "średnica pnia",
                "pierśnica",
                "dbh_cm_list",
                "DIAMETER_I",
            ],
        ),
        (
            "girth",
            &[
                "girth",
                "GBH",
                "cbh",
                "circumference",
                "trunk_circumference_cm",
                "circonférence en cm",
                "CIRCONFERENCEENCM",
                "circonference",
                "Stammumfang",
                "Stammumfang_cm",
                "STAMMUMFANG",
                "Umfang",
                "omkrets",
                "stamomtrek",
                "obseg",
                "obvod",
                "obvod_kmene",
                "obwód pnia",
                "perimetro",
                "Perímetro tronco",
                "circonferenza",
                "circunferencia",
                "stammeomkreds",
                "Stammumfang in 1m Höhe (cm)",
            ],
        ),
        (
            "id",
            &[
                "tree_id",
                "TreeID",
                "tree id",
                "OBJECTID",
                "id",
                "Tree_Number",
                "baumnummer",
                "baum_id",
                "IDBASE",
                "idarbre",
                "boomnummer",
                "id_arbol",
                "trenummer",
                "fid",
                "cartodb_id",
                "tag_number",
            ],
        ),
        (
            "species",
            &[
                "species",
                "Scientific_Name",
                "botanical_name",
                "SPP_BOT",
                "BOTNAME",
                "latin_name",
                "Baumart",
                "wissenschaftlicher Name",
                "espèce",
                "nombre_cientifico",
                "nome_scientifico",
                "boomsoort",
                "gatunek",
                "druh",
                "drevesna vrsta",
                "treart",
            ],
        ),
        ("genus", &["genus", "genus_name", "Gattung", "genre", "género", "geslacht", "slekt"]),
        (
            "common",
            &[
                "common_name",
                "Common_Name",
                "common",
                "nom_commun",
                "nombre comun",
                "nome comune",
                "libelleFrancais",
                "Art_deutsch",
            ],
        ),
        (
            "crown",
            &[
                "crown_diameter",
                "Crown_Spread_ft",
                "spread",
                "canopy_width",
                "Kronendurchmesser",
                "kronendurchmesser_m",
                "diametro_copa",
                "kroondiameter",
                "crown radius (m)",
            ],
        ),
        ("crown_n", &["crown_n", "Crown_North", "spread_n"]),
        (
            "height",
            &[
                "height",
                "Height_m",
                "tree_height",
                "hauteurenm",
                "Baumhöhe",
                "altura",
                "altezza",
                "hoogte",
                "højde",
                "wysokość",
                "výška",
                "višina",
            ],
        ),
        (
            "x",
            &[
                "longitude",
                "Longitude",
                "lon",
                "LNG",
                "x",
                "X",
                "easting",
                "POINT_X",
                "x_coord",
                "rechtswert",
                "coord_x",
            ],
        ),
        ("y", &["latitude", "lat", "y", "northing", "POINT_Y", "hochwert"]),
        ("place", &["the_geom", "geom", "geo_point_2d", "wkt", "Geometry"]),
        ("root_crown_diameter", &["root_crown_diameter_cm", "Diameter above root crown (m)", "basal_diameter"]),
        ("condition", &["condition", "health", "Zustand", "conditie", "vitalität"]),
        ("disposition", &["disposition", "Proposed_Action", "retain_remove"]),
        ("designated", &["heritage", "Heritage_Tree", "designated", "Naturdenkmal"]),
        ("accuracy", &["accuracy_m", "gps_accuracy", "position_error_m"]),
    ];
    for (role, names) in cases {
        for name in *names {
            let expected = if *name == "SPP_BOT" { None } else { Some(*role) };
            assert_eq!(role_of(name), expected, "{name}");
        }
    }
}

#[test]
fn names_that_are_something_else() {
    let cases = [
        ("diameter", ["crown_diameter", "diameter_unit", "dbh_date", "pit_diameter", "Kronen Durchmesser"]),
        ("height", ["crown_height", "height_range_id", "clearance_height", "breast_height", "pit_height"]),
        ("id", ["species_id", "street_id", "zone_id", "park_id", "species_no"]),
        ("species", ["species_code", "species_common", "species_id", "species_count", "street"]),
    ];
    for (role, names) in cases {
        for name in names {
            assert_eq!(match_name(name, rule(role)), None, "{name} for {role}");
        }
    }
}

#[test]
fn units_in_names() {
    use LengthUnit::*;
    let cases = [
        ("dbh_in", Some(Inch)),
        ("DBH (cm)", Some(Centimetre)),
        ("circonférence en cm", Some(Centimetre)),
        ("CIRCONFERENCEENCM", Some(Centimetre)),
        ("hauteurenm", Some(Metre)),
        ("Stammumfang_cm", Some(Centimetre)),
        ("Stammumfang in 1m Höhe (cm)", Some(Centimetre)),
        ("Stammumfang in 1 m Höhe", None),
        ("Trunk Diameter in Inches", Some(Inch)),
        ("dbhcm", Some(Centimetre)),
        ("dbhin", Some(Inch)),
        ("Stem diameter (mm)", Some(Millimetre)),
        ("diam", None),
        ("dbh", None),
        ("Trunk_Diameter", None),
        ("diameter_at_1_3_m", None),
        ("Crown_Spread_ft", Some(Foot)),
        ("trunk_d", None),
        ("dbh_cm_list", Some(Centimetre)),
    ];
    for (name, unit) in cases {
        assert_eq!(unit_of_name(name), unit, "{name}");
    }
}

fn names(names: &[&str]) -> Vec<String> {
    names.iter().map(ToString::to_string).collect()
}

fn decide(columns: &[&str], rows: &[&[&str]], choices: &[(&str, &str)]) -> Result<Columns> {
    let sample: Vec<RawRecord> = rows.iter().enumerate().map(|(at, cells)| record(at as u64 + 1, cells)).collect();
    let choices = choices.iter().map(|(role, column)| (role.to_string(), column.to_string())).collect();
    Columns::decide("trees.csv", "--tree-columns", TREE_ROLES, &names(columns), &sample, &choices)
}

#[test]
fn values_that_contradict_a_name_are_not_taken() {
    let columns = ["dbh", "trunk_diam", "id", "tag"];
    let rows: &[&[&str]] = &[&["oak", "12", "7", "A1"], &["elm", "14", "7", "A2"], &["ash", "9", "7", "A3"]];
    let decided = decide(&columns, rows, &[]).unwrap();
    assert_eq!(decided.name("diameter"), "trunk_diam", "dbh holds words");
    assert_eq!(decided.name("id"), "tag", "id repeats");
    let diameter = decided.decisions().iter().find(|decision| decision.role == "diameter").unwrap();
    assert_eq!(diameter.candidates.len(), 2);
    assert_eq!(diameter.candidates[1].parsed_share, 0.0);
    assert_eq!(diameter.candidates[0].sample_values, ["12", "14", "9"]);
}

#[test]
fn what_was_typed_comes_first() {
    let columns = ["dbh", "T", "id"];
    let rows: &[&[&str]] = &[&["12", "30", "1"], &["13", "31", "2"]];
    let typed = |choice| decide(&columns, rows, &[("diameter", choice)]);
    assert_eq!(typed("T").unwrap().name("diameter"), "T");
    assert_eq!(typed("t").unwrap().name("diameter"), "T");
    assert_eq!(typed("T:cm").unwrap().stated_unit("diameter"), Some(LengthUnit::Centimetre));
    assert_eq!(typed("NOT_HERE|T").unwrap().name("diameter"), "T");
    assert_eq!(typed("none").unwrap().column("diameter"), None);
    let missing = typed("DBHX").unwrap_err();
    assert!(matches!(missing, Error::Usage { .. }) && missing.to_string().contains("`dbh`"), "{missing}");
    let unknown = decide(&columns, rows, &[("diametre", "T")]).unwrap_err();
    assert!(unknown.to_string().contains("did you mean `diameter`"), "{unknown}");
    assert!(unknown.hint().contains("crown_n"), "{}", unknown.hint());
}

#[test]
fn axes_come_in_pairs() {
    let columns = ["X", "Y", "Longitude", "Latitude"];
    let rows: &[&[&str]] = &[&["6040000", "2010000", "-123.1", "49.2"]];
    let decided = decide(&columns, rows, &[]).unwrap();
    assert_eq!((decided.name("x"), decided.name("y")), ("Longitude", "Latitude"));
    let half = decide(&["X", "Y", "Longitude"], &[&["6040000", "2010000", "-123.1"]], &[]).unwrap();
    assert_eq!((half.name("x"), half.name("y")), ("X", "Y"));
}

#[test]
fn the_tables_are_sound() {
    for rule in TREE_ROLES.iter().chain(WORK_ROLES) {
        for name in rule.names {
            let bare = name.trim_start_matches('=');
            assert_eq!(bare, crate::normalise::words::fold(bare), "{name}");
            assert!(!bare.is_empty() && !bare.contains('_'), "{name}");
            assert!(match_name(bare, rule).is_some(), "{name} does not find itself in {}", rule.role);
        }
    }
}

/// Portland's street trees have a column `site_type` with `strip`, `cutout`, `median` and `curbtight`: where the tree stands, not whether.
#[test]
fn a_status_column_holds_status_words() {
    let kinds: &[&[&str]] = &[&["strip"], &["cutout"], &["median"], &["curbtight"]];
    let sites = decide(&["site_type"], kinds, &[]).unwrap();
    let status = sites.decisions().iter().find(|decision| decision.role == "status").unwrap();
    assert_eq!(status.column, None);
    assert!(status.candidates[0].why.contains("only 0 % of 4 filled sample cells are known words"), "{status:?}");
    for cells in [["Alive", "Stump"], ["present", "x7"], ["yes", "no"], ["lebend", "gefällt"], ["Removed", "whatever"]]
    {
        let rows: Vec<[&str; 1]> = cells.iter().map(|cell| [*cell]).collect();
        let rows: Vec<&[&str]> = rows.iter().map(|row| &row[..]).collect();
        assert_eq!(decide(&["status"], &rows, &[]).unwrap().column("status"), Some(0), "{cells:?}");
    }
    let typed = decide(&["site_type"], kinds, &[("status", "site_type")]).unwrap();
    assert_eq!(typed.column("status"), Some(0), "what is typed counts");
}

#[test]
fn a_role_that_is_the_name_of_a_column_is_known() {
    for (typed, role) in [("lon", "x"), ("latitude", "y"), ("dbh", "diameter")] {
        let told = decide(&["lon"], &[&["1"]], &[(typed, "lon")]).unwrap_err().to_string();
        assert!(told.contains(&format!("did you mean `{role}`?")), "{told}");
    }
}
