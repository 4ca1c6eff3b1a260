use super::*;

#[test]
fn numbers_in_both_conventions() {
    let cases: &[(&str, Option<f64>, Option<f64>)] = &[
        // text, decimal point, decimal comma
        ("12", Some(12.0), Some(12.0)),
        ("12.5", Some(12.5), Some(12.5)),
        ("12,5", Some(12.5), Some(12.5)),
        ("1,200", Some(1200.0), Some(1.2)),
        ("1.200", Some(1.2), Some(1200.0)),
        ("1.200,5", Some(1200.5), Some(1200.5)),
        ("1,200.5", Some(1200.5), Some(1200.5)),
        ("12,345,678.9", Some(12_345_678.9), Some(12_345_678.9)),
        ("1 200", Some(1200.0), Some(1200.0)),
        ("1'200", Some(1200.0), Some(1200.0)),
        ("391\u{a0}123,45", Some(391_123.45), Some(391_123.45)),
        ("-71.1", Some(-71.1), Some(-71.1)),
        ("-71,123456", Some(-71.123456), Some(-71.123456)),
        ("1e3", Some(1000.0), Some(1000.0)),
        (".5", Some(0.5), Some(0.5)),
        ("34.", Some(34.0), Some(34.0)),
        ("1e999", None, None),
        ("nan", None, None),
        ("inf", None, None),
        ("", None, None),
        ("12 34", None, None),
        ("1,2,3", None, None),
        ("12-3", None, None),
        ("--5", None, None),
    ];
    for &(text, point, comma) in cases {
        assert_eq!(parse_number(text, false), point, "{text} with a decimal point");
        assert_eq!(parse_number(text, true), comma, "{text} with a decimal comma");
    }
}

#[test]
fn quantities_carry_their_unit() {
    use LengthUnit::*;
    type Read = Option<(f64, Option<LengthUnit>)>;
    let cases: &[(&str, Read)] = &[
        ("24", Some((24.0, None))),
        ("24\"", Some((24.0, Some(Inch)))),
        ("24 \u{201d}", Some((24.0, Some(Inch)))),
        ("24''", Some((24.0, Some(Inch)))),
        ("24in.", Some((24.0, Some(Inch)))),
        ("60 cm", Some((60.0, Some(Centimetre)))),
        ("600MM", Some((600.0, Some(Millimetre)))),
        ("0.6 m", Some((0.6, Some(Metre)))),
        ("12,5cm", Some((12.5, Some(Centimetre)))),
        ("2'", Some((2.0, Some(Foot)))),
        ("2'6\"", Some((30.0, Some(Inch)))),
        ("2' 6\"", Some((30.0, Some(Inch)))),
        ("2 ft 6 in", Some((30.0, Some(Inch)))),
        ("12 1/2 in", Some((12.5, Some(Inch)))),
        ("12½\"", Some((12.5, Some(Inch)))),
        ("24 bananas", None),
        ("cm", None),
        ("2'18\"", None),
    ];
    for &(text, expected) in cases {
        assert_eq!(parse_quantity(text, false).map(|q| (q.value, q.unit)), expected, "{text}");
    }
}

#[test]
fn decimal_comma_columns() {
    assert!(column_uses_decimal_comma(["13,404954", "13,5", "12"]));
    assert!(!column_uses_decimal_comma(["13.404954", "13.5"]));
    assert!(!column_uses_decimal_comma(["13", ""]));
}
