//! The name of a column -> the unit that it states, and its words without the unit.
//!
//! Knows names only; what the cells say of a unit is decided elsewhere.

use super::words::name_words;
use crate::units::LengthUnit;

/// The unit that a column's name states: `dbh_in`, `DBH (cm)`, `circonference en cm`, `hauteurenm`.
pub fn unit_of_name(column: &str) -> Option<LengthUnit> {
    let words = name_words(column);
    if words.len() < 2 {
        return unit_suffix(&words.concat()).map(|(_, unit)| unit);
    }
    without_unit(&words).1.or_else(|| unit_suffix(words.last().map_or("", String::as_str)).map(|(_, unit)| unit))
}

/// The words without a unit, and the unit. `1.3 m` says at what height was measured and is no unit; neither is `in` before other words.
pub(super) fn without_unit(words: &[String]) -> (Vec<String>, Option<LengthUnit>) {
    let is_number = |word: &String| word.bytes().all(|b| b.is_ascii_digit());
    let unit_at = words.iter().enumerate().rposition(|(at, word)| {
        at > 0
            && !is_number(&words[at - 1])
            && LengthUnit::parse(word).is_some()
            && (word != "in" || at + 1 == words.len())
    });
    let Some(unit_at) = unit_at else { return (words.to_vec(), None) };
    let linking = |at: usize| at + 1 == unit_at && matches!(words[at].as_str(), "en" | "in" | "w" | "v" | "i");
    let bare = words
        .iter()
        .enumerate()
        .filter(|&(at, _)| at != unit_at && !(at > 0 && linking(at)))
        .map(|(_, word)| word.clone());
    (bare.collect(), LengthUnit::parse(&words[unit_at]))
}

/// `dbhcm` -> `dbh`, cm. Only for names that are known without it: `diam` does not end in metres.
pub(super) fn unit_suffix(word: &str) -> Option<(&str, LengthUnit)> {
    const KNOWN: &[&str] = &[
        "dbh",
        "diam",
        "dia",
        "diameter",
        "circonference",
        "hauteur",
        "girth",
        "height",
        "spread",
        "crown",
        "width",
        "depth",
        "radius",
        "umfang",
        "stammumfang",
        "durchmesser",
        "stammdurchmesser",
        "hoehe",
        "hohe",
        "kronendurchmesser",
        "bhd",
        "dap",
        "gbh",
        "cbh",
        "dhp",
        "accuracy",
        "circ",
        "trunkdiameter",
        "crowndiameter",
        "diametro",
        "diametre",
    ];
    if KNOWN.contains(&word) {
        return None;
    }
    ["encm", "enmm", "enm", "incm", "inches", "inch", "mm", "cm", "in", "ft", "m"].iter().find_map(|suffix| {
        let stem = word.strip_suffix(suffix)?;
        let unit = suffix
            .strip_prefix("en")
            .or_else(|| suffix.strip_prefix("in").filter(|rest| *rest == "cm"))
            .unwrap_or(suffix);
        Some((KNOWN.contains(&stem).then_some(stem)?, LengthUnit::parse(unit)?))
    })
}
