//! Files of weather as stations and people write them: what cannot be used is told, and never becomes a silent 0.

use super::*;
use jiff::civil::date;

const NAMES: &str = "date,tmin_c,tmax_c,rain_mm";

fn job() -> Job {
    Job { start: date(2028, 2, 28), end: date(2028, 3, 1) }
}

fn typed(pairs: &[(&str, &str)]) -> BTreeMap<String, String> {
    pairs.iter().map(|(role, column)| (role.to_string(), column.to_string())).collect()
}

fn read(header: &str, rows: &[&str]) -> Result<Weather> {
    parse_weather(&format!("{header}\n{}\n", rows.join("\n")), "weather.csv", &BTreeMap::new(), job())
}

fn refused(header: &str, rows: &[&str]) -> String {
    read(header, rows).unwrap_err().to_string()
}

/// The three days of the job in the leap year 2028 and what one of them says instead.
fn with_leap_day(row: &str) -> String {
    refused(NAMES, &["2028-02-28,1,9,0", row, "2028-03-01,3,11,2.5"])
}

#[test]
fn a_clean_file_is_read_with_its_leap_day() {
    let weather = read(NAMES, &["2028-02-28,1,9,0", "2028-02-29,2,10,1.5", "2028-03-01,3,11,2.5"]).unwrap();
    assert_eq!(weather.notes, Vec::<String>::new());
    assert_eq!(weather.days.len(), 3);
    assert_eq!(weather.days[1], WeatherDay { date: date(2028, 2, 29), tmin_c: 2.0, tmax_c: 10.0, rain_mm: 1.5 });
}

#[test]
fn order_does_not_matter_and_days_after_the_job_are_left_out() {
    let rows =
        ["2028-03-02,9,9,9", "2028-03-01,3,11,2.5", "2028-02-28,1,9,0", "2028-02-27,0,8,0", "2028-02-29,2,10,1.5"];
    let weather = read(NAMES, &rows).unwrap();
    let days: Vec<Date> = weather.days.iter().map(|day| day.date).collect();
    assert_eq!(days, [date(2028, 2, 27), date(2028, 2, 28), date(2028, 2, 29), date(2028, 3, 1)]);
}

#[test]
fn fahrenheit_and_inches_are_converted_by_the_name_or_by_what_was_typed() {
    let rows = ["2028-02-28,32,50,0", "2028-02-29,-40,212,0.1", "2028-03-01,41,50,1"];
    // 212 F is the boiling point: no weather.
    assert!(
        refused("date,tmin_f,tmax_f,rain_in", &rows).contains("tmax of 100.0 degC is impossible: is its unit right?")
    );
    let rows = ["2028-02-28,32,50,0", "2028-02-29,-40,50,0.1", "2028-03-01,41,50,1"];
    let by_name = read("date,tmin_f,tmax_f,rain_in", &rows).unwrap();
    assert_eq!((by_name.days[0].tmin_c, by_name.days[0].tmax_c), (0.0, 10.0));
    assert!((by_name.days[1].tmin_c + 40.0).abs() < 1e-9);
    assert!((by_name.days[1].rain_mm - 2.54).abs() < 1e-12 && (by_name.days[2].rain_mm - 25.4).abs() < 1e-12);
    let text = format!("DATE,A,B,PRCP\n{}\n", rows.join("\n"));
    let named = typed(&[("tmin", "A:F"), ("tmax", "B:F"), ("rain", "PRCP:in")]);
    assert_eq!(parse_weather(&text, "w", &named, job()).unwrap().days, by_name.days);
}

#[test]
fn a_unit_that_nobody_states_is_asked_for() {
    let error = refused("date,tmin,tmax,rain_mm", &["2028-02-28,1,9,0"]);
    assert!(error.contains("`tmin` does not say its unit; expected C or F"), "{error}");
    let error = refused("date,tmin_c,tmax_c,prcp", &["2028-02-28,1,9,0"]);
    assert!(error.contains("`prcp` does not say its unit; expected mm or in"), "{error}");
}

