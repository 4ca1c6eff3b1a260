//! The cells of `tables/services.csv` and the properties of `layers/service_lines.geojson`.

use super::cells::Properties;
use super::columns_services::SERVICES;
use super::measures::{AREA_DECIMALS, DIAMETER_DECIMALS, DISTANCE_DECIMALS};
use super::sheet::Sheet;
use super::staging::Staging;
use super::tables::write_read;
use super::view::View;
use crate::error::Result;
use crate::model::finding::Verdict;
use crate::model::results::Row;
use crate::model::service::{Clears, LineTree, MovedLine, ServiceLine, TreeShift};
use crate::model::work::Work;
use crate::units::{METRES_PER_FOOT, METRES_PER_INCH};
use geo::MultiLineString;

/// Decimals of bearings.
const BEARING_DECIMALS: u32 = 1;
/// What holds for every line.
const CAUTION: &str = "locate buried services first (call before you dig); the utility's own rules on depth and separation decide; licensed people do the work; a qualified arborist judges stability before roots are cut";

/// A row of the table.
struct Crossing<'a> {
    line: &'a ServiceLine,
    tree: &'a LineTree,
    row: &'a Row,
    work: &'a Work,
}

/// Writes the table; nothing where protection is not asked for.
pub(super) fn write_services(view: &View, staging: &mut Staging) -> Result<()> {
    if view.results.protection.is_none() {
        return Ok(());
    }
    let crossed: Vec<(&ServiceLine, &LineTree)> =
        lines(view).flat_map(|line| line.trees.iter().map(move |tree| (line, tree))).collect();
    write_read(&SERVICES, view, &crossed, staging, |sheet, (line, tree)| {
        let (row, work) = (view.read(&view.rows[tree.row])?, &view.results.works[line.work as usize]);
        cells(sheet, view, &Crossing { line, tree, row: &row, work });
        Ok(())
    })
}

/// All lines, in the order of permits and works.
fn lines<'a>(view: &View<'a>) -> impl Iterator<Item = &'a ServiceLine> {
    view.results.protection.iter().flatten().flat_map(|permit| &permit.services)
}

fn cells(sheet: &mut Sheet, view: &View, of: &Crossing<'_>) {
    let (tree, permit) = (view.tree(of.row), view.permit(of.row));
    let line = of.tree;
    let diameter_m = of.row.diameter.used_m();
    sheet.text("permit_id", &permit.id);
    sheet.text("tree_id", &tree.id);
    sheet.text("work_id", &of.work.id);
    sheet.text("kind", &of.work.kind);
    sheet.text("species", &tree.species);
    sheet.number("diameter_cm", diameter_m.map(|diameter_m| diameter_m * 100.0), DIAMETER_DECIMALS);
    sheet.text("finding", of.row.finding.verdict.word());
    sheet.number("width_m", width_m(of.work), DISTANCE_DECIMALS);
    sheet.number("zone_radius_m", radius_m(of.row), DISTANCE_DECIMALS);
    sheet.number("zone_length_m", line.zone_length_m, DISTANCE_DECIMALS);
    sheet.number("centre_line_distance_m", Some(line.centre_line_m), DISTANCE_DECIMALS);
    sheet.number("distance_m", Some(line.edge_m), DISTANCE_DECIMALS);
    sheet.number("distance_diameters", line.edge_diameters, DISTANCE_DECIMALS);
    sheet.yes_no("cut_close_to_trunk", line.cut_close);
    for ring in 0..view.facts.rules.rings.len() {
        sheet.number("<ring>_length_m", line.ring_lengths_m.get(ring).copied(), DISTANCE_DECIMALS);
    }
    advice_cells(sheet, view, of);
    if view.facts.rules.imperial {
        imperial_cells(sheet, view, of);
    }
    sheet.text("permit_status", &permit.status);
    sheet.text("tree_file", view.label(tree.source));
    sheet.whole("tree_row", tree.source.row);
}

