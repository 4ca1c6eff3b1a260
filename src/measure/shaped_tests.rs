use super::tests::{ORIGIN, ground, permits, square, work};
use super::*;
use crate::geometry::shapes_for_tests::any_shape;
use crate::geometry::{Barriers, Shaped};
use crate::model::effect::Effect;
use crate::model::overlap::RegionAreas;
use proptest::prelude::*;
use std::f64::consts::PI;
use std::sync::Arc;

fn shaped(barriers: &[MultiPolygon<f64>], radius_m: f64) -> Shaped {
    let barriers = Barriers::new(barriers.iter());
    let near: Vec<u32> = barriers.parts().map(|(number, _)| number).collect();
    barriers.shape(&near, ORIGIN, radius_m, radius_m).shaped.unwrap()
}

fn measured_on(ground_of_zone: &MultiPolygon<f64>, works: &[Work], radii: &[f64]) -> Overlap {
    let near: Vec<u32> = (0..).take(works.len()).collect();
    ground(works).measure_shaped(ground_of_zone, works, &near, ORIGIN, radii, radii[0]).unwrap()
}

/// `r^2 acos(d / r) - d sqrt(r^2 - d^2)`: the part of a disc beyond a straight line.
fn segment_m2(radius_m: f64, distance_m: f64) -> f64 {
    if distance_m >= radius_m {
        return 0.0;
    }
    radius_m.powi(2) * (distance_m / radius_m).acos() - distance_m * (radius_m.powi(2) - distance_m.powi(2)).sqrt()
}

fn close(a: f64, b: f64) {
    assert!((a - b).abs() < 1e-5, "{a} {b}");
}

/// A wall at x = 5 in a disc of 10: a strip of fill from x = 3 to 7 counts up to the wall only, in the zone and in the ring of 6.
#[test]
fn a_strip_counts_as_far_as_the_wall() {
    let zone = shaped(&[square(5.0, -30.0, 5.3, 30.0)], 10.0);
    let overlap =
        measured_on(&zone.ground, &[work(0, &[Effect::Fill], false, square(3.0, -30.0, 7.0, 30.0))], &[10.0, 6.0]);
    let [whole, ring] = &overlap.regions[..] else { panic!() };
    close(whole.area_m2(), PI * 100.0 - segment_m2(10.0, 5.0));
    close(whole.overlap_m2, segment_m2(10.0, 3.0) - segment_m2(10.0, 5.0));
    close(whole.affected_m2, whole.overlap_m2);
    close(ring.area_m2(), PI * 36.0 - segment_m2(6.0, 5.0));
    close(ring.overlap_m2, segment_m2(6.0, 3.0) - segment_m2(6.0, 5.0));
    assert_eq!((whole.severed_m2, overlap.distance_m), (0.0, 3.0));
}

/// The same wall, a trench from x = 3 to 3.5 right across: all between its near side and the wall is severed; behind it a fill adds nothing, in front it does.
#[test]
fn severed_ends_at_the_wall() {
    let zone = shaped(&[square(5.0, -30.0, 5.3, 30.0)], 10.0);
    let trench = work(0, &[Effect::Cut], true, square(3.0, -30.0, 3.5, 30.0));
    let fill = work(0, &[Effect::Fill], false, square(2.0, -30.0, 8.0, 30.0));
    let whole = measured_on(&zone.ground, &[trench, fill], &[10.0]).regions.remove(0);
    close(whole.severed_m2, segment_m2(10.0, 3.0) - segment_m2(10.0, 5.0));
    close(whole.affected_m2, segment_m2(10.0, 2.0) - segment_m2(10.0, 5.0));
    close(whole.effect_m2(Effect::Cut), segment_m2(10.0, 3.0) - segment_m2(10.0, 3.5));
}

/// Half a disc (a wall right at the trunk) and a trench across at y = 5: half of what the trench severs of a whole disc.
#[test]
fn severed_in_half_a_disc() {
    let zone = shaped(&[square(1e-6, -30.0, 0.3, 30.0)], 10.0);
    let trench = work(0, &[Effect::Cut], true, square(-30.0, 4.7, 30.0, 5.3));
    let whole = measured_on(&zone.ground, std::slice::from_ref(&trench), &[10.0]).regions.remove(0);
    // A micrometre of the other half, 20 m long.
    close(whole.area_m2(), PI * 50.0 + 20e-6);
    close(whole.severed_m2, segment_m2(10.0, 4.7) / 2.0);
}