#[test]
fn columns_that_are_missing_doubled_or_wrongly_typed_are_told() {
    assert!(refused("date,tmin_c,rain_mm", &["2028-02-28,1,0"]).contains("no column is tmax"));
    assert!(refused("date,tmin_c,tmax_c,tx_c,rain_mm", &["2028-02-28,1,9,9,0"]).contains("both `tmax_c` and `tx_c`"));
    let wrong = |pairs: &[(&str, &str)]| {
        parse_weather(&format!("{NAMES}\n2028-02-28,1,9,0\n"), "w", &typed(pairs), job()).unwrap_err().to_string()
    };
    assert!(wrong(&[("snow", "rain_mm")]).contains("no role `snow`"));
    assert!(wrong(&[("rain", "RAIN")]).contains("no such column"));
    assert!(wrong(&[("rain", "rain_mm:furlong")]).contains("`furlong` is no unit of rain"));
    assert!(wrong(&[("tmin", "tmin_c:mm")]).contains("`mm` is no unit of tmin"));
}

#[test]
fn a_day_of_the_job_that_is_missing_or_wrong_stops_the_run_and_says_why() {
    assert!(refused(NAMES, &["2028-02-28,1,9,0", "2028-03-01,3,11,2.5"]).contains("2028-02-29: no row"));
    for (row, why) in [
        ("2028-02-29,12,10,0", "tmin 12.0 is above tmax 10.0"),
        ("2028-02-29,2,10,-1", "rain of -1.0 mm is impossible"),
        ("2028-02-29,2,10,2001", "rain of 2001.0 mm is impossible"),
        ("2028-02-29,2,10,", "rain is missing"),
        ("2028-02-29,NA,10,0", "tmin is missing"),
        ("2028-02-29,2", "tmax is missing"),
        ("2028-02-29,2,warm,0", "tmax `warm` is no number"),
        ("2028-02-29,2,1e999,0", "is no number"),
        ("2028-02-29,-99.9,10,0", "tmin of -99.9 degC is impossible"),
        ("2028-02-29,2,10,T", "rain `T` is no number"),
    ] {
        let error = with_leap_day(row);
        assert!(error.contains(why) && error.contains("row 3"), "{row}: {error}");
        assert!(error.contains("1 days within the job"), "{row}: {error}");
    }
}

#[test]
fn rows_without_a_date_are_left_out_with_a_note() {
    let rows = [
        "2028-02-28,1,9,0",
        "29/02/2028,2,10,1",
        "2028-02-30,2,10,1",
        "2028-02-29,2,10,1.5",
        "2028-03-01,3,11,2.5",
        "total,,,5",
    ];
    let weather = read(NAMES, &rows).unwrap();
    assert_eq!(weather.days.len(), 3);
    let note = &weather.notes[0];
    for told in ["row 3: `29/02/2028` is no date", "row 4: `2028-02-30`", "row 7: `total`"] {
        assert!(note.contains(told), "{note}");
    }
}

#[test]
fn a_day_that_stands_twice_is_told_apart_by_its_weather() {
    let rows = ["2028-02-28,1,9,0", "2028-02-29,2,10,1.5", "2028-02-29,2,10,1.5", "2028-03-01,3,11,2.5"];
    let weather = read(NAMES, &rows).unwrap();
    assert_eq!((weather.days.len(), weather.notes.len()), (3, 1));
    assert!(weather.notes[0].contains("1 rows repeat a day"));
    let rows = ["2028-02-28,1,9,0", "2028-02-29,2,10,1.5", "2028-02-29,2,10,1.6", "2028-03-01,3,11,2.5"];
    let error = refused(NAMES, &rows);
    assert!(error.contains("2028-02-29 stands twice with different weather, in rows 3 and 4"), "{error}");
}

