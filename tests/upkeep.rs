//! Water, calendar and quantities through the whole command.
//!
//! Rule set one-foot-per-inch: 83.33333 cm gives a root zone of r = 10 m.

#![allow(clippy::unwrap_used)]

use crate::run::{Run, number, screen};
use std::collections::{BTreeMap, BTreeSet};

const TREES: &str = "id,species,x,y,dbh_cm\n\
    A,Tilia cordata,1000,1000,83.33333333\n\
    B,Quercus agrifolia,1030,1000,50\n\
    C,Acer rubrum,1100,1000,\n\
    D,Acer rubrum,1200,1000,40\n";
const WORKS: &str = "permit_id,kind,wkt\n\
    P-1,building,\"POLYGON ((1006 990, 1024 990, 1024 1010, 1006 1010, 1006 990))\"\n\
    P-1,trench,\"LINESTRING (1102 990, 1102 1010)\"\n\
    \"P-2, \u{e9}t\u{e9}; x\",building,\"POLYGON ((1203 990, 1210 990, 1210 1010, 1203 1010, 1203 990))\"\n";

fn protect(more: &[&str]) -> Run {
    let mut flags = vec!["--protect"];
    flags.extend(more);
    screen(TREES, WORKS, "one-foot-per-inch", &flags)
}

fn summer(more: &[&str]) -> Run {
    let mut flags = vec!["--start", "2028-02-29", "--end", "2028-10-15"];
    flags.extend(more);
    protect(&flags).done()
}

fn with_file(name: &str, text: &str, flags: &[&str]) -> Run {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join(name);
    std::fs::write(&path, text).unwrap();
    let path = path.to_string_lossy().into_owned();
    let mut all = vec!["--start", "2028-06-01", "--end", "2028-06-30"];
    all.extend(flags);
    all.push(&path);
    protect(&all)
}

/// Sums of a column over the rows of a permit, by the text of another column.
fn sum(
    rows: &[BTreeMap<String, String>],
    permit: &str,
    column: &str,
    of: impl Fn(&BTreeMap<String, String>) -> bool,
) -> f64 {
    let cells = rows.iter().filter(|row| (permit == "(all)" || row["permit_id"] == permit) && of(row));
    cells.filter_map(|row| row[column].parse::<f64>().ok()).sum()
}

/// materials.csv against fences.csv, ground_cover.csv, water.csv and calendar.csv, for each permit and all.
#[test]
fn quantities_are_the_sums_of_the_other_tables() {
    let run = summer(&[]);
    let (materials, fences, covers) =
        (run.table("materials.csv"), run.table("fences.csv"), run.table("ground_cover.csv"));
    let (water, permits) = (run.table("water.csv"), ["P-1", "P-2, \u{e9}t\u{e9}; x", "(all)"]);
    let mut checked = BTreeSet::new();
    for permit in permits {
        for row in materials.iter().filter(|row| row["permit_id"] == permit) {
            let item = row["item"].as_str();
            let laid = |cover: &BTreeMap<String, String>| cover["material"] == item;
            let (expected, within) = match item {
                "fence" => (sum(&fences, permit, "length_m", |_| true), 0.002),
                "posts" | "panels" | "signs" | "gates" => (sum(&fences, permit, item, |_| true), 0.0),
                "mulch" | "compost" | "chips" => (sum(&covers, permit, "volume_most_m3", laid), 0.005),
                "geotextile" | "boards" | "mats" => (sum(&covers, permit, "area_m2", laid), 0.002),
                "water" => (sum(&water, permit, "litres", |_| true), 3.0),
                _ => continue,
            };
            assert!((number(row, "quantity") - expected).abs() <= within, "{permit} {item}: {expected}, {row:?}");
            if matches!(item, "mulch" | "compost") {
                let least = sum(&covers, permit, "volume_least_m3", laid);
                assert!((number(row, "least_quantity") - least).abs() <= 0.005, "{permit} {item}");
            }
            checked.insert(item.to_string());
        }
    }
    for item in ["fence", "posts", "panels", "signs", "gates", "mulch", "compost", "chips", "geotextile", "water"] {
        assert!(checked.contains(item), "{item} was not compared: {checked:?}");
    }
}

