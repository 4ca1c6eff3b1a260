//! Findings -> what has to stand, lie and happen on site so that the trees that stay come through.
//!
//! Works on one permit at a time, on shapes and numbers in the measuring plane. It finds nothing out about the site that was not
//! given, and promises nothing that only a person on site can: outputs say what to confirm.

mod fate;

pub mod calendar;
pub mod evaporation;
pub mod materials;
pub mod open_ground;
pub mod prices;
pub mod sprinklers;
pub mod upkeep;
mod upkeep_notes;
pub mod upkeep_values;
pub mod water;
pub mod water_balance;

use crate::model::protection::Protection;
use crate::model::results::Row;
use crate::model::tree::Tree;
use crate::model::work::{Permit, Work};
use crate::rules::RuleSet;
use crate::settings::ProtectChoices;
use geo::MultiPolygon;

/// What all permits share.
pub struct Site<'a> {
    /// What was chosen.
    pub choices: &'a ProtectChoices,
    /// The deciding rule set.
    pub rules: &'a RuleSet,
    /// `Results::trees`.
    pub trees: &'a [Tree],
    /// `Results::works`.
    pub works: &'a [Work],
    /// Ground on which fences may stand; empty where not given: everywhere.
    pub allowed: &'a [MultiPolygon<f64>],
    /// Existing pavement and buildings, which may overlap.
    pub surfaces: &'a [MultiPolygon<f64>],
    /// Kind of each surface, by the table of kinds.
    pub surface_kinds: &'a [String],
    /// Water, calendar and quantities: what all permits share.
    pub upkeep: &'a upkeep::UpkeepPlan,
}

/// What protects the trees of one permit; `rows` are its rows with their index in the results.
pub fn protect(site: &Site<'_>, permit: &Permit, rows: &[(usize, &Row)]) -> Protection {
    let mut protection = Protection {
        trees: rows.iter().map(|&(number, row)| fate::fate(site, number, row)).collect(),
        ..Protection::default()
    };
    // Last: the calendar and the quantities count what all others have found.
    protection.upkeep = upkeep::upkeep(site, site.upkeep, permit, rows, &protection);
    protection
}
