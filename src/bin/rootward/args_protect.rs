//! Flags on what protects the trees that stay; resolved into `ProtectChoices`.

use crate::args::metres;
use crate::args_services::ServiceArgs;
use crate::args_upkeep::UpkeepArgs;
use clap::{Args, ValueEnum};
use rootward::error::Error;
use rootward::settings::{ProtectChoices, Traffic};
use std::path::PathBuf;

/// Room for work where none is typed, metres: common practice, no source.
const CLEARANCE_M: f64 = 1.0;

/// Flags of `screen --protect` and of `plan`.
#[derive(Debug, Args)]
#[command(next_help_heading = "Protection")]
pub struct ProtectArgs {
    /// Also work out what protects the trees that stay: fences, ground cover, service lines, water, calendar, quantities
    #[arg(long)]
    pub protect: bool,
    /// Ground on which fences may stand: the site, and the public right of way where the city allows it
    #[arg(long, num_args = 1.., value_name = "FILE")]
    pub site: Vec<String>,
    /// Room for work between a work and a fence [default: 1]
    #[arg(long, value_name = "METRES", allow_negative_numbers = true, value_parser = metres)]
    pub clearance: Option<f64>,
    /// Specification of the fence: a name from the table of protection values [default: the rule set's, else the table's first]
    #[arg(long, value_name = "NAME")]
    pub fence: Option<String>,
    /// The heaviest traffic expected on root zones outside the fences [default: light]
    #[arg(long, value_name = "WEIGHT")]
    pub traffic: Option<Weight>,
    /// A table of your own protection values (TOML) that goes over the built-in one
    #[arg(long, value_name = "FILE")]
    pub protection_values: Option<PathBuf>,
    #[command(flatten)]
    pub services: ServiceArgs,
    #[command(flatten)]
    pub upkeep: UpkeepArgs,
}

/// How heavy traffic is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum Weight {
    /// People with hand tools
    Foot,
    /// Machines to about 2 t
    Light,
    /// Anything heavier
    Heavy,
}

impl ProtectArgs {
    /// The first flag that was typed and says nothing unless protection is worked out.
    pub fn first_typed(&self) -> Option<&'static str> {
        let own = [
            ("--site", !self.site.is_empty()),
            ("--clearance", self.clearance.is_some()),
            ("--fence", self.fence.is_some()),
            ("--traffic", self.traffic.is_some()),
            ("--protection-values", self.protection_values.is_some()),
        ];
        let typed = own.into_iter().chain(self.services.typed()).chain(self.upkeep.typed());
        typed.into_iter().find(|(_, typed)| *typed).map(|(flag, _)| flag)
    }

    /// Resolves what was typed.
    pub fn choices(&self) -> Result<ProtectChoices, Error> {
        Ok(ProtectChoices {
            clearance_m: self.clearance.unwrap_or(CLEARANCE_M),
            fence: self.fence.clone(),
            traffic: match self.traffic.unwrap_or(Weight::Light) {
                Weight::Foot => Traffic::Foot,
                Weight::Light => Traffic::Light,
                Weight::Heavy => Traffic::Heavy,
            },
            values: self.protection_values.clone(),
            services: self.services.choices(),
            upkeep: self.upkeep.choices()?,
        })
    }
}
