//! Layers of the sample town as another program reads them: GDAL's own tools, on files that the command wrote.

#![allow(clippy::unwrap_used)]

use crate::run::{self, Run, command, screen, table};
use std::path::{Path, PathBuf};
use std::process::Command;

const LAYERS: [&str; 4] = ["trees", "root_zones", "overlaps", "works"];

fn town(out: &Path, more: &[&str]) {
    let mut args = vec!["screen", "--trees", "data-samples/alderwick_trees.csv", "data-samples/hollin_park.gpkg#trees"];
    args.extend(["--works", "data-samples/alderwick_permits.geojson", "data-samples/alderwick_utilities.shp"]);
    args.extend(["--rules", "one-foot-per-inch", "--quiet", "--geopackage", "--out", out.to_str().unwrap()]);
    args.extend(more);
    let output = command(&args, &PathBuf::from(env!("CARGO_MANIFEST_DIR")));
    assert_eq!(output.status.code(), Some(0), "{}", String::from_utf8_lossy(&output.stderr));
}

/// What `ogrinfo` says; `None`, and visibly so, where it is not installed.
fn ogrinfo(args: &[&str]) -> Option<String> {
    match Command::new("ogrinfo").args(args).output() {
        Ok(output) => {
            let complaints = String::from_utf8_lossy(&output.stderr);
            assert!(output.status.success() && complaints.is_empty(), "{args:?}: {complaints}");
            Some(String::from_utf8(output.stdout).unwrap())
        }
        Err(error) => {
            eprintln!("skipped: layers read by ogrinfo: {error}");
            None
        }
    }
}

fn count(said: &str) -> u64 {
    let line = said.lines().find_map(|line| line.strip_prefix("Feature Count: ")).unwrap_or_else(|| panic!("{said}"));
    line.parse().unwrap()
}

/// The one number that a query over a GeoPackage gives.
fn asked(file: &str, query: &str) -> Option<f64> {
    let said = ogrinfo(&["-q", "-sql", query, file])?;
    let value = said.lines().find_map(|line| line.split_once(" = ")).unwrap_or_else(|| panic!("{said}")).1;
    Some(value.parse().unwrap())
}

#[test]
fn ogrinfo_reads_every_layer_with_equal_counts_and_the_areas_of_the_tables() {
    let home = tempfile::tempdir().unwrap();
    let (text, binary) = (home.path().join("geojson"), home.path().join("flatgeobuf"));
    town(&text, &[]);
    town(&binary, &["--layer-format", "flatgeobuf", "--threads", "1"]);
    let package = text.join("layers/rootward.gpkg");
    let other = std::fs::read(binary.join("layers/rootward.gpkg")).unwrap();
    assert!(std::fs::read(&package).unwrap() == other, "the same bytes for one thread and several");
    let package = package.to_str().unwrap();
    for layer in LAYERS {
        let geojson = std::fs::read_to_string(text.join(format!("layers/{layer}.geojson"))).unwrap();
        let expected = geojson.matches("{\"type\":\"Feature\",").count() as u64;
        assert!(expected > 50);
        let Some(said) = ogrinfo(&["-so", "-al", binary.join(format!("layers/{layer}.fgb")).to_str().unwrap()]) else {
            return;
        };
        assert!(count(&said) == expected && said.contains("WGS 84"), "{said}");
        let said = ogrinfo(&["-so", package, layer]).unwrap();
        assert!(count(&said) == expected && said.contains("Lambert Azimuthal Equal Area"), "{said}");
    }
    // Ten times the 5 mm that a drawn outline may be off, along the whole outline, would be seen: it is the sum that is compared.
    let drawn = asked(package, "SELECT SUM(ST_Area(geom)) FROM overlaps").unwrap();
    let rows = table(&text.join("tables/overlaps.csv"));
    let measured: f64 = rows.iter().filter_map(|row| row["overlap_m2"].parse::<f64>().ok()).sum();
    assert!(measured > 1000.0 && (drawn / measured - 1.0).abs() < 1e-3, "{drawn} drawn, {measured} measured");
    let off = asked(package, "SELECT MAX(ABS(ST_Area(geom) / area_m2 - 1)) FROM root_zones").unwrap();
    assert!(off < 1e-4, "a disc is drawn with its own area; off by {off}");
    let bad = asked(package, "SELECT COUNT(*) FROM root_zones WHERE NOT ST_IsValid(geom)").unwrap();
    assert!(bad == 0.0, "{bad} outlines are not valid");
}

