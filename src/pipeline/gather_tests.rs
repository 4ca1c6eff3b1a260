use super::*;
use crate::write::example;

/// The trees of the example as the pass keeps them, all of one id, and the heads of their rows.
fn of_one_id() -> (Vec<Kept>, Vec<RowHead>) {
    let rows = example::read(&example::results().rows);
    let mut heads: Vec<RowHead> = rows.iter().map(Row::head).collect();
    heads.sort_by_key(|head| (head.tree, head.permit));
    let of_tree = |of: &[RowHead], first: u32| {
        let tree = &rows.iter().find(|row| row.tree == of[0].tree).unwrap().of;
        let rows = (first, of.len() as u32);
        Kept { id: "same".into(), source: tree.source, place: tree.place, unmeasured: false, rows }
    };
    let mut first = 0;
    let mut kept = Vec::new();
    for of in heads.chunk_by(|a, b| a.tree == b.tree) {
        kept.push(of_tree(of, first));
        first += of.len() as u32;
    }
    (kept, heads)
}

/// Rows as permit and tree, and the ids that are no longer those of the records, by the trees' number.
type Told = (Vec<(u32, u32)>, Vec<Option<String>>);

fn gathered(backwards: bool) -> (Told, Vec<Issue>) {
    let (mut kept, heads) = of_one_id();
    let trees = kept.len() as u32;
    if backwards {
        kept.reverse();
    }
    let mut spent = Spent::new(1);
    let gathered = gather((kept, &heads), 1, &["trees.csv".to_string()], &mut spent);
    spent.settle();
    let rows = gathered.rows.iter().map(|row| (row.permit, row.tree)).collect();
    let ids = (0..trees).map(|tree| gathered.renamed.get(&tree).map(Text::to_string)).collect();
    ((rows, ids), spent.issues)
}

/// Rows of the file, in the order of the example's trees: 2, 4, 3, 6, 7; the third stands under both permits.
#[test]
fn trees_of_one_id_are_ordered_by_source_and_told_apart() {
    let ((rows, ids), issues) = gathered(false);
    assert_eq!(rows, [(0, 0), (0, 1), (0, 2), (0, 3), (0, 4), (1, 1)]);
    let told = [3, 4, 6, 7].map(|row| Some(format!("same (trees.csv:{row})")));
    assert_eq!(ids, [vec![None], told.to_vec()].concat());
    assert_eq!(issues.len(), 4);
}

#[test]
fn the_same_for_any_order_of_trees() {
    assert_eq!(gathered(true), gathered(false));
}
