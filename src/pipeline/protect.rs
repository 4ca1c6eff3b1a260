//! What protects the trees that stay, permit by permit, in parallel.

use super::ground::Given;
use super::lines::Neighbourhood;
use crate::error::Result;
use crate::model::protection::Protection;
use crate::model::results::{Results, Row};
use crate::model::service::Placed;
use crate::model::tree::Tree;
use crate::model::work::Permit;
use crate::protect::service_values::ServiceValues;
use crate::protect::services::Lines;
use crate::protect::upkeep::UpkeepPlan;
use crate::protect::values::{FenceValues, Values};
use crate::protect::{Site, SiteGround, protect};
use crate::rules::RuleSet;
use crate::settings::{GroundLayer, ProtectChoices};
use rayon::prelude::*;

/// One per permit, in their order.
pub(super) fn protect_all(
    choices: &ProtectChoices,
    rules: &RuleSet,
    (results, trees): (&Results, &[Tree]),
    ground: &[Given; 3],
    (around, (values, service_values), upkeep): (&Neighbourhood<'_>, &(Values, ServiceValues), &UpkeepPlan),
) -> Result<Vec<Protection>> {
    let rings: Vec<String> = rules.rings.iter().map(|ring| ring.name.clone()).collect();
    let standing = |line: u32, placed: Placed, trees: &[usize]| around.standing(line, placed, trees);
    let (allowed, surfaces) = (&ground[GroundLayer::Site as usize], &ground[GroundLayer::Surfaces as usize]);
    let site = Site {
        choices,
        rules,
        trees,
        works: &results.works,
        ground: SiteGround::new(&allowed.shapes, &surfaces.shapes, &surfaces.kinds, &values.buildings),
        values,
        built: fence_of(choices, rules, values)?,
        lines: Some(Lines {
            near: &around.near,
            standing: &standing,
            values: service_values,
            within_m: choices.services.shift_within_m,
            rings: &rings,
        }),
        upkeep,
    };
    let of_permit = |(number, permit): (u32, &Permit)| {
        let rows = numbered_rows(results, number)?;
        let rows: Vec<(usize, &Row)> = rows.iter().map(|(number, row)| (*number, row)).collect();
        Ok(protect(&site, permit, &rows))
    };
    let permits: Vec<(u32, &Permit)> = (0..).zip(&results.permits).collect();
    permits.into_par_iter().map(of_permit).collect()
}

/// The rows of a permit with their index.
fn numbered_rows(results: &Results, permit: u32) -> Result<Vec<(usize, Row)>> {
    let numbers = results.rows.of_permit(permit);
    let rows = results.rows.read_all(&results.rows.heads()[numbers.clone()])?;
    Ok(numbers.zip(rows).collect())
}

/// The fence that the run names, else the rule set, else the first of the table.
///
/// # Errors
/// A name that is not in the table.
pub(super) fn fence_of<'v>(choices: &ProtectChoices, rules: &RuleSet, values: &'v Values) -> Result<&'v FenceValues> {
    let of_set = rules.protection.as_ref().and_then(|rule| rule.fence.as_deref());
    values.fence(choices.fence.as_deref().or(of_set))
}
