//! Service lines through the whole command: lengths, bores and shifts worked out by hand, and moved lines measured anew as works.
//!
//! Rule set one-foot-per-inch: r = 12 x diameter, at least 6 ft; rings half and quarter. 83.33333 cm gives r = 10 m. Trees and works
//! are written in the plane that is measured in.

#![allow(clippy::unwrap_used)]

use crate::run::{Run, number, screen, table};
use std::collections::BTreeMap;

type Row = BTreeMap<String, String>;

/// A place of 0, 0 would read as "not known".
const ORIGIN: f64 = 1000.0;
const TEN_METRES: &str = "83.33333333";

fn trees(rows: &[(&str, f64, f64, &str)]) -> String {
    let row =
        |(id, x, y, diameter): &(&str, f64, f64, &str)| format!("{id},{},{},{diameter}\n", x + ORIGIN, y + ORIGIN);
    format!("id,x,y,dbh_cm\n{}", rows.iter().map(row).collect::<String>())
}

/// WKT of a line, or of several.
fn line(parts: &[&[(f64, f64)]]) -> String {
    let part = |points: &&[(f64, f64)]| {
        let places: Vec<String> = points.iter().map(|(x, y)| format!("{} {}", x + ORIGIN, y + ORIGIN)).collect();
        format!("({})", places.join(", "))
    };
    format!("MULTILINESTRING ({})", parts.iter().map(part).collect::<Vec<_>>().join(", "))
}

fn works(rows: &[(&str, &str, String)]) -> String {
    let row = |(permit, kind, wkt): &(&str, &str, String)| format!("{permit},{kind},\"{wkt}\"\n");
    format!("permit_id,kind,wkt\n{}", rows.iter().map(row).collect::<String>())
}

fn protect(trees_csv: &str, works_csv: &str) -> Run {
    screen(trees_csv, works_csv, "one-foot-per-inch", &["--protect"]).done()
}

/// The only row of a tree under the only permit.
fn row(run: &Run, tree: &str) -> Row {
    let mut rows: Vec<Row> = run.table("services.csv").into_iter().filter(|row| row["tree_id"] == tree).collect();
    assert_eq!(rows.len(), 1, "{tree}: {rows:?}");
    rows.remove(0)
}

#[track_caller]
fn close(row: &Row, column: &str, expected: f64) {
    let got = number(row, column);
    assert!((got - expected).abs() <= 0.001, "{column}: got {got}, expected {expected}");
}

/// A trench of 0.6 m at d = 6 m from a tree of r = 10 m: 2 sqrt(100 - 36) = 16 m in the zone, none in the half ring (5 m). The edge is
/// 5.7 m off, 6.84 diameters. Pits 0.5 m clear and 1 m wide: 2 sqrt(121 - 36) = 18.4391 m. Shift: 10 + 0.3 + 0.01 - 6 = 4.31 m north.
#[test]
fn a_straight_trench_past_one_tree() {
    let trench = line(&[&[(-40.0, 6.0), (40.0, 6.0)]]);
    let run = protect(&trees(&[("T", 0.0, 0.0, TEN_METRES)]), &works(&[("P", "trench", trench)]));
    let row = row(&run, "T");
    close(&row, "zone_length_m", 16.0);
    close(&row, "zone_length_ft", 16.0 / 0.3048);
    assert_eq!((row["half_length_m"].as_str(), row["half_length_ft"].as_str()), ("0.000", "0.000"));
    close(&row, "centre_line_distance_m", 6.0);
    close(&row, "distance_m", 5.7);
    close(&row, "distance_diameters", 5.7 / 0.833_333_333);
    assert_eq!(row["cut_close_to_trunk"], "no");
    close(&row, "bore_depth_ft", 4.5);
    close(&row, "bore_length_m", 85f64.sqrt() * 2.0);
    assert_eq!((row["bore_possible"].as_str(), row["pits"].as_str()), ("yes", "2"));
    close(&row, "zone_shift_m", 4.31);
    assert_eq!(row["zone_shift_bearing_deg"], "0.0");
    // A straight cut at 0.57 r severs s = acos(d) - d sqrt(1 - d2) = 0.963869 - 0.468341 of pi = 15.7731 % (worked out by hand to 4
    // digits): over 10 %, so moderate, and moving comes before boring.
    assert!((number(&row, "line_severed_pct") - 15.77).abs() < 0.02, "{row:?}");
    let words = (row["finding"].as_str(), row["advice"].as_str(), row["finding_after_shift"].as_str());
    assert_eq!((words.1, words.2), ("move", "untouched"), "{words:?}");
    assert_eq!((row["finding_without_line"].as_str(), row["trees_measured_again"].as_str()), ("untouched", "1"));
    assert!(run.stdout().contains("Service lines        1 in root zones"), "{}", run.stdout());
}

