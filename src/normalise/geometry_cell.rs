//! A text cell -> geometry: WKT, EWKT (`SRID=4326;POINT(...)`), hex WKB and EWKB, GeoJSON; and `lat, lon` pairs.
//!
//! Says what is written, in the file's own CRS and axis order; does not judge whether it can be a tree or a work.

use super::number::parse_number;
use super::wkb::parse_hex_wkb;
use geo::Geometry;
use wkt::TryFromWkt;

/// How a geometry was written.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum CellForm {
    /// WKT, with or without SRID.
    Wkt,
    /// Hex WKB, with or without SRID.
    Wkb,
    /// A GeoJSON geometry: longitude and latitude on WGS 84 by RFC 7946.
    GeoJson,
}

/// A geometry in a cell.
#[derive(Debug, Clone, PartialEq)]
pub struct CellGeometry {
    /// The geometry.
    pub geometry: Geometry<f64>,
    /// The EPSG number that the cell states.
    pub srid: Option<u32>,
    /// How it was written.
    pub form: CellForm,
}

/// Text longer than this is not tried as WKT or GeoJSON that nests: both parsers call themselves for every bracket.
const DEEPEST_BRACKETS: usize = 16;

/// Reads a geometry. `None` where the cell holds none.
pub fn parse_geometry_cell(text: &str) -> Option<CellGeometry> {
    let text = text.trim();
    match text.bytes().next()? {
        b'{' => geojson_geometry(text),
        b'0' | b'\\' => {
            let (geometry, srid) = parse_hex_wkb(text)?;
            Some(CellGeometry { geometry, srid, form: CellForm::Wkb })
        }
        first if first.is_ascii_alphabetic() => wkt_geometry(text),
        _ => None,
    }
}

fn wkt_geometry(text: &str) -> Option<CellGeometry> {
    let (srid, body) = match text.split_once(';') {
        Some((head, body)) => {
            let number = head.get(..5).filter(|word| word.eq_ignore_ascii_case("srid="))?;
            (Some(head[number.len()..].trim().parse().ok()?), body.trim())
        }
        None => (None, text),
    };
    let word: String = body.chars().take_while(char::is_ascii_alphabetic).collect::<String>().to_ascii_uppercase();
    const KINDS: &[&str] = &[
        "POINT",
        "LINESTRING",
        "POLYGON",
        "MULTIPOINT",
        "MULTILINESTRING",
        "MULTIPOLYGON",
        "GEOMETRYCOLLECTION",
        "POINTZ",
        "POINTM",
        "POINTZM",
    ];
    if !KINDS.contains(&word.as_str()) || too_deep(body) {
        return None;
    }
    let geometry = Geometry::try_from_wkt_str(body).ok()?;
    Some(CellGeometry { geometry, srid, form: CellForm::Wkt })
}

fn geojson_geometry(text: &str) -> Option<CellGeometry> {
    if too_deep(text) {
        return None;
    }
    let geometry: geojson::Geometry = text.parse().ok()?;
    if !has_places(&geometry.value) {
        return None;
    }
    let geometry = Geometry::<f64>::try_from(geometry).ok()?;
    Some(CellGeometry { geometry, srid: None, form: CellForm::GeoJson })
}

/// Whether every position has two numbers: the conversion takes that for granted.
fn has_places(value: &geojson::GeometryValue) -> bool {
    use geojson::GeometryValue::{
        GeometryCollection, LineString, MultiLineString, MultiPoint, MultiPolygon, Point, Polygon,
    };
    let whole = |position: &geojson::Position| position.len() >= 2;
    match value {
        Point { coordinates } => whole(coordinates),
        MultiPoint { coordinates } | LineString { coordinates } => coordinates.iter().all(whole),
        MultiLineString { coordinates } | Polygon { coordinates } => coordinates.iter().flatten().all(whole),
        MultiPolygon { coordinates } => coordinates.iter().flatten().flatten().all(whole),
        GeometryCollection { geometries } => geometries.iter().all(|geometry| has_places(&geometry.value)),
    }
}

