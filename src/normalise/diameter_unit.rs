//! A diameter column and its sample -> unit, decimal mark and rounding step.
//!
//! The unit is stated or it is an error: nothing here guesses between inches and centimetres. What a lone comma means is decided in
//! `decimal_comma`.

use super::columns::{Columns, percent};
use super::decimal_comma::{CommaReading, read_comma};
use super::diameter::{DiameterCell, DiameterReading, parse_diameter};
use super::number::{parse_quantity, parse_unit};
use crate::error::{Error, Result};
use crate::model::record::RawRecord;
use crate::settings::ReadingChoices;
use crate::units::LengthUnit;
use std::f64::consts::PI;

/// Diameters that a unit must give to be plausible, metres. A choice of the program: from a planted whip to the thickest street trees.
pub const PLAUSIBLE_M: std::ops::RangeInclusive<f64> = 0.01..=3.0;
/// Among units that are equally plausible the one whose median is nearest to this is named first, metres. Common in street
/// inventories (the median of Vancouver's 5,000 rows is 9 in = 0.23 m); it orders a message and decides nothing.
const USUAL_MEDIAN_M: f64 = 0.25;

/// How a diameter column is read.
#[derive(Debug, Clone, PartialEq)]
pub struct DiameterPlan {
    /// The column.
    pub column: usize,
    /// For rows without a unit of their own.
    pub reading: DiameterReading,
    /// Column with the unit of each row.
    pub unit_column: Option<usize>,
    /// How its numbers are rounded.
    pub steps: RoundingSteps,
}

impl DiameterPlan {
    /// Reads the cell of a record.
    pub fn read(&self, record: &RawRecord) -> DiameterCell {
        let own = self.unit_column.and_then(|column| parse_unit(record.cell(column)));
        let reading = DiameterReading { unit: own.or(self.reading.unit), ..self.reading };
        parse_diameter(record.cell(self.column), &reading)
    }

    /// Why a cell gives no diameter.
    pub fn missing(&self, record: &RawRecord) -> String {
        match record.cell(self.column).trim() {
            "" => "the diameter is empty".to_string(),
            cell => format!("the diameter `{cell}` says that none is known"),
        }
    }

    /// Half of the rounding step of a diameter that came from this record, metres of diameter; 0 where no unit is known.
    ///
    /// A number with a unit of its own is rounded as it is written: the column's steps are those of another unit.
    pub fn rounding_m(&self, record: &RawRecord, diameter_m: f64) -> f64 {
        let by_row = || self.unit_column.and_then(|column| parse_unit(record.cell(column)));
        let own = unit_behind(record.cell(self.column)).or_else(by_row);
        let Some(unit) = own.or(self.reading.unit) else { return 0.0 };
        let metres_per_written = if self.reading.girth { unit.metres() / PI } else { unit.metres() };
        let written = diameter_m / metres_per_written;
        let half =
            if Some(unit) == self.reading.unit { self.steps.half_step(written) } else { half_step_as_written(written) };
        half * metres_per_written
    }
}

/// The unit at the end of a cell: `12/8 in`, `24 (cm)`, `2'6"`.
fn unit_behind(cell: &str) -> Option<LengthUnit> {
    let end =
        cell.char_indices().rfind(|(_, letter)| letter.is_numeric()).map(|(at, letter)| at + letter.len_utf8())?;
    parse_unit(cell[end..].trim_matches(|c: char| c.is_whitespace() || matches!(c, '.' | '(' | ')' | '[' | ']')))
}

/// What holds for a diameter column that states no unit.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Unstated {
    /// Nothing: it is an error.
    Refused,
    /// The unit of `--diameter-unit`.
    Flag(LengthUnit),
    /// The unit of the file's main column.
    AsDiameter(LengthUnit),
    /// A unit that nobody stated: only to look further into a file that a run would refuse.
    StandIn(LengthUnit),
}

impl Unstated {
    /// What the choices say.
    pub fn of(choices: &ReadingChoices) -> Unstated {
        match (choices.diameter_unit, choices.stand_in_unit) {
            (Some(unit), _) => Unstated::Flag(unit),
            (None, Some(unit)) => Unstated::StandIn(unit),
            (None, None) => Unstated::Refused,
        }
    }

    /// For a column that only helps out: the flag, else the unit of the main column.
    pub fn or_as(self, main: Option<&DiameterPlan>) -> Unstated {
        match (self, main.and_then(|plan| plan.reading.unit)) {
            (Unstated::Refused, Some(unit)) => Unstated::AsDiameter(unit),
            _ => self,
        }
    }
}