/// A measuring CRS of the user's own in US survey feet: the GeoPackage is in it, in feet, while the tables stay in metres.
#[test]
fn a_geopackage_in_feet() {
    let home = tempfile::tempdir().unwrap();
    let out = home.path().join("out");
    town(&out, &["--measure-crs", "+proj=laea +lat_0=46.9 +lon_0=-118.5 +datum=WGS84 +units=us-ft +no_defs"]);
    let package = out.join("layers/rootward.gpkg");
    let query =
        "SELECT MAX(ABS(ST_Area(geom) * 0.3048006096012192 * 0.3048006096012192 / area_m2 - 1)) FROM root_zones";
    let Some(off) = asked(package.to_str().unwrap(), query) else { return };
    assert!(off < 1e-4, "areas are in square feet of the US survey; off by {off}");
    // And at the right place: brought back to longitude and latitude, the first tree is where GeoJSON has it.
    let point = |file: &str, layer: &str| {
        let folder = tempfile::tempdir().unwrap();
        let csv = folder.path().join("one.csv");
        let args = ["-f", "CSV", csv.to_str().unwrap(), file, layer, "-t_srs", "EPSG:4326", "-lco", "GEOMETRY=AS_XY"];
        assert!(Command::new("ogr2ogr").args(args).args(["-limit", "1"]).status().unwrap().success());
        let row = table(&csv).remove(0);
        (row["X"].parse::<f64>().unwrap(), row["Y"].parse::<f64>().unwrap(), row["tree_id"].clone())
    };
    let here = point(package.to_str().unwrap(), "trees");
    let there = point(out.join("layers/trees.geojson").to_str().unwrap(), "trees");
    assert_eq!(here.2, there.2);
    // GeoJSON has 7 decimals of a degree.
    assert!((here.0 - there.0).abs() < 1e-7 && (here.1 - there.1).abs() < 1e-7, "{here:?} {there:?}");
}

const TREE: &str = "id,x,y,dbh_cm\nT,1000,1000,80\n";
const WORK: &str =
    "permit_id,kind,wkt\nP,building,\"POLYGON ((1005 990, 1030 990, 1030 1010, 1005 1010, 1005 990))\"\n";

/// The words of this thread's environment do not reach the file: neither clock nor journal nor page size.
#[test]
fn the_environment_does_not_shape_the_file() {
    let run = screen(TREE, WORK, "one-foot-per-inch", &["--geopackage"]).done();
    let file = |run: &Run| std::fs::read(run.out().join("layers/rootward.gpkg")).unwrap();
    let expected = file(&run);
    let mut command = Command::new(env!("CARGO_BIN_EXE_rootward"));
    command.args([
        "screen",
        "--trees",
        "trees.csv",
        "--works",
        "works.csv",
        "--rules",
        "one-foot-per-inch",
        "--out",
        "out",
    ]);
    command.args(["--trees-crs", run::PLANE, "--works-crs", run::PLANE, "--geopackage"]).current_dir(run.folder.path());
    command.env("OGR_CURRENT_DATE", "2031-05-02T00:00:00.000Z").env("OGR_SQLITE_PRAGMA", "page_size=8192");
    command.env("OGR_SQLITE_JOURNAL", "WAL").env("MALLOC_PERTURB_", "137").env("TZ", "Asia/Kathmandu");
    assert!(command.output().unwrap().status.success());
    assert!(file(&run) == expected);
    let left: Vec<_> =
        std::fs::read_dir(run.out().join("layers")).unwrap().map(|entry| entry.unwrap().file_name()).collect();
    assert_eq!(left.iter().filter(|name| name.to_string_lossy().contains("gpkg")).count(), 1, "{left:?}");
}

