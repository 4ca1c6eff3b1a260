//! Fences and ground cover through the command, on one tree of 24 in: r = 24 ft under one foot per inch. Numbers are closed forms of that disc.

#![allow(clippy::unwrap_used)]

use crate::run::{PLANE, Run, command, number};
use std::collections::BTreeMap;
use std::f64::consts::PI;

const FOOT_M: f64 = 0.3048;
const R_M: f64 = 24.0 * FOOT_M;
const TREES: &str = "id,x,y,dbh_cm,species,crown_radius_m\nT,1000,1000,60.96,Tilia cordata,9\n";
/// A deep bore beneath the zone: the tree is in reach, and nothing stands in the way.
const BORE: &str = "permit_id,kind,depth_m,wkt\nP,bore,3,\"LINESTRING (900 1002, 1100 1002)\"\n";
/// A building whose long face stands half the radius east of the trunk.
const WALL: &str = "permit_id,kind,wkt\nP,building,\"POLYGON ((1003.6576 900, 1100 900, 1100 1100, 1003.6576 1100, 1003.6576 900))\"\n";
/// A garden wall that stands already, half the radius north of the trunk.
const BARRIER: &str =
    "kind,wkt\nwall,\"POLYGON ((900 1003.6576, 1200 1003.6576, 1200 1003.9, 900 1003.9, 900 1003.6576))\"\n";
/// A site that ends half the radius east of the trunk.
const SITE: &str = "wkt\n\"POLYGON ((900 900, 1003.6576 900, 1003.6576 1100, 900 1100, 900 900))\"\n";
/// Own values: another chain-link fence, a fence of a new name, and next to nothing kept free around the trunk's face.
const VALUES: &str = r#"
[[fence]]
name = "chain-link"
text = "our own"
height = { is = "8 ft", from = { status = "common practice", date = 2026-11-25 } }
post_spacing = { is = "12 ft", from = { status = "common practice", date = 2026-11-25 } }
sign_spacing = { is = "50 ft", from = { status = "common practice", date = 2026-11-25 } }
gates = { is = 2, from = { status = "common practice", date = 2026-11-25 } }
gate_width = { is = "4 ft", from = { status = "common practice", date = 2026-11-25 } }

[[fence]]
name = "hurdles"
text = "woven hurdles"
height = { is = "1 m", from = { status = "common practice", date = 2026-11-25 } }
post_spacing = { is = "2 m", from = { status = "common practice", date = 2026-11-25 } }
sign_spacing = { is = "20 m", from = { status = "common practice", date = 2026-11-25 } }
gates = { is = 1, from = { status = "common practice", date = 2026-11-25 } }
gate_width = { is = "1 m", from = { status = "common practice", date = 2026-11-25 } }

[trunk]
kept_free = { is = "0.01 in", from = { status = "common practice", date = 2026-11-25 } }
"#;

type Table = Vec<BTreeMap<String, String>>;

/// A run of a verb over the tree and its works; files are given by name and text.
fn run_of(verb: &[&str], works: &str, rules: &str, files: &[(&str, &str)], more: &[&str]) -> Run {
    let folder = tempfile::tempdir().unwrap();
    for (name, text) in [("trees.csv", TREES), ("works.csv", works)].iter().chain(files) {
        std::fs::write(folder.path().join(name), text).unwrap();
    }
    let mut args = verb.to_vec();
    args.extend(["--trees", "trees.csv", "--works", "works.csv", "--rules", rules, "--out", "out"]);
    args.extend(["--trees-crs", PLANE, "--works-crs", PLANE]);
    args.extend(more);
    let output = command(&args, folder.path());
    Run { folder, output }
}

fn protect(works: &str, files: &[(&str, &str)], more: &[&str]) -> Run {
    run_of(&["screen", "--protect"], works, "one-foot-per-inch", files, more)
}

/// The one fence of a run.
fn fence(run: &Run) -> BTreeMap<String, String> {
    let rows = run.table("fences.csv");
    let [row] = rows.as_slice() else { panic!("{rows:?}") };
    row.clone()
}

fn cover(run: &Run, place: &str, material: &str) -> BTreeMap<String, String> {
    let rows: Table = run.table("ground_cover.csv");
    let found: Vec<_> = rows.iter().filter(|row| row["place"] == place && row["material"] == material).collect();
    let [row] = found.as_slice() else { panic!("{place} {material}: {rows:?}") };
    (*row).clone()
}

