//! The table of values for water, calendar and quantities, and a user's own table that goes over it.
//!
//! Numbers and words with where they come from. It decides nothing.

use crate::error::{Error, Result};
use crate::model::upkeep::{Anchor, Phase};
use crate::rules::provenance::Status;
use serde::Deserialize;
use std::collections::BTreeMap;
use std::path::Path;

const BUILT_IN: &str = include_str!("upkeep_values.toml");

/// A number with where it comes from.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Value {
    /// The number.
    pub is: f64,
    /// How well it is known.
    pub status: Status,
    /// Who says so, and where.
    #[serde(default)]
    pub source: String,
    /// When that was noted.
    pub date: toml::value::Datetime,
}

impl Value {
    /// Where it comes from, in words.
    pub fn origin(&self) -> String {
        origin(self.status, &self.source)
    }
}

/// Status and source in words.
pub(super) fn origin(status: Status, source: &str) -> String {
    match (status, source.strip_prefix("no source")) {
        (_, Some(rest)) => format!("{}, no source{rest}", status.word()),
        (_, None) if source.is_empty() => status.word().to_string(),
        (_, None) => format!("{}: {source}", status.word()),
    }
}

/// Watering by the calendar.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct WaterValues {
    /// First month of the warm season north of the tropics, 1 to 12.
    pub warm_from_month: Value,
    /// Last month of it.
    pub warm_to_month: Value,
    /// Days between two waterings in the cool season.
    pub cool_every_days: Value,
    /// Hours at each place in the cool season.
    pub cool_hours: Value,
    /// Days between two waterings in the warm season.
    pub warm_every_days: Value,
    /// Hours at each place in the warm season.
    pub warm_hours: Value,
    /// How far a sprinkler throws, metres.
    pub throw_m: Value,
    /// Flow of one sprinkler, litres a minute.
    pub flow_l_per_min: Value,
    /// Ground beside the trunk that is not watered, metres from the trunk's face.
    pub trunk_dry_m: Value,
    /// Litres per centimetre of trunk for each day between two waterings.
    pub trunk_litres_per_cm_day: Value,
    /// Litres per centimetre of trunk at each watering.
    pub trunk_litres_per_cm_each: Value,
}

/// The soil water balance.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct BalanceValues {
    /// Evaporation of the trees' ground over that of the reference.
    pub crop_coefficient: Value,
    /// Depth of roots, metres.
    pub root_depth_m: Value,
    /// Depth of the top of the soil that is kept account of by itself, metres.
    pub top_depth_m: Value,
    /// Share of the available water that may be used up.
    pub depletion_share: Value,
}

/// Inspection and monitoring.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct CalendarValues {
    /// Days between two inspections at most.
    pub inspect_every_days: Value,
    /// Years of monitoring after the job.
    pub monitor_years: Value,
}

/// What a soil of one texture holds for plants.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Soil {
    /// Low end, millimetres of water in a metre of soil.
    pub low_mm_per_m: f64,
    /// High end.
    pub high_mm_per_m: f64,
    /// How well it is known.
    pub status: Status,
    /// Who says so.
    #[serde(default)]
    pub source: String,
    /// When that was noted.
    pub date: toml::value::Datetime,
}

impl Soil {
    /// The middle of both ends, millimetres in a metre.
    pub fn middle_mm_per_m(&self) -> f64 {
        (self.low_mm_per_m + self.high_mm_per_m) / 2.0
    }
}

/// A species that rots under summer water.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct DrySummer {
    /// How well it is known.
    pub status: Status,
    /// Why.
    #[serde(default)]
    pub source: String,
    /// When that was noted.
    pub date: toml::value::Datetime,
    /// `false` takes a name off the built-in list.
    #[serde(default = "yes")]
    pub holds: bool,
}

fn yes() -> bool {
    true
}

/// How often a step is due.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum Every {
    /// Once.
    Once,
    /// At the interval of inspections.
    Inspection,
    /// Every year of monitoring.
    Year,
    /// On the days of the watering schedule.
    Water,
    /// Whenever it comes up.
    Standing,
}

