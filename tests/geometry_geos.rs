//! The geometry of root zones against an independent engine: GEOS, on 10,000 seeded random pairs each, to 1e-6 of the zone area.
//!
//! Discs are drawn for GEOS with 65,536 sides, an area short by (2 pi / 65,536)^2 / 6 = 1.5e-9 of it. Intersecting every
//! pair with the whole of such a polygon would take minutes, so the same polygon is cut once into a core of 256 sides and 256 slivers of
//! 256 sides each. The sum over core and slivers is the intersection with the whole polygon; a sliver whose surrounding triangle lies
//! wholly in or wholly out of the works is not cut up.

#![allow(clippy::unwrap_used)]

use geo::{Coord, LineString, MapCoords, MultiPolygon, Polygon};
use geos::{CoordSeq, Geom, Geometry};
use rootward::geometry::{Barriers, Pieces, PreparedArea, Repair, Sight, repair, union};
use rootward::measure::{Ground, Wants};
use rootward::model::effect::{Effect, Effects};
use rootward::model::source::SourceRef;
use rootward::model::work::{Lasting, Permit, Work};
use std::f64::consts::{PI, TAU};

const PAIRS: u64 = 10_000;
const TOLERANCE: f64 = 1e-6;
const CORE_SIDES: usize = 256;
const SLIVER_SIDES: usize = 256;
/// 3 m, the radii of the published rows for 300 and 600 mm, the cap, and two between.
const RADII_M: [f64; 6] = [1.83, 3.6, 5.0, 7.2, 10.0, 15.0];

/// SplitMix64: the same numbers on every machine. (S. Vigna's public-domain constants, from memory.)
struct Dice(u64);

impl Dice {
    fn next(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        z ^ (z >> 31)
    }

    fn between(&mut self, low: f64, high: f64) -> f64 {
        low + (high - low) * ((self.next() >> 11) as f64 / (1u64 << 53) as f64)
    }

    fn below(&mut self, count: u64) -> u64 {
        self.next() % count
    }
}

fn direction(turn: f64) -> Coord<f64> {
    Coord { x: turn.cos(), y: turn.sin() }
}

/// A star-shaped ring: its bearings ascend, so it does not cross itself.
fn star_ring(dice: &mut Dice, centre: Coord<f64>, least_m: f64, most_m: f64, points: u64) -> LineString<f64> {
    let ring = (0..points).map(|index| {
        let turn = (index as f64 + dice.between(0.0, 0.9)) / points as f64 * TAU;
        centre + direction(turn) * dice.between(least_m, most_m)
    });
    LineString(ring.collect())
}

fn box_ring(centre: Coord<f64>, turn: f64, half_long_m: f64, half_wide_m: f64) -> LineString<f64> {
    let (u, v) = (direction(turn) * half_long_m, direction(turn + PI / 2.0) * half_wide_m);
    LineString(vec![centre - u - v, centre + u - v, centre + u + v, centre - u + v])
}

/// One work near the origin: a star, a star with a hole, a rectangle, a thin trench (upright ones too), a ring of many points.
fn any_work(dice: &mut Dice, radius_m: f64) -> Polygon<f64> {
    let centre = direction(dice.between(0.0, TAU)) * dice.between(0.0, 1.3 * radius_m);
    let points = 3 + dice.below(14);
    match dice.below(6) {
        0 | 1 => Polygon::new(star_ring(dice, centre, 0.1 * radius_m, 0.9 * radius_m, points), Vec::new()),
        2 => {
            let shell = star_ring(dice, centre, 0.6 * radius_m, radius_m, points.max(6));
            // The shell's sides stay outside 0.6 cos(pi / 6) of its radius where its points are evenly spread; a hole of 0.1 always fits.
            let hole = star_ring(dice, centre, 0.02 * radius_m, 0.1 * radius_m, 5);
            Polygon::new(shell, vec![hole])
        }
        3 => Polygon::new(
            box_ring(
                centre,
                dice.between(0.0, PI),
                dice.between(0.1, 1.0) * radius_m,
                dice.between(0.1, 1.0) * radius_m,
            ),
            Vec::new(),
        ),
        4 => {
            let turn = if dice.below(3) == 0 { 0.0 } else { dice.between(0.0, PI) };
            Polygon::new(box_ring(centre, turn, dice.between(0.2, 2.5) * radius_m, dice.between(0.05, 0.3)), Vec::new())
        }
        _ => Polygon::new(star_ring(dice, centre, 0.4 * radius_m, 0.5 * radius_m, 100), Vec::new()),
    }
}

