use super::*;
use crate::model::finding::Verdict;
use crate::model::run_facts::InputRole;
use crate::model::zone::ZoneShape;
use crate::write::example;
use crate::write::view::View;
use geo::MultiPolygon;
use std::sync::Arc;

/// The cells of the example's first row, where it is shaped as given.
fn cells(shape: Option<ZoneShape>, unshaped: Option<UnshapedResult>) -> String {
    let (mut results, mut facts) = (example::results(), example::facts(false));
    facts.inputs[1].role = InputRole::Barriers;
    let mut rows = example::read(&results.rows);
    let row = &mut rows[0];
    row.zone.as_mut().unwrap().shape = shape.map(Arc::new);
    row.unshaped = unshaped.map(Box::new);
    let row = row.clone();
    results.rows = example::held(&rows);
    let header: Vec<String> =
        super::super::columns_barriers::UNSHAPED.columns.iter().map(|column| column.name.to_string()).collect();
    let view = View::new(&results, &facts).unwrap();
    let mut sheet = Sheet::new(&header);
    unshaped_cells(&mut sheet, &view, &row);
    sheet.end();
    String::from_utf8(sheet.into_text()).unwrap()
}

#[test]
fn the_disc_stands_beside_the_shape() {
    let shape = ZoneShape { ground: MultiPolygon(Vec::new()), area_m2: 60.0, disc_radius_m: 5.0, made_up: false };
    let disc =
        UnshapedResult { area_m2: 80.0, overlap_m2: 8.0, severed_m2: 16.0, affected_m2: 20.0, verdict: Verdict::Major };
    let text = cells(Some(shape.clone()), Some(disc));
    assert_eq!(text, "shaped,5.000,20.0000,10.0000,20.0000,25.0000,major\r\n");
    let text = cells(Some(ZoneShape { made_up: true, area_m2: 80.0, ..shape }), Some(disc));
    assert!(text.starts_with("\"shaped, area made up\",5.000,0.0000,"), "{text}");
}

#[test]
fn a_disc_stands_beside_itself() {
    let row = &example::read(&example::results().rows)[0];
    let text = cells(None, None);
    assert!(text.starts_with("disc,") && text.contains(",0.0000,"), "{text}");
    assert!(text.trim_end().ends_with(row.finding.verdict.word()), "{text}");
}
