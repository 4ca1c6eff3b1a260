//! Closed forms worked by hand, then properties that must hold for every shape.

use super::super::edge::triangle_in_disc_m2;
use super::super::shapes_for_tests::{any_shape, any_works, at, polygon, rectangle, ring, star};
use super::*;
use geo::bool_ops::BooleanOps;
use geo::{AffineOps, AffineTransform, Area, LineString, Polygon, Translate};
use proptest::prelude::*;

const ORIGIN: Coord<f64> = Coord { x: 0.0, y: 0.0 };

fn share(area: &MultiPolygon<f64>, radius_m: f64) -> f64 {
    PreparedArea::new(area).disc_area_m2(ORIGIN, radius_m) / (PI * radius_m * radius_m)
}

fn half_plane_from(x: f64) -> MultiPolygon<f64> {
    rectangle(x, -1e4, 1e4, 1e4)
}

fn assert_near(got: f64, wanted: f64, tolerance: f64) {
    assert!((got - wanted).abs() <= tolerance, "got {got}, wanted {wanted} within {tolerance}");
}

/// The segment beyond a chord at distance d = t r is the sector of half angle acos t less a triangle:
/// r^2 acos(t) - d sqrt(r^2 - d^2), so its share of the disc is (acos t - t sqrt(1 - t^2)) / pi.
/// t = 1/2: (pi/3 - sqrt(3)/4) / pi = 1/3 - 0.4330127 / 3.1415927 = 0.1955011.
/// t = 0.8: (0.6435011 - 0.8 x 0.6) / pi = 0.1635011 / 3.1415927 = 0.0520440.
/// t = 0: (pi/2) / pi = 1/2.
#[test]
fn one_straight_edge() {
    for (t, wanted) in [(0.5, 0.195_501_1), (0.8, 0.052_044_0), (0.0, 0.5), (-0.5, 0.804_498_9)] {
        for radius_m in [0.3, 1.0, 7.2, 15.0] {
            assert_near(share(&half_plane_from(t * radius_m), radius_m), wanted, 5e-8);
        }
    }
}

/// The inverse, solved by bisection outside this program to 5 decimals: the distance at which an edge cuts a given share.
#[test]
fn shares_of_the_trade() {
    for (t, wanted) in [(0.687_05, 0.10), (0.491_86, 0.20), (0.403_97, 0.25), (0.319_69, 0.30), (0.270_37, 0.33)] {
        // The slope of the share is -2 sqrt(1 - t^2) / pi, at most 0.64: half a unit of the fifth decimal is 3.2e-6.
        assert_near(share(&half_plane_from(t * 10.0), 10.0), wanted, 4e-6);
    }
}

/// Every number of this table is the formula of `one_straight_edge`, over the whole range, and the two sides sum to the disc.
#[test]
fn one_straight_edge_anywhere() {
    for step in -100..=100 {
        let t = f64::from(step) / 100.0;
        let wanted = (t.acos() - t * (1.0 - t * t).sqrt()) / PI;
        assert_near(share(&half_plane_from(t * 3.0), 3.0), wanted, 1e-14);
        assert_near(share(&rectangle(-1e4, -1e4, t * 3.0, 1e4), 3.0), 1.0 - wanted, 1e-14);
    }
}

/// An endless trench from d = 5 to 5.6 in a disc of 10: the difference of two segments,
/// r^2 [(acos .5 - .5 sqrt .75) - (acos .56 - .56 sqrt .6864)] = 100 [0.6141848 - 0.5124535] = 10.17313; over 314.15927 it is 3.2382 %.
#[test]
fn a_trench() {
    assert_near(share(&rectangle(5.0, -1e3, 5.6, 1e3), 10.0), 0.032_382, 5e-7);
}

