use super::*;
use geo::coord;
use proptest::prelude::*;

fn line(points: &[(f64, f64)]) -> LineString<f64> {
    points.iter().copied().collect()
}

const TRUNK: Coord<f64> = Coord { x: 500_000.0, y: 5_000_000.0 };

fn around_trunk(points: &[(f64, f64)]) -> LineString<f64> {
    points.iter().map(|&(x, y)| (TRUNK.x + x, TRUNK.y + y)).collect()
}

/// A straight line at distance d has 2 sqrt(r2 - d2) inside: 3-4-5 gives 8 of r = 5, d = 3.
#[test]
fn a_straight_line_has_the_length_of_its_chord() {
    let straight = around_trunk(&[(-20.0, 3.0), (20.0, 3.0)]);
    assert!((length_inside_m(&straight, TRUNK, 5.0) - 8.0).abs() < 1e-9);
    let inside = stretches_inside(&straight, TRUNK, 5.0);
    assert_eq!(inside.len(), 1);
    assert!((inside[0].from_m - 16.0).abs() < 1e-9 && (inside[0].to_m - 24.0).abs() < 1e-9, "{inside:?}");
    assert!((distance_to_line_m(&straight, TRUNK).unwrap() - 3.0).abs() < 1e-9);
    // Through the centre: the diameter. Touching, and outside: nothing.
    assert!((length_inside_m(&around_trunk(&[(-20.0, 0.0), (20.0, 0.0)]), TRUNK, 5.0) - 10.0).abs() < 1e-9);
    assert_eq!(length_inside_m(&around_trunk(&[(-20.0, 5.0), (20.0, 5.0)]), TRUNK, 5.0), 0.0);
    assert_eq!(length_inside_m(&around_trunk(&[(6.0, 0.0), (20.0, 0.0)]), TRUNK, 5.0), 0.0);
}

#[test]
fn a_bend_inside_is_one_stretch_and_coming_back_makes_two() {
    // In from the east to (1, 0), then north: 4 m and sqrt(24) m inside r = 5.
    let bend = around_trunk(&[(10.0, 0.0), (1.0, 0.0), (1.0, 10.0)]);
    let inside = stretches_inside(&bend, TRUNK, 5.0);
    assert_eq!(inside.len(), 1);
    assert!((inside[0].length_m() - (4.0 + 24f64.sqrt())).abs() < 1e-9);
    assert!((sharpest_bend_deg(&bend, inside[0]) - 90.0).abs() < 1e-9);
    assert_eq!(sharpest_bend_deg(&bend, Stretch { from_m: 0.0, to_m: 8.0 }), 0.0);
    // Past at d = 3, around outside, back at d = 4: 8 m and 6 m.
    let back = around_trunk(&[(-20.0, 3.0), (20.0, 3.0), (20.0, -4.0), (-20.0, -4.0)]);
    let inside = stretches_inside(&back, TRUNK, 5.0);
    assert_eq!(inside.len(), 2);
    assert!((inside[0].length_m() - 8.0).abs() < 1e-9 && (inside[1].length_m() - 6.0).abs() < 1e-9);
}

#[test]
fn wholly_inside_and_of_no_length() {
    let inside = around_trunk(&[(0.5, 1.0), (2.0, 1.0)]);
    assert!((length_inside_m(&inside, TRUNK, 5.0) - 1.5).abs() < 1e-9);
    for place in [line(&[(3.0, 4.0)]), line(&[(3.0, 4.0), (3.0, 4.0)])] {
        assert_eq!(length_inside_m(&place, coord! { x: 0.0, y: 0.0 }, 9.0), 0.0);
        assert!((distance_to_line_m(&place, coord! { x: 0.0, y: 0.0 }).unwrap() - 5.0).abs() < 1e-12);
        assert_eq!(place_along(&place, 2.0), Some(coord! { x: 3.0, y: 4.0 }));
    }
    assert_eq!(distance_to_line_m(&line(&[]), TRUNK), None);
    assert_eq!(place_along(&line(&[]), 1.0), None);
}