fn advice_cells(sheet: &mut Sheet, view: &View, of: &Crossing<'_>) {
    let line = of.tree;
    let measured = line.zone_length_m.is_some();
    let verdict = |verdict: Verdict| if measured { verdict.word() } else { "" };
    sheet.number("line_affected_pct", measured.then_some(line.alone.affected_pct), AREA_DECIMALS);
    sheet.number("line_severed_pct", measured.then_some(line.alone.severed_pct), AREA_DECIMALS);
    sheet.text("line_finding", verdict(line.alone.verdict));
    sheet.text("finding_without_line", verdict(line.without.verdict));
    sheet.text("advice", line.advice.words());
    sheet.text("reason", &line.reason);
    bore_cells(sheet, line);
    shift_cells(sheet, ["zone_shift_m", "zone_shift_bearing_deg"], line.zone.as_ref());
    sheet.text("ring_shift", line.ring.as_ref().map_or("", |shift| ring_name(view, shift)));
    shift_cells(sheet, ["ring_shift_m", "ring_shift_bearing_deg"], line.ring.as_ref());
    shift_cells(sheet, ["every_zone_shift_m", "every_zone_shift_bearing_deg"], line.every_zone.as_ref());
    let advised = line.advised.as_ref();
    sheet.text(
        "advised_shift",
        advised.map_or("", |shift| match shift.clears {
            Clears::EveryZone => "every zone",
            Clears::Zone => "this zone",
            Clears::Ring(_) => "ring",
        }),
    );
    shift_cells(sheet, ["advised_shift_m", "advised_shift_bearing_deg"], advised);
    sheet.text("finding_after_shift", advised.map_or("", |shift| shift.after.verdict.word()));
    match advised {
        Some(_) => sheet.whole("trees_measured_again", u64::from(of.line.trees_near)),
        None => sheet.text("trees_measured_again", ""),
    }
    let moved = of.line.moved.as_ref().filter(|_| advised.is_some());
    sheet.text("meets_after_shift", &moved.map_or_else(String::new, |moved| met(view, moved)));
}

fn bore_cells(sheet: &mut Sheet, line: &LineTree) {
    let bore = line.bore.as_ref();
    sheet.number("bore_depth_m", bore.map(|bore| bore.depth_m), DISTANCE_DECIMALS);
    sheet.text("bore_depth_from", bore.map_or("", |bore| &bore.depth_from));
    sheet.number("bore_length_m", bore.map(|bore| bore.length_m), DISTANCE_DECIMALS);
    match bore {
        Some(bore) => {
            sheet.yes_no("bore_possible", bore.possible);
            sheet.whole("pits", u64::from(bore.pits));
        }
        None => {
            sheet.text("bore_possible", "");
            sheet.text("pits", "");
        }
    }
    sheet.text("pits_place", bore.map_or("", |bore| &bore.pits_text));
}

fn shift_cells(sheet: &mut Sheet, [length, bearing]: [&str; 2], shift: Option<&TreeShift>) {
    sheet.number(length, shift.map(|shift| shift.shift.distance_m), DISTANCE_DECIMALS);
    sheet.number(bearing, shift.map(|shift| shift.shift.bearing_deg), BEARING_DECIMALS);
}

fn imperial_cells(sheet: &mut Sheet, view: &View, of: &Crossing<'_>) {
    let line = of.tree;
    let feet = |metres: Option<f64>| metres.map(|metres| metres / METRES_PER_FOOT);
    let shift = |shift: Option<&TreeShift>| feet(shift.map(|shift| shift.shift.distance_m));
    let bore = line.bore.as_ref();
    sheet.number(
        "diameter_in",
        of.row.diameter.used_m().map(|diameter_m| diameter_m / METRES_PER_INCH),
        DIAMETER_DECIMALS,
    );
    sheet.number("width_ft", feet(width_m(of.work)), DISTANCE_DECIMALS);
    sheet.number("zone_radius_ft", feet(radius_m(of.row)), DISTANCE_DECIMALS);
    sheet.number("zone_length_ft", feet(line.zone_length_m), DISTANCE_DECIMALS);
    sheet.number("distance_ft", feet(Some(line.edge_m)), DISTANCE_DECIMALS);
    sheet.number("bore_depth_ft", feet(bore.map(|bore| bore.depth_m)), DISTANCE_DECIMALS);
    sheet.number("bore_length_ft", feet(bore.map(|bore| bore.length_m)), DISTANCE_DECIMALS);
    sheet.number("zone_shift_ft", shift(line.zone.as_ref()), DISTANCE_DECIMALS);
    sheet.number("ring_shift_ft", shift(line.ring.as_ref()), DISTANCE_DECIMALS);
    sheet.number("every_zone_shift_ft", shift(line.every_zone.as_ref()), DISTANCE_DECIMALS);
    sheet.number("advised_shift_ft", shift(line.advised.as_ref()), DISTANCE_DECIMALS);
    for ring in 0..view.facts.rules.rings.len() {
        sheet.number("<ring>_length_ft", feet(line.ring_lengths_m.get(ring).copied()), DISTANCE_DECIMALS);
    }
}

