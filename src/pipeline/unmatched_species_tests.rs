use super::*;
use crate::model::source::SourceRef;
use crate::model::species::{Botanical, Certainty};
use geo::Coord;

fn tree(row: u64, species: &str) -> Tree {
    Tree {
        species: species.into(),
        botanical: Botanical { certainty: Certainty::Unmatched, ..Botanical::default() },
        ..Tree::only_placed(format!("T{row}"), SourceRef { file: 0, row }, Coord { x: 0.0, y: 0.0 })
    }
}

#[test]
fn each_text_once_with_its_trees() {
    let trees = [tree(9, "Foo bar"), tree(4, "Foo bar"), tree(5, "")];
    let issues = listed(trees.iter());
    let short: Vec<_> = issues.iter().map(|issue| (issue.code, issue.id.as_str(), issue.outcome)).collect();
    assert_eq!(short, [("species-unknown", "T5", Outcome::Used), ("species-unknown", "T4", Outcome::Used)]);
    assert!(issues[0].detail.starts_with("no species is given (1 tree in reach)"), "{}", issues[0].detail);
    assert!(issues[1].detail.starts_with("`Foo bar` is not in the botanical table (2 trees"), "{}", issues[1].detail);
}

#[test]
fn only_texts_that_match_nothing_each_tree_once_and_only_where_rules_read_species() {
    let mut results = crate::write::example::results();
    crate::write::example::change_trees(&mut results, |tree| {
        let unknown = tree.id == "T-2" || tree.id == "T-10";
        tree.species = if unknown { "Foo bar".into() } else { "Quercus".into() };
        tree.botanical.certainty = if unknown { Certainty::Unmatched } else { Certainty::Genus };
    });
    assert_eq!(unmatched_species(&results.rows, false).unwrap(), []);
    let issues = unmatched_species(&results.rows, true).unwrap();
    // T-2 stands under two permits.
    assert_eq!((issues.len(), issues[0].id.as_str()), (1, "T-2"));
    assert!(issues[0].detail.starts_with("`Foo bar` is not in the botanical table (2 trees"), "{}", issues[0].detail);
}
