//! A column of plain lengths (width, depth, crown, height, accuracy) and a record -> metres, empty, or what is wrong with the cell.
//!
//! Says nothing about what is used in place of a damaged cell: the trees and the works decide that.

use super::columns::Columns;
use super::diameter_text::{says_missing, tidied};
use super::number::{column_uses_decimal_comma, parse_quantity};
use super::words::tidy;
use crate::model::record::RawRecord;
use crate::units::LengthUnit;

/// A column of plain lengths.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Measure {
    /// The column.
    pub column: usize,
    /// For cells without a unit of their own.
    pub unit: Option<LengthUnit>,
    /// Decimal comma.
    pub comma: bool,
    /// What the number is multiplied by after the unit.
    pub factor: f64,
}

/// What a cell says.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Size {
    /// Nothing, a word for nothing, or zero.
    Empty,
    /// More than 0; infinite where the number is too large to be held.
    Metres(f64),
    /// Below 0, with its sign.
    Negative(f64),
    /// No number, or no unit.
    Unreadable,
}

impl Measure {
    /// Reads the cell of a record.
    pub fn read(&self, record: &RawRecord) -> Size {
        let cell = record.cell(self.column).trim();
        let metres = match parse_quantity(cell, self.comma) {
            Some(number) if number.unit.or(self.unit).is_none() => return Size::Unreadable,
            // Finite as written, but not in metres.
            Some(number) => number.metres(self.unit).unwrap_or(f64::INFINITY.copysign(number.value)) * self.factor,
            None if says_missing(&tidied(cell)) => return Size::Empty,
            None => match cell.parse::<f64>() {
                // `1e999`
                Ok(value) if value.is_infinite() => value,
                _ => return Size::Unreadable,
            },
        };
        if metres > 0.0 {
            Size::Metres(metres)
        } else if metres < 0.0 {
            Size::Negative(metres)
        } else {
            Size::Empty
        }
    }

    /// The cell for a message, at most 40 characters.
    pub fn shown(&self, record: &RawRecord) -> String {
        let cell = tidy(record.cell(self.column));
        let short: String = cell.chars().take(40).collect();
        if short.len() < cell.len() { format!("`{short}...`") } else { format!("`{cell}`") }
    }
}

/// A column of lengths; left out, with a note, where neither name, cells, typed unit nor flag states the unit.
pub fn measure(
    columns: &mut Columns,
    role: &'static str,
    sample: &[RawRecord],
    flag: Option<LengthUnit>,
    notes: &mut Vec<String>,
) -> Option<Measure> {
    let column = columns.column(role)?;
    let cells = || sample.iter().map(|record| record.cell(column)).filter(|cell| !cell.trim().is_empty());
    let comma = column_uses_decimal_comma(cells());
    let unit = columns.stated_unit(role).or(flag);
    let by_cells = cells().next().is_some()
        && cells().all(|cell| parse_quantity(cell, comma).is_some_and(|number| number.unit.is_some()));
    if unit.is_none() && !by_cells {
        let name = columns.name(role).to_string();
        let how = if role.starts_with("crown") {
            "--crown-unit ft or --crown-unit m".to_string()
        } else {
            format!("--tree-columns {role}={name}:m")
        };
        let note = format!("column `{name}` is not used for {role}: it states no unit ({how})");
        columns.drop_column(role, &note);
        notes.push(note);
        return None;
    }
    columns.add_why(role, &unit.map_or("units from the cells".to_string(), |unit| format!("unit {unit}")));
    Some(Measure { column, unit, comma, factor: 1.0 })
}
