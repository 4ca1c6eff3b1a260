use super::DiameterCell::*;
use super::*;
use LengthUnit::*;
use proptest::prelude::*;

fn read(text: &str, unit: LengthUnit) -> DiameterCell {
    parse_diameter(text, &DiameterReading { unit: Some(unit), girth: false, decimal_comma: false })
}

fn stems(cell: DiameterCell) -> Vec<f64> {
    match cell {
        Stems(stems) => stems,
        other => panic!("no stems: {other:?}"),
    }
}

/// 0.0254 m to the inch is exact, so every expected number is the written one times 0.0254 (or 0.01).
#[test]
fn numbers_and_stem_lists() {
    let cases: &[(&str, &[f64])] = &[
        ("14", &[14.0]),
        ("34.0", &[34.0]),
        ("007", &[7.0]),
        (" 14 ", &[14.0]),
        ("~14", &[14.0]),
        ("ca. 14", &[14.0]),
        ("14 est.", &[14.0]),
        ("14 (est)", &[14.0]),
        ("14\"", &[14.0]),
        ("14 in", &[14.0]),
        ("14 inches", &[14.0]),
        ("12 1/2", &[12.5]),
        ("12-1/2", &[12.5]),
        ("2'6\"", &[30.0]),
        ("2'-6\"", &[30.0]),
        ("2 ft", &[24.0]),
        ("12,8,6", &[12.0, 8.0, 6.0]),
        ("6,8,12", &[12.0, 8.0, 6.0]),
        ("12, 8, 6", &[12.0, 8.0, 6.0]),
        ("12;8;6", &[12.0, 8.0, 6.0]),
        ("12; 8 ;6", &[12.0, 8.0, 6.0]),
        ("12/8/6", &[12.0, 8.0, 6.0]),
        ("12+8+6", &[12.0, 8.0, 6.0]),
        ("12 + 8", &[12.0, 8.0]),
        ("12 & 8", &[12.0, 8.0]),
        ("12 and 8", &[12.0, 8.0]),
        ("12|8", &[12.0, 8.0]),
        ("12 8 6", &[12.0, 8.0, 6.0]),
        ("[12,8,6]", &[12.0, 8.0, 6.0]),
        ("{12,8,6}", &[12.0, 8.0, 6.0]),
        ("[\"12\", \"8\"]", &[12.0, 8.0]),
        ("12\", 8\"", &[12.0, 8.0]),
        ("12/8/6 in", &[12.0, 8.0, 6.0]),
        ("12,5;8,0", &[12.5, 8.0]),
        ("11.5,13,11.6", &[13.0, 11.6, 11.5]),
        ("12,0,8", &[12.0, 8.0]),
        ("12,100", &[100.0, 12.0]),
        ("3x10", &[10.0, 10.0, 10.0]),
        ("2 @ 14\"", &[14.0, 14.0]),
    ];
    for (text, inches) in cases {
        let expected: Vec<f64> = inches.iter().map(|inch| inch * 0.0254).collect();
        let got = stems(read(text, Inch));
        assert_eq!(got.len(), expected.len(), "{text}: {got:?}");
        for (got, expected) in got.iter().zip(&expected) {
            assert!((got - expected).abs() < 1e-12, "{text}: {got} for {expected}");
        }
    }
}

#[test]
fn a_unit_in_the_cell_beats_the_columns() {
    let cases =
        [("60 cm", 0.6), ("600mm", 0.6), ("0.6 m", 0.6), ("24 (cm)", 0.24), ("24\"", 24.0 * 0.0254), ("2 ft", 0.6096)];
    for (text, metres) in cases {
        for unit in LengthUnit::ALL {
            assert!((stems(read(text, unit))[0] - metres).abs() < 1e-12, "{text} in a column of {unit}");
        }
    }
}

