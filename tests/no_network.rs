//! No network, and no file but the named ones, their companions and the system's own; whatever the inputs or the environment say.
//!
//! Seen from outside: `strace` lists every file that a run opens and every socket that it asks for.

#![allow(clippy::unwrap_used)]

use crate::faults::{able, set_in, strace_works};
use std::io::Write;
use std::path::{Path, PathBuf};
use std::process::{Command, Output};

/// What may be opened besides the inputs and the output: programs, libraries, data that belong to the system.
const SYSTEM: [&str; 16] = [
    "/lib/",
    "/lib64/",
    "/usr/",
    "/proc/self/",
    "/proc/stat",
    "/proc/meminfo",
    "/proc/cpuinfo",
    "/proc/sys/",
    "/sys/",
    "/dev/null",
    "/dev/urandom",
    "/etc/ld.so.",
    "/etc/ssl/openssl.cnf",
    "/etc/localtime",
    "/etc/gdal/",
    "/etc/pki/",
];

/// The sample inputs in a folder of their own, the utilities zipped as well.
fn inputs(folder: &Path) -> Vec<&'static str> {
    let samples = Path::new(env!("CARGO_MANIFEST_DIR")).join("data-samples");
    let mut zip = zip::ZipWriter::new(std::fs::File::create(folder.join("zipped.zip")).unwrap());
    for entry in std::fs::read_dir(&samples).unwrap() {
        let path = entry.unwrap().path();
        let name = path.file_name().unwrap().to_str().unwrap().to_string();
        std::fs::copy(&path, folder.join(&name)).unwrap();
        if name.starts_with("alderwick_utilities") {
            zip.start_file(name.as_str(), zip::write::SimpleFileOptions::default()).unwrap();
            zip.write_all(&std::fs::read(&path).unwrap()).unwrap();
        }
    }
    zip.finish().unwrap();
    let mut args = vec!["screen", "--trees", "alderwick_trees.csv", "hollin_park.gpkg#trees", "--works"];
    args.extend(["alderwick_permits.geojson", "alderwick_utilities.shp", "zipped.zip", "--rules", "one-foot-per-inch"]);
    args.extend(["--geopackage", "--out", "out"]);
    args
}

/// Runs the command under `strace`; the output, and every line on files and sockets.
fn watched(folder: &Path, args: &[&str], home: &Path, before: &[&str]) -> (Output, Vec<String>) {
    let log = tempfile::NamedTempFile::new().unwrap();
    let mut all: Vec<&str> = before.to_vec();
    all.extend(["strace", "-f", "-qq", "-y", "-s", "4096", "-o", log.path().to_str().unwrap()]);
    all.extend(["-e", "trace=?open,openat,?openat2,?creat,network,execve", env!("CARGO_BIN_EXE_rootward")]);
    all.extend(args);
    let mut command = Command::new(all[0]);
    command.args(&all[1..]).current_dir(folder).env("HOME", home).env("NO_COLOR", "1").env_remove("XDG_DATA_HOME");
    let output = command.output().unwrap();
    let lines = std::fs::read_to_string(log.path()).unwrap().lines().map(str::to_string).collect();
    (output, lines)
}

/// Files that were opened and found, absolute.
fn opened(lines: &[String], folder: &Path) -> Vec<PathBuf> {
    let found = lines.iter().filter(|line| line.contains("open") && !line.contains(" = -1 "));
    let path = |line: &String| Some(folder.join(line.split('"').nth(1)?));
    found.filter_map(path).collect()
}

#[track_caller]
fn no_socket(lines: &[String]) {
    let sockets: Vec<_> = lines.iter().filter(|line| line.contains("AF_INET") || line.contains("connect(")).collect();
    assert!(sockets.is_empty(), "{sockets:#?}");
}

/// A home whose files would change what GDAL and PROJ do.
fn hostile_home() -> tempfile::TempDir {
    let home = tempfile::tempdir().unwrap();
    std::fs::create_dir_all(home.path().join(".gdal")).unwrap();
    std::fs::write(home.path().join(".gdal/gdalrc"), "[configoptions]\nOGR_SKIP=GPKG\nSHAPE_ENCODING=UTF-16\n")
        .unwrap();
    std::fs::create_dir_all(home.path().join(".local/share/proj")).unwrap();
    std::fs::write(home.path().join(".local/share/proj/proj.db"), "not a database").unwrap();
    std::fs::write(home.path().join(".local/share/proj/proj.ini"), "[general]\nnetwork = on\n").unwrap();
    home
}

