//! Layers that GDAL writes and `read` reads again, whole and damaged.

use super::*;
use crate::read::{Format, Survey, survey};
use crate::settings::{InputName, ReadBounds};
use gdal::DriverManager;
use gdal::spatial_ref::{AxisMappingStrategy, SpatialRef};
use gdal::vector::{FieldDefn, Geometry, LayerOptions, OGRwkbGeometryType};
use std::path::Path;

/// Writes one layer of `rows` trees near Hollin Park (invented), easting first.
fn write(path: &Path, driver: &str, layers: &[&str], epsg: u32, rows: u32, options: &[&str]) {
    let mut reference = SpatialRef::from_epsg(epsg).unwrap();
    reference.set_axis_mapping_strategy(AxisMappingStrategy::TraditionalGisOrder);
    let mut dataset = DriverManager::get_driver_by_name(driver).unwrap().create_vector_only(path).unwrap();
    for name in layers {
        let layer = dataset
            .create_layer(LayerOptions {
                name,
                srs: Some(&reference),
                ty: OGRwkbGeometryType::wkbPoint,
                options: Some(options),
            })
            .unwrap();
        for (name, kind) in [
            ("species", OGRFieldType::OFTString),
            ("dbh", OGRFieldType::OFTReal),
            ("stems", OGRFieldType::OFTInteger),
            ("planted", OGRFieldType::OFTDate),
        ] {
            FieldDefn::new(name, kind).unwrap().add_to_layer(&layer).unwrap();
        }
        for row in 0..rows {
            let mut feature = Feature::new(layer.defn()).unwrap();
            if row % 3 != 2 {
                feature.set_field_string(0, "Tilia × europaea").unwrap();
                feature.set_field_double(1, f64::from(row) + 0.1).unwrap();
                feature.set_field_integer(2, row as i32 % 2).unwrap();
            }
            let (x, y) = (f64::from(row) + 0.5, 7.25);
            feature.set_geometry(Geometry::from_wkt(&format!("POINT ({x} {y})")).unwrap()).unwrap();
            feature.create(&layer).unwrap();
        }
    }
    dataset.flush_cache().unwrap();
}

fn input(path: &Path) -> InputName {
    InputName { path: path.to_path_buf(), layer: None }
}

fn rows(survey: &Survey) -> Vec<OwnedRow> {
    let mut rows = Vec::new();
    for chunk in survey.chunks().unwrap() {
        chunk.unwrap().for_each(&mut |row| rows.push(row.cloned()));
    }
    rows
}

fn cells(row: &OwnedRow) -> Vec<&str> {
    let record = row.as_ref().unwrap();
    (0..record.len()).map(|column| record.cell(column)).collect()
}

fn names_in(folder: &Path) -> Vec<String> {
    let mut names: Vec<String> =
        std::fs::read_dir(folder).unwrap().map(|e| e.unwrap().file_name().to_string_lossy().into_owned()).collect();
    names.sort();
    names
}

fn check(survey: &Survey, id: Option<&str>, count: u64) {
    let expected: Vec<&str> = id.into_iter().chain(["species", "dbh", "stems", "planted"]).collect();
    assert_eq!(survey.columns, expected);
    assert_eq!((survey.rows, survey.geometry_types.clone()), (count, vec![("Point".to_string(), count)]));
    let all = rows(survey);
    assert_eq!(all.len() as u64, count);
    let skip = usize::from(id.is_some());
    assert_eq!(cells(&all[0])[skip..], ["Tilia × europaea", "0.1", "0", ""], "{:?}", survey.format);
    assert_eq!(cells(&all[1])[skip..], ["Tilia × europaea", "1.1", "1", ""]);
    assert_eq!(all[1].as_ref().unwrap().row, 2);
    assert_eq!(all[1].as_ref().unwrap().geometry, Some(geo::Geometry::Point(geo::Point::new(1.5, 7.25))));
}