/// A square of side 2 well inside a disc of radius 10 counts whole: 4. With the centre in it, beside it, on its edge, on its corner.
#[test]
fn a_square_inside_the_disc() {
    for (left, bottom) in [(-1.0, -1.0), (3.0, 3.0), (0.0, -1.0), (0.0, 0.0)] {
        let area = PreparedArea::new(&rectangle(left, bottom, left + 2.0, bottom + 2.0));
        assert_near(area.disc_area_m2(ORIGIN, 10.0), 4.0, 1e-13);
    }
}

/// The disc lies within a polygon that has a hole of 2 x 1 within the disc: pi r^2 - 2.
#[test]
fn a_disc_inside_a_polygon_with_a_hole() {
    let shell = ring(&[(-50.0, -50.0), (50.0, -50.0), (50.0, 50.0), (-50.0, 50.0)]);
    for hole in [[(1.0, 1.0), (3.0, 1.0), (3.0, 2.0), (1.0, 2.0)], [(-1.0, -0.5), (-1.0, 0.5), (1.0, 0.5), (1.0, -0.5)]]
    {
        let area = PreparedArea::new(&MultiPolygon(vec![Polygon::new(shell.clone(), vec![ring(&hole)])]));
        assert_near(area.disc_area_m2(ORIGIN, 5.0), 25.0 * PI - 2.0, 1e-12);
    }
}

/// The corner of a quarter plane at the centre takes a quarter, whatever the number of points on its sides.
#[test]
fn a_corner_at_the_centre() {
    let mut points = vec![(0.0, 0.0)];
    points.extend((1..=100).map(|step| (f64::from(step), 0.0)));
    points.extend([(100.0, 100.0), (0.0, 100.0)]);
    assert_near(share(&polygon(&points), 8.0), 0.25, 1e-15);
}

/// Nothing, a disc that only touches, a radius of 0, a ring without area.
#[test]
fn nothing_takes_nothing() {
    assert_eq!(share(&MultiPolygon(Vec::new()), 5.0), 0.0);
    assert_eq!(share(&rectangle(5.0, -9.0, 6.0, 9.0), 5.0), 0.0);
    assert_eq!(PreparedArea::new(&half_plane_from(0.0)).disc_area_m2(ORIGIN, 0.0), 0.0);
    assert_eq!(PreparedArea::new(&half_plane_from(0.0)).disc_area_m2(ORIGIN, f64::NAN), 0.0);
    let flat = PreparedArea::new(&polygon(&[(0.0, 0.0), (4.0, 0.0), (8.0, 0.0)]));
    assert!(flat.is_empty() && flat.bounds().is_none());
}

/// 3-4-5: the square's corner (3, 4) is 5 from the origin; its left side x = 3 is 3 from (0, 5).
#[test]
fn distances() {
    let area = PreparedArea::new(&rectangle(3.0, 4.0, 6.0, 7.0));
    assert_eq!(area.distance_m(ORIGIN, 10.0), Some(5.0));
    assert_eq!(area.distance_m(ORIGIN, 5.0), Some(5.0));
    assert_eq!(area.distance_m(ORIGIN, 4.999), None);
    assert_eq!(area.distance_m(at(0.0, 5.0), 10.0), Some(3.0));
    assert_eq!(area.distance_m(at(4.0, 5.0), 10.0), Some(0.0));
    assert_eq!(area.distance_m(at(3.0, 5.0), 0.0), Some(0.0));
    assert!(area.contains(at(3.0, 4.0)) && area.contains(at(4.0, 5.0)) && !area.contains(at(2.9, 5.0)));
    assert_eq!(area.boundary_distance_m(at(4.0, 5.5), 10.0), Some(1.0));
    assert_eq!(area.bounds(), Some(Rect::new(at(3.0, 4.0), at(6.0, 7.0))));
}