#[test]
fn only_the_named_files_are_opened_and_no_socket_is_made() {
    if !strace_works("which files a run opens") {
        return;
    }
    let folder = tempfile::tempdir().unwrap();
    let args = inputs(folder.path());
    let home = hostile_home();
    // In an empty network namespace where the machine allows one.
    let before: &[&str] =
        if able("an empty network namespace", "unshare", &["-rn", "true"]) { &["unshare", "-rn"] } else { &[] };
    let (output, lines) = watched(folder.path(), &args, home.path(), before);
    assert!(output.status.success(), "{}", String::from_utf8_lossy(&output.stderr));
    no_socket(&lines);
    let temporary = std::env::temp_dir();
    let stranger = |path: &PathBuf| {
        let name = path.file_name().unwrap_or_default().to_string_lossy().into_owned();
        let text = path.display().to_string();
        let system = SYSTEM.iter().any(|known| text.starts_with(known));
        let input = path.starts_with(folder.path()) && path.parent() == Some(folder.path());
        let companions = ["alderwick_", "hollin_park.gpkg", "zipped.zip"].iter().any(|known| name.starts_with(known));
        let within = path == folder.path() || path.starts_with(folder.path().join("out"));
        let staged = text.contains("/.out.rootward-");
        let private = text.starts_with(&format!("{}/rootward-unpacked-", temporary.display()));
        // The folder for private folders is listed, its files are not opened.
        let listed = *path == temporary;
        let program = path == Path::new(env!("CARGO_BIN_EXE_rootward"));
        !(system || (input && companions) || within || staged || private || listed || program)
    };
    let strangers: Vec<_> = opened(&lines, folder.path()).into_iter().filter(stranger).collect();
    assert!(strangers.is_empty(), "{strangers:#?}");
    assert!(
        opened(&lines, folder.path()).iter().any(|path| path.ends_with("alderwick_trees.csv")),
        "the watch sees nothing"
    );
    let started: Vec<_> =
        lines.iter().filter(|line| line.contains("execve(")).filter(|line| !line.contains("rootward")).collect();
    assert!(started.is_empty(), "{started:#?}");
}

#[test]
fn a_hostile_environment_changes_nothing() {
    let folder = tempfile::tempdir().unwrap();
    let args = inputs(folder.path());
    let run = |out: &str, hostile: &[(&str, &str)], home: Option<&Path>| {
        let mut args = args.clone();
        *args.last_mut().unwrap() = out;
        let mut command = Command::new(env!("CARGO_BIN_EXE_rootward"));
        command.args(&args).current_dir(folder.path()).env("NO_COLOR", "1").envs(hostile.iter().copied());
        if let Some(home) = home {
            command.env("HOME", home).env_remove("XDG_DATA_HOME");
        }
        let output = command.output().unwrap();
        let told = String::from_utf8_lossy(&output.stderr).into_owned();
        assert_eq!(output.status.code(), Some(0), "{told}");
        (set_in(&folder.path().join(out)), told)
    };
    let (expected, told) = run("plain", &[], None);
    assert!(!told.contains("note:"), "{told}");
    let log = folder.path().join("gdal.log");
    let hostile = [
        ("GDAL_DATA", "/nonexistent"),
        ("GDAL_DRIVER_PATH", "/nonexistent"),
        ("GDAL_SKIP", "GPKG"),
        ("OGR_SKIP", "GPKG,ESRI Shapefile"),
        ("OGR_SQLITE_LOAD_EXTENSIONS", "/nonexistent.so"),
        ("OGR_SQLITE_PRAGMA", "page_size=8192"),
        ("OGR_SHAPE_ALLOW_NON_FINITE_COORDINATES", "YES"),
        ("OGR_CT_FORCE_TRADITIONAL_GIS_ORDER", "NO"),
        ("OSR_STRIP_TOWGS84", "NO"),
        ("SHAPE_ENCODING", "UTF-16"),
        ("SHAPE_RESTORE_SHX", "YES"),
        ("CPL_DEBUG", "ON"),
        ("CPL_LOG", log.to_str().unwrap()),
        ("CPL_TMPDIR", "/nonexistent"),
        ("VSI_CACHE", "TRUE"),
        ("SQLITE_USE_OGR_VFS", "YES"),
        ("PROJ_LIB", "/nonexistent"),
        ("PROJ_DATA", "/nonexistent"),
        ("PROJ_NETWORK", "ON"),
        ("PROJ_NETWORK_ENDPOINT", "http://127.0.0.1:9"),
        ("PROJ_DEBUG", "3"),
        ("PROJ_AUX_DB", "/nonexistent"),
        ("LC_ALL", "de_DE.UTF-8"),
        ("TZ", "Asia/Kathmandu"),
    ];
    let home = hostile_home();
    let (got, told) = run("hostile", &hostile, Some(home.path()));
    let differing: Vec<_> =
        expected.iter().filter(|(name, bytes)| got.get(*name) != Some(bytes)).map(|(name, _)| name).collect();
    assert!(differing.is_empty() && got.len() == expected.len(), "{differing:?}");
    assert!(!log.exists(), "CPL_LOG was obeyed");
    let note = told.lines().find(|line| line.starts_with("note: not used")).expect("it is said what is not used");
    assert!(note.contains("GDAL_DRIVER_PATH") && note.contains("PROJ_NETWORK") && !note.contains("LC_ALL"), "{note}");
}