/// Through the trunk: 20 m in the zone, 10 and 5 m in the rings; 10.31 m to leave, which 5 m are not. The half ring is left after 5.31 m.
#[test]
fn through_the_trunk_it_is_bored() {
    let trench = line(&[&[(-40.0, 0.0), (40.0, 0.0)]]);
    let inputs = (trees(&[("T", 0.0, 0.0, TEN_METRES)]), works(&[("P", "trench", trench)]));
    let near = row(&protect(&inputs.0, &inputs.1), "T");
    close(&near, "zone_length_m", 20.0);
    close(&near, "half_length_m", 10.0);
    close(&near, "quarter_length_m", 5.0);
    close(&near, "bore_length_m", 22.0);
    assert_eq!((near["advice"].as_str(), near["zone_shift_m"].as_str()), ("bore", ""));
    assert_eq!((near["finding"].as_str(), near["cut_close_to_trunk"].as_str()), ("trunk_in_work", "yes"));
    let far = screen(&inputs.0, &inputs.1, "one-foot-per-inch", &["--protect", "--shift-within", "11"]).done();
    let far = row(&far, "T");
    close(&far, "zone_shift_m", 10.31);
    close(&far, "ring_shift_m", 5.31);
    assert_eq!((far["ring_shift"].as_str(), far["advice"].as_str()), ("half", "move"));
}

/// The neighbour on the far side has no row, because its zone ends 1 m beyond the trench: without it the trench would be pushed there.
#[test]
fn a_trench_is_not_pushed_into_a_neighbour_without_a_row() {
    let trench = works(&[("P", "trench", line(&[&[(-40.0, 6.0), (40.0, 6.0)]]))]);
    let alone = row(&protect(&trees(&[("T", 0.0, 0.0, TEN_METRES)]), &trench), "T");
    assert_eq!(alone["zone_shift_m"], "4.310");
    let neighbours = trees(&[("T", 0.0, 0.0, TEN_METRES), ("N", 0.0, 17.3, TEN_METRES), ("S", 0.0, -16.0, TEN_METRES)]);
    let run = protect(&neighbours, &trench);
    assert!(run.table("overlaps.csv").iter().all(|row| row["tree_id"] != "N"), "the neighbour has no row");
    let between = row(&run, "T");
    assert_eq!((between["zone_shift_m"].as_str(), between["advice"].as_str()), ("", "bore"), "{between:?}");
    assert!(between["reason"].contains("no shift within 5 m"), "{between:?}");
    // A neighbour that is to be removed is in nobody's way; one without a diameter keeps its search distance.
    let removed = neighbours
        .replace("dbh_cm\n", "dbh_cm,disposition\n")
        .replace("1017.3,83.33333333", "1017.3,83.33333333,remove");
    let removed =
        removed.lines().map(|line| if line.matches(',').count() == 3 { format!("{line},") } else { line.to_string() });
    let removed = removed.collect::<Vec<_>>().join("\n") + "\n";
    let run = protect(&removed, &trench);
    assert_eq!(row(&run, "T")["zone_shift_m"], "4.310");
    let unknown = neighbours.replace("1017.3,83.33333333", "1017.3,");
    let run = protect(&unknown, &trench);
    assert_eq!(row(&run, "T")["zone_shift_m"], "");
    assert_eq!(row(&run, "N")["advice"], "measure the tree");
}

/// Two trees 13 m apart on either side of a trench: it leaves neither zone. Two on one side: one shift leaves both.
#[test]
fn one_shift_out_of_every_zone_or_none() {
    let trench = || works(&[("P", "trench", line(&[&[(-40.0, 6.5), (40.0, 6.5)]]))]);
    let either_side = protect(&trees(&[("A", 0.0, 0.0, TEN_METRES), ("B", 1.0, 13.0, TEN_METRES)]), &trench());
    for tree in ["A", "B"] {
        let row = row(&either_side, tree);
        assert_eq!((row["zone_shift_m"].as_str(), row["every_zone_shift_m"].as_str()), ("", ""), "{row:?}");
    }
    // A wants 10.31 - 6.5 = 3.81 m, B, 1 m further south, 2.81 m: 3.81 m leave both.
    let one_side = protect(&trees(&[("A", 0.0, 0.0, TEN_METRES), ("B", 15.0, -1.0, TEN_METRES)]), &trench());
    for (tree, own) in [("A", 3.81), ("B", 2.81)] {
        let row = row(&one_side, tree);
        close(&row, "zone_shift_m", own);
        close(&row, "every_zone_shift_m", 3.81);
        assert_eq!(row["finding_after_shift"], if row["advised_shift"].is_empty() { "" } else { "untouched" });
    }
}

