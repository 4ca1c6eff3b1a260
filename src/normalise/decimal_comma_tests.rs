use super::*;
use crate::normalise::column_names::TREE_ROLES;
use crate::normalise::columns::tests::record;
use std::collections::BTreeMap;

const INCH_M: f64 = 0.0254;

/// Reads the first column, named `dbh`; the other cells belong to the other columns.
fn read(others: &[&str], rows: &[&[&str]], metres: f64) -> CommaReading {
    let names: Vec<String> = ["dbh"].iter().chain(others).map(ToString::to_string).collect();
    let sample: Vec<RawRecord> = rows.iter().enumerate().map(|(at, cells)| record(at as u64 + 1, cells)).collect();
    let columns = Columns::decide("t.csv", "--tree-columns", TREE_ROLES, &names, &sample, &BTreeMap::new()).unwrap();
    let cells: Vec<&str> = sample.iter().map(|record| record.cell(0)).filter(|cell| !cell.is_empty()).collect();
    read_comma(&cells, 0, &columns, &sample, Some(metres))
}

fn decimal(others: &[&str], rows: &[&[&str]], metres: f64) -> bool {
    matches!(read(others, rows, metres), CommaReading::Decimal(_))
}

#[test]
fn stems_beside_places_with_decimal_points() {
    let rows: &[&[&str]] = &[
        &["18,16", "-71.1001", "42.3701"],
        &["14,13", "-71.1002", "42.3702"],
        &["22,9", "-71.1003", "42.3703"],
        &["12", "-71.1004", "42.3704"],
        &["16,15", "-71.1005", "42.3705"],
    ];
    let CommaReading::Stems { example, why } = read(&["lon", "lat"], rows, INCH_M) else { panic!("decimal") };
    assert_eq!((example.0.as_str(), example.1.as_str()), ("18", "16"));
    assert!(why.contains("decimal points"), "{why}");
}

#[test]
fn stems_where_nothing_is_shown() {
    let rows: &[&[&str]] = &[&["18,16"], &["14,13"], &["22,9"], &["12"], &["16,15"]];
    assert!(matches!(read(&[], rows, INCH_M), CommaReading::Stems { .. }));
    let few: &[&[&str]] = &[&["12,5"], &["8,0"], &["30,2"], &["7"]];
    assert!(matches!(read(&[], few, 0.01), CommaReading::Stems { .. }));
}

#[test]
fn decimals_where_the_file_shows_it() {
    // Crowns and places with decimal commas.
    let rows: &[&[&str]] = &[&["32,5", "6,5"], &["14", "4,0"], &["18,16", "12"]];
    assert!(decimal(&["crown_spread_m"], rows, 0.01));
    let places: &[&[&str]] = &[&["32,5", "13,404954", "52,520008"], &["14", "13,404955", "52,520009"]];
    assert!(decimal(&["lon", "lat"], places, 0.01));
    // Digits that no list has.
    assert!(decimal(&[], &[&["30,05"], &["18,16"], &["12,50"], &["7"]], 0.01));
    assert!(decimal(&[], &[&["0,25"], &["1"], &["2"], &["3"]], 0.01));
    // Stems of 35 m and of 41 m are none, whatever the places say.
    let metres: &[&[&str]] = &[&["0,35", "13.404954", "52.520008"], &["1,41", "13.404955", "52.520009"]];
    assert!(decimal(&["lon", "lat"], metres, 1.0));
    let tenths: Vec<String> = (0..20).map(|n| format!("{},{}", 10 + n, n * 3 % 10)).collect();
    let tenths: Vec<[&str; 1]> = tenths.iter().map(|cell| [cell.as_str()]).collect();
    let tenths: Vec<&[&str]> = tenths.iter().map(<[&str; 1]>::as_slice).collect();
    assert!(decimal(&[], &tenths, 0.01));
}

#[test]
fn another_column_of_lists_shows_nothing() {
    let rows: &[&[&str]] = &[&["18,16", "3,4"], &["14,13", "2,2"], &["12", "5,6"]];
    assert!(matches!(read(&["plots"], rows, INCH_M), CommaReading::Stems { .. }));
}

#[test]
fn the_column_itself_shows_lists() {
    for cells in [["12,8,6", "14,2", "9"], ["12,8", "14.5", "9"], ["14", "9", "7"]] {
        let rows: Vec<[&str; 1]> = cells.iter().map(|cell| [*cell]).collect();
        let rows: Vec<&[&str]> = rows.iter().map(<[&str; 1]>::as_slice).collect();
        assert_eq!(read(&[], &rows, INCH_M), CommaReading::None, "{cells:?}");
    }
}
