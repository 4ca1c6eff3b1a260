//! Water, calendar and quantities -> `water.csv`, `water_days.csv`, `calendar.csv`, `materials.csv` and the iCalendar file.

use super::columns_upkeep::{CALENDAR, MATERIALS, WATER, WATER_DAYS};
use super::icalendar::write_calendar_file;
use super::number::fixed;
use super::sheet::Sheet;
use super::staging::Staging;
use super::tables::write_table;
use super::upkeep_materials::{material_row, material_rows};
use super::view::View;
use crate::error::Result;
use crate::model::upkeep::{Recurrence, Step, TreeWater, Upkeep, UpkeepRun, WaterNeed, WaterStretch};
use crate::model::weather::BalanceDay;
use jiff::civil::Date;

/// Litres in one US liquid gallon, exactly: 231 cubic inches.
pub(super) const LITRES_PER_US_GALLON: f64 = 3.785_411_784;

/// The upkeep of one permit, in the order of tables.
pub(super) struct PermitUpkeep<'a> {
    /// Its id.
    pub permit_id: &'a str,
    /// What is to be done.
    pub upkeep: &'a Upkeep,
}

/// Writes all of it; nothing where protection was not asked for.
pub(super) fn write_upkeep(view: &View, staging: &mut Staging) -> Result<()> {
    let (Some(protection), Some(run)) = (&view.results.protection, &view.results.upkeep) else { return Ok(()) };
    let permits = view.results.permits.iter().zip(protection);
    let mut permits: Vec<PermitUpkeep> =
        permits.map(|(permit, of)| PermitUpkeep { permit_id: &permit.id, upkeep: &of.upkeep }).collect();
    permits.sort_by_key(|permit| permit.permit_id);

    let water: Vec<(&str, &TreeWater, &WaterStretch)> = permits
        .iter()
        .flat_map(|of| of.upkeep.water.iter().map(|water| (of.permit_id, water)))
        .flat_map(|(id, water)| run.schedules[water.need as usize].iter().map(move |stretch| (id, water, stretch)))
        .collect();
    write_table(&WATER, view, &water, staging, |sheet, row| water_row(sheet, view, run, row))?;
    if run.balance.iter().any(|days| !days.is_empty()) {
        let names = ["usual", "dry summer"];
        let days: Vec<(&str, &BalanceDay)> = names
            .into_iter()
            .zip(&run.balance)
            .flat_map(|(name, days)| days.iter().map(move |day| (name, day)))
            .collect();
        write_table(&WATER_DAYS, view, &days, staging, day_row)?;
    }
    let steps: Vec<(&str, usize, &Step)> = permits
        .iter()
        .flat_map(|of| of.upkeep.steps.iter().enumerate().map(|(number, step)| (of.permit_id, number + 1, step)))
        .collect();
    write_table(&CALENDAR, view, &steps, staging, |sheet, row| step_row(sheet, view, run, row))?;
    write_table(&MATERIALS, view, &material_rows(&permits, run), staging, |sheet, row| material_row(sheet, run, row))?;
    write_calendar_file(view, run, &permits, staging)
}

fn water_row(
    sheet: &mut Sheet,
    view: &View,
    run: &UpkeepRun,
    (permit_id, water, stretch): &(&str, &TreeWater, &WaterStretch),
) {
    let tree = &view.results.trees[water.tree as usize];
    let (flow, ground) = (run.flow_l_per_min, water.ground.as_ref());
    let dated = stretch.days.is_some();
    let each = |of: &dyn Fn(&crate::model::upkeep::Watering) -> f64| -> Vec<f64> {
        stretch.waterings.iter().map(of).collect()
    };
    let hours = match (ground, stretch.every) {
        (Some(ground), _) if dated => each(&|one| ground.litres_and_hours(one.amount, flow).1),
        (_, Some((_, hours))) => vec![hours],
        _ => Vec::new(),
    };
    let (depths, litres) = ground.map_or((Vec::new(), Vec::new()), |ground| {
        (each(&|one| ground.depth_mm(one.amount, flow)), each(&|one| ground.litres_and_hours(one.amount, flow).0))
    });
    let total = (dated && ground.is_some()).then(|| litres.iter().sum::<f64>());
    sheet.text("permit_id", permit_id);
    sheet.text("tree_id", &tree.id);
    sheet.text("species", &tree.species);
    sheet.text("season", stretch.season.word());
    sheet.text("method", stretch.method.word());
    sheet.text("from", &stretch.days.map_or(String::new(), |(from, _)| from.to_string()));
    sheet.text("to", &stretch.days.map_or(String::new(), |(_, to)| to.to_string()));
    sheet.number("every_days", stretch.every.map(|(days, _)| f64::from(days)), 0);
    sheet.number("waterings", dated.then_some(stretch.waterings.len() as f64), 0);
    sheet.text("dates", &joined(stretch.waterings.iter().map(|one| one.date)));
    sheet.text("hours_each_place", &list(&hours, 1));
    sheet.text("depth_mm", &list(&depths, 1));
    sheet.text("litres_each", &list(&litres, 0));
    sheet.number("litres", total, 0);
    sheet.number("gallons", total.map(|litres| litres / LITRES_PER_US_GALLON), 0);
    sheet.number("sprinkler_places", ground.map(|ground| f64::from(ground.places)), 0);
    sheet.number("throw_m", Some(run.throw_m), 2);
    sheet.number("covered_pct", ground.map(|ground| 100.0 * ground.covered), 1);
    sheet.number("open_m2", ground.map(|ground| ground.open_m2), 4);
    sheet.number("watered_m2", ground.map(|ground| ground.own_m2), 4);
    sheet.number("trunk_litres_per_day", water.by_trunk.map(|trunk| trunk.litres_per_day), 0);
    sheet.number("trunk_litres_each", water.by_trunk.map(|trunk| trunk.litres_each), 0);
    let dry = stretch.every.is_none() && stretch.waterings.is_empty() && water.need == WaterNeed::DrySummer;
    match ground {
        Some(_) => sheet.text("instruction", stretch.instruction),
        None if dry => sheet.text("instruction", &format!("{MEASURE}; {}", stretch.instruction)),
        None => sheet.text(
            "instruction",
            &format!("{MEASURE}; until then water the ground under the crown: {}", stretch.instruction),
        ),
    }
}

