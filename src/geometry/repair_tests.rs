//! Every kind of damage, with the area worked by hand; and valid shapes that must pass unchanged.

use super::super::shapes_for_tests::{any_works, polygon, rectangle, ring};
use super::*;
use geo::{Translate, Validation};
use proptest::prelude::*;

fn shape(rings: &[&[(f64, f64)]]) -> MultiPolygon<f64> {
    MultiPolygon(vec![Polygon::new(ring(rings[0]), rings[1..].iter().map(|points| ring(points)).collect())])
}

/// Repairs and checks validity and both areas; gives the text.
fn repaired(input: &MultiPolygon<f64>, before_m2: f64, after_m2: f64) -> String {
    match repair(input) {
        Repair::Repaired { shape, area_before_m2, area_after_m2, what } => {
            assert!(shape.is_valid(), "{:?}", shape.validation_errors());
            assert!((area_before_m2 - before_m2).abs() < 1e-6, "before {area_before_m2}");
            assert!((area_after_m2 - after_m2).abs() < 1e-6, "after {area_after_m2}");
            assert!((shape.unsigned_area() - after_m2).abs() < 1e-6);
            what
        }
        other => panic!("{other:?}"),
    }
}

fn assert_valid(input: &MultiPolygon<f64>) {
    match repair(input) {
        Repair::Valid(shape) => assert!((shape.unsigned_area() - input.unsigned_area()).abs() < 1e-9),
        other => panic!("{other:?}"),
    }
}

const SQUARE: [(f64, f64); 4] = [(0.0, 0.0), (10.0, 0.0), (10.0, 10.0), (0.0, 10.0)];

/// Two triangles of 25 whose signed areas cancel.
#[test]
fn a_bow_tie_keeps_both_lobes() {
    let what = repaired(&polygon(&[(0.0, 0.0), (10.0, 10.0), (10.0, 0.0), (0.0, 10.0)]), 0.0, 50.0);
    assert!(what.contains("crosses itself"), "{what}");
}

/// An uneven bow-tie: the crossing of (0,0)-(10,10) and (10,0)-(0,5) lies at x = 10/3. The lobe at x = 0 has the base 5 and the height 10/3:
/// 25/3; that at x = 10 the base 10 and the height 20/3: 100/3. Signed they differ by 25.
#[test]
fn an_uneven_bow_tie() {
    repaired(&polygon(&[(0.0, 0.0), (10.0, 10.0), (10.0, 0.0), (0.0, 5.0)]), 25.0, 125.0 / 3.0);
}

/// The pentagram, drawn in one line, is filled in the middle too: what it goes round twice is ground (even-odd would leave a hole).
/// With circumradius R the points make 5 triangles and a pentagon: area = 10 tan(18) / (3 - tan^2(18)) R^2 = 1.1225699 R^2 (R. W. Weisstein's
/// entry "Pentagram", from memory, and recomputed here by its ten corners).
#[test]
fn a_pentagram_is_filled() {
    let on_circle =
        |radius: f64, degrees: f64| (radius * degrees.to_radians().cos(), radius * degrees.to_radians().sin());
    let points: Vec<(f64, f64)> = (0..5).map(|i| on_circle(10.0, 90.0 + 144.0 * f64::from(i))).collect();
    let inner = 10.0 * 18f64.to_radians().sin() / 54f64.to_radians().sin();
    let corners = (0..10).map(|i| on_circle(if i % 2 == 0 { 10.0 } else { inner }, 90.0 + 36.0 * f64::from(i)));
    let area = polygon(&corners.collect::<Vec<_>>()).unsigned_area();
    assert!((area - 112.256_99).abs() < 1e-4, "{area}");
    match repair(&polygon(&points)) {
        Repair::Repaired { area_after_m2, .. } => assert!((area_after_m2 - area).abs() < 1e-5, "{area_after_m2}"),
        other => panic!("{other:?}"),
    }
}

