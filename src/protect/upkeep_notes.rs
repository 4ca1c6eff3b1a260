//! What a reader has to know of how water, calendar and quantities were made: values with their origin, and what is missing.

use super::upkeep_values::{Soil, UpkeepValues, Value, origin};
use crate::model::upkeep::{Item, Season, UpkeepRun, WaterMethod};
use crate::model::weather::Weather;
use crate::settings::UpkeepChoices;

const MONTHS: [&str; 12] = [
    "January",
    "February",
    "March",
    "April",
    "May",
    "June",
    "July",
    "August",
    "September",
    "October",
    "November",
    "December",
];

/// The notes of a run, in sentences.
pub(super) fn notes(
    values: &UpkeepValues,
    choices: &UpkeepChoices,
    weather: Option<&Weather>,
    (texture, soil): (&str, &Soil),
    run: &UpkeepRun,
) -> Vec<String> {
    let mut notes = Vec::new();
    let by_calendar = run.schedules.iter().flatten().any(|stretch| stretch.method == WaterMethod::Calendar);
    if choices.job.is_none() {
        notes.push(
            "water and calendar have no dates, and water, inspections and their costs are not counted: give --start and --end"
                .to_string(),
        );
    }
    if by_calendar {
        notes.push(water_by_calendar(values, run));
    }
    if let Some(weather) = weather {
        notes.extend(weather.notes.iter().cloned());
        notes.push(water_by_balance(values, choices, texture, soil));
        notes.push(
            "the balance: the soil begins full; runoff and capillary rise are left out; depths are what has to enter the soil, without losses of the sprinkler".to_string(),
        );
    }
    let measured = |typed: Option<f64>, value: &Value, flag: &str| match typed {
        Some(_) => flag.to_string(),
        None => value.origin(),
    };
    notes.push(format!(
        "sprinklers throw {} m ({}) and give {:.2} L a minute ({})",
        run.throw_m,
        measured(choices.throw_m, &values.water.throw_m, "--throw"),
        run.flow_l_per_min,
        measured(choices.flow_l_per_min, &values.water.flow_l_per_min, "--sprinkler-flow"),
    ));
    notes.push(
        "litres are counted over the ground that is watered with each tree; what a sprinkler throws beyond it, or over another's circle, is not taken off: less arrives where circles reach over the edge, so measure with cups".to_string(),
    );
    if choices.job.is_some() {
        notes.push(
            "dates of the calendar are proposals and count calendar days: move them off rest days, and to what the permit says".to_string(),
        );
    }
    if choices.inspect_every_days.is_none() {
        let value = &values.calendar.inspect_every_days;
        notes.push(format!("inspections every {} days at most: {}", value.is, value.origin()));
    }
    if choices.monitor_years.is_none() {
        let value = &values.calendar.monitor_years;
        notes.push(format!("monitoring for {} years after the job: {}", value.is, value.origin()));
    }
    if !run.prices.is_empty() {
        let without: Vec<&str> =
            Item::ALL.into_iter().filter(|&item| run.price(item).is_none()).map(Item::word).collect();
        if !without.is_empty() {
            notes.push(format!("no price was given for {}: costs and totals leave them out", without.join(", ")));
        }
    }
    notes
}

/// The name of a month, 1 to 12.
#[expect(
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    reason = "months are checked to be 1 to 12 when values are read"
)]
fn month_name(month: f64) -> &'static str {
    MONTHS[(month as usize).clamp(1, MONTHS.len()) - 1]
}

fn water_by_calendar(values: &UpkeepValues, run: &UpkeepRun) -> String {
    let water = &values.water;
    let warm = format!("every {} days, {} h at each place", water.warm_every_days.is, water.warm_hours.is);
    let all_year = run.schedules.iter().flatten().any(|stretch| stretch.season == Season::AllYear);
    if all_year {
        return format!(
            "water by the calendar: between the tropics the warm season is taken to last all year: {warm} ({}); skip it while soil is moist in the rainy months",
            water.warm_every_days.origin()
        );
    }
    format!(
        "water by the calendar: warm season {warm} ({}); cool season every {} days, {} h ({}); north of the tropics the warm season runs from {} to {} ({}), south of them half a year later",
        water.warm_every_days.origin(),
        water.cool_every_days.is,
        water.cool_hours.is,
        water.cool_every_days.origin(),
        month_name(water.warm_from_month.is),
        month_name(water.warm_to_month.is),
        water.warm_from_month.origin(),
    )
}

fn water_by_balance(values: &UpkeepValues, choices: &UpkeepChoices, texture: &str, soil: &Soil) -> String {
    let balance = &values.balance;
    let typed = |typed: Option<f64>, value: &Value, flag: &str| match typed {
        Some(number) => format!("{number} ({flag})"),
        None => format!("{} ({})", value.is, value.origin()),
    };
    let chosen = if choices.soil.is_some() { "--soil" } else { "assumed: give --soil" };
    format!(
        "water by a soil water balance (FAO-56, evaporation by Hargreaves): soil {texture} ({chosen}), {:.0} mm of water in a metre ({}); root depth in metres {}; crop coefficient {}; share that may be used {}",
        soil.middle_mm_per_m(),
        origin(soil.status, &soil.source),
        typed(choices.root_depth_m, &balance.root_depth_m, "--root-depth"),
        typed(choices.crop_coefficient, &balance.crop_coefficient, "--crop-coefficient"),
        typed(None, &balance.depletion_share, ""),
    )
}
