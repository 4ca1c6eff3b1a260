use super::*;

#[test]
fn forms_of_names() {
    let mut wrong = Vec::new();
    for line in include_str!("../../tests/data/species_names.txt").lines() {
        if line.trim().is_empty() || line.starts_with('#') {
            continue;
        }
        let cells: Vec<&str> = line.split('|').map(str::trim).collect();
        let [scientific, common, accepted, certainty, columnar] = cells.as_slice() else { panic!("{line}") };
        let found = match_species(scientific, common);
        let got = (found.accepted, found.certainty.word(), if found.columnar { "columnar" } else { "" });
        if got != (*accepted, *certainty, *columnar) {
            wrong.push(format!("{line}\n    got {got:?}"));
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

/// Every name of the table leads back to a taxon of its own genus, or is ambiguous.
#[test]
fn names_of_the_table_match_themselves() {
    for taxon in &TABLE.accepted {
        for name in [taxon.accepted.to_string(), taxon.accepted.to_uppercase(), taxon.accepted.replace(' ', "_")] {
            let found = match_species(&name, "");
            assert_eq!((found.accepted, found.certainty), (taxon.accepted, Certainty::Exact), "{name}");
        }
    }
}

/// One city's columns: its file, its name columns, and the least share of its trees that must match a species, and at least a genus.
struct City {
    file: &'static str,
    scientific: &'static [&'static str],
    common: &'static str,
    least_species: f64,
    least_genus: f64,
}

/// Open inventories (sources beside them); the bounds are loose, set below what was counted on the day of writing.
const CITIES: &[City] = &[
    City {
        file: "vancouver/trees.csv",
        scientific: &["genus_name", "species_name", "cultivar_name"],
        common: "common_name",
        least_species: 0.95,
        least_genus: 0.99,
    },
    City {
        file: "portland/pdx_street_trees.csv",
        scientific: &["scientific"],
        common: "common",
        least_species: 0.2,
        least_genus: 0.99,
    },
    City {
        file: "pasadena/trees.geojson",
        scientific: &["Genus", "Species"],
        common: "Common_Name",
        least_species: 0.95,
        least_genus: 0.98,
    },
];

#[test]
fn shares_of_real_inventories() {
    for city in CITIES {
        let root = std::path::Path::new(env!("CARGO_MANIFEST_DIR"));
        let places = ["../shared/data", "../../shared/data"].map(|place| root.join(place).join(city.file));
        let Some(text) = places.iter().find_map(|path| std::fs::read_to_string(path).ok()) else {
            eprintln!("skipped: open data {} is not here", city.file);
            continue;
        };
        let mut shares: std::collections::BTreeMap<Certainty, usize> = Default::default();
        let mut unmatched: std::collections::BTreeMap<String, usize> = Default::default();
        let mut loose: std::collections::BTreeMap<String, usize> = Default::default();
        let mut trees = 0;
        for cells in rows(&text, city) {
            let [scientific, common] = cells;
            if [&scientific, &common]
                .iter()
                .any(|cell| super::super::status::not_a_tree(super::super::status::CellKind::Name, cell).is_some())
            {
                continue;
            }
            let found = match_species(&scientific, &common);
            trees += 1;
            *shares.entry(found.certainty).or_default() += 1;
            let text = format!("{scientific} | {common} -> {}", found.accepted);
            match found.certainty {
                Certainty::Unmatched => *unmatched.entry(text).or_default() += 1,
                Certainty::Genus | Certainty::Spelling | Certainty::CommonName => *loose.entry(text).or_default() += 1,
                _ => {}
            }
        }
        let share = |certainties: &dyn Fn(Certainty) -> bool| {
            shares.iter().filter(|(certainty, _)| certainties(**certainty)).map(|(_, n)| n).sum::<usize>() as f64
                / trees as f64
        };
        let species = share(&|certainty| certainty < Certainty::Genus);
        let genus = share(&|certainty| certainty < Certainty::Unmatched);
        eprintln!("{}: {trees} trees, {shares:?}; species {species:.4}, at least genus {genus:.4}", city.file);
        for (what, list) in [("unmatched", unmatched), ("loosely", loose)] {
            let mut list: Vec<_> = list.into_iter().collect();
            list.sort_by_key(|(_, n)| std::cmp::Reverse(*n));
            list.iter().take(30).for_each(|(text, n)| eprintln!("  {what} {n} {text}"));
        }
        assert!(species >= city.least_species && genus >= city.least_genus, "{}", city.file);
    }
}

/// The scientific and the common name of every row.
fn rows(text: &str, city: &City) -> Vec<[String; 2]> {
    let pick = |cell: &dyn Fn(&str) -> String| {
        let scientific: Vec<String> = city
            .scientific
            .iter()
            .enumerate()
            .map(|(at, column)| {
                let cell = cell(column);
                if at == 2 && !cell.is_empty() { format!("'{cell}'") } else { cell }
            })
            .collect();
        [scientific.join(" ").trim().to_string(), cell(city.common)]
    };
    if city.file.ends_with(".csv") {
        let mut reader = csv::Reader::from_reader(text.as_bytes());
        let header = reader.headers().unwrap().clone();
        let at = |name: &str| header.iter().position(|column| column == name).unwrap();
        return reader
            .records()
            .map(|row| {
                let row = row.unwrap();
                pick(&|name| row[at(name)].trim().to_string())
            })
            .collect();
    }
    let collection: serde_json::Value = serde_json::from_str(text).unwrap();
    let features = collection["features"].as_array().unwrap();
    features.iter().map(|f| pick(&|name| f["properties"][name].as_str().unwrap_or("").to_string())).collect()
}
