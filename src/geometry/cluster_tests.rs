//! Clusters against the definition, pair by pair.

use super::*;
use geo::coord;
use proptest::prelude::*;

fn bounds(left: f64, bottom: f64, width: f64, height: f64) -> Rect<f64> {
    Rect::new(coord! { x: left, y: bottom }, coord! { x: left + width, y: bottom + height })
}

/// The definition: join every pair that touches.
fn pair_by_pair(boxes: &[Rect<f64>]) -> Vec<Vec<usize>> {
    let mut parents: Vec<usize> = (0..boxes.len()).collect();
    for a in 0..boxes.len() {
        for b in 0..a {
            let (one, other) = (boxes[a], boxes[b]);
            let apart = one.max().x < other.min().x
                || other.max().x < one.min().x
                || one.max().y < other.min().y
                || other.max().y < one.min().y;
            if !apart {
                join(&mut parents, a, b);
            }
        }
    }
    let mut groups: BTreeMap<usize, Vec<usize>> = BTreeMap::new();
    for index in 0..boxes.len() {
        let top = find(&mut parents, index);
        groups.entry(top).or_default().push(index);
    }
    let mut groups: Vec<Vec<usize>> = groups.into_values().collect();
    groups.sort_by_key(|group| group[0]);
    groups
}

proptest! {
    /// On whole numbers, so that boxes often touch at edges and corners.
    #[test]
    fn same_as_pair_by_pair(raw in proptest::collection::vec((0i32..40, 0i32..40, 0i32..9, 0i32..9), 0..60)) {
        let boxes: Vec<Rect<f64>> = raw.iter().map(|&(x, y, w, h)| bounds(x.into(), y.into(), w.into(), h.into())).collect();
        prop_assert_eq!(clusters(&boxes), pair_by_pair(&boxes));
    }
}

/// 100,000 boxes that all overlap are one cluster; this ends at once, where pair by pair would take 5 x 10^9 steps.
#[test]
fn many_boxes_on_one_heap() {
    let boxes: Vec<Rect<f64>> = (0..100_000)
        .map(|i| {
            let (x, y) = ((f64::from(i) * 0.754_877).fract(), (f64::from(i) * 0.569_840).fract());
            bounds(x * 90.0, y * 90.0, 100.0 - x * 50.0, 100.0 - y * 50.0)
        })
        .collect();
    assert_eq!(clusters(&boxes).len(), 1);
}

/// 100,000 boxes of 0.8 in cells of 1 stand alone.
#[test]
fn many_boxes_apart() {
    let boxes: Vec<Rect<f64>> =
        (0..100_000).map(|i| bounds(f64::from(i % 400), f64::from(i / 400), 0.8, 0.8)).collect();
    assert_eq!(clusters(&boxes).len(), 100_000);
}