#[test]
fn a_geopackage_of_no_layers_is_wrong_usage() {
    let run = screen(TREE, WORK, "one-foot-per-inch", &["--geopackage", "--layers", "none"]);
    assert_eq!(run.output.status.code(), Some(2));
    assert!(run.stderr().contains("--layers none") && !run.out().exists(), "{}", run.stderr());
}

#[test]
fn what_was_asked_for_stands_in_run_json() {
    let run =
        screen(TREE, WORK, "one-foot-per-inch", &["--geopackage", "--layer-format", "flatgeobuf", "--layers", "works"]);
    let run = run.done();
    let json: serde_json::Value = serde_json::from_slice(&std::fs::read(run.out().join("run.json")).unwrap()).unwrap();
    assert_eq!(
        (&json["settings"]["geopackage"], &json["settings"]["layer-format"]),
        (&"yes".into(), &"flatgeobuf".into())
    );
    let names: Vec<&str> =
        json["files"].as_array().unwrap().iter().map(|file| file["name"].as_str().unwrap()).collect();
    let of_layers: Vec<&&str> = names.iter().filter(|name| name.starts_with("layers/")).collect();
    assert_eq!(of_layers, [&"layers/rootward.gpkg", &"layers/works.fgb", &"layers/works.sld"]);
}

/// The rules of a stored style as names with SQL conditions, in their order.
fn conditions(style: &str) -> Vec<(String, String)> {
    let rule = |rule: &str| {
        let name = rule.split_once("<Name>").unwrap().1.split_once("</Name>").unwrap().0.to_string();
        let filter = rule.split_once("<ogc:Filter>").unwrap().1.split_once("</ogc:Filter>").unwrap().0.to_string();
        let said = [
            ("</ogc:PropertyIsEqualTo><ogc:", "</ogc:PropertyIsEqualTo> AND <ogc:"),
            ("<ogc:PropertyIsEqualTo><ogc:PropertyName>", "\""),
            ("<ogc:PropertyIsNull><ogc:PropertyName>", "\""),
            ("</ogc:PropertyName><ogc:Literal>", "\" = '"),
            ("</ogc:Literal></ogc:PropertyIsEqualTo>", "'"),
            ("</ogc:PropertyName></ogc:PropertyIsNull>", "\" IS NULL"),
            ("<ogc:Not>", "NOT ("),
            ("</ogc:Not>", ")"),
            ("<ogc:And>", "("),
            ("</ogc:And>", ")"),
        ];
        (name, said.into_iter().fold(filter, |filter, (tag, sql)| filter.replace(tag, sql)))
    };
    style.split("<Rule>").skip(1).map(rule).collect()
}

/// Every feature of every layer is drawn by one rule of the style that is stored with it, and by one only.
#[test]
fn stored_styles_draw_every_feature_once() {
    let home = tempfile::tempdir().unwrap();
    let out = home.path().join("out");
    town(&out, &["--protect", "--surfaces", "data-samples/alderwick_surfaces.geojson"]);
    let package = out.join("layers/rootward.gpkg");
    let package = package.to_str().unwrap();
    for layer in LAYERS.into_iter().chain(["fences", "ground_cover", "service_lines"]) {
        let query = format!("SELECT styleSLD FROM layer_styles WHERE f_table_name = '{layer}' AND useAsDefault = 1");
        let Some(style) = ogrinfo(&["-q", "-sql", &query, package]) else { return };
        let beside = std::fs::read_to_string(out.join(format!("layers/{layer}.sld"))).unwrap();
        let rules = conditions(&beside);
        assert!(conditions(&style) == rules && !rules.is_empty(), "{layer}: the style beside it is another one");
        let all = asked(package, &format!("SELECT COUNT(*) FROM {layer}")).unwrap();
        let drawn: Vec<f64> = rules
            .iter()
            .map(|(_, rule)| asked(package, &format!("SELECT COUNT(*) FROM {layer} WHERE {rule}")).unwrap())
            .collect();
        assert!(all > 0.0 && drawn.iter().sum::<f64>() == all, "{layer}: {all} features, {drawn:?} by {rules:?}");
    }
}
