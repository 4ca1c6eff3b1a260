//! Flags on service lines; resolved into `ServiceChoices`.

use crate::args::metres;
use clap::Args;
use rootward::settings::ServiceChoices;
use std::path::PathBuf;

/// How far a line may be moved where nothing is typed, metres.
const SHIFT_WITHIN_M: f64 = 5.0;

/// Flags on service lines that cross root zones.
#[derive(Debug, Args)]
#[command(next_help_heading = "Protection")]
pub struct ServiceArgs {
    /// How far a service line may be moved out of a root zone [default: 5]
    #[arg(long, value_name = "METRES", allow_negative_numbers = true, value_parser = metres)]
    pub shift_within: Option<f64>,
    /// A table of your own (TOML) with depths of bores and the size of pits
    #[arg(long, value_name = "FILE")]
    pub service_values: Option<PathBuf>,
}

impl ServiceArgs {
    /// Each flag, and whether it was typed.
    pub fn typed(&self) -> [(&'static str, bool); 2] {
        [("--shift-within", self.shift_within.is_some()), ("--service-values", self.service_values.is_some())]
    }

    /// Resolves what was typed.
    pub fn choices(&self) -> ServiceChoices {
        ServiceChoices {
            shift_within_m: self.shift_within.unwrap_or(SHIFT_WITHIN_M),
            values: self.service_values.clone(),
        }
    }
}
