//! Flags on what protects the trees that stay; resolved into `ProtectChoices`.

use crate::args_services::ServiceArgs;
use clap::Args;
use rootward::settings::{ProtectChoices, Traffic};

/// Flags of `screen --protect` and of `plan`.
#[derive(Debug, Args)]
#[command(next_help_heading = "Protection")]
pub struct ProtectArgs {
    /// Also work out what spares the roots at service lines: bore, move or dig, line by line and tree by tree
    #[arg(long)]
    pub protect: bool,
    /// What roots do not pass: existing foundations, walls, roads
    #[arg(long, num_args = 1.., value_name = "FILE")]
    pub barriers: Vec<String>,
    #[command(flatten)]
    pub services: ServiceArgs,
}

impl ProtectArgs {
    /// Resolves what was typed.
    pub fn choices(&self) -> ProtectChoices {
        ProtectChoices {
            clearance_m: 1.0,
            fence: None,
            traffic: Traffic::Light,
            values: None,
            services: self.services.choices(),
        }
    }
}