/// A file under a name, and how it is given.
struct Disguised {
    what: &'static str,
    name: &'static str,
    bytes: Vec<u8>,
    more: &'static [&'static str],
}

fn disguised(what: &'static str, name: &'static str, text: &str) -> Disguised {
    Disguised { what, name, bytes: text.as_bytes().to_vec(), more: &[] }
}

/// Files that ask for another file (the bait) or a machine on the network.
fn hostile_files(bait: &str) -> Vec<Disguised> {
    let vrt = format!(
        "<OGRVRTDataSource><OGRVRTLayer name=\"bait\"><SrcDataSource>{bait}</SrcDataSource></OGRVRTLayer></OGRVRTDataSource>"
    );
    let wfs = "<OGRWFSDataSource><URL>http://127.0.0.1:9/wfs</URL></OGRWFSDataSource>";
    let entity = format!("<?xml version=\"1.0\"?><!DOCTYPE a [<!ENTITY b SYSTEM \"file://{bait}\">]><a>&b;</a>");
    let collection = |crs: &str| {
        format!(
            "{{\"type\":\"FeatureCollection\",\"crs\":{crs},\"features\":[{{\"type\":\"Feature\",\"properties\":{{\"dbh_cm\":80}},\"geometry\":{{\"type\":\"Point\",\"coordinates\":[15,50]}}}}]}}"
        )
    };
    let mut all = Vec::new();
    for name in ["t.geojson", "t.gpkg", "t.shp", "t.csv", "t.fgb", "t.tab", "t.zip", "t.geojsonl", "t"] {
        all.push(disguised("a virtual file", name, &vrt));
        all.push(disguised("a web feature service", name, wfs));
        all.push(disguised("an entity", name, &entity));
    }
    all.extend([
        disguised("a crs link", "t.geojson", &collection("{\"type\":\"link\",\"properties\":{\"href\":\"http://127.0.0.1:9/\"}}")),
        disguised("a crs file", "t.geojson", &collection(&format!("{{\"type\":\"link\",\"properties\":{{\"href\":\"{bait}\",\"type\":\"ogcwkt\"}}}}"))),
        disguised("a crs name", "t.geojson", &collection(&format!("{{\"type\":\"name\",\"properties\":{{\"name\":\"{bait}\"}}}}"))),
        disguised("a crs address", "t.geojson", &collection("{\"type\":\"name\",\"properties\":{\"name\":\"http://127.0.0.1:9/crs\"}}")),
        disguised("a seamless table", "t.tab", &format!("!table\n!version 300\nDefinition Table\n  Type NATIVE\n  Fields 1\n    Table Char (250) ;\nbegin_metadata\n\"\\IsSeamless\" = \"TRUE\"\n\"\\x\" = \"{bait}\"\nend_metadata\n")),
        disguised("a linked table", "t.tab", &format!("!table\n!version 300\nDefinition Table\n  File \"{bait}\"\n  Type LINKED\n")),
        disguised("a view", "t.tab", &format!("!table\n!version 300\nOpen Table \"{bait}\" Hide\nCreate View t As\nSelect id\n")),
        disguised("an address", "http://127.0.0.1:9/t.geojson", ""),
        disguised("an address in a virtual path", "/vsicurl/http://127.0.0.1:9/t.geojson", ""),
        disguised("a virtual path", "/vsizip//tmp/t.zip/t.shp", ""),
        disguised("a database", "PG:host=127.0.0.1", ""),
        disguised("a service", "WFS:http://127.0.0.1:9/", ""),
    ]);
    for crs in [
        "/bait/",
        "http://127.0.0.1:9/crs",
        "ESRI::/bait/",
        "+init=/bait/:1",
        "+proj=hgridshift +grids=http://127.0.0.1:9/g",
    ] {
        let mut one = disguised("a CRS that points elsewhere", "t.csv", "id,x,y,dbh_cm\nT,1000,1000,80\n");
        one.more = Box::leak(
            vec!["--trees-crs", Box::leak(crs.replace("/bait/", bait).into_boxed_str()) as &str].into_boxed_slice(),
        );
        all.push(one);
    }
    all
}

