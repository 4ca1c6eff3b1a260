//! What protects the trees that stay, permit by permit, in parallel.

use super::ground::Given;
use super::lines::Neighbourhood;
use crate::error::Result;
use crate::model::protection::Protection;
use crate::model::results::{Results, Row};
use crate::model::service::Placed;
use crate::protect::service_values::ServiceValues;
use crate::protect::services::Lines;
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
    (around, values): (&Neighbourhood<'_>, Option<&ServiceValues>),
) -> Result<Vec<Protection>> {
    let rows = rows_by_permit(results);
    let rings: Vec<String> = rules.rings.iter().map(|ring| ring.name.clone()).collect();
    let standing = |line: u32, placed: Placed, trees: &[usize]| around.standing(line, placed, trees);
    let site = Site {
        choices,
        rules,
        trees: &results.trees,
        works: &results.works,
        allowed: &ground[GroundLayer::Site as usize].shapes,
        surfaces: &ground[GroundLayer::Surfaces as usize].shapes,
        surface_kinds: &ground[GroundLayer::Surfaces as usize].kinds,
        lines: values.map(|values| Lines {
            near: &around.near,
            standing: &standing,
            values,
            within_m: choices.services.shift_within_m,
            rings: &rings,
        }),
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