#[track_caller]
fn near(got: f64, wanted: f64, within: f64) {
    assert!((got - wanted).abs() <= within, "got {got}, wanted {wanted}");
}

/// The part of the disc beyond a line at a distance from its centre: r^2 acos(d / r) - d sqrt(r^2 - d^2).
fn segment_m2(radius_m: f64, distance_m: f64) -> f64 {
    radius_m.powi(2) * (distance_m / radius_m).acos() - distance_m * (radius_m.powi(2) - distance_m.powi(2)).sqrt()
}

fn disc_m2() -> f64 {
    PI * R_M * R_M
}

/// 2 pi 24 ft = 150.796 ft, in stretches of no more than each specification's spacing.
#[test]
fn each_specification_in_open_ground() {
    for (name, height_m, spacing_m, sign_m, posts) in [
        ("chain-link", 1.829, 10.0 * FOOT_M, 100.0 * FOOT_M, 16),
        ("welded-wire", 1.524, 8.0 * FOOT_M, 100.0 * FOOT_M, 19),
        ("low-fence", 1.219, 10.0 * FOOT_M, 100.0 * FOOT_M, 16),
        ("two-metre-fixed", 2.0, 2.5, 30.0, 19),
        ("braced-frame", 2.3, 3.0, 30.0, 16),
    ] {
        let row = fence(&protect(BORE, &[], &["--fence", name]).done());
        let length_m = 2.0 * PI * R_M;
        near(number(&row, "length_ft"), 150.796, 5e-4);
        near(number(&row, "area_m2"), disc_m2(), 0.01);
        near(number(&row, "height_m"), height_m, 5e-4);
        near(number(&row, "trunk_distance_ft"), 24.0, 1e-3);
        assert_eq!(number(&row, "posts"), (length_m / spacing_m).ceil(), "{name}");
        assert_eq!((number(&row, "posts"), number(&row, "panels")), (f64::from(posts), f64::from(posts)), "{name}");
        assert_eq!(number(&row, "signs"), (length_m / sign_m).ceil(), "{name}");
        assert_eq!((row["gates"].as_str(), row["warnings"].as_str()), ("1", ""), "{name}");
    }
    let run = protect(BORE, &[], &["--fence", "picket"]);
    assert_eq!(run.output.status.code(), Some(2));
    assert!(run.stderr().contains("no fence is named `picket`; expected one of chain-link"), "{}", run.stderr());
}

/// Mulch of 4 in less a ring of 1 ft is 22.30 cu yd, pi (24^2 - 1) / 81, where nothing is kept free beside the trunk of 2 ft; the table's
/// own 6 in leave pi (24^2 - 1.5^2) / 81 = 22.25.
#[test]
fn own_values_go_over_the_table() {
    let values = [("values.toml", VALUES)];
    let run = protect(BORE, &values, &["--protection-values", "values.toml"]).done();
    let row = fence(&run);
    near(number(&row, "height_ft"), 8.0, 1e-3);
    // 150.796 ft: 13 stretches of 12 ft, 4 of 50 ft.
    assert_eq!([&row["posts"], &row["signs"], &row["gates"]], ["13", "4", "2"]);
    near(number(&cover(&run, "inside fence", "mulch"), "volume_most_cuyd"), 22.30, 2e-3);
    near(number(&cover(&run, "inside fence", "mulch"), "volume_least_cuyd"), 11.15, 2e-3);
    let of_table = protect(BORE, &[], &[]).done();
    near(number(&cover(&of_table, "inside fence", "mulch"), "volume_most_cuyd"), 22.253, 2e-3);
    // A fence that the file adds; 45.963 m are 23 stretches of 2 m.
    let hurdles = protect(BORE, &values, &["--protection-values", "values.toml", "--fence", "hurdles"]).done();
    assert_eq!((fence(&hurdles)["posts"].as_str(), fence(&hurdles)["specification"].as_str()), ("23", "hurdles"));
    let wrong = VALUES.replace("post_spacing = { is = \"12 ft\"", "post_spacing = { is = \"12\"");
    let run = protect(BORE, &[("values.toml", &wrong)], &["--protection-values", "values.toml"]);
    assert_eq!(run.output.status.code(), Some(1));
    assert!(run.stderr().contains("values.toml:6:"), "{}", run.stderr());
}

