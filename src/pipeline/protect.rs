//! What protects the trees that stay, permit by permit, in parallel.

use super::ground::Given;
use crate::error::Result;
use crate::model::protection::Protection;
use crate::model::results::{Results, Row};
use crate::protect::upkeep::UpkeepPlan;
use crate::protect::{Site, protect};
use crate::rules::RuleSet;
use crate::settings::{GroundLayer, ProtectChoices};
use rayon::prelude::*;

/// One per permit, in their order.
pub(super) fn protect_all(
    choices: &ProtectChoices,
    rules: &RuleSet,
    results: &Results,
    ground: &[Given; 3],
    upkeep: &UpkeepPlan,
) -> Result<Vec<Protection>> {
    let rows = rows_by_permit(results);
    let site = Site {
        choices,
        rules,
        trees: &results.trees,
        works: &results.works,
        allowed: &ground[GroundLayer::Site as usize].shapes,
        surfaces: &ground[GroundLayer::Surfaces as usize].shapes,
        surface_kinds: &ground[GroundLayer::Surfaces as usize].kinds,
        upkeep,
    };
    Ok(results.permits.par_iter().zip(rows).map(|(permit, rows)| protect(&site, permit, &rows)).collect())
}

/// Rows with their index, by permit.
fn rows_by_permit(results: &Results) -> Vec<Vec<(usize, &Row)>> {
    let mut rows: Vec<Vec<(usize, &Row)>> = vec![Vec::new(); results.permits.len()];
    for (number, row) in results.rows.iter().enumerate() {
        rows[row.permit as usize].push((number, row));
    }
    rows
}
