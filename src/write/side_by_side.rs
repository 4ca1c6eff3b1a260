//! Several rule sets beside each other -> `side_by_side.csv` and `rule_differences.csv`.

use super::columns_compared::{RULE_DIFFERENCES, SIDE_BY_SIDE};
use super::measures::{AREA_DECIMALS, DIAMETER_DECIMALS, DISTANCE_DECIMALS, Measured};
use super::sentence::sentence;
use super::sheet::Sheet;
use super::staging::Staging;
use super::tables::write_read;
use super::view::View;
use crate::error::Result;
use crate::model::finding::Verdict;
use crate::model::results::{Compared, Row};

/// Writes both tables where the run has several rule sets.
pub(super) fn write_side_by_side(view: &View, staging: &mut Staging) -> Result<()> {
    if view.facts.compared_rules.is_empty() {
        return Ok(());
    }
    let mut pairs: Vec<&Compared> = view.results.compared.iter().collect();
    pairs.sort_by_key(|pair| (&view.results.permits[pair.permit as usize].id, &pair.tree_id, pair.source));
    let each: Vec<(&Compared, usize)> =
        pairs.iter().flat_map(|&pair| (0..pair.rows.len()).map(move |set| (pair, set))).collect();
    write_read(&SIDE_BY_SIDE, view, &each, staging, |sheet, &(pair, set)| under_one(sheet, view, pair, set))?;
    let different: Vec<&Compared> = pairs.into_iter().filter(|pair| pair.differs()).collect();
    write_read(&RULE_DIFFERENCES, view, &different, staging, |sheet, pair| difference(sheet, view, pair))
}

fn head(sheet: &mut Sheet, view: &View, pair: &Compared, species: &str) {
    sheet.text("permit_id", &view.results.permits[pair.permit as usize].id);
    sheet.text("tree_id", &pair.tree_id);
    sheet.text("species", species);
}

fn under_one(sheet: &mut Sheet, view: &View, pair: &Compared, set: usize) -> Result<()> {
    let rows = read(view, pair)?;
    head(sheet, view, pair, species(&rows));
    let row = rows[set].as_ref();
    let measured = row.map(Measured::of);
    let pct = |area_m2: Option<f64>| measured.and_then(|measured| measured.pct(area_m2));
    sheet.text("rule_set", &view.facts.compared_rules[set].name);
    sheet.text("finding", pair.verdict(set).word());
    sheet.number("diameter_cm", row.and_then(|row| row.diameter.used_m()).map(|m| m * 100.0), DIAMETER_DECIMALS);
    sheet.text("heritage_class", row.map_or("", |row| &row.heritage_class));
    let radius_m = row.and_then(|row| row.zone.as_ref()).map(|zone| zone.radius_m);
    sheet.number("zone_radius_m", radius_m, DISTANCE_DECIMALS);
    sheet.number("overlap_pct", pct(measured.and_then(Measured::overlap_m2)), AREA_DECIMALS);
    sheet.number("severed_pct", pct(measured.and_then(Measured::severed_m2)), AREA_DECIMALS);
    sheet.number("affected_pct", pct(measured.and_then(Measured::affected_m2)), AREA_DECIMALS);
    sheet.number("distance_m", row.map(|row| row.overlap.distance_m), DISTANCE_DECIMALS);
    let told = row.map_or("No work reaches the root zone of this rule set.".to_string(), |row| sentence(&row.finding));
    sheet.text("sentence", &told);
    sheet.text("clause", row.map_or("", |row| &row.finding.clause));
    sheet.text("borderline", row.map_or("", |row| row.borderline));
    Ok(())
}

/// The rows of all rule sets.
fn read(view: &View, pair: &Compared) -> Result<Vec<Option<Row>>> {
    pair.rows.iter().map(|head| head.as_ref().map(|head| view.read(head)).transpose()).collect()
}

/// Species as written.
fn species(rows: &[Option<Row>]) -> &str {
    rows.iter().flatten().next().map_or("", |row| &row.of.species)
}

fn difference(sheet: &mut Sheet, view: &View, pair: &Compared) -> Result<()> {
    let rows = read(view, pair)?;
    head(sheet, view, pair, species(&rows));
    let sets = &view.facts.compared_rules;
    let verdicts: Vec<Verdict> = (0..sets.len()).map(|set| pair.verdict(set)).collect();
    let under = |verdict: Verdict| {
        let names = sets.iter().zip(&verdicts).filter(|(_, of)| **of == verdict).map(|(set, _)| set.name.as_str());
        names.collect::<Vec<_>>().join("; ")
    };
    let worst = verdicts.iter().copied().max().unwrap_or(Verdict::Untouched);
    let mildest = verdicts.iter().copied().min().unwrap_or(Verdict::Untouched);
    sheet.text("worst_finding", worst.word());
    sheet.text("worst_under", &under(worst));
    sheet.text("mildest_finding", mildest.word());
    sheet.text("mildest_under", &under(mildest));
    for (verdict, row) in verdicts.iter().zip(&rows) {
        sheet.text("finding_<rule_set>", verdict.word());
        sheet.text("heritage_<rule_set>", row.as_ref().map_or("", |row| &row.heritage_class));
    }
    Ok(())
}
