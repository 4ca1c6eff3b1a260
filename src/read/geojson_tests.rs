//! GeoJSON in its three forms.

use super::*;
use std::path::Path;

type Rows = Vec<std::result::Result<(u64, Vec<String>, String), (u64, &'static str)>>;

fn written(name: &str, text: &[u8]) -> (tempfile::TempDir, InputName) {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join(name);
    std::fs::write(&path, text).unwrap();
    (folder, InputName { path, layer: None })
}

fn survey_of(name: &str, text: &str) -> Result<Survey> {
    let (_folder, input) = written(name, text.as_bytes());
    crate::read::survey(&input, ReadBounds::default())
}

fn rows(survey: &Survey) -> Rows {
    let mut rows = Vec::new();
    for chunk in survey.chunks().unwrap() {
        chunk.unwrap().for_each(&mut |row| {
            rows.push(match row {
                Ok(record) => {
                    let cells = (0..record.len()).map(|column| record.cell(column).to_string()).collect();
                    let geometry = record.geometry.as_ref().map_or_else(String::new, |g| format!("{g:?}"));
                    Ok((record.row, cells, geometry))
                }
                Err(problem) => Err((problem.row, problem.code)),
            });
        });
    }
    rows
}

fn read(name: &str, text: &str) -> (Survey, Rows) {
    let (_folder, input) = written(name, text.as_bytes());
    let survey = crate::read::survey(&input, ReadBounds::default()).unwrap_or_else(|e| panic!("{e}"));
    let rows = rows(&survey);
    assert_eq!(rows.len() as u64, survey.rows);
    (survey, rows)
}

fn ok(rows: &Rows, index: usize) -> (u64, Vec<&str>, &str) {
    let (row, cells, geometry) = rows[index].as_ref().unwrap();
    (*row, cells.iter().map(String::as_str).collect(), geometry)
}

#[test]
fn members_in_any_order_and_cells_as_written() {
    let text = r#" {"bbox":[0,0,1,1],"features":[
      {"geometry":{"coordinates":[-123.10,49.20,7],"type":"Point"},"properties":{"dbh":12.50,"notes":"a \"b\" \u00e9","list":[1, 2],"none":null},"type":"Feature","id":7},
      {"type":"Feature","properties":{"other":true,"dbh":1e2},"geometry":null}
    ],"name":{"type":"x","features":[]},"type":"FeatureCollection"} "#;
    let (survey, rows) = read("a.geojson", text);
    assert_eq!(survey.columns, ["id", "dbh", "notes", "list", "none", "other"]);
    assert_eq!(ok(&rows, 0).1, ["7", "12.50", "a \"b\" é", "[1, 2]", "", ""]);
    assert!(ok(&rows, 0).2.contains("-123.1") && ok(&rows, 0).2.starts_with("POINT"), "{:?}", rows[0]);
    assert_eq!(ok(&rows, 1), (2, vec!["", "1e2", "", "", "", "true"], ""));
    assert_eq!(survey.geometry_types, [("Point".to_string(), 1), ("none".to_string(), 1)]);
    let crs = survey.crs.as_ref().unwrap();
    assert_eq!((crs.authority.as_deref(), crs.origin.as_str()), (Some("OGC:CRS84"), "GeoJSON is WGS 84 by RFC 7946"));
    assert_eq!(survey.sample.len(), 2);
}

#[test]
fn the_own_id_gives_way_to_a_property_of_that_name() {
    let (survey, rows) = read(
        "a.json",
        r#"{"type":"FeatureCollection","features":[{"type":"Feature","id":9,"properties":{"id":"T1"},"geometry":null}]}"#,
    );
    assert_eq!(survey.columns, ["id"]);
    assert_eq!(ok(&rows, 0).1, ["T1"]);
}

