//! Results -> the tables. Each cell is named with its column in `columns.rs`.

use super::barriers::unshaped_cells;
use super::chunks::write_in_order;
use super::columns::{CUMULATIVE, HERITAGE_AT_RISK, PERMITS, SET_ASIDE, Table};
use super::columns_replacement::REPLACEMENT;
use super::measures::{AREA_DECIMALS, Measured, detail_cells, imperial_cells, measure_cells, part_cells, source_cells};
use super::replacement::{listed, permit_cells, replacement_row};
use super::services;
use super::sheet::Sheet;
use super::side_by_side;
use super::staging::{StagedFile, Staging};
use super::view::{PermitView, View, with_verdict, worst};
use crate::error::Result;
use crate::issue::{CODES, Issue, Outcome};
use crate::model::finding::Verdict;
use crate::model::results::{Row, TogetherRow};
use crate::model::rows::RowHead;

/// What stands in `permit_id` for a tree that is at risk only under several permits together.
pub const TOGETHER: &str = "(together)";

/// Writes all tables but that of the overlaps.
pub fn write_tables(view: &View, staging: &mut Staging) -> Result<()> {
    write_read(&HERITAGE_AT_RISK, view, &view.at_risk(), staging, |sheet, (head, together)| {
        match together {
            Some(together) => heritage_row(sheet, view, &together.row, Some(together)),
            None => heritage_row(sheet, view, &view.read(head)?, None),
        }
        Ok(())
    })?;
    write_read(&PERMITS, view, &view.permits, staging, |sheet, permit| permit_row(sheet, view, permit))?;
    write_table(&CUMULATIVE, view, view.together, staging, |sheet, together| cumulative_row(sheet, view, together))?;
    write_read(&REPLACEMENT, view, &listed(view), staging, |sheet, head| {
        replacement_row(sheet, view, &view.read(head)?);
        Ok(())
    })?;
    let mut issues: Vec<_> = view.results.issues.iter().collect();
    issues.sort_by(|a, b| {
        (a.source, a.code, a.outcome, &a.id, &a.detail).cmp(&(b.source, b.code, b.outcome, &b.id, &b.detail))
    });
    write_table(&SET_ASIDE, view, &issues, staging, |sheet, issue| issue_row(sheet, view, issue))?;
    side_by_side::write_side_by_side(view, staging)?;
    services::write_services(view, staging)
}

pub(super) fn write_table<T: Sync>(
    table: &Table,
    view: &View,
    items: &[T],
    staging: &mut Staging,
    cells: impl Fn(&mut Sheet, &T) + Sync,
) -> Result<()> {
    write_read(table, view, items, staging, |sheet, item| {
        cells(sheet, item);
        Ok(())
    })
}

/// As [`write_table`], where cells are of rows that have to be read back.
pub(super) fn write_read<T: Sync>(
    table: &Table,
    view: &View,
    items: &[T],
    staging: &mut Staging,
    cells: impl Fn(&mut Sheet, &T) -> Result<()> + Sync,
) -> Result<()> {
    let header = table.header(view.facts);
    let mut file = begin(table, &header, staging)?;
    write_in_order(items, &mut file, |items| text_of(&header, items, &cells))?;
    staging.close(file)
}

/// The file of a table, with its header.
pub(super) fn begin(table: &Table, header: &[String], staging: &mut Staging) -> Result<StagedFile> {
    let mut file = staging.create(table.file)?;
    file.put(&Sheet::header_text(header))?;
    Ok(file)
}

/// Items as rows of a table.
pub(super) fn text_of<T>(
    header: &[String],
    items: &[T],
    cells: impl Fn(&mut Sheet, &T) -> Result<()>,
) -> Result<Vec<u8>> {
    let mut sheet = Sheet::new(header);
    for item in items {
        cells(&mut sheet, item)?;
        sheet.end();
    }
    Ok(sheet.into_text())
}

fn heritage_row(sheet: &mut Sheet, view: &View, row: &Row, together: Option<&TogetherRow>) {
    let permits = together.map_or(&[][..], |t| &t.permits);
    let permit = view.permit(row);
    sheet.text("permit_id", if together.is_some() { TOGETHER } else { &permit.id });
    measure_cells(sheet, view, row);
    imperial_cells(sheet, view, row);
    sheet.text("together_permit_ids", &view.permit_ids(permits));
    detail_cells(sheet, view, row);
    if together.is_some() {
        sheet.text("permit_status", &statuses(view, permits));
    } else {
        sheet.text("permit_status", &permit.status);
    }
    source_cells(sheet, view, row);
    part_cells(sheet, row);
    unshaped_cells(sheet, view, row);
}