#[test]
fn every_layered_format_gives_the_same_records() {
    for (name, driver, format, id) in [
        ("trees.gpkg", "GPKG", Format::GeoPackage, Some("fid")),
        ("trees.shp", "ESRI Shapefile", Format::Shapefile, None),
        ("trees.fgb", "FlatGeobuf", Format::FlatGeobuf, None),
        ("trees.gdb", "OpenFileGDB", Format::FileGeodatabase, Some("OBJECTID")),
        ("trees.tab", "MapInfo File", Format::MapInfoTab, None),
    ] {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join(name);
        let options: &[&str] = match format {
            Format::FlatGeobuf => &["SPATIAL_INDEX=NO"],
            Format::Shapefile => &["ENCODING=UTF-8"],
            // A TAB keeps coordinates on a grid within stated bounds.
            Format::MapInfoTab => &["ENCODING=UTF-8", "BOUNDS=0,0,16384,16384"],
            _ => &[],
        };
        write(&path, driver, &["trees"], 26910, 5_000, options);
        let before = (names_in(folder.path()), std::fs::metadata(&path).unwrap().modified().unwrap());
        let found = survey(&input(&path), ReadBounds::default()).unwrap_or_else(|e| panic!("{name}: {e}"));
        assert_eq!((found.format, found.layer.as_deref()), (format, Some("trees")));
        check(&found, id, 5_000);
        let empty = if format == Format::MapInfoTab {
            rows(&found)[2].as_ref().unwrap().cell(1).to_string()
        } else {
            cells(&rows(&found)[2])[usize::from(id.is_some())..].concat()
        };
        assert_eq!(
            empty,
            if format == Format::MapInfoTab { "0" } else { "" },
            "{name}: a field that was not set is empty where the format can say so"
        );
        let crs = found.crs.as_ref().unwrap();
        assert!(
            crs.name.contains("UTM") && crs.name.contains("10") || crs.authority.as_deref() == Some("EPSG:26910"),
            "{name}: {crs:?}"
        );
        assert_eq!(found.sample.len(), 4_000.min(found.rows as usize), "{name}");
        assert_eq!(
            (names_in(folder.path()), std::fs::metadata(&path).unwrap().modified().unwrap()),
            before,
            "{name}: left as it was"
        );
    }
}

#[test]
fn layers_are_named_or_listed() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("city.gpkg");
    write(&path, "GPKG", &["trees", "works"], 26910, 3, &[]);
    let error = survey(&input(&path), ReadBounds::default()).unwrap_err();
    assert!(
        error.hint().contains("city.gpkg#trees") && error.hint().contains("city.gpkg#works"),
        "{error}: {}",
        error.hint()
    );
    let named =
        |layer: &str| survey(&InputName { path: path.clone(), layer: Some(layer.to_string()) }, ReadBounds::default());
    let works = named("Works").unwrap();
    assert_eq!((works.layer.as_deref(), works.layers.len()), (Some("works"), 2));
    check(&works, Some("fid"), 3);
    assert!(named("parks").unwrap_err().to_string().contains("no layer `parks`"));
}

#[test]
fn a_geopackage_in_write_ahead_mode_leaves_no_side_files_and_waiting_changes_are_refused() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("trees.gpkg");
    write(&path, "GPKG", &["trees"], 26910, 3, &[]);
    // Bytes 18 and 19 of a SQLite file: 2 is the write-ahead mode.
    let mut bytes = std::fs::read(&path).unwrap();
    (bytes[18], bytes[19]) = (2, 2);
    std::fs::write(&path, &bytes).unwrap();
    let found = survey(&input(&path), ReadBounds::default()).unwrap();
    assert_eq!(rows(&found).len(), 3);
    assert_eq!(names_in(folder.path()), ["trees.gpkg"]);
    assert_eq!(std::fs::read(&path).unwrap(), bytes);
    std::fs::write(folder.path().join("trees.gpkg-wal"), b"waiting").unwrap();
    assert!(survey(&input(&path), ReadBounds::default()).unwrap_err().to_string().contains("-wal"));
}

