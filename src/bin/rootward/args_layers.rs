//! Flags on the files of the layers.

use clap::{Args, ValueEnum};
use rootward::error::Error;
use rootward::settings::{Layer, LayerFormat};
use std::collections::BTreeSet;

/// Flags of `screen` and of `plan`.
#[derive(Debug, Args)]
#[command(next_help_heading = "Results")]
pub struct LayerArgs {
    /// Format of the layers' own files; FlatGeobuf is smaller and is found by place, for large cities
    #[arg(long, value_name = "FORMAT", default_value = "geojson")]
    pub layer_format: Format,
    /// Also write all layers, with their styles, into one file in the measuring CRS: layers/rootward.gpkg
    #[arg(long)]
    pub geopackage: bool,
}

/// A format of layers.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum Format {
    /// RFC 7946, WGS 84
    Geojson,
    /// FlatGeobuf with a spatial index, WGS 84
    Flatgeobuf,
}

impl LayerArgs {
    /// The format.
    pub fn format(&self) -> LayerFormat {
        match self.layer_format {
            Format::Geojson => LayerFormat::GeoJson,
            Format::Flatgeobuf => LayerFormat::FlatGeobuf,
        }
    }

    /// The layers, unless nothing is left to be put into the one file.
    pub fn of(&self, layers: BTreeSet<Layer>) -> Result<BTreeSet<Layer>, Error> {
        if self.geopackage && layers.is_empty() {
            return Err(Error::Usage {
                what: "--geopackage with --layers none: nothing to write into it; expected at least one layer"
                    .to_string(),
                hint: "leave one of the two out".to_string(),
            });
        }
        Ok(layers)
    }
}