/// The chain tree gives the same as the edges one by one, on a ring of 10,000 points and 400 rings around it.
#[test]
fn the_tree_changes_nothing() {
    let distances: Vec<f64> = (0..10_000).map(|i| 40.0 + 5.0 * (f64::from(i) * 0.37).sin()).collect();
    let mut area = star(at(3.0, -2.0), &distances);
    for row in 0..400 {
        let corner = at(60.0 + 3.0 * f64::from(row % 20), 3.0 * f64::from(row / 20));
        area.0.extend(rectangle(corner.x, corner.y, corner.x + 2.0, corner.y + 2.0).0);
    }
    let prepared = PreparedArea::new(&area);
    for (x, y, radius_m) in [(40.0, 0.0, 9.0), (0.0, 0.0, 6.0), (75.0, 20.0, 14.0), (3.0, -2.0, 60.0), (0.0, 44.0, 0.5)]
    {
        let centre = at(x, y);
        let rings = &prepared.tree.rings;
        let edge_by_edge: f64 = (0..rings.len())
            .map(|ring| {
                let end = rings.get(ring + 1).map_or(prepared.tree.points.len() as u32, |next| next.first) - 1;
                prepared
                    .tree
                    .edges(rings[ring].first, end)
                    .map(|(p, q)| triangle_in_disc_m2(p - centre, q - centre, radius_m))
                    .sum::<f64>()
            })
            .sum();
        assert_near(prepared.disc_area_m2(centre, radius_m), edge_by_edge, 1e-9);
        let nearest = prepared
            .tree
            .points
            .windows(2)
            .map(|pair| super::super::edge::edge_distance_squared(pair[0] - centre, pair[1] - centre));
        // Pairs that straddle two rings are no edges, but none of them comes nearer here than a real one at these places.
        let nearest = nearest.fold(f64::INFINITY, f64::min).sqrt();
        let found = prepared.boundary_distance_m(centre, 1e3).unwrap();
        assert!(found >= nearest - 1e-12, "{found} {nearest}");
    }
}

fn moved(area: &MultiPolygon<f64>, turn: f64, x: f64, y: f64) -> MultiPolygon<f64> {
    let (sine, cosine) = turn.sin_cos();
    area.affine_transform(&AffineTransform::new(cosine, -sine, x, sine, cosine, y))
}

fn with_other_start(area: &MultiPolygon<f64>, start: usize, reverse: bool) -> MultiPolygon<f64> {
    let turn_ring = |ring: &LineString<f64>| {
        let mut points = ring.0[..ring.0.len() - 1].to_vec();
        let count = points.len();
        points.rotate_left(start % count);
        if reverse {
            points.reverse();
        }
        LineString(points)
    };
    let polygons = area
        .0
        .iter()
        .rev()
        .map(|p| Polygon::new(turn_ring(p.exterior()), p.interiors().iter().map(turn_ring).collect()));
    MultiPolygon(polygons.collect())
}

