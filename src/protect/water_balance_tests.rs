//! Laws of the balance, worked examples, and a season against an independent program.

use super::*;
use proptest::prelude::*;

fn day(date: Date, tmin_c: f64, tmax_c: f64, rain_mm: f64) -> WeatherDay {
    WeatherDay { date, tmin_c, tmax_c, rain_mm }
}

fn from(first: Date, weather: &[(f64, f64, f64)]) -> Vec<WeatherDay> {
    let dates = crate::protect::water::days(first, Date::MAX);
    dates.zip(weather).map(|(date, &(low, range, rain))| day(date, low, low + range, rain)).collect()
}

fn all_year(days: &[WeatherDay]) -> (Date, Date) {
    (days[0].date, days[days.len() - 1].date)
}

const LOAM: f64 = 158.335;

#[test]
fn what_a_soil_holds_is_its_depth_times_what_a_metre_holds() {
    let soil = SoilStore::new(LOAM, 0.6, 0.15, 0.5, 0.5);
    assert!((soil.root_mm - 95.001).abs() < 1e-9 && (soil.top_mm - 23.750_25).abs() < 1e-9);
    // Roots that go no deeper than the top.
    assert_eq!(SoilStore::new(LOAM, 0.1, 0.15, 0.5, 0.5).top_mm, LOAM * 0.1);
}

#[test]
fn stress_begins_where_the_allowed_share_is_used() {
    let soil = SoilStore { root_mm: 100.0, top_mm: 25.0, depletion_share: 0.5, crop_coefficient: 1.0 };
    // Equation 84: (TAW - D) / (TAW - RAW).
    for (lack_mm, expected) in [(0.0, 1.0), (50.0, 1.0), (75.0, 0.5), (100.0, 0.0), (120.0, 0.0)] {
        assert_eq!(stress(lack_mm, &soil), expected, "{lack_mm}");
    }
}

#[test]
fn rain_fills_the_top_first_and_the_rest_passes_on() {
    let mut lack = Lack { top_mm: 10.0, lower_mm: 20.0 };
    assert_eq!(fill(&mut lack, 4.0), 0.0);
    assert_eq!((lack.top_mm, lack.lower_mm), (6.0, 20.0));
    assert_eq!(fill(&mut lack, 30.0), 4.0);
    assert_eq!((lack.top_mm, lack.lower_mm), (0.0, 0.0));
}

#[test]
fn water_comes_on_the_morning_after_the_allowed_share_is_used() {
    // Sun enough for 5 mm a day on 20 mm: the share of 10 mm is used on the evening of the second day.
    let first = jiff::civil::date(2026, 7, 15);
    let days = from(first, &[(14.8, 11.8, 0.0); 6]);
    let soil = SoilStore { root_mm: 20.0, top_mm: 5.0, depletion_share: 0.49, crop_coefficient: 1.0 };
    let account = balance(&days, 45.72, &soil, &Leave { job: all_year(&days), dry_summer: &|_| false });
    let given: Vec<bool> = account.iter().map(|day| day.water_mm > 0.0).collect();
    assert_eq!(given, [false, false, true, false, true, false]);
    let used: f64 = account[..2].iter().map(|day| day.evaporation_mm).sum();
    assert!((account[2].water_mm - used).abs() < 1e-12 && (9.8..10.3).contains(&used), "{used}");
    assert_eq!(account[2].due, Some(DueTo::Both));
}

#[test]
fn frost_a_dry_summer_and_the_ends_of_the_job_hold_water_back_and_it_stays_due() {
    let first = jiff::civil::date(2026, 3, 1);
    let mut weather = [(2.0, 12.0, 0.0); 60];
    weather[40..50].fill((-3.0, 12.0, 0.0));
    let days = from(first, &weather);
    let soil = SoilStore { root_mm: 20.0, top_mm: 5.0, depletion_share: 0.5, crop_coefficient: 1.0 };
    let job = (days[10].date, days[55].date);
    let dry = |date: Date| (days[20].date..days[30].date).contains(&date);
    let account = balance(&days, 45.0, &soil, &Leave { job, dry_summer: &dry });
    for (at, why) in [(9, "before the job"), (25, "dry summer"), (48, "frozen"), (59, "after the job")] {
        assert_eq!((account[at].withheld, account[at].water_mm), (why, 0.0), "{at}");
        assert!(account[at].due.is_some());
    }
    for (at, why) in [(10, "first day"), (30, "after the dry summer"), (50, "after the frost")] {
        assert!(account[at].water_mm > 0.0, "{why}");
    }
}

