//! Outlines keep to the true arc, are valid, and agree with the closed forms as far as a drawing can.

use super::super::shapes_for_tests::{any_works, at, rectangle};
use super::super::{PreparedArea, union};
use super::*;
use geo::{Area, Validation, Winding};
use proptest::prelude::*;
use std::f64::consts::PI;

#[test]
fn discs_keep_to_the_circle() {
    for radius_m in [0.2, 1.0, 1.8, 7.2, 15.0, 60.0, 300.0] {
        let centre = at(-4e5, 6.1e6);
        let disc = disc_outline(centre, radius_m);
        assert!(disc.is_valid() && disc.exterior().is_ccw());
        assert!((24..=700).contains(&disc.exterior().0.len()), "{}", disc.exterior().0.len());
        assert!((disc.unsigned_area() / (PI * radius_m * radius_m) - 1.0).abs() < 1e-6);
        for pair in disc.exterior().0.windows(2) {
            for point in [pair[0] - centre, (pair[0] + pair[1]) / 2.0 - centre] {
                assert!((point.x.hypot(point.y) - radius_m).abs() < 0.005);
            }
        }
    }
    assert!(disc_outline(at(0.0, 0.0), 1e6).exterior().0.len() <= 4097);
}

#[test]
fn nothing_to_draw() {
    let far = rectangle(20.0, 0.0, 30.0, 10.0);
    assert!(overlap_outline(&[&far], at(0.0, 0.0), 10.0).0.is_empty());
    assert!(overlap_outline(&[], at(0.0, 0.0), 10.0).0.is_empty());
    assert!(overlap_outline(&[&far], at(0.0, 0.0), f64::NAN).0.is_empty());
}

/// A shape a hundred kilometres across is drawn as finely as a small one.
#[test]
fn a_huge_shape() {
    let huge = rectangle(5e5 + 5.0, 5.4e6, 6e5, 5.6e6);
    let drawn = overlap_outline(&[&huge], at(5e5, 5.5e6), 10.0);
    let exact = PreparedArea::new(&huge).disc_area_m2(at(5e5, 5.5e6), 10.0);
    assert!((drawn.unsigned_area() - exact).abs() < 0.002 * 10.0, "{} {exact}", drawn.unsigned_area());
}

proptest! {
    #[test]
    fn drawn_as_measured(a in any_works(), b in any_works(), radius_m in 1.0..15.0f64) {
        let drawn = overlap_outline(&[&a, &b], at(0.0, 0.0), radius_m);
        prop_assert!(drawn.is_valid());
        prop_assert!(drawn.0.iter().all(|polygon| polygon.exterior().is_ccw() && polygon.interiors().iter().all(|hole| hole.is_cw())));
        let exact = PreparedArea::new(&union(&[&a, &b])).disc_area_m2(at(0.0, 0.0), radius_m);
        // A departure of 5 mm along the whole circle.
        prop_assert!((drawn.unsigned_area() - exact).abs() < 0.005 * 2.0 * PI * radius_m);
        for point in drawn.0.iter().flat_map(|polygon| &polygon.exterior().0) {
            prop_assert!(point.x.hypot(point.y) < radius_m + 0.005);
        }
    }
}
