//! Closed forms worked by hand, then every measure held against works that a many-sided disc was cut out of.

use super::super::severed::Sight;
use super::super::shapes_for_tests::{any_works, at, rectangle};
use super::*;
use geo::bool_ops::BooleanOps;
use geo::{Area, LineString, MultiPolygon, Polygon};
use proptest::prelude::*;
use std::f64::consts::PI;

const ORIGIN: Coord<f64> = Coord { x: 0.0, y: 0.0 };

fn assert_near(got: f64, wanted: f64, tolerance: f64) {
    assert!((got - wanted).abs() <= tolerance, "got {got}, wanted {wanted} within {tolerance}");
}

/// Beyond a line 2 m away, between circles of 5 and 10 m: the difference of both segments, r2 acos(2 / r) - 2 sqrt(r2 - 4).
#[test]
fn the_area_of_a_ring_is_the_difference_of_discs() {
    let half = PreparedArea::new(&rectangle(2.0, -100.0, 100.0, 100.0));
    let segment = |r: f64| r * r * (2.0 / r).acos() - 2.0 * (r * r - 4.0).sqrt();
    assert_near(half.annulus_area_m2(ORIGIN, 5.0, 10.0), segment(10.0) - segment(5.0), 1e-11);
    assert_near(half.annulus_area_m2(ORIGIN, 0.0, 10.0), segment(10.0), 1e-11);
    assert_near(half.annulus_area_m2(ORIGIN, 12.0, 10.0), 0.0, 0.0);
}

/// An endless trench from x = 2 to 2.6 that keeps 5 m away. Its near side x = 2 severs where 2 / cos t lies between 5 and 10 m, twice the
/// integral of (100 - 4 / cos2 t) / 2 from acos 0.4 to acos 0.2; its end on the circle severs between acos 0.52 and acos 0.4, (100 - 25) dt.
#[test]
fn a_trench_that_ends_at_a_circle() {
    let trench = PreparedArea::new(&rectangle(2.0, -1e4, 2.6, 1e4));
    let [far, near, inner] = [0.2f64, 0.4, 0.52].map(f64::acos);
    let side_m2 = 100.0 * (far - near) - 4.0 * (far.tan() - near.tan());
    let exact = side_m2 + 75.0 * (near - inner);
    assert_near(Sight::beyond(&trench, ORIGIN, 5.0, 10.0).severed_m2(), exact, 1e-10);
    assert_near(trench.distance_beyond_m(ORIGIN, 5.0, 10.0).unwrap(), 5.0, 0.0);
    assert_near(trench.distance_beyond_m(ORIGIN, 1.0, 10.0).unwrap(), 2.0, 0.0);
}

/// A trunk in the middle of a work that keeps 5 m away: all of the ring between 5 and 10 m is severed, and no bearing is open.
#[test]
fn a_trunk_inside_sees_as_far_as_the_circle() {
    let around = PreparedArea::new(&rectangle(-50.0, -50.0, 50.0, 50.0));
    let sight = Sight::beyond(&around, ORIGIN, 5.0, 10.0);
    assert_near(sight.severed_m2(), 75.0 * PI, 1e-11);
    assert_near(sight.widest_gap_deg(), 0.0, 0.0);
    // Of all ground, what is visible is the disc of 5 m.
    assert_near(sight.visible_area_m2(&around), 25.0 * PI, 1e-11);
}

/// Of two squares the nearer lies wholly within 5 m: the distance is that of the other one, and none once that is left out too.
#[test]
fn what_lies_wholly_within_is_gone() {
    let squares = MultiPolygon([rectangle(1.0, 0.0, 2.0, 1.0).0, rectangle(7.0, 0.0, 8.0, 1.0).0].concat());
    let squares = PreparedArea::new(&squares);
    assert_near(squares.distance_beyond_m(ORIGIN, 5.0, 20.0).unwrap(), 7.0, 0.0);
    assert_near(squares.distance_beyond_m(ORIGIN, 7.5, 20.0).unwrap(), 7.5, 0.0);
    assert_eq!(squares.distance_beyond_m(ORIGIN, 9.0, 20.0), None);
    assert_eq!(squares.distance_beyond_m(ORIGIN, 5.0, 6.0), None);
}

/// A disc of so many sides that at 12 m it differs from the circle by less than 1e-4 m2.
fn many_sided(radius_m: f64) -> MultiPolygon<f64> {
    let corner = |side: u32| {
        let (sine, cosine) = (2.0 * PI * f64::from(side) / 4096.0).sin_cos();
        at(cosine, sine) * radius_m
    };
    MultiPolygon(vec![Polygon::new(LineString((0..4096).map(corner).collect()), Vec::new())])
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(128))]

    #[test]
    fn leaving_out_is_cutting_out(works in any_works(), others in any_works(), beyond_m in 0.3..12.0f64) {
        let disc = many_sided(beyond_m);
        let (cut, cut_others) = (works.difference(&disc), others.difference(&disc));
        let [whole, rest, others, rest_of_others] = [&works, &cut, &others, &cut_others].map(PreparedArea::new);
        // A distance that is the work's own, to within the sides of the disc, falls on either side.
        let edge_m = whole.boundary_distance_m(ORIGIN, 100.0).unwrap_or(0.0);
        prop_assume!((edge_m - beyond_m).abs() > 1e-3 && cut.unsigned_area() > 1e-3);
        let (kept, seen) = (Sight::beyond(&whole, ORIGIN, beyond_m, 15.0), Sight::new(&rest, ORIGIN, 15.0));
        let near = |a: f64, b: f64, tolerance: f64| (a - b).abs() < tolerance;
        let ring_m2 = whole.annulus_area_m2(ORIGIN, beyond_m, 15.0);
        prop_assert!(near(ring_m2, rest.disc_area_m2(ORIGIN, 15.0), 2e-3));
        // A side of the disc that is a micrometre off hides or shows a sliver as long as the zone.
        prop_assert!(near(kept.severed_m2(), seen.severed_m2(), 0.02), "{} {}", kept.severed_m2(), seen.severed_m2());
        let of_others_m2 = kept.visible_area_m2(&others) - others.disc_area_m2(ORIGIN, beyond_m);
        prop_assert!(near(of_others_m2, seen.visible_area_m2(&rest_of_others), 0.02));
        let distances = [whole.distance_beyond_m(ORIGIN, beyond_m, 100.0), rest.distance_m(ORIGIN, 100.0)];
        prop_assert!(near(distances[0].unwrap_or(100.0), distances[1].unwrap_or(100.0), 2e-3), "{:?}", distances);
    }

    #[test]
    fn keeping_further_away_takes_less(works in any_works(), beyond_m in 0.1..12.0f64, further_m in 0.001..3.0f64) {
        let works = PreparedArea::new(&works);
        let at = |beyond_m: f64| {
            let severed_m2 = Sight::beyond(&works, ORIGIN, beyond_m, 15.0).severed_m2();
            (works.annulus_area_m2(ORIGIN, beyond_m, 15.0), severed_m2, works.distance_beyond_m(ORIGIN, beyond_m, 15.0).unwrap_or(15.0))
        };
        let (near, far) = (at(beyond_m), at(beyond_m + further_m));
        prop_assert!(far.0 <= near.0 + 1e-9 && far.1 <= near.1 + 1e-6 && far.2 >= near.2 - 1e-9, "{:?} {:?}", near, far);
    }
}