/// Decides one diameter column. Adds what it found to the decision of the role.
///
/// # Errors
/// `Input` where no unit is stated; it names every unit with the share of rows that would be plausible.
pub fn decide_diameter(
    at: &str,
    role: &'static str,
    columns: &mut Columns,
    sample: &[RawRecord],
    unstated: Unstated,
    notes: &mut Vec<String>,
) -> Result<Option<DiameterPlan>> {
    let Some(column) = columns.column(role) else { return Ok(None) };
    let girth = role == "girth";
    let cells: Vec<&str> =
        sample.iter().map(|record| record.cell(column).trim()).filter(|cell| !cell.is_empty()).collect();
    let unit_column = columns.column("diameter_unit");
    let stated = stated_unit(columns, role, unstated, unit_column);
    let metres = stated.as_ref().map(|(unit, _)| if girth { unit.metres() / PI } else { unit.metres() });
    let comma = read_comma(&cells, column, columns, sample, metres);
    let decimal_comma = matches!(comma, CommaReading::Decimal(_));
    let unit = match stated {
        Some((unit, why)) => {
            columns.add_why(role, &format!("unit {unit}: {why}"));
            Some(unit)
        }
        None => {
            let by_cells = unit_column.is_some() || cells_state_units(&cells);
            let stand_in = match unstated {
                Unstated::StandIn(unit) if !by_cells => Some(unit),
                _ => None,
            };
            if !by_cells && stand_in.is_none() {
                not_stated(at, role, columns.name(role), &cells, girth, decimal_comma)?;
            }
            columns.add_why(
                role,
                match (stand_in, unit_column) {
                    (Some(_), _) => "the unit is not stated",
                    (None, Some(_)) => "unit from its own column",
                    (None, None) => "units from the cells",
                },
            );
            stand_in
        }
    };
    match comma {
        CommaReading::None => {}
        CommaReading::Decimal(why) => columns.add_why(role, &format!("a lone comma is a decimal comma: {why}")),
        CommaReading::Stems { example: (first, second), why } => {
            columns.add_why(role, &format!("a lone comma parts two stems: {why}"));
            notes.push(format!(
                "`{first},{second}` in column {} is read as stems of {first} and {second}: {why}; where one stem of {first}.{second} is \
                 meant, write it with a decimal point",
                columns.name(role)
            ));
        }
    }
    let reading = DiameterReading { unit, girth, decimal_comma };
    let steps = RoundingSteps::of(&cells, decimal_comma);
    Ok(Some(DiameterPlan { column, reading, unit_column, steps }))
}

fn stated_unit(
    columns: &Columns,
    role: &str,
    unstated: Unstated,
    unit_column: Option<usize>,
) -> Option<(LengthUnit, String)> {
    if let Some(unit) = columns.typed_unit(role) {
        return Some((unit, "typed with the column".to_string()));
    }
    match (columns.stated_unit(role), unstated) {
        // The flag speaks to all files of a run; a name speaks of its own column.
        (Some(named), Unstated::Flag(flag)) if named != flag => Some((
            named,
            format!(
                "by the column's name; --diameter-unit {flag} is for columns that state none (to overrule: --tree-columns {role}={}:{flag})",
                columns.name(role)
            ),
        )),
        (Some(named), _) => Some((named, "by the column's name".to_string())),
        (None, Unstated::Flag(flag)) if unit_column.is_none() => Some((flag, "by --diameter-unit".to_string())),
        (None, Unstated::AsDiameter(unit)) if unit_column.is_none() => {
            Some((unit, "that of the file's other diameters".to_string()))
        }
        _ => None,
    }
}

fn cells_state_units(cells: &[&str]) -> bool {
    let numbers: Vec<_> = cells.iter().filter_map(|cell| parse_quantity(cell, false)).collect();
    !numbers.is_empty() && numbers.iter().filter(|number| number.unit.is_some()).count() * 10 >= numbers.len() * 9
}

fn not_stated(at: &str, role: &str, name: &str, cells: &[&str], girth: bool, decimal_comma: bool) -> Result<()> {
    let mut candidates: Vec<(LengthUnit, f64, f64)> = LengthUnit::ALL
        .into_iter()
        .filter_map(|unit| {
            let (share, median_m) = plausible(cells, DiameterReading { unit: Some(unit), girth, decimal_comma })?;
            Some((unit, share, median_m))
        })
        .collect();
    if candidates.is_empty() {
        // Nothing to convert: every tree is without a diameter, and each is listed so.
        return Ok(());
    }
    let oddness = |median_m: f64| (median_m / USUAL_MEDIAN_M).ln().abs();
    candidates.sort_by(|a, b| {
        let by_share = (b.1 * 20.0).round().total_cmp(&(a.1 * 20.0).round());
        by_share.then(oddness(a.2).total_cmp(&oddness(b.2))).then(a.0.cmp(&b.0))
    });
    let listed = candidates
        .iter()
        .map(|(unit, share, median_m)| format!("{unit} {} (median trunk {:.0} cm)", percent(*share), median_m * 100.0))
        .collect::<Vec<_>>()
        .join(", ");
    let what = if girth { "girths" } else { "diameters" };
    // A unit that most rows contradict is shown with its share, and not offered.
    let fitting = candidates.iter().filter(|(_, share, _)| *share >= 0.5);
    let kept: Vec<String> = fitting.map(|(unit, ..)| format!("--diameter-unit {unit}")).collect();
    let flags = if kept.is_empty() { "--diameter-unit in|cm|mm|m|ft".to_string() } else { kept.join(" or ") };
    let role_flag = format!("--tree-columns {role}={name}:UNIT for this file alone");
    Err(Error::input(
        at,
        format!(
            "column `{name}` gives {what} without a unit; share of rows that give a trunk of 1 cm to 3 m: {listed}; expected a unit by flag or in the name"
        ),
        format!("{flags} ({role_flag})"),
    ))
}

