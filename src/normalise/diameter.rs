//! One diameter cell -> stems, a class range, "at least", missing, or damaged.
//!
//! Pure: knows no column and no tree. Which unit applies and what a lone comma means is decided per column elsewhere.
//!
//! # Forms
//! A number (`14`, `34.0`, `24"`, `60 cm`, `2'6"`); a stem list (`12,8,6` `12;8;6` `12/8/6` `12+8+6` `12 & 8` `[12,8,6]`, `3x10` =
//! three stems of 10); a class range (`07-12`, `13 to 18`, `<6`, `31+`, `> 60 cm`). A unit in the cell beats the column's.
//! A range from nothing (`<6`, `0-6`) gets the lower end [`SMALLEST_M`], so that it is in effect judged at its upper end.

use super::diameter_text::{Class, as_class, looks_like_date, says_missing, tidied};
use super::number::{Quantity, looks_grouped, parse_number, parse_quantity, parse_unit};
use crate::units::LengthUnit;
use std::f64::consts::PI;

/// Trunks thicker than this are taken for a mistake, metres of diameter. A choice of the program, no source: only single trees
/// of very few species are thicker. Such a tree is kept as not assessed, so nothing disappears.
pub const LARGEST_M: f64 = 6.0;
/// Lower end of a class that begins at nothing, metres.
pub const SMALLEST_M: f64 = 0.01;
/// Only for cells such as `1,200`, which are thousands by their form and too large to be: as stems they must be at most this thick,
/// metres, and the thickest at most [`MOST_UNEQUAL`] times the thinnest. Choices of the program, no source.
const LARGEST_IN_LIST_M: f64 = 3.0;
const MOST_UNEQUAL: f64 = 40.0;
/// Numbers that stand for "not known" in many inventories.
const SENTINELS: [f64; 4] = [999.0, 9999.0, 99999.0, 999_999.0];

/// How the cells of a column are to be read.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct DiameterReading {
    /// The column's unit; `None` where only the cells state it.
    pub unit: Option<LengthUnit>,
    /// The numbers are girths (circumferences): divided by pi.
    pub girth: bool,
    /// `12,5` is twelve and a half, not two stems.
    pub decimal_comma: bool,
}

/// What a cell says; metres of diameter.
#[derive(Debug, Clone, PartialEq)]
pub enum DiameterCell {
    /// One or more stems, largest first, each > 0.
    Stems(Vec<f64>),
    /// A class with both ends, `0 < low_m < high_m`.
    Range {
        /// Lower end.
        low_m: f64,
        /// Upper end.
        high_m: f64,
    },
    /// A class without an upper end: its lower bound.
    AtLeast(f64),
    /// Nothing, a word for nothing, or 0.
    Missing,
    /// Something that cannot be used: `damaged-diameter` or `diameter-implausible`, and why.
    Damaged {
        /// The code.
        code: &'static str,
        /// What was found.
        detail: String,
    },
}

/// Reads one cell. Never fails and never panics: what cannot be read is [`DiameterCell::Damaged`].
pub fn parse_diameter(text: &str, reading: &DiameterReading) -> DiameterCell {
    // Nearly every cell is a plain number: no need to look for words in it.
    if let Some(value) = plain_number(text) {
        return plausible_stems(text, &[Quantity { value, unit: None }], reading);
    }
    let tidy = tidied(text);
    if says_missing(&tidy) {
        return DiameterCell::Missing;
    }
    if looks_like_date(&tidy) {
        return damaged(text, "a date, probably made by a spreadsheet from a class or a list");
    }
    if let Some(class) = as_class(&tidy) {
        return read_class(text, class, reading);
    }
    match read_stems(&tidy, reading) {
        Some(stems) => plausible_stems(text, &stems, reading),
        None => damaged(text, "not a diameter, a list of stems or a class"),
    }
}

/// `14`, `34.0`: digits with at most one point, not followed by a group of three (`1.200` has two readings).
fn plain_number(text: &str) -> Option<f64> {
    let text = text.trim();
    let plain = !text.is_empty() && text.bytes().all(|b| b.is_ascii_digit() || b == b'.');
    if !plain || looks_grouped(text, '.') {
        return None;
    }
    text.parse().ok().filter(|value: &f64| value.is_finite())
}

fn damaged(text: &str, why: &str) -> DiameterCell {
    DiameterCell::Damaged { code: "damaged-diameter", detail: format!("diameter `{}`: {why}", shortened(text)) }
}