fn any_works(dice: &mut Dice, radius_m: f64) -> Vec<MultiPolygon<f64>> {
    (0..1 + dice.below(4)).map(|_| MultiPolygon(vec![any_work(dice, radius_m)])).collect()
}

fn geos_ring(points: &[Coord<f64>]) -> Geometry {
    let mut rows: Vec<[f64; 2]> = points.iter().map(|point| [point.x, point.y]).collect();
    if rows.first() != rows.last() {
        rows.push(rows[0]);
    }
    CoordSeq::new_from_vec(&rows).unwrap().create_linear_ring().unwrap()
}

fn geos_polygon(polygon: &Polygon<f64>) -> Geometry {
    let holes = polygon.interiors().iter().map(|hole| geos_ring(&hole.0)).collect();
    Geometry::create_polygon(geos_ring(&polygon.exterior().0), holes).unwrap()
}

/// Two by two. The one-step union of GEOS 3.11.1 gave a shadow that covered the trunk's own surroundings for one pair of the 10,000 (seed
/// 5,608); united one by one, and by 200,000 rays cast from the trunk, the same pair agreed with ours.
fn geos_union(mut polygons: Vec<Geometry>) -> Geometry {
    while polygons.len() > 1 {
        let pairs = polygons.chunks(2);
        polygons =
            pairs.map(|pair| if let [a, b] = pair { a.union(b).unwrap() } else { Clone::clone(&pair[0]) }).collect();
    }
    polygons.pop().expect("at least one polygon")
}

fn geos_shapes(shapes: &[MultiPolygon<f64>]) -> Geometry {
    geos_union(shapes.iter().flat_map(|shape| &shape.0).map(geos_polygon).collect())
}

/// The polygon of 65,536 sides inscribed in a disc around the origin, in pieces.
struct DrawnDisc {
    radius_m: f64,
    core: Geometry,
    /// Each with its area and the triangle of its chord and the two tangents at its ends, which holds it.
    slivers: Vec<(Geometry, f64, Geometry)>,
}

impl DrawnDisc {
    fn new(radius_m: f64) -> DrawnDisc {
        let sides = CORE_SIDES * SLIVER_SIDES;
        let point = |index: usize| direction(TAU * (index % sides) as f64 / sides as f64) * radius_m;
        let core: Vec<Coord<f64>> = (0..CORE_SIDES).map(|index| point(index * SLIVER_SIDES)).collect();
        let sliver = |start: usize| (start..=start + SLIVER_SIDES).map(point).collect::<Vec<_>>();
        let polygon = |points: &[Coord<f64>]| Geometry::create_polygon(geos_ring(points), Vec::new()).unwrap();
        let slivers = core.iter().enumerate().map(|(index, &start)| {
            let points = sliver(index * SLIVER_SIDES);
            // The tangents meet at r / cos(half the angle).
            let apex = point(index * SLIVER_SIDES + SLIVER_SIDES / 2) / (PI / CORE_SIDES as f64).cos();
            let sliver = polygon(&points);
            let area_m2 = sliver.area().unwrap();
            (sliver, area_m2, polygon(&[start, apex, points[SLIVER_SIDES]]))
        });
        let slivers = slivers.collect();
        DrawnDisc { radius_m, core: polygon(&core), slivers }
    }

    fn zone_m2(&self) -> f64 {
        PI * self.radius_m * self.radius_m
    }