/// Share of the rows with a number that are plausible under a unit, and the median diameter. Zeros say nothing and do not count.
fn plausible(cells: &[&str], reading: DiameterReading) -> Option<(f64, f64)> {
    let mut known_m = Vec::new();
    let mut rows = 0usize;
    for cell in cells {
        match parse_diameter(cell, &reading) {
            DiameterCell::Stems(stems) => known_m.push(stems[0]),
            DiameterCell::Range { high_m, .. } => known_m.push(high_m),
            DiameterCell::AtLeast(low_m) => known_m.push(low_m),
            DiameterCell::Damaged { code: "diameter-implausible", .. } => {
                // Too thick under this unit counts against it; zero and `999` count for none.
                let thick = parse_quantity(cell, reading.decimal_comma)
                    .is_some_and(|number| number.value > 0.0 && number.value != 999.0);
                rows += usize::from(thick);
                continue;
            }
            _ => continue,
        }
        rows += 1;
    }
    if rows == 0 {
        return None;
    }
    known_m.sort_by(f64::total_cmp);
    let fit = known_m.iter().filter(|d| PLAUSIBLE_M.contains(d)).count();
    // No row at all is thin enough: the median is beyond every trunk.
    let median_m = known_m.get(known_m.len() / 2).copied().unwrap_or(super::diameter::LARGEST_M);
    Some((fit as f64 / rows as f64, median_m))
}

/// To which steps the numbers of a column are rounded, in the column's unit.
///
/// One column may hold whole inches from one survey and quarters from another: a number that lies on a coarse step which most of the
/// column keeps to counts as rounded to that step. Where the sample does not tell, a number is rounded as it is written: a whole one
/// to 1, one with one decimal to 0.1. Trailing zeros count for nothing: `34.0` is whole.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct RoundingSteps {
    /// Steps that most numbers keep to, coarsest first.
    common: Vec<f64>,
    /// The step that nearly all keep to; 0 where the sample does not tell.
    finest: f64,
}

/// Steps that people round to.
const STEPS: [f64; 8] = [10.0, 5.0, 1.0, 0.5, 0.25, 0.1, 0.01, 0.001];
/// More than chance gives: of numbers rounded to 0.25, half lie on 0.5; of 5, half lie on 10.
const MOST: f64 = 0.6;
const NEARLY_ALL: f64 = 0.95;

impl RoundingSteps {
    /// Finds the steps in a sample; knows nothing from fewer than five numbers, and no step over 1 from fewer than twenty.
    pub fn of(cells: &[&str], decimal_comma: bool) -> RoundingSteps {
        let numbers: Vec<f64> = cells
            .iter()
            .filter_map(|cell| parse_quantity(cell, decimal_comma))
            .map(|number| number.value)
            .filter(|value| *value > 0.0)
            .collect();
        if numbers.len() < 5 {
            return RoundingSteps::default();
        }
        let can_tell =
            |step: f64| step <= 1.0 || (numbers.len() >= 20 && numbers.iter().any(|value| *value != numbers[0]));
        let share =
            |step: f64| numbers.iter().filter(|value| on_step(**value, step)).count() as f64 / numbers.len() as f64;
        let mut steps = RoundingSteps::default();
        for step in STEPS.into_iter().filter(|step| can_tell(*step)) {
            let share = share(step);
            if share >= NEARLY_ALL {
                steps.finest = step;
                return steps;
            }
            if share >= MOST {
                steps.common.push(step);
            }
        }
        steps
    }

    /// Half of the step of one number, in the column's unit.
    pub fn half_step(&self, value: f64) -> f64 {
        match self.common.iter().copied().find(|step| on_step(value, *step)) {
            Some(step) => step / 2.0,
            None if self.finest > 0.0 => self.finest / 2.0,
            None => half_step_as_written(value),
        }
    }
}

/// Half of 1, 0.1, 0.01 or 0.001, whichever is the last place that the number has; 0 for finer ones.
fn half_step_as_written(value: f64) -> f64 {
    [1.0, 0.1, 0.01, 0.001].into_iter().find(|step| on_step(value, *step)).unwrap_or(0.0) / 2.0
}

fn on_step(value: f64, step: f64) -> bool {
    let steps = value / step;
    (steps - steps.round()).abs() < 1e-6
}

#[cfg(test)]
#[path = "diameter_unit_tests.rs"]
mod tests;