/// Which trees a step is about.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize)]
pub enum StepTrees {
    /// All that stay.
    #[serde(rename = "stay")]
    Stay,
    /// Those within a fence.
    #[serde(rename = "fenced")]
    Fenced,
    /// Those that no fence could be put around.
    #[serde(rename = "unfenced")]
    Unfenced,
    /// Those without a usable diameter.
    #[serde(rename = "unmeasured")]
    Unmeasured,
    /// Those whose roots are cut, but not close to the trunk.
    #[serde(rename = "cut")]
    Cut,
    /// Those whose roots would be cut close to the trunk.
    #[serde(rename = "cut close")]
    CutClose,
    /// Those on the usual schedule.
    #[serde(rename = "usual water")]
    UsualWater,
    /// Those without summer water.
    #[serde(rename = "dry summer")]
    DrySummer,
}

/// The cover without which a step is left out.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum NeedsCover {
    /// Mulch.
    Mulch,
    /// Compost.
    Compost,
    /// Anything else.
    Other,
}

/// A step of the calendar.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct StepValue {
    /// Before, during or after the job.
    pub phase: Phase,
    /// The day it is counted from.
    pub from: Anchor,
    /// Days after that.
    pub day: i32,
    /// How often.
    pub every: Every,
    /// For which trees.
    pub trees: StepTrees,
    /// Only with this cover.
    #[serde(default)]
    pub needs: Option<NeedsCover>,
    /// Who.
    pub who: String,
    /// What.
    pub what: String,
    /// What waits for it.
    #[serde(default)]
    pub holds_up: String,
    /// How well it is known.
    pub status: Status,
    /// Who says so.
    #[serde(default)]
    pub source: String,
    /// When that was noted.
    pub date: toml::value::Datetime,
}

/// The whole table.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct UpkeepValues {
    /// Watering by the calendar.
    pub water: WaterValues,
    /// The soil water balance.
    pub balance: BalanceValues,
    /// Inspection and monitoring.
    pub calendar: CalendarValues,
    /// Soils by texture.
    pub soil: BTreeMap<String, Soil>,
    /// Species and genera without summer water.
    pub dry_summer: BTreeMap<String, DrySummer>,
    /// Steps by name.
    pub step: BTreeMap<String, StepValue>,
}

impl UpkeepValues {
    /// The table that the program brings.
    pub fn built_in() -> UpkeepValues {
        toml::from_str(BUILT_IN).expect("a test reads the built-in table")
    }

    /// The built-in table with a user's own over it.
    ///
    /// # Errors
    /// `Io` where the file cannot be read; `Input` for text that is no TOML, for names that the table does not know, and for values out
    /// of range.
    pub fn load(path: Option<&Path>) -> Result<UpkeepValues> {
        let Some(path) = path else { return Ok(UpkeepValues::built_in()) };
        let text = std::fs::read_to_string(path).map_err(|error| Error::io(path, "read", error))?;
        let at = path.display().to_string();
        let hint = "the built-in table, src/protect/upkeep_values.toml, shows the form";
        let wrong = |error: toml::de::Error| {
            let line = error.span().map_or(1, |span| text[..span.start.min(text.len())].matches('\n').count() + 1);
            Error::input(format!("{at}:{line}"), error.message().to_string(), hint)
        };
        let own: toml::Table = toml::from_str(&text).map_err(wrong)?;
        let mut all: toml::Table = toml::from_str(BUILT_IN).expect("a test reads the built-in table");
        lay_over(&mut all, own);
        let values: UpkeepValues =
            all.try_into().map_err(|error: toml::de::Error| Error::input(&at, error.to_string().trim_end(), hint))?;
        values.check().map_err(|what| Error::input(&at, what, hint))?;
        Ok(values)
    }

