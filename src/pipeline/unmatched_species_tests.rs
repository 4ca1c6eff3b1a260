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