    /// The area of the drawn disc that `shape` covers.
    fn covered_m2(&self, shape: &Geometry) -> f64 {
        let prepared = shape.to_prepared_geom().unwrap();
        let of_sliver = |(sliver, area_m2, around): &(Geometry, f64, Geometry)| {
            if !prepared.intersects(around).unwrap() {
                0.0
            } else if prepared.contains(around).unwrap() {
                *area_m2
            } else {
                shape.intersection(sliver).unwrap().area().unwrap()
            }
        };
        shape.intersection(&self.core).unwrap().area().unwrap() + self.slivers.iter().map(of_sliver).sum::<f64>()
    }
}

/// Runs a check for every seed on two threads and gives the worst error as a share of the zone.
fn worst_of(check: impl Fn(u64, &DrawnDisc) -> f64 + Sync) -> f64 {
    let half = |offset: u64| {
        let discs: Vec<DrawnDisc> = RADII_M.iter().map(|&radius_m| DrawnDisc::new(radius_m)).collect();
        let seeds = (offset..PAIRS).step_by(2);
        seeds.map(|seed| check(seed, &discs[(seed / 2) as usize % discs.len()])).fold(0.0, f64::max)
    };
    std::thread::scope(|scope| {
        let (even, odd) = (scope.spawn(|| half(0)), scope.spawn(|| half(1)));
        even.join().unwrap().max(odd.join().unwrap())
    })
}

#[test]
fn the_drawn_disc_is_whole() {
    for radius_m in RADII_M {
        let disc = DrawnDisc::new(radius_m);
        let world =
            Geometry::create_polygon(geos_ring(&box_ring(direction(1.0), 0.3, 99.0, 99.0).0), Vec::new()).unwrap();
        assert!((disc.covered_m2(&world) / disc.zone_m2() - 1.0).abs() < 2e-9);
    }
}

#[test]
fn overlaps_agree() {
    let worst = worst_of(|seed, disc| {
        let works = any_works(&mut Dice(seed), disc.radius_m);
        // Every second pair is measured far from the origin of the CRS, as real ones are.
        let centre = if seed % 4 < 2 { Coord { x: 0.0, y: 0.0 } } else { Coord { x: 491_520.0, y: 5_458_944.0 } };
        let there: Vec<MultiPolygon<f64>> = works.iter().map(|work| work.map_coords(|point| point + centre)).collect();
        let ours = PreparedArea::new(&union(&there.iter().collect::<Vec<_>>())).disc_area_m2(centre, disc.radius_m);
        let theirs = disc.covered_m2(&geos_shapes(&works));
        let error = (ours - theirs).abs() / disc.zone_m2();
        assert!(error < TOLERANCE, "seed {seed}: ours {ours}, GEOS {theirs}, radius {}", disc.radius_m);
        error
    });
    eprintln!("overlaps: worst of {PAIRS} differs by {worst:.2e} of the zone");
}

/// The shadow of an edge: the quadrilateral between it and its image three radii out, in parts of at most a sixth of a circle so that
/// the far side stays outside the disc.
fn edge_shadow(p: Coord<f64>, q: Coord<f64>, radius_m: f64, shadows: &mut Vec<Geometry>) {
    let cross = p.x * q.y - p.y * q.x;
    let turn = cross.atan2(p.x * q.x + p.y * q.y);
    if turn.abs() > PI / 3.0 {
        let middle = (p + q) / 2.0;
        edge_shadow(p, middle, radius_m, shadows);
        edge_shadow(middle, q, radius_m, shadows);
        return;
    }
    let out = |point: Coord<f64>| point * (3.0 * radius_m / point.x.hypot(point.y)).max(2.0);
    // A radial edge has no shadow but itself; GEOS would call its quadrilateral invalid.
    if turn.abs() > 1e-12 {
        shadows.push(Geometry::create_polygon(geos_ring(&[p, q, out(q), out(p)]), Vec::new()).unwrap());
    }
}

/// Everything behind an edge of a cut, and the cut: built from the definition, with no sorting by bearing.
fn shadow(cuts: &[MultiPolygon<f64>], radius_m: f64) -> Geometry {
    let mut parts = Vec::new();
    for polygon in cuts.iter().flat_map(|cut| &cut.0) {
        for ring in std::iter::once(polygon.exterior()).chain(polygon.interiors()) {
            ring.0.windows(2).for_each(|pair| edge_shadow(pair[0], pair[1], radius_m, &mut parts));
        }
        parts.push(geos_polygon(polygon));
    }
    geos_union(parts)
}