/// A building at r / 2: the disc less the segment beyond r / 2 less the clearance; what lies between is covered, the rest built on.
#[test]
fn the_clearance_moves_the_fence() {
    let d = R_M / 2.0;
    for (clearance, ring) in [("0.5", ""), ("1", ""), ("2", "T")] {
        let run = protect(WALL, &[], &["--clearance", clearance]).done();
        let (row, h) = (fence(&run), d - clearance.parse::<f64>().unwrap());
        near(number(&row, "area_m2"), disc_m2() - segment_m2(R_M, h), 0.05);
        near(number(&row, "length_m"), 2.0 * (PI - (h / R_M).acos()) * R_M + 2.0 * (R_M * R_M - h * h).sqrt(), 0.1);
        near(number(&row, "trunk_distance_m"), h, 2e-3);
        // The quarter ring is 6 ft: at a clearance of 2 m the fence comes within it.
        assert_eq!(row["inside_ring_tree_ids"], ring);
        assert_eq!(row["warnings"], if ring.is_empty() { "" } else { "fence_within_reserved_ring" });
        let strip_m2 = segment_m2(R_M, h) - segment_m2(R_M, d);
        near(number(&cover(&run, "outside fence", "chips"), "area_m2"), strip_m2, 0.05);
    }
    for wrong in ["-1", "1001", "nan", "one"] {
        let run = protect(WALL, &[], &["--clearance", wrong]);
        assert_eq!(run.output.status.code(), Some(2), "{wrong}");
        assert!(run.stderr().contains("--clearance"), "{}", run.stderr());
    }
}

#[test]
fn heavier_traffic_needs_more_ground_cover() {
    for (traffic, least_in, most_in, materials, engineered) in [
        ("foot", 4.0, 6.0, &["geotextile", "chips"][..], "no"),
        ("light", 6.0, 6.0, &["geotextile", "chips", "boards"], "no"),
        ("heavy", 6.0, 12.0, &["geotextile", "chips", "mats"], "yes"),
    ] {
        let run = protect(WALL, &[], &["--traffic", traffic]).done();
        let rows = run.table("ground_cover.csv");
        let outside: Vec<_> = rows.iter().filter(|row| row["place"] == "outside fence").collect();
        assert_eq!(outside.iter().map(|row| row["material"].as_str()).collect::<Vec<_>>(), materials);
        assert!(outside.iter().all(|row| row["traffic"] == traffic && row["to_be_engineered"] == engineered));
        let chips = cover(&run, "outside fence", "chips");
        assert_eq!((number(&chips, "depth_least_in"), number(&chips, "depth_most_in")), (least_in, most_in));
        near(number(&chips, "volume_most_m3"), number(&chips, "area_m2") * most_in * 0.0254, 1e-3);
    }
}

/// `[protection]` of a rule file: the drip line of 9 m, the ring and the fence; --fence goes before the last.
#[test]
fn a_rule_file_says_where_fences_stand() {
    let built_in =
        std::fs::read_to_string(concat!(env!("CARGO_MANIFEST_DIR"), "/src/rules/sets/one-foot-per-inch.toml"));
    let own = |table: &str| {
        let from = "from = { status = \"common practice\", date = 2026-11-25 }";
        format!("{}\n[protection]\n{table}\n{from}\n", built_in.as_ref().unwrap())
    };
    let run = |table: &str, works: &str, more: &[&str]| {
        run_of(&["screen", "--protect"], works, "own.toml", &[("own.toml", &own(table))], more)
    };
    let drip = "fence_at = \"drip-line\"\nreserve_ring = \"half\"\nfence = \"welded-wire\"";
    let row = fence(&run(drip, BORE, &[]).done());
    near(number(&row, "length_m"), 2.0 * PI * 9.0, 2e-3);
    near(number(&row, "trunk_distance_m"), 9.0, 1e-3);
    assert_eq!((row["specification"].as_str(), row["posts"].as_str()), ("welded-wire", "24"));
    let row = fence(&run(drip, WALL, &["--fence", "low-fence"]).done());
    assert_eq!(row["specification"], "low-fence");
    // The building leaves 2.66 m: less than the half ring of 12 ft, more than the quarter of 6 ft.
    assert_eq!((row["warnings"].as_str(), row["inside_ring_tree_ids"].as_str()), ("fence_within_reserved_ring", "T"));
    // The greater of a zone of 7.315 m and a drip line of 9 m is the drip line.
    near(number(&fence(&run("fence_at = \"greater\"", BORE, &[]).done()), "area_m2"), PI * 81.0, 0.01);
    let wrong = run("fence = \"picket\"", BORE, &[]);
    assert!(
        wrong.output.status.code() == Some(2) && wrong.stderr().contains("no fence is named `picket`"),
        "{}",
        wrong.stderr()
    );
}