#[test]
fn files_that_ask_for_more_are_refused() {
    if !strace_works("files that point elsewhere") {
        return;
    }
    let folder = tempfile::tempdir().unwrap();
    let home = tempfile::tempdir().unwrap();
    let bait = tempfile::Builder::new().prefix("bait").suffix(".csv").tempfile().unwrap();
    std::fs::write(bait.path(), "id,longitude,latitude,dbh_cm\nT,15,50,80\n").unwrap();
    let works = "permit_id,kind,longitude,latitude\nP,post,15,50\n";
    std::fs::write(folder.path().join("works.csv"), works).unwrap();
    let bait_name = bait.path().to_str().unwrap();
    for Disguised { what, name, bytes, more } in hostile_files(bait_name) {
        if !bytes.is_empty() {
            std::fs::write(folder.path().join(name), bytes).unwrap();
        }
        let mut args =
            vec!["screen", "--trees", name, "--works", "works.csv", "--rules", "one-foot-per-inch", "--out", "out"];
        args.extend(more);
        let (output, lines) = watched(folder.path(), &args, home.path(), &[]);
        let told = String::from_utf8_lossy(&output.stderr).into_owned();
        assert!(matches!(output.status.code(), Some(1 | 2)), "{what} as {name}: {}: {told}", output.status);
        assert!(told.contains("error: "), "{what} as {name}: {told}");
        no_socket(&lines);
        let touched: Vec<_> = lines.iter().filter(|line| line.contains("open") && line.contains(bait_name)).collect();
        assert!(touched.is_empty(), "{what} as {name}: {touched:#?}");
        assert!(!folder.path().join("out").exists());
    }
}

#[test]
fn a_geopackage_that_runs_code_is_refused() {
    if !strace_works("a GeoPackage with hostile views")
        || !able("a GeoPackage with hostile views", "python3", &["-c", "import sqlite3"])
    {
        return;
    }
    let folder = tempfile::tempdir().unwrap();
    let home = tempfile::tempdir().unwrap();
    let args = inputs(folder.path());
    let bait = folder.path().join("bait.so");
    std::fs::write(&bait, "id\n1\n").unwrap();
    let script = r#"
import sqlite3, sys
db = sqlite3.connect(sys.argv[1])
db.execute(f"CREATE VIEW evil AS SELECT *, {sys.argv[2]} AS dbh_cm FROM trees")
db.execute("INSERT INTO gpkg_contents SELECT 'evil', data_type, 'evil', description, last_change, min_x, min_y, max_x, max_y, srs_id FROM gpkg_contents WHERE table_name = 'trees'")
db.execute("INSERT INTO gpkg_geometry_columns SELECT 'evil', column_name, geometry_type_name, srs_id, z, m FROM gpkg_geometry_columns WHERE table_name = 'trees'")
db.commit()
"#;
    let bait = bait.to_str().unwrap();
    for expression in [
        format!("load_extension('{bait}')"),
        format!("readfile('{bait}')"),
        format!("GDAL_GetMimeType('{bait}')"),
        format!("ogr_layer_FeatureCount('{bait}', 'bait')"),
    ] {
        std::fs::copy(
            Path::new(env!("CARGO_MANIFEST_DIR")).join("data-samples/hollin_park.gpkg"),
            folder.path().join("evil.gpkg"),
        )
        .unwrap();
        let made = Command::new("python3")
            .args(["-c", script, "evil.gpkg", &expression])
            .current_dir(folder.path())
            .output()
            .unwrap();
        assert!(made.status.success(), "{}", String::from_utf8_lossy(&made.stderr));
        let args: Vec<&str> =
            args.iter().map(|arg| if arg.starts_with("hollin") { "evil.gpkg#evil" } else { arg }).collect();
        let (output, lines) = watched(folder.path(), &args, home.path(), &[]);
        let told = String::from_utf8_lossy(&output.stderr).into_owned();
        no_socket(&lines);
        let touched: Vec<_> = lines.iter().filter(|line| line.contains("open") && line.contains("bait")).collect();
        assert!(touched.is_empty(), "{expression}: {touched:#?}");
        // A function that does not exist is an error; one that only looks at bytes may give nothing, which costs the rows their diameter.
        assert!(matches!(output.status.code(), Some(0 | 1)), "{expression}: {}: {told}", output.status);
    }
}
