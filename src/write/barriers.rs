//! The cells that stand only where barriers to roots are given: the shape of the zone, and the whole disc beside it.

use super::measures::{AREA_DECIMALS, DISTANCE_DECIMALS, Measured};
use super::sheet::Sheet;
use super::view::View;
use crate::model::results::{Row, UnshapedResult};
use crate::model::zone::Zone;

/// From `zone_shape` to `disc_finding`; nothing where no barriers are given.
pub(super) fn unshaped_cells(sheet: &mut Sheet, view: &View, row: &Row) {
    if !view.facts.barriers_given() {
        return;
    }
    let unshaped = of_disc(row);
    let pct = |part: fn(&UnshapedResult) -> f64| unshaped.as_ref().map(|disc| 100.0 * part(disc) / disc.area_m2);
    let lost_m2 = unshaped.zip(row.zone.as_ref()).map(|(disc, zone)| disc.area_m2 - zone.area_m2());
    sheet.text("zone_shape", row.zone.as_ref().map_or("", zone_shape));
    sheet.number("disc_radius_m", row.zone.as_ref().map(Zone::disc_radius_m), DISTANCE_DECIMALS);
    sheet.number("disc_lost_m2", lost_m2, AREA_DECIMALS);
    sheet.number("disc_overlap_pct", pct(|disc| disc.overlap_m2), AREA_DECIMALS);
    sheet.number("disc_severed_pct", pct(|disc| disc.severed_m2), AREA_DECIMALS);
    sheet.number("disc_affected_pct", pct(|disc| disc.affected_m2), AREA_DECIMALS);
    sheet.text("disc_finding", unshaped.as_ref().map_or(row.finding.verdict, |disc| disc.verdict).word());
}

/// The shape of a zone in a word.
pub(super) fn zone_shape(zone: &Zone) -> &'static str {
    match zone.shape.as_deref() {
        None => "disc",
        Some(shape) if shape.made_up => "shaped, area made up",
        Some(_) => "shaped",
    }
}

/// What the row says of the whole disc: itself where no barrier shapes the zone; `None` without a zone.
fn of_disc(row: &Row) -> Option<UnshapedResult> {
    row.unshaped.as_deref().copied().or_else(|| {
        let measured = Measured::of(row);
        Some(UnshapedResult {
            area_m2: measured.zone_area_m2?,
            overlap_m2: measured.overlap_m2()?,
            severed_m2: measured.severed_m2()?,
            affected_m2: measured.affected_m2()?,
            verdict: row.finding.verdict,
        })
    })
}

#[cfg(test)]
#[path = "barriers_tests.rs"]
mod tests;