#[test]
fn every_geometry_type_loses_its_height() {
    let shapes = [
        r#"{"type":"MultiPoint","coordinates":[[1,2,9],[3,4]]}"#,
        r#"{"type":"LineString","coordinates":[[1,2],[3,4]]}"#,
        r#"{"type":"MultiLineString","coordinates":[[[1,2],[3,4]]]}"#,
        r#"{"type":"Polygon","coordinates":[[[0,0],[4,0],[4,4],[0,0]],[[1,1],[2,1],[2,2],[1,1]]]}"#,
        r#"{"type":"MultiPolygon","coordinates":[[[[0,0],[4,0],[4,4],[0,0]]]]}"#,
        r#"{"type":"GeometryCollection","geometries":[{"type":"Point","coordinates":[1,2]}]}"#,
        r#"{"type":"Polygon","coordinates":[]}"#,
    ];
    let text = shapes.map(|shape| format!(r#"{{"type":"Feature","properties":{{}},"geometry":{shape}}}"#)).join("\n");
    let (survey, rows) = read("a.ndjson", &text);
    assert_eq!(survey.format, Format::GeoJsonLines);
    let found: Vec<&str> = (0..7).map(|index| ok(&rows, index).2.split('(').next().unwrap().trim()).collect();
    assert_eq!(
        found,
        ["MULTIPOINT", "LINESTRING", "MULTILINESTRING", "POLYGON", "MULTIPOLYGON", "GEOMETRYCOLLECTION", ""]
    );
}

#[test]
fn a_single_feature_and_a_bare_geometry_are_one_row() {
    let (survey, rows) =
        read("a.geojson", r#"{"properties":{"a":1},"geometry":{"type":"Point","coordinates":[1,2]},"type":"Feature"}"#);
    assert_eq!((survey.rows, survey.format), (1, Format::GeoJson));
    assert_eq!(ok(&rows, 0).1, ["1"]);
    let (survey, rows) = read("b.geojson", "\u{feff}\n{\"coordinates\":[1,2],\"type\":\"Point\"}\n");
    assert_eq!((survey.rows, survey.columns.len()), (1, 0));
    assert!(ok(&rows, 0).2.starts_with("POINT"));
}

#[test]
fn bad_lines_do_not_stop_the_others() {
    let text = "{\"type\":\"Feature\",\"properties\":{\"a\":1},\"geometry\":null}\n\n{\"type\":\"Feature\",\n{\"type\":\"Feature\",\"properties\":{\"a\":2},\"geometry\":{\"type\":\"Circle\"}}\r\n{\"type\":\"Point\",\"coordinates\":[1]}\n{\"type\":\"Feature\",\"properties\":{\"a\":3},\"geometry\":null}";
    for name in ["a.geojsonl", "a.geojson"] {
        // Under its wrong name the file shows by its first two objects that it is line-delimited.
        let text = if name == "a.geojson" {
            text.replacen("\n\n{\"type\":\"Feature\",\n", "\n\n{\"type\":\"Feature\"},\n", 1)
        } else {
            text.to_string()
        };
        let (survey, rows) = read(name, &text);
        assert_eq!((survey.rows, survey.format), (5, Format::GeoJsonLines));
        assert_eq!(ok(&rows, 0).1, ["1"]);
        assert_eq!(rows[1..4], [Err((2, "bad-row")), Err((3, "wrong-geometry")), Err((4, "bad-row"))]);
        assert_eq!(ok(&rows, 4), (5, vec!["3"], ""));
    }
}

#[test]
fn text_sequences_of_rfc_8142() {
    let feature = |n| format!("\u{1e}{{\"type\":\"Feature\",\n \"properties\":{{\"n\":{n}}},\n\"geometry\":null}}\n");
    let text: String = (1..=500).map(feature).collect();
    let (survey, all) = read("a.geojsons", &text);
    assert_eq!((survey.format, survey.rows), (Format::GeoJsonSequence, 500));
    assert_eq!(ok(&all, 499).1, ["500"]);
    let (_folder, input) = written("b.geojson", text.as_bytes());
    for chunk_bytes in [1, 64, 1000] {
        let survey = survey_in_chunks(&input, Format::GeoJsonSequence, chunk_bytes, ReadBounds::default()).unwrap();
        assert_eq!(rows(&survey), all, "{chunk_bytes}");
    }
}

#[test]
fn the_size_of_chunks_does_not_matter() {
    let feature = |n| {
        format!(
            "{{ \"type\":\"Feature\",\"properties\":{{\"n\":{n},\"t\":\"}}]{{[\\\"\"}},\"geometry\":{{\"type\":\"Point\",\"coordinates\":[{n},1.5]}} }}"
        )
    };
    let features: Vec<String> = (0..300).map(feature).collect();
    for (name, text, format) in [
        (
            "a.geojson",
            format!("{{\"type\":\"FeatureCollection\",\"features\":[{}]}}", features.join(" ,\n")),
            Format::GeoJson,
        ),
        ("a.ndjson", features.join("\n"), Format::GeoJsonLines),
    ] {
        let (whole, all) = read(name, &text);
        let (_folder, input) = written(name, text.as_bytes());
        for chunk_bytes in [1, 2, 3, 50, 111, 1000, 5000, 1 << 20] {
            let survey = survey_in_chunks(&input, format, chunk_bytes, ReadBounds::default()).unwrap();
            assert_eq!(rows(&survey), all, "{name} {chunk_bytes}");
            assert_eq!(
                (&survey.columns, &survey.files, survey.rows),
                (&whole.columns, &input_files(&whole, &input.path), 300)
            );
        }
    }
}

/// The hash does not depend on the folder.
fn input_files(survey: &Survey, path: &Path) -> Vec<crate::read::FileHash> {
    assert!(path.ends_with(&survey.files[0].name));
    survey.files.clone()
}

#[test]
fn a_crs_member_is_honoured_or_refused() {
    let text = |crs: &str| format!(r#"{{"type":"FeatureCollection","crs":{crs},"features":[]}}"#);
    let (survey, _) =
        read("a.geojson", &text(r#"{"type":"name","properties":{"name":"urn:ogc:def:crs:EPSG::26910"}}"#));
    let crs = survey.crs.as_ref().unwrap();
    assert_eq!((crs.authority.as_deref(), crs.origin.as_str()), (Some("EPSG:26910"), "in the file"));
    assert!(survey.notes.iter().any(|note| note.contains("RFC 7946 has no such member")), "{:?}", survey.notes);
    let (survey, _) = read("a.geojson", &text("null"));
    assert_eq!(survey.crs.as_ref().unwrap().authority.as_deref(), Some("OGC:CRS84"));
    for crs in [
        r#"{"type":"link","properties":{"href":"http://example.com/crs/42"}}"#,
        r#"{"type":"name","properties":{"name":"nonsense"}}"#,
        r#""EPSG:26910""#,
    ] {
        assert!(matches!(survey_of("a.geojson", &text(crs)), Err(Error::Crs { .. })), "{crs}");
    }
}

#[test]
fn whole_file_errors_say_where() {
    let cut = r#"{"type":"FeatureCollection","features":[
{"type":"Feature","properties":{"a":1},"geometry":null},
{"type":"Feature","properties":{"a":2"#;
    for (text, place, what) in [
        (cut, ":3:1", "ends within"),
        ("{\"type\":\"FeatureCollection\",\"features\":[\n{\"a\":[1}]}", ":2:8", "expected `]`"),
        ("{\"type\":\"FeatureCollection\",\"features\":[]} x", "", "after the end"),
        ("{\"type\":\"Topology\",\"objects\":{}}", "", "Topology"),
        ("{\"features\":[{\"attributes\":{}}]}", "", "(none)"),
        ("{\"type\":\"FeatureCollection\"}", "", "with `features`"),
    ] {
        let error = survey_of("a.geojson", text).unwrap_err().to_string();
        assert!(error.contains(&format!("a.geojson{place}: ")) && error.contains(what), "{error}");
    }
    let deep = format!(r#"{{"type":"FeatureCollection","features":[{{"a":{}1{}}}]}}"#, "[".repeat(70), "]".repeat(70));
    assert!(survey_of("a.geojson", &deep).unwrap_err().to_string().contains("deeper than 64"));
}

#[test]
fn a_virtual_file_under_a_geojson_name_is_refused() {
    let virtual_file = r#"<OGRVRTDataSource><OGRVRTLayer name="x"><SrcDataSource>/etc/passwd</SrcDataSource></OGRVRTLayer></OGRVRTDataSource>"#;
    let error = survey_of("a.geojson", virtual_file).unwrap_err().to_string();
    assert!(error.contains("the name says GeoJSON"), "{error}");
}
