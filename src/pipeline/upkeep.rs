//! Reads what water, calendar and quantities need besides trees and works: values, weather, prices.

use crate::error::{Error, Result};
use crate::normalise::weather::read_weather;
use crate::protect::prices::load_prices;
use crate::protect::upkeep::UpkeepInputs;
use crate::protect::upkeep_values::UpkeepValues;
use crate::settings::UpkeepChoices;
use sha2::{Digest, Sha256};
use std::path::Path;

/// Reads all of it, before anything is measured: a mistake in a small file must not be found after a long run.
pub(super) fn read_upkeep(choices: &UpkeepChoices) -> Result<UpkeepInputs> {
    let weather = match (&choices.weather, choices.job) {
        (None, _) => None,
        (Some(path), Some(job)) => Some(read_weather(path, &choices.weather_columns, job)?),
        (Some(_), None) => {
            return Err(Error::Usage {
                what: "--weather needs the days of the job".to_string(),
                hint: "--start 2026-04-01 --end 2026-09-30".to_string(),
            });
        }
    };
    Ok(UpkeepInputs {
        values: UpkeepValues::load(choices.values.as_deref())?,
        weather,
        prices: choices.prices.as_deref().map_or(Ok(Vec::new()), load_prices)?,
    })
}

/// What was typed, for `run.json`; files with their hash.
pub(super) fn upkeep_settings(choices: &UpkeepChoices) -> Vec<(String, String)> {
    let mut typed = Vec::new();
    let mut add = |flag: &str, value: Option<String>| typed.extend(value.map(|value| (flag.to_string(), value)));
    add("start", choices.job.map(|job| job.start.to_string()));
    add("end", choices.job.map(|job| job.end.to_string()));
    add("weather", choices.weather.as_deref().map(named_with_hash));
    let columns: Vec<String> =
        choices.weather_columns.iter().map(|(role, column)| format!("{role}={column}")).collect();
    add("weather-columns", (!columns.is_empty()).then(|| columns.join(",")));
    add("soil", choices.soil.clone());
    add("crop-coefficient", choices.crop_coefficient.map(|value| value.to_string()));
    add("root-depth", choices.root_depth_m.map(|value| format!("{value} m")));
    add("throw", choices.throw_m.map(|value| format!("{value} m")));
    add("sprinkler-flow", choices.flow_l_per_min.map(|value| format!("{value} L/min")));
    add("inspect-every", choices.inspect_every_days.map(|days| format!("{days} days")));
    add("monitor-years", choices.monitor_years.map(|years| years.to_string()));
    add("prices", choices.prices.as_deref().map(named_with_hash));
    add("upkeep-values", choices.values.as_deref().map(named_with_hash));
    typed
}

/// The name without its folder, and the SHA-256 of the file.
fn named_with_hash(path: &Path) -> String {
    let name = path.file_name().map(|name| name.to_string_lossy().into_owned()).unwrap_or_default();
    // It was read a moment ago; where it is gone by now, its name has to do.
    let Ok(bytes) = std::fs::read(path) else { return name };
    let hash: String = Sha256::digest(&bytes).iter().map(|byte| format!("{byte:02x}")).collect();
    format!("{name} (sha256 {hash})")
}
