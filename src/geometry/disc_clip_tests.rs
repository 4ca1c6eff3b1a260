//! The direct cut agrees with the closed form of the area, and leaves to the engine what it cannot decide.

use super::super::outline::{area_outline, disc_outline};
use super::super::shapes_for_tests::{any_works, at, rectangle};
use super::super::{PreparedArea, union};
use super::*;
use geo::{Area, MultiPolygon, Validation, Winding};
use proptest::prelude::*;

const TEN: Circle = Circle { radius_m: 10.0, sagitta_m: 0.005 };

fn cut(polygon: Polygon<f64>) -> Option<Vec<Polygon<f64>>> {
    clip_to_circle(&PreparedArea::new(&MultiPolygon(vec![polygon])), at(0.0, 0.0), TEN).map(|parts| parts.0)
}

fn area_m2(parts: &[Polygon<f64>]) -> f64 {
    parts.iter().map(Area::unsigned_area).sum()
}

#[test]
fn a_straight_edge_takes_its_segment() {
    // r^2 acos(d / r) - d sqrt(r^2 - d^2) at d = 5: 19.550 % of the disc.
    let cut = cut(rectangle(5.0, -50.0, 60.0, 50.0).0[0].clone()).unwrap();
    assert_eq!(cut.len(), 1);
    let segment_m2 = 100.0 * 0.5f64.acos() - 5.0 * 75f64.sqrt();
    assert!((area_m2(&cut) - segment_m2).abs() < 1e-9, "{} {segment_m2}", area_m2(&cut));
}

#[test]
fn a_strip_across_is_one_part_and_a_bracket_around_two() {
    let strip = cut(rectangle(-50.0, -1.0, 50.0, 1.0).0[0].clone()).unwrap();
    assert_eq!(strip.len(), 1);
    let bracket = Polygon::new(
        LineString(vec![
            at(-8.0, 20.0),
            at(-8.0, -20.0),
            at(8.0, -20.0),
            at(8.0, 20.0),
            at(9.0, 20.0),
            at(9.0, -21.0),
            at(-9.0, -21.0),
            at(-9.0, 20.0),
        ]),
        Vec::new(),
    );
    let two = cut(bracket).unwrap();
    assert_eq!(two.len(), 2);
}

#[test]
fn holes_inside_stay_and_the_disc_in_a_hole_is_nothing() {
    let with_hole = |half_m: f64| {
        let hole = rectangle(-half_m, -half_m, half_m, half_m).0[0].exterior().clone();
        Polygon::new(rectangle(-50.0, -50.0, 50.0, 50.0).0[0].exterior().clone(), vec![hole])
    };
    let ring = cut(with_hole(2.0)).unwrap();
    assert_eq!((ring.len(), ring[0].interiors().len()), (1, 1));
    assert!((area_m2(&ring) - (disc_outline(at(0.0, 0.0), 10.0).unsigned_area() - 16.0)).abs() < 1e-9);
    assert!(cut(with_hole(20.0)).unwrap().is_empty());
    // The hole's corners reach out of the disc: four parts are left.
    assert_eq!(cut(with_hole(8.0)).unwrap().len(), 4);
}

#[test]
fn what_grazes_the_circle_is_left_alone() {
    assert!(cut(rectangle(-10.0, -5.0, 20.0, 5.0).0[0].clone()).is_none());
    assert!(cut(rectangle(-20.0, -20.0, 6.0, 8.0).0[0].clone()).is_none());
    // From outside it takes nothing.
    assert!(cut(rectangle(10.0, -5.0, 20.0, 5.0).0[0].clone()).unwrap().is_empty());
    assert!(cut(rectangle(6.0, 8.0, 20.0, 20.0).0[0].clone()).unwrap().is_empty());
}

proptest! {
    #[test]
    fn as_large_as_measured(works in any_works(), radius_m in 1.0..15.0f64) {
        let by = Circle { radius_m, sagitta_m: 0.005 };
        let area = PreparedArea::new(&union(&[&works]));
        let Some(parts) = clip_to_circle(&area, at(0.0, 0.0), by) else { return Ok(()) };
        for part in &parts {
            prop_assert!(part.exterior().is_ccw() && part.interiors().iter().all(Winding::is_cw));
        }
        prop_assert!(area_outline(&area, at(0.0, 0.0), radius_m).is_valid());
        let exact_m2 = area.disc_area_m2(at(0.0, 0.0), radius_m);
        prop_assert!((area_m2(&parts.0) - exact_m2).abs() < 1e-6 * radius_m * radius_m, "{} {exact_m2}", area_m2(&parts.0));
    }
}
