//! Results -> files: layers, styles, tables, pages and `run.json`, staged and put in place in one step.
//!
//! The only place that rounds or serialises. It judges and measures nothing; what it prints of a rule set, of inputs and of CRSs it
//! takes from [`RunFacts`]. The same results give the same bytes, whatever the number of threads.

pub mod columns;
pub mod columns_compared;
pub mod columns_document;
pub mod columns_layers;
pub mod columns_services;
pub mod layers;
pub mod number;
mod overlaps;
pub mod pages;
pub mod sheet;
pub mod staging;
pub mod view;

mod antimeridian;
mod barriers;
mod cells;
mod chunks;
mod columns_barriers;
mod columns_fences;
mod columns_replacement;
mod columns_upkeep;
mod feature;
mod fences;
mod flatgeobuf_file;
mod folder;
mod folds;
mod geopackage;
mod geopackage_wkb;
mod icalendar;
mod layer_files;
mod lock;
mod measures;
mod position;
mod replace;
mod replacement;
mod run_file;
mod sentence;
mod services;
mod side_by_side;
mod style;
mod tables;
mod upkeep;
mod upkeep_materials;

#[cfg(test)]
pub(crate) mod example;
#[cfg(test)]
#[path = "write_tests.rs"]
mod tests;

pub use feature::ToWgs84;
pub use layers::Drawing;
pub use pages::{Pages, Words};
pub use position::DECIMALS as POSITION_DECIMALS;
pub use staging::Staging;

use crate::error::Result;
use crate::model::results::Results;
use crate::model::run_facts::RunFacts;
use crate::settings::Layer;
use std::collections::BTreeSet;

/// Writes every file into the staging folder, `run.json` last. [`Staging::finish`] then puts them in place.
///
/// # Errors
/// Counts that do not add up (a fault of the program); a place that cannot be brought to longitude and latitude; as the system says.
pub fn write_all(
    results: &Results,
    facts: &RunFacts,
    layers: &BTreeSet<Layer>,
    drawing: &Drawing,
    pages: Option<&Pages>,
    staging: &mut Staging,
) -> Result<()> {
    let view = view::View::new(results, facts)?;
    layers::write_layers(&view, layers, drawing, staging)?;
    tables::write_tables(&view, staging)?;
    fences::write_fence_tables(&view, staging)?;
    upkeep::write_upkeep(&view, staging)?;
    let sheets = match pages {
        Some(pages) => pages::write_pages(&view, pages, drawing, staging)?,
        None => Vec::new(),
    };
    let notes = pages.map_or_else(Vec::new, Pages::notes);
    run_file::write_run_file(&view, &sheets, &notes, staging)
}