fn implausible(text: &str, why: &str) -> DiameterCell {
    DiameterCell::Damaged { code: "diameter-implausible", detail: format!("diameter `{}`: {why}", shortened(text)) }
}

/// A cell for a message: at most 60 characters.
fn shortened(text: &str) -> String {
    let text = text.trim();
    if text.chars().count() <= 60 { text.to_string() } else { text.chars().take(57).chain("...".chars()).collect() }
}

fn read_class(text: &str, class: Class, reading: &DiameterReading) -> DiameterCell {
    let number = |part: &str| parse_quantity(part, reading.decimal_comma || part.matches(',').count() == 1);
    match class {
        Class::AtLeast(low) => match number(low) {
            Some(low) => one_end(text, low, reading, DiameterCell::AtLeast),
            None => damaged(text, "no number beside the sign for `at least`"),
        },
        Class::Below(high) => match number(high) {
            Some(high) => one_end(text, high, reading, |high_m| DiameterCell::Range {
                low_m: SMALLEST_M.min(high_m / 2.0),
                high_m,
            }),
            None => damaged(text, "no number beside the sign for `less than`"),
        },
        Class::Between(low, high) => match (number(low), number(high)) {
            (Some(low), Some(high)) => between(text, low, high, reading),
            _ => damaged(text, "not a class with two numbers"),
        },
    }
}

fn one_end(text: &str, end: Quantity, reading: &DiameterReading, make: impl Fn(f64) -> DiameterCell) -> DiameterCell {
    match plausible_stems(text, &[end], reading) {
        DiameterCell::Stems(stems) => make(stems[0]),
        other => other,
    }
}

fn between(text: &str, mut low: Quantity, mut high: Quantity, reading: &DiameterReading) -> DiameterCell {
    // `12-18 cm`, `12"-18`: a unit at one end holds for both.
    low.unit = low.unit.or(high.unit);
    high.unit = high.unit.or(low.unit);
    if low.value < 0.0 || high.value < 0.0 {
        return implausible(text, "a class with a negative end");
    }
    let from_nothing = low.value == 0.0;
    let high_m = match plausible_stems(text, &[high], reading) {
        DiameterCell::Stems(stems) => stems[0],
        other => return other,
    };
    if from_nothing {
        return DiameterCell::Range { low_m: SMALLEST_M.min(high_m / 2.0), high_m };
    }
    let low_m = match plausible_stems(text, &[low], reading) {
        DiameterCell::Stems(stems) => stems[0],
        other => return other,
    };
    if low_m < high_m {
        DiameterCell::Range { low_m, high_m }
    } else if low_m > high_m {
        damaged(text, "a class that runs backwards; it may have been a date or a list of stems")
    } else {
        DiameterCell::Stems(vec![low_m])
    }
}

/// Converts to metres of diameter and refuses what no trunk measures. Zeros beside real stems are empty places in a list.
fn plausible_stems(text: &str, stems: &[Quantity], reading: &DiameterReading) -> DiameterCell {
    let mut metres = Vec::with_capacity(stems.len());
    for stem in stems {
        let in_millimetres = stem.unit.or(reading.unit) == Some(LengthUnit::Millimetre);
        if SENTINELS.contains(&stem.value) && !(in_millimetres && stem.value == 999.0) {
            return implausible(text, "a number that stands for `not known`");
        }
        if stem.value < 0.0 {
            return implausible(text, "negative");
        }
        let Some(length_m) = stem.metres(reading.unit) else {
            return damaged(text, "no unit in this cell, and none stated for the column");
        };
        let diameter_m = if reading.girth { length_m / PI } else { length_m };
        if diameter_m > LARGEST_M {
            return implausible(
                text,
                &format!("{diameter_m:.2} m thick; more than {LARGEST_M} m is taken for a mistake"),
            );
        }
        if diameter_m > 0.0 {
            metres.push(diameter_m);
        }
    }
    if metres.is_empty() {
        // No trunk measures nothing: inventories write 0 for planted, not measured, or no tree at all.
        return DiameterCell::Missing;
    }
    metres.sort_by(|a, b| b.total_cmp(a));
    DiameterCell::Stems(metres)
}