#[test]
fn oaks_that_rot_get_no_summer_water_and_trees_without_a_diameter_are_to_be_measured() {
    let run = summer(&[]);
    let water = run.table("water.csv");
    let of =
        |tree: &str, season: &str| water.iter().find(|row| row["tree_id"] == tree && row["season"] == season).unwrap();
    assert_eq!((of("B", "warm")["waterings"].as_str(), of("B", "warm")["litres"].as_str()), ("0", "0"));
    assert!(of("B", "warm")["instruction"].contains("rots"));
    assert!(number(of("A", "warm"), "litres") > 0.0);
    // 29 February and 30 March; 14 April is 15 days on in the warm season.
    assert_eq!(of("A", "cool")["dates"], "2028-02-29; 2028-03-30");
    assert!(of("A", "warm")["dates"].starts_with("2028-04-14; 2028-04-29"), "{:?}", of("A", "warm"));
    assert_eq!(of("C", "warm")["litres"], "");
    assert!(of("C", "warm")["instruction"].contains("measure the trunk first"));
    let calendar = run.table("calendar.csv");
    let measure = calendar.iter().find(|row| row["step"] == "measure-trees").unwrap();
    assert_eq!(measure["tree_ids"], "C");
    for step in ["compost", "mulch", "fence"] {
        let row = calendar.iter().find(|row| row["step"] == step && row["permit_id"] == "P-1").unwrap();
        assert!(!row["tree_ids"].contains('C'), "{row:?}");
    }
}

/// RFC 5545 as octets: CRLF, at most 75 octets, no identifier twice, and the same bytes a second time.
#[test]
fn the_calendar_file_keeps_to_its_standard_and_does_not_change() {
    let read = |run: &Run| std::fs::read(run.out().join("calendar.ics")).unwrap();
    let (first, second) = (read(&summer(&[])), read(&summer(&[])));
    assert_eq!(first, second);
    let text = String::from_utf8(first).unwrap();
    assert_eq!(text.matches('\n').count(), text.matches("\r\n").count());
    assert!(text.split("\r\n").all(|line| line.len() <= 75));
    let lines = text.replace("\r\n ", "");
    let uids: Vec<&str> = lines.lines().filter(|line| line.starts_with("UID:")).collect();
    assert_eq!(uids.len(), uids.iter().collect::<BTreeSet<_>>().len());
    assert_eq!(uids.len(), lines.matches("BEGIN:VEVENT").count());
    assert_eq!(lines.matches("DTSTAMP:20280229T000000Z").count(), uids.len());
    assert!(lines.contains("CATEGORIES:P-2\\, \u{e9}t\u{e9}\\; x"), "{lines}");
    // A longer job keeps the identifiers of its steps.
    let longer = protect(&["--start", "2028-03-10", "--end", "2028-12-15"]).done();
    let longer = String::from_utf8(read(&longer)).unwrap();
    assert!(longer.contains(uids[0]));
    assert!(!protect(&[]).done().out().join("calendar.ics").exists(), "no days, no file");
}

#[test]
fn dates_that_cannot_be_are_usage_errors() {
    for (start, end, why) in [
        ("2028-03-02", "2028-03-01", "is before --start"),
        ("2027-02-29", "2027-03-01", "such as 2026-04-01"),
        ("2028-01-01", "2059-01-01", "more than 30 years"),
    ] {
        let run = protect(&["--start", start, "--end", end]);
        assert_eq!(run.output.status.code(), Some(2), "{start} {end}");
        assert!(run.stderr().contains(why), "{}", run.stderr());
    }
    assert_eq!(protect(&["--start", "2028-03-02"]).output.status.code(), Some(2));
    protect(&["--start", "2028-02-29", "--end", "2028-02-29"]).done();
    protect(&["--start", "2027-01-01", "--end", "2046-12-31"]).done();
}

