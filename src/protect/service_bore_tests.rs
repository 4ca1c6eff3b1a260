use super::*;
use geo::coord;

/// Arlington County states 4.5 ft itself; this set states nothing.
const SILENT: &str = "one-foot-per-inch";

fn lines(parts: &[&[(f64, f64)]]) -> MultiLineString<f64> {
    MultiLineString::new(parts.iter().map(|points| points.iter().copied().collect()).collect())
}

/// Pits of 1.5 m, 1 m wide, set back by 0.5 m: the built-in values. A trench of 0.6 m is narrower than the pit.
fn bore(parts: &[&[(f64, f64)]], zones: &[((f64, f64), f64)], of: usize) -> Bore {
    let values = ServiceValues::load(None).unwrap();
    let zones: Vec<_> = zones.iter().map(|&((x, y), radius_m)| (coord! { x: x, y: y }, radius_m)).collect();
    let lines = lines(parts);
    let bores = Bores::plan(&lines, 0.3, &zones, &values);
    bores.beneath(zones[of].0, zones[of].1, &RuleSet::load(SILENT).unwrap())
}

/// Through the middle of r = 6: pits clear of a disc of 6 + 0.5 + 0.5 = 7 m, so 14 m from pit to pit; at d = 4.2 2 sqrt(49 - 17.64) = 11.2 m.
#[test]
fn the_bore_is_the_crossing_with_its_set_backs() {
    let through = bore(&[&[(-30.0, 0.0), (30.0, 0.0)]], &[((0.0, 0.0), 6.0)], 0);
    assert!((through.length_m - 14.0).abs() < 1e-9 && through.possible && through.pits == 2, "{through:?}");
    assert_eq!(through.pits_text, "pit 21.5 to 23.0 m along the line and pit 37.0 to 38.5 m along the line");
    let aside = bore(&[&[(-30.0, 4.2), (30.0, 4.2)]], &[((0.0, 0.0), 6.0)], 0);
    assert!((aside.length_m - 11.2).abs() < 1e-9 && aside.possible, "{aside:?}");
}

#[test]
fn the_depth_is_that_of_the_rule_set_or_of_the_table() {
    let values = ServiceValues::load(None).unwrap();
    let (depth_m, from) = depth(&RuleSet::load("arlington-county").unwrap(), &values);
    assert!((depth_m - 1.3716).abs() < 1e-12 && from == "4.5 ft by the rule set arlington-county (seen)", "{from}");
    let (depth_m, from) = depth(&RuleSet::load(SILENT).unwrap(), &values);
    assert!((depth_m - 1.3716).abs() < 1e-12);
    for words in ["the rule set states none", "Arlington County, Virginia (seen)", "24 in Maryland", "from memory"] {
        assert!(from.contains(words), "{words}: {from}");
    }
}

/// Two zones of r = 6 whose clear discs of 7 m are 2 m apart leave no room for two pits of 1.5 m: one bore of 7 + 16 + 7 m. 4 m apart: two.
#[test]
fn one_bore_beneath_two_trees_where_no_pits_fit_between() {
    let straight: &[(f64, f64)] = &[(-30.0, 0.0), (60.0, 0.0)];
    let one = bore(&[straight], &[((0.0, 0.0), 6.0), ((16.0, 0.0), 6.0)], 1);
    assert!((one.length_m - 30.0).abs() < 1e-9 && one.pits == 2 && one.possible, "{one:?}");
    let two = bore(&[straight], &[((0.0, 0.0), 6.0), ((18.0, 0.0), 6.0)], 1);
    assert!((two.length_m - 14.0).abs() < 1e-9 && two.pits == 2 && two.possible, "{two:?}");
}

#[test]
fn an_end_inside_has_no_pit() {
    let ends = bore(&[&[(-30.0, 0.0), (2.0, 0.0)]], &[((0.0, 0.0), 6.0)], 0);
    assert!(!ends.possible && ends.pits == 1 && (ends.length_m - 9.0).abs() < 1e-9, "{ends:?}");
    assert!(ends.pits_text.contains("the line's end lies within or beside a root zone"), "{ends:?}");
    let inside = bore(&[&[(-2.0, 0.0), (2.0, 0.0)]], &[((0.0, 0.0), 6.0)], 0);
    assert!(!inside.possible && inside.pits == 0 && (inside.length_m - 4.0).abs() < 1e-9, "{inside:?}");
    let place = bore(&[&[(1.0, 0.0), (1.0, 0.0)]], &[((0.0, 0.0), 6.0)], 0);
    assert!(!place.possible && place.length_m == 0.0, "{place:?}");
}

/// A line that passes twice is bored twice; a part that stays away has no bore; a bend beneath is said.
#[test]
fn parts_and_bends() {
    let parts: [&[(f64, f64)]; 3] =
        [&[(-30.0, 0.0), (30.0, 0.0)], &[(-30.0, 40.0), (30.0, 40.0)], &[(-30.0, 4.2), (30.0, 4.2)]];
    let twice = bore(&parts, &[((0.0, 0.0), 6.0)], 0);
    assert!((twice.length_m - 25.2).abs() < 1e-9 && twice.pits == 4 && twice.possible, "{twice:?}");
    assert!(twice.pits_text.starts_with("part 1: ") && twice.pits_text.contains("; part 3: "), "{twice:?}");
    let bent = bore(&[&[(-30.0, 1.0), (1.0, 1.0), (1.0, 30.0)]], &[((0.0, 0.0), 6.0)], 0);
    assert!(bent.pits_text.contains("bends by 90 degrees"), "{bent:?}");
}
