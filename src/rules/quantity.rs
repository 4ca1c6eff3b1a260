//! The quantities that a rule file writes as text (`"15 m"`, `"1 ft per 1 in"`, `"50 %"`, `"> 25 %"`) into checked numbers.
//!
//! Each keeps its text as written, for print-outs. A quantity that makes no sense is refused here, with its place in the file.

use crate::units::{parse_length_m, parse_multiple};
use schemars::{JsonSchema, Schema, SchemaGenerator, json_schema};
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
    pub(super) fn parse(text: &str) -> Result<Length, String> {
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
    /// Trunk diameters.
    Diameter,
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
    /// Percent, metres or trunk diameters.
    pub unit: BoundUnit,
}

/// Lengths are compared to within this, metres: a sum of stems in inches must not miss its size by the last binary digit.
pub(super) const SAME_LENGTH_M: f64 = 1e-9;

impl Bound {
    /// Whether a length in metres passes, the last binary digit aside.
    pub fn holds(&self, length_m: f64) -> bool {
        let slack = match self.comparison {
            Comparison::AtLeast | Comparison::Under => -SAME_LENGTH_M,
            Comparison::Over | Comparison::AtMost => SAME_LENGTH_M,
        };
        self.comparison.holds(length_m, self.value + slack)
    }

    /// Reads a bound as a rule file writes it.
    ///
    /// # Errors
    /// A sentence that says what is wrong and what was expected.
    pub fn parse(text: &str) -> Result<Bound, String> {
        let trimmed = text.trim();
        let (comparison, rest) = split_comparison(trimmed).ok_or_else(|| {
            format!("`{text}` does not say how to compare; expected >, >=, < or <= first, such as \"> 25 %\"")
        })?;
        let (value, unit) = if rest.contains(" x ") {
            (parse_multiple(rest).ok_or_else(|| format!("`{text}` is no multiple of the trunk; expected such as \"< 6 x diameter\" or \"< 4 x circumference\""))?, BoundUnit::Diameter)
        } else if rest.ends_with('%') {
            let percent = parse_percent(rest).ok_or_else(|| format!("`{text}` is no share; expected 0 % to 100 %"))?;
            (percent, BoundUnit::Percent)
        } else if rest.parse::<f64>().is_ok() {
            return Err(format!(
                "`{text}` states no unit; expected a share such as \"> 25 %\", or a length such as \"< 3 m\""
            ));
        } else {
            (Length::parse(rest)?.metres, BoundUnit::Metre)
        };
        Ok(Bound { written: trimmed.to_string(), comparison, value, unit })
    }
}

/// Takes the comparison off the front.
fn split_comparison(text: &str) -> Option<(Comparison, &str)> {
    let signs =
        [(">=", Comparison::AtLeast), ("<=", Comparison::AtMost), (">", Comparison::Over), ("<", Comparison::Under)];
    signs.into_iter().find_map(|(sign, comparison)| text.strip_prefix(sign).map(|rest| (comparison, rest.trim())))
}

/// An age with its comparison: `">= 75 years"`.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Years {
    /// As written.
    pub written: String,
    /// The comparison.
    pub comparison: Comparison,
    /// Years.
    pub years: f64,
}

impl Years {
    /// Whether an age passes.
    pub fn holds(&self, years: f64) -> bool {
        self.comparison.holds(years, self.years)
    }
}

impl<'de> Deserialize<'de> for Years {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Years, D::Error> {
        let text = String::deserialize(deserializer)?;
        let parsed = split_comparison(text.trim()).and_then(|(comparison, rest)| {
            let years: f64 = rest.strip_suffix("years")?.trim().parse().ok()?;
            (years.is_finite() && years >= 0.0).then_some((comparison, years))
        });
        match parsed {
            Some((comparison, years)) => Ok(Years { written: text.trim().to_string(), comparison, years }),
            None => Err(D::Error::custom(format!("`{text}` is no age; expected such as \">= 75 years\""))),
        }
    }
}

impl<'de> Deserialize<'de> for Bound {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Bound, D::Error> {
        Bound::parse(&String::deserialize(deserializer)?).map_err(D::Error::custom)
    }
}

/// Gives a quantity that files write as text its place in the JSON Schema: a string of a pattern.
macro_rules! written_as {
    ($($quantity:ident: $pattern:literal, $description:literal;)*) => {$(
        impl JsonSchema for $quantity {
            fn schema_name() -> std::borrow::Cow<'static, str> {
                stringify!($quantity).into()
            }

            fn json_schema(_: &mut SchemaGenerator) -> Schema {
                json_schema!({ "type": "string", "pattern": $pattern, "description": $description })
            }
        }
    )*};
}

pub(super) use written_as;

written_as! {
    Length: r"^\s*[0-9.]+\s*(in|ft|mm|cm|m)\s*$", "a length with its unit, such as \"15 m\"";
    Growth: r"^\s*[0-9.]+\s*(in|ft|mm|cm|m) per [0-9.]+\s*(in|ft|mm|cm|m)\s*$", "a length per length of diameter, such as \"1 ft per 1 in\"";
    Share: r"^\s*[0-9.]+\s*%\s*$", "a share over 0 % and at most 100 %";
    Bound: r"^\s*(>|>=|<|<=)\s*[0-9.]+\s*(%|in|ft|mm|cm|m|x diameter|x circumference)\s*$", "a comparison with its value, such as \"> 25 %\", \">= 30 in\" or \"< 6 x diameter\"";
    Years: r"^\s*(>|>=|<|<=)\s*[0-9.]+\s*years\s*$", "an age with its comparison, such as \">= 75 years\"";
}

impl JsonSchema for Factor {
    fn schema_name() -> std::borrow::Cow<'static, str> {
        "Factor".into()
    }

    fn json_schema(_: &mut SchemaGenerator) -> Schema {
        json_schema!({ "type": "number", "exclusiveMinimum": 0, "maximum": 1000 })
    }
}
