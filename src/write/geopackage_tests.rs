//! The GeoPackage and the FlatGeobuf files, read back with GDAL and held against the GeoJSON of the same results.

use super::*;
use crate::model::results::Results;
use crate::settings::LayerFormat;
use crate::write::layers::Drawing;
use crate::write::tests::files_drawn;
use crate::write::{Staging, example};
use geo::{Area, Centroid, MultiPolygon};
use std::collections::{BTreeMap, BTreeSet};
use std::path::Path;

/// The plane of the example: nothing of it is measured, so any will do.
const PLANE: &str = "+proj=laea +lat_0=49 +lon_0=-123 +datum=WGS84 +units=m +no_defs";

/// A table as GDAL reads it: the names of its fields, and its features as texts with their geometry.
struct ReadBack {
    fields: Vec<(String, OGRFieldType::Type)>,
    features: Vec<(Vec<String>, Option<geo::Geometry<f64>>)>,
}

fn read_back(path: &Path, driver: &str, layer: &str) -> ReadBack {
    let options = DatasetOptions { allowed_drivers: Some(&[driver]), ..DatasetOptions::default() };
    let dataset = Dataset::open_ex(path, options).unwrap();
    let mut layer = dataset.layer_by_name(layer).unwrap();
    let fields: Vec<_> = layer.defn().fields().map(|field| (field.name(), field.field_type())).collect();
    let cell = |feature: &Feature, at: usize| feature.field_as_string(at).unwrap().unwrap_or_default();
    let features = layer
        .features()
        .map(|feature| {
            let geometry = feature.geometry_by_index(0).ok().map(|geometry| geometry.to_geo().unwrap());
            ((0..fields.len()).map(|at| cell(&feature, at)).collect(), geometry)
        })
        .collect();
    ReadBack { fields, features }
}

/// The files of all layers in a format, with the GeoPackage, in a folder of their own.
fn written(results: &Results, format: LayerFormat) -> tempfile::TempDir {
    let mut facts = example::facts(false);
    facts.measuring_crs.definition = PLANE.to_string();
    let drawing = Drawing { format, geopackage: true, ..example::DRAWING };
    let home = tempfile::tempdir().unwrap();
    for (name, bytes) in files_drawn(results, &facts, &Layer::ALL, &drawing) {
        std::fs::write(home.path().join(name.replace('/', "_")), bytes).unwrap();
    }
    home
}

/// The layers that need no protection.
fn of_every_run() -> impl Iterator<Item = Layer> {
    Layer::ALL.into_iter().filter(|layer| !layer.needs_protection())
}

/// Results whose texts try to leave their place.
fn hostile() -> Results {
    let mut results = example::results();
    example::change_trees(&mut results, |tree| {
        if tree.id == "T-10" {
            tree.id = "'); DROP TABLE trees; --".into();
            tree.species = "Quer\0cus \u{202e}\"<script>\r\n`Ж`".into();
        }
    });
    results.permits[0].id = "P'1\"; PRAGMA user_version=7; --".into();
    results.works[0].kind_written = "𝄞".repeat(1000).into();
    results
}

/// One GeoJSON feature: properties as texts in order, and its geometry.
fn geojson(path: &Path) -> Vec<(Vec<String>, Option<geo::Geometry<f64>>)> {
    let collection: geojson::FeatureCollection = std::fs::read_to_string(path).unwrap().parse().unwrap();
    let text = |value: &serde_json::Value| match value {
        serde_json::Value::Null => String::new(),
        serde_json::Value::String(text) => text.clone(),
        other => other.to_string(),
    };
    let one = |feature: geojson::Feature| {
        let properties = feature.properties.unwrap().values().map(text).collect();
        (properties, feature.geometry.map(|geometry| geometry.value.try_into().unwrap()))
    };
    collection.features.into_iter().map(one).collect()
}

/// Properties are equal as texts, or as numbers; a NUL, which GDAL's texts end at, stands as the replacement character.
fn assert_same_properties(got: &[String], expected: &[String]) {
    assert_eq!(got.len(), expected.len());
    for (got, expected) in got.iter().zip(expected) {
        let equal = match (got.parse::<f64>(), expected.parse::<f64>()) {
            (Ok(got), Ok(expected)) => got == expected,
            _ => *got == expected.replace('\0', "\u{fffd}"),
        };
        assert!(equal, "{got:?} for {expected:?}");
    }
}