#[test]
fn a_hole_equal_to_its_shell_does_not_take_the_work_away() {
    let mut other_way = SQUARE;
    other_way.reverse();
    other_way.rotate_left(1);
    for hole in [&SQUARE, &other_way] {
        let what = repaired(&shape(&[&SQUARE, hole]), 0.0, 100.0);
        assert!(what.contains("repeat"), "{what}");
    }
}

#[test]
fn holes_that_are_no_holes() {
    // Outside: another part of 4.
    let what = repaired(&shape(&[&SQUARE, &[(20.0, 0.0), (22.0, 0.0), (22.0, 2.0), (20.0, 2.0)]]), 96.0, 104.0);
    assert!(what.contains("outside its shell"), "{what}");
    // Around the shell: the rings are swapped; 144 - 100.
    repaired(&shape(&[&SQUARE, &[(-1.0, -1.0), (11.0, -1.0), (11.0, 11.0), (-1.0, 11.0)]]), 44.0, 44.0);
    // An island in a hole: 100 - 64 + 4.
    let (hole, island): ([_; 4], [_; 4]) =
        ([(1.0, 1.0), (9.0, 1.0), (9.0, 9.0), (1.0, 9.0)], [(4.0, 4.0), (6.0, 4.0), (6.0, 6.0), (4.0, 6.0)]);
    repaired(&shape(&[&SQUARE, &hole, &island]), 32.0, 40.0);
    // Across the shell's edge: 2 x 2, half of it inside: 100 - 2 + 2.
    let what = repaired(&shape(&[&SQUARE, &[(9.0, 4.0), (11.0, 4.0), (11.0, 6.0), (9.0, 6.0)]]), 96.0, 100.0);
    assert!(what.contains("rings cross"), "{what}");
}

#[test]
fn parts_that_overlap_are_united() {
    let two = |other: MultiPolygon<f64>| MultiPolygon([rectangle(0.0, 0.0, 10.0, 10.0).0, other.0].concat());
    repaired(&two(rectangle(5.0, 5.0, 15.0, 15.0)), 200.0, 175.0);
    repaired(&two(rectangle(2.0, 2.0, 4.0, 4.0)), 104.0, 100.0);
    repaired(&two(rectangle(0.0, 0.0, 10.0, 10.0)), 200.0, 100.0);
    let what = repaired(&two(rectangle(10.0, 0.0, 12.0, 10.0)), 120.0, 120.0);
    assert!(what.contains("share an edge"), "{what}");
}

#[test]
fn spikes_vanish() {
    let out = [(0.0, 0.0), (10.0, 0.0), (10.0, 10.0), (5.0, 10.0), (5.0, 15.0), (5.0, 10.0), (0.0, 10.0)];
    let what = repaired(&polygon(&out), 100.0, 100.0);
    assert!(what.contains("back along itself"), "{what}");
    // The spike at the ring's start, where the last edge meets the first.
    repaired(&polygon(&[(0.0, 20.0), (0.0, 0.0), (10.0, 0.0), (10.0, 10.0), (0.0, 10.0)]), 100.0, 100.0);
}

/// A hole drawn into its shell's ring through one point (some formats do this): 100 - 4.
#[test]
fn a_ring_that_touches_itself() {
    let points = [(0.0, 0.0), (10.0, 0.0), (10.0, 10.0), (5.0, 10.0), (6.0, 8.0), (4.0, 6.0), (5.0, 10.0), (0.0, 10.0)];
    let area = polygon(&points).unsigned_area();
    let what = repaired(&polygon(&points), area, area);
    assert!(what.contains("touches itself"), "{what}");
}

#[test]
fn too_little_to_be_ground() {
    for points in [
        &[][..],
        &[(1.0, 1.0)],
        &[(0.0, 0.0), (5.0, 0.0)],
        &[(0.0, 0.0), (5.0, 0.0), (0.0, 0.0), (5.0, 0.0)],
        &[(0.0, 0.0), (5.0, 0.0), (9.0, 0.0)],
    ] {
        assert!(matches!(repair(&polygon(points)), Repair::Failed(_)), "{points:?}");
    }
    assert!(matches!(repair(&MultiPolygon(Vec::new())), Repair::Failed(_)));
    // A degenerate hole or part beside good ground is left out, and said.
    let what = repaired(&shape(&[&SQUARE, &[(2.0, 2.0), (3.0, 3.0)]]), 100.0, 100.0);
    assert!(what.contains("fewer than three"), "{what}");
}

