//! The order of rows, labels, and counts that must add up.

use super::*;
use crate::write::example;

fn ids(view: &View) -> Vec<(String, String)> {
    view.rows.iter().map(|row| (view.permit(row).id.clone(), view.tree(row).id.clone())).collect()
}

#[test]
fn rows_are_ordered_by_permit_and_tree_in_byte_order() {
    let (results, facts) = (example::results(), example::facts(false));
    let view = View::new(&results, &facts).unwrap();
    let expected =
        [("P-1", "=SUM(A1)"), ("P-1", "T-10"), ("P-1", "T-2"), ("P-1", "T-3"), ("P-1", "T-4"), ("P-2", "T-2")];
    assert_eq!(ids(&view), expected.map(|(permit, tree)| (permit.to_string(), tree.to_string())));
}

#[test]
fn trees_of_one_id_are_ordered_by_source() {
    let mut results = example::results();
    for tree in &mut results.trees {
        tree.id = "same".into();
    }
    let facts = example::facts(false);
    let view = View::new(&results, &facts).unwrap();
    let rows: Vec<_> = view.rows.iter().map(|row| (row.permit, view.tree(row).source.row)).collect();
    assert_eq!(rows, [(0, 2), (0, 3), (0, 4), (0, 6), (0, 7), (1, 3)]);
}

#[test]
fn the_worst_come_first_then_the_larger_share_then_the_thicker() {
    let mut results = example::results();
    for row in &mut results.rows {
        row.finding.verdict = Verdict::Major;
        row.heritage_class = "heritage".into();
    }
    // Shares: 22.5 of a radius of 6 m; 1 of 3.6; 40 and 60 of 10.8; 3 of 9.4488: 19.9, 2.5, 10.9, 16.4 and 1.1 percent.
    results.rows[5].finding.verdict = Verdict::TrunkInWork;
    results.rows[5].overlap.regions[0].affected_m2 = 0.0;
    let facts = example::facts(false);
    let view = View::new(&results, &facts).unwrap();
    let order: Vec<_> =
        view.at_risk().iter().map(|(row, t)| (view.tree(row).id.as_str(), row.permit, t.is_some())).collect();
    let expected = [
        ("=SUM(A1)", 0, false), // the trunk itself, whatever the share
        ("T-2", 0, true),       // together: 98 of 366.4 m2
        ("T-2", 1, false),
        ("T-2", 0, false),
        ("T-10", 0, false),
        ("T-4", 0, false),
        ("T-3", 0, false),
    ];
    assert_eq!(order, expected);
}

#[test]
fn counts_that_do_not_add_up_stop_the_run() {
    let facts = example::facts(false);
    let mut results = example::results();
    results.counts[0].out_of_reach -= 1;
    let error = View::new(&results, &facts).err().unwrap().to_string();
    assert!(error.contains("trees.csv") && error.contains("9 records read, but 8"), "{error}");
    let mut results = example::results();
    results.issues.pop();
    let error = View::new(&results, &facts).err().unwrap().to_string();
    assert!(error.contains("1 records set aside, but 0 listed"), "{error}");
    let mut results = example::results();
    results.counts.pop();
    assert!(View::new(&results, &facts).is_err());
}

#[test]
fn inputs_of_one_name_are_told_apart() {
    let mut facts = example::facts(false);
    facts.inputs[1].name = "trees.csv".into();
    let results = example::results();
    let view = View::new(&results, &facts).unwrap();
    assert_eq!(view.label(SourceRef { file: 0, row: 1 }), "trees.csv (1)");
    assert_eq!(view.label(SourceRef { file: 1, row: 1 }), "trees.csv (2)");
}