#[test]
fn damaged_layers_are_errors_not_fewer_records() {
    for (name, driver, part) in [
        ("trees.shp", "ESRI Shapefile", "trees.shp"),
        ("trees.shp", "ESRI Shapefile", "trees.shx"),
        ("trees.shp", "ESRI Shapefile", "trees.dbf"),
        ("trees.fgb", "FlatGeobuf", "trees.fgb"),
        ("trees.gpkg", "GPKG", "trees.gpkg"),
        ("trees.tab", "MapInfo File", "trees.dat"),
    ] {
        let folder = tempfile::tempdir().unwrap();
        write(&folder.path().join(name), driver, &["trees"], 26910, 2_000, &[]);
        let part = folder.path().join(part);
        let bytes = std::fs::read(&part).unwrap();
        std::fs::write(&part, &bytes[..bytes.len() * 2 / 3]).unwrap();
        let error = survey(&input(&folder.path().join(name)), ReadBounds::default())
            .err()
            .unwrap_or_else(|| panic!("{name} was read in spite of {part:?}"));
        assert!(error.to_string().contains("trees."), "{error}");
    }
}

#[test]
fn a_missing_index_is_named_and_not_made() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("trees.shp");
    write(&path, "ESRI Shapefile", &["trees"], 26910, 3, &[]);
    std::fs::remove_file(folder.path().join("trees.shx")).unwrap();
    let before = names_in(folder.path());
    assert!(survey(&input(&path), ReadBounds::default()).unwrap_err().to_string().contains("index (.shx) is missing"));
    assert_eq!(names_in(folder.path()), before);
    assert!(
        survey(&input(&folder.path().join("trees.dbf")), ReadBounds::default())
            .unwrap_err()
            .hint()
            .contains("trees.shp")
    );
}

#[test]
fn deleted_rows_of_a_table_are_passed_over_and_said() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("trees.shp");
    write(&path, "ESRI Shapefile", &["trees"], 26910, 10, &[]);
    let table = folder.path().join("trees.dbf");
    let mut bytes = std::fs::read(&table).unwrap();
    let header_bytes = usize::from(u16::from_le_bytes([bytes[8], bytes[9]]));
    bytes[header_bytes] = b'*';
    std::fs::write(&table, bytes).unwrap();
    let found = survey(&input(&path), ReadBounds::default()).unwrap();
    assert_eq!(found.rows, 9);
    assert!(found.notes.iter().any(|note| note.starts_with("1 rows are marked as deleted")), "{:?}", found.notes);
}

#[test]
fn survey_feet_of_a_prj_stay_survey_feet() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("trees.shp");
    write(&path, "ESRI Shapefile", &["trees"], 2263, 3, &[]);
    let prj = std::fs::read_to_string(folder.path().join("trees.prj")).unwrap();
    assert!(
        prj.contains("NAD_1983_StatePlane") && !prj.contains("AUTHORITY"),
        "the file is in the dialect that real ones use: {prj}"
    );
    let crs = survey(&input(&path), ReadBounds::default()).unwrap().crs.unwrap();
    assert_eq!(crs.kind, crate::model::crs::CrsKind::Projected { unit_m: 1200.0 / 3937.0 });
    assert_eq!((crs.authority.as_deref(), crs.origin.as_str()), (Some("EPSG:2263"), "in the file"));
}

/// Zips the files of a folder under a name within the zip.
fn zip_folder(folder: &Path, prefix: &str, target: &Path) {
    let mut zip = zip::ZipWriter::new(std::fs::File::create(target).unwrap());
    for name in names_in(folder).into_iter().filter(|name| !name.ends_with(".zip")) {
        zip.start_file(format!("{prefix}{name}"), zip::write::SimpleFileOptions::default()).unwrap();
        std::io::Write::write_all(&mut zip, &std::fs::read(folder.join(&name)).unwrap()).unwrap();
    }
    zip.finish().unwrap();
}