#[test]
fn absurd_coordinates_are_refused() {
    for bad in [f64::NAN, f64::INFINITY, f64::NEG_INFINITY, 1.1e9, f64::MAX] {
        match repair(&polygon(&[(0.0, 0.0), (bad, 0.0), (1.0, 1.0)])) {
            Repair::Failed(reason) => assert!(reason.contains("not a place")),
            other => panic!("{other:?}"),
        }
    }
}

#[test]
fn valid_shapes_pass() {
    assert_valid(&rectangle(0.0, 0.0, 10.0, 10.0));
    // Clockwise, with a repeated point, is turned round in silence.
    let clockwise = polygon(&[(0.0, 0.0), (0.0, 10.0), (0.0, 10.0), (10.0, 10.0), (10.0, 0.0)]);
    assert_eq!(repair(&clockwise), Repair::Valid(polygon(&[(0.0, 0.0), (10.0, 0.0), (10.0, 10.0), (0.0, 10.0)])));
    assert_valid(&shape(&[&SQUARE, &[(2.0, 2.0), (4.0, 2.0), (4.0, 4.0)], &[(6.0, 6.0), (8.0, 6.0), (8.0, 8.0)]]));
    // A hole that touches its shell at one point, two holes that touch at one, two parts that touch at a corner.
    assert_valid(&shape(&[&SQUARE, &[(0.0, 5.0), (3.0, 4.0), (3.0, 6.0)]]));
    assert_valid(&shape(&[&SQUARE, &[(2.0, 2.0), (4.0, 2.0), (4.0, 4.0)], &[(4.0, 4.0), (6.0, 4.0), (6.0, 6.0)]]));
    assert_valid(&MultiPolygon([rectangle(0.0, 0.0, 1.0, 1.0).0, rectangle(1.0, 1.0, 2.0, 2.0).0].concat()));
    // A part in the hole of another.
    let island = rectangle(4.0, 4.0, 6.0, 6.0);
    assert_valid(&MultiPolygon(
        [shape(&[&SQUARE, &[(1.0, 1.0), (9.0, 1.0), (9.0, 9.0), (1.0, 9.0)]]).0, island.0].concat(),
    ));
}

/// A hole that touches its shell twice cuts the ground in two: one polygon is not two parts.
#[test]
fn ground_cut_apart() {
    let what = repaired(&shape(&[&SQUARE, &[(0.0, 5.0), (5.0, 4.0), (10.0, 5.0), (5.0, 6.0)]]), 90.0, 90.0);
    assert!(what.contains("cut the ground apart"), "{what}");
}

/// A ring of 20,000 points and a shape of 2,500 parts: near-linear, where comparing all pairs would take 2 x 10^8 steps.
#[test]
fn large_shapes() {
    let round: Vec<(f64, f64)> = (0..20_000)
        .map(|i| f64::from(i) / 20_000.0 * std::f64::consts::TAU)
        .map(|t| {
            let r = 50.0 + (40.0 * t).sin();
            (r * t.cos(), r * t.sin())
        })
        .collect();
    assert_valid(&polygon(&round));
    let parts = (0..2_500).flat_map(|i| {
        rectangle(
            f64::from(i % 50) * 3.0,
            f64::from(i / 50) * 3.0,
            f64::from(i % 50) * 3.0 + 2.0,
            f64::from(i / 50) * 3.0 + 2.0,
        )
        .0
    });
    assert_valid(&MultiPolygon(parts.collect()));
}