#[test]
fn thousands_and_decimal_commas() {
    assert_eq!(stems(read("1,200", Millimetre)), [1.2]);
    assert_eq!(stems(read("120,100", Millimetre)).len(), 2);
    for (cell, unit) in
        [("1,200", Inch), ("1,100", Inch), ("2,400", Inch), ("1,200", Centimetre), ("12,345,678", Centimetre)]
    {
        assert!(
            matches!(read(cell, unit), Damaged { code: "damaged-diameter", .. }),
            "{cell} {unit}: {:?}",
            read(cell, unit)
        );
    }
    assert_eq!(stems(read("30,150", Centimetre)), [1.5, 0.3]);
    let comma = DiameterReading { unit: Some(Centimetre), girth: false, decimal_comma: true };
    let cases: &[(&str, &[f64])] = &[
        ("12,5", &[0.125]),
        ("12,5;8,0", &[0.125, 0.08]),
        ("12,5, 8,0", &[0.125, 0.08]),
        ("12.5", &[0.125]),
        ("12,5 + 8", &[0.125, 0.08]),
    ];
    for (text, metres) in cases {
        let got = stems(parse_diameter(text, &comma));
        assert!(
            got.len() == metres.len() && got.iter().zip(*metres).all(|(a, b)| (a - b).abs() < 1e-12),
            "{text}: {got:?}"
        );
    }
    assert!(matches!(parse_diameter("12,5,8,0", &comma), Damaged { code: "damaged-diameter", .. }), "two readings");
}

/// A girth of 314.159 cm is a disc of 1 m: circumference = pi x diameter.
#[test]
fn girths_are_divided_by_pi() {
    let girth = DiameterReading { unit: Some(Centimetre), girth: true, decimal_comma: false };
    assert!((stems(parse_diameter("314.159265", &girth))[0] - 1.0).abs() < 1e-8);
    let Range { low_m, high_m } = parse_diameter("100-200", &girth) else { panic!("no range") };
    assert!((low_m - 1.0 / PI).abs() < 1e-12 && (high_m - 2.0 / PI).abs() < 1e-12);
}

#[test]
fn classes() {
    let inch = 0.0254;
    let cases: &[(&str, f64, f64)] = &[
        ("07-12", 7.0, 12.0),
        ("7 - 12", 7.0, 12.0),
        ("7–12", 7.0, 12.0),
        ("13 to 18", 13.0, 18.0),
        ("13 bis 18", 13.0, 18.0),
        ("13 à 18", 13.0, 18.0),
        ("13..18", 13.0, 18.0),
        ("7\"-12\"", 7.0, 12.0),
        ("7-12 in", 7.0, 12.0),
        ("<6", 0.01 / inch, 6.0),
        ("<= 6", 0.01 / inch, 6.0),
        ("0-6", 0.01 / inch, 6.0),
        ("under 6", 0.01 / inch, 6.0),
    ];
    for &(text, low, high) in cases {
        let Range { low_m, high_m } = read(text, Inch) else { panic!("{text}: {:?}", read(text, Inch)) };
        assert!((low_m - low * inch).abs() < 1e-12 && (high_m - high * inch).abs() < 1e-12, "{text}: {low_m} {high_m}");
    }
    for text in [
        "31+",
        "31 +",
        ">31",
        "> 31",
        ">=31",
        "≥31",
        "over 31",
        "31 and over",
        "31 or more",
        "mehr als 31",
        "31 et plus",
        "31\"+",
    ] {
        assert_eq!(read(text, Inch), AtLeast(31.0 * inch), "{text}");
    }
    assert_eq!(read("> 60 cm", Inch), AtLeast(0.6));
    assert_eq!(read("12-12", Inch), Stems(vec![12.0 * inch]));
}