const MEASURE: &str = "the root zone is not known: measure the trunk first";

/// Dates joined.
fn joined(dates: impl Iterator<Item = Date>) -> String {
    dates.map(|date| date.to_string()).collect::<Vec<_>>().join("; ")
}

/// Numbers joined; once where all are printed alike.
fn list(numbers: &[f64], decimals: u32) -> String {
    let texts: Vec<String> = numbers.iter().map(|&number| fixed(number, decimals)).collect();
    match texts.first() {
        Some(first) if texts.iter().all(|text| text == first) => first.clone(),
        _ => texts.join("; "),
    }
}

fn day_row(sheet: &mut Sheet, (schedule, day): &(&str, &BalanceDay)) {
    sheet.text("schedule", schedule);
    sheet.text("date", &day.weather.date.to_string());
    sheet.number("tmin_c", Some(day.weather.tmin_c), 1);
    sheet.number("tmax_c", Some(day.weather.tmax_c), 1);
    sheet.number("rain_mm", Some(day.weather.rain_mm), 2);
    for (column, value) in [
        ("radiation_mj", day.radiation_mj),
        ("reference_mm", day.reference_mm),
        ("stress", day.stress),
        ("evaporation_mm", day.evaporation_mm),
        ("water_mm", day.water_mm),
        ("percolation_mm", day.percolation_mm),
        ("top_lacks_mm", day.top_lacks_mm),
        ("root_lacks_mm", day.root_lacks_mm),
    ] {
        sheet.number(column, Some(value), 4);
    }
    sheet.text("due", day.due.map_or("", |due| due.word()));
    sheet.text("withheld", day.withheld);
}

fn step_row(sheet: &mut Sheet, view: &View, run: &UpkeepRun, (permit_id, number, step): &(&str, usize, &Step)) {
    let rule = &run.steps[step.rule as usize];
    let date = |date: Option<&Date>| date.map_or(String::new(), Date::to_string);
    sheet.text("permit_id", permit_id);
    sheet.whole("order", *number as u64);
    sheet.text("phase", rule.phase.word());
    sheet.text("step", &rule.name);
    sheet.text("counted_from", rule.anchor.word());
    sheet.number("day", Some(f64::from(rule.day)), 0);
    sheet.text("repeats", &repeats(rule.recurrence));
    sheet.text("first", &date(step.dates.first()));
    sheet.text("last", &date(step.dates.last()));
    sheet.number("times", run.job.map(|_| step.dates.len() as f64), 0);
    sheet.text("dates", &joined(step.dates.iter().copied()));
    sheet.text("who", &rule.who);
    sheet.text("what", &rule.what);
    sheet.text("holds_up", &rule.holds_up);
    sheet.whole("trees", step.trees.len() as u64);
    sheet.text("tree_ids", &tree_ids(view, step));
    sheet.text("origin", &rule.origin);
}

/// Ids of the trees of a step, joined.
pub(super) fn tree_ids(view: &View, step: &Step) -> String {
    let ids = step.trees.iter().map(|&tree| view.results.trees[tree as usize].id.as_str());
    ids.collect::<Vec<_>>().join("; ")
}

/// How often a step is due, in words.
fn repeats(recurrence: Recurrence) -> String {
    match recurrence {
        Recurrence::Once => "once".to_string(),
        Recurrence::EveryDays(1) => "every day".to_string(),
        Recurrence::EveryDays(days) => format!("every {days} days"),
        Recurrence::Years(years) => format!("every year, {years} times"),
        Recurrence::Water => "as water.csv says".to_string(),
        Recurrence::Standing => "whenever it comes up".to_string(),
    }
}

#[cfg(test)]
#[path = "upkeep_tests.rs"]
mod tests;
