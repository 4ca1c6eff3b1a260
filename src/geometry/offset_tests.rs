//! Widths, margins and radii against the closed forms of straight lines, bends and circles.

use super::super::PreparedArea;
use super::super::shapes_for_tests::{at, rectangle, ring};
use super::*;
use geo::{Area, Validation, Winding};

fn assert_share(got: f64, wanted: f64) {
    assert!((got / wanted - 1.0).abs() < 1e-6, "got {got}, wanted {wanted}");
}

/// A segment of length L drawn out to the width w is a rectangle and two half discs: L w + pi (w / 2)^2.
#[test]
fn one_segment() {
    for (width_m, end) in [(0.6, (10.0, 0.0)), (0.3, (3.0, 4.0)), (2.0, (-0.1, 0.2)), (30.0, (7.0, 1.0))] {
        let drawn = draw_out_line(&LineString::from(vec![(0.0, 0.0), end]), width_m);
        assert_share(drawn.unsigned_area(), f64::hypot(end.0, end.1) * width_m + PI * width_m * width_m / 4.0);
        assert!(drawn.is_valid() && drawn.0.len() == 1 && drawn.0[0].exterior().is_ccw());
    }
}

/// At a bend of the angle t the two rectangles share a kite of area h^2 tan(t / 2) on the inner side, and the sector h^2 t / 2 joins them
/// on the outer side. So a line of total length L has L w + pi h^2 + h^2 (t / 2 - tan(t / 2)), to the left as to the right.
#[test]
fn one_bend() {
    for degrees in [-120.0f64, -90.0, -30.0, -1.0, 1.0, 45.0, 90.0, 135.0] {
        let turn = degrees.to_radians();
        let line = LineString::from(vec![(-10.0, 0.0), (0.0, 0.0), (10.0 * turn.cos(), 10.0 * turn.sin())]);
        let half: f64 = turn.abs() / 2.0;
        let wanted = 20.0 * 0.6 + PI * 0.09 + 0.09 * (half - half.tan());
        assert_share(draw_out_line(&line, 0.6).unsigned_area(), wanted);
    }
}

/// A line along a circle of radius 5 drawn out to 1 m nearly fills the ring between 4.5 and 5.5: pi (5.5^2 - 4.5^2) = 10 pi. Of 720 chords the
/// length is short by 1 part in 6 / (2 pi / 720)^2 x 4, that is 3.2e-6.
#[test]
fn a_line_along_a_circle() {
    let points: Vec<Coord<f64>> =
        (0..=720).map(|i| f64::from(i % 720) * PI / 360.0).map(|turn| at(5.0 * turn.cos(), 5.0 * turn.sin())).collect();
    let drawn = draw_out_line(&LineString(points), 1.0);
    assert_eq!((drawn.0.len(), drawn.0[0].interiors().len()), (1, 1));
    let area = drawn.unsigned_area();
    assert!((area / (10.0 * PI) - 1.0).abs() < 1e-5, "{area}");
}

/// There and back is the same ground as there; a line through one point is a disc; nothing is nothing.
#[test]
fn odd_lines() {
    let there = draw_out_line(&LineString::from(vec![(0.0, 0.0), (8.0, 1.0)]), 0.6);
    let back = draw_out_line(&LineString::from(vec![(0.0, 0.0), (8.0, 1.0), (8.0, 1.0), (0.0, 0.0)]), 0.6);
    assert_share(back.unsigned_area(), there.unsigned_area());
    let dot = draw_out_line(&LineString::from(vec![(5.0, 5.0), (5.0, 5.0)]), 0.6);
    assert_share(dot.unsigned_area(), PI * 0.09);
    for width_m in [0.0, -1.0, f64::NAN, f64::INFINITY] {
        assert!(draw_out_line(&LineString::from(vec![(0.0, 0.0), (8.0, 1.0)]), width_m).0.is_empty());
    }
    assert!(draw_out_line(&LineString(Vec::new()), 1.0).0.is_empty());
    assert!(draw_out_line(&LineString::from(vec![(0.0, 0.0), (f64::NAN, 1.0)]), 1.0).0.is_empty());
    assert!(draw_out_line(&LineString::from(vec![(0.0, 0.0), (1e300, 1.0)]), 1.0).0.is_empty());
}