fn polygons(geometry: &Option<geo::Geometry<f64>>) -> MultiPolygon<f64> {
    match geometry {
        Some(geo::Geometry::MultiPolygon(polygons)) => polygons.clone(),
        Some(geo::Geometry::Polygon(polygon)) => polygon.clone().into(),
        _ => MultiPolygon::new(Vec::new()),
    }
}

#[test]
fn the_geopackage_holds_what_the_geojson_says_in_metres() {
    let home = written(&hostile(), LayerFormat::GeoJson);
    for layer in of_every_run() {
        let expected = geojson(&home.path().join(format!("layers_{}.geojson", layer.word())));
        let got = read_back(&home.path().join("layers_rootward.gpkg"), "GPKG", layer.word());
        assert!(expected.len() > 2 && got.features.len() == expected.len(), "{layer:?}");
        for ((cells, geometry), (expected_cells, expected_geometry)) in got.features.iter().zip(&expected) {
            assert_same_properties(cells, expected_cells);
            assert_eq!(geometry.is_some(), expected_geometry.is_some());
            // The example has 1e-5 degree a metre both ways, from 123 W 49 N; 7 decimals of a degree are 1 cm there.
            let (Some(here), Some(there)) = (geometry, expected_geometry) else { continue };
            let (here_at, there_at) = (here.centroid().unwrap(), there.centroid().unwrap());
            let off = (here_at.x() - (there_at.x() + 123.0) * 1e5).hypot(here_at.y() - (there_at.y() - 49.0) * 1e5);
            assert!(off < 0.01, "{layer:?}: {off} m");
            let areas = (polygons(geometry).unsigned_area(), polygons(expected_geometry).unsigned_area() * 1e10);
            assert!((areas.0 - areas.1).abs() < 0.5 + 0.005 * areas.1, "{layer:?}: {areas:?}");
        }
    }
}

#[test]
fn columns_are_typed_by_their_unit() {
    let home = written(&example::results(), LayerFormat::FlatGeobuf);
    for (path, driver) in [("layers_rootward.gpkg", "GPKG"), ("layers_trees.fgb", "FlatGeobuf")] {
        let fields: BTreeMap<_, _> = read_back(&home.path().join(path), driver, "trees").fields.into_iter().collect();
        assert_eq!(fields["tree_id"], OGRFieldType::OFTString);
        assert_eq!(fields["at_risk"], OGRFieldType::OFTString, "yes or no");
        assert_eq!(fields["permits"], OGRFieldType::OFTInteger64);
        assert_eq!(fields["diameter_cm"], OGRFieldType::OFTReal);
    }
}

#[test]
fn flatgeobuf_holds_the_places_of_the_geojson_to_the_last_digit() {
    let (text, binary) = (written(&hostile(), LayerFormat::GeoJson), written(&hostile(), LayerFormat::FlatGeobuf));
    for layer in of_every_run() {
        let expected = geojson(&text.path().join(format!("layers_{}.geojson", layer.word())));
        let got = read_back(&binary.path().join(format!("layers_{}.fgb", layer.word())), "FlatGeobuf", layer.word());
        assert_eq!(got.features.len(), expected.len(), "{layer:?}");
        // The index has its own order: features are found again by their properties (a NUL ends a text where GDAL reads it).
        let key = |cells: &[String]| {
            let plain = |cell: &String| match cell.parse::<f64>() {
                Ok(number) => number.to_string(),
                Err(_) => cell.split('\0').next().unwrap_or("").to_string(),
            };
            cells.iter().map(plain).collect::<Vec<_>>()
        };
        let found: BTreeMap<_, _> = got.features.iter().map(|(cells, geometry)| (key(cells), geometry)).collect();
        assert_eq!(found.len(), expected.len());
        for (cells, geometry) in &expected {
            match (found[&key(cells)], geometry) {
                (Some(geo::Geometry::Point(got)), Some(geo::Geometry::Point(expected))) => assert_eq!(got, expected),
                (got, expected) => assert_eq!(polygons(got), polygons(expected), "{layer:?}"),
            }
        }
    }
}

#[test]
fn flatgeobuf_finds_by_place() {
    let home = written(&example::results(), LayerFormat::FlatGeobuf);
    let dataset = Dataset::open(home.path().join("layers_trees.fgb")).unwrap();
    let mut layer = dataset.layer(0).unwrap();
    layer.set_spatial_filter_rect(-122.999_85, 48.999, -122.999_55, 49.001);
    let found: BTreeSet<String> =
        layer.features().map(|feature| feature.field_as_string(0).unwrap().unwrap()).collect();
    assert_eq!(found, BTreeSet::from(["T-10".to_string(), "T-2".to_string()]));
}