#[test]
fn fences_stay_on_the_site_and_out_of_buildings() {
    let site = |text: &str| protect(BORE, &[("site.csv", text)], &["--site", "site.csv", "--site-crs", PLANE]);
    let row = fence(&site(SITE).done());
    near(number(&row, "area_m2"), disc_m2() - segment_m2(R_M, R_M / 2.0), 0.05);
    near(number(&row, "trunk_distance_m"), R_M / 2.0, 2e-3);
    // Off the site there is no fence, but a row that says so.
    let row = fence(&site(&SITE.replace("1003.6576", "990")).done());
    assert_eq!((row["fence"].as_str(), row["reason"].as_str()), ("", "the trunk stands off the site"));
    assert!(row["advice"].starts_with("agree with its owner"), "{row:?}");
    let no_crs = protect(BORE, &[("site.csv", SITE)], &["--site", "site.csv"]);
    assert!(no_crs.output.status.code() == Some(1) && no_crs.stderr().contains("--site-crs"), "{}", no_crs.stderr());
    // An existing wall of the surfaces stops a fence at its face; no clearance is kept from it. Beyond it the zone is covered.
    let surfaces = ["--surfaces", "walls.csv", "--surfaces-crs", PLANE];
    let run = protect(BORE, &[("walls.csv", BARRIER)], &surfaces).done();
    near(number(&fence(&run), "area_m2"), disc_m2() - segment_m2(R_M, R_M / 2.0), 0.05);
    near(number(&cover(&run, "outside fence", "chips"), "area_m2"), segment_m2(R_M, 3.9), 0.05);
}

/// Zones that barriers shape: fence, cover and water take the shaped zone and nothing beyond the barrier; made up, they take the area of the disc.
#[test]
fn shaped_zones_are_fenced_covered_and_watered() {
    let barriers = |more: &[&str]| {
        let flags = [
            &["--barriers", "barriers.csv", "--barriers-crs", PLANE, "--start", "2028-06-01", "--end", "2028-06-30"],
            more,
        ]
        .concat();
        protect(BORE, &[("barriers.csv", BARRIER)], &flags).done()
    };
    for (more, wanted_m2) in [(&[][..], disc_m2() - segment_m2(R_M, R_M / 2.0)), (&["--make-up-area"], disc_m2())] {
        let run = barriers(more);
        near(number(&run.row("P", "T"), "zone_area_m2"), wanted_m2, 0.01 * wanted_m2 / 10.0);
        // The fence has sides of half a metre and more.
        near(number(&fence(&run), "area_m2"), wanted_m2, 0.3);
        let kept_free_m2 = PI * (1.5 * FOOT_M).powi(2);
        near(number(&cover(&run, "inside fence", "mulch"), "area_m2"), wanted_m2 - kept_free_m2, 0.3);
        let outside: f64 = run
            .table("ground_cover.csv")
            .iter()
            .filter(|row| row["place"] == "outside fence")
            .map(|row| number(row, "area_m2"))
            .sum();
        near(outside, 0.0, 0.3);
        let water = run.table("water.csv");
        near(number(&water[0], "open_m2"), wanted_m2, 0.2);
        near(number(&water[0], "watered_m2"), wanted_m2, 0.2);
    }
}

/// 1 in of water over r = 24 ft is 1,128 gal, and the fence of 150.796 ft costs what its feet cost.
#[test]
fn water_and_costs_of_the_open_disc() {
    let days: String = (1..=30).map(|day| format!("2028-06-{day:02},16,33,0\n")).collect();
    let files = [
        ("weather.csv", &*format!("date,tmin_c,tmax_c,rain_mm\n{days}")),
        ("prices.csv", "item,unit,price,currency\nfence,ft,10,USD\ngates,each,95.50,USD\n"),
    ];
    let job = ["--start", "2028-06-01", "--end", "2028-06-30", "--weather", "weather.csv", "--prices", "prices.csv"];
    let run = protect(BORE, &files, &job).done();
    let water = run.table("water.csv").remove(0);
    near(number(&water, "watered_m2") * 0.0254 * 1000.0 / 3.785_411_784, 1128.0, 0.5);
    assert_eq!(water["method"], "balance");
    let depth_mm: f64 = water["depth_mm"].split("; ").map(|cell| cell.parse::<f64>().unwrap()).sum();
    assert!(depth_mm > 0.0);
    near(number(&water, "litres"), depth_mm * disc_m2(), 0.01 * depth_mm * disc_m2());
    let materials = run.table("materials.csv");
    let of = |item: &str| materials.iter().find(|row| row["permit_id"] == "P" && row["item"] == item).unwrap();
    near(number(of("fence"), "cost"), 1507.96, 0.011);
    near(number(of("total"), "cost"), number(of("fence"), "cost") + 95.5, 1e-6);
    assert_eq!(of("total")["currency"], "USD");
}