#[test]
fn severed_and_affected_agree() {
    let worst = worst_of(|seed, disc| {
        let mut dice = Dice(seed ^ 0x5eed);
        let (cuts, others) = (any_works(&mut dice, disc.radius_m), any_works(&mut dice, disc.radius_m));
        let sight = Sight::new(
            &PreparedArea::new(&union(&cuts.iter().collect::<Vec<_>>())),
            Coord { x: 0.0, y: 0.0 },
            disc.radius_m,
        );
        let visible_m2 = sight.visible_area_m2(&PreparedArea::new(&union(&others.iter().collect::<Vec<_>>())));
        let ours = (sight.severed_m2(), sight.severed_m2() + visible_m2);

        // The trunk in a cut severs the whole zone: by GEOS's own point in polygon.
        let cut_ground = geos_shapes(&cuts);
        let trunk = Geometry::new_from_wkt("POINT (0 0)").unwrap();
        let theirs = if cut_ground.contains(&trunk).unwrap() {
            (disc.zone_m2(), disc.zone_m2())
        } else {
            let dark = shadow(&cuts, disc.radius_m);
            let all = dark.union(&geos_shapes(&others)).unwrap();
            (disc.covered_m2(&dark), disc.covered_m2(&all))
        };
        let error = (ours.0 - theirs.0).abs().max((ours.1 - theirs.1).abs()) / disc.zone_m2();
        assert!(error < TOLERANCE, "seed {seed}: ours {ours:?}, GEOS {theirs:?}, radius {}", disc.radius_m);
        error
    });
    eprintln!("severed and affected: worst of {PAIRS} differs by {worst:.2e} of the zone");
}

/// 1,000 pairs of works and existing surfaces far from the origin of their CRS: the surfaced part of the disc, and what is new.
#[test]
fn new_ground_agrees() {
    const NEW_GROUND_PAIRS: u64 = 1_000;
    let discs = RADII_M.map(DrawnDisc::new);
    let mut worst = 0.0_f64;
    for seed in 0..NEW_GROUND_PAIRS {
        let disc = &discs[(seed % RADII_M.len() as u64) as usize];
        let mut dice = Dice(seed ^ 0x9a7e);
        let (works, paved) = (any_works(&mut dice, disc.radius_m), any_works(&mut dice, disc.radius_m));
        let centre = Coord { x: 491_520.0, y: 5_458_944.0 };
        let there = |shapes: &[MultiPolygon<f64>]| -> Vec<MultiPolygon<f64>> {
            shapes.iter().map(|shape| shape.map_coords(|point| point + centre)).collect()
        };
        let (our_works, our_paved) = (there(&works), there(&paved));
        let pieces = Pieces::new(&our_paved.iter().collect::<Vec<_>>());
        let united = union(&our_works.iter().collect::<Vec<_>>());
        let new = pieces.outside(&united).unwrap_or(united);
        let ours = (
            pieces.prepared().disc_area_m2(centre, disc.radius_m),
            PreparedArea::new(&new).disc_area_m2(centre, disc.radius_m),
        );
        let (their_works, their_paved) = (geos_shapes(&works), geos_shapes(&paved));
        let theirs = (disc.covered_m2(&their_paved), disc.covered_m2(&their_works.difference(&their_paved).unwrap()));
        let error = (ours.0 - theirs.0).abs().max((ours.1 - theirs.1).abs()) / disc.zone_m2();
        assert!(error < TOLERANCE, "seed {seed}: ours {ours:?}, GEOS {theirs:?}, radius {}", disc.radius_m);
        worst = worst.max(error);
    }
    eprintln!("new ground: worst of {NEW_GROUND_PAIRS} differs by {worst:.2e} of the zone");
}

