//! Seasons, and the laws of the calendar of watering.

use super::super::upkeep_values::UpkeepValues;
use super::*;
use crate::model::weather::WeatherDay;
use jiff::civil::date;
use proptest::prelude::*;

fn values() -> WaterValues {
    UpkeepValues::built_in().water
}

fn calendar(from: Date, to: Date, latitude: f64, need: WaterNeed) -> Vec<WaterStretch> {
    by_calendar((from, to), None, need, Seasons::at(latitude, &values()), &values())
}

fn all_dates(stretches: &[WaterStretch]) -> Vec<Date> {
    stretches.iter().flat_map(|stretch| &stretch.waterings).map(|one| one.date).collect()
}

#[test]
fn seasons_turn_round_south_of_the_tropics_and_do_not_change_between_them() {
    let season = |latitude: f64, month: i8| Seasons::at(latitude, &values()).of(date(2026, month, 15)).word();
    let year = |latitude: f64| (1..=12).map(|month| &season(latitude, month)[..1]).collect::<String>();
    assert_eq!(year(45.0), "cccwwwwwwwcc");
    // October to April: half a year later.
    assert_eq!(year(-37.0), "wwwwcccccwww");
    assert_eq!(year(1.3), "aaaaaaaaaaaa");
    assert_eq!(year(-23.4), "aaaaaaaaaaaa");
    assert_eq!(season(23.5, 1), "cool");
}

#[test]
fn a_year_in_the_north_is_watered_monthly_and_twice_a_month() {
    let stretches = calendar(date(2026, 1, 1), date(2026, 12, 31), 45.0, WaterNeed::Usual);
    let told: Vec<(&str, usize)> =
        stretches.iter().map(|stretch| (stretch.season.word(), stretch.waterings.len())).collect();
    // 1 and 31 January, 2 March; 1 April (30 days on, due after 15), then every 15 days to 28 October; 27 November, 27 December.
    assert_eq!(told, [("cool", 3), ("warm", 15), ("cool", 2)]);
    assert_eq!(stretches[0].waterings[0].amount, WaterAmount::Hours(1.0));
    assert_eq!(stretches[1].waterings[0], Watering { date: date(2026, 4, 1), amount: WaterAmount::Hours(2.0) });
    assert_eq!(stretches[1].days, Some((date(2026, 4, 1), date(2026, 10, 31))));
}

#[test]
fn a_job_of_one_day_is_watered_once_and_a_leap_day_is_a_day() {
    assert_eq!(all_dates(&calendar(date(2028, 2, 29), date(2028, 2, 29), 45.0, WaterNeed::Usual)), [date(2028, 2, 29)]);
    let over = all_dates(&calendar(date(2028, 1, 30), date(2028, 3, 1), 45.0, WaterNeed::Usual));
    assert_eq!(over, [date(2028, 1, 30), date(2028, 2, 29)]);
    let common = all_dates(&calendar(date(2027, 1, 30), date(2027, 3, 1), 45.0, WaterNeed::Usual));
    assert_eq!(common, [date(2027, 1, 30), date(2027, 3, 1)]);
}

#[test]
fn trees_that_rot_under_summer_water_get_none_in_the_warm_season() {
    let stretches = calendar(date(2026, 1, 1), date(2026, 12, 31), 37.0, WaterNeed::DrySummer);
    assert_eq!(stretches[1].waterings, []);
    assert!(stretches[1].instruction.contains("no water"));
    assert!(stretches[0].waterings.len() == 3 && !stretches[2].waterings.is_empty());
    assert!(all_dates(&calendar(date(2026, 1, 1), date(2026, 12, 31), 5.0, WaterNeed::DrySummer)).is_empty());
}

#[test]
fn without_dates_each_season_says_how_often() {
    let stretches = undated(WaterNeed::Usual, Seasons::at(-40.0, &values()), &values());
    let told: Vec<_> = stretches.iter().map(|stretch| (stretch.season.word(), stretch.every, stretch.days)).collect();
    assert_eq!(told, [("warm", Some((15, 2.0)), None), ("cool", Some((30, 1.0)), None)]);
}

