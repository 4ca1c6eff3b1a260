//! Flags on service lines; resolved into `ServiceChoices`.

use crate::args::metres;
use clap::Args;
use rootward::settings::ServiceChoices;
use std::path::PathBuf;

/// Flags on service lines that cross root zones.
#[derive(Debug, Args)]
#[command(next_help_heading = "Protection")]
pub struct ServiceArgs {
    /// How far a service line may be moved out of a root zone
    #[arg(long, value_name = "METRES", default_value = "5", allow_negative_numbers = true, value_parser = metres)]
    pub shift_within: f64,
    /// A table of your own (TOML) with depths of bores and the size of pits
    #[arg(long, value_name = "FILE")]
    pub service_values: Option<PathBuf>,
}

impl ServiceArgs {
    /// Resolves what was typed.
    pub fn choices(&self) -> ServiceChoices {
        ServiceChoices { shift_within_m: self.shift_within, values: self.service_values.clone() }
    }
}
