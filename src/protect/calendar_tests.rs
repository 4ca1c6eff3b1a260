//! Dates of the steps of the built-in table, by hand and by law.

use super::*;
use crate::model::protection::Cover;
use geo::MultiPolygon;
use jiff::civil::date;
use proptest::prelude::*;

fn steps(start: Date, end: Date, inspect_every_days: u32, monitor_years: u32) -> Steps {
    let intervals = Intervals { inspect_every_days, monitor_years };
    Steps::new(&UpkeepValues::built_in(), Some(Job { start, end }), intervals, &[Vec::new(), Vec::new()])
}

fn everyone() -> StepTreesOf {
    StepTreesOf {
        stay: vec![1, 2, 3],
        fenced: vec![1],
        unfenced: vec![2],
        unmeasured: vec![3],
        cut: vec![1],
        cut_close: vec![2],
        usual_water: vec![1, 2],
        dry_summer: vec![3],
    }
}

fn laid(materials: &[&'static str]) -> Protection {
    let cover = |&material: &&'static str| Cover {
        place: if matches!(material, "mulch" | "compost") { CoverPlace::Inside } else { CoverPlace::Outside },
        material,
        shape: MultiPolygon(Vec::new()),
        area_m2: 1.0,
        depth_m: None,
        to_be_engineered: false,
        traffic: None,
        clause: String::new(),
    };
    Protection { covers: materials.iter().map(cover).collect(), ..Protection::default() }
}

/// Names, dates and trees.
fn told(steps: &Steps, trees: &StepTreesOf, protection: &Protection) -> Vec<(String, Vec<Date>, Vec<u32>)> {
    let of_permit = steps.of_permit(trees, protection);
    let told = |step: &Step| (steps.rules[step.rule as usize].name.clone(), step.dates.to_vec(), step.trees.clone());
    of_permit.iter().map(told).collect()
}

#[test]
fn before_the_job_each_step_waits_for_the_one_before() {
    let steps = steps(date(2028, 3, 10), date(2028, 9, 1), 28, 5);
    let told = told(&steps, &everyone(), &laid(&["mulch", "compost", "chips"]));
    let at = |name: &str| told.iter().position(|step| step.0 == name).unwrap_or_else(|| panic!("no step {name}"));
    let order =
        ["meeting", "locate-services", "fence", "compost", "mulch", "root-pruning", "first-inspection", "inspection"];
    assert!(order.windows(2).all(|pair| at(pair[0]) < at(pair[1])));
    // Counted over 29 February 2028: 14, 10 and 4 days before 10 March.
    assert_eq!(told[at("meeting")].1, [date(2028, 2, 25)]);
    assert_eq!(told[at("fence")].1, [date(2028, 2, 29)]);
    assert_eq!(told[at("root-pruning")].1, [date(2028, 3, 6)]);
    assert_eq!(told[at("remove-fence")].1, [date(2028, 9, 2)]);
}

#[test]
fn each_step_is_about_its_own_trees() {
    let steps = steps(date(2027, 4, 1), date(2027, 10, 31), 28, 5);
    let told = told(&steps, &everyone(), &laid(&["mulch", "compost", "chips"]));
    for (name, trees) in [
        ("fence", vec![1]),
        ("compost", vec![1]),
        ("mulch", vec![1]),
        ("guard-trunks", vec![2]),
        ("measure-trees", vec![3]),
        ("root-pruning", vec![1]),
        ("judge-stability", vec![2]),
        ("water", vec![1, 2]),
        ("water-dry-summer", vec![3]),
        ("monitoring", vec![1, 2, 3]),
    ] {
        assert_eq!(told.iter().find(|step| step.0 == name).expect(name).2, trees, "{name}");
    }
}

#[test]
fn steps_without_trees_or_without_their_cover_are_left_out() {
    let steps = steps(date(2027, 4, 1), date(2027, 10, 31), 28, 5);
    let trees = StepTreesOf { stay: vec![7], usual_water: vec![7], ..StepTreesOf::default() };
    let names: Vec<String> = told(&steps, &trees, &laid(&[])).into_iter().map(|step| step.0).collect();
    for gone in ["fence", "compost", "mulch", "ground-cover", "root-pruning", "judge-stability", "water-dry-summer"] {
        assert!(!names.iter().any(|name| name == gone), "{gone}");
    }
    assert!(names.iter().any(|name| name == "meeting") && names.iter().any(|name| name == "water"));
}