#[test]
fn totals_are_the_sums_of_costs_in_each_currency() {
    let prices = "item,unit,price,currency\nfence,ft,12.50,USD\nposts,each,7.255,USD\nmulch,m3,31.99,EUR\nwater,gal,0.0123,USD\n";
    let run = with_file("prices.csv", prices, &["--prices"]).done();
    let rows = run.table("materials.csv");
    let cents = |row: &BTreeMap<String, String>| row["cost"].replace('.', "").parse::<i64>().unwrap();
    let totals: Vec<_> = rows.iter().filter(|row| row["item"] == "total").collect();
    assert_eq!(totals.len(), 6, "{totals:?}");
    for total in totals {
        let items = rows.iter().filter(|row| {
            row["item"] != "total"
                && !row["cost"].is_empty()
                && row["permit_id"] == total["permit_id"]
                && row["currency"] == total["currency"]
        });
        assert_eq!(cents(total), items.map(cents).sum::<i64>(), "{total:?}");
        assert!(total["remark"].contains("without") && total["remark"].contains("compost"), "{total:?}");
    }
    assert!(rows.iter().any(|row| row["item"] == "compost" && row["remark"] == "no price" && row["cost"].is_empty()));
    for (line, why) in [
        ("fence,ft,\"12,50\",USD", "is no price"),
        ("fence,ft,-1,USD", "is no price"),
        ("fence,ft,=1+1,USD", "is no price"),
        ("hedge,ft,1,USD", "is no item"),
    ] {
        let run = with_file("prices.csv", &format!("item,unit,price,currency\n{line}\n"), &["--prices"]);
        assert_eq!(run.output.status.code(), Some(1), "{line}");
        assert!(run.stderr().contains(why) && run.stderr().contains("prices.csv:2"), "{}", run.stderr());
        assert!(!run.out().exists());
    }
}

#[test]
fn with_weather_the_days_come_from_the_balance() {
    let days = |rain: &str| {
        let row = |day: u32| format!("2028-06-{day:02},60,95,{rain}\n");
        format!("date,tmin_f,tmax_f,rain_in\n{}", (1..=30).map(row).collect::<String>())
    };
    let dry = with_file("weather.csv", &days("0"), &["--soil", "sand", "--weather"]).done();
    let wet = with_file("weather.csv", &days("0.5"), &["--soil", "sand", "--weather"]).done();
    let row = |run: &Run| run.table("water.csv").into_iter().find(|row| row["tree_id"] == "A").unwrap();
    assert_eq!((row(&dry)["method"].as_str(), row(&wet)["waterings"].as_str()), ("balance", "0"));
    let dry_row = row(&dry);
    let depths: Vec<f64> = dry_row["depth_mm"].split("; ").map(|cell| cell.parse().unwrap()).collect();
    assert!(!depths.is_empty() && number(&dry_row, "waterings") >= 1.0);
    // Depth times the ground that is watered is litres; 1 US gal is 3.785411784 L.
    assert!((number(&dry_row, "gallons") * 3.785_411_784 - number(&dry_row, "litres")).abs() < 2.5);
    let per_day = dry.table("water_days.csv");
    let given: f64 = per_day.iter().filter(|row| row["schedule"] == "usual").map(|row| number(row, "water_mm")).sum();
    assert!((given * number(&dry_row, "watered_m2") - number(&dry_row, "litres")).abs() < 1.0, "{dry_row:?}");
    let gap = with_file("weather.csv", &days("0").replace("2028-06-17,60,95,0\n", ""), &["--weather"]);
    assert_eq!(gap.output.status.code(), Some(1));
    assert!(gap.stderr().contains("2028-06-17: no row"), "{}", gap.stderr());
}

