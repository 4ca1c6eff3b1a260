//! The plan that all permits share: soils, notes, litres. Whole permits are tested through the command.

use super::*;
use crate::model::upkeep::{Job, WaterAmount, WaterMethod};
use crate::model::weather::WeatherDay;
use jiff::civil::date;

fn plan(choices: &UpkeepChoices, weather: Option<Weather>, latitude_deg: f64) -> Result<UpkeepPlan> {
    let inputs = UpkeepInputs { values: UpkeepValues::built_in(), weather, prices: Vec::new() };
    UpkeepPlan::new(inputs, choices, latitude_deg, &[])
}

fn summer() -> UpkeepChoices {
    let job = Job { start: date(2027, 6, 1), end: date(2027, 8, 31) };
    UpkeepChoices { job: Some(job), ..UpkeepChoices::default() }
}

/// Hot and without rain.
fn drought() -> Weather {
    let job = summer().job.unwrap();
    let days = super::super::water::days(job.start, job.end);
    let days = days.map(|date| WeatherDay { date, tmin_c: 16.0, tmax_c: 32.0, rain_mm: 0.0 });
    Weather { days: days.collect(), notes: vec!["weather: a note".to_string()] }
}

#[test]
fn a_soil_that_the_table_does_not_have_is_a_usage_error_that_lists_them() {
    let with = |soil: &str| plan(&UpkeepChoices { soil: Some(soil.into()), ..summer() }, None, 45.0);
    let error = with("gravel").err().expect("refused").to_string();
    assert!(error.contains("no texture `gravel`"), "{error}");
    for written in ["Sandy Loam", " sandy_loam", "sandy-loam"] {
        assert!(with(written).is_ok(), "{written}");
    }
}

#[test]
fn litres_are_those_of_the_schedule() {
    let run = plan(&summer(), None, 45.0).unwrap().run;
    let ground = WaterGround { open_m2: 100.0, own_m2: 80.0, places: 3, covered: 0.98 };
    let tree = |need: WaterNeed| TreeWater { tree: 0, need, ground: Some(ground), by_trunk: None };
    // 1 June to 31 August are 92 days: 7 waterings of 2 h at 3 places, 2 US gal a minute: 120 min x 3 x 2 gal = 720 gal each.
    let gallons = litres(&tree(WaterNeed::Usual), &run) / 3.785_411_784;
    assert!((gallons - 7.0 * 720.0).abs() < 1e-6, "{gallons}");
    assert_eq!(litres(&tree(WaterNeed::DrySummer), &run), 0.0);
    assert_eq!(litres(&TreeWater { ground: None, ..tree(WaterNeed::Usual) }, &run), 0.0);
    // The same months are the cool season in the south: 4 waterings of 1 h.
    let south = plan(&summer(), None, -45.0).unwrap().run;
    let gallons = litres(&tree(WaterNeed::DrySummer), &south) / 3.785_411_784;
    assert!((gallons - 4.0 * 360.0).abs() < 1e-6, "{gallons}");
}

#[test]
fn with_weather_water_is_a_depth_over_the_own_ground() {
    let run = plan(&summer(), Some(drought()), 40.0).unwrap().run;
    let stretch = &run.schedules[WaterNeed::Usual as usize][0];
    assert_eq!(stretch.method, WaterMethod::Balance);
    let depth_mm: f64 = stretch
        .waterings
        .iter()
        .map(|one| match one.amount {
            WaterAmount::DepthMm(mm) => mm,
            WaterAmount::Hours(_) => panic!("hours under a balance"),
        })
        .sum();
    assert!(depth_mm > 50.0, "a drought asks for water: {depth_mm}");
    let ground = WaterGround { open_m2: 100.0, own_m2: 80.0, places: 3, covered: 0.98 };
    let tree = TreeWater { tree: 0, need: WaterNeed::Usual, ground: Some(ground), by_trunk: None };
    assert!((litres(&tree, &run) - 80.0 * depth_mm).abs() < 1e-6);
    // Species that rot under summer water get none however dry it is.
    assert!(run.schedules[WaterNeed::DrySummer as usize].iter().all(|stretch| stretch.waterings.is_empty()));
    assert!(run.balance[WaterNeed::DrySummer as usize].iter().any(|day| day.withheld == "dry summer"));
}

#[test]
fn notes_tell_what_is_assumed_and_where_it_comes_from() {
    let told =
        |choices: &UpkeepChoices, weather: Option<Weather>| plan(choices, weather, 45.0).unwrap().run.notes.join("\n");
    let by_calendar = told(&summer(), None);
    assert!(by_calendar.contains("every 15 days, 2 h at each place (common practice, no source: about twice a month)"));
    assert!(by_calendar.contains("from April to October") && by_calendar.contains("rest days"), "{by_calendar}");
    let balance = told(&summer(), Some(drought()));
    assert!(
        balance.contains("assumed: give --soil") && balance.contains("crop coefficient 0.5 (from memory"),
        "{balance}"
    );
    assert!(balance.contains("weather: a note") && !balance.contains("water by the calendar"), "{balance}");
    let undated = told(&UpkeepChoices::default(), None);
    assert!(undated.contains("give --start and --end") && !undated.contains("rest days"), "{undated}");
    let typed = UpkeepChoices { inspect_every_days: Some(7), throw_m: Some(4.5), ..summer() };
    assert!(told(&typed, None).contains("sprinklers throw 4.5 m (--throw)"));
    assert!(!told(&typed, None).contains("inspections every"));
}

#[test]
fn twenty_years_are_made_and_every_summer_is_watered() {
    let job = Job { start: date(2027, 1, 1), end: date(2046, 12, 31) };
    let run = plan(&UpkeepChoices { job: Some(job), ..UpkeepChoices::default() }, None, 45.0).unwrap().run;
    let stretches = &run.schedules[WaterNeed::Usual as usize];
    // Cool, then 20 times warm and cool.
    assert_eq!(stretches.len(), 41);
    assert!(stretches.iter().all(|stretch| !stretch.waterings.is_empty()));
}