/// What is cut inside a barrier or behind it severs nothing; a trunk inside a cut severs the whole shaped zone.
#[test]
fn cuts_where_no_roots_are_sever_nothing() {
    let zone = shaped(&[square(5.0, -30.0, 6.0, 30.0)], 10.0);
    let behind = work(0, &[Effect::Cut], true, square(5.2, -30.0, 9.0, 30.0));
    let whole = measured_on(&zone.ground, &[behind], &[10.0]).regions.remove(0);
    assert_eq!((whole.overlap_m2, whole.severed_m2, whole.affected_m2), (0.0, 0.0, 0.0));
    let over = work(0, &[Effect::Cut], true, square(-1.0, -1.0, 1.0, 1.0));
    let whole = measured_on(&zone.ground, &[over], &[10.0]).regions.remove(0);
    close(whole.severed_m2, PI * 100.0 - segment_m2(10.0, 5.0));
    close(whole.affected_m2, whole.severed_m2);
}

/// South of y = 0 all is paved: half of the zone that a wall at x = 5 leaves, and half of the strip is new.
#[test]
fn surfaced_and_new_ground_end_at_the_wall() {
    let zone = shaped(&[square(5.0, -30.0, 5.3, 30.0)], 10.0);
    let works = [work(0, &[Effect::Seal], false, square(3.0, -30.0, 7.0, 30.0))];
    let surfaces = Arc::new(Surfaces::new(&[square(-40.0, -40.0, 40.0, 0.0)]));
    let ground = Ground::prepare(&works, &permits(&works), Wants::default(), Some(surfaces));
    let overlap = ground.measure_shaped(&zone.ground, &works, &[0], ORIGIN, &[10.0], 10.0).unwrap();
    let whole = &overlap.regions[0];
    close(whole.surfaced_m2.unwrap(), whole.area_m2() / 2.0);
    close(whole.new_m2.unwrap(), (segment_m2(10.0, 3.0) - segment_m2(10.0, 5.0)) / 2.0);
}

/// A courtyard: a work outside is in reach, and takes nothing.
#[test]
fn a_work_beyond_the_barrier_is_in_reach_and_takes_nothing() {
    let zone = shaped(&[square(5.0, -30.0, 5.3, 30.0)], 10.0);
    let whole = measured_on(&zone.ground, &[work(0, &[Effect::Cut], true, square(6.0, -1.0, 8.0, 1.0))], &[10.0]);
    assert_eq!((whole.distance_m, whole.severing_distance_m), (6.0, 6.0));
    let RegionAreas { overlap_m2, severed_m2, affected_m2, .. } = whole.regions[0];
    assert_eq!((overlap_m2, severed_m2, affected_m2), (0.0, 0.0, 0.0));
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(300))]

    /// A shape that is the whole disc measures as the disc does, to 1e-5 of the zone; the areas are also within their bounds on any shape.
    #[test]
    fn the_whole_disc_as_a_shape_measures_like_the_disc(
        shapes in proptest::collection::vec((any_shape(), any::<bool>()), 1..5),
        barriers in proptest::collection::vec(any_shape(), 1..3),
    ) {
        let works: Vec<Work> = shapes.into_iter().map(|(shape, severs)| {
            work(0, &[if severs { Effect::Cut } else { Effect::Fill }], severs, shape)
        }).collect();
        let near: Vec<u32> = (0..).take(works.len()).collect();
        let ground = ground(&works);
        let Some(disc) = ground.measure(ground.permit(0), &near, ORIGIN, &[10.0, 4.0], 10.0) else { return Ok(()) };
        let all = square(-12.0, -12.0, 12.0, 12.0);
        let shape = ground.measure_shaped(&all, &works, &near, ORIGIN, &[10.0, 4.0], 10.0).unwrap();
        for (a, b) in disc.regions.iter().zip(&shape.regions) {
            let zone_m2 = a.area_m2();
            let pairs = [(a.area_m2(), b.area_m2()), (a.overlap_m2, b.overlap_m2), (a.severed_m2, b.severed_m2),
                (a.affected_m2, b.affected_m2), (a.effect_m2(Effect::Cut), b.effect_m2(Effect::Cut)),
                (a.permanent_m2, b.permanent_m2), (a.by_selection_m2[0], b.by_selection_m2[0])];
            for (one, other) in pairs {
                prop_assert!((one - other).abs() <= 1e-5 * zone_m2, "{one} {other}");
            }
        }
        let barriers = Barriers::new(barriers.iter());
        let parts: Vec<u32> = barriers.parts().map(|(number, _)| number).collect();
        let Some(zone) = barriers.shape(&parts, ORIGIN, 10.0, 10.0).shaped else { return Ok(()) };
        let whole = measured_on(&zone.ground, &works, &[10.0]).regions.remove(0);
        prop_assert!((whole.area_m2() - zone.area_m2).abs() < 1e-9);
        prop_assert!(whole.overlap_m2 <= whole.affected_m2 && whole.severed_m2 <= whole.affected_m2);
        prop_assert!(whole.affected_m2 <= whole.area_m2() + 1e-9);
        prop_assert!(whole.overlap_m2 <= disc.regions[0].overlap_m2 + 1e-5);
        prop_assert!(whole.severed_m2 <= disc.regions[0].severed_m2 + 1e-5);
    }
}