#[test]
fn missing_damaged_implausible() {
    for text in [
        "0",
        "0.0",
        "0,0",
        "0 cm",
        "0-0",
        "0;0",
        "",
        " ",
        "-",
        "N/A",
        "n/a",
        "NULL",
        "?",
        "unknown",
        "k.A.",
        "non renseigné",
        "–",
    ] {
        assert_eq!(read(text, Inch), Missing, "{text:?}");
    }
    let damaged = [
        "12-Jun",
        "7-Dec",
        "Dec-07",
        "2012-07-01",
        "2012-07-01T00:00:00",
        "7/12/2012",
        "07.12.2012",
        "12-Juin",
        "1. Okt",
        "12-7-1",
        "oak",
        "12-8",
        "12 cm oak",
        "1.2.3",
        "+",
        "12++8",
        "12,,8",
        "24 bananas",
        "12x10",
        "2012-07-01 00:00:00",
    ];
    for text in damaged {
        assert!(matches!(read(text, Inch), Damaged { code: "damaged-diameter", .. }), "{text}: {:?}", read(text, Inch));
    }
    for text in ["-5", "-0.5", "-9999", "999", "9999", "999.0", "300", "41102"] {
        assert!(
            matches!(read(text, Inch), Damaged { code: "diameter-implausible", .. }),
            "{text}: {:?}",
            read(text, Inch)
        );
    }
    assert_eq!(stems(read("999", Millimetre)), [0.999], "999 mm is a trunk");
    let no_unit = DiameterReading { unit: None, girth: false, decimal_comma: false };
    assert!(matches!(parse_diameter("12", &no_unit), Damaged { .. }));
    assert_eq!(parse_diameter("12 cm", &no_unit), Stems(vec![0.12]));
}

/// Stem lists of the Malmö residential trees 2018 (B. Klobucar, CC BY 4.0); centimetres, its own list column.
#[test]
fn stem_lists_of_a_real_inventory() {
    assert_eq!(stems(read("11.5,13,11.6,10.4", Centimetre)).len(), 4);
    let got = stems(read("6.2,8.8,10.4,7.8,6.3", Centimetre));
    let equivalent_cm = got.iter().map(|d| d * d).sum::<f64>().sqrt() * 100.0;
    assert!((equivalent_cm - 18.02).abs() < 0.005, "{equivalent_cm}");
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(2000))]

    #[test]
    fn nothing_panics(text in "\\PC*", girth: bool, decimal_comma: bool, unit in 0usize..6) {
        check_any(&text, girth, decimal_comma, unit);
    }

    #[test]
    fn nothing_that_looks_like_a_diameter_panics(text in "[0-9 ,.;/+x<>~'\"½–()\\[\\]cmintofteJundc-]{0,16}", girth: bool, decimal_comma: bool, unit in 0usize..6) {
        check_any(&text, girth, decimal_comma, unit);
    }

    #[test]
    fn a_written_list_comes_back(mut sizes in proptest::collection::vec(1u32..100, 1..8), mark in "[;/+]") {
        let text = sizes.iter().map(u32::to_string).collect::<Vec<_>>().join(&mark);
        prop_assume!(!looks_like_date(&text));
        sizes.sort_by(|a, b| b.cmp(a));
        let got = stems(read(&text, Centimetre));
        prop_assert_eq!(got.len(), sizes.len());
        for (got, size) in got.iter().zip(&sizes) {
            prop_assert!((got - f64::from(*size) * 0.01).abs() < 1e-12);
        }
    }
}

/// What comes out is always usable: finite, positive, sorted, within the limits.
fn check_any(text: &str, girth: bool, decimal_comma: bool, unit: usize) {
    let reading = DiameterReading { unit: LengthUnit::ALL.get(unit).copied(), girth, decimal_comma };
    match parse_diameter(text, &reading) {
        Stems(stems) => {
            assert!(!stems.is_empty() && stems.is_sorted_by(|a, b| a >= b), "{text}");
            assert!(stems.iter().all(|&d| d > 0.0 && d <= LARGEST_M), "{text}");
        }
        Range { low_m, high_m } => assert!(0.0 < low_m && low_m < high_m && high_m <= LARGEST_M, "{text}"),
        AtLeast(low_m) => assert!(low_m > 0.0 && low_m <= LARGEST_M, "{text}"),
        Damaged { code, detail } => {
            assert!(crate::issue::CODES.iter().any(|(known, _)| *known == code) && !detail.is_empty());
        }
        Missing => {}
    }
}
