//! The cells that the tables of measures share: one row's numbers as they are printed.
//!
//! Areas and shares with 4 decimals, distances with 3, diameters with 2. Shares are made from unrounded areas and the area of
//! the zone as used.

use super::sentence::sentence;
use super::sheet::Sheet;
use super::view::View;
use crate::model::effect::Effect;
use crate::model::finding::Verdict;
use crate::model::overlap::RegionAreas;
use crate::model::results::{Row, RowDiameter};
use crate::units::{METRES_PER_FOOT, METRES_PER_INCH, SQUARE_METRES_PER_SQUARE_FOOT};

/// Decimals of areas and shares.
pub const AREA_DECIMALS: u32 = 4;
/// Decimals of distances and radii.
pub const DISTANCE_DECIMALS: u32 = 3;
/// Decimals of diameters in centimetres and inches.
pub const DIAMETER_DECIMALS: u32 = 2;

/// What of a row is measured; `None` throughout for a tree without a zone.
#[derive(Clone, Copy)]
pub struct Measured<'a> {
    whole: Option<&'a RegionAreas>,
    /// Area of the zone as used.
    pub zone_area_m2: Option<f64>,
}

impl<'a> Measured<'a> {
    /// The measures of a row.
    pub fn of(row: &'a Row) -> Measured<'a> {
        let zone_area_m2 = row.zone.as_ref().map(crate::model::zone::Zone::area_m2);
        Measured { whole: row.overlap.regions.first().filter(|_| row.zone.is_some()), zone_area_m2 }
    }

    /// Overlap, square metres.
    pub fn overlap_m2(self) -> Option<f64> {
        self.whole.map(|whole| whole.overlap_m2)
    }

    /// Severed, square metres.
    pub fn severed_m2(self) -> Option<f64> {
        self.whole.map(|whole| whole.severed_m2)
    }

    /// Affected, square metres.
    pub fn affected_m2(self) -> Option<f64> {
        self.whole.map(|whole| whole.affected_m2)
    }

    /// An area in percent of the zone as used.
    pub fn pct(self, area_m2: Option<f64>) -> Option<f64> {
        Some(100.0 * area_m2? / self.zone_area_m2?)
    }
}

/// The decimals with which a finding's value is printed: it is a distance or a share.
pub fn value_decimals(measure: &str) -> u32 {
    if ["distance", "depth", "trunk"].iter().any(|length| measure.starts_with(length)) {
        DISTANCE_DECIMALS
    } else {
        AREA_DECIMALS
    }
}

/// From `tree_id` to `borderline`.
pub fn measure_cells(sheet: &mut Sheet, view: &View, row: &Row) {
    let (tree, measured, finding) = (view.tree(row), Measured::of(row), &row.finding);
    sheet.text("tree_id", &tree.id);
    sheet.text("species", &tree.species);
    sheet.number("diameter_cm", row.diameter.used_m().map(|d| d * 100.0), DIAMETER_DECIMALS);
    sheet.text("heritage_class", &row.heritage_class);
    sheet.number("zone_radius_m", row.zone.as_ref().map(|zone| zone.radius_m), DISTANCE_DECIMALS);
    sheet.number("zone_area_m2", measured.zone_area_m2, AREA_DECIMALS);
    sheet.number("overlap_m2", measured.overlap_m2(), AREA_DECIMALS);
    sheet.number("overlap_pct", measured.pct(measured.overlap_m2()), AREA_DECIMALS);
    sheet.number("severed_m2", measured.severed_m2(), AREA_DECIMALS);
    sheet.number("severed_pct", measured.pct(measured.severed_m2()), AREA_DECIMALS);
    sheet.number("affected_m2", measured.affected_m2(), AREA_DECIMALS);
    sheet.number("affected_pct", measured.pct(measured.affected_m2()), AREA_DECIMALS);
    sheet.number("distance_m", Some(row.overlap.distance_m), DISTANCE_DECIMALS);
    sheet.text("nearest_kind", view.nearest_work(row).map_or("", |work| &work.kind));
    sheet.text("finding", finding.verdict.word());
    sheet.text("clause", &finding.clause);
    sheet.text("measure", &finding.measure);
    sheet.number("value", finding.value, value_decimals(&finding.measure));
    sheet.text("limit", &finding.limit);
    sheet.text("denominator", &finding.denominator);
    sheet.text("borderline", row.borderline);
}

/// From `diameter_in` to `distance_ft`; nothing where the rule set is not written in feet and inches.
pub fn imperial_cells(sheet: &mut Sheet, view: &View, row: &Row) {
    if !view.facts.rules.imperial {
        return;
    }
    let measured = Measured::of(row);
    let square_feet = |area_m2: Option<f64>| area_m2.map(|area| area / SQUARE_METRES_PER_SQUARE_FOOT);
    sheet.number("diameter_in", row.diameter.used_m().map(|d| d / METRES_PER_INCH), DIAMETER_DECIMALS);
    sheet.number("zone_radius_ft", row.zone.as_ref().map(|zone| zone.radius_m / METRES_PER_FOOT), DISTANCE_DECIMALS);
    sheet.number("zone_area_sqft", square_feet(measured.zone_area_m2), AREA_DECIMALS);
    sheet.number("overlap_sqft", square_feet(measured.overlap_m2()), AREA_DECIMALS);
    sheet.number("severed_sqft", square_feet(measured.severed_m2()), AREA_DECIMALS);
    sheet.number("affected_sqft", square_feet(measured.affected_m2()), AREA_DECIMALS);
    sheet.number("distance_ft", Some(row.overlap.distance_m / METRES_PER_FOOT), DISTANCE_DECIMALS);
}

/// From `diameter_range_cm` to `owner`: what follows in every table of measures.
pub fn detail_cells(sheet: &mut Sheet, view: &View, row: &Row) {
    let measured_only = |metres: f64| Some(metres).filter(|_| row.zone.is_some());
    sheet.text("diameter_range_cm", &diameter_range(&row.diameter));
    let other = match row.diameter {
        RowDiameter::Range { other, .. } => Verdict::word(other),
        _ => "",
    };
    sheet.text("other_end_finding", other);
    let face_m = row.diameter.used_m().map(|d| (row.overlap.distance_m - d / 2.0).max(0.0));
    sheet.number("distance_from_trunk_face_m", face_m, DISTANCE_DECIMALS);
    sheet.number("trunk_distance_m", measured_only(row.overlap.trunk_distance_m), DISTANCE_DECIMALS);
    sheet.number("severing_distance_m", measured_only(row.overlap.severing_distance_m), DISTANCE_DECIMALS);
    let measured = Measured::of(row);
    for effect in Effect::ALL {
        sheet.number("overlap_<effect>_m2", measured.whole.map(|whole| whole.effect_m2(effect)), AREA_DECIMALS);
    }
    ring_cells(sheet, view, row);
    let tree = view.tree(row);
    sheet.text("nearest_work_id", view.nearest_work(row).map_or("", |work| &work.id));
    sheet.text("warnings", &warnings(row));
    sheet.text("disposition", tree.disposition.map_or("", crate::model::tree::Disposition::word));
    sheet.text("condition", &tree.condition);
    sheet.text("owner", &tree.owner);
    sheet.text("sentence", &sentence(&row.finding));
}

fn ring_cells(sheet: &mut Sheet, view: &View, row: &Row) {
    for ring in 0..view.facts.rules.rings.len() {
        let region = row.overlap.regions.get(ring + 1).filter(|_| row.zone.is_some());
        let share = region.map(|r| 100.0 * r.overlap_m2 / r.area_m2());
        sheet.number("<ring>_radius_m", region.map(|r| r.radius_m), DISTANCE_DECIMALS);
        sheet.number("<ring>_overlap_m2", region.map(|r| r.overlap_m2), AREA_DECIMALS);
        sheet.number("<ring>_overlap_pct", share, AREA_DECIMALS);
        sheet.number("<ring>_cut_m2", region.map(|r| r.effect_m2(Effect::Cut)), AREA_DECIMALS);
        sheet.number("<ring>_new_overlap_m2", region.and_then(|r| r.new_m2), AREA_DECIMALS);
    }
}

/// The last columns of every table of measures.
pub fn source_cells(sheet: &mut Sheet, view: &View, row: &Row) {
    let source = view.tree(row).source;
    sheet.text("tree_file", view.label(source));
    sheet.whole("tree_row", source.row);
    let botanical = view.tree(row).botanical;
    sheet.text("species_match", botanical.accepted);
    sheet.text("species_certainty", botanical.certainty.word());
}

/// From `surfaced_m2` to `mitigation_accepted`.
pub fn part_cells(sheet: &mut Sheet, row: &Row) {
    let measured = Measured::of(row);
    let (overlap, new_m2) = (&row.overlap, measured.whole.and_then(|whole| whole.new_m2));
    sheet.number("surfaced_m2", measured.whole.and_then(|whole| whole.surfaced_m2), AREA_DECIMALS);
    sheet.number("new_overlap_m2", new_m2, AREA_DECIMALS);
    sheet.number("new_overlap_pct", measured.pct(new_m2), AREA_DECIMALS);
    sheet.number("temporary_m2", measured.whole.map(|whole| whole.temporary_m2), AREA_DECIMALS);
    sheet.number("permanent_m2", measured.whole.map(|whole| whole.permanent_m2), AREA_DECIMALS);
    sheet.text("mitigation", &overlap.accepted.and(overlap.not_accepted).words());
    sheet.text("mitigation_accepted", &overlap.accepted.words());
}

fn diameter_range(diameter: &RowDiameter) -> String {
    let cm = |metres: f64| super::number::fixed(metres * 100.0, DIAMETER_DECIMALS);
    match *diameter {
        RowDiameter::Range { low_m, high_m, .. } => format!("{}-{}", cm(low_m), cm(high_m)),
        RowDiameter::AtLeast(low_m) => format!("at least {}", cm(low_m)),
        RowDiameter::Known(_) | RowDiameter::Unknown(_) => String::new(),
    }
}

/// Warning codes of the finding and of the zone, each once, in alphabetical order.
fn warnings(row: &Row) -> String {
    let of_zone = row.zone.iter().flat_map(|zone| &zone.warnings);
    let codes: std::collections::BTreeSet<&str> = row.finding.warnings.iter().chain(of_zone).copied().collect();
    for code in &codes {
        debug_assert!(crate::model::warning::meaning(code).is_some(), "warning code {code} is not in model/warning.rs");
    }
    codes.into_iter().collect::<Vec<_>>().join(";")
}
