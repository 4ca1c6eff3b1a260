//! Fences, ground cover, water and the calendar of a permit -> what has to be ordered and done, how much of it, and what it costs.
//!
//! Quantities are rounded to thousandths, as they are printed; costs and sums are made from those, so that a reader can add up the table.

use crate::model::protection::{Cover, Protection};
use crate::model::upkeep::{Item, Price, Quantity};

/// Water, inspections and visits of one permit.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Counted {
    /// Water over the whole job, litres; `None` where the job has no dates.
    pub water_l: Option<f64>,
    /// Inspections; `None` where the job has no dates.
    pub inspections: Option<u32>,
    /// Visits after the job.
    pub visits: u32,
    /// Trees whose trunk is guarded because no fence can stand.
    pub guards: u32,
}

/// The quantities of one permit, in the order of [`Item::ALL`]; what is not needed is left out.
pub fn quantities(protection: &Protection, counted: Counted, prices: &[Price]) -> Vec<Quantity> {
    let fences = &protection.fences;
    let count =
        |of: fn(&crate::model::protection::Fence) -> u32| fences.iter().map(|fence| f64::from(of(fence))).sum::<f64>();
    let amount = |item: Item| match item {
        Item::Fence => (fences.iter().map(|fence| fence.length_m).sum(), None),
        Item::Posts => (count(|fence| fence.posts), None),
        Item::Panels => (count(|fence| fence.panels), None),
        Item::Signs => (count(|fence| fence.signs), None),
        Item::Gates => (count(|fence| fence.gates), None),
        Item::TrunkGuards => (f64::from(counted.guards), None),
        Item::Mulch | Item::Compost | Item::Chips => volume_m3(&protection.covers, item),
        Item::Geotextile | Item::Boards | Item::Mats => {
            let laid = protection.covers.iter().filter(|cover| cover.material == item.word());
            (laid.map(|cover| cover.area_m2).sum(), None)
        }
        Item::Water => (counted.water_l.unwrap_or(0.0), None),
        Item::Inspections => (counted.inspections.map_or(0.0, f64::from), None),
        Item::MonitoringVisits => (f64::from(counted.visits), None),
    };
    let quantities = Item::ALL.into_iter().filter_map(|item| {
        let (most, least) = amount(item);
        let thousandths = thousandths(most);
        (thousandths > 0).then(|| Quantity {
            item,
            thousandths,
            least_thousandths: least.map(self::thousandths),
            cost_hundredths: price_of(item, prices).map(|price| cost_hundredths(thousandths, price)),
        })
    });
    quantities.collect()
}

/// The volume of a material at its greatest and least depth.
fn volume_m3(covers: &[Cover], item: Item) -> (f64, Option<f64>) {
    let (mut most, mut least) = (0.0, 0.0);
    for cover in covers.iter().filter(|cover| cover.material == item.word()) {
        let (low_m, high_m) = cover.depth_m.unwrap_or((0.0, 0.0));
        least += cover.area_m2 * low_m;
        most += cover.area_m2 * high_m;
    }
    (most, (least < most).then_some(least))
}

#[expect(clippy::cast_possible_truncation, reason = "metres and litres of a site, far below 2^53")]
fn thousandths(amount: f64) -> i64 {
    (amount * 1000.0).round() as i64
}

fn price_of(item: Item, prices: &[Price]) -> Option<&Price> {
    prices.iter().find(|price| price.item == item)
}

/// What a quantity costs, hundredths of the currency, halves rounded up. Exact where the price is by the unit of the quantity.
pub fn cost_hundredths(thousandths: i64, price: &Price) -> i128 {
    let exact = i128::from(thousandths) * i128::from(price.ten_thousandths);
    // Thousandths times ten-thousandths are ten-millionths; hundredths are what is wanted.
    if price.units_in_one == 1.0 {
        return (exact + 50_000) / 100_000;
    }
    #[expect(clippy::cast_possible_truncation, clippy::cast_precision_loss, reason = "a cost of less than 1e13")]
    let converted = (exact as f64 / price.units_in_one / 100_000.0).round() as i128;
    converted
}

/// The quantities and costs of all permits added up.
pub fn totals<'a>(of_permits: impl Iterator<Item = &'a [Quantity]>) -> Vec<Quantity> {
    let mut sums: Vec<Option<Quantity>> = vec![None; Item::ALL.len()];
    for quantity in of_permits.flatten() {
        let sum = &mut sums[quantity.item as usize];
        *sum = Some(match *sum {
            None => *quantity,
            Some(before) => add(before, quantity),
        });
    }
    sums.into_iter().flatten().collect()
}

fn add(before: Quantity, more: &Quantity) -> Quantity {
    let least = |quantity: &Quantity| quantity.least_thousandths.unwrap_or(quantity.thousandths);
    let ranged = before.least_thousandths.is_some() || more.least_thousandths.is_some();
    Quantity {
        item: before.item,
        thousandths: before.thousandths + more.thousandths,
        least_thousandths: ranged.then(|| least(&before) + least(more)),
        cost_hundredths: before.cost_hundredths.zip(more.cost_hundredths).map(|(a, b)| a + b),
    }
}

#[cfg(test)]
#[path = "materials_tests.rs"]
mod tests;
