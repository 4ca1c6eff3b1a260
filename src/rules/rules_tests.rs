use super::*;
use crate::model::source::SourceRef;
use crate::model::tree::Stems;

fn tree(species: &str, diameter_m: f64) -> Tree {
    Tree {
        id: "1".to_string(),
        source: SourceRef::default(),
        place: geo::Coord { x: 0.0, y: 0.0 },
        species: species.to_string(),
        stems: Stems::Measured(vec![diameter_m]),
        rounding_m: 0.0,
        root_crown_diameter_m: None,
        crown_radius_m: None,
        height_m: None,
        condition: String::new(),
        owner: String::new(),
        disposition: None,
        designated: false,
        position_error_m: None,
    }
}

#[test]
fn built_in_sets_load() {
    for name in RuleSet::names() {
        let set = RuleSet::load(name).unwrap();
        assert_eq!(set.name, name);
        println!("{}\n\n", set.describe());
    }
}
