//! The quantities that a rule file writes as text (`"15 m"`, `"1 ft per 1 in"`, `"50 %"`, `"> 25 %"`) into checked numbers.
//!
//! Each keeps its text as written, for print-outs. A quantity that makes no sense is refused here, with its place in the file.

use crate::units::parse_length_m;
use serde::de::Error as _;
use serde::{Deserialize, Deserializer, Serialize};

/// A length with its unit, more than 0 and at most 1 km.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Length {
    /// As written.
    pub written: String,
    /// Metres.
    pub metres: f64,
}

impl Length {
    fn parse(text: &str) -> Result<Length, String> {
        let expected = "expected a number with one of the units in, ft, mm, cm, m, such as \"15 m\"";
        let metres = parse_length_m(text).ok_or_else(|| format!("`{text}` is not a length; {expected}"))?;
        if metres > 0.0 && metres <= 1000.0 {
            return Ok(Length { written: text.trim().to_string(), metres });
        }
        Err(format!("the length `{text}` is out of range; expected more than 0 and at most 1000 m"))
    }
}

impl<'de> Deserialize<'de> for Length {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Length, D::Error> {
        Length::parse(&String::deserialize(deserializer)?).map_err(D::Error::custom)
    }
}

/// A multiplier, more than 0 and at most 1000.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Factor(pub f64);

impl<'de> Deserialize<'de> for Factor {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Factor, D::Error> {
        let value = f64::deserialize(deserializer)?;
        if value.is_finite() && value > 0.0 && value <= 1000.0 {
            return Ok(Factor(value));
        }
        Err(D::Error::custom(format!("the factor {value} is out of range; expected more than 0 and at most 1000")))
    }
}

/// A length per length of diameter, `"1 ft per 1 in"`, as a pure number.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Growth {
    /// As written.
    pub written: String,
    /// Metres of radius per metre of diameter.
    pub times_diameter: f64,
}

impl<'de> Deserialize<'de> for Growth {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Growth, D::Error> {
        let text = String::deserialize(deserializer)?;
        let Some((length, diameter)) = text.split_once(" per ") else {
            return Err(D::Error::custom(format!(
                "`{text}` is not a length per length; expected such as \"1 ft per 1 in\""
            )));
        };
        let length = Length::parse(length).map_err(D::Error::custom)?;
        let diameter = Length::parse(diameter).map_err(D::Error::custom)?;
        Ok(Growth { times_diameter: length.metres / diameter.metres, written: text })
    }
}

/// A share as percent of something, more than 0 and at most 100.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Share {
    /// Percent, 0 to 100.
    pub percent: f64,
}

fn parse_percent(text: &str) -> Option<f64> {
    let number: f64 = text.trim().strip_suffix('%')?.trim().parse().ok()?;
    (number.is_finite() && (0.0..=100.0).contains(&number)).then_some(number)
}

impl<'de> Deserialize<'de> for Share {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Share, D::Error> {
        let text = String::deserialize(deserializer)?;
        match parse_percent(&text) {
            Some(percent) if percent > 0.0 => Ok(Share { percent }),
            _ => Err(D::Error::custom(format!(
                "`{text}` is not a share; expected more than 0 % and at most 100 %, such as \"50 %\""
            ))),
        }
    }
}

/// How a measured value is compared with a limit.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
pub enum Comparison {
    /// `>`
    #[serde(rename = ">")]
    Over,
    /// `>=`
    #[serde(rename = ">=")]
    AtLeast,
    /// `<`
    #[serde(rename = "<")]
    Under,
    /// `<=`
    #[serde(rename = "<=")]
    AtMost,
}

impl Comparison {
    /// Whether `value` compares so with `limit`. False for NaN.
    pub fn holds(self, value: f64, limit: f64) -> bool {
        match self {
            Comparison::Over => value > limit,
            Comparison::AtLeast => value >= limit,
            Comparison::Under => value < limit,
            Comparison::AtMost => value <= limit,
        }
    }
}

/// What a limit is counted in.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
pub enum BoundUnit {
    /// Percent of the denominator.
    Percent,
    /// Metres.
    Metre,
}

/// A comparison with its value: `"> 25 %"`, `">= 30 in"`, `"< 10 ft"`.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Bound {
    /// As written.
    pub written: String,
    /// The comparison.
    pub comparison: Comparison,
    /// The value in `unit`.
    pub value: f64,
    /// Percent or metres.
    pub unit: BoundUnit,
}

impl Bound {
    /// Reads a bound as a rule file writes it.
    ///
    /// # Errors
    /// A sentence that says what is wrong and what was expected.
    pub fn parse(text: &str) -> Result<Bound, String> {
        let trimmed = text.trim();
        let signs = [
            (">=", Comparison::AtLeast),
            ("<=", Comparison::AtMost),
            (">", Comparison::Over),
            ("<", Comparison::Under),
        ];
        let (comparison, rest) = signs
            .into_iter()
            .find_map(|(sign, comparison)| trimmed.strip_prefix(sign).map(|rest| (comparison, rest.trim())))
            .ok_or_else(|| {
                format!("`{text}` does not say how to compare; expected >, >=, < or <= first, such as \"> 25 %\"")
            })?;
        let (value, unit) = if rest.ends_with('%') {
            let percent = parse_percent(rest).ok_or_else(|| format!("`{text}` is no share; expected 0 % to 100 %"))?;
            (percent, BoundUnit::Percent)
        } else {
            (Length::parse(rest)?.metres, BoundUnit::Metre)
        };
        Ok(Bound { written: trimmed.to_string(), comparison, value, unit })
    }
}

impl<'de> Deserialize<'de> for Bound {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Bound, D::Error> {
        Bound::parse(&String::deserialize(deserializer)?).map_err(D::Error::custom)
    }
}