#[test]
fn the_words_keep_the_promises_on_roots_fences_and_water() {
    let values = UpkeepValues::built_in();
    let what = |name: &str| values.step[name].what.as_str();
    for (name, words) in [
        ("root-pruning", &["approved cut line only", "never within 3 trunk diameters", "arborist present"][..]),
        ("fence", &["clear of buttress roots", "marked services"]),
        ("compost", &["kept off the trunk flare"]),
        ("mulch", &["kept off the trunk flare"]),
        ("water", &["Probe first", "saturated", "frozen", "Keep the trunk dry"]),
        ("roots-met", &["stop and call the arborist", "wash-out"]),
        ("locate-services", &["call 811"]),
    ] {
        assert!(words.iter().all(|word| what(name).contains(word)), "{name}: {}", what(name));
    }
    for (name, step) in &values.step {
        assert!(
            step.who.split("; ").all(|who| ["arborist", "contractor", "city"].contains(&who)),
            "{name}: {}",
            step.who
        );
    }
}

#[test]
fn inspections_are_never_further_apart_than_asked_and_end_with_the_job() {
    // 1 and 29 April, 13 May: 28 days, then the end itself.
    let steps = steps(date(2027, 4, 1), date(2027, 5, 13), 28, 0);
    let told = told(&steps, &everyone(), &laid(&[]));
    let inspection = &told.iter().find(|step| step.0 == "inspection").unwrap().1;
    assert_eq!(inspection[..], [date(2027, 4, 1), date(2027, 4, 29), date(2027, 5, 13)]);
    let of_permit = steps.of_permit(&everyone(), &laid(&[]));
    // The first inspection on 30 March; the final one falls on the last day of the others.
    assert_eq!(steps.inspections(&of_permit), Some(4));
    assert_eq!(steps.visits(&of_permit), 0);
    assert!(told.iter().all(|step| step.0 != "monitoring" || step.1.is_empty()));
}

#[test]
fn a_job_of_one_day_is_inspected_on_that_day() {
    let day = date(2028, 2, 29);
    let steps = steps(day, day, 28, 5);
    let of_permit = steps.of_permit(&everyone(), &laid(&[]));
    assert_eq!(steps.inspections(&of_permit), Some(2));
    // Monitoring is counted from 29 February each time: the fourth year has that day again.
    let monitoring = of_permit.iter().find(|step| steps.rules[step.rule as usize].name == "monitoring").unwrap();
    let days = [date(2029, 2, 28), date(2030, 2, 28), date(2031, 2, 28), date(2032, 2, 29), date(2033, 2, 28)];
    assert_eq!(monitoring.dates[..], days);
    assert_eq!(steps.visits(&of_permit), 5);
}

#[test]
fn without_dates_steps_keep_their_order_and_count_no_inspections() {
    let intervals = Intervals { inspect_every_days: 28, monitor_years: 5 };
    let steps = Steps::new(&UpkeepValues::built_in(), None, intervals, &[Vec::new(), Vec::new()]);
    let of_permit = steps.of_permit(&everyone(), &laid(&[]));
    assert!(of_permit.iter().all(|step| step.dates.is_empty()));
    assert_eq!((steps.inspections(&of_permit), steps.visits(&of_permit)), (None, 5));
}

proptest! {
    #[test]
    fn dates_ascend_and_inspections_cover_the_job(start in 0i32..9000, length in 0i32..7305, every in 1u32..366) {
        let start = date(2020, 1, 1).checked_add(start.days()).unwrap();
        let end = start.checked_add(length.days()).unwrap();
        let dates = every_days(start, end, every);
        prop_assert_eq!((dates[0], dates[dates.len() - 1]), (start, end));
        prop_assert!(dates.windows(2).all(|pair| (1..=i64::from(every)).contains(&days_between(pair[0], pair[1]))));
    }
}