#[test]
fn files_that_do_not_reach_the_job_or_end_within_it() {
    for rows in [["2027-02-28,1,9,0", "2027-03-01,1,9,0"], ["2028-02-29,1,9,0", "2028-03-01,1,9,0"]] {
        assert!(refused(NAMES, &rows).contains("does not have the first day of the job, 2028-02-28"));
    }
    let weather = read(NAMES, &["2028-02-28,1,9,0"]).unwrap();
    assert_eq!(weather.days.len(), 1);
    assert!(
        weather.notes[0]
            .contains("ends on 2028-02-28, before the job (2028-03-01): from then on water goes by the calendar")
    );
}

#[test]
fn a_gap_before_the_job_only_shortens_the_balance() {
    let days = ["2028-02-25,1,9,0", "2028-02-27,1,9,0", "2028-02-28,1,9,0", "2028-02-29,2,10,1", "2028-03-01,3,11,2"];
    let weather = read(NAMES, &days).unwrap();
    assert_eq!(weather.days[0].date, date(2028, 2, 27));
    assert!(weather.notes[0].contains("2028-02-26 is missing"), "{:?}", weather.notes);
}

#[test]
fn an_empty_file_says_so() {
    assert!(refused(NAMES, &[]).contains("no usable day of weather: no rows"));
    let nothing = parse_weather("", "w", &BTreeMap::new(), job()).unwrap_err().to_string();
    assert!(nothing.contains("no column is date"), "{nothing}");
}

#[test]
fn decimal_commas_behind_semicolons_and_tabs() {
    let rows = ["2028-02-28;-1,5;9,25;0", "2028-02-29;2;10;1,5", "2028-03-01;3;11;2,5"];
    let weather = read("Datum;TNK_C;TXK_C;RSK_mm", &rows).unwrap();
    assert_eq!((weather.days[0].tmin_c, weather.days[0].tmax_c, weather.days[1].rain_mm), (-1.5, 9.25, 1.5));
    let rows = ["20280228\t-1.5\t9.25\t0", "20280229\t2\t10\t1.5", "20280301T12:00\t3\t11\t2.5"];
    assert_eq!(read("date\ttmin_c\ttmax_c\train_mm", &rows).unwrap().days, weather.days);
}

#[test]
fn hostile_headers_and_bytes_are_errors_and_no_panics() {
    for header in
        ["\u{0}\u{1}", "\"date,tmin_c,tmax_c", "=cmd|' /C calc'!A0,tmin_c", ",,,", "\u{202e}etad,tmin_c,tmax_c,rain_mm"]
    {
        assert!(read(header, &["2028-02-28,1,9,0"]).is_err(), "{header:?}");
    }
    let file = tempfile::NamedTempFile::new().unwrap();
    std::fs::write(file.path(), b"date,tmin_c\xff\xfe\n").unwrap();
    assert!(read_weather(file.path(), &BTreeMap::new(), job()).unwrap_err().to_string().contains("not UTF-8"));
    assert!(read_weather(Path::new("/nowhere/weather.csv"), &BTreeMap::new(), job()).is_err());
    std::fs::write(file.path(), format!("\u{feff}{NAMES}\r\n2028-02-28,1,9,0\r\n")).unwrap();
    assert_eq!(read_weather(file.path(), &BTreeMap::new(), job()).unwrap().days.len(), 1);
}

proptest::proptest! {
    #[test]
    fn any_text_is_read_or_refused(text in "(date,tmin_c,tmax_c,rain_mm\n)?[0-9,;\n\"\\-T. a-z\u{e9}]{0,200}") {
        if let Ok(weather) = parse_weather(&text, "w", &BTreeMap::new(), job()) {
            proptest::prop_assert!(weather.days.iter().all(|day| day.tmin_c <= day.tmax_c && day.rain_mm >= 0.0));
        }
    }
}
