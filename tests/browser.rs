//! The pages in headless Chromium: no message on the console, no request, nothing for axe-core to find, a PDF without a clipped map, an index
//! that filters and sorts from the keyboard. Needs Python and Chromium; what is not there is said and skipped.

#![allow(clippy::unwrap_used)]

use crate::run::{self, command};
use serde_json::Value;
use std::path::{Path, PathBuf};
use std::process::Command;

fn root() -> PathBuf {
    PathBuf::from(env!("CARGO_MANIFEST_DIR"))
}

fn has(program: &str) -> bool {
    Command::new(program).arg("--version").output().is_ok() || Command::new(program).arg("-v").output().is_ok()
}

/// False, and said, where there is no browser.
fn browser() -> bool {
    let there = has("python3") && ["chromium", "chromium-browser", "google-chrome"].into_iter().any(has);
    if !there {
        eprintln!("skipped: pages in a browser: no python3 or no chromium");
    }
    there
}

/// Where axe-core is; `None`, and said, where it is not.
fn axe() -> Option<String> {
    let file = root().join("target/axe/axe.min.js");
    if !file.exists() {
        eprintln!("skipped: pages checked by axe-core: scripts/fetch-axe has not fetched it");
    }
    file.exists().then(|| file.display().to_string())
}

type Cells = std::collections::BTreeMap<String, String>;

/// The sample town, screened once for each test into a folder of its own.
fn town(more: &[&str]) -> tempfile::TempDir {
    let folder = tempfile::tempdir().unwrap();
    let out = folder.path().join("out");
    let mut args = vec!["screen", "--trees", "data-samples/alderwick_trees.csv", "data-samples/hollin_park.gpkg#trees"];
    args.extend(["--works", "data-samples/alderwick_permits.geojson", "data-samples/alderwick_utilities.shp"]);
    args.extend(["--rules", "one-foot-per-inch", "--layers", "none", "--quiet", "--out", out.to_str().unwrap()]);
    args.extend(more);
    let output = command(&args, &root());
    assert_eq!(output.status.code(), Some(0), "{}", String::from_utf8_lossy(&output.stderr));
    folder
}

fn drive(page: &Path, more: &[&str]) -> Value {
    let driver = root().join("scripts/browser/drive.py");
    let output = Command::new("python3").arg(driver).arg(page).args(more).output().unwrap();
    assert!(output.status.success(), "{}", String::from_utf8_lossy(&output.stderr));
    serde_json::from_slice(&output.stdout).unwrap()
}

fn assert_clean(told: &Value) {
    for what in ["console", "requests", "violations"] {
        assert_eq!(told[what], serde_json::json!([]), "{what}");
    }
}

#[test]
fn pages_are_quiet_and_accessible() {
    if !browser() {
        return;
    }
    let axe = axe();
    let folder = town(&[]);
    let sheets = folder.path().join("out/sheets");
    for page in ["index.html", "AB-25-102.html", "AB-25-133.html", "AB-25-104.html"] {
        for width in ["1280", "390"] {
            assert_accessible(&sheets.join(page), width, axe.as_deref());
        }
    }
}

fn assert_accessible(page: &Path, width: &str, axe: Option<&str>) {
    let mut more = vec!["--width", width];
    more.extend(axe.into_iter().flat_map(|axe| ["--axe", axe]));
    let told = drive(page, &more);
    println!("{} at {width}: first paint after {} ms", page.display(), told["first_paint_ms"]);
    assert_clean(&told);
}

/// With fences, ground cover, lines, water, calendar and quantities; metric and US units, both papers, English and all texts replaced.
#[test]
fn pages_with_protection_are_accessible_in_every_language_and_unit() {
    if !browser() {
        return;
    }
    let axe = axe();
    let surfaces = ["--surfaces", "data-samples/alderwick_surfaces.geojson"];
    let protect = ["--protect", "--start", "2027-03-01", "--end", "2027-06-30"];
    let english = town(&[&surfaces[..], &protect, &["--units", "metric", "--paper", "a4"]].concat());
    let home = tempfile::tempdir().unwrap();
    let foreign = super::languages::town_in_another_language(home.path(), &surfaces);
    for sheets in [english.path().join("out/sheets"), foreign.join("sheets")] {
        for (page, width) in
            [("index.html", "1280"), ("AB-25-102.html", "1280"), ("AB-25-102.html", "390"), ("AB-25-134.html", "390")]
        {
            assert_accessible(&sheets.join(page), width, axe.as_deref());
        }
        let shown = std::fs::read_to_string(sheets.join("AB-25-102.html")).unwrap();
        for part in
            ["fences", "unfenced", "covers", "services", "water", "watering", "calendar", "materials", "design", "near"]
        {
            assert!(shown.contains(&format!("id=\"h-{part}\"")), "{part}");
        }
    }
}

