//! The cells of `tables/replacement.csv`, and those of `tables/permits.csv` on replacement.

use super::measures::{DIAMETER_DECIMALS, source_cells};
use super::sheet::Sheet;
use super::view::View;
use crate::model::finding::Verdict;
use crate::model::owed::{Owed, PermitOwed};
use crate::model::results::Row;
use crate::model::rows::RowHead;
use crate::model::tree::Disposition;
use crate::units::METRES_PER_INCH;

/// Decimals of money.
const MONEY_DECIMALS: u32 = 2;

/// The rows of the table: protected or heritage-size trees, those meant by a rule, and those of unknown diameter.
pub fn listed(view: &View) -> Vec<RowHead> {
    view.rows.iter().copied().filter(|row| row.replaced).collect()
}

/// One row.
pub fn replacement_row(sheet: &mut Sheet, view: &View, row: &Row) {
    let replacement = row.replacement.as_deref();
    let (tree, permit) = (view.tree(row), view.permit(row));
    let imperial = view.facts.rules.imperial;
    sheet.text("permit_id", &permit.id);
    sheet.text("tree_id", &tree.id);
    sheet.text("species", &tree.species);
    length_cells(sheet, ["diameter_cm", "diameter_in"], row.diameter.replaced_m(), imperial);
    sheet.text("class", &classes(row));
    sheet.text("finding", row.finding.verdict.word());
    sheet.text("disposition", tree.disposition.map_or("", Disposition::word));
    let removed_because = replacement.map_or("", |one| one.removed_because);
    sheet.text("removed_because", removed_because);
    let removed = !removed_because.is_empty();
    let at_stake = !removed && row.finding.verdict == Verdict::Major;
    let owed = replacement.and_then(|one| one.owed.as_ref());
    let now = ["owed_trees", "owed_length_cm", "owed_length_in", "owed_money", "owed_currency"];
    let then =
        ["if_removed_trees", "if_removed_length_cm", "if_removed_length_in", "if_removed_money", "if_removed_currency"];
    owed_cells(sheet, now, owed.filter(|_| removed), imperial);
    owed_cells(sheet, then, owed.filter(|_| at_stake), imperial);
    let shown = owed.filter(|owed| removed || at_stake || owed.unknown);
    sheet.text("money_is", shown.map_or("", |owed| owed.money_is));
    sheet.text("each_at_least", shown.map_or("", |owed| &owed.each_at_least));
    let arithmetic = match (owed, shown) {
        (_, Some(owed)) => &owed.arithmetic,
        (Some(_), None) => "the tree stays or is moved: nothing is owed now",
        (None, None) => "no rule on replacement of the set is for this tree",
    };
    sheet.text("arithmetic", arithmetic);
    sheet.text("clause", shown.map_or("", |owed| &owed.clause));
    sheet.text("permit_status", &permit.status);
    source_cells(sheet, view, row);
}

/// From `trees_removed` to the end of a row of `permits.csv`.
pub fn permit_cells(sheet: &mut Sheet, view: &View, owed: Option<&PermitOwed>) {
    let lengths = ["replacement_length_cm", "replacement_length_in"];
    count(sheet, "trees_removed", owed.map(|owed| owed.removed));
    count(sheet, "replacement_trees", owed.and_then(|owed| owed.trees));
    length_cells(sheet, lengths, owed.and_then(|owed| owed.length_m), view.facts.rules.imperial);
    let money = owed.and_then(|owed| owed.money.as_ref());
    sheet.number("replacement_money", money.map(|money| money.amount), MONEY_DECIMALS);
    sheet.text("replacement_currency", money.map_or("", |money| &money.currency));
    sheet.text("replacement_money_is", owed.map_or("", |owed| &owed.money_is));
    count(sheet, "replacement_unknown", owed.map(|owed| owed.unknown));
    sheet.text("replacement_arithmetic", owed.map_or("", |owed| &owed.arithmetic));
}

fn owed_cells(sheet: &mut Sheet, names: [&str; 5], owed: Option<&Owed>, imperial: bool) {
    let money = owed.and_then(|owed| owed.money.as_ref());
    count(sheet, names[0], owed.and_then(|owed| owed.trees));
    length_cells(sheet, [names[1], names[2]], owed.and_then(|owed| owed.length_m), imperial);
    sheet.number(names[3], money.map(|money| money.amount), MONEY_DECIMALS);
    sheet.text(names[4], money.map_or("", |money| &money.currency));
}

fn length_cells(sheet: &mut Sheet, [cm, inches]: [&str; 2], length_m: Option<f64>, imperial: bool) {
    sheet.number(cm, length_m.map(|length_m| length_m * 100.0), DIAMETER_DECIMALS);
    if imperial {
        sheet.number(inches, length_m.map(|length_m| length_m / METRES_PER_INCH), DIAMETER_DECIMALS);
    }
}

fn count(sheet: &mut Sheet, column: &str, count: Option<u32>) {
    match count {
        Some(count) => sheet.whole(column, u64::from(count)),
        None => sheet.text(column, ""),
    }
}

fn classes(row: &Row) -> String {
    let named = [&row.protected_class, &row.heritage_class].into_iter().filter(|class| !class.is_empty());
    let mut classes: Vec<&str> = named.map(String::as_str).collect();
    classes.dedup();
    classes.join("; ")
}