/// `plan` is the same as `screen --protect` for one permit, with its layers and pages; a permit that is not there is named.
#[test]
fn plan_writes_what_protects_the_trees_of_one_permit() {
    let works = format!("{WALL}Q,building,\"POLYGON ((990 900, 995 900, 995 1100, 990 1100, 990 900))\"\n");
    let plan =
        |permit: &str, more: &[&str]| run_of(&["plan", "--permit", permit], &works, "one-foot-per-inch", &[], more);
    let (run, whole) = (plan("P", &[]).done(), protect(&works, &[], &[]).done());
    let of_p = |run: &Run, name: &str| -> Table {
        run.table(name).into_iter().filter(|row| row["permit_id"] == "P").collect()
    };
    for name in ["fences.csv", "ground_cover.csv", "water.csv", "calendar.csv", "materials.csv"] {
        assert_eq!(of_p(&run, name), of_p(&whole, name), "{name}");
        assert!(run.table(name).iter().all(|row| row["permit_id"] != "Q"), "{name}");
    }
    for name in [
        "layers/fences.geojson",
        "layers/fences.sld",
        "layers/ground_cover.geojson",
        "layers/service_lines.geojson",
        "sheets/P.html",
    ] {
        assert!(run.out().join(name).exists(), "{name}");
    }
    let chosen = plan("P", &["--layers", "fences", "--sheets", "none"]).done();
    assert!(chosen.out().join("layers/fences.geojson").exists() && chosen.out().join("sheets/P.html").exists());
    let missing = plan("R", &[]);
    assert_ne!(missing.output.status.code(), Some(0));
    assert!(
        missing.stderr().contains("no permit `R`") && missing.stderr().contains("--permit"),
        "{}",
        missing.stderr()
    );
}

/// The layer has the fence as the table has it: one closed ring, wound anticlockwise, in longitude and latitude.
#[test]
fn the_layer_has_the_line_of_the_table() {
    let run = protect(WALL, &[], &["--layers", "fences,ground_cover"]).done();
    let text = std::fs::read_to_string(run.out().join("layers/fences.geojson")).unwrap();
    let layer: serde_json::Value = serde_json::from_str(&text).unwrap();
    let feature = &layer["features"][0];
    near(feature["properties"]["area_m2"].as_f64().unwrap(), number(&fence(&run), "area_m2"), 1e-9);
    let ring: Vec<[f64; 2]> = serde_json::from_value(feature["geometry"]["coordinates"][0].clone()).unwrap();
    assert_eq!(ring.first(), ring.last());
    let doubled: f64 = ring.windows(2).map(|two| two[0][0] * two[1][1] - two[1][0] * two[0][1]).sum();
    // A degree at 50 N: 111.2 km of latitude, 71.7 km of longitude, to 1 %.
    near(doubled / 2.0 * 111_200.0 * 71_700.0 / number(&fence(&run), "area_m2"), 1.0, 0.01);
    assert!(!run.out().join("layers/trees.geojson").exists());
}

/// What only says how trees are protected is refused where protection is not asked for, and not passed over.
#[test]
fn flags_of_protection_need_protect() {
    let files = [("site.csv", SITE), ("values.toml", VALUES)];
    for flags in [
        &["--layers", "fences"][..],
        &["--site", "site.csv", "--site-crs", PLANE],
        &["--clearance", "1"],
        &["--fence", "low-fence"],
        &["--traffic", "light"],
        &["--protection-values", "values.toml"],
        &["--shift-within", "5"],
        &["--service-values", "values.toml"],
        &["--start", "2028-06-01", "--end", "2028-06-30"],
        &["--soil", "loam"],
        &["--prices", "no-such-file.csv"],
        &["--upkeep-values", "values.toml"],
    ] {
        let run = run_of(&["screen"], WALL, "one-foot-per-inch", &files, flags);
        assert_eq!(run.output.status.code(), Some(2), "{flags:?}: {}", run.stderr());
        assert!(run.stderr().contains("--protect") && run.stderr().contains(flags[0]), "{}", run.stderr());
        assert!(!run.out().exists());
    }
}