#[test]
fn a_place_along_a_bent_line() {
    let bent = line(&[(0.0, 0.0), (3.0, 0.0), (3.0, 0.0), (3.0, 4.0)]);
    assert_eq!(line_length_m(&bent), 7.0);
    assert_eq!(place_along(&bent, 5.0), Some(coord! { x: 3.0, y: 2.0 }));
    assert_eq!(place_along(&bent, -1.0), Some(coord! { x: 0.0, y: 0.0 }));
    assert_eq!(place_along(&bent, 99.0), Some(coord! { x: 3.0, y: 4.0 }));
}

/// A line along x at y = 3 moved up leaves r = 5 after 2 m; it came in after 8 m of moving from below.
#[test]
fn shifts_that_stay_near() {
    let segment = (coord! { x: -20.0, y: 3.0 }, coord! { x: 20.0, y: 3.0 });
    let (from, to) =
        shifts_within(segment, coord! { x: 0.0, y: 1.0 }, coord! { x: 0.0, y: 0.0 }, 5.0).expect("it passes near");
    assert!((from + 8.0).abs() < 1e-12 && (to - 2.0).abs() < 1e-12);
    // Along itself: until an end is 5 m away from the origin, 4 m past it.
    let (from, to) = shifts_within(segment, coord! { x: 1.0, y: 0.0 }, coord! { x: 0.0, y: 0.0 }, 5.0).expect("near");
    assert!((from + 24.0).abs() < 1e-12 && (to - 24.0).abs() < 1e-12);
    let past = (coord! { x: -20.0, y: 5.0 }, coord! { x: 20.0, y: 5.0 });
    assert_eq!(shifts_within(past, coord! { x: 1.0, y: 0.0 }, coord! { x: 0.0, y: 0.0 }, 5.0), None);
}

proptest! {
    /// The interval is exactly where the moved segment is nearer than the radius.
    #[test]
    fn the_interval_of_shifts_is_the_distance(
        (ax, ay, bx, by) in (-9.0..9.0f64, -9.0..9.0f64, -9.0..9.0f64, -9.0..9.0f64),
        bearing in 0.0..std::f64::consts::TAU,
        radius_m in 0.1..6.0f64,
        t in -20.0..20.0f64,
    ) {
        let way = coord! { x: bearing.sin(), y: bearing.cos() };
        let centre = coord! { x: 0.0, y: 0.0 };
        let (p, q) = (coord! { x: ax, y: ay }, coord! { x: bx, y: by });
        let moved = LineString::new(vec![p + way * t, q + way * t]);
        let distance_m = distance_to_line_m(&moved, centre).unwrap();
        prop_assume!((distance_m - radius_m).abs() > 1e-6);
        let within = shifts_within((p, q), way, centre, radius_m).is_some_and(|(from, to)| from < t && t < to);
        prop_assert_eq!(within, distance_m < radius_m);
    }

    /// Sampled along its length, the line is inside just where the stretches say.
    #[test]
    fn stretches_are_where_the_line_is_inside(
        points in prop::collection::vec((-9.0..9.0f64, -9.0..9.0f64), 2..7),
        radius_m in 0.5..8.0f64,
        share in 0.0..1.0f64,
    ) {
        let path = line(&points);
        let centre = coord! { x: 0.0, y: 0.0 };
        let along_m = share * line_length_m(&path);
        let place = place_along(&path, along_m).unwrap();
        let distance_m = length(place);
        prop_assume!((distance_m - radius_m).abs() > 1e-6);
        let inside = stretches_inside(&path, centre, radius_m);
        let found = inside.iter().any(|one| one.from_m <= along_m && along_m <= one.to_m);
        prop_assert_eq!(found, distance_m < radius_m);
    }
}
