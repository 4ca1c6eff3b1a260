//! Growth and shrinking with corners against closed forms of rectangles and discs.

use super::super::PreparedArea;
use super::super::shapes_for_tests::{any_shape, at, rectangle};
use super::*;
use geo::Area;
use proptest::prelude::*;

fn assert_share(got: f64, wanted: f64) {
    assert!((got / wanted - 1.0).abs() < 1e-6, "got {got}, wanted {wanted}");
}

/// A rectangle 10 x 4 m grown by 1 m: with square corners 12 x 6; with two tangents a corner the square of side 1 there keeps
/// 2 (tan(22.5 deg)) = 0.828427 of itself.
#[test]
fn square_corners_and_blunt_ones() {
    let shape = rectangle(3.0, 2.0, 13.0, 6.0);
    assert_share(grow_with_corners(&shape.0[0], 1.0, SQUARE).unsigned_area(), 72.0);
    assert_share(grow_with_corners(&shape.0[0], 1.0, BLUNT).unsigned_area(), 68.0 + 4.0 * 2.0 * (PI / 8.0).tan());
    assert_share(shrink_with_corners(&shape.0[0], 1.0, SQUARE).unsigned_area(), 16.0);
}

/// A room 10 x 10 m with a passage 0.8 m wide and 5 m long, and a notch in the far wall: the passage goes, the corners come back.
#[test]
fn a_passage_goes_and_square_corners_stay() {
    let corners = [
        (0.0, 0.0),
        (10.0, 0.0),
        (10.0, 4.0),
        (15.0, 4.0),
        (15.0, 4.8),
        (10.0, 4.8),
        (10.0, 10.0),
        (6.0, 10.0),
        (6.0, 8.0),
        (4.0, 8.0),
        (4.0, 10.0),
        (0.0, 10.0),
    ];
    let shape = super::super::shapes_for_tests::polygon(&corners);
    let opened = without_narrow_parts(&shape.0[0], 1.0);
    assert_eq!(opened.0.len(), 1);
    assert_share(opened.unsigned_area(), 96.0);
}

/// 24 ft: 91 sides of at least half a metre, the area of the disc.
#[test]
fn disc() {
    let disc = disc_of_sides(at(5e5, 4e6), 7.3152, 0.5);
    assert_share(disc.unsigned_area(), PI * 7.3152 * 7.3152);
    assert_eq!(disc.exterior().0.len() - 1, 91);
    assert!(disc.exterior().lines().all(|side| (side.dx().hypot(side.dy())) >= 0.5));
    assert_eq!(sides_of_disc(0.2, 0.5), 6);
}

proptest! {
    /// No corner of what is grown is nearer than the margin, and what is opened lies within what it was: within the grid of the overlay
    /// engine, some 5e-8 m over 50 m.
    #[test]
    fn keeps_its_distance(shape in any_shape(), margin_m in 0.1f64..3.0) {
        let whole = PreparedArea::new(&shape);
        for polygon in &shape {
            let grown = grow_with_corners(polygon, margin_m, BLUNT);
            for corner in grown.iter().flat_map(|part| part.exterior().0.clone()) {
                let distance_m = PreparedArea::new(&MultiPolygon(vec![polygon.clone()])).distance_m(corner, 20.0);
                prop_assert!(distance_m.is_some_and(|d| d > margin_m - 1e-5), "{distance_m:?}");
            }
            let opened = without_narrow_parts(polygon, margin_m);
            prop_assert!(opened.unsigned_area() <= polygon.unsigned_area() + 1e-4);
            for corner in opened.iter().flat_map(|part| part.exterior().0.clone()) {
                let outside_m = whole.distance_m(corner, 1.0);
                prop_assert!(outside_m.is_some_and(|d| d < 1e-5));
            }
            let edge = PreparedArea::new(&MultiPolygon(vec![polygon.clone()]));
            let inner = PreparedArea::new(&shrink_with_corners(polygon, margin_m, SQUARE));
            for place in (0..40 * 40).map(|n| at(f64::from(n % 40) - 20.0, f64::from(n / 40) - 20.0)) {
                let inside_m = edge.contains(place).then(|| edge.boundary_distance_m(place, 50.0).unwrap_or(50.0));
                // A corner that turns by 100 degrees is cut at 1 / cos(50 degrees) = 1.556 margins.
                prop_assert!(!inner.contains(place) || inside_m.is_some_and(|m| m > margin_m - 1e-5));
                prop_assert!(inner.contains(place) || inside_m.is_none_or(|m| m < 1.5558 * margin_m + 1e-5));
            }
        }
    }

    /// Every place within the margin is in what is grown, and none beyond 1 / cos(50 degrees) of it.
    #[test]
    fn grows_as_far_as_it_says(shape in any_shape(), margin_m in 0.1f64..3.0) {
        for polygon in &shape {
            let edge = PreparedArea::new(&MultiPolygon(vec![polygon.clone()]));
            let grown = PreparedArea::new(&grow_with_corners(polygon, margin_m, SQUARE));
            for place in (0..60 * 60).map(|n| at(f64::from(n % 60) - 30.0, f64::from(n / 60) - 30.0)) {
                let distance_m = edge.distance_m(place, 50.0).unwrap_or(50.0);
                prop_assert!(grown.contains(place) || distance_m > margin_m - 1e-5);
                prop_assert!(!grown.contains(place) || distance_m < 1.5558 * margin_m + 1e-5);
            }
        }
    }
}