fn cumulative_row(sheet: &mut Sheet, view: &View, together: &TogetherRow) {
    let row = &together.row;
    let alone = view.rows_of_tree(row.tree).filter(|alone| together.permits.contains(&alone.permit));
    let worst_alone = alone.map(|alone| alone.verdict).max();
    sheet.text("permit_ids", &view.permit_ids(&together.permits));
    sheet.whole("permits", together.permits.len() as u64);
    measure_cells(sheet, view, row);
    imperial_cells(sheet, view, row);
    sheet.text("worst_alone_finding", worst_alone.map_or("", Verdict::word));
    sheet.yes_no("at_risk_only_together", together.at_risk_only_together);
    detail_cells(sheet, view, row);
    sheet.text("permit_status", &statuses(view, &together.permits));
    source_cells(sheet, view, row);
    part_cells(sheet, row);
    unshaped_cells(sheet, view, row);
}

/// The statuses of several permits; empty where none of them has one.
fn statuses(view: &View, permits: &[u32]) -> String {
    let joined = view.of_permits(permits, |permit| &permit.status);
    if joined.chars().all(|c| c == ';' || c == ' ') { String::new() } else { joined }
}

fn permit_row(sheet: &mut Sheet, view: &View, of: &PermitView) -> Result<()> {
    let (permit, rows) = (of.permit, of.rows);
    let count = |matches: fn(&RowHead) -> bool| rows.iter().filter(|row| matches(row)).count() as u64;
    let worst = worst(rows).map(|head| view.read(head)).transpose()?;
    let worst = worst.as_ref();
    sheet.text("permit_id", &permit.id);
    sheet.text("status", &permit.status);
    sheet.text("date", &permit.date);
    sheet.yes_no("active", permit.active);
    sheet.whole("works", of.works);
    sheet.whole("works_set_aside", u64::from(permit.works_set_aside));
    sheet.whole("trees_in_reach", rows.len() as u64);
    for verdict in [
        Verdict::TrunkInWork,
        Verdict::Major,
        Verdict::Moderate,
        Verdict::Minor,
        Verdict::Untouched,
        Verdict::NotAssessed,
    ] {
        sheet.whole(verdict.word(), with_verdict(rows, verdict));
    }
    sheet.whole("borderline", count(|row| row.borderline));
    sheet.whole("cut_close_to_trunk", count(|row| row.cut_close));
    sheet.whole("heritage_size", count(|row| row.heritage_size));
    sheet.whole("heritage_at_risk", count(RowHead::at_risk));
    sheet.text("worst_finding", worst.map_or("", |row| row.finding.verdict.word()));
    sheet.text("worst_tree_id", worst.map_or("", |row| &view.tree(row).id));
    let affected = worst.map(Measured::of).and_then(|measured| measured.pct(measured.affected_m2()));
    sheet.number("worst_affected_pct", affected, AREA_DECIMALS);
    sheet.whole("heritage_at_risk_together", view.at_risk_of(of));
    sheet.text("worst_finding_together", view.worst_verdict_of(of).map_or("", Verdict::word));
    permit_cells(sheet, view, of.owed);
    Ok(())
}

fn issue_row(sheet: &mut Sheet, view: &View, issue: &Issue) {
    debug_assert!(CODES.iter().any(|(code, _)| *code == issue.code), "issue code {} is not in issue.rs", issue.code);
    sheet.text("file", view.label(issue.source));
    sheet.whole("row", issue.source.row);
    sheet.text("id", &issue.id);
    sheet.text("problem", issue.code);
    sheet.text("outcome", outcome_word(issue.outcome));
    sheet.text("detail", &issue.detail);
}

fn outcome_word(outcome: Outcome) -> &'static str {
    match outcome {
        Outcome::SetAside => "set aside",
        Outcome::Used => "used",
    }
}

#[cfg(test)]
#[path = "tables_tests.rs"]
mod tests;
