use super::*;
use crate::geometry::centre_line::distance_to_segment_m;
use geo::coord;
use proptest::prelude::*;

type Segment = (Coord<f64>, Coord<f64>);

fn segment(a: (f64, f64), b: (f64, f64)) -> Segment {
    (coord! { x: a.0, y: a.1 }, coord! { x: b.0, y: b.1 })
}

fn obstacle<'a>(place: (f64, f64), keep_m: f64, segments: &'a [Segment], left: bool) -> Obstacle<'a> {
    Obstacle { place: coord! { x: place.0, y: place.1 }, keep_m, segments, left }
}

/// One straight line past one tree: the shortest shift is what is missing, square to the line.
#[test]
fn past_one_tree_the_shift_is_what_is_missing() {
    let line = [segment((-50.0, 3.0), (50.0, 3.0))];
    let shifts = shortest_shifts(&[obstacle((0.0, 0.0), 7.3, &line, true)], 5.0);
    assert!((shifts[0].distance_m - 4.3).abs() < 1e-12, "{shifts:?}");
    assert_eq!(shifts[0].bearing_deg, 0.0);
    assert!(shortest_shifts(&[obstacle((0.0, 0.0), 8.1, &line, true)], 5.0).is_empty(), "5.1 m are too far");
    // From the other side, and a line that runs at 30 degrees: square to it.
    let (sine, cosine) = 30f64.to_radians().sin_cos();
    let turn = |x: f64, y: f64| (x * cosine + y * sine, y * cosine - x * sine);
    let slanting = [segment(turn(-50.0, -3.0), turn(50.0, -3.0))];
    let shifts = shortest_shifts(&[obstacle((0.0, 0.0), 7.3, &slanting, true)], 5.0);
    assert!((shifts[0].distance_m - 4.3).abs() < 1e-9 && (shifts[0].bearing_deg - 210.0).abs() < 1e-9, "{shifts:?}");
}

/// The end of a line in the zone: it is pulled back, 2 m to leave 5 m where it ends 3 m from the trunk and points at it.
#[test]
fn an_end_is_pulled_straight_back() {
    let line = [segment((40.0, 0.0), (3.0, 0.0))];
    let shifts = shortest_shifts(&[obstacle((0.0, 0.0), 5.0, &line, true)], 5.0);
    assert!((shifts[0].distance_m - 2.0).abs() < 1e-12 && (shifts[0].bearing_deg - 90.0).abs() < 1e-9, "{shifts:?}");
}

/// Two trees on either side, and no room between: nothing. With the far tree out of the way: past it.
#[test]
fn between_two_trees_there_is_no_way() {
    let line = [segment((-50.0, 3.0), (50.0, 3.0))];
    let trap = [
        obstacle((0.0, 0.0), 6.0, &line, true),
        obstacle((0.0, 10.0), 5.0, &line, false),
        obstacle((4.0, -4.0), 6.9, &line, false),
    ];
    assert!(shortest_shifts(&trap, 5.0).is_empty());
    // A gap of exactly what is needed: 3 m up, where the neighbour 14 m away keeps its 8 m.
    let gap = [obstacle((0.0, 0.0), 6.0, &line, true), obstacle((0.0, 14.0), 8.0, &line, false)];
    assert!((shortest_shifts(&gap, 5.0)[0].distance_m - 3.0).abs() < 1e-9);
    // A millimetre less, and the way is down, 9 m: too far within 5 m, found within 10 m.
    let closed = [obstacle((0.0, 0.0), 6.0, &line, true), obstacle((0.0, 14.0), 8.001, &line, false)];
    assert!(shortest_shifts(&closed, 5.0).is_empty());
    let down = shortest_shifts(&closed, 10.0);
    assert!((down[0].distance_m - 9.0).abs() < 1e-9 && (down[0].bearing_deg - 180.0).abs() < 1e-9, "{down:?}");
}