/// A bend, two parts, a line wholly inside, one of a single place, and a trench that only grazes the zone with its edge.
#[test]
fn lines_of_every_form() {
    let tree = trees(&[("T", 0.0, 0.0, TEN_METRES)]);
    let forms: [(&str, String); 5] = [
        ("bend", line(&[&[(40.0, 0.0), (1.0, 0.0), (1.0, 40.0)]])),
        ("parts", line(&[&[(-40.0, 6.0), (40.0, 6.0)], &[(-40.0, -8.0), (40.0, -8.0)]])),
        ("inside", line(&[&[(2.0, 3.0), (5.0, 7.0)]])),
        ("place", line(&[&[(6.0, 0.0), (6.0, 0.0)]])),
        ("edge", line(&[&[(-40.0, 10.2), (40.0, 10.2)]])),
    ];
    let rows: Vec<(&str, &str, String)> = forms.iter().map(|(permit, wkt)| (*permit, "trench", wkt.clone())).collect();
    let run = protect(&tree, &works(&rows));
    let table = run.table("services.csv");
    let of = |permit: &str| table.iter().find(|row| row["permit_id"] == permit).unwrap_or_else(|| panic!("{permit}"));
    // 9 m in from the east, then sqrt(99) m north.
    close(of("bend"), "zone_length_m", 9.0 + 99f64.sqrt());
    assert!(of("bend")["pits_place"].contains("bends by 90 degrees"));
    // 16 m and 2 sqrt(100 - 64) = 12 m.
    close(of("parts"), "zone_length_m", 28.0);
    close(of("parts"), "bore_length_m", 2.0 * 85f64.sqrt() + 2.0 * 57f64.sqrt());
    assert_eq!(of("parts")["pits"], "4");
    close(of("inside"), "zone_length_m", 5.0);
    assert_eq!((of("inside")["bore_possible"].as_str(), of("inside")["pits"].as_str()), ("no", "0"));
    close(of("place"), "zone_length_m", 0.0);
    close(of("place"), "zone_shift_m", 4.31);
    close(of("edge"), "zone_length_m", 0.0);
    close(of("edge"), "distance_m", 9.9);
    close(of("edge"), "zone_shift_m", 0.11);
}

/// Walls, paths and polygons are no service lines; a deep bore takes nothing; a line without a width is set aside.
#[test]
fn what_is_no_service_line() {
    let across = || line(&[&[(-40.0, 6.0), (40.0, 6.0)]]);
    let polygon = "POLYGON ((960 1005.7, 1040 1005.7, 1040 1006.3, 960 1006.3, 960 1005.7))".to_string();
    let rows = [("wall", "wall", across()), ("area", "trench", polygon)];
    let run = protect(&trees(&[("T", 0.0, 0.0, TEN_METRES)]), &works(&rows));
    assert!(run.table("services.csv").is_empty(), "{:?}", run.table("services.csv"));
    assert!(run.stdout().contains("Service lines        none crosses"), "{}", run.stdout());
    let bores = "permit_id,kind,depth_m,wkt\n".to_string()
        + &[("deep", "3"), ("shallow", "0.5")]
            .map(|(permit, depth)| format!("{permit},bore,{depth},\"{}\"\n", across()))
            .concat();
    let run = screen(&trees(&[("T", 0.0, 0.0, TEN_METRES)]), &bores, "arlington-county", &["--protect"]).done();
    let rows = run.table("services.csv");
    assert!(rows.len() == 1 && rows[0]["permit_id"] == "shallow", "{rows:?}");
    assert!(rows[0]["reason"].contains("pass deeper"), "{rows:?}");
    assert_eq!(rows[0]["bore_depth_from"], "4.5 ft by the rule set arlington-county (seen)");
}