proptest! {
    /// Any ring at all, on whole numbers so that points and edges often coincide.
    #[test]
    fn any_scribble(points in proptest::collection::vec((0i32..9, 0i32..9), 3..14), hole in proptest::collection::vec((0i32..9, 0i32..9), 0..8)) {
        let to_ring = |points: &[(i32, i32)]| points.iter().map(|&(x, y)| (f64::from(x), f64::from(y))).collect::<Vec<_>>();
        let scribble = MultiPolygon(vec![Polygon::new(ring(&to_ring(&points)), vec![ring(&to_ring(&hole))])]).translate(1e6, 5e6);
        match repair(&scribble) {
            Repair::Valid(shape) => prop_assert!(shape.is_valid() && shape.unsigned_area() > 0.0),
            Repair::Repaired { shape, area_after_m2, .. } => {
                prop_assert!(area_after_m2 > 0.0 && area_after_m2 <= 64.0 + 1e-5);
                prop_assert!((shape.unsigned_area() - area_after_m2).abs() < 1e-6);
            }
            Repair::Failed(reason) => prop_assert!(!reason.contains("still not valid"), "{}", reason),
        }
    }

    #[test]
    fn a_union_is_valid(works in any_works()) {
        let passed = matches!(repair(&works), Repair::Valid(_));
        prop_assert!(passed, "{:?}", repair(&works));
    }
}

/// Found by fuzzing: rings on which the overlay engine ends in a panic are repaired or refused, never the end of a run.
#[test]
fn tangles_that_the_engine_fails_on_are_repaired_or_refused() {
    let text = std::fs::read_to_string(concat!(
        env!("CARGO_MANIFEST_DIR"),
        "/tests/data/fuzz/geometry_cells/overlay_assertion"
    ));
    let cell = crate::normalise::geometry_cell::parse_geometry_cell(&text.unwrap()).unwrap();
    let geo::Geometry::Polygon(polygon) = cell.geometry else { panic!("a polygon") };
    match repair(&polygon.into()) {
        Repair::Repaired { shape, .. } => assert!(is_clean(&shape)),
        Repair::Failed(why) => assert!(why.contains("tangled"), "{why}"),
        Repair::Valid(_) => panic!("it crosses itself"),
    }
}

/// A shell inside its own hole, touching it at a corner: as much ground as the rings the right way round, but not valid as drawn.
#[test]
fn a_shell_and_a_hole_that_changed_places() {
    let (small, large) = (ring(&[(0.0, 0.0), (1.0, 1.0), (1.0, 2.0)]), ring(&[(7.0, 0.0), (0.0, 3.0), (0.0, 0.0)]));
    match repair(&MultiPolygon(vec![Polygon::new(small, vec![large])])) {
        Repair::Repaired { shape, area_after_m2, .. } => {
            assert!(shape.is_valid());
            // 7 x 3 / 2 less 1 x 1 / 2.
            assert!((area_after_m2 - 10.0).abs() < 1e-6, "{area_after_m2}");
        }
        other => panic!("{other:?}"),
    }
}

/// Found by fuzzing against GEOS: a scribble whose repair has a hole that the engine gave to a part which only touches it. The ground was right, but
/// not the polygon that other programs were given.
#[test]
fn a_hole_goes_with_the_shell_that_holds_it() {
    let bytes =
        std::fs::read(concat!(env!("CARGO_MANIFEST_DIR"), "/tests/data/fuzz/disc_areas/hole_of_another")).unwrap();
    let place = |pair: &[u8]| Coord { x: f64::from(pair[0]) / 4.0, y: f64::from(pair[1]) / 4.0 };
    let scribble = Polygon::new(LineString(bytes[3..].chunks_exact(2).map(place).collect()), Vec::new());
    match repair(&scribble.into()) {
        Repair::Repaired { shape, .. } => {
            let holes: Vec<usize> = shape.0.iter().map(|part| part.interiors().len()).collect();
            assert_eq!(holes, [2, 0, 0]);
            assert!(shape.is_valid(), "{shape:?}");
        }
        other => panic!("{other:?}"),
    }
}
