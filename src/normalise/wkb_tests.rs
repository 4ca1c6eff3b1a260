use super::*;
use proptest::prelude::*;

/// First row of Portland Parks & Recreation's street trees of 2016 (open data): hex EWKB with SRID 4326.
#[test]
fn a_point_with_an_srid() {
    let (geometry, srid) = parse_hex_wkb("0101000020E61000002AFD35453BA45EC0ACB1EA96AAC94640").unwrap();
    let Geometry::Point(point) = geometry else { panic!("{geometry:?}") };
    assert_eq!(srid, Some(4326));
    assert!((point.x() - -122.566_117).abs() < 1e-5 && (point.y() - 45.575_519).abs() < 1e-5, "{point:?}");
}

/// Bytes written by hand after OGC 06-103r4, 8.2.
#[test]
fn byte_orders_heights_and_polygons() {
    let big = "00000000013FF00000000000004000000000000000";
    assert_eq!(parse_hex_wkb(big), Some((Geometry::Point(Point::new(1.0, 2.0)), None)));
    let with_height = "01E9030000000000000000F03F00000000000000400000000000000840";
    assert_eq!(parse_hex_wkb(with_height), Some((Geometry::Point(Point::new(1.0, 2.0)), None)));
    let zero = "0000000000000000";
    let one = "000000000000F03F";
    let triangle = format!("01030000000100000004000000{zero}{zero}{one}{zero}{zero}{one}{zero}{zero}");
    let Some((Geometry::Polygon(polygon), None)) = parse_hex_wkb(&triangle) else { panic!("no polygon") };
    assert_eq!(polygon.exterior().0.len(), 4);
}

#[test]
fn refused() {
    for text in [
        "",
        "0101",
        "hello",
        "0105",
        "01010000000000",
        "0102000000FFFFFFFF0000000000000000",
        "00000000013FF0000000000000400000000000000000",
    ] {
        assert_eq!(parse_hex_wkb(text), None, "{text}");
    }
}

proptest! {
    #[test]
    fn nothing_panics(bytes in proptest::collection::vec(any::<u8>(), 0..80), kind in 0u8..9) {
        let head = format!("01{kind:02X}000000");
        let text: String = bytes.iter().map(|byte| format!("{byte:02X}")).collect();
        let _ = parse_hex_wkb(&text);
        let _ = parse_hex_wkb(&(head + &text));
    }
}