#[test]
fn empty_layers_and_layers_without_a_place_are_whole_files() {
    let mut none = example::results();
    none.rows = example::held(&[]);
    none.together.clear();
    let mut nowhere = example::results();
    let without_zone: Vec<_> = example::read(&nowhere.rows).into_iter().filter(|row| row.zone.is_none()).collect();
    nowhere.rows = example::held(&without_zone);
    nowhere.together.clear();
    for (results, trees, overlaps) in [(none, 0, 0), (nowhere, 1, 1)] {
        let home = written(&results, LayerFormat::FlatGeobuf);
        for (layer, expected) in [("trees", trees), ("root_zones", 0), ("overlaps", overlaps), ("works", 3)] {
            let of = |path: &str, driver: &str| read_back(&home.path().join(path), driver, layer);
            assert_eq!(of("layers_rootward.gpkg", "GPKG").features.len(), expected, "{layer}");
            let binary = of(&format!("layers_{layer}.fgb"), "FlatGeobuf");
            assert_eq!(binary.features.len(), expected, "{layer}");
            assert!(!binary.fields.is_empty());
        }
    }
}

#[test]
fn styles_lie_in_the_geopackage_and_speak_of_columns_that_are_there() {
    let home = written(&example::results(), LayerFormat::GeoJson);
    let path = home.path().join("layers_rootward.gpkg");
    let styles = read_back(&path, "GPKG", "layer_styles");
    let at = |name: &str| styles.fields.iter().position(|field| field.0 == name).unwrap();
    let of: BTreeMap<&str, &str> = styles
        .features
        .iter()
        .map(|(row, _)| (row[at("f_table_name")].as_str(), row[at("styleSLD")].as_str()))
        .collect();
    assert_eq!(of.len(), of_every_run().count());
    for layer in of_every_run() {
        let sld = of[layer.word()];
        assert_eq!(sld, style(layer));
        let columns: BTreeSet<String> =
            read_back(&path, "GPKG", layer.word()).fields.into_iter().map(|field| field.0).collect();
        let named: BTreeSet<&str> = sld
            .split("<ogc:PropertyName>")
            .skip(1)
            .map(|rest| rest.split_once("</ogc:PropertyName>").unwrap().0)
            .collect();
        assert!(!named.is_empty() && named.iter().all(|name| columns.contains(*name)), "{layer:?}: {named:?}");
    }
}

#[test]
fn the_measuring_crs_comes_back() {
    let home = written(&example::results(), LayerFormat::GeoJson);
    let dataset = Dataset::open(home.path().join("layers_rootward.gpkg")).unwrap();
    let crs = dataset.layer_by_name("works").unwrap().spatial_ref().unwrap();
    assert_eq!(crs.linear_units(), 1.0);
    let mut expected = SpatialRef::from_definition(PLANE).unwrap();
    expected.set_axis_mapping_strategy(AxisMappingStrategy::TraditionalGisOrder);
    let between = gdal::spatial_ref::CoordTransform::new(&crs, &expected).unwrap();
    let (mut x, mut y) = ([1234.5], [-678.9]);
    between.transform_coords(&mut x, &mut y, &mut []).unwrap();
    assert!((x[0] - 1234.5).abs() < 1e-6 && (y[0] + 678.9).abs() < 1e-6);
}

#[test]
fn the_same_bytes_for_any_number_of_threads() {
    let mut facts = example::facts(false);
    facts.measuring_crs.definition = PLANE.to_string();
    let results = crate::write::tests::many();
    let drawing = Drawing { format: LayerFormat::FlatGeobuf, geopackage: true, ..example::DRAWING };
    let with_threads = |threads: usize| {
        let pool = rayon::ThreadPoolBuilder::new().num_threads(threads).build().unwrap();
        pool.install(|| files_drawn(&results, &facts, &Layer::ALL, &drawing))
    };
    let expected = with_threads(1);
    assert!(expected.contains_key(GEOPACKAGE_FILE) && expected.contains_key("layers/overlaps.fgb"));
    for threads in [2, 7] {
        let got = with_threads(threads);
        assert!(expected.keys().eq(got.keys()));
        for (name, bytes) in &expected {
            assert!(got[name] == *bytes, "{name} with {threads} threads");
        }
    }
}

