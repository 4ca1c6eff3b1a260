//! Flags on water, calendar and quantities; resolved into `UpkeepChoices`.

use crate::args::pairs;
use clap::Args;
use jiff::civil::Date;
use rootward::error::Error;
use rootward::model::upkeep::Job;
use rootward::settings::UpkeepChoices;
use std::path::PathBuf;

/// Flags of `screen --protect` and of `plan`.
#[derive(Debug, Args)]
#[command(next_help_heading = "Protection: water, calendar, quantities")]
pub struct UpkeepArgs {
    /// First day of the job, e.g. 2026-04-01
    #[arg(long, value_name = "DATE", requires = "end", value_parser = date)]
    pub start: Option<Date>,
    /// Last day of the job
    #[arg(long, value_name = "DATE", requires = "start", value_parser = date)]
    pub end: Option<Date>,
    /// Daily weather (CSV: date, tmin, tmax, rain): water by a soil water balance instead of by the calendar
    #[arg(long, value_name = "FILE", requires = "start")]
    pub weather: Option<PathBuf>,
    /// Say which column of the weather is what, and in what unit: tmin=TMIN:F,rain=PRCP:in
    #[arg(long, value_name = "ROLE=COLUMN[:UNIT],...", value_delimiter = ',', requires = "weather")]
    pub weather_columns: Vec<String>,
    /// Texture of the soil: sand, sandy loam, loam, clay loam, clay ... [default: loam]
    #[arg(long, value_name = "TEXTURE")]
    pub soil: Option<String>,
    /// Evaporation of the trees' ground over that of well-watered grass; no standard has one for mixed urban trees [default: 0.5]
    #[arg(long, value_name = "NUMBER", value_parser = crop_coefficient)]
    pub crop_coefficient: Option<f64>,
    /// Depth of the roots that are kept account of [default: 0.6]
    #[arg(long, value_name = "METRES", value_parser = root_depth)]
    pub root_depth: Option<f64>,
    /// How far a sprinkler throws [default: 3]
    #[arg(long, value_name = "METRES", value_parser = throw)]
    pub throw: Option<f64>,
    /// Flow of one sprinkler in litres a minute [default: 7.57, 2 US gallons]
    #[arg(long, value_name = "LITRES", value_parser = flow)]
    pub sprinkler_flow: Option<f64>,
    /// Days between two inspections at most [default: 28]
    #[arg(long, value_name = "DAYS", value_parser = clap::value_parser!(u32).range(1..=366))]
    pub inspect_every: Option<u32>,
    /// Years of monitoring after the job [default: 5]
    #[arg(long, value_name = "YEARS", value_parser = clap::value_parser!(u32).range(0..=50))]
    pub monitor_years: Option<u32>,
    /// Your prices (TOML or CSV: item, unit, price, currency): costs and totals in materials.csv
    #[arg(long, value_name = "FILE")]
    pub prices: Option<PathBuf>,
    /// A table of your own values for water, calendar and steps (TOML) that goes over the built-in one
    #[arg(long, value_name = "FILE")]
    pub upkeep_values: Option<PathBuf>,
}

impl UpkeepArgs {
    /// Each flag, and whether it was typed; --end and --weather-columns are never typed alone.
    pub fn typed(&self) -> [(&'static str, bool); 11] {
        [
            ("--start", self.start.is_some()),
            ("--weather", self.weather.is_some()),
            ("--soil", self.soil.is_some()),
            ("--crop-coefficient", self.crop_coefficient.is_some()),
            ("--root-depth", self.root_depth.is_some()),
            ("--throw", self.throw.is_some()),
            ("--sprinkler-flow", self.sprinkler_flow.is_some()),
            ("--inspect-every", self.inspect_every.is_some()),
            ("--monitor-years", self.monitor_years.is_some()),
            ("--prices", self.prices.is_some()),
            ("--upkeep-values", self.upkeep_values.is_some()),
        ]
    }

    /// Resolves what was typed.
    pub fn choices(&self) -> Result<UpkeepChoices, Error> {
        Ok(UpkeepChoices {
            job: self.job()?,
            weather: self.weather.clone(),
            weather_columns: pairs("--weather-columns", &self.weather_columns)?,
            soil: self.soil.clone(),
            crop_coefficient: self.crop_coefficient,
            root_depth_m: self.root_depth,
            throw_m: self.throw,
            flow_l_per_min: self.sprinkler_flow,
            inspect_every_days: self.inspect_every,
            monitor_years: self.monitor_years,
            prices: self.prices.clone(),
            values: self.upkeep_values.clone(),
        })
    }

    fn job(&self) -> Result<Option<Job>, Error> {
        let Some((start, end)) = self.start.zip(self.end) else { return Ok(None) };
        if end < start {
            return Err(Error::Usage {
                what: format!("--end: got {end}, which is before --start {start}"),
                hint: format!("--start {end} --end {start}"),
            });
        }
        // Schedules are made day by day.
        if end.year() - start.year() > 30 {
            return Err(Error::Usage {
                what: format!("--start {start} --end {end}: more than 30 years"),
                hint: "give the days of one job".to_string(),
            });
        }
        Ok(Some(Job { start, end }))
    }
}

fn date(text: &str) -> Result<Date, String> {
    let right = text.len() == 10 && text.bytes().all(|byte| byte.is_ascii_digit() || byte == b'-');
    let date: Option<Date> = if right { text.parse().ok() } else { None };
    date.filter(|date| (1900..=2999).contains(&date.year()))
        .ok_or_else(|| "expected a day of the years 1900 to 2999, such as 2026-04-01".to_string())
}

fn within(text: &str, least: f64, most: f64) -> Result<f64, String> {
    let value: Option<f64> = text.parse().ok();
    value.filter(|value| (least..=most).contains(value)).ok_or_else(|| format!("expected {least} to {most}"))
}

fn crop_coefficient(text: &str) -> Result<f64, String> {
    within(text, 0.01, 2.0)
}

fn root_depth(text: &str) -> Result<f64, String> {
    within(text, 0.15, 5.0)
}

fn throw(text: &str) -> Result<f64, String> {
    within(text, 0.5, 50.0)
}

fn flow(text: &str) -> Result<f64, String> {
    within(text, 0.01, 10_000.0)
}
