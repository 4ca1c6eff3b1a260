//! Closed forms worked by hand, degenerate places, then properties that must hold for every shape.

use super::super::shapes_for_tests::{any_works, at, polygon, rectangle, ring, star};
use super::super::union;
use super::*;
use geo::{AffineOps, AffineTransform, MultiPolygon, Polygon};
use proptest::prelude::*;

const ORIGIN: Coord<f64> = Coord { x: 0.0, y: 0.0 };

fn severed_share(cuts: &MultiPolygon<f64>, radius_m: f64) -> f64 {
    Sight::new(&PreparedArea::new(cuts), ORIGIN, radius_m).severed_m2() / (PI * radius_m * radius_m)
}

fn assert_near(got: f64, wanted: f64, tolerance: f64) {
    assert!((got - wanted).abs() <= tolerance, "got {got}, wanted {wanted} within {tolerance}");
}

/// Behind an endless trench 5 m away all of the segment beyond its near edge is severed: 1/3 - sqrt(3) / (4 pi) = 19.5501 %.
#[test]
fn an_endless_trench() {
    assert_near(severed_share(&rectangle(5.0, -1e4, 5.6, 1e4), 10.0), 0.195_501_1, 5e-8);
}

/// The same trench from y = -3 to 3: its near edge is seen under 2 a, a = atan(3 / 5) = 0.5404195. Behind it lies the sector less the
/// triangle: r^2 a - 5 x 3 = 54.04195 - 15 = 39.04195; over 314.15927 it is 12.4274 %.
#[test]
fn a_trench_six_metres_long() {
    let exact = (100.0 * 0.6f64.atan() - 15.0) / (100.0 * PI);
    let share = severed_share(&rectangle(5.0, -3.0, 5.6, 3.0), 10.0);
    assert_near(share, exact, 1e-14);
    assert_near(share, 0.124_274, 5e-7);
}

/// The same trench in every direction, so that its shadow also falls across the bearing of pi.
#[test]
fn a_trench_in_every_direction() {
    let exact = (100.0 * 0.6f64.atan() - 15.0) / (100.0 * PI);
    for step in 0..720 {
        let trench = rectangle(5.0, -3.0, 5.6, 3.0);
        assert_near(severed_share(&moved(&trench, f64::from(step) * PI / 360.0, ORIGIN), 10.0), exact, 1e-13);
    }
}

/// A trench 6 m long at 5 m, and behind it another: only what sticks out of the shadow adds. The second one from y = -8 to 8 at x = 8 shows
/// beyond y = 8 x 3/5 = 4.8. Its own segment is cut by the circle at y = 6, so it severs the segment at 8 m, 100 acos 0.8 - 48 =
/// 16.350111, of which the sector within +-a, 100 a - 8 x 4.8 = 15.641950, was severed before: together 39.041950 + 0.708161 = 39.750111.
#[test]
fn one_cut_behind_another() {
    let cuts = union(&[&rectangle(5.0, -3.0, 5.6, 3.0), &rectangle(8.0, -8.0, 8.5, 8.0)]);
    assert_near(severed_share(&cuts, 10.0) * 100.0 * PI, 39.750_111, 1e-6);
}

/// A ring of trench around the trunk severs all outside it: 4 x 4 within stays of pi 100.
#[test]
fn a_moat() {
    let moat = Polygon::new(
        ring(&[(-3.0, -3.0), (3.0, -3.0), (3.0, 3.0), (-3.0, 3.0)]),
        vec![ring(&[(-2.0, -2.0), (2.0, -2.0), (2.0, 2.0), (-2.0, 2.0)])],
    );
    assert_near(severed_share(&MultiPolygon(vec![moat]), 10.0), 1.0 - 16.0 / (100.0 * PI), 1e-14);
}

/// A moat of 20,000 edges on its inner side and 20,000 behind them: what stays is the ground of the inner ring, by the area formula of
/// polygons. From a place off its middle, so that edges are seen at all angles.
#[test]
fn a_moat_of_many_edges() {
    use geo::Area;
    let trunk = at(0.7, -0.4);
    let ragged = |base: f64| (0..20_000).map(|i| base + 0.3 * (f64::from(i) * 1.7).sin()).collect::<Vec<_>>();
    let (inner, outer) = (star(ORIGIN, &ragged(4.0)), star(ORIGIN, &ragged(5.0)));
    let moat = Polygon::new(outer.0[0].exterior().clone(), vec![inner.0[0].exterior().clone()]);
    let sight = Sight::new(&PreparedArea::new(&MultiPolygon(vec![moat])), trunk, 10.0);
    // The teeth of the ragged ring hide parts of each other, so the visible ground is a little less than the ring's.
    let visible_m2 = 100.0 * PI - sight.severed_m2();
    let ring_m2 = inner.unsigned_area();
    assert!(visible_m2 < ring_m2 && visible_m2 > PI * 3.69 * 3.69, "{visible_m2} {ring_m2}");
    // From the middle nothing hides anything.
    let moat = Polygon::new(outer.0[0].exterior().clone(), vec![inner.0[0].exterior().clone()]);
    let sight = Sight::new(&PreparedArea::new(&MultiPolygon(vec![moat])), ORIGIN, 10.0);
    assert_near(100.0 * PI - sight.severed_m2(), ring_m2, 1e-9);
}

