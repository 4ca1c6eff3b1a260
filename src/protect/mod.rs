//! Findings -> what has to stand, lie and happen on site so that the trees that stay come through.
//!
//! Works on one permit at a time, on shapes and numbers in the measuring plane. It finds nothing out about the site that was not
//! given, and promises nothing that only a person on site can: outputs say what to confirm.

mod fate;
pub mod service_advice;
mod service_bore;
mod service_shift;
pub mod service_values;
pub mod services;

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
    /// The trees around the service lines, and how they are measured; `None` where not asked for.
    pub lines: Option<services::Lines<'a>>,
}

/// What protects the trees of one permit; `rows` are its rows with their index in the results.
pub fn protect(site: &Site<'_>, permit: &Permit, rows: &[(usize, &Row)]) -> Protection {
    let trees: Vec<_> = rows.iter().map(|&(number, row)| fate::fate(site, number, row)).collect();
    let services = services::services(site, permit, rows, &trees);
    Protection { trees, services, ..Protection::default() }
}