/// The ground that hangs together with the trunk, in GEOS's own way: a drawn disc a little wider, less the barriers, the part with the trunk in it.
fn reachable(barriers: &[MultiPolygon<f64>], radius_m: f64, wider_m: f64) -> Option<Geometry> {
    let sides = 2048;
    let corner_m = (radius_m + wider_m) / (PI / sides as f64).cos();
    let disc: Vec<Coord<f64>> = (0..sides).map(|side| direction(TAU * side as f64 / sides as f64) * corner_m).collect();
    let disc = Geometry::create_polygon(geos_ring(&disc), Vec::new()).unwrap();
    let open = disc.difference(&geos_shapes(barriers)).unwrap();
    let trunk = Geometry::new_from_wkt("POINT (0 0)").unwrap();
    let parts =
        (0..open.get_num_geometries().unwrap()).map(|part| Geom::clone(&open.get_geometry_n(part).unwrap()).unwrap());
    let mut parts = parts.filter(|part| part.contains(&trunk).unwrap());
    parts.next()
}

/// 700 random places, about 600 of them with a zone shaped by barriers: their area, and what works take and sever of them. Cuts count on the ground that roots reach.
#[test]
fn shaped_zones_agree() {
    const SHAPED_PAIRS: u64 = 700;
    let discs = RADII_M.map(DrawnDisc::new);
    let (mut worst, mut shaped_ones, mut in_the_band) = (0.0_f64, 0, 0);
    for seed in 0..SHAPED_PAIRS {
        let disc = &discs[(seed % RADII_M.len() as u64) as usize];
        let radius_m = disc.radius_m;
        let mut dice = Dice(seed ^ 0xba77);
        let trunk = Geometry::new_from_wkt("POINT (0 0)").unwrap();
        let mut barriers = any_works(&mut dice, radius_m);
        barriers.retain(|barrier| !geos_shapes(std::slice::from_ref(barrier)).contains(&trunk).unwrap());
        let (cuts, fills) = (any_works(&mut dice, radius_m), any_works(&mut dice, radius_m));
        if barriers.is_empty() {
            continue;
        }
        // Ours, far from the origin of the CRS.
        let centre = Coord { x: 491_520.0, y: 5_458_944.0 };
        let there = |shapes: &[MultiPolygon<f64>]| -> Vec<MultiPolygon<f64>> {
            shapes.iter().map(|shape| shape.map_coords(|point| point + centre)).collect()
        };
        let all = Barriers::new(there(&barriers).iter());
        let near: Vec<u32> = all.parts().map(|(number, _)| number).collect();
        let Some(shaped) = all.shape(&near, centre, radius_m, radius_m).shaped else { continue };
        let works: Vec<Work> = there(&cuts).into_iter().map(|cut| drawn_work(cut, true)).collect();
        let works: Vec<Work> =
            works.into_iter().chain(there(&fills).into_iter().map(|fill| drawn_work(fill, false))).collect();
        let permits = [permit(works.len())];
        let ground = Ground::prepare(&works, &permits, Wants::default(), None);
        let near: Vec<u32> = (0..).take(works.len()).collect();
        let ours = ground.measure_shaped(&shaped.ground, &works, &near, centre, &[radius_m], radius_m);
        let ours = ours.map_or([shaped.area_m2, 0.0, 0.0, 0.0], |ours| {
            let whole = &ours.regions[0];
            [whole.area_m2(), whole.overlap_m2, whole.severed_m2, whole.affected_m2]
        });

        // What hangs together only up to 6 mm outside the circle may count or not (the module says so): either way is right.
        let homes = [0.0005, 0.0065].map(|wider_m| reachable(&barriers, radius_m, wider_m).unwrap());
        let [narrow, wide] = homes.each_ref().map(|home| disc.covered_m2(home));
        let home = &homes[usize::from((ours[0] - wide).abs() < (ours[0] - narrow).abs())];
        in_the_band += u32::from((wide - narrow).abs() > TOLERANCE * disc.zone_m2());
        let (cut_ground, fill_ground) = (geos_shapes(&cuts), geos_shapes(&fills));
        let in_home = |shape: &Geometry| home.intersection(shape).unwrap();
        let cuts_in_home = back_from_geos(&in_home(&cut_ground));
        let dark = if cut_ground.contains(&trunk).unwrap() {
            Clone::clone(home)
        } else if cuts_in_home.is_empty() {
            Geometry::new_from_wkt("POLYGON EMPTY").unwrap()
        } else {
            in_home(&shadow(&cuts_in_home, radius_m))
        };
        let taken = in_home(&cut_ground.union(&fill_ground).unwrap());
        let affected = dark.union(&in_home(&fill_ground)).unwrap();
        let theirs = [home, &taken, &dark, &affected].map(|shape| disc.covered_m2(shape));
        for (ours_m2, theirs_m2) in ours.iter().zip(theirs) {
            let error = (ours_m2 - theirs_m2).abs() / disc.zone_m2();
            assert!(error < TOLERANCE, "seed {seed}: ours {ours:?}, GEOS {theirs:?}, radius {radius_m}");
            worst = worst.max(error);
        }
        shaped_ones += 1;
    }
    assert!(shaped_ones > 500 && in_the_band < 10, "{shaped_ones} {in_the_band}");
    eprintln!(
        "shaped zones: worst of {shaped_ones} differs by {worst:.2e} of the zone; {in_the_band} hang on the band at the circle"
    );
}