fn too_deep(text: &str) -> bool {
    let (mut depth, mut deepest) = (0usize, 0usize);
    for byte in text.bytes() {
        match byte {
            b'(' | b'[' | b'{' => depth += 1,
            b')' | b']' | b'}' => depth = depth.saturating_sub(1),
            _ => {}
        }
        deepest = deepest.max(depth);
    }
    deepest > DEEPEST_BRACKETS
}

/// Reads two numbers in one cell: `49.26, -123.17`, `(49.26, -123.17)`, `49.26 -123.17`, `49,26; -123,17`. In the order written.
pub fn parse_two_numbers(text: &str) -> Option<(f64, f64)> {
    let text = text.trim().trim_start_matches(['(', '[']).trim_end_matches([')', ']']);
    let (first, second, comma) = if let Some((first, second)) = text.split_once(';') {
        (first, second, true)
    } else if let Some((first, second)) = text.split_once(", ") {
        (first, second, first.contains(','))
    } else if let Some((first, second)) = text.split_once(',') {
        (first, second, false)
    } else {
        let (first, second) = text.split_once(char::is_whitespace)?;
        (first, second, false)
    };
    Some((parse_number(first, comma)?, parse_number(second, comma)?))
}

#[cfg(test)]
mod tests {
    use super::*;
    use geo::Point;

    /// Found by fuzzing: positions of one number made the conversion panic.
    #[test]
    fn positions_without_two_numbers_are_no_geometry() {
        for text in [
            r#"{"type":"Point","coordinates":[1]}"#,
            r#"{"type":"Point","coordinates":[]}"#,
            r#"{"type":"Polygon","coordinates":[[[0]]]}"#,
            r#"{"type":"MultiPolygon","coordinates":[[[[0,0],[1],[1,1],[0,0]]]]}"#,
            r#"{"type":"GeometryCollection","geometries":[{"type":"MultiPoint","coordinates":[[]]}]}"#,
        ] {
            assert_eq!(parse_geometry_cell(text), None, "{text}");
        }
    }

    #[test]
    fn points_in_every_form() {
        let cases = [
            ("POINT (1 2)", None, CellForm::Wkt),
            ("point(1 2)", None, CellForm::Wkt),
            ("SRID=26910;POINT(1 2)", Some(26910), CellForm::Wkt),
            ("00000000013FF00000000000004000000000000000", None, CellForm::Wkb),
            ("{\"type\":\"Point\",\"coordinates\":[1,2]}", None, CellForm::GeoJson),
            ("{\"coordinates\": [1.0, 2.0], \"type\": \"Point\"}", None, CellForm::GeoJson),
        ];
        for (text, srid, form) in cases {
            let cell = parse_geometry_cell(text).unwrap_or_else(|| panic!("{text}"));
            assert_eq!(cell, CellGeometry { geometry: Geometry::Point(Point::new(1.0, 2.0)), srid, form }, "{text}");
        }
        for text in [
            "",
            "POINT",
            "POINT(a b)",
            "OAK",
            "{}",
            "12",
            "(1 2)",
            &"GEOMETRYCOLLECTION(".repeat(100_000),
            &"[".repeat(1000),
        ] {
            assert!(parse_geometry_cell(text).is_none());
        }
    }

    #[test]
    fn two_numbers() {
        let cases = [
            ("49.26, -123.17", Some((49.26, -123.17))),
            ("49.26,-123.17", Some((49.26, -123.17))),
            ("(49.26, -123.17)", Some((49.26, -123.17))),
            ("49.26 -123.17", Some((49.26, -123.17))),
            ("49,26; 13,17", Some((49.26, 13.17))),
            ("49,26, 13,17", Some((49.26, 13.17))),
            ("12", None),
            ("Main Street, 5", None),
        ];
        for (text, expected) in cases {
            assert_eq!(parse_two_numbers(text), expected, "{text}");
        }
    }
}
