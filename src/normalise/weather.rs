//! A table of daily weather -> days in order, in degrees Celsius and millimetres, without a gap where the job needs them.
//!
//! Columns are found by name, or named with `--weather-columns`; units come from the name of the column or from there, never from a guess.
//! A row that cannot be used leaves its day out; a day that is missing within the job stops the run, for a balance cannot step over it.

use super::dates::parse_iso_date;
use super::number::parse_number;
use super::weather_columns::{Columns, Role};
use crate::error::{Error, Result};
use crate::model::upkeep::Job;
use crate::model::weather::{Weather, WeatherDay};
use jiff::civil::Date;
use std::collections::BTreeMap;
use std::path::Path;

/// Rows that a message names.
const ROWS_NAMED: usize = 5;
/// What no thermometer in the shade has shown, degrees Celsius.
const TEMPERATURES_C: std::ops::RangeInclusive<f64> = -90.0..=60.0;
/// More rain than ever fell in a day, millimetres.
const MOST_RAIN_MM: f64 = 2000.0;

/// Reads a file of daily weather for a job.
///
/// `typed` are `role=COLUMN` or `role=COLUMN:UNIT` from the command line. What comes back has a row for each day from some day on or before
/// the job's first to some day on or after it: days before a gap that lies before the job are left out, and so are days after the job.
/// Where the file ends before the job, it comes back as it is, with a note.
///
/// # Errors
/// `Io`; `Input` where the text is not UTF-8, a column or its unit cannot be told, a day stands twice with different weather, a day within
/// the job is missing or cannot be used, or the file does not reach the job at all.
pub fn read_weather(path: &Path, typed: &BTreeMap<String, String>, job: Job) -> Result<Weather> {
    let bytes = std::fs::read(path).map_err(|error| Error::io(path, "read", error))?;
    let at = path.display().to_string();
    let Ok(text) = std::str::from_utf8(&bytes) else {
        return Err(Error::input(at, "the text is not UTF-8", "save the table as UTF-8"));
    };
    parse_weather(text.trim_start_matches('\u{feff}'), &at, typed, job)
}

/// The days of a text; see [`read_weather`].
pub(super) fn parse_weather(text: &str, at: &str, typed: &BTreeMap<String, String>, job: Job) -> Result<Weather> {
    let header_line = text.lines().next().unwrap_or_default();
    let delimiter =
        [b';', b'\t', b','].into_iter().max_by_key(|&mark| header_line.bytes().filter(|&b| b == mark).count());
    let delimiter = delimiter.unwrap_or(b',');
    let mut reader =
        csv::ReaderBuilder::new().delimiter(delimiter).flexible(true).has_headers(true).from_reader(text.as_bytes());
    let header = reader.headers().map_err(|error| unreadable(at, &error))?.clone();
    let columns = Columns::find(&header, at, typed)?;
    let mut days: BTreeMap<Date, (u64, WeatherDay)> = BTreeMap::new();
    let mut unusable: BTreeMap<Option<Date>, Vec<String>> = BTreeMap::new();
    let mut same = 0u64;
    for record in reader.records() {
        let record = record.map_err(|error| unreadable(at, &error))?;
        let line = record.position().map_or(0, csv::Position::line);
        match day(&columns, &record, delimiter != b',') {
            Ok(day) => match days.insert(day.date, (line, day)) {
                Some((before, other)) if other != day => {
                    let what = format!("{} stands twice with different weather, in rows {before} and {line}", day.date);
                    return Err(Error::input(format!("{at}:{line}"), what, "leave one row for each day"));
                }
                Some(_) => same += 1,
                None => {}
            },
            Err((date, what)) => unusable.entry(date).or_default().push(format!("row {line}: {what}")),
        }
    }
    if days.is_empty() {
        let first = unusable.values().flatten().next().map_or_else(|| "no rows".to_string(), Clone::clone);
        return Err(Error::input(at, format!("no usable day of weather: {first}"), WEATHER_HINT));
    }
    let mut weather = without_gaps(&days, &unusable, at, job)?;
    if !text.ends_with(['\n', '\r']) {
        weather.notes.push("weather: the last line has no line end: check that the file was not cut off".to_string());
    }
    if same > 0 {
        weather.notes.push(format!("weather: {same} rows repeat a day with the same weather and were left out"));
    }
    let left_out: Vec<&String> = unusable.values().flatten().collect();
    if !left_out.is_empty() {
        weather.notes.push(format!("weather: rows that cannot be used were left out: {}", named(&left_out)));
    }
    Ok(weather)
}

const WEATHER_HINT: &str = "one row a day: date,tmin_c,tmax_c,rain_mm, or name columns and units: --weather-columns date=DATE,tmin=TMIN:F,tmax=TMAX:F,rain=PRCP:in";

