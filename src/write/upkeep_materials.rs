//! Quantities and costs -> rows of `materials.csv`: items, then totals by currency, of each permit and of all.

use super::sheet::Sheet;
use super::upkeep::{LITRES_PER_US_GALLON, PermitUpkeep};
use crate::model::upkeep::{Dimension, Item, Quantity, UpkeepRun};
use crate::units::{METRES_PER_FOOT, SQUARE_METRES_PER_SQUARE_FOOT};
use std::collections::BTreeMap;

/// What stands in `permit_id` for all permits added up.
pub const ALL_PERMITS: &str = "(all)";

/// A row of the table.
pub(super) enum MaterialRow<'a> {
    /// An item of a permit, or of all.
    Item(&'a str, &'a Quantity),
    /// What a permit, or all, cost in one currency, and the items without a price.
    Total(&'a str, &'a str, i128, Vec<&'static str>),
}

/// All rows in order.
pub(super) fn material_rows<'a>(permits: &[PermitUpkeep<'a>], run: &'a UpkeepRun) -> Vec<MaterialRow<'a>> {
    let of_permits = permits.iter().map(|of| (of.permit_id, of.upkeep.quantities.as_slice()));
    let mut rows = Vec::new();
    for (id, quantities) in of_permits.chain([(ALL_PERMITS, run.totals.as_slice())]) {
        rows.extend(quantities.iter().map(|quantity| MaterialRow::Item(id, quantity)));
        rows.extend(totals(id, quantities, run));
    }
    rows
}

fn totals<'a>(id: &'a str, quantities: &'a [Quantity], run: &'a UpkeepRun) -> Vec<MaterialRow<'a>> {
    let (by_currency, unpriced) = costs(quantities, run);
    by_currency.into_iter().map(|(currency, cost)| MaterialRow::Total(id, currency, cost, unpriced.clone())).collect()
}

/// What quantities cost in each currency, in hundredths, and the items without a price.
pub(super) fn costs<'a>(quantities: &[Quantity], run: &'a UpkeepRun) -> (BTreeMap<&'a str, i128>, Vec<&'static str>) {
    let mut by_currency: BTreeMap<&str, i128> = BTreeMap::new();
    for quantity in quantities {
        if let Some((price, cost)) = run.price(quantity.item).zip(quantity.cost_hundredths) {
            *by_currency.entry(&price.currency).or_default() += cost;
        }
    }
    let unpriced = quantities.iter().filter(|quantity| quantity.cost_hundredths.is_none());
    (by_currency, unpriced.map(|quantity| quantity.item.word()).collect())
}

/// The cells of a row.
pub(super) fn material_row(sheet: &mut Sheet, run: &UpkeepRun, row: &MaterialRow) {
    match row {
        MaterialRow::Item(id, quantity) => item_row(sheet, run, id, quantity),
        MaterialRow::Total(id, currency, cost, unpriced) => {
            sheet.text("permit_id", id);
            sheet.text("item", "total");
            for column in
                ["quantity", "least_quantity", "unit", "imperial_quantity", "imperial_unit", "price", "price_unit"]
            {
                sheet.text(column, "");
            }
            sheet.text("currency", currency);
            sheet.text("cost", &hundredths(*cost));
            let remark = if unpriced.is_empty() { String::new() } else { format!("without {}", unpriced.join(", ")) };
            sheet.text("remark", &remark);
        }
    }
}

fn item_row(sheet: &mut Sheet, run: &UpkeepRun, id: &str, quantity: &Quantity) {
    let (item, price) = (quantity.item, run.price(quantity.item));
    let is_count = item.dimension() == Dimension::Count;
    let decimals = if is_count { 0 } else { 3 };
    #[expect(clippy::cast_precision_loss, reason = "thousandths below 2^53")]
    let plain = |thousandths: i64| thousandths as f64 / 1000.0;
    sheet.text("permit_id", id);
    sheet.text("item", item.word());
    sheet.number("quantity", Some(plain(quantity.thousandths)), decimals);
    sheet.number("least_quantity", quantity.least_thousandths.map(plain), decimals);
    sheet.text("unit", item.unit());
    let (unit, size) = imperial(item);
    sheet.number("imperial_quantity", (!unit.is_empty()).then(|| plain(quantity.thousandths) / size), 2);
    sheet.text("imperial_unit", unit);
    sheet.text("price", price.map_or("", |price| &price.written));
    sheet.text("price_unit", price.map_or("", |price| &price.unit));
    sheet.text("currency", price.map_or("", |price| &price.currency));
    sheet.text("cost", &quantity.cost_hundredths.map_or(String::new(), hundredths));
    sheet.text("remark", if price.is_none() && !run.prices.is_empty() { "no price" } else { "" });
}

/// The unit beside, and how many of the item's own unit are in one of it.
fn imperial(item: Item) -> (&'static str, f64) {
    match (item, item.dimension()) {
        (Item::Water, _) => ("gal", LITRES_PER_US_GALLON),
        (_, Dimension::Length) => ("ft", METRES_PER_FOOT),
        (_, Dimension::Area) => ("sq ft", SQUARE_METRES_PER_SQUARE_FOOT),
        (_, Dimension::Volume) => ("cu yd", 27.0 * METRES_PER_FOOT * METRES_PER_FOOT * METRES_PER_FOOT),
        (_, Dimension::Count) => ("", 1.0),
    }
}

/// An amount of money with two decimals.
fn hundredths(amount: i128) -> String {
    format!("{}.{:02}", amount / 100, amount % 100)
}
