//! Scales and groups, worked by hand.

use super::*;

fn window(x: f64, y: f64, width: f64, height: f64) -> Window {
    Window { low: Coord { x, y }, high: Coord { x: x + width, y: y + height } }
}

/// 44 m at 1:250 are 176 mm of the 180 mm; at 1:200 they would be 220 mm.
#[test]
fn the_largest_scale_that_fits() {
    let frame = Frame::fitting(window(500.0, 700.0, 44.0, 20.0), ShownUnits::Metric);
    assert_eq!(frame.scale, 250);
    // The middle of the window is the middle of the paper; 10 m east of it are 40 mm.
    assert_eq!(frame.at(Coord { x: 522.0, y: 710.0 }), (9_000, frame.height / 2));
    assert_eq!(frame.at(Coord { x: 532.0, y: 710.0 }), (13_000, frame.height / 2));
    // 20 ft to the inch: 1:240.
    assert_eq!(Frame::fitting(window(0.0, 0.0, 43.0, 20.0), ShownUnits::Us).scale, 240);
    assert_eq!(Frame::fitting(window(0.0, 0.0, 3_000.0, 100.0), ShownUnits::Metric).scale, 20_000);
}

#[test]
fn trees_far_apart_get_maps_of_their_own() {
    let at = |x: f64| Window::around(Coord { x, y: 0.0 }, 5.0);
    let windows = [at(0.0), at(900.0), at(12.0), at(915.0), at(24.0)];
    assert_eq!(groups(&windows, ShownUnits::Metric), [vec![0, 2, 4], vec![1, 3]]);
    assert_eq!(groups(&windows[..1], ShownUnits::Metric), [vec![0]]);
    assert!(groups(&[], ShownUnits::Metric).is_empty());
    // A zone too large for any measurable scale is a map all the same.
    assert_eq!(groups(&[Window::around(Coord { x: 0.0, y: 0.0 }, 300.0)], ShownUnits::Us), [vec![0]]);
    let many: Vec<Window> = (0..1000).map(|n| at(f64::from(n))).collect();
    let groups = groups(&many, ShownUnits::Metric);
    assert!((12..40).contains(&groups.len()), "{}", groups.len());
    assert_eq!(groups.iter().map(Vec::len).sum::<usize>(), 1000);
}