/// The trunk in a cut: the whole zone. No cut, or one beyond the radius: exactly nothing.
#[test]
fn all_and_nothing() {
    assert_eq!(severed_share(&rectangle(-1.0, -1.0, 1.0, 1.0), 10.0), 1.0);
    assert_eq!(severed_share(&MultiPolygon(Vec::new()), 10.0), 0.0);
    assert_eq!(severed_share(&rectangle(10.0, -5.0, 11.0, 5.0), 10.0), 0.0);
    let blind = Sight::new(&PreparedArea::new(&rectangle(-1.0, -1.0, 1.0, 1.0)), ORIGIN, 10.0);
    assert_eq!(blind.visible_area_m2(&PreparedArea::new(&rectangle(3.0, 3.0, 4.0, 4.0))), 0.0);
}

/// The trunk on the edge of a half plane loses half, on the corner of a quarter plane a quarter, on an inner corner three quarters: the
/// boundary itself does not block. From two micrometres outside this is off by at most 2 r x 2e-6 of pi r^2.
#[test]
fn a_trunk_on_the_boundary() {
    let quarter = rectangle(0.0, 0.0, 50.0, 50.0);
    let inner = polygon(&[(0.0, 0.0), (50.0, 0.0), (50.0, 50.0), (-50.0, 50.0), (-50.0, -50.0), (0.0, -50.0)]);
    for (cuts, wanted) in [(rectangle(0.0, -50.0, 50.0, 50.0), 0.5), (quarter, 0.25), (inner, 0.75)] {
        for step in 0..37 {
            assert_near(severed_share(&moved(&cuts, f64::from(step) * 0.17, ORIGIN), 10.0), wanted, 2e-7);
        }
    }
}

/// The same within rounding of a place far from the origin of the CRS, where the trunk may come to lie a nanometre inside.
#[test]
fn a_trunk_on_the_boundary_far_away() {
    for step in 0..200 {
        let trunk = at(5e5 + 0.1 * f64::from(step), 5.5e6 - 0.3 * f64::from(step));
        let cuts = moved(&rectangle(0.0, -50.0, 50.0, 50.0), 0.031 * f64::from(step), trunk);
        let severed_m2 = Sight::new(&PreparedArea::new(&cuts), trunk, 10.0).severed_m2();
        assert_near(severed_m2 / (100.0 * PI), 0.5, 2e-7);
    }
}

/// An edge that points at the trunk has no width: a square seen along its side casts the shadow of its near side only.
/// Near side x = 4, y from 0 to 2: a = atan(1 / 2), severed = r^2 a / 2 - 4 x 2 / 2.
#[test]
fn a_radial_edge() {
    let wanted = (50.0 * 0.5f64.atan() - 4.0) / (100.0 * PI);
    assert_near(severed_share(&rectangle(4.0, 0.0, 6.0, 2.0), 10.0), wanted, 1e-14);
    assert_near(severed_share(&moved(&rectangle(4.0, 0.0, 6.0, 2.0), 1.234, ORIGIN), 10.0), wanted, 1e-14);
}

/// Two squares that touch at a corner in the line of sight leave no gap and count nothing twice. Together they hide y = -2..0 at x = 4 and
/// y = 0..2 at x = 6: angles atan(2/4) and atan(2/6), triangles 4 and 6.
#[test]
fn corners_in_line() {
    let cuts = MultiPolygon([rectangle(4.0, -2.0, 6.0, 0.0).0, rectangle(6.0, 0.0, 8.0, 2.0).0].concat());
    let wanted = (50.0 * 0.5f64.atan() - 4.0 + 50.0 * (1.0f64 / 3.0).atan() - 6.0) / (100.0 * PI);
    assert_near(severed_share(&cuts, 10.0), wanted, 1e-14);
}