#[test]
fn zipped_shapefiles_and_geodatabases() {
    let (folder, out) = (tempfile::tempdir().unwrap(), tempfile::tempdir().unwrap());
    write(&folder.path().join("trees.shp"), "ESRI Shapefile", &["trees"], 26910, 3, &["ENCODING=UTF-8"]);
    let target = out.path().join("trees.shp.zip");
    zip_folder(folder.path(), "export/", &target);
    let found = survey(&input(&target), ReadBounds::default()).unwrap();
    check(&found, None, 3);
    assert_eq!((found.files.len(), found.files[0].name.as_str()), (1, "trees.shp.zip"));
    write(&folder.path().join("works.shp"), "ESRI Shapefile", &["works"], 26910, 4, &["ENCODING=UTF-8"]);
    zip_folder(folder.path(), "", &target);
    assert!(survey(&input(&target), ReadBounds::default()).unwrap_err().hint().contains("trees.shp.zip#works"));
    let works = survey(&InputName { path: target, layer: Some("works".to_string()) }, ReadBounds::default()).unwrap();
    assert_eq!((works.rows, works.layers.len()), (4, 2));

    let gdb = folder.path().join("city.gdb");
    write(&gdb, "OpenFileGDB", &["trees"], 26910, 3, &[]);
    let target = out.path().join("city.gdb.zip");
    zip_folder(&gdb, "city.gdb/", &target);
    check(&survey(&input(&target), ReadBounds::default()).unwrap(), Some("OBJECTID"), 3);
    assert_eq!(names_in(out.path()), ["city.gdb.zip", "trees.shp.zip"]);

    std::fs::write(out.path().join("readme.txt"), "nothing here").unwrap();
    let empty = out.path().join("other.zip");
    zip_folder(out.path(), "", &empty);
    assert!(survey(&input(&empty), ReadBounds::default()).unwrap_err().to_string().contains("no shapefile"));
}

#[test]
fn a_zip_that_swells_is_refused() {
    let out = tempfile::tempdir().unwrap();
    let target = out.path().join("trees.zip");
    let mut zip = zip::ZipWriter::new(std::fs::File::create(&target).unwrap());
    zip.start_file("trees.shp", zip::write::SimpleFileOptions::default()).unwrap();
    let zeros = vec![0; 1 << 20];
    for _ in 0..80 {
        std::io::Write::write_all(&mut zip, &zeros).unwrap();
    }
    zip.finish().unwrap();
    let error = survey(&input(&target), ReadBounds::default()).unwrap_err().to_string();
    assert!(error.contains("200 times its size"), "{error}");
}

#[test]
fn curves_empty_and_missing_geometries() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("works.gpkg");
    let reference = SpatialRef::from_epsg(26910).unwrap();
    let mut dataset = DriverManager::get_driver_by_name("GPKG").unwrap().create_vector_only(&path).unwrap();
    let layer = dataset
        .create_layer(LayerOptions {
            name: "works",
            srs: Some(&reference),
            ty: OGRwkbGeometryType::wkbUnknown,
            options: None,
        })
        .unwrap();
    for wkt in [
        "CURVEPOLYGON (CIRCULARSTRING (10 0,0 10,-10 0,0 -10,10 0))",
        "POINT EMPTY",
        "",
        "POLYGON Z ((0 0 5,1 0 5,1 1 5,0 0 5))",
    ] {
        let mut feature = Feature::new(layer.defn()).unwrap();
        if !wkt.is_empty() {
            feature.set_geometry(Geometry::from_wkt(wkt).unwrap()).unwrap();
        }
        feature.create(&layer).unwrap();
    }
    dataset.flush_cache().unwrap();
    drop(dataset);
    let found = survey(&input(&path), ReadBounds::default()).unwrap();
    assert_eq!(found.geometry_types, [("Polygon".to_string(), 2), ("none".to_string(), 2)]);
    let all = rows(&found);
    let area = geo::Area::unsigned_area(all[0].as_ref().unwrap().geometry.as_ref().unwrap());
    assert!((area - 314.159).abs() < 0.05, "{area}");
    assert!(all[1].as_ref().unwrap().geometry.is_none() && all[2].as_ref().unwrap().geometry.is_none());
}

#[test]
fn numbers_in_their_shortest_form() {
    for (value, text) in [
        (12.5, "12.5"),
        (30.0, "30"),
        (0.1, "0.1"),
        (f64::from(12.3_f32), "12.3"),
        (1.0 / 3.0, "0.3333333333333333"),
        (-0.25, "-0.25"),
    ] {
        assert_eq!(shortest(value), text);
    }
}

#[test]
fn a_tab_separated_text_named_tab_is_text() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("trees.tab");
    std::fs::write(&path, "id\tdbh\n1\t30\n").unwrap();
    let found = survey(&input(&path), ReadBounds::default()).unwrap();
    assert_eq!((found.format, found.columns.len()), (Format::Csv, 2));
}