fn weather(from: Date, to: Date, low_c: f64, high_c: f64) -> Weather {
    let days = days(from, to).map(|date| WeatherDay { date, tmin_c: low_c, tmax_c: high_c, rain_mm: 0.0 });
    Weather { days: days.collect(), notes: Vec::new() }
}

#[test]
fn where_the_weather_ends_the_calendar_goes_on() {
    let job = Job { start: date(2026, 6, 1), end: date(2026, 9, 30) };
    let weather = weather(date(2026, 5, 1), date(2026, 7, 31), 15.0, 30.0);
    let soil = SoilStore::new(158.0, 0.6, 0.15, 0.5, 0.5);
    let values = values();
    let (stretches, account) =
        by_balance(job, &weather, 40.0, &soil, (WaterNeed::Usual, Seasons::at(40.0, &values), &values));
    let told: Vec<_> = stretches.iter().map(|stretch| (stretch.method.word(), stretch.days)).collect();
    let until = date(2026, 7, 31);
    let expected = [("balance", Some((job.start, until))), ("calendar", Some((date(2026, 8, 1), job.end)))];
    assert_eq!(told, expected);
    assert_eq!(account.len(), 92);
    assert!(!stretches[0].waterings.is_empty() && stretches[0].every.is_none());
    // Counted on from the last watering by the balance.
    let dates = all_dates(&stretches);
    let next = dates.iter().position(|&date| date > until).unwrap();
    assert_eq!(days_between(dates[next - 1], dates[next]), 15);
}

proptest! {
    #[test]
    fn dates_lie_in_the_job_and_no_interval_is_longer_than_its_season_allows(
        start in 0i32..3000, length in 0i32..900, latitude in -70.0f64..70.0,
    ) {
        let from = date(2023, 1, 1).checked_add(start.days()).unwrap();
        let to = from.checked_add(length.days()).unwrap();
        let stretches = calendar(from, to, latitude, WaterNeed::Usual);
        let dates = all_dates(&stretches);
        prop_assert_eq!(dates[0], from);
        prop_assert!(dates.iter().all(|date| (from..=to).contains(date)));
        let gaps: Vec<i64> = dates.windows(2).map(|pair| days_between(pair[0], pair[1])).collect();
        prop_assert!(gaps.iter().all(|gap| (15..=30).contains(gap)), "{:?}", gaps);
        prop_assert!(days_between(*dates.last().unwrap(), to) < 30);
        // Stretches follow on one another without a gap.
        let days: Vec<(Date, Date)> = stretches.iter().map(|stretch| stretch.days.unwrap()).collect();
        prop_assert_eq!((days[0].0, days[days.len() - 1].1), (from, to));
        prop_assert!(days.windows(2).all(|pair| days_between(pair[0].1, pair[1].0) == 1));
    }

    #[test]
    fn no_water_falls_in_a_frozen_spell(start in 0i32..365, cold in proptest::collection::vec(any::<bool>(), 30..250)) {
        let from = date(2025, 1, 1).checked_add(start.days()).unwrap();
        let days: Vec<WeatherDay> = days(from, Date::MAX)
            .zip(&cold)
            .map(|(date, &cold)| WeatherDay { date, tmin_c: if cold { -5.0 } else { 8.0 }, tmax_c: 22.0, rain_mm: 0.0 })
            .collect();
        let job = Job { start: from, end: days[days.len() - 1].date };
        let values = values();
        let soil = SoilStore::new(90.0, 0.3, 0.15, 0.5, 1.0);
        let weather = Weather { days: days.clone(), notes: Vec::new() };
        let (stretches, _) = by_balance(job, &weather, 40.0, &soil, (WaterNeed::Usual, Seasons::at(40.0, &values), &values));
        for date in all_dates(&stretches) {
            let day = days.iter().find(|day| day.date == date).unwrap();
            prop_assert!(day.tmin_c >= 0.0);
        }
    }
}