fn unreadable(at: &str, error: &csv::Error) -> Error {
    let line = error.position().map_or(1, csv::Position::line);
    Error::input(format!("{at}:{line}"), format!("the table cannot be read: {error}"), WEATHER_HINT)
}

/// The first few of a list.
fn named(rows: &[&String]) -> String {
    let first: Vec<&str> = rows.iter().take(ROWS_NAMED).map(|row| row.as_str()).collect();
    let more = rows.len().saturating_sub(ROWS_NAMED);
    let more = if more > 0 { format!("; and {more} more") } else { String::new() };
    format!("{}{more}", first.join("; "))
}

/// One row; its day, where that much is known, and what is wrong.
fn day(
    columns: &Columns,
    record: &csv::StringRecord,
    decimal_comma: bool,
) -> std::result::Result<WeatherDay, (Option<Date>, String)> {
    let cell = |role: Role| record.get(columns.at(role)).unwrap_or("").trim();
    let date = parse_iso_date(cell(Role::Date)).ok_or_else(|| {
        (None, format!("`{}` is no date; expected one such as 2026-04-01 or 20260401", cell(Role::Date)))
    })?;
    let number = |role: Role| {
        let text = cell(role);
        let missing = matches!(text.to_ascii_lowercase().as_str(), "" | "na" | "n/a" | "nan" | "null" | "-" | "m");
        if missing {
            return Err((Some(date), format!("{date}: {} is missing", role.word())));
        }
        let value = parse_number(text, decimal_comma)
            .ok_or_else(|| (Some(date), format!("{date}: {} `{text}` is no number", role.word())))?;
        Ok(columns.converted(role, value))
    };
    let (tmin_c, tmax_c, rain_mm) = (number(Role::Tmin)?, number(Role::Tmax)?, number(Role::Rain)?);
    for (role, value) in [(Role::Tmin, tmin_c), (Role::Tmax, tmax_c)] {
        if !TEMPERATURES_C.contains(&value) {
            return Err((
                Some(date),
                format!("{date}: {} of {value:.1} degC is impossible: is its unit right?", role.word()),
            ));
        }
    }
    if tmin_c > tmax_c {
        return Err((Some(date), format!("{date}: tmin {tmin_c:.1} is above tmax {tmax_c:.1} degC")));
    }
    if !(0.0..=MOST_RAIN_MM).contains(&rain_mm) {
        return Err((Some(date), format!("{date}: rain of {rain_mm:.1} mm is impossible")));
    }
    Ok(WeatherDay { date, tmin_c, tmax_c, rain_mm })
}

/// The unbroken days that the job needs.
fn without_gaps(
    days: &BTreeMap<Date, (u64, WeatherDay)>,
    unusable: &BTreeMap<Option<Date>, Vec<String>>,
    at: &str,
    job: Job,
) -> Result<Weather> {
    let (first, last) = (*days.keys().next().expect("not empty"), *days.keys().next_back().expect("not empty"));
    if last < job.start || first > job.start {
        let what = format!(
            "the weather runs from {first} to {last} and does not have the first day of the job, {}",
            job.start
        );
        return Err(Error::input(
            at,
            what,
            "give weather that begins on or before --start, e.g. that of a typical year with its dates moved",
        ));
    }
    let missing = |from: Date, to: Date| {
        from.series(jiff::Span::new().days(1)).take_while(move |day| *day <= to).filter(|day| !days.contains_key(day))
    };
    let until = last.min(job.end);
    let gaps: Vec<String> = missing(job.start, until)
        .map(|day| match unusable.get(&Some(day)) {
            Some(why) => why.join("; "),
            None => format!("{day}: no row"),
        })
        .collect();
    if !gaps.is_empty() {
        let what = format!(
            "{} days within the job have no usable weather: {}",
            gaps.len(),
            named(&gaps.iter().collect::<Vec<_>>())
        );
        return Err(Error::input(at, what, "fill them from a station nearby, or leave --weather out"));
    }
    let mut weather = Weather::default();
    let gap_before = missing(first, job.start).last();
    let from = gap_before.map_or(first, |gap| gap.tomorrow().unwrap_or(gap));
    if let Some(gap) = gap_before {
        weather.notes.push(format!("weather: {gap} is missing, so that the balance begins after it"));
    }
    if last < job.end {
        weather.notes.push(format!(
            "weather: the file ends on {last}, before the job ({}): from then on water goes by the calendar",
            job.end
        ));
    }
    weather.days = days.range(from..=until).map(|(_, (_, day))| *day).collect();
    Ok(weather)
}

#[cfg(test)]
#[path = "weather_tests.rs"]
mod tests;
