//! A diameter column with cells such as `18,16`, and the rest of the file -> one number with a decimal comma, or two stems.
//!
//! A tree of 18 and 16 inches read as one of 18.16 is a tree too small, and nobody would see it. So the comma parts stems unless
//! the file shows that it writes decimals with commas. The shares here are choices of the program, no source.

use super::columns::Columns;
use super::diameter_unit::PLAUSIBLE_M;
use super::number::{looks_grouped, parse_unit};
use crate::model::record::RawRecord;

/// What a lone comma in a diameter column means, and why.
#[derive(Debug, Clone, PartialEq)]
pub enum CommaReading {
    /// No cell leaves it open.
    None,
    /// `12,5` is twelve and a half.
    Decimal(&'static str),
    /// `12,5` is two stems, and a reader should know it.
    Stems {
        /// The parts of one such cell, as written.
        example: (String, String),
        /// Why.
        why: &'static str,
    },
}

/// Roles whose numbers are never lists.
const PLAIN_ROLES: &[&str] = &["x", "y", "crown", "crown_n", "crown_e", "crown_s", "crown_w", "height", "accuracy"];
/// Rows of the sample that are looked at in other columns.
const LOOKED_AT: usize = 500;
/// Cells from which the digits behind the comma tell something.
const ENOUGH: usize = 10;

/// Decides what a lone comma means in the cells of `column`. `metres` is one written unit in metres of diameter, where stated.
pub fn read_comma(
    cells: &[&str],
    column: usize,
    columns: &Columns,
    sample: &[RawRecord],
    metres: Option<f64>,
) -> CommaReading {
    let pairs: Vec<(&str, &str)> = cells.iter().filter_map(|cell| lone(cell, ',')).collect();
    let Some(&(first, second)) = pairs.first() else { return CommaReading::None };
    let points = cells.iter().any(|cell| cell.contains('.') && !cell.contains(','));
    let lists = cells.iter().any(|cell| cell.split(',').count() > 2 && !cell.contains(", "));
    if points || lists {
        // The column itself shows what its commas are for.
        return CommaReading::None;
    }
    if metres.is_some_and(|metres| no_list_fits(&pairs, metres)) {
        return CommaReading::Decimal("as stems they would be thicker than any trunk");
    }
    let stems = |why| CommaReading::Stems { example: (first.to_string(), second.to_string()), why };
    let others = Others::of(column, columns, sample);
    if others.points {
        return stems("another column of the file writes decimal points");
    }
    if others.commas {
        return CommaReading::Decimal("other columns of the file write decimal commas");
    }
    match digits_that_are_decimals(&pairs, cells.len()) {
        Some(why) => CommaReading::Decimal(why),
        None => stems("nothing in the file shows that it writes decimals with a comma"),
    }
}

/// `12,5`, `12,5 cm` -> the digits on both sides of the only mark.
fn lone(cell: &str, mark: char) -> Option<(&str, &str)> {
    let cell = cell.trim();
    let end = cell.rfind(|c: char| c.is_ascii_digit())? + 1;
    let unit = cell[end..].trim();
    if !unit.is_empty() && parse_unit(unit).is_none() {
        return None;
    }
    let (whole, rest) = cell[..end].split_once(mark)?;
    (all_digits(whole) && all_digits(rest)).then_some((whole, rest))
}

fn all_digits(part: &str) -> bool {
    !part.is_empty() && part.bytes().all(|b| b.is_ascii_digit())
}

/// `0,35` in a column of metres: a stem of 35 m is none.
fn no_list_fits(pairs: &[(&str, &str)], metres: f64) -> bool {
    let too_thick = |part: &str| part.parse::<f64>().is_ok_and(|value| value * metres > *PLAUSIBLE_M.end());
    // `1,200` may be twelve hundred: that is no evidence for a decimal.
    let none_fits = pairs
        .iter()
        .filter(|(whole, rest)| too_thick(rest) && !too_thick(whole) && (rest.len() != 3 || *whole == "0"))
        .count();
    none_fits * 2 >= pairs.len()
}

/// What the digits behind the comma tell, where no list of stems would have them.
fn digits_that_are_decimals(pairs: &[(&str, &str)], cells: usize) -> Option<&'static str> {
    let share =
        |is: &dyn Fn(&(&str, &str)) -> bool| pairs.iter().filter(|pair| is(pair)).count() as f64 / pairs.len() as f64;
    if share(&|(whole, _)| *whole == "0") > 0.5 {
        return Some("most begin with `0,`");
    }
    let width = pairs[0].1.len();
    let same_width = share(&|(_, rest)| rest.len() == width) >= 0.95;
    if same_width && width > 1 && pairs.iter().any(|(_, rest)| rest.starts_with('0')) {
        return Some("digits behind it begin with 0, as in `30,05`");
    }
    // `18,0` beside `14,5`: a second stem of nothing is no stem. Where most end in `,0` it may be an empty place of a list.
    let zeros = share(&|(_, rest)| *rest == "0");
    let one_digit = share(&|(_, rest)| rest.len() == 1) == 1.0;
    (one_digit && zeros > 0.0 && zeros <= 0.5 && pairs.len() >= ENOUGH && pairs.len() * 2 >= cells)
        .then_some("each has one digit behind it, 0 among them")
}

/// How the other columns of the file write decimals.
#[derive(Debug, Default)]
struct Others {
    points: bool,
    commas: bool,
}

impl Others {
    fn of(diameter: usize, columns: &Columns, sample: &[RawRecord]) -> Others {
        let diameters = ["diameter", "girth", "root_crown_diameter"].map(|role| columns.column(role));
        let plain = PLAIN_ROLES.iter().filter_map(|role| columns.column(role)).collect::<Vec<_>>();
        let mut others = Others::default();
        for column in 0..sample.first().map_or(0, RawRecord::len) {
            if column == diameter {
                continue;
            }
            let filled: Vec<&str> = sample
                .iter()
                .take(LOOKED_AT)
                .map(|record| record.cell(column).trim().trim_start_matches('-'))
                .filter(|cell| !cell.is_empty())
                .collect();
            let most = |count: usize| count > 0 && count * 10 >= filled.len() * 8;
            let points = filled.iter().filter(|cell| is_decimal(cell, '.')).count();
            let commas = filled.iter().filter(|cell| is_decimal(cell, ',')).count();
            let whole = filled.iter().filter(|cell| all_digits(cell)).count();
            others.points |= points > 0 && most(points + whole);
            // A column of lists looks the same, unless it is a place, a crown or a height, or has more digits than a stem.
            let long = filled.iter().filter(|cell| lone(cell, ',').is_some_and(|(_, rest)| rest.len() > 3)).count();
            let no_list = plain.contains(&column) && !diameters.contains(&Some(column));
            others.commas |= most(long) || (no_list && commas > 0 && most(commas + whole));
        }
        others
    }
}

/// `12.5`; not `1.200`, which may be twelve hundred.
fn is_decimal(cell: &str, mark: char) -> bool {
    lone(cell, mark).is_some() && !looks_grouped(cell, mark)
}

#[cfg(test)]
#[path = "decimal_comma_tests.rs"]
mod tests;
