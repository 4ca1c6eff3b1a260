//! A file of prices -> the price of each item in it, checked: nothing is invented, and nothing is priced by a unit that it is not counted in.
//!
//! TOML (`[[price]]` with item, unit, price and currency, the last also once at the top) or CSV (`item,unit,price,currency`). Prices are
//! decimal numbers and stay exact.

use crate::error::{Error, Result};
use crate::model::upkeep::{Dimension, Item, Price};
use crate::units::{METRES_PER_FOOT, SQUARE_METRES_PER_SQUARE_FOOT};
use serde::Deserialize;
use std::path::Path;

/// Litres in one US liquid gallon, exactly: 231 cubic inches.
pub const LITRES_PER_US_GALLON: f64 = 3.785_411_784;
/// Cubic metres in one cubic yard, exactly: 27 cubic feet.
pub const CUBIC_METRES_PER_CUBIC_YARD: f64 = 27.0 * METRES_PER_FOOT * METRES_PER_FOOT * METRES_PER_FOOT;
/// More than any price, ten-thousandths.
const MOST_TEN_THOUSANDTHS: i64 = 1_000_000_000 * 10_000;

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
struct PriceFile {
    #[serde(default)]
    currency: Option<String>,
    #[serde(default)]
    price: Vec<PriceEntry>,
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
struct PriceEntry {
    item: String,
    unit: String,
    price: toml::Value,
    #[serde(default)]
    currency: Option<String>,
}

/// A price as written, with its line.
struct Written {
    line: Option<u64>,
    item: String,
    unit: String,
    price: String,
    currency: String,
}

/// Reads a file of prices, in the order of [`Item::ALL`].
///
/// # Errors
/// `Io`; `Input` for an item that is not known or stands twice, a unit that the item is not counted in, a price that is no decimal number
/// with at most four decimals from 0 up, or no currency.
pub fn load_prices(path: &Path) -> Result<Vec<Price>> {
    let text = std::fs::read_to_string(path).map_err(|error| Error::io(path, "read", error))?;
    let at = path.display().to_string();
    let is_toml = path.extension().is_some_and(|ending| ending.eq_ignore_ascii_case("toml"));
    let written = if is_toml { from_toml(&text, &at)? } else { from_csv(text.trim_start_matches('\u{feff}'), &at)? };
    let mut prices: Vec<Price> = Vec::new();
    for entry in &written {
        let place = entry.line.map_or_else(|| at.clone(), |line| format!("{at}:{line}"));
        let price = price(entry).map_err(|what| Error::input(&place, what, HINT))?;
        if prices.iter().any(|other| other.item == price.item) {
            return Err(Error::input(place, format!("`{}` has two prices", entry.item), HINT));
        }
        prices.push(price);
    }
    if prices.is_empty() {
        return Err(Error::input(at, "the file has no prices", HINT));
    }
    prices.sort_by_key(|price| price.item);
    Ok(prices)
}

const HINT: &str = "a table with the header item,unit,price,currency and rows such as fence,ft,12.50,USD";

fn from_toml(text: &str, at: &str) -> Result<Vec<Written>> {
    let file: PriceFile = toml::from_str(text).map_err(|error| {
        let line = error.span().map_or(1, |span| text[..span.start.min(text.len())].matches('\n').count() + 1);
        Error::input(
            format!("{at}:{line}"),
            error.message().to_string(),
            "[[price]] with item, unit, price and currency",
        )
    })?;
    let entries = file.price.into_iter().map(|entry| Written {
        line: None,
        item: entry.item,
        unit: entry.unit,
        price: match entry.price {
            toml::Value::String(text) => text,
            other => other.to_string(),
        },
        currency: entry.currency.or_else(|| file.currency.clone()).unwrap_or_default(),
    });
    Ok(entries.collect())
}

fn from_csv(text: &str, at: &str) -> Result<Vec<Written>> {
    let wrong = |error: csv::Error| {
        let line = error.position().map_or(1, csv::Position::line);
        Error::input(format!("{at}:{line}"), format!("the table cannot be read: {error}"), HINT)
    };
    let mut reader = csv::ReaderBuilder::new().trim(csv::Trim::All).from_reader(text.as_bytes());
    let header = reader.headers().map_err(wrong)?.clone();
    let column = |name: &str| {
        header
            .iter()
            .position(|column| column.eq_ignore_ascii_case(name))
            .ok_or_else(|| Error::input(format!("{at}:1"), format!("no column `{name}`"), HINT))
    };
    let [item, unit, price, currency] = [column("item")?, column("unit")?, column("price")?, column("currency")?];
    let mut written = Vec::new();
    for record in reader.records() {
        let record = record.map_err(wrong)?;
        let cell = |at: usize| record.get(at).unwrap_or_default().to_string();
        written.push(Written {
            line: record.position().map(csv::Position::line),
            item: cell(item),
            unit: cell(unit),
            price: cell(price),
            currency: cell(currency),
        });
    }
    Ok(written)
}

fn price(written: &Written) -> std::result::Result<Price, String> {
    let plain = written.item.trim().to_lowercase().replace(['_', '-'], " ");
    let item = Item::ALL.into_iter().find(|item| item.word() == plain).ok_or_else(|| {
        let known = Item::ALL.map(Item::word).join(", ");
        format!("`{}` is no item; expected one of {known}", written.item)
    })?;
    let units_in_one = units_in_one(item, &written.unit).ok_or_else(|| {
        format!("{} is not priced by `{}`; expected one of {}", item.word(), written.unit, units_of(item).join(", "))
    })?;
    let ten_thousandths = decimal(&written.price).ok_or_else(|| {
        format!("`{}` is no price; expected a decimal number from 0 up with at most four decimals", written.price)
    })?;
    let currency = written.currency.trim();
    if currency.is_empty() {
        return Err(format!("the price of {} has no currency", item.word()));
    }
    Ok(Price {
        item,
        unit: written.unit.trim().to_string(),
        units_in_one,
        written: written.price.trim().to_string(),
        ten_thousandths,
        currency: currency.to_string(),
    })
}

/// The units that an item may be priced by.
fn units_of(item: Item) -> &'static [&'static str] {
    match (item, item.dimension()) {
        (Item::Water, _) => &["L", "m3", "gal"],
        (_, Dimension::Length) => &["m", "ft", "yd"],
        (_, Dimension::Area) => &["m2", "sq ft", "sq yd"],
        (_, Dimension::Volume) => &["m3", "cu yd", "cu ft"],
        (_, Dimension::Count) => &["each"],
    }
}

