//! The order of rows, labels, and counts that must add up.

use super::*;
use crate::write::example;

fn ids(view: &View) -> Vec<(String, String)> {
    view.rows.iter().map(|row| (view.permit(row).id.to_string(), view.read(row).unwrap().of.id.to_string())).collect()
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
fn the_worst_come_first_then_the_larger_share_then_the_thicker() {
    let mut results = example::results();
    let mut rows = example::read(&results.rows);
    for row in &mut rows {
        row.finding.verdict = Verdict::Major;
        row.heritage_class = "heritage".into();
    }
    // Shares: 22.5 of a radius of 6 m; 1 of 3.6; 40 and 60 of 10.8; 3 of 9.4488: 19.9, 2.5, 10.9, 16.4 and 1.1 percent.
    rows[0].finding.verdict = Verdict::TrunkInWork;
    rows[0].overlap.regions[0].affected_m2 = 0.0;
    results.rows = example::held(&rows);
    let facts = example::facts(false);
    let view = View::new(&results, &facts).unwrap();
    let whole = |row: &RowHead, t: Option<&TogetherRow>| t.map_or_else(|| view.read(row).unwrap(), |t| t.row.clone());
    let order: Vec<_> =
        view.at_risk().iter().map(|(row, t)| (whole(row, *t).of.id.to_string(), row.permit, t.is_some())).collect();
    let expected = [
        ("=SUM(A1)", 0, false), // the trunk itself, whatever the share
        ("T-2", 0, true),       // together: 98 of 366.4 m2
        ("T-2", 1, false),
        ("T-2", 0, false),
        ("T-10", 0, false),
        ("T-4", 0, false),
        ("T-3", 0, false),
    ];
    assert_eq!(order, expected.map(|(id, permit, together)| (id.to_string(), permit, together)));
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