fn radius_m(row: &Row) -> Option<f64> {
    row.zone.as_ref().map(|zone| zone.radius_m)
}

/// Width as drawn out, overdig on both sides included.
fn width_m(work: &Work) -> Option<f64> {
    work.line.as_ref().map(|line| line.width_m + 2.0 * work.margin_m)
}

fn ring_name<'a>(view: &View<'a>, shift: &TreeShift) -> &'a str {
    match shift.clears {
        Clears::Ring(ring) => view.facts.rules.rings.get(ring).map_or("", String::as_str),
        _ => "",
    }
}

/// What a moved line meets.
pub(super) fn met(view: &View, moved: &MovedLine) -> String {
    let name = |&work: &u32| {
        let work = &view.results.works[work as usize];
        format!("{} {}", work.kind, work.id)
    };
    moved.meets.iter().map(name).collect::<Vec<_>>().join("; ")
}

/// One feature of the layer: a line as proposed, or a shift of it.
pub(super) struct Drawn<'a> {
    line: &'a ServiceLine,
    work: &'a Work,
    moved: Option<&'a MovedLine>,
}

impl Drawn<'_> {
    /// Where it lies, measuring CRS.
    pub(super) fn lines(&self) -> MultiLineString<f64> {
        let as_proposed = || self.work.line.as_ref().map(|line| line.lines.clone());
        self.moved
            .map(|moved| moved.lines.clone())
            .or_else(as_proposed)
            .unwrap_or_else(|| MultiLineString::new(Vec::new()))
    }
}

/// All features, each line before its shifts.
pub(super) fn drawn<'a>(view: &View<'a>) -> Vec<Drawn<'a>> {
    let of_line = |line: &'a ServiceLine| {
        let work = &view.results.works[line.work as usize];
        let moved = line.moved.iter().map(move |moved| Drawn { line, work, moved: Some(moved) });
        std::iter::once(Drawn { line, work, moved: None }).chain(moved)
    };
    lines(view).flat_map(of_line).collect()
}

/// The properties of one feature.
pub(super) fn line_properties(view: &View, of: &Drawn<'_>, properties: &mut Properties) {
    let shift = of.moved.map(|moved| moved.shift);
    let trees = match of.moved {
        Some(moved) => moved.trees.clone(),
        None => of.line.trees.iter().map(|line| line.tree).collect(),
    };
    let ids: Vec<&str> = trees.iter().map(|&tree| view.results.trees[tree as usize].id.as_str()).collect();
    properties.text("permit_id", &view.results.permits[of.work.permit as usize].id);
    properties.text("work_id", &of.work.id);
    properties.text("kind", &of.work.kind);
    properties.text("line", if of.moved.is_some() { "moved" } else { "as proposed" });
    properties.text("advice", &if of.moved.is_some() { String::new() } else { advice(of.line) });
    properties.number("shift_m", shift.map(|shift| shift.distance_m), DISTANCE_DECIMALS);
    properties.number("shift_bearing_deg", shift.map(|shift| shift.bearing_deg), BEARING_DECIMALS);
    properties.text("tree_ids", &ids.join("; "));
    properties.text("meets", &of.moved.map_or_else(String::new, |moved| met(view, moved)));
    properties.text("caution", CAUTION);
    properties.text("file", view.label(of.work.source));
    properties.whole("row", of.work.source.row);
}

/// What is advised for the trees of a line, each once, in the order of the rules.
fn advice(line: &ServiceLine) -> String {
    let all = crate::model::service::Advice::ALL.into_iter();
    let given = all.filter(|advice| line.trees.iter().any(|tree| tree.advice == *advice));
    given.map(|advice| advice.words()).collect::<Vec<_>>().join("; ")
}