/// An oak that rots under summer water and a maple, both r = 10 m, 8 m apart. What both zones hold, 200 acos 0.4 - 4 sqrt 336 = 158.5 m2, is kept dry
/// with the oak, though half of it is nearer to the maple; in the maple's row it is missing.
#[test]
fn ground_shared_with_a_tree_that_stays_dry_stays_dry() {
    let trees =
        "id,species,x,y,dbh_cm\nO,Quercus agrifolia,1000,1000,83.33333333\nM,Acer rubrum,1008,1000,83.33333333\n";
    let works = "permit_id,kind,wkt\nP,trench,\"LINESTRING (990.5 998, 990.5 1002)\"\nP,trench,\"LINESTRING (1017.5 998, 1017.5 1002)\"\n";
    let run = screen(trees, works, "one-foot-per-inch", &["--protect", "--start", "2028-06-01", "--end", "2028-06-30"])
        .done();
    let water = run.table("water.csv");
    let of = |tree: &str| water.iter().find(|row| row["tree_id"] == tree).unwrap();
    let shared_m2 = 200.0 * 0.4f64.acos() - 4.0 * 336f64.sqrt();
    let whole_m2 = 100.0 * std::f64::consts::PI;
    assert!((number(of("O"), "watered_m2") - whole_m2).abs() < 8.0, "{:?}", of("O"));
    assert!((number(of("M"), "watered_m2") - (whole_m2 - shared_m2)).abs() < 8.0, "{:?}", of("M"));
    assert!(of("O")["instruction"].contains("keep the sprinklers of neighbouring trees off its root zone"));
    let after = run.table("calendar.csv").into_iter().find(|row| row["step"] == "soil-and-mulch").unwrap();
    assert!(after["what"].contains("all trees but those that water.csv keeps dry"), "{after:?}");
}

/// What nobody builds is not ordered: the sums of all permits leave it out, and a note names it.
#[test]
fn sums_leave_out_what_is_not_in_force() {
    let works = "permit_id,kind,status,wkt\nP-1,trench,issued,\"LINESTRING (1002 990, 1002 1010)\"\nP-2,trench,withdrawn,\"LINESTRING (1032 990, 1032 1010)\"\n";
    let run = screen(TREES, works, "one-foot-per-inch", &["--protect"]).done();
    let materials = run.table("materials.csv");
    let fence = |permit: &str| {
        materials.iter().find(|row| row["permit_id"] == permit && row["item"] == "fence").unwrap()["quantity"].clone()
    };
    assert_eq!(fence("(all)"), fence("P-1"));
    assert!(fence("P-2").parse::<f64>().unwrap() > 1.0);
    let note = "leave out what is not in force: P-2";
    assert!(run.stdout().contains(note), "{}", run.stdout());
}

#[test]
fn a_weather_file_that_may_be_cut_off_is_told() {
    let mut rows = "date,tmin_c,tmax_c,rain_mm\n".to_string();
    rows.extend((1..=30).map(|day| format!("2028-06-{day:02},12,28,0\n")));
    for (text, told) in [(rows.as_str(), false), (rows.trim_end(), true)] {
        let run = with_file("weather.csv", text, &["--weather"]).done();
        assert_eq!(run.stdout().contains("weather: the last line has no line end"), told, "{}", run.stdout());
    }
}

/// A job that begins in the warm season and ends in the cool one.
const TO_WINTER: [&str; 5] = ["--protect", "--start", "2028-06-01", "--end", "2028-12-30"];

/// A species that rots under summer water gets none where its trunk is not measured either.
#[test]
fn an_unmeasured_oak_that_rots_is_not_watered_in_summer() {
    let trees = "id,species,x,y,dbh_cm\nE,Quercus agrifolia,1000,1000,\n";
    let run = screen(trees, WORKS, "one-foot-per-inch", &TO_WINTER).done();
    let water = run.table("water.csv");
    let told = |season: &str| water.iter().find(|row| row["season"] == season).unwrap()["instruction"].clone();
    assert!(told("warm").contains("measure the trunk first; no water in the warm season"), "{}", told("warm"));
    assert!(!told("warm").contains("until then water"), "{}", told("warm"));
    assert!(told("cool").contains("until then water the ground under the crown"), "{}", told("cool"));
}