/// 2,000 permits, for 20,000 of which the page may have 10 MB; how soon it is painted is told, and measured in docs/sheets.md.
#[test]
fn an_index_of_many_permits_is_small() {
    if !browser() {
        return;
    }
    let (mut trees, mut works) = ("id,x,y,dbh_in\n".to_string(), "permit_id,status,date,kind,wkt\n".to_string());
    for at in 0..2000 {
        let (x, y) = (at % 50 * 60, at / 50 * 60);
        trees += &format!("T{at},{x},{y},{}\n", 6 + at % 40);
        let (left, right, top) = (x + 3, x + 6, y + 8);
        works += &format!(
            "P-{at:05},under review,2026-01-05,building,\"POLYGON(({left} {y},{right} {y},{right} {top},{left} {top},{left} {y}))\"\n"
        );
    }
    let run = run::screen(&trees, &works, "one-foot-per-inch", &["--layers", "none"]).done();
    let page = run.out().join("sheets/index.html");
    let bytes = std::fs::metadata(&page).unwrap().len();
    assert!(bytes < 1_000_000, "{bytes}");
    let told = drive(&page, &["--evaluate", "document.querySelectorAll('.permits tbody tr').length"]);
    assert_clean(&told);
    assert_eq!(told["value"], 250);
    println!("2,000 permits: {bytes} bytes, first paint after {} ms", told["first_paint_ms"]);
}

/// What is drawn on the maps is what the tables say, as the browser sees it; nothing of a page lies outside its width.
#[test]
fn a_sheet_holds_every_tree_of_the_table() {
    if !browser() {
        return;
    }
    let folder = town(&[]);
    let out = folder.path().join("out");
    let rows = run::table(&out.join("tables/overlaps.csv"));
    for permit in ["AB-25-102", "AB-25-133"] {
        let of: Vec<_> = rows.iter().filter(|row| row["permit_id"] == permit).collect();
        let zones = of.iter().filter(|row| !row["zone_radius_m"].is_empty()).count();
        let ask = "({zones: document.querySelectorAll('.zone').length, trunks: document.querySelectorAll('.trunk').length, \
            rows: document.querySelectorAll('.trees tbody tr').length, labels: document.querySelectorAll('g.label').length, \
            wide: document.documentElement.scrollWidth - innerWidth})";
        for width in ["1280", "390"] {
            let told = drive(&out.join(format!("sheets/{permit}.html")), &["--width", width, "--evaluate", ask]);
            let found = &told["value"];
            assert_eq!(found["rows"], of.len(), "{permit}");
            assert!(found["zones"].as_u64().unwrap() as usize >= zones, "{permit}: {found} {zones}");
            assert!(found["trunks"].as_u64().unwrap() as usize >= of.len(), "{permit}: {found}");
            assert!(found["labels"].as_u64().unwrap() as usize >= of.len(), "{permit}: {found}");
            assert!(found["wide"].as_i64().unwrap() <= 0, "{permit} at {width}: {found}");
        }
    }
}

/// No click, no pointer: only keys, from the top of the page.
#[test]
fn the_index_filters_and_sorts_by_keyboard_alone() {
    if !browser() {
        return;
    }
    let folder = town(&[]);
    let focus = "document.activeElement.id || document.activeElement.textContent";
    let shown = "document.getElementById('shown').textContent";
    let ids = "Array.from(document.querySelectorAll('.permits tbody th')).map(cell => cell.textContent)";
    let order = "document.querySelector('th[data-key=\"0\"]').getAttribute('aria-sort')";
    let seen = "getComputedStyle(document.activeElement).outlineStyle";
    let mut steps = vec![("--key", "Tab"), ("--tell", focus), ("--key", "Enter"), ("--key", "Tab"), ("--tell", focus)];
    steps.extend([
        ("--text", "AB-25-13"),
        ("--tell", shown),
        ("--key", "Control+a"),
        ("--key", "Backspace"),
        ("--tell", shown),
    ]);
    steps.extend([("--key", "Tab"), ("--key", "Tab"), ("--tell", focus), ("--tell", seen)]);
    steps.extend([
        ("--key", "Enter"),
        ("--tell", ids),
        ("--tell", order),
        ("--key", "Space"),
        ("--tell", ids),
        ("--tell", order),
    ]);
    // To the column of heritage-size trees at risk, then on to the first link of the table.
    steps.extend([
        ("--key", "Tab"),
        ("--key", "Tab"),
        ("--key", "Tab"),
        ("--key", "Tab"),
        ("--key", "Enter"),
        ("--tell", ids),
    ]);
    steps.extend([("--key", "Tab"); 8]);
    steps.extend([("--tell", focus), ("--tell", seen)]);
    let steps: Vec<&str> = steps.into_iter().flat_map(|(option, value)| [option, value]).collect();
    let told = drive(&folder.path().join("out/sheets/index.html"), &steps);
    assert_clean(&told);
    let told = told["told"].as_array().unwrap();
    let text = |at: usize| told[at].as_str().unwrap();
    let list =
        |at: usize| -> Vec<&str> { told[at].as_array().unwrap().iter().map(|id| id.as_str().unwrap()).collect() };
    assert_eq!(text(0), "Skip to the content");
    assert_eq!(text(1), "filter", "after the link to the content comes what is in it");
    let table = |name: &str| run::table(&folder.path().join("out/tables").join(name));
    let permits = table("permits.csv");
    let of_text = permits.iter().filter(|row| row["permit_id"].contains("AB-25-13")).count();
    assert!((1..10).contains(&of_text));
    assert_eq!(text(2), format!("{of_text} of {} permits", permits.len()));
    assert_eq!(text(3), format!("{0} of {0} permits", permits.len()));
    assert_eq!(text(4), "Permit");
    assert_eq!(text(5), "solid", "the focus is seen");
    let mut ascending: Vec<&str> = permits.iter().map(|row| row["permit_id"].as_str()).collect();
    ascending.sort_unstable();
    assert_eq!((list(6), text(7)), (ascending.clone(), "ascending"));
    ascending.reverse();
    assert_eq!((list(8), text(9)), (ascending, "descending"));
    // A tree that several permits put at risk together counts for each of them, but for those whose works do nothing to it, and where its trunk stands
    // in the works of others.
    let (alone, together) = (table("overlaps.csv"), table("cumulative.csv"));
    let at_risk = |id: &str| -> usize {
        let names = |row: &Cells| row.get("permit_ids").is_some_and(|ids| ids.split("; ").any(|permit| permit == id));
        let own = || alone.iter().filter(|row| row["permit_id"] == id);
        let touched = |row: &Cells| own().any(|one| one["tree_id"] == row["tree_id"] && one["finding"] != "untouched");
        let shared = |row: &&Cells| names(row) && touched(row) && row["finding"] != "trunk_in_work";
        let of_permit = own().chain(together.iter().filter(shared));
        let trees = of_permit.filter(|row| {
            !row["heritage_class"].is_empty() && ["major", "trunk_in_work"].contains(&row["finding"].as_str())
        });
        trees.map(|row| row["tree_id"].as_str()).collect::<std::collections::BTreeSet<_>>().len()
    };
    let by_risk: Vec<usize> = list(10).into_iter().map(at_risk).collect();
    assert!(by_risk[0] > 0 && by_risk.is_sorted_by(|a, b| a >= b), "{by_risk:?}");
    assert_eq!(text(11), list(10)[0], "the first permit of the table is reached by Tab");
    assert_eq!(text(12), "solid");
}

