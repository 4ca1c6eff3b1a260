//! Text -> number, in the spellings of real tables: decimal point or comma, thousands marks, a unit behind.
//!
//! Knows no column. All numbers that come out are finite.

use crate::units::LengthUnit;
use std::borrow::Cow;

/// A number with the unit that its cell states, where it states one.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Quantity {
    /// The number as written.
    pub value: f64,
    /// The unit written behind it.
    pub unit: Option<LengthUnit>,
}

impl Quantity {
    /// In metres, by its own unit or else by the column's. `None` where neither is known.
    pub fn metres(self, column_unit: Option<LengthUnit>) -> Option<f64> {
        let metres = self.value * self.unit.or(column_unit)?.metres();
        metres.is_finite().then_some(metres)
    }
}

/// Reads a number; `decimal_comma` says what a lone `,` or `.` before three digits means.
///
/// Groups of thousands (`1,200`, `1.200,5`, `1 200`, `1'200`) are understood. `None` for anything else, and for numbers
/// that are not finite.
pub fn parse_number(text: &str, decimal_comma: bool) -> Option<f64> {
    let text = text.trim();
    let (sign, digits) = match text.strip_prefix(['-', '\u{2212}']) {
        Some(rest) => (-1.0, rest),
        None => (1.0, text.strip_prefix('+').unwrap_or(text)),
    };
    if !digits.starts_with(|c: char| c.is_ascii_digit() || c == '.' || c == ',') {
        return None;
    }
    let plain: Cow<'_, str> =
        if is_plain(digits) && !(decimal_comma && looks_grouped(digits, '.')) || digits.contains(['e', 'E']) {
            digits.into()
        } else {
            without_groups(digits, decimal_comma)?.into()
        };
    let value: f64 = plain.parse().ok()?;
    value.is_finite().then_some(sign * value)
}

/// Digits and points alone.
fn is_plain(text: &str) -> bool {
    text.bytes().all(|b| b.is_ascii_digit() || b == b'.')
}

/// Makes `1.200,5`, `1,200.5`, `12,5`, `1 200` into Rust's spelling.
fn without_groups(digits: &str, decimal_comma: bool) -> Option<String> {
    let spaced = |c: char| matches!(c, ' ' | '\u{a0}' | '\u{202f}' | '\u{2009}' | '\'' | '\u{2019}');
    if !digits.chars().all(|c| c.is_ascii_digit() || c == '.' || c == ',' || spaced(c)) {
        return None;
    }
    // The mark that comes last, where both are there, is the decimal mark.
    let decimal = match (digits.rfind(','), digits.rfind('.')) {
        (Some(comma), Some(point)) => Some(if comma > point { ',' } else { '.' }),
        (Some(_), None) => (decimal_comma || !looks_grouped(digits, ',')).then_some(','),
        (None, Some(_)) => (!decimal_comma || !looks_grouped(digits, '.')).then_some('.'),
        (None, None) => None,
    };
    let (whole, fraction) = match decimal {
        Some(mark) => digits.rsplit_once(mark)?,
        None => (digits, ""),
    };
    if fraction.contains(|c: char| !c.is_ascii_digit()) {
        return None;
    }
    let groups: Vec<&str> = whole.split(|c: char| c == ',' || c == '.' || spaced(c)).collect();
    let grouped = groups.len() > 1;
    if grouped && (groups[0].is_empty() || groups[0].len() > 3 || groups[1..].iter().any(|group| group.len() != 3)) {
        return None;
    }
    Some(format!("{}.{}", groups.concat(), if fraction.is_empty() { "0" } else { fraction }))
}

/// `1,200` and `12,345,678`: one to three digits not beginning with 0, then groups of exactly three.
pub fn looks_grouped(digits: &str, mark: char) -> bool {
    let mut groups = digits.split(mark);
    let first = groups.next().unwrap_or("");
    let mut others = 0;
    let all_three = groups.all(|group| {
        others += 1;
        group.len() == 3 && group.bytes().all(|b| b.is_ascii_digit())
    });
    let first_fits =
        (1..=3).contains(&first.len()) && !first.starts_with('0') && first.bytes().all(|b| b.is_ascii_digit());
    others > 0 && all_three && first_fits
}

