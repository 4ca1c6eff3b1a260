//! Overlaps -> a table and a layer, a row of each for every permit and tree. A row is read back once for both.

use super::barriers::unshaped_cells;
use super::cells::Properties;
use super::columns::OVERLAPS;
use super::columns_layers::OVERLAPS_LAYER;
use super::feature::Shape;
use super::layer_files::LayerFiles;
use super::layers::{Drawing, draft, overlap_shape};
use super::measures::{AREA_DECIMALS, Measured, detail_cells, imperial_cells, measure_cells, part_cells, source_cells};
use super::sheet::Sheet;
use super::staging::Staging;
use super::tables::{begin, text_of, write_read};
use super::view::View;
use crate::error::Result;
use crate::model::results::Row;

/// Writes the table where the layer is not asked for.
pub(super) fn write_table_alone(view: &View, staging: &mut Staging) -> Result<()> {
    write_read(&OVERLAPS, view, view.rows, staging, |sheet, head| {
        cells(sheet, view, &view.read(head)?);
        Ok(())
    })
}

/// Writes the table and the layer.
pub(super) fn write_with_layer(view: &View, drawing: &Drawing, files: &mut LayerFiles) -> Result<()> {
    let header = OVERLAPS.header(view.facts);
    let mut table = begin(&OVERLAPS, &header, files.staging())?;
    let both = |heads: &[_], columns: &[_]| {
        let rows = view.read_all(heads)?;
        let of_table = text_of(&header, &rows, |sheet, row| {
            cells(sheet, view, row);
            Ok(())
        })?;
        let drawn = |row: &Row| {
            let shape = Shape::Polygons(overlap_shape(view, drawing, row));
            draft(columns, shape, |into| properties(into, view, row))
        };
        Ok((rows.iter().map(drawn).collect(), of_table))
    };
    files.write_beside(&OVERLAPS_LAYER, view.rows, both, |of_table: Vec<u8>| table.put(&of_table))?;
    files.staging().close(table)
}

fn cells(sheet: &mut Sheet, view: &View, row: &Row) {
    let permit = view.permit(row);
    sheet.text("permit_id", &permit.id);
    measure_cells(sheet, view, row);
    imperial_cells(sheet, view, row);
    detail_cells(sheet, view, row);
    sheet.text("permit_status", &permit.status);
    source_cells(sheet, view, row);
    part_cells(sheet, row);
    sheet.text("protected_class", &row.protected_class);
    unshaped_cells(sheet, view, row);
}

fn properties(into: &mut Properties, view: &View, row: &Row) {
    let measured = Measured::of(row);
    into.text("permit_id", &view.permit(row).id);
    into.text("tree_id", &view.tree(row).id);
    into.text("finding", row.finding.verdict.word());
    into.yes_no("at_risk", row.at_risk());
    into.number("overlap_m2", measured.overlap_m2(), AREA_DECIMALS);
    into.number("overlap_pct", measured.pct(measured.overlap_m2()), AREA_DECIMALS);
    into.number("severed_pct", measured.pct(measured.severed_m2()), AREA_DECIMALS);
    into.number("affected_pct", measured.pct(measured.affected_m2()), AREA_DECIMALS);
}