/// Printed: the paper asked for, every tree in the text, no map cut by the edge of a page, and no bar over the next column.
#[test]
fn sheets_print() {
    if !browser() {
        return;
    }
    for (paper, size) in [("a4", "594.96 x 841.92"), ("letter", "612 x 792")] {
        let folder = town(&["--paper", paper]);
        let page = folder.path().join("out/sheets/AB-25-102.html");
        let pdf = folder.path().join("sheet.pdf");
        // On paper the map is 180 mm wide, 680.3 px of 96 to the inch, and shorter than what a page has below its head.
        let ask = "({maps: Array.from(document.querySelectorAll('.plan')).map(map => { const box = map.getBoundingClientRect(); return [box.width, box.height, \
            getComputedStyle(map.closest('figure')).breakInside]; }), bars: Array.from(document.querySelectorAll('.bar')).map(bar => \
            bar.closest('td').getBoundingClientRect().right - bar.getBoundingClientRect().right)})";
        let told = drive(&page, &["--print", "--width", "700", "--pdf", pdf.to_str().unwrap(), "--evaluate", ask]);
        assert_clean(&told);
        let maps = told["value"]["maps"].as_array().unwrap();
        let bars = told["value"]["bars"].as_array().unwrap();
        assert!(!bars.is_empty() && bars.iter().all(|room| room.as_f64().unwrap() >= 0.0), "{bars:?}");
        assert!(!maps.is_empty());
        for map in maps {
            assert!((map[0].as_f64().unwrap() - 680.3).abs() < 1.0, "{map}");
            assert!(map[1].as_f64().unwrap() < 235.0 / 25.4 * 96.0 && map[2] == "avoid", "{map}");
        }
        assert!(std::fs::metadata(&pdf).unwrap().len() > 10_000);
        if !has("pdfinfo") || !has("pdftotext") {
            eprintln!("skipped: pages of the PDF: no pdfinfo or pdftotext (poppler-utils)");
            continue;
        }
        let facts = Command::new("pdfinfo").arg(&pdf).output().unwrap();
        let facts = String::from_utf8_lossy(&facts.stdout).into_owned();
        assert!(facts.lines().any(|line| line.starts_with("Page size:") && line.contains(size)), "{facts}");
        let pages: u32 = facts.lines().find_map(|line| line.strip_prefix("Pages:")).unwrap().trim().parse().unwrap();
        assert!((2..=6).contains(&pages), "{facts}");
        let text = Command::new("pdftotext").arg("-layout").arg(&pdf).arg("-").output().unwrap();
        let text = String::from_utf8_lossy(&text.stdout).into_owned();
        for row in run::table(&folder.path().join("out/tables/overlaps.csv")) {
            assert!(row["permit_id"] != "AB-25-102" || text.contains(&row["tree_id"]), "{}", row["tree_id"]);
        }
    }
}
