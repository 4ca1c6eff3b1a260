//! Money, fees by length, and shares over 100 %, as rule files write them (`"250 USD"`, `"55 USD per 1 in of circumference"`).

use super::quantity::{Length, written_as};
use crate::model::owed::Money;
use schemars::{JsonSchema, Schema, SchemaGenerator, json_schema};
use serde::de::Error as _;
use serde::{Deserialize, Deserializer, Serialize};

/// The most that a value may be.
const LARGEST_AMOUNT: f64 = 1e9;

/// An amount with its currency, more than 0.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Amount {
    /// As written.
    pub written: String,
    /// The amount.
    pub amount: f64,
    /// Three capital letters.
    pub currency: String,
}

impl Amount {
    fn parse(text: &str) -> Result<Amount, String> {
        let wrong = || {
            format!(
                "`{text}` is no amount of money; expected a number over 0 and a currency in three capital letters, such as \"250 USD\""
            )
        };
        let (number, currency) = text.trim().split_once(' ').ok_or_else(wrong)?;
        let amount: f64 = number.parse().map_err(|_| wrong())?;
        let currency = currency.trim();
        let three = currency.len() == 3 && currency.chars().all(|c| c.is_ascii_uppercase());
        let in_range = amount > 0.0 && amount <= LARGEST_AMOUNT;
        if !three || !in_range {
            return Err(wrong());
        }
        Ok(Amount { written: text.trim().to_string(), amount, currency: currency.to_string() })
    }

    /// The amount without what was written.
    pub fn money(&self) -> Money {
        Money { amount: self.amount, currency: self.currency.clone() }
    }
}

impl<'de> Deserialize<'de> for Amount {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Amount, D::Error> {
        Amount::parse(&String::deserialize(deserializer)?).map_err(D::Error::custom)
    }
}

/// What of the trunk a fee is counted by.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Girth {
    /// The diameter.
    Diameter,
    /// The circumference: the diameter times pi.
    Circumference,
}

/// A fee by length: `"55 USD per 1 in of circumference"`.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct FeePerLength {
    /// As written.
    pub written: String,
    /// The amount for one `per`.
    pub amount: Amount,
    /// The length.
    pub per: Length,
    /// Of what.
    pub of: Girth,
}

impl FeePerLength {
    fn parse(text: &str) -> Option<FeePerLength> {
        let (amount, rest) = text.split_once(" per ")?;
        let (per, of) = rest.split_once(" of ")?;
        let of = match of.trim() {
            "diameter" => Girth::Diameter,
            "circumference" => Girth::Circumference,
            _ => return None,
        };
        let (amount, per) = (Amount::parse(amount).ok()?, Length::parse(per).ok()?);
        Some(FeePerLength { written: text.trim().to_string(), amount, per, of })
    }
}

impl<'de> Deserialize<'de> for FeePerLength {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<FeePerLength, D::Error> {
        let text = String::deserialize(deserializer)?;
        FeePerLength::parse(&text).ok_or_else(|| {
            D::Error::custom(format!(
                "`{text}` is no fee by length; expected such as \"55 USD per 1 in of circumference\" or \"30 USD per 1 in of diameter\""
            ))
        })
    }
}

/// A share that may be over 100 %, up to 1000 %.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Percent {
    /// Percent.
    pub percent: f64,
}

impl<'de> Deserialize<'de> for Percent {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Percent, D::Error> {
        let text = String::deserialize(deserializer)?;
        let percent = text.trim().strip_suffix('%').and_then(|number| number.trim().parse::<f64>().ok());
        match percent {
            Some(percent) if percent > 0.0 && percent <= 1000.0 => Ok(Percent { percent }),
            _ => Err(D::Error::custom(format!(
                "`{text}` is no share of the diameter; expected more than 0 % and at most 1000 %, such as \"100 %\" for inch for inch"
            ))),
        }
    }
}

written_as! {
    Amount: r"^\s*[0-9.]+ [A-Z]{3}\s*$", "an amount with its currency, such as \"250 USD\"";
    FeePerLength: r"^\s*[0-9.]+ [A-Z]{3} per [0-9.]+\s*(in|ft|mm|cm|m) of (diameter|circumference)\s*$", "a fee by length, such as \"55 USD per 1 in of circumference\"";
    Percent: r"^\s*[0-9.]+\s*%\s*$", "a share over 0 % and at most 1000 %; \"100 %\" is inch for inch";
}
