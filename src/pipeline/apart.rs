//! Refuses trees that are nowhere near the works, and says where x and y are exchanged.

use super::extent::Extent;
use super::open::OpenTrees;
use super::trees::TreePass;
use super::{Site, all_set_aside};
use crate::error::{Error, Result};
use crate::projection::{Operation, Projector};
use crate::settings::Settings;

/// Trees further from all works than this, and none in reach: the files do not belong together, metres.
pub(super) const FAR_APART_M: f64 = 1000.0;

/// Nothing in reach is a result, which is told; nothing within a kilometre, or no usable tree at all, is a mistake in the inputs.
pub(super) fn check_reach(
    pass: &TreePass,
    site: &Site,
    settings: &Settings,
    opened: &[(OpenTrees, Option<Operation>)],
) -> Result<Option<String>> {
    let names = settings.trees.iter().map(|input| input.display()).collect::<Vec<_>>().join(", ");
    let works = Extent::of(site.works.iter().map(|work| &work.shape));
    let exchanged = || opened.iter().find_map(|(open, operation)| exchanged(open, operation.as_ref()?, works));
    if pass.extent.0.is_none() {
        let hint = exchanged().unwrap_or_else(|| "rootward inspect shows what is read from each column".to_string());
        return Err(Error::input(names, all_set_aside("tree", &pass.spent), hint));
    }
    let apart_m = pass.extent.gap(works).unwrap_or(0.0);
    if pass.trees.is_empty() && apart_m > FAR_APART_M {
        let what = format!(
            "the trees are nowhere near the works: {:.0} km apart; expected the same neighbourhood",
            apart_m / 1000.0
        );
        let hint = exchanged().unwrap_or_else(|| {
            "check --trees-crs and --works-crs, and that x and y (longitude and latitude) are not exchanged: rootward inspect FILE".to_string()
        });
        return Err(Error::input(names, what, hint));
    }
    Ok(pass.trees.is_empty().then(|| {
        let how = match apart_m {
            0.0 => "the rectangle around the trees meets that around the works".to_string(),
            _ => format!("the rectangles around the trees and the works lie {apart_m:.0} m apart"),
        };
        format!("no tree is in reach of any work; {how}: if trees should be, check --trees-crs and --works-crs with rootward inspect FILE")
    }))
}

/// Says so where the trees of a file lie among the works once x and y are exchanged.
fn exchanged(open: &OpenTrees, operation: &Operation, works: Extent) -> Option<String> {
    let projector = Projector::new(operation).ok()?;
    let mut extent = Extent::default();
    let places = open.survey.sample.iter().filter_map(|record| open.plan.place(record).ok());
    places.filter_map(|place| projector.forward(place.y, place.x).ok()).for_each(|place| extent.take(place));
    if extent.gap(works)? > FAR_APART_M {
        return None;
    }
    let name = |role| open.plan.decisions().iter().find(|one| one.role == role && one.column.is_some());
    let mend = match (name("x"), name("y")) {
        (Some(x), Some(y)) => format!("--tree-columns x={},y={}", y.column_name, x.column_name),
        _ => "write the file anew with x (longitude) first".to_string(),
    };
    Some(format!(
        "x and y of {} are exchanged: the other way round its trees lie by the works: {mend}",
        open.survey.input.display()
    ))
}