fn drawn_work(shape: MultiPolygon<f64>, severs: bool) -> Work {
    Work {
        id: Default::default(),
        source: SourceRef { file: 0, row: 1 },
        permit: 0,
        kind: Default::default(),
        kind_written: Default::default(),
        effects: Effects::of(&[if severs { Effect::Cut } else { Effect::Fill }]),
        severs,
        depth_m: None,
        lasting: Lasting::Permanent,
        mitigations: Vec::new(),
        accepted: Vec::new(),
        margin_m: 0.0,
        size_of_kind_m: None,
        line: None,
        shape,
    }
}

fn permit(works: usize) -> Permit {
    Permit { active: true, works: (0..).take(works).collect(), ..Permit::default() }
}

/// GEOS's polygons as ours; its points and lines are left out.
fn back_from_geos(shape: &Geometry) -> Vec<MultiPolygon<f64>> {
    let ring = |points: CoordSeq| {
        let at = |index| Coord { x: points.get_x(index).unwrap(), y: points.get_y(index).unwrap() };
        LineString((0..points.size().unwrap()).map(at).collect())
    };
    let parts =
        (0..shape.get_num_geometries().unwrap()).map(|part| Geom::clone(&shape.get_geometry_n(part).unwrap()).unwrap());
    let polygons = parts.filter(|part: &Geometry| part.area().unwrap() > 0.0).map(|part| {
        let holes = 0..part.get_num_interior_rings().unwrap();
        let holes = holes.map(|hole| ring(part.get_interior_ring_n(hole).unwrap().get_coord_seq().unwrap())).collect();
        MultiPolygon(vec![Polygon::new(ring(part.get_exterior_ring().unwrap().get_coord_seq().unwrap()), holes)])
    });
    polygons.collect()
}

/// What [`repair`] and [`union`] give is valid in the eyes of GEOS too.
#[test]
fn repaired_shapes_are_valid() {
    let mut repaired = 0;
    for seed in 0..3_000 {
        let mut dice = Dice(seed);
        let count = 4 + dice.below(8);
        let scribble: Vec<Coord<f64>> =
            (0..count).map(|_| Coord { x: dice.between(0.0, 20.0), y: dice.between(0.0, 20.0) }).collect();
        let drawn = geos_polygon(&Polygon::new(LineString(scribble.clone()), Vec::new())).is_valid().unwrap();
        match repair(&MultiPolygon(vec![Polygon::new(LineString(scribble), Vec::new())])) {
            Repair::Valid(_) => assert!(drawn, "seed {seed}"),
            Repair::Repaired { shape, .. } => {
                repaired += 1;
                assert!(!drawn, "seed {seed}");
                let parts = shape.0.iter().map(geos_polygon).collect();
                assert!(Geometry::create_multipolygon(parts).unwrap().is_valid().unwrap(), "seed {seed}");
            }
            Repair::Failed(reason) => panic!("seed {seed}: {reason}"),
        }
    }
    assert!(repaired > 1_000, "{repaired}");
}