/// What stops a run while the file is open leaves nothing beside the output, nor in it; nor does SQLite's journal stay in a set that is whole.
#[test]
fn a_failed_run_leaves_no_side_file() {
    let mut facts = example::facts(false);
    facts.measuring_crs.definition = PLANE.to_string();
    let lost: crate::write::ToWgs84 = &|places| vec![geo::Coord { x: f64::NAN, y: 0.0 }; places.len()];
    let drawing = Drawing { geopackage: true, to_wgs84: lost, ..example::DRAWING };
    for replace_files in [false, true] {
        let home = tempfile::tempdir().unwrap();
        let mut staging = Staging::begin(&home.path().join("out"), replace_files).unwrap();
        let layers = Layer::ALL.into_iter().collect();
        assert!(crate::write::write_all(&example::results(), &facts, &layers, &drawing, None, &mut staging).is_err());
        drop(staging);
        assert_eq!(std::fs::read_dir(home.path()).unwrap().count(), 0);
    }
    let whole = Drawing { geopackage: true, ..example::DRAWING };
    let names = files_drawn(&example::results(), &facts, &Layer::ALL, &whole).into_keys();
    let of_layers: Vec<String> = names.filter(|name| name.contains("gpkg")).collect();
    assert_eq!(of_layers, [GEOPACKAGE_FILE]);
}

#[test]
fn a_crs_that_cannot_be_stored_stops_the_run_with_the_file() {
    let home = tempfile::tempdir().unwrap();
    let staging = Staging::begin(&home.path().join("out"), false).unwrap();
    let error = GeoPackage::create(&staging, "no CRS").map(|_| ()).unwrap_err().to_string();
    let file = home.path().join("out/layers/rootward.gpkg").display().to_string();
    assert!(error.starts_with(&format!("{file}: cannot be written")), "{error}");
}

/// As GDAL has done after a read that failed and that nobody told of.
#[test]
fn a_crs_that_is_stored_twice_stops_the_run() {
    for twice in [false, true] {
        let home = tempfile::tempdir().unwrap();
        let mut staging = Staging::begin(&home.path().join("out"), false).unwrap();
        let mut file = GeoPackage::create(&staging, PLANE).unwrap();
        file.table(Layer::Trees, &[], "trees").unwrap().close().unwrap();
        if twice {
            let again = "INSERT INTO gpkg_spatial_ref_sys SELECT srs_name, srs_id + 1, organization, \
                         organization_coordsys_id + 1, definition, description FROM gpkg_spatial_ref_sys WHERE srs_id >= 100000";
            file.dataset.execute_sql(again, None, Dialect::DEFAULT).map(|_| ()).unwrap();
        }
        let ended = file.finish(&mut staging).map_err(|error| error.to_string());
        assert_eq!(ended.is_err(), twice, "{ended:?}");
        assert!(ended.is_ok() || ended.unwrap_err().contains("its one CRS was stored 2 times"));
    }
}

/// Lines have a place in every format.
#[test]
fn lines_in_both_formats() {
    use crate::write::cells::Kind;
    use crate::write::feature::{Placed, Shape, placed};
    let line = geo::LineString::from(vec![(0.0, 0.0), (3.0, 4.0)]);
    let shape = Shape::Lines(geo::MultiLineString(vec![line.clone(), line]));
    let bytes = wkb(&shape, 0.5).unwrap();
    let back = Geometry::from_wkb(&bytes).unwrap().wkt().unwrap();
    assert_eq!(back, "MULTILINESTRING ((0 0,6 8),(0 0,6 8))", "in half metres");
    assert!(wkb(&Shape::Lines(geo::MultiLineString(Vec::new())), 1.0).is_none());
    let drafts = [Draft { shape, cells: vec![Cell::Whole(7)] }];
    let places = placed(&drafts, &example::to_degrees).unwrap();
    assert!(matches!(&places[0], Placed::Lines(lines) if lines.len() == 2 && lines[0].len() == 2));
    let columns = [LayerColumn { name: "n".into(), kind: Kind::Whole }];
    let encoded = crate::write::flatgeobuf_file::encode(&drafts, &places, &columns);
    let feature = flatgeobuf::size_prefixed_root_as_feature(encoded[0].bytes()).unwrap();
    let geometry = feature.geometry().unwrap();
    assert_eq!(geometry.type_(), flatgeobuf::GeometryType::MultiLineString);
    assert_eq!(geometry.ends().unwrap().iter().collect::<Vec<_>>(), [2, 4]);
    assert_eq!(geometry.xy().unwrap().get(2), -122.99997);
}
