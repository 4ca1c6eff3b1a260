//! Unions against hand-made numbers; orientation, precision far away, what stands alone.

use super::super::shapes_for_tests::{any_shape, at, polygon, rectangle, star};
use super::*;
use geo::{Area, Translate, Validation, Winding};
use proptest::prelude::*;

/// Two squares of 4 that share 1 make 7; a third apart adds 4.
#[test]
fn overlapping_squares() {
    let (a, b, c) = (rectangle(0.0, 0.0, 2.0, 2.0), rectangle(1.0, 1.0, 3.0, 3.0), rectangle(9.0, 9.0, 11.0, 11.0));
    let united = union(&[&a, &b, &c]);
    assert_eq!(united.0.len(), 2);
    assert!((united.unsigned_area() - 11.0).abs() < 1e-7);
}

/// A shape whose box meets no other keeps every coordinate, and only its orientation is set.
#[test]
fn what_stands_alone_is_not_touched() {
    let odd = polygon(&[(0.1, 0.2), (0.3, 7.000_000_123_456_789), (5.123_456_789_012_345, 0.7)]);
    let united = union(&[&odd, &rectangle(100.0, 100.0, 101.0, 101.0)]);
    let mut before = odd.0[0].exterior().0.clone();
    before.reverse();
    assert_eq!(united.0[0].exterior().0, before);
    assert!(united.0[0].exterior().is_ccw());
    assert_eq!(union(&[]), MultiPolygon(Vec::new()));
    assert_eq!(union(&[&MultiPolygon(Vec::new())]), MultiPolygon(Vec::new()));
}

/// A work 60 km away changes nothing, bit for bit; united all at once it would move the others by up to 0.1 mm.
#[test]
fn a_work_far_away_changes_nothing() {
    let (a, b) = (star(at(0.0, 0.0), &[3.0, 4.1, 2.7, 5.3, 3.3]), star(at(2.0, 1.0), &[4.0, 2.2, 3.9, 2.8]));
    let far = rectangle(60_000.0, 0.0, 60_010.0, 10.0);
    assert_eq!(union(&[&a, &b]).0[..], union(&[&a, &b, &far]).0[..1]);
}

/// Four bars around a court leave it open: a hole of 6 x 6, clockwise, the shell of 10 x 10 counter-clockwise.
#[test]
fn a_court_stays_open() {
    let bars = [
        rectangle(0.0, 0.0, 10.0, 2.0),
        rectangle(0.0, 8.0, 10.0, 10.0),
        rectangle(0.0, 0.0, 2.0, 10.0),
        rectangle(8.0, 0.0, 10.0, 10.0),
    ];
    let united = union(&bars.iter().collect::<Vec<_>>());
    assert_eq!((united.0.len(), united.0[0].interiors().len()), (1, 1));
    assert!(united.0[0].exterior().is_ccw() && united.0[0].interiors()[0].is_cw());
    assert!((united.unsigned_area() - 64.0).abs() < 1e-6);
}

/// Bars that share an edge become one: nothing is left of the seam.
#[test]
fn seams_vanish() {
    let united = union(&[&rectangle(0.0, 0.0, 1.0, 3.0), &rectangle(1.0, 0.0, 2.0, 3.0)]);
    assert_eq!(united.0.len(), 1);
    assert_eq!(united.0[0].exterior().0.len(), 5);
}

proptest! {
    #[test]
    fn between_the_largest_and_the_sum(shapes in proptest::collection::vec(any_shape(), 1..8)) {
        let united = union(&shapes.iter().collect::<Vec<_>>());
        let areas: Vec<f64> = shapes.iter().map(|shape| shape.unsigned_area()).collect();
        let area = united.unsigned_area();
        prop_assert!(area <= areas.iter().sum::<f64>() + 1e-5);
        prop_assert!(area >= areas.iter().copied().fold(0.0, f64::max) - 1e-5);
        prop_assert!(united.0.iter().all(|polygon| polygon.exterior().is_ccw() && polygon.interiors().iter().all(|hole| hole.is_cw())));
        prop_assert!(united.is_valid());
    }

    #[test]
    fn the_place_on_earth_does_not_matter(shapes in proptest::collection::vec(any_shape(), 1..6)) {
        let here = union(&shapes.iter().collect::<Vec<_>>()).unsigned_area();
        let there: Vec<MultiPolygon<f64>> = shapes.iter().map(|shape| shape.translate(5e5, 5.5e6)).collect();
        prop_assert!((union(&there.iter().collect::<Vec<_>>()).unsigned_area() - here).abs() < 1e-5);
    }
}
