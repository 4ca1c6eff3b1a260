use super::*;

fn lines() -> impl Iterator<Item = Vec<&'static str>> {
    let written = TEXT.lines().filter(|line| !line.trim().is_empty() && !line.starts_with('#'));
    written.map(|line| line.split('|').map(str::trim).collect())
}

#[test]
fn the_table_is_in_its_own_form() {
    let mut genera = Vec::new();
    for cells in lines() {
        if ["columnar", "heads", "ambiguous"].contains(&cells[0]) {
            continue;
        }
        assert_eq!(cells.len(), 5, "{cells:?}");
        let kind = cells[1].trim_end_matches('^').as_bytes();
        assert!(kind.len() == 2 && b"bcp".contains(&kind[0]) && b"deu".contains(&kind[1]), "{cells:?}");
        assert!(["", "good", "moderate", "poor"].contains(&cells[2]), "{cells:?}");
        let (genus, epithet) = genus_and_epithet(cells[0]);
        if epithet.is_empty() {
            genera.push(genus);
        } else {
            assert!(genera.contains(&genus), "{} stands before its genus", cells[0]);
            let own = TABLE.genus(genus).unwrap();
            let taxon = TABLE.accepted.iter().find(|taxon| taxon.accepted == cells[0]).unwrap();
            assert_eq!(own.group, taxon.group, "{}", cells[0]);
            assert!(own.habit == LeafHabit::Unknown || own.habit == taxon.habit, "{}: leaf habit", cells[0]);
        }
    }
    assert!(TABLE.accepted.len() > 400, "{}", TABLE.accepted.len());
}

/// No name stands twice with two meanings unless it is meant to: an accepted name is nobody's synonym.
#[test]
fn an_accepted_name_means_itself() {
    for taxon in &TABLE.accepted {
        let (genus, epithet) = genus_and_epithet(taxon.accepted);
        let found = TABLE.genera[&genus_key(genus)].epithets[&joined(epithet.trim_start_matches("x "))];
        assert_eq!(&found, taxon);
    }
}

/// University of New Hampshire Extension, "How do you protect a tree during construction", 2020 (seen), and nothing beyond it.
#[test]
fn tolerance_is_that_of_the_source() {
    let poor =
        ["Quercus", "Pinus strobus", "Acer saccharum", "Fagus", "Tsuga", "Juglans nigra", "Liriodendron tulipifera"];
    let good = [
        "Betula nigra",
        "Nyssa sylvatica",
        "Gleditsia triacanthos",
        "Larix",
        "Acer rubrum",
        "Platanus occidentalis",
        "Picea abies",
        "Picea glauca",
    ];
    for taxon in &TABLE.accepted {
        let listed = |list: &[&str]| list.contains(&taxon.accepted) || list.contains(&taxon.genus);
        let crabapple = taxon.genus == "Malus" && taxon.accepted != "Malus domestica";
        let expected = match (listed(&poor), listed(&good) || crabapple) {
            (true, _) => Some(Tolerance::Poor),
            (_, true) => Some(Tolerance::Good),
            _ => None,
        };
        assert_eq!(taxon.tolerance, expected, "{}", taxon.accepted);
    }
}
