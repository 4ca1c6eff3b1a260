//! The drawn outline has the area of the closed form, as far as a drawing can.

use super::super::shapes_for_tests::{any_works, at, rectangle};
use super::super::union;
use super::*;
use geo::Area;
use proptest::prelude::*;

/// The trench of the closed form: 6 m long, 5 m away, severs 39.04195 m2 of a disc of 10 m.
#[test]
fn a_trench_six_metres_long_in_every_direction() {
    let centre = at(500_000.0, -3e6);
    for step in 0..72 {
        let turn = 2.0 * PI * f64::from(step) / 72.0;
        let (sine, cosine) = turn.sin_cos();
        let turned = |p: Coord<f64>| Coord { x: p.x * cosine - p.y * sine, y: p.x * sine + p.y * cosine } + centre;
        let trench = rectangle(5.0, -3.0, 5.6, 3.0).map_coords(turned);
        let drawn = severed_outline(&[&trench], centre, 10.0);
        assert_eq!(drawn.0.len(), 1);
        let area_m2 = drawn.unsigned_area();
        assert!((area_m2 - 39.041_95).abs() < 0.03, "{step}: {area_m2}");
    }
}

#[test]
fn all_or_nothing() {
    let around = rectangle(-1.0, -1.0, 1.0, 1.0);
    let disc_m2 = 100.0 * PI;
    assert!((severed_outline(&[&around], at(0.0, 0.0), 10.0).unsigned_area() - disc_m2).abs() < 1e-3);
    assert!(severed_outline(&[&around], at(50.0, 0.0), 10.0).0.is_empty());
    assert!(severed_outline(&[], at(0.0, 0.0), 10.0).0.is_empty());
    assert!(severed_outline(&[&around], at(0.0, 0.0), f64::NAN).0.is_empty());
    // A moat all round: the zone less the square of 4 m that stays.
    let moat = MultiPolygon(vec![Polygon::new(
        rectangle(-3.0, -3.0, 3.0, 3.0).0[0].exterior().clone(),
        vec![rectangle(-2.0, -2.0, 2.0, 2.0).0[0].exterior().clone()],
    )]);
    let drawn = severed_outline(&[&moat], at(0.0, 0.0), 10.0);
    assert!((drawn.unsigned_area() - (disc_m2 - 16.0)).abs() < 1e-3, "{}", drawn.unsigned_area());
}

proptest! {
    #[test]
    fn the_drawn_area_is_the_measured_one(one in any_works(), other in any_works(), radius_m in 1.0..20.0f64) {
        let shapes = [&one, &other];
        let exact_m2 = Sight::new(&PreparedArea::new(&union(&shapes)), at(0.0, 0.0), radius_m).severed_m2();
        let drawn_m2 = severed_outline(&shapes, at(0.0, 0.0), radius_m).unsigned_area();
        prop_assert!((drawn_m2 - exact_m2).abs() < 1e-3 * radius_m * radius_m + 1e-3, "{} {}", drawn_m2, exact_m2);
    }
}