proptest! {
    #[test]
    fn never_more_than_zone_or_works(works in any_works(), radius_m in 0.1..15.0f64) {
        let overlap = PreparedArea::new(&works).disc_area_m2(ORIGIN, radius_m);
        prop_assert!(overlap >= 0.0 && overlap <= PI * radius_m * radius_m);
        prop_assert!(overlap <= works.unsigned_area() + 1e-9);
    }

    #[test]
    fn parts_sum_to_the_whole(works in any_works(), knife in any_shape(), radius_m in 0.1..15.0f64) {
        let take = |area: &MultiPolygon<f64>| PreparedArea::new(area).disc_area_m2(ORIGIN, radius_m);
        let (inside, outside) = (works.intersection(&knife), works.difference(&knife));
        // The overlay rounds to about 1e-7 m; boundaries here are below 1,000 m long.
        prop_assert!((take(&inside) + take(&outside) - take(&works)).abs() < 1e-4 * 0.1);
    }

    #[test]
    fn halves_of_the_world_sum_to_the_disc(works in any_works(), radius_m in 0.1..15.0f64) {
        let world = rectangle(-200.0, -200.0, 200.0, 200.0);
        let rest = world.difference(&works);
        let take = |area: &MultiPolygon<f64>| PreparedArea::new(area).disc_area_m2(ORIGIN, radius_m);
        prop_assert!((take(&works) + take(&rest) - PI * radius_m * radius_m).abs() < 1e-4);
    }

    #[test]
    fn the_place_on_earth_does_not_matter(works in any_works(), turn in 0.0..6.3f64, radius_m in 0.5..15.0f64) {
        let here = PreparedArea::new(&works).disc_area_m2(ORIGIN, radius_m);
        let zone = PI * radius_m * radius_m;
        for (x, y) in [(0.0, 0.0), (5e5, 5.5e6), (-7e5, 1e6)] {
            let there = PreparedArea::new(&moved(&works, turn, x, y)).disc_area_m2(at(x, y), radius_m);
            // A coordinate of 5.5e6 is itself rounded to 1e-9 m.
            prop_assert!((here - there).abs() < 1e-8 * zone.max(1.0), "{} {}", here, there);
        }
    }

    #[test]
    fn the_order_of_points_does_not_matter(works in any_works(), start in 0usize..50, reverse: bool, radius_m in 0.5..15.0f64) {
        let here = PreparedArea::new(&works);
        let other = PreparedArea::new(&with_other_start(&works, start, reverse));
        prop_assert!((here.disc_area_m2(ORIGIN, radius_m) - other.disc_area_m2(ORIGIN, radius_m)).abs() < 1e-11 * radius_m * radius_m);
        prop_assert_eq!(here.contains(ORIGIN), other.contains(ORIGIN));
        prop_assert_eq!(here.distance_m(ORIGIN, 50.0).is_some(), other.distance_m(ORIGIN, 50.0).is_some());
    }

    #[test]
    fn the_distance_is_where_the_overlap_begins(works in any_works()) {
        let works = works.translate(20.0, 0.0);
        let area = PreparedArea::new(&works);
        let distance_m = area.distance_m(ORIGIN, 100.0).unwrap();
        prop_assume!(distance_m > 0.01);
        prop_assert!(area.disc_area_m2(ORIGIN, distance_m * (1.0 - 1e-12)) < 1e-11);
        prop_assert!(area.disc_area_m2(ORIGIN, distance_m * 1.01) > 0.0);
        prop_assert_eq!(area.distance_m(ORIGIN, distance_m * (1.0 - 1e-12)), None);
    }
}

/// Steps from a grid of places, inside and outside an L with a hole: as long as the distance says, and they end on the boundary.
#[test]
fn the_way_to_the_boundary_is_as_long_as_the_distance_and_ends_on_it() {
    let at = |x: f64, y: f64| Coord { x, y };
    let shell = LineString(vec![
        at(0.0, 0.0),
        at(9.0, 0.0),
        at(9.0, 4.0),
        at(4.0, 4.0),
        at(4.0, 9.0),
        at(0.0, 9.0),
        at(0.0, 0.0),
    ]);
    let hole = LineString(vec![at(1.0, 1.0), at(1.0, 3.0), at(3.0, 3.0), at(3.0, 1.0), at(1.0, 1.0)]);
    let area = PreparedArea::new(&MultiPolygon(vec![Polygon::new(shell, vec![hole])]));
    for step in 0..225 {
        let from = at(f64::from(step % 15) - 2.7, f64::from(step / 15) - 2.3);
        let way = area.way_to_boundary(from).unwrap();
        let distance_m = area.boundary_distance_m(from, 100.0).unwrap();
        assert!((way.x.hypot(way.y) - distance_m).abs() < 1e-12, "{from:?}");
        assert!(area.boundary_distance_m(from + way, 1e-9).is_some(), "{from:?}");
    }
    assert_eq!(PreparedArea::new(&MultiPolygon(Vec::new())).way_to_boundary(at(0.0, 0.0)), None);
}
