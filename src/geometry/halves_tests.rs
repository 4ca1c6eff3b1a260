//! Unions of very many polygons against closed forms and against the union made at once.

use super::super::shapes_for_tests::{at, polygon, rectangle};
use super::super::union::{union, unite_around};
use super::*;
use geo::{Area, BooleanOps, LineString, Point, Rotate, Translate, Validation};

/// The union by halves of shapes of one polygon each.
fn by_halves(shapes: &[MultiPolygon<f64>]) -> MultiPolygon<f64> {
    let polygons: Vec<&Polygon<f64>> = shapes.iter().map(|shape| &shape.0[0]).collect();
    let bounds = polygons.iter().filter_map(|polygon| polygon.bounding_rect()).reduce(enclosing).unwrap();
    unite_by_halves(bounds, &polygons)
}

/// A wall of 1,600 bricks of 4 m x 2 m, every other row moved by `bond_m`, turned by some angle, at a city's distance from its origin.
fn wall(bond_m: f64, angle_deg: f64) -> Vec<MultiPolygon<f64>> {
    let corner = |x: f64, y: f64| {
        Point::new(x, y).rotate_around_point(angle_deg, Point::new(0.0, 0.0)).translate(5e5, 5.5e6).x_y()
    };
    let brick = |row: u32, column: u32| {
        let (x, y) = (4.0 * f64::from(column) + bond_m * f64::from(row % 2), 2.0 * f64::from(row));
        polygon(&[corner(x, y), corner(x + 4.0, y), corner(x + 4.0, y + 2.0), corner(x, y + 2.0)])
    };
    (0..40).flat_map(|row| (0..40).map(move |column| brick(row, column))).collect()
}

const ANGLES: [f64; 6] = [0.0, 7.0, 30.0, 45.0, 61.8, 77.0];

/// Bricks with all corners in common: on the common grid nothing is left of a joint, however the wall is turned.
#[test]
fn shared_corners_stay_one() {
    for angle_deg in ANGLES {
        let united = by_halves(&wall(0.0, angle_deg));
        assert_eq!((united.0.len(), holes(&united)), (1, 0), "at {angle_deg} degrees");
        let m2 = united.unsigned_area();
        assert!((m2 - 1600.0 * 8.0).abs() < 1e-3, "at {angle_deg} degrees: {m2}");
    }
}

/// Corners in the middle of others' edges are off them by the grid's rounding, as where all are united at once: what stays open is no wider.
#[test]
fn joints_are_no_wider_than_the_grid() {
    for angle_deg in ANGLES {
        let united = by_halves(&wall(2.0, angle_deg));
        assert_eq!(united.0.len(), 1, "at {angle_deg} degrees");
        let m2 = united.unsigned_area();
        assert!((m2 - 1600.0 * 8.0).abs() < 1e-3, "at {angle_deg} degrees: {m2}");
    }
}

fn holes(ground: &MultiPolygon<f64>) -> usize {
    ground.0.iter().map(|part| part.interiors().len()).sum()
}

/// Rectangles strewn over 150 m x 150 m, about five deep, by fixed rules.
fn strewn(count: u32) -> Vec<MultiPolygon<f64>> {
    let part = |number: u32, step: f64| (f64::from(number) * step).fract();
    let one = |number: u32| {
        let (x, y) = (150.0 * part(number, 0.618_033_988_7), 150.0 * part(number, 0.754_877_666_2));
        let (width, height) = (1.0 + 18.0 * part(number, 0.569_840_290_9), 1.0 + 14.0 * part(number, 0.381_966));
        rectangle(x, y, x + width, y + height).rotate_around_point(90.0 * part(number, 0.137), at(x, y).into())
    };
    (0..count).map(one).collect()
}

/// The same ground as the union made at once: the two differ by less than a line of a hundredth of a millimetre along all outlines.
#[test]
fn the_same_ground_as_all_at_once() {
    let shapes = strewn(900);
    let halves = by_halves(&shapes);
    let polygons: Vec<&Polygon<f64>> = shapes.iter().map(|shape| &shape.0[0]).collect();
    let once = unite_around(at(75.0, 75.0), &polygons);
    assert!(halves.is_valid());
    assert_eq!(halves.0.len(), once.0.len());
    assert!(holes(&once) > 10, "{}", holes(&once));
    assert_eq!(holes(&halves), holes(&once));
    assert!(halves.xor(&once).unsigned_area() < 0.01, "{}", halves.xor(&once).unsigned_area());
}

/// A comb of 400 teeth on a bar: the union is told in closed form, and `union` makes it by halves.
#[test]
fn many_works_of_a_permit_are_united_by_halves() {
    let mut shapes: Vec<_> =
        (0..400).map(|tooth| rectangle(f64::from(tooth), 0.0, f64::from(tooth) + 0.5, 10.0)).collect();
    shapes.push(rectangle(0.0, 0.0, 399.5, 1.0));
    let united = union(&shapes.iter().collect::<Vec<_>>());
    assert_eq!((united.0.len(), united.0[0].interiors().len()), (1, 0));
    assert!((united.unsigned_area() - (399.5 + 400.0 * 0.5 * 9.0)).abs() < 1e-4, "{}", united.unsigned_area());
    assert_eq!(united.0[0].exterior().0.len(), 4 * 400 + 1);
}

/// What covers nothing is left out, and one polygon over all the others is what remains.
#[test]
fn ground_that_covers_all_others_remains() {
    let mut shapes = strewn(300);
    shapes.push(polygon(&[(-50.0, -50.0), (250.0, -50.0), (250.0, 250.0), (-50.0, 250.0)]));
    let united = by_halves(&shapes);
    assert_eq!(united.0[0].exterior().0.len(), 5);
    assert!((united.unsigned_area() - 300.0 * 300.0).abs() < 1e-4);
}

/// Rings of 10 m and 8 m around places 1 m apart, 400 of them along a line: the ground between the outermost outlines, less what no ring covers. The
/// same as the union made at once, holes and all.
#[test]
fn rings_keep_the_ground_that_none_of_them_covers() {
    let circle = |x: f64, radius_m: f64| {
        let corner =
            |side: u32| at(x, 0.0) + at((f64::from(side) * 0.196).cos(), (f64::from(side) * 0.196).sin()) * radius_m;
        LineString((0..32).map(corner).collect())
    };
    let ring = |x: f64| MultiPolygon(vec![Polygon::new(circle(x, 10.0), vec![circle(x, 8.0)])]);
    let shapes: Vec<_> = (0..400).map(|number| ring(f64::from(number))).collect();
    let halves = by_halves(&shapes);
    let polygons: Vec<&Polygon<f64>> = shapes.iter().map(|shape| &shape.0[0]).collect();
    let once = unite_around(at(200.0, 0.0), &polygons);
    assert!(halves.is_valid() && holes(&halves) == holes(&once), "{} and {}", holes(&halves), holes(&once));
    assert!(halves.xor(&once).unsigned_area() < 0.01, "{}", halves.xor(&once).unsigned_area());
}