/// Reads a number with or without a unit behind it: `24`, `24"`, `60 cm`, `12,5cm`, `2'6"`, `2 ft 6 in`, `12 1/2 in`.
pub fn parse_quantity(text: &str, decimal_comma: bool) -> Option<Quantity> {
    let text = text.trim();
    if is_plain(text) {
        return parse_number(text, decimal_comma).map(|value| Quantity { value, unit: None });
    }
    if let Some(feet_and_inches) = parse_feet_and_inches(text, decimal_comma) {
        return Some(feet_and_inches);
    }
    let split =
        text.find(|c: char| c.is_alphabetic() || matches!(c, '"' | '\'' | '\u{2032}' | '\u{2033}' | '\u{201d}'));
    // A mark between digits (1'200) is no unit.
    let (number, unit) = match split {
        Some(at) if !text[at..].ends_with(|c: char| c.is_ascii_digit()) => {
            (&text[..at], Some(parse_unit(&text[at..])?))
        }
        _ => (text, None),
    };
    let value = parse_mixed_fraction(number).or_else(|| parse_number(number, decimal_comma))?;
    Some(Quantity { value, unit })
}

/// A unit in a cell: those of [`LengthUnit::parse`], and `''` and `”` for inches.
pub fn parse_unit(text: &str) -> Option<LengthUnit> {
    let text = text.trim().trim_end_matches('.');
    match text {
        "''" | "\u{2032}\u{2032}" | "\u{201d}" => Some(LengthUnit::Inch),
        "\u{2019}" => Some(LengthUnit::Foot),
        _ => LengthUnit::parse(text),
    }
}

fn parse_feet_and_inches(text: &str, decimal_comma: bool) -> Option<Quantity> {
    let lower = text.to_lowercase();
    let (feet, inches) =
        ["feet", "foot", "ft.", "ft", "'", "\u{2032}", "\u{2019}"].iter().find_map(|mark| lower.split_once(mark))?;
    let inches = inches.trim().trim_start_matches('-');
    if inches.is_empty() || inches.starts_with('\'') {
        return None;
    }
    let split = inches.find(|c: char| c.is_alphabetic() || matches!(c, '"' | '\'' | '\u{2033}' | '\u{201d}'))?;
    if parse_unit(&inches[split..])? != LengthUnit::Inch {
        return None;
    }
    let feet = parse_number(feet, decimal_comma)?;
    let inches = parse_mixed_fraction(&inches[..split]).or_else(|| parse_number(&inches[..split], decimal_comma))?;
    (feet >= 0.0 && (0.0..12.0).contains(&inches))
        .then_some(Quantity { value: feet * 12.0 + inches, unit: Some(LengthUnit::Inch) })
}

/// `12 1/2` and `12½`: a whole number and a fraction in halves to sixteenths.
fn parse_mixed_fraction(text: &str) -> Option<f64> {
    let text = text.trim();
    for (mark, fraction) in [('½', 0.5), ('¼', 0.25), ('¾', 0.75)] {
        if let Some(whole) = text.strip_suffix(mark) {
            let whole = whole.trim();
            return if whole.is_empty() {
                Some(fraction)
            } else {
                whole.parse::<u32>().ok().map(|w| f64::from(w) + fraction)
            };
        }
    }
    let (whole, fraction) = text.split_once([' ', '-'])?;
    let (above, below) = fraction.trim().split_once('/')?;
    let (whole, above, below): (u32, u32, u32) = (whole.parse().ok()?, above.parse().ok()?, below.parse().ok()?);
    (matches!(below, 2 | 4 | 8 | 16) && above < below && above > 0)
        .then(|| f64::from(whole) + f64::from(above) / f64::from(below))
}

/// Whether a column of plain numbers (coordinates, heights) writes its decimals with a comma.
pub fn column_uses_decimal_comma<'a>(cells: impl IntoIterator<Item = &'a str>) -> bool {
    let (mut commas, mut points) = (0usize, 0usize);
    for cell in cells {
        let digits = cell.trim().trim_start_matches(['-', '+']);
        let lone = |mark: char| {
            digits.split_once(mark).is_some_and(|(whole, fraction)| {
                let all_digits = |part: &str| !part.is_empty() && part.bytes().all(|b| b.is_ascii_digit());
                all_digits(whole) && all_digits(fraction)
            })
        };
        commas += usize::from(lone(','));
        points += usize::from(lone('.'));
    }
    commas > points
}

#[cfg(test)]
#[path = "number_tests.rs"]
mod tests;