/// Beside the trench six metres long lies paving 2 m wide from x = 2 to 4 in front of it, y = -1 to 1, and 1 x 1 at x = 7 to 8 behind it:
/// only the 4 m2 in front are visible. One at y = 6 to 7 beside the shadow is visible too: 1 m2.
#[test]
fn other_works_in_front_and_behind() {
    let sight = Sight::new(&PreparedArea::new(&rectangle(5.0, -3.0, 5.6, 3.0)), ORIGIN, 10.0);
    let visible = |works: &MultiPolygon<f64>| sight.visible_area_m2(&PreparedArea::new(works));
    assert_near(visible(&rectangle(2.0, -1.0, 4.0, 1.0)), 4.0, 1e-13);
    assert_near(visible(&rectangle(7.0, 0.0, 8.0, 1.0)), 0.0, 1e-13);
    assert_near(visible(&rectangle(4.0, 6.0, 5.0, 7.0)), 1.0, 1e-13);
    // Straight through the trench: x = 4 to 6, y = -1 to 1 shows 2 m2 in front of x = 5.
    assert_near(visible(&rectangle(4.0, -1.0, 6.0, 1.0)), 2.0, 1e-13);
    // Everything that is visible at all.
    assert_near(visible(&rectangle(-50.0, -50.0, 50.0, 50.0)) + sight.severed_m2(), 100.0 * PI, 1e-11);
    // The half of the zone behind the trunk, with the trunk on its edge.
    assert_near(visible(&rectangle(-50.0, -50.0, 0.0, 50.0)), 50.0 * PI, 1e-11);
}

fn moved(area: &MultiPolygon<f64>, turn: f64, by: Coord<f64>) -> MultiPolygon<f64> {
    let (sine, cosine) = turn.sin_cos();
    area.affine_transform(&AffineTransform::new(cosine, -sine, by.x, sine, cosine, by.y))
}

proptest! {
    #[test]
    fn severed_holds_the_cut(works in any_works(), radius_m in 0.5..15.0f64) {
        let cuts = PreparedArea::new(&works);
        let severed_m2 = Sight::new(&cuts, ORIGIN, radius_m).severed_m2();
        prop_assert!(severed_m2 >= cuts.disc_area_m2(ORIGIN, radius_m) - 1e-4 * 0.1);
        prop_assert!(severed_m2 <= PI * radius_m * radius_m);
    }

    #[test]
    fn affected_lies_between(works in any_works(), others in any_works(), radius_m in 0.5..15.0f64) {
        let (cuts, paving) = (PreparedArea::new(&works), PreparedArea::new(&others));
        let sight = Sight::new(&cuts, ORIGIN, radius_m);
        let affected_m2 = sight.severed_m2() + sight.visible_area_m2(&paving);
        let overlap_m2 = PreparedArea::new(&union(&[&works, &others])).disc_area_m2(ORIGIN, radius_m);
        let slack = 1e-5;
        prop_assert!(affected_m2 >= overlap_m2.max(sight.severed_m2()) - slack);
        prop_assert!(affected_m2 <= overlap_m2 + sight.severed_m2() + slack);
        prop_assert!(affected_m2 <= PI * radius_m * radius_m + slack);
    }

    #[test]
    fn nothing_of_a_cut_is_visible(works in any_works(), radius_m in 0.5..15.0f64) {
        let cuts = PreparedArea::new(&works);
        prop_assert!(Sight::new(&cuts, ORIGIN, radius_m).visible_area_m2(&cuts) < 1e-5);
    }

    #[test]
    fn visible_parts_sum(works in any_works(), others in any_works(), radius_m in 0.5..15.0f64) {
        use geo::bool_ops::BooleanOps;
        let sight = Sight::new(&PreparedArea::new(&works), ORIGIN, radius_m);
        let rest = rectangle(-200.0, -200.0, 200.0, 200.0).difference(&others);
        let sum: f64 = [&others, &rest].map(|area| sight.visible_area_m2(&PreparedArea::new(area))).iter().sum();
        prop_assert!((sum + sight.severed_m2() - PI * radius_m * radius_m).abs() < 1e-4);
    }

    #[test]
    fn the_place_on_earth_does_not_matter(works in any_works(), others in any_works(), turn in 0.0..6.3f64, radius_m in 0.5..15.0f64) {
        let look = |by: Coord<f64>, turn: f64| {
            let sight = Sight::new(&PreparedArea::new(&moved(&works, turn, by)), by, radius_m);
            (sight.severed_m2(), sight.visible_area_m2(&PreparedArea::new(&moved(&others, turn, by))))
        };
        // Within a micrometre of a boundary the answer may fall on either side.
        let near = PreparedArea::new(&works).boundary_distance_m(ORIGIN, 1e-5);
        prop_assume!(near.is_none());
        let here = look(ORIGIN, 0.0);
        for by in [ORIGIN, at(5e5, 5.5e6)] {
            let there = look(by, turn);
            prop_assert!((here.0 - there.0).abs() < 1e-6 && (here.1 - there.1).abs() < 1e-6, "{:?} {:?}", here, there);
        }
    }

    #[test]
    fn more_cuts_sever_more(works in any_works(), others in any_works(), radius_m in 0.5..15.0f64) {
        let severed = |area: &MultiPolygon<f64>| Sight::new(&PreparedArea::new(area), ORIGIN, radius_m).severed_m2();
        let both = severed(&union(&[&works, &others]));
        prop_assert!(both >= severed(&works).max(severed(&others)) - 1e-5);
    }
}