/// Where two trunks bind a short line, the shortest shift is a corner of two discs: (sqrt(5.25), 2) from the middle, by hand.
#[test]
fn where_two_trunks_bind_the_corner_is_found() {
    // A line of one place at the origin; discs of 2.5 m around (0, 0.5) and (0, -0.5), both to be left, meet at (+-sqrt(6), 0).
    let place = [segment((0.0, 0.0), (0.0, 0.0))];
    let both = [obstacle((0.0, 0.5), 2.5, &place, true), obstacle((0.0, -0.5), 2.5, &place, true)];
    let shifts = shortest_shifts(&both, 5.0);
    assert!((shifts[0].distance_m - 6f64.sqrt()).abs() < 1e-9, "{shifts:?}");
    // Unsymmetric, so that no bearing tried is the right one: discs of 3 m around (0.3, 1) and of 2.6 m around (-0.2, -0.7).
    let both = [obstacle((0.3, 1.0), 3.0, &place, true), obstacle((-0.2, -0.7), 2.6, &place, true)];
    let found = shortest_shifts(&both, 5.0)[0];
    let corner = [1.0, -1.0].map(|side| corner((0.3, 1.0), 3.0, (-0.2, -0.7), 2.6, side));
    let expected = corner.map(|c| c.0.hypot(c.1)).into_iter().fold(f64::INFINITY, f64::min);
    assert!(found.distance_m >= expected - 1e-9 && found.distance_m < expected + 0.005, "{found:?} {expected}");
}

/// One of the two places where two circles meet.
fn corner(a: (f64, f64), ra: f64, b: (f64, f64), rb: f64, side: f64) -> (f64, f64) {
    let (dx, dy) = (b.0 - a.0, b.1 - a.1);
    let d = dx.hypot(dy);
    let along = (ra * ra - rb * rb + d * d) / (2.0 * d);
    let off = side * (ra * ra - along * along).sqrt();
    (a.0 + (along * dx - off * dy) / d, a.1 + (along * dy + off * dx) / d)
}

proptest! {
    /// Whatever is found keeps every distance, and nothing shorter does along any of a thousand bearings by more than 2 cm.
    #[test]
    fn what_is_found_keeps_every_distance_and_is_the_shortest(
        points in prop::collection::vec((-15.0..15.0f64, -15.0..15.0f64), 2..5),
        trees in prop::collection::vec((-12.0..12.0f64, -12.0..12.0f64, 1.0..6.0f64), 1..6),
    ) {
        let segments: Vec<Segment> = points.windows(2).map(|ends| segment(ends[0], ends[1])).collect();
        let nearest = |place: Coord<f64>, by: Coord<f64>| {
            segments.iter().map(|&(p, q)| distance_to_segment_m((p + by, q + by), place)).fold(f64::INFINITY, f64::min)
        };
        let none = coord! { x: 0.0, y: 0.0 };
        let obstacles: Vec<Obstacle<'_>> = trees.iter().enumerate().map(|(at, &(x, y, radius_m))| {
            let now_m = nearest(coord! { x: x, y: y }, none);
            obstacle((x, y), if at == 0 { radius_m } else { radius_m.min(now_m) }, &segments, at == 0)
        }).collect();
        let keeps = |by: Coord<f64>, slack_m: f64| obstacles.iter().all(|one| nearest(one.place, by) >= one.keep_m - slack_m);
        let shifts = shortest_shifts(&obstacles, 5.0);
        for shift in &shifts {
            prop_assert!(keeps(shift.by, 1e-6), "{shift:?}");
            prop_assert!((shift.by.x.hypot(shift.by.y) - shift.distance_m).abs() < 1e-9);
        }
        let shortest_m = shifts.first().map_or(5.0, |shift| shift.distance_m);
        for step in 0..1000 {
            let way = way(f64::from(step) / 1000.0 * TAU);
            let by = way * (shortest_m - 0.05).max(0.0);
            // A lucky narrow gap between two of the bearings may be missed; a gap that two centimetres of slack close is none.
            let wide = shortest_m > 0.05 && keeps(by, -0.02);
            let gap = wide && [-0.06, 0.06].into_iter().all(|turn| {
                let bearing = f64::from(step) / 1000.0 * TAU + turn;
                keeps(self::way(bearing) * (shortest_m - 0.05).max(0.0), 0.0)
            });
            prop_assert!(!gap, "{shifts:?}: bearing {step} of 1000 is free {:.3} m away", shortest_m - 0.05);
        }
    }
}