/// What a moved line would newly meet of its own permit is said.
#[test]
fn other_works_in_the_way_are_named() {
    let hole = "POLYGON ((1000 1009, 1004 1009, 1004 1012, 1000 1012, 1000 1009))".to_string();
    let rows = [("P", "trench", line(&[&[(-40.0, 6.0), (40.0, 6.0)]])), ("P", "storage", hole)];
    let run = protect(&trees(&[("T", 0.0, 0.0, TEN_METRES)]), &works(&rows));
    let row = row(&run, "T");
    assert!(row["advice"] != "move" || row["meets_after_shift"].starts_with("storage "), "{row:?}");
    assert_eq!(row["advice"], "move", "{row:?}");
    let sheet = std::fs::read_to_string(run.out().join("sheets/P.html")).unwrap();
    assert!(sheet.contains("the tree is then: minor. There it meets storage "), "{row:?}");
}

/// The layer: the line as proposed, and moved by the shift of the table.
#[test]
fn the_layer_has_the_line_and_its_shift() {
    let trench = line(&[&[(-40.0, 6.0), (40.0, 6.0)]]);
    let run = protect(&trees(&[("T", 0.0, 0.0, TEN_METRES)]), &works(&[("P", "trench", trench)]));
    let text = std::fs::read_to_string(run.out().join("layers/service_lines.geojson")).unwrap();
    let layer: serde_json::Value = serde_json::from_str(&text).unwrap();
    let features = layer["features"].as_array().unwrap();
    let words: Vec<&str> = features.iter().map(|one| one["properties"]["line"].as_str().unwrap()).collect();
    assert_eq!(words, ["as proposed", "moved"]);
    let north = |feature: &serde_json::Value| feature["geometry"]["coordinates"][0][1].as_f64().unwrap();
    // 4.31 m north are 4.31 / 111,229 m of a degree at 50 degrees north (111,132.95 - 559.85 cos 100 + ... m a degree).
    let moved_m = (north(&features[1]) - north(&features[0])) * 111_229.0;
    assert!((moved_m - 4.31).abs() < 0.03, "{moved_m}");
    assert!(run.out().join("layers/service_lines.sld").is_file());
    let without =
        screen("id,x,y,dbh_cm\nT,1000,1000,80\n", &works(&[]), "one-foot-per-inch", &["--layers", "service_lines"]);
    assert_eq!(without.output.status.code(), Some(2));
    assert!(without.stderr().contains("with --protect only"), "{}", without.stderr());
}

/// Numbers from a fixed start, the same every time (the generator of Numerical Recipes; any would do).
struct Numbers(u64);

impl Numbers {
    fn between(&mut self, low: f64, high: f64) -> f64 {
        self.0 = self.0.wrapping_mul(1_664_525).wrapping_add(1_013_904_223) % (1 << 32);
        low + (high - low) * (self.0 as f64 / (1u64 << 32) as f64)
    }
}

/// A permit and the points of its trench.
type Trench = (String, Vec<(f64, f64)>);

/// A street of 40 blocks, 100 m apart, each with trees at random and one bent trench under a permit of its own.
fn street() -> (String, Vec<Trench>) {
    let mut numbers = Numbers(2031);
    let (mut trees_csv, mut trenches) = (String::from("id,x,y,dbh_cm\n"), Vec::new());
    for block in 0..40 {
        let east = ORIGIN + 100.0 * f64::from(block);
        for tree in 0..9 {
            let (x, y) = (east + numbers.between(-25.0, 25.0), ORIGIN + numbers.between(-20.0, 20.0));
            let diameter = if tree == 8 { String::new() } else { format!("{:.1}", numbers.between(5.0, 60.0)) };
            trees_csv.push_str(&format!("B{block}-{tree},{x:.3},{y:.3},{diameter}\n"));
        }
        let points = [-30.0, 0.0, 30.0].map(|x| (east + x, ORIGIN + numbers.between(-12.0, 12.0)));
        trenches.push((format!("P{block}"), points.to_vec()));
    }
    (trees_csv, trenches)
}

fn trench_works(trenches: &[Trench]) -> String {
    let row = |(permit, points): &Trench| {
        let places: Vec<String> = points.iter().map(|(x, y)| format!("{x} {y}")).collect();
        format!("{permit},trench,\"LINESTRING ({})\"\n", places.join(", "))
    };
    format!("permit_id,kind,wkt\n{}", trenches.iter().map(row).collect::<String>())
}

