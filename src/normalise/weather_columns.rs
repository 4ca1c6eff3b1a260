//! Which columns of a table of weather are which, and in what unit.

use super::words::name_words;
use crate::error::{Error, Result};
use std::collections::BTreeMap;

/// What a column holds.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Role {
    /// The day.
    Date,
    /// Lowest temperature.
    Tmin,
    /// Highest temperature.
    Tmax,
    /// Rain.
    Rain,
}

impl Role {
    const ALL: [Role; 4] = [Role::Date, Role::Tmin, Role::Tmax, Role::Rain];

    /// The word in `--weather-columns` and in messages.
    pub(super) fn word(self) -> &'static str {
        match self {
            Role::Date => "date",
            Role::Tmin => "tmin",
            Role::Tmax => "tmax",
            Role::Rain => "rain",
        }
    }

    /// Names that files use, as plain words without a unit.
    fn names(self) -> &'static [&'static str] {
        match self {
            Role::Date => &["date", "day", "datum", "fecha", "time"],
            Role::Tmin => &[
                "tmin",
                "t min",
                "tn",
                "min temp",
                "temp min",
                "temperature min",
                "min temperature",
                "minimum temperature",
                "temperature minimum",
                "temperature 2 m min",
                "tempmin",
                "mintemp",
                "tnk",
            ],
            Role::Tmax => &[
                "tmax",
                "t max",
                "tx",
                "max temp",
                "temp max",
                "temperature max",
                "max temperature",
                "maximum temperature",
                "temperature maximum",
                "temperature 2 m max",
                "tempmax",
                "maxtemp",
                "txk",
            ],
            Role::Rain => {
                &["rain", "rainfall", "precip", "precipitation", "prcp", "rr", "rain sum", "precipitation sum", "rsk"]
            }
        }
    }
}

/// A unit of a column of weather.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Unit {
    Celsius,
    Fahrenheit,
    Millimetres,
    Centimetres,
    Inches,
}

impl Unit {
    fn parse(role: Role, text: &str) -> Option<Unit> {
        let text = text.trim().trim_start_matches(['\u{b0}', '\u{ba}']).to_lowercase();
        match (role, text.as_str()) {
            (Role::Tmin | Role::Tmax, "c" | "degc" | "deg c" | "celsius") => Some(Unit::Celsius),
            (Role::Tmin | Role::Tmax, "f" | "degf" | "deg f" | "fahrenheit") => Some(Unit::Fahrenheit),
            (Role::Rain, "mm" | "millimetres" | "millimeters") => Some(Unit::Millimetres),
            (Role::Rain, "cm" | "centimetres" | "centimeters") => Some(Unit::Centimetres),
            (Role::Rain, "in" | "inch" | "inches") => Some(Unit::Inches),
            _ => None,
        }
    }
}

/// The columns of a table, all of them found.
pub(super) struct Columns {
    at: [usize; 4],
    unit: [Option<Unit>; 4],
}

impl Columns {
    /// Finds all four by what was typed, else by name.
    pub(super) fn find(header: &csv::StringRecord, at: &str, typed: &BTreeMap<String, String>) -> Result<Columns> {
        if let Some(role) = typed.keys().find(|role| !Role::ALL.iter().any(|known| known.word() == role.as_str())) {
            return Err(Error::Usage {
                what: format!("--weather-columns: no role `{role}`; expected date, tmin, tmax or rain"),
                hint: "--weather-columns date=DATE,tmin=TMIN:F,tmax=TMAX:F,rain=PRCP:in".to_string(),
            });
        }
        let mut columns = Columns { at: [0; 4], unit: [None; 4] };
        for role in Role::ALL {
            let (column, unit) = match typed.get(role.word()) {
                Some(text) => typed_column(header, role, text)?,
                None => by_name(header, role, at)?,
            };
            if unit.is_none() && role != Role::Date {
                let expected = if role == Role::Rain { "mm or in" } else { "C or F" };
                return Err(Error::input(
                    at,
                    format!("the column `{}` does not say its unit; expected {expected}", &header[column]),
                    format!("--weather-columns {}={}:{}", role.word(), &header[column], expected.replace(" or ", "|")),
                ));
            }
            columns.at[role as usize] = column;
            columns.unit[role as usize] = unit;
        }
        Ok(columns)
    }

    /// Where a column stands.
    pub(super) fn at(&self, role: Role) -> usize {
        self.at[role as usize]
    }

    /// A number of a column in degrees Celsius or millimetres.
    pub(super) fn converted(&self, role: Role, value: f64) -> f64 {
        match self.unit[role as usize] {
            Some(Unit::Fahrenheit) => (value - 32.0) / 1.8,
            Some(Unit::Inches) => value * 25.4,
            Some(Unit::Centimetres) => value * 10.0,
            Some(Unit::Celsius | Unit::Millimetres) | None => value,
        }
    }
}

fn typed_column(header: &csv::StringRecord, role: Role, text: &str) -> Result<(usize, Option<Unit>)> {
    let whole = |name: &str| header.iter().position(|column| column.trim() == name);
    if let Some(column) = whole(text) {
        return Ok((column, unit_behind(&header[column], role)));
    }
    let missing = || Error::Usage {
        what: format!("--weather-columns {}={text}: no such column", role.word()),
        hint: format!("columns: {}", header.iter().collect::<Vec<_>>().join(", ")),
    };
    let (name, unit) = text.rsplit_once(':').ok_or_else(missing)?;
    let column = whole(name).ok_or_else(missing)?;
    let unit = Unit::parse(role, unit).ok_or_else(|| Error::Usage {
        what: format!("--weather-columns {}={text}: `{unit}` is no unit of {}", role.word(), role.word()),
        hint: if role == Role::Rain { "mm, cm or in" } else { "C or F" }.to_string(),
    })?;
    Ok((column, Some(unit)))
}

fn by_name(header: &csv::StringRecord, role: Role, at: &str) -> Result<(usize, Option<Unit>)> {
    let mut found = header.iter().enumerate().filter_map(|(column, name)| {
        let (plain, unit) = by_unit(name, role)?;
        role.names().contains(&plain.as_str()).then_some((column, unit))
    });
    let hint =
        format!("--weather-columns {}=COLUMN; columns: {}", role.word(), header.iter().collect::<Vec<_>>().join(", "));
    match (found.next(), found.next()) {
        (Some(one), None) => Ok(one),
        (None, _) => Err(Error::input(at, format!("no column is {} by its name", role.word()), hint)),
        (Some((one, _)), Some((other, _))) => Err(Error::input(
            at,
            format!("both `{}` and `{}` may be {}", &header[one], &header[other], role.word()),
            hint,
        )),
    }
}

/// The name as plain words without the unit at its end, and that unit.
fn by_unit(name: &str, role: Role) -> Option<(String, Option<Unit>)> {
    let (mut words, unit) = (name_words(name), unit_behind(name, role));
    if unit.is_some() {
        words.pop();
        if words.last().is_some_and(|word| word == "deg") {
            words.pop();
        }
    }
    (!words.is_empty()).then(|| (words.join(" "), unit))
}

fn unit_behind(name: &str, role: Role) -> Option<Unit> {
    let words = name_words(name);
    words.last().filter(|_| words.len() > 1).and_then(|last| Unit::parse(role, last))
}