/// Two crossing lines of width 1 at right angles: 2 x (20 + pi / 4) less the crossing of 1 x 1.
#[test]
fn crossing_lines() {
    let lines = MultiLineString(vec![
        LineString::from(vec![(-10.0, 0.0), (10.0, 0.0)]),
        LineString::from(vec![(0.0, -10.0), (0.0, 10.0)]),
    ]);
    assert_share(draw_out_lines(&lines, 1.0).unsigned_area(), 40.0 + PI / 2.0 - 1.0);
}

/// A drawn disc has exactly the area pi r^2 and its outline stays within 1 mm of the circle.
#[test]
fn discs() {
    for radius_m in [0.01, 0.3, 1.0, 5.0, 15.0, 100.0] {
        let disc = draw_out_point(at(5e5, 5.5e6), radius_m);
        assert!((disc.unsigned_area() / (PI * radius_m * radius_m) - 1.0).abs() < 1e-6);
        for pair in disc.exterior().0.windows(2) {
            for point in [pair[0], (pair[0] + pair[1]) / 2.0] {
                let away = (point - at(5e5, 5.5e6)).x.hypot((point - at(5e5, 5.5e6)).y) - radius_m;
                assert!(away.abs() < 0.001, "{away}");
            }
        }
    }
}

/// A square of side s grown by m: s^2 + 4 s m + pi m^2. A hole of side h shrinks to (h - 2 m)^2 with sharp corners. Where m is large the hole closes.
#[test]
fn growing_a_polygon() {
    assert_share(grow(&rectangle(0.0, 0.0, 10.0, 10.0), 0.5).unsigned_area(), 100.0 + 20.0 + PI * 0.25);
    let with_hole = MultiPolygon(vec![Polygon::new(
        ring(&[(0.0, 0.0), (0.0, 20.0), (20.0, 20.0), (20.0, 0.0)]),
        vec![ring(&[(8.0, 8.0), (12.0, 8.0), (12.0, 12.0), (8.0, 12.0)])],
    )]);
    assert_share(grow(&with_hole, 1.0).unsigned_area(), 400.0 + 80.0 + PI - 4.0);
    assert_share(grow(&with_hole, 2.5).unsigned_area(), 400.0 + 200.0 + PI * 6.25);
    assert_eq!(grow(&rectangle(0.0, 0.0, 1.0, 1.0), 0.0), rectangle(0.0, 0.0, 1.0, 1.0));
}

/// Parts that grow together become one; the margin is kept everywhere: a point at the margin from the shape is on the new boundary.
#[test]
fn grown_parts_meet() {
    let parts = MultiPolygon([rectangle(0.0, 0.0, 4.0, 4.0).0, rectangle(5.0, 0.0, 9.0, 4.0).0].concat());
    let grown = grow(&parts, 0.75);
    assert_eq!(grown.0.len(), 1);
    let area = PreparedArea::new(&grown);
    for (x, y) in [(-0.75, 2.0), (2.0, 4.75), (9.75, 1.0)] {
        assert!(area.boundary_distance_m(at(x, y), 1e-6).is_some());
    }
}

/// The same far from the origin of the CRS.
#[test]
fn far_away() {
    let line = LineString::from(vec![(5e5, 5.5e6), (5e5 + 6.0, 5.5e6 + 8.0)]);
    assert_share(draw_out_line(&line, 0.6).unsigned_area(), 6.0 + PI * 0.09);
    let square = rectangle(5e5, 5.5e6, 5e5 + 10.0, 5.5e6 + 10.0);
    assert_share(grow(&square, 0.5).unsigned_area(), 120.0 + PI * 0.25);
}