/// Every shift of the table (zone, ring, every zone), drawn as a work of its own and screened anew: no tree of the town is worse off.
#[test]
fn moved_lines_measured_anew_make_no_tree_worse() {
    let (trees_csv, trenches) = street();
    let before = protect(&trees_csv, &trench_works(&trenches));
    let lines: BTreeMap<&str, &Vec<(f64, f64)>> =
        trenches.iter().map(|(permit, points)| (permit.as_str(), points)).collect();
    let mut moved = Vec::new();
    for row in before.table("services.csv") {
        for shift in ["zone_shift", "ring_shift", "every_zone_shift", "advised_shift"]
            .iter()
            .filter(|shift| !row[&format!("{shift}_m")].is_empty())
        {
            let (distance_m, bearing) =
                (number(&row, &format!("{shift}_m")), number(&row, &format!("{shift}_bearing_deg")).to_radians());
            let permit = format!("{}|{}|{shift}", row["permit_id"], row["tree_id"]);
            let points = lines[row["permit_id"].as_str()];
            moved.push((
                permit,
                points.iter().map(|(x, y)| (x + distance_m * bearing.sin(), y + distance_m * bearing.cos())).collect(),
            ));
        }
    }
    assert!(moved.len() > 60, "only {} shifts were found", moved.len());
    let after = screen(&trees_csv, &trench_works(&moved), "one-foot-per-inch", &[]).done();
    let findings = |run: &Run| -> BTreeMap<(String, String), (usize, f64, f64)> {
        let words = ["untouched", "minor", "moderate", "not_assessed", "major", "trunk_in_work"];
        let of = |row: Row| {
            let rank = words.iter().position(|word| *word == row["finding"]).unwrap();
            let pct = row["affected_pct"].parse().unwrap_or(0.0);
            ((row["permit_id"].clone(), row["tree_id"].clone()), (rank, pct, number(&row, "distance_m")))
        };
        table(&run.out().join("tables/overlaps.csv")).into_iter().map(of).collect()
    };
    let (before, after) = (findings(&before), findings(&after));
    for ((permit, tree), (rank, pct, distance_m)) in &after {
        let own: Vec<&str> = permit.split('|').collect();
        let known = before.get(&(own[0].to_string(), tree.clone()));
        let (rank_before, pct_before, distance_before) = known.copied().unwrap_or((0, 0.0, f64::INFINITY));
        // The table rounds shifts to a millimetre and bearings to a tenth of a degree: a few millimetres.
        assert!(*rank <= rank_before && *pct <= pct_before + 0.2, "{permit} {tree}: {rank} {pct} %, before {known:?}");
        assert!(
            *rank != 3 || *distance_m >= distance_before - 0.02,
            "{permit} {tree}: nearer to a tree without a diameter"
        );
        assert!(
            own[1] != tree || own[2] == "ring_shift",
            "{permit}: the tree that was to be left still has a row: {pct} %"
        );
    }
}

/// A line is moved only once: one shift for all trees that it is advised for, and it is the one of the layer.
#[test]
fn a_line_is_moved_only_once() {
    let (trees_csv, trenches) = street();
    let run = protect(&trees_csv, &trench_works(&trenches));
    let mut by_line: BTreeMap<String, Vec<Row>> = BTreeMap::new();
    for row in run.table("services.csv") {
        assert_eq!(row["advised_shift"].is_empty(), row["advised_shift_m"].is_empty(), "{row:?}");
        let moves = matches!(row["advice"].split(' ').next(), Some("move"));
        assert_eq!(moves, !row["advised_shift"].is_empty(), "{row:?}");
        if moves {
            by_line.entry(row["work_id"].clone()).or_default().push(row);
        }
    }
    assert!(by_line.len() > 15 && by_line.values().any(|rows| rows.len() > 1), "{}", by_line.len());
    let text = std::fs::read_to_string(run.out().join("layers/service_lines.geojson")).unwrap();
    let layer: serde_json::Value = serde_json::from_str(&text).unwrap();
    let moved = layer["features"].as_array().unwrap().iter().filter(|one| one["properties"]["line"] == "moved");
    let moved: BTreeMap<String, f64> = moved
        .map(|one| {
            let properties = &one["properties"];
            (properties["work_id"].as_str().unwrap().to_string(), properties["shift_m"].as_f64().unwrap())
        })
        .collect();
    assert_eq!(moved.len(), by_line.len());
    for (work, rows) in &by_line {
        assert!(rows.iter().all(|row| number(row, "advised_shift_m") == moved[work]), "{work}: {rows:?}");
    }
}

#[test]
fn the_number_of_threads_does_not_show() {
    let (trees_csv, trenches) = street();
    let bytes = |threads: &str| {
        let run =
            screen(&trees_csv, &trench_works(&trenches), "one-foot-per-inch", &["--protect", "--threads", threads])
                .done();
        ["tables/services.csv", "layers/service_lines.geojson"].map(|name| std::fs::read(run.out().join(name)).unwrap())
    };
    let one = bytes("1");
    assert!(one == bytes("2") && one == bytes("7"));
}