    /// Numbers that nothing could be worked out with.
    fn check(&self) -> std::result::Result<(), String> {
        let (water, balance, calendar) = (&self.water, &self.balance, &self.calendar);
        for (name, value, least, most) in [
            ("water.warm_from_month", &water.warm_from_month, 1.0, 12.0),
            ("water.warm_to_month", &water.warm_to_month, 1.0, 12.0),
            ("water.cool_every_days", &water.cool_every_days, 1.0, 366.0),
            ("water.warm_every_days", &water.warm_every_days, 1.0, 366.0),
            ("water.cool_hours", &water.cool_hours, 0.0, 24.0),
            ("water.warm_hours", &water.warm_hours, 0.0, 24.0),
            ("water.throw_m", &water.throw_m, 0.5, 50.0),
            ("water.flow_l_per_min", &water.flow_l_per_min, 0.01, 10_000.0),
            ("water.trunk_dry_m", &water.trunk_dry_m, 0.0, 5.0),
            ("water.trunk_litres_per_cm_day", &water.trunk_litres_per_cm_day, 0.0, 1000.0),
            ("water.trunk_litres_per_cm_each", &water.trunk_litres_per_cm_each, 0.0, 1000.0),
            ("balance.crop_coefficient", &balance.crop_coefficient, 0.01, 2.0),
            ("balance.root_depth_m", &balance.root_depth_m, 0.05, 5.0),
            ("balance.top_depth_m", &balance.top_depth_m, 0.01, balance.root_depth_m.is),
            ("balance.depletion_share", &balance.depletion_share, 0.05, 0.95),
            ("calendar.inspect_every_days", &calendar.inspect_every_days, 1.0, 366.0),
            ("calendar.monitor_years", &calendar.monitor_years, 0.0, 50.0),
        ] {
            let whole = !name.ends_with("_days") && !name.ends_with("_month") && !name.ends_with("_years");
            if !(least..=most).contains(&value.is) || !(whole || value.is.fract() == 0.0) {
                let kind = if whole { "a number" } else { "a whole number" };
                return Err(format!("{name}: got {}; expected {kind} from {least} to {most}", value.is));
            }
        }
        for (name, soil) in &self.soil {
            if !(soil.low_mm_per_m > 0.0 && soil.low_mm_per_m <= soil.high_mm_per_m && soil.high_mm_per_m <= 1000.0) {
                let got = format!("{} to {}", soil.low_mm_per_m, soil.high_mm_per_m);
                return Err(format!("soil.{name}: got {got} mm/m; expected 0 < low <= high <= 1000"));
            }
        }
        match self.step.iter().find(|(_, step)| step.day.abs() > 3660) {
            Some((name, step)) => Err(format!("step.{name}: got day = {}; expected -3660 to 3660", step.day)),
            None => Ok(()),
        }
    }

    /// The entry of a tree among those without summer water: by its accepted name, its genus, or the first words as written.
    pub fn dry_summer(&self, accepted: &str, genus: &str, written: &str) -> Option<(&str, &DrySummer)> {
        let named = |name: &str| self.dry_summer.get_key_value(name);
        let found = match (accepted, genus) {
            ("", "") => {
                let begins = |name: &str| {
                    written.get(..name.len()).is_some_and(|start| start.eq_ignore_ascii_case(name))
                        && !written[name.len()..].starts_with(char::is_alphabetic)
                };
                self.dry_summer.iter().find(|(name, _)| begins(name))
            }
            _ => named(accepted).or_else(|| named(genus)),
        };
        found.filter(|(_, entry)| entry.holds).map(|(name, entry)| (name.as_str(), entry))
    }
}

/// Lays one table over another. What stands together with its origin (a value, a soil, a species, a step) is replaced as a whole.
fn lay_over(under: &mut toml::Table, over: toml::Table) {
    for (key, value) in over {
        match (under.get_mut(&key), value) {
            (Some(toml::Value::Table(old)), toml::Value::Table(new)) if !old.contains_key("status") => {
                lay_over(old, new);
            }
            (_, value) => {
                under.insert(key, value);
            }
        }
    }
}

#[cfg(test)]
#[path = "upkeep_values_tests.rs"]
mod tests;
