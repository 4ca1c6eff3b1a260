use super::*;
use crate::model::zone::Ring;
use geo::{Rect, coord};

fn wall() -> RootBarriers {
    let wall = MultiPolygon::from(Rect::new(coord! { x: 5.0, y: -50.0 }, coord! { x: 5.3, y: 50.0 }).to_polygon());
    let barriers = Barriers::new(std::iter::once(&wall));
    let index = WorkIndex::new(barriers.parts());
    RootBarriers { barriers, index, make_up_area: true }
}

fn disc(radius_m: f64) -> Zone {
    let rings = vec![Ring { ring: 0, radius_m: 3.0 }];
    Zone { diameter_m: 0.8, radius_m, rings, drip_line_m: None, warnings: vec!["radius_capped"], shape: None }
}

#[test]
fn a_shape_is_made_once_and_shared() {
    let by = wall();
    let shapes = Shapes::new(Some(&by));
    let place = coord! { x: 0.0, y: 0.0 };
    let (first, again) = (shapes.shaped(disc(10.0), place), shapes.shaped(disc(10.0), place));
    assert!(Arc::ptr_eq(first.shape.as_ref().unwrap(), again.shape.as_ref().unwrap()));
    assert_eq!(first.warnings, ["radius_capped", "zone_shaped_by_barrier"]);
    assert!(first.radius_m > 10.0 && first.disc_radius_m() == 10.0 && first.rings[0].radius_m == 3.0);
    assert!((first.area_m2() - disc(10.0).area_m2()).abs() < 1e-3);
    let other = shapes.shaped(disc(8.0), place);
    assert!(!Arc::ptr_eq(first.shape.as_ref().unwrap(), other.shape.as_ref().unwrap()));
}

#[test]
fn a_zone_out_of_reach_of_barriers_is_left_as_it_is() {
    let by = wall();
    let far = coord! { x: -20.0, y: 0.0 };
    assert_eq!(Shapes::new(Some(&by)).shaped(disc(10.0), far), disc(10.0));
    assert_eq!(Shapes::new(None).shaped(disc(10.0), coord! { x: 0.0, y: 0.0 }), disc(10.0));
    assert_eq!((by.most_growth(far, 10.0), by.most_growth(coord! { x: 0.0, y: 0.0 }, 10.0)), (1.0, 2.0));
}

#[test]
fn kinds_fall_into_their_classes() {
    use BarrierClass::{Foundations, Others, Roads, Walls};
    let classes = ["basement", "wall", "sidewalk", "unknown", "trench"].map(BarrierClass::of_kind);
    assert_eq!(classes, [Foundations, Walls, Roads, Others, Others]);
    assert_eq!(BarrierChoices::default().stops, [true, true, false, false]);
}
