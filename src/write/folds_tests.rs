//! Shapes that rounding folds over, seen in the layers of the sample town, and shapes that must not be touched.

use super::*;
use geo::Validation;

fn polygons(parts: &[Rings]) -> MultiPolygon<f64> {
    let line = |ring: &Vec<Position>| -> LineString<f64> {
        ring.iter().map(|at| Coord { x: at[0] as f64, y: at[1] as f64 }).collect()
    };
    parts.iter().map(|rings| Polygon::new(line(&rings[0]), rings[1..].iter().map(line).collect())).collect()
}

/// The corner where an arc meets a straight side at a small angle, as rounded: the second edge crosses the last.
#[test]
fn a_fold_at_a_corner_is_cut_off() {
    let folded = vec![vec![[-2, 0], [-1, 0], [71, -34], [470, -10], [35, 26], [0, -3], [-2, 0]]];
    let folded_over = vec![vec![[0, 0], [-1, 0], [714, 34], [690, 48], [407, 118], [35, 26], [0, 0]]];
    for rings in [folded, folded_over] {
        let mended = unfolded(vec![rings.clone()]);
        let shapes = polygons(&mended);
        assert!(shapes.is_valid(), "{mended:?}");
        assert!(!folds(&mended), "{mended:?}");
        use geo::Area;
        let (before, after) = (polygons(&[rings]).unsigned_area(), shapes.unsigned_area());
        assert!((before - after).abs() < 100.0, "{before} {after}: about a fold's width");
    }
}

#[test]
fn a_bow_tie_becomes_two_parts_or_one_and_crosses_itself_no_more() {
    let bow_tie = vec![vec![[0, 0], [10, 10], [10, 0], [0, 20], [0, 0]]];
    assert!(folds(std::slice::from_ref(&bow_tie)));
    let mended = unfolded(vec![bow_tie]);
    assert!(!mended.is_empty() && polygons(&mended).is_valid(), "{mended:?}");
}

#[test]
fn a_spike_goes() {
    let spike = vec![vec![[0, 0], [10, 0], [20, 0], [10, 0], [10, 10], [0, 10], [0, 0]]];
    assert!(folds(std::slice::from_ref(&spike)));
    let mended = unfolded(vec![spike]);
    assert!(!mended.iter().flatten().flatten().any(|at| at[0] == 20), "{mended:?}");
}

#[test]
fn sound_polygons_come_back_as_they_are() {
    let square = vec![vec![[0, 0], [5, 0], [10, 0], [10, 10], [0, 10], [0, 0]]];
    let with_hole =
        vec![vec![[30, 0], [50, 0], [50, 20], [30, 20], [30, 0]], vec![[35, 5], [35, 15], [45, 15], [45, 5], [35, 5]]];
    let parts = vec![square, with_hole];
    assert!(!folds(&parts));
    assert_eq!(unfolded(parts.clone()), parts);
}

/// Two parts that rounding pushed into each other by one unit become one.
#[test]
fn parts_of_one_shape_do_not_cross() {
    let left = vec![vec![[0, 0], [10, 0], [11, 5], [10, 10], [0, 10], [0, 0]]];
    let right = vec![vec![[10, 4], [20, 0], [20, 10], [10, 6], [10, 4]]];
    let mended = unfolded(vec![left, right]);
    assert!(polygons(&mended).is_valid() && !folds(&mended), "{mended:?}");
    assert_eq!(mended.len(), 1);
}