/// A cut beyond three trunk diameters and within the error of the place: stability is judged, then roots are pruned.
#[test]
fn roots_are_pruned_at_trees_whose_stability_is_judged_first() {
    let works = "permit_id,kind,wkt\nP-1,trench,\"POLYGON ((1003 990, 1004 990, 1004 1010, 1003 1010, 1003 990))\"\n";
    let run = screen(TREES, works, "one-foot-per-inch", &TO_WINTER).done();
    let calendar = run.table("calendar.csv");
    let at = |step: &str| calendar.iter().position(|row| row["step"] == step).unwrap();
    let (judged, pruned) = (&calendar[at("judge-stability")], &calendar[at("root-pruning")]);
    assert_eq!((&*judged["tree_ids"], &*pruned["tree_ids"]), ("A", "A"));
    assert!(judged["first"] < pruned["first"] && pruned["what"].contains("only after that"), "{pruned:?}");
}

/// Zones of 1.83 m (6 ft, the least) hold one sprinkler of 7.57 L a minute: two hours on 10.5 m2 are 86 mm, of which loam takes 48 mm.
#[test]
fn more_water_than_the_soil_takes_is_told() {
    let trees = "id,species,x,y,dbh_cm\nS,Acer rubrum,1000,1000,8\n";
    let works =
        "permit_id,kind,wkt\nP-1,haul route,\"POLYGON ((1001.5 990, 1004 990, 1004 1010, 1001.5 1010, 1001.5 990))\"\n";
    let run = |more: &[&str]| {
        let mut flags = vec!["--protect", "--start", "2028-06-01", "--end", "2028-08-30"];
        flags.extend(more);
        screen(trees, works, "one-foot-per-inch", &flags).done()
    };
    let told = "one watering by the calendar gives more than the";
    let wet = run(&[]);
    assert!(number(&wet.table("water.csv")[0], "depth_mm") > 80.0);
    assert!(wet.stdout().contains(told) && wet.stdout().contains("water is due: 1."), "{}", wet.stdout());
    assert!(!run(&["--sprinkler-flow", "1"]).stdout().contains(told));
    let undated = screen(trees, works, "one-foot-per-inch", &["--protect"]).done();
    assert!(undated.stdout().contains(told), "{}", undated.stdout());
    let withdrawn = works.replace("permit_id,", "status,permit_id,").replace("P-1,", "withdrawn,P-1,");
    let withdrawn = screen(trees, &withdrawn, "one-foot-per-inch", &["--protect"]).done();
    assert!(!withdrawn.stdout().contains(told), "{}", withdrawn.stdout());
}

/// The sheet adds up the costs that it lists, and says what they leave out.
#[test]
fn the_sheet_has_the_total_of_the_costs() {
    let prices = "item,unit,price,currency\nfence,ft,12.50,USD\nmulch,m3,31.99,USD\n";
    let run = with_file("prices.csv", prices, &["--prices"]).done();
    let rows = run.table("materials.csv");
    let total = rows.iter().find(|row| row["permit_id"] == "P-1" && row["item"] == "total").unwrap();
    let page = std::fs::read_to_string(run.out().join("sheets/P-1.html")).unwrap();
    let (whole, hundredths) = total["cost"].split_once('.').unwrap();
    let grouped = match whole.len() {
        4.. => format!("{},{}", &whole[..whole.len() - 3], &whole[whole.len() - 3..]),
        _ => whole.to_string(),
    };
    assert!(page.contains("Total, without what has no price: posts"), "{page}");
    let row = page.split_once("Total, without").unwrap().1.split_once("</tr>").unwrap().0;
    assert!(row.contains(&format!("{grouped}.{hundredths} USD")), "{grouped}.{hundredths}: {row}");
}