#[test]
fn a_season_equals_that_of_an_independent_program() {
    // tests/data/water_season.csv: weather, and evaporation, water, percolation and lack as scripts/check-water found them with pyet and its
    // own bookkeeping (see the head of that script). Half a printed step in each, added up over a season.
    let path = concat!(env!("CARGO_MANIFEST_DIR"), "/tests/data/water_season.csv");
    let mut reader = csv::ReaderBuilder::new().comment(Some(b'#')).from_path(path).unwrap();
    let rows: Vec<std::collections::BTreeMap<String, String>> = reader.deserialize().map(|row| row.unwrap()).collect();
    let cell = |row: &std::collections::BTreeMap<String, String>, name: &str| row[name].parse::<f64>().unwrap();
    let days: Vec<WeatherDay> = rows
        .iter()
        .map(|row| day(row["date"].parse().unwrap(), cell(row, "tmin_c"), cell(row, "tmax_c"), cell(row, "rain_mm")))
        .collect();
    let soil = SoilStore::new(80.0, 0.4, 0.15, 0.5, 0.6);
    let job = (jiff::civil::date(2024, 4, 1), jiff::civil::date(2024, 12, 20));
    let account = balance(&days, 44.5, &soil, &Leave { job, dry_summer: &|_| false });
    assert_eq!(account.len(), 366);
    for (row, day) in rows.iter().zip(&account) {
        for (name, value) in [
            ("reference_mm", day.reference_mm),
            ("evaporation_mm", day.evaporation_mm),
            ("water_mm", day.water_mm),
            ("percolation_mm", day.percolation_mm),
            ("top_lacks_mm", day.top_lacks_mm),
            ("root_lacks_mm", day.root_lacks_mm),
        ] {
            let expected = cell(row, name);
            assert!((value - expected).abs() < 1e-6, "{} {name}: {value}, not {expected}", row["date"]);
        }
        assert_eq!(row["withheld"], day.withheld, "{}", row["date"]);
    }
    assert!(account.iter().filter(|day| day.water_mm > 0.0).count() >= 5, "the season asks for water");
    assert!(account.iter().any(|day| day.withheld == "frozen") && account.iter().any(|day| day.percolation_mm > 0.0));
}

proptest! {
    #[test]
    fn the_balance_closes_and_stays_within_what_the_soil_holds(
        latitude in -60.0f64..60.0,
        weather in proptest::collection::vec((-12.0f64..25.0, 0.0f64..20.0, prop_oneof![3 => Just(0.0), 1 => 0.0f64..60.0]), 1..200),
        (per_m, root, share, crop) in (60.0f64..210.0, 0.1f64..1.5, 0.1f64..0.9, 0.1f64..1.5),
    ) {
        let days = from(jiff::civil::date(2027, 11, 1), &weather);
        let soil = SoilStore::new(per_m, root, 0.15, share, crop);
        let account = balance(&days, latitude, &soil, &Leave { job: all_year(&days), dry_summer: &|_| false });
        let mut before = 0.0;
        for day in &account {
            // Equation 85, with neither runoff nor capillary rise.
            let after = before - day.weather.rain_mm - day.water_mm + day.evaporation_mm + day.percolation_mm;
            prop_assert!((after - day.root_lacks_mm).abs() < 1e-6, "{:?}", day);
            before = day.root_lacks_mm;
            prop_assert!((-1e-9..=soil.root_mm + 1e-9).contains(&day.root_lacks_mm));
            prop_assert!((-1e-9..=soil.top_mm + 1e-9).contains(&day.top_lacks_mm));
            prop_assert!(day.top_lacks_mm <= day.root_lacks_mm + 1e-9);
            prop_assert!(day.evaporation_mm >= 0.0 && day.percolation_mm >= 0.0);
            prop_assert!(day.weather.tmin_c >= 0.0 || day.water_mm == 0.0, "no water on a day that freezes");
            prop_assert!(day.water_mm == 0.0 || day.due.is_some() && day.withheld.is_empty());
        }
        let sum = |of: fn(&BalanceDay) -> f64| account.iter().map(of).sum::<f64>();
        let closed = sum(|day| day.weather.rain_mm) + sum(|day| day.water_mm) - sum(|day| day.evaporation_mm)
            - sum(|day| day.percolation_mm) + account[account.len() - 1].root_lacks_mm;
        prop_assert!(closed.abs() < 1e-6, "{}", closed);
    }
}
