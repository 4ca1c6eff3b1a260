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