/// A number or a list of stems, as written. `None` where a part is no number.
fn read_stems(tidy: &str, reading: &DiameterReading) -> Option<Vec<Quantity>> {
    let inner = without_brackets(tidy);
    let inner = inner.as_str();
    if let Some(repeated) = repeated_stems(inner, reading) {
        return Some(repeated);
    }
    // `12 1/2"` is a fraction, not a list.
    if !inner.contains(',')
        && let Some(one) = parse_quantity(inner, reading.decimal_comma)
    {
        return Some(vec![one]);
    }
    let marks: &[char] = &[';', '/', '+', '&', '|', '\n'];
    let worded = inner.replace(" and ", "&").replace(" und ", "&").replace(" et ", "&");
    if worded.contains(marks) {
        return items(worded.split(marks), true);
    }
    if inner.contains(',') {
        return comma_list(inner, reading);
    }
    items(inner.split(' ').filter(|part| !part.is_empty()), false)
}

/// Each item a quantity; a unit behind the last holds for those without one.
fn items<'a>(parts: impl Iterator<Item = &'a str>, commas_are_decimal: bool) -> Option<Vec<Quantity>> {
    let mut stems = parts.map(|part| parse_quantity(part, commas_are_decimal)).collect::<Option<Vec<_>>>()?;
    let last_unit = stems.last()?.unit;
    for stem in &mut stems {
        stem.unit = stem.unit.or(last_unit);
    }
    Some(stems)
}

/// Commas alone: a decimal comma, thousands, or a list of stems.
fn comma_list(inner: &str, reading: &DiameterReading) -> Option<Vec<Quantity>> {
    let digits = inner.trim_end_matches(|c: char| !c.is_ascii_digit());
    if reading.decimal_comma {
        // `12,5, 8,0`: the comma before a space parts the stems.
        if inner.contains(", ") {
            return items(inner.split(", "), true);
        }
        return parse_quantity(inner, true).map(|one| vec![one]);
    }
    if looks_grouped(digits, ',') {
        let one = parse_quantity(inner, false)?;
        let diameter_m = one.metres(reading.unit)? / if reading.girth { PI } else { 1.0 };
        // `1,200` mm is one trunk; `12,100` in can only be two.
        if diameter_m <= LARGEST_M {
            return Some(vec![one]);
        }
        let stems = items(inner.split(','), false)?;
        return may_be_stems(&stems, reading).then_some(stems);
    }
    items(inner.trim_end_matches(',').split(','), false)
}

/// Whether a list that looks like thousands may stand as a list: `12,100` in may, `1,200` in may not, a trunk of 200 beside one of 1.
fn may_be_stems(stems: &[Quantity], reading: &DiameterReading) -> bool {
    let girth = if reading.girth { PI } else { 1.0 };
    let metres: Vec<f64> =
        stems.iter().filter_map(|stem| stem.metres(reading.unit)).map(|length_m| length_m / girth).collect();
    let largest_m = metres.iter().copied().fold(0.0, f64::max);
    let smallest_m = metres.iter().copied().fold(f64::INFINITY, f64::min);
    largest_m <= LARGEST_IN_LIST_M && largest_m <= MOST_UNEQUAL * smallest_m
}

/// `3x10`, `3 @ 10 cm`: a small count and a larger size. `12x10` is left alone: two readings, neither sure.
fn repeated_stems(inner: &str, reading: &DiameterReading) -> Option<Vec<Quantity>> {
    let (count, size) = inner.split_once(['x', '×', '@', '*'])?;
    let count: usize = count.trim().parse().ok()?;
    let size = parse_quantity(size, reading.decimal_comma)?;
    ((2..=9).contains(&count) && size.value > count as f64).then(|| vec![size; count])
}

/// `[12,8]`, `{12,8}`, `(12,8)`, `["12","8"]` without the brackets and quotes; `24 (cm)` with its unit, `24 (est)` without.
fn without_brackets(tidy: &str) -> String {
    for (open, close) in [('[', ']'), ('{', '}'), ('(', ')')] {
        if let Some(inner) = tidy.strip_prefix(open).and_then(|rest| rest.strip_suffix(close)) {
            let bare: String = inner.chars().filter(|&c| c != '"').collect();
            return bare.trim().to_string();
        }
    }
    if let Some((number, note)) = tidy.strip_suffix(')').and_then(|rest| rest.split_once('(')) {
        if parse_unit(note).is_some() {
            return format!("{} {}", number.trim(), note.trim());
        }
        if parse_number(number, false).is_some() && !note.contains(|c: char| c.is_ascii_digit()) {
            return number.trim().to_string();
        }
    }
    tidy.to_string()
}

#[cfg(test)]
#[path = "diameter_tests.rs"]
mod tests;
