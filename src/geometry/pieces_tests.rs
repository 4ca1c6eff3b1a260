use super::*;
use crate::geometry::shapes_for_tests::{any_shape, any_works, at, rectangle};
use crate::geometry::union;
use geo::Area;
use geo::BooleanOps;
use proptest::prelude::*;

fn far(shape: &MultiPolygon<f64>) -> MultiPolygon<f64> {
    shape.map_coords(|c| c + at(5e5, 5.2e6))
}

/// A grid of 100 streets each way, 60 m apart and 12 m wide, as one polygon each: they lie on one another at the crossings.
fn streets() -> Vec<MultiPolygon<f64>> {
    let along = (0..100).map(|i| f64::from(i) * 60.0);
    along.flat_map(|y| [rectangle(0.0, y, 6000.0, y + 12.0), rectangle(y, 0.0, y + 12.0, 6000.0)]).collect()
}

#[test]
fn a_city_of_streets_is_measured_once_however_often_it_is_drawn() {
    let streets: Vec<_> = streets().iter().map(far).collect();
    let one_polygon = union(&streets.iter().collect::<Vec<_>>());
    // 200 streets of 6,000 x 12 m less 10,000 crossings of 12 x 12 m.
    let expected_m2 = 200.0 * 6000.0 * 12.0 - 10_000.0 * 144.0;
    for shapes in [streets.clone(), vec![one_polygon.clone()], [streets, vec![one_polygon]].concat()] {
        let pieces = Pieces::new(&shapes.iter().collect::<Vec<_>>());
        let all_m2: f64 = pieces.near(Rect::new(at(0.0, 0.0), at(1e7, 1e7))).iter().map(|p| p.unsigned_area()).sum();
        assert!((all_m2 - expected_m2).abs() < 1e-2, "{all_m2}");
        // A disc of 6 m radius around a crossing's middle touches the corners' insides only: wholly surfaced but for four corners.
        let prepared = pieces.prepared();
        let crossing = at(5e5 + 606.0, 5.2e6 + 606.0);
        assert!((prepared.disc_area_m2(crossing, 6.0) - 36.0 * std::f64::consts::PI).abs() < 1e-6);
        // In the middle of a block, 48 m wide: 24 m to each side.
        let block = at(5e5 + 636.0, 5.2e6 + 636.0);
        assert!(prepared.disc_area_m2(block, 24.0) < 1e-6);
    }
}

#[test]
fn ground_away_from_all_pieces_is_not_touched() {
    let (work, paved) = (rectangle(0.0, 0.0, 4.0, 4.0), rectangle(10.0, 0.0, 14.0, 4.0));
    assert!(Pieces::new(&[&paved]).outside(&work).is_none());
    assert!(Pieces::new(&[]).outside(&work).is_none());
    let left = Pieces::new(&[&rectangle(-1.0, -1.0, 5.0, 5.0)]).outside(&work).unwrap();
    assert!(left.unsigned_area() < 1e-9);
    // A frame of pavement around the work leaves the hole.
    let left = Pieces::new(&[&rectangle(0.0, 0.0, 4.0, 1.0), &rectangle(0.0, 0.5, 1.0, 4.0)]).outside(&work).unwrap();
    assert!((left.unsigned_area() - 9.0).abs() < 1e-6, "{}", left.unsigned_area());
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(256))]

    /// What is new and what lies on pavement are the whole, in any disc.
    #[test]
    fn new_and_on_existing_ground_add_up(works in any_works(), paved in proptest::collection::vec(any_shape(), 1..8), radius_m in 1.0..12.0f64) {
        let (works, paved) = (far(&works), paved.iter().map(far).collect::<Vec<_>>());
        let paved: Vec<&MultiPolygon<f64>> = paved.iter().collect();
        let pieces = Pieces::new(&paved);
        let centre = at(5e5, 5.2e6);
        let disc_m2 = |shape: &MultiPolygon<f64>| PreparedArea::new(shape).disc_area_m2(centre, radius_m);
        let new_m2 = disc_m2(&pieces.outside(&works).unwrap_or_else(|| works.clone()));
        let on_existing_m2 = {
            let pavement = union(&paved);
            disc_m2(&works.map_coords(|c| c - centre).intersection(&pavement.map_coords(|c| c - centre)).map_coords(|c| c + centre))
        };
        prop_assert!((new_m2 + on_existing_m2 - disc_m2(&works)).abs() < 1e-5, "{new_m2} {on_existing_m2}");
        prop_assert!((pieces.prepared().disc_area_m2(centre, radius_m) - disc_m2(&union(&paved))).abs() < 1e-5);
    }
}
