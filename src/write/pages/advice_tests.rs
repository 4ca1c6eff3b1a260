//! What would bring a finding within its limit, worked by hand.

use super::*;
use crate::settings::ShownUnits;
use crate::write::example;

fn row(measure: &str, value: f64, limit: &str, denominator: &str) -> Row {
    let mut row = example::read(&example::results().rows).into_iter().find(|row| row.zone.is_some()).unwrap();
    row.zone.as_mut().unwrap().radius_m = (100.0 / std::f64::consts::PI).sqrt();
    row.finding.verdict = Verdict::Major;
    row.finding.measure = measure.into();
    row.finding.value = Some(value);
    row.finding.limit = limit.into();
    row.finding.denominator = denominator.into();
    row
}

/// The zone has 100 m2: 31.23 % less 25 % is 6.23 m2, asked for as 6.3 %.
#[test]
fn shares_and_distances_over_the_limit() {
    let amounts = Amounts { units: ShownUnits::Metric };
    let words = Words::english();
    let keep = |row: &Row| keep_within((row, &row.finding), None, amounts, &words);
    assert_eq!(
        keep(&row("overlap", 31.23, "> 25 %", "root zone")),
        "To keep within this limit, the works have to take at least 6.3 % of the root zone less: 6.2 m² (67 sq ft)."
    );
    assert_eq!(
        keep(&row("overlap of cut", 5.0, "> 0 %", "half ring")),
        "To keep within this limit, nothing within the half ring may be taken."
    );
    assert_eq!(
        keep(&row("overlap", 30.0, "> 20 %", "half ring")),
        "To keep within this limit, the works have to take at least 10.0 % of the half ring less."
    );
    assert_eq!(
        keep(&row("distance", 1.0, "< 6 ft", "")),
        "To keep within this limit, the nearest work has to move 0.83 m (2.7 ft) further away."
    );
    let mut minor = row("overlap", 5.0, "> 0 %", "root zone");
    minor.finding.verdict = Verdict::Minor;
    assert_eq!(keep(&minor), "");
}
