//! Necks of hand-made shapes, and shapes that only look as if they had one.

use super::*;
use crate::geometry::shapes_for_tests::{polygon, ring};

fn areas_m2(line: &Polygon<f64>) -> Vec<f64> {
    let mut areas: Vec<f64> = without_necks(line, 1.0).iter().flatten().map(Area::unsigned_area).collect();
    areas.sort_by(f64::total_cmp);
    areas
}

/// Two squares of 4 m joined by a bridge 0.8 m wide and 1 m long: the corners of both ends see each other across it. Each strip takes a quarter of a metre of
/// the bridge and as much of the square behind it, 0.25 m (0.8 m + 2 x 0.25 m) = 0.325 sq m; half a metre of bridge is left between.
#[test]
fn a_narrow_bridge_is_cut() {
    let bridge = |wide_m: f64| {
        let (low, high) = (2.0 - wide_m / 2.0, 2.0 + wide_m / 2.0);
        let points = [(0.0, 0.0), (4.0, 0.0), (4.0, low), (5.0, low), (5.0, 0.0), (9.0, 0.0)];
        let back = [(9.0, 4.0), (5.0, 4.0), (5.0, high), (4.0, high), (4.0, 4.0), (0.0, 4.0)];
        polygon(&[points, back].concat()).0.remove(0)
    };
    let areas = areas_m2(&bridge(0.8));
    assert_eq!(areas.len(), 3);
    for (area, wanted) in areas.iter().zip([0.8 * 0.5, 16.0 - 0.325, 16.0 - 0.325]) {
        assert!((area - wanted).abs() < 1e-6, "{areas:?}");
    }
    assert!(without_necks(&bridge(1.0), 1.0).is_none());
}

/// A hole 0.6 m from the edge: the ring around it is opened there and stays one piece without a hole; at 1 m it stays.
#[test]
fn a_ring_around_a_hole_is_opened_where_it_is_narrow() {
    let with_hole = |from_edge_m: f64| {
        let hole = [(from_edge_m, 3.0), (from_edge_m, 5.0), (from_edge_m + 2.0, 5.0), (from_edge_m + 2.0, 3.0)];
        let shell = ring(&[(0.0, 0.0), (8.0, 0.0), (8.0, 8.0), (0.0, 8.0), (0.0, 0.0)]);
        Polygon::new(shell, vec![ring(&hole)])
    };
    let cut = without_necks(&with_hole(0.6), 1.0).expect("a neck");
    // Between the two strips half of the 2 m beside the hole are left as a piece of its own.
    assert!(cut.iter().all(|part| part.interiors().is_empty()), "{cut:?}");
    assert!(without_necks(&with_hole(1.0), 1.0).is_none());
}

/// A corner of 85 degrees 0.6 m from one that points inward is no neck, nor is a notch; a spike of 30 degrees beyond such a corner is.
#[test]
fn blunt_corners_and_notches_are_no_necks() {
    let tip = |degrees: f64| {
        let (sine, cosine) = (180.0 - degrees).to_radians().sin_cos();
        // A ledge of 0.6 m along the top, then back down at an angle.
        polygon(&[(0.0, 0.0), (4.6 + 4.0 * cosine, 4.0 - 4.0 * sine), (4.6, 4.0), (4.0, 4.0), (4.0, 6.0), (0.0, 6.0)])
            .0
            .remove(0)
    };
    assert!(without_necks(&tip(85.0), 1.0).is_none());
    assert!(without_necks(&tip(30.0), 1.0).is_some());
    let notch = [(0.0, 0.0), (6.0, 0.0), (6.0, 4.0), (3.3, 4.0), (3.3, 2.0), (2.7, 2.0), (2.7, 4.0), (0.0, 4.0)];
    assert!(without_necks(&polygon(&notch).0[0], 1.0).is_none());
}