/// How many of the item's own unit are in one of a written unit; `None` for a unit of another kind.
fn units_in_one(item: Item, written: &str) -> Option<f64> {
    let plain = written.trim().to_lowercase().replace(['_', '.'], " ");
    let plain = plain.split_whitespace().collect::<Vec<_>>().join(" ");
    let cubic_foot = METRES_PER_FOOT * METRES_PER_FOOT * METRES_PER_FOOT;
    match (item, item.dimension()) {
        (Item::Water, _) => match plain.as_str() {
            "l" | "litre" | "liter" | "litres" | "liters" => Some(1.0),
            "m3" | "m\u{b3}" => Some(1000.0),
            "gal" | "us gal" | "gallon" | "gallons" => Some(LITRES_PER_US_GALLON),
            _ => None,
        },
        (_, Dimension::Length) => match plain.as_str() {
            "m" | "metre" | "meter" => Some(1.0),
            "ft" | "foot" | "lf" => Some(METRES_PER_FOOT),
            "yd" | "yard" => Some(3.0 * METRES_PER_FOOT),
            _ => None,
        },
        (_, Dimension::Area) => match plain.as_str() {
            "m2" | "m\u{b2}" | "sq m" => Some(1.0),
            "sq ft" | "sqft" | "ft2" | "sf" => Some(SQUARE_METRES_PER_SQUARE_FOOT),
            "sq yd" | "sqyd" | "yd2" | "sy" => Some(9.0 * SQUARE_METRES_PER_SQUARE_FOOT),
            _ => None,
        },
        (_, Dimension::Volume) => match plain.as_str() {
            "m3" | "m\u{b3}" | "cu m" => Some(1.0),
            "cu yd" | "cuyd" | "yd3" | "cy" => Some(CUBIC_METRES_PER_CUBIC_YARD),
            "cu ft" | "cuft" | "ft3" | "cf" => Some(cubic_foot),
            _ => None,
        },
        (_, Dimension::Count) => matches!(plain.as_str(), "each" | "ea" | "piece" | "pc").then_some(1.0),
    }
}

/// A decimal number from 0 up with at most four decimals, in ten-thousandths.
fn decimal(text: &str) -> Option<i64> {
    let (whole, part) = text.trim().split_once('.').unwrap_or((text.trim(), ""));
    let digits = |text: &str| text.bytes().all(|byte| byte.is_ascii_digit());
    if whole.is_empty() || !digits(whole) || !digits(part) || part.len() > 4 || whole.len() > 12 {
        return None;
    }
    let value: i64 = format!("{whole}{part:0<4}").parse().ok()?;
    (value <= MOST_TEN_THOUSANDTHS).then_some(value)
}

#[cfg(test)]
#[path = "prices_tests.rs"]
mod tests;
