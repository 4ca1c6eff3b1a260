//! Fences and covers of hand-made permits against closed forms, and their laws on random ones.

use super::upkeep::{UpkeepInputs, UpkeepPlan};
use super::upkeep_values::UpkeepValues;
use super::*;
use crate::geometry::corners::shrink_with_corners;
use crate::geometry::shapes_for_tests::{any_shape, at, rectangle, star};
use crate::geometry::{PreparedArea, disc_of_sides, union};
use crate::model::effect::{Effect, Effects};
use crate::model::finding::{Finding, Verdict};
use crate::model::overlap::Overlap;
use crate::model::protection::{CoverPlace, Fence};
use crate::model::results::RowDiameter;
use crate::model::source::SourceRef;
use crate::model::tree::{Disposition, Stems};
use crate::settings::{ServiceChoices, UpkeepChoices};
use geo::{Area, BooleanOps, Coord, Distance, Euclidean, LineString, Polygon, Validation};
use proptest::prelude::*;
use std::f64::consts::PI;

const FOOT_M: f64 = 0.3048;
const CUBIC_YARD_M3: f64 = 0.764_554_857_984;
/// Trunk diameters per metre of radius in the rule set that all of these use: 12.
const DIAMETERS: f64 = 12.0;

/// One permit with all that is around it.
struct Scene {
    trees: Vec<Tree>,
    works: Vec<Work>,
    surfaces: Vec<(MultiPolygon<f64>, String)>,
    site: Vec<MultiPolygon<f64>>,
    clearance_m: f64,
    traffic: Traffic,
    fence: &'static str,
    rules: RuleSet,
}

impl std::fmt::Debug for Scene {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        let trees: Vec<_> = self.trees.iter().map(|tree| (tree.place, &tree.stems)).collect();
        let works: Vec<_> = self.works.iter().map(|work| (&work.kind, &work.shape)).collect();
        write!(f, "{trees:?} {works:?} {:?} {:?} {}", self.surfaces, self.site, self.clearance_m)
    }
}

impl Scene {
    /// Trees as (place, radius of the root zone), and works as (shape, kind).
    fn new(trees: &[(Coord<f64>, f64)], works: &[(MultiPolygon<f64>, &str)]) -> Scene {
        let tree = |&(place, radius_m): &(Coord<f64>, f64)| {
            let mut tree = Tree::only_placed(format!("{place:?}"), SourceRef::default(), place);
            tree.stems = Stems::Measured(vec![radius_m / DIAMETERS]);
            tree
        };
        Scene {
            trees: trees.iter().map(tree).collect(),
            works: works.iter().map(|(shape, kind)| work(shape.clone(), kind)).collect(),
            surfaces: Vec::new(),
            site: Vec::new(),
            clearance_m: 1.0,
            traffic: Traffic::Light,
            fence: "chain-link",
            rules: RuleSet::load("one-foot-per-inch").unwrap(),
        }
    }

    fn protect(&self) -> Protection {
        let choices = ProtectChoices {
            clearance_m: self.clearance_m,
            fence: None,
            traffic: self.traffic,
            values: None,
            services: ServiceChoices { shift_within_m: 5.0, values: None },
            upkeep: UpkeepChoices::default(),
        };
        let values = Values::load(None).unwrap();
        let inputs = UpkeepInputs { values: UpkeepValues::built_in(), weather: None, prices: Vec::new() };
        let plan = UpkeepPlan::new(inputs, &choices.upkeep, 50.0, &[]).unwrap();
        let (shapes, kinds): (Vec<_>, Vec<_>) = self.surfaces.iter().cloned().unzip();
        let site = Site {
            choices: &choices,
            rules: &self.rules,
            trees: &self.trees,
            works: &self.works,
            ground: SiteGround::new(&self.site, &shapes, &kinds, &values.buildings),
            values: &values,
            built: values.fence(Some(self.fence)).unwrap(),
            lines: None,
            upkeep: &plan,
        };
        let permit = Permit { works: (0..self.works.len() as u32).collect(), ..Permit::default() };
        let rows: Vec<Row> = (0..self.trees.len()).map(|tree| self.row(tree)).collect();
        protect(&site, &permit, &rows.iter().enumerate().collect::<Vec<_>>())
    }

    fn row(&self, tree: usize) -> Row {
        let diameter_m = match &self.trees[tree].stems {
            Stems::Measured(stems) => Some(stems[0]),
            _ => None,
        };
        Row {
            rule_set: 0,
            permit: 0,
            tree: tree as u32,
            of: std::sync::Arc::new(self.trees[tree].clone()),
            diameter: diameter_m.map_or(RowDiameter::Unknown("diameter-missing"), RowDiameter::Known),
            zone: diameter_m.map(|diameter_m| self.rules.zone(&self.trees[tree], diameter_m)),
            overlap: Overlap::default(),
            finding: Finding {
                verdict: Verdict::Minor,
                clause: String::new(),
                measure: String::new(),
                value: None,
                limit: String::new(),
                denominator: String::new(),
                warnings: Vec::new(),
            },
            heritage_class: String::new(),
            protected_class: String::new(),
            replacement: None,
            borderline: "",
            unshaped: None,
        }
    }
}

fn work(shape: MultiPolygon<f64>, kind: &str) -> Work {
    let passes = ["haul route", "storage", "access"].contains(&kind);
    let effects = if passes { [Effect::Compact] } else { [Effect::Cut] };
    Work {
        id: Default::default(),
        source: SourceRef::default(),
        permit: 0,
        kind: kind.into(),
        kind_written: Default::default(),
        effects: Effects::of(&effects),
        severs: !passes,
        depth_m: None,
        lasting: if passes { Lasting::Temporary } else { Lasting::Permanent },
        mitigations: Vec::new(),
        accepted: Vec::new(),
        margin_m: 0.0,
        size_of_kind_m: None,
        shape,
        line: None,
    }
}

#[track_caller]
fn close(got: f64, wanted: f64, within: f64) {
    assert!((got - wanted).abs() <= within, "got {got}, wanted {wanted}");
}

fn cover_of<'a>(protection: &'a Protection, place: CoverPlace, material: &str) -> &'a crate::model::protection::Cover {
    let mut found = protection.covers.iter().filter(|cover| (cover.place, cover.material) == (place, material));
    let one = found.next().expect("a cover");
    assert!(found.next().is_none());
    one
}

/// Area of the part of a disc beyond a line at a distance from its centre.
fn segment_m2(radius_m: f64, distance_m: f64) -> f64 {
    radius_m.powi(2) * (distance_m / radius_m).acos() - distance_m * (radius_m.powi(2) - distance_m.powi(2)).sqrt()
}

/// r = 24 ft in open ground: 2 pi 24 = 150.796 ft; 16 stretches of 10 ft, 19 of 8 ft; two signs within 100 ft of each other. Mulch of 4 in
/// on pi (24^2 - 1^2) sq ft = 1,806.416 sq ft is 22.301 cu yd: here the trunk of 2 ft keeps 6 in more free, pi (24^2 - 1.5^2) / 81 = 22.253.
#[test]
fn open_ground() {
    let mut scene = Scene::new(&[(at(5e5, 4e6), 24.0 * FOOT_M)], &[]);
    let protection = scene.protect();
    let [fence] = protection.fences.as_slice() else { panic!("{protection:?}") };
    close(fence.length_m / FOOT_M, 150.796, 5e-4);
    close(fence.area_m2, PI * (24.0 * FOOT_M).powi(2), 1e-3);
    assert_eq!((fence.posts, fence.panels, fence.signs, fence.gates), (16, 16, 2, 1));
    close(fence.trunk_distance_m, 24.0 * FOOT_M, 1e-9);
    assert!(fence.warnings.is_empty() && protection.unfenced.is_empty());
    let mulch = cover_of(&protection, CoverPlace::Inside, "mulch");
    let (least_m, most_m) = mulch.depth_m.unwrap();
    close(most_m * mulch.area_m2 / CUBIC_YARD_M3, PI * (576.0 - 2.25) / 81.0, 2e-3);
    close(least_m * 2.0, most_m, 1e-12);
    assert_eq!(mulch.area_m2, cover_of(&protection, CoverPlace::Inside, "compost").area_m2);
    assert!(protection.covers.iter().all(|cover| cover.place == CoverPlace::Inside));
    scene.fence = "welded-wire";
    assert_eq!(scene.protect().fences[0].posts, 19);
    // The published figure keeps 1 ft free in all: a trunk of 1 ft and 6 in around its face. That tree has a zone of 12 ft, so it is worked out.
    close(4.0 / 12.0 / 27.0 * PI * (576.0 - 1.0), 22.301, 5e-4);
}

/// A long wall at r/2 and a clearance of 1 m: the fence is the disc less the segment beyond r/2 - 1; the strip of 1 m is covered; the rest is built on.
#[test]
fn a_wall_at_half_the_radius() {
    let r = 24.0 * FOOT_M;
    let wall = rectangle(r / 2.0, -60.0, 80.0, 60.0);
    let scene = Scene::new(&[(at(0.0, 0.0), r)], &[(wall, "building")]);
    let protection = scene.protect();
    let fence = &protection.fences[0];
    let h = r / 2.0 - 1.0;
    let half_angle = (h / r).acos();
    close(fence.area_m2, PI * r * r - segment_m2(r, h), 0.05);
    close(fence.length_m, 2.0 * (PI - half_angle) * r + 2.0 * (r * r - h * h).sqrt(), 0.1);
    close(fence.trunk_distance_m, h, 1e-3);
    let strip = cover_of(&protection, CoverPlace::Outside, "chips");
    close(strip.area_m2, segment_m2(r, h) - segment_m2(r, r / 2.0), 0.05);
    close(protection.balance.works_m2, segment_m2(r, r / 2.0), 0.02);
    close(protection.balance.parts_m2(), protection.balance.all_m2, 1e-6);
    // The quarter ring (6 ft) is kept clear; the wall at 2.6576 m is outside it.
    assert!(fence.inside_ring.is_empty());
    let nearer = Scene { clearance_m: 2.0, ..scene };
    assert_eq!(nearer.protect().fences[0].inside_ring, [0]);
    assert_eq!(nearer.protect().fences[0].warnings, ["fence_within_reserved_ring"]);
}

/// Two zones of 6 m whose centres are 10 m apart hang together: 2 r (2 pi - 2 acos(d / 2r)) of line around both. Zones that do not
/// touch have a fence each.
#[test]
fn zones_that_touch_share_a_fence() {
    let scene = |apart_m: f64| Scene::new(&[(at(0.0, 0.0), 6.0), (at(apart_m, 0.0), 6.0)], &[]).protect();
    let group = scene(10.0);
    assert_eq!((group.fences.len(), group.fences[0].trees.as_slice()), (1, &[0, 1][..]));
    close(group.fences[0].length_m, 2.0 * 6.0 * (2.0 * PI - 2.0 * (5.0f64 / 6.0).acos()), 0.15);
    let lens_m2 = 2.0 * segment_m2(6.0, 5.0);
    close(group.fences[0].area_m2, 72.0 * PI - lens_m2, 0.1);
    close(group.balance.all_m2, 72.0 * PI - lens_m2, 0.05);
    assert_eq!(scene(12.5).fences.len(), 2);
    // A neck of 2 sqrt(6^2 - (d / 2)^2): 1.5 m at 11.906 m, 0.7 m at 11.98 m; one of less than 1 m is cut.
    assert_eq!(scene(11.906).fences.len(), 1);
    assert_eq!(scene(11.98).fences.len(), 2);
}

/// Trees that go have no fence; off-site ones do; one in a work, in a building, off the site or without a diameter is told once, with its reason.
#[test]
fn trees_without_a_fence_are_told_why() {
    let places: Vec<_> = (0..7).map(|n| (at(40.0 * f64::from(n), 0.0), 6.0)).collect();
    let works = [(rectangle(-2.0, -2.0, 2.0, 2.0), "building"), (rectangle(40.5, -2.0, 44.0, 2.0), "trench")];
    let mut scene = Scene::new(&places, &works);
    scene.surfaces = vec![(rectangle(78.0, -2.0, 82.0, 2.0), "building".into())];
    scene.trees[3].stems = Stems::Unknown("diameter-missing");
    scene.trees[4].disposition = Some(Disposition::Remove);
    scene.trees[5].disposition = Some(Disposition::OffSite);
    scene.site = vec![rectangle(-30.0, -30.0, 220.0, 30.0)];
    let protection = scene.protect();
    let told: Vec<_> = protection.unfenced.iter().map(|one| (one.tree, one.reason.as_str())).collect();
    let expected = [
        (0, "the trunk stands within a work"),
        (1, "the trunk centre is 0.500 m from a work, within the clearance of 1 m"),
        (2, "the trunk stands within an existing building"),
        (3, "not assessed: no usable diameter, so no root zone"),
        (6, "the trunk stands off the site"),
    ];
    assert_eq!(told, expected);
    assert!(protection.unfenced.iter().all(|one| !one.advice.is_empty()));
    assert_eq!(protection.fences.iter().map(|fence| fence.trees.clone()).collect::<Vec<_>>(), [[5]]);
    assert_eq!(protection.trees[4].goes_because, "disposition remove");
}

/// Zones that a barrier shapes are fenced and covered in that shape.
#[test]
fn shaped_zones_are_protected_as_they_are() {
    use crate::model::zone::ZoneShape;
    let scene = Scene::new(&[(at(0.0, 0.0), 6.0)], &[]);
    let half = rectangle(-6.0, -6.0, 2.0, 6.0).intersection(&MultiPolygon(vec![disc_of_sides(at(0.0, 0.0), 6.0, 0.5)]));
    let area_m2 = half.unsigned_area();
    let mut row = scene.row(0);
    let zone = row.zone.as_mut().unwrap();
    zone.shape = Some(std::sync::Arc::new(ZoneShape { ground: half, area_m2, disc_radius_m: 6.0, made_up: false }));
    let staying = staying::Staying {
        tree: 0,
        place: at(0.0, 0.0),
        trunk_m: 0.25,
        zone_m: 6.0,
        fence_m: 6.0,
        reserved_m: 1.5,
        without_drip_line: false,
        shape: zone.shape.clone(),
    };
    let values = Values::load(None).unwrap();
    let nothing = Pieces::new(&[]);
    let way = fence::InTheWay {
        works: &nothing,
        cleared: &nothing,
        buildings: &nothing,
        site: None,
        clearance_m: 1.0,
        narrowest_m: 1.0,
        guard: "2 m",
        built: &values.fences[0],
    };
    let (fences, unfenced) = fence::fences(&way, &[staying]);
    assert!(unfenced.is_empty());
    close(fences[0].area_m2, area_m2, 0.05);
    close(fences[0].trunk_distance_m, 2.0, 1e-6);
}

/// No trees, or none that stay: nothing, and no ground.
#[test]
fn nothing_of_nothing() {
    let protection = Scene::new(&[], &[(rectangle(0.0, 0.0, 1.0, 1.0), "building")]).protect();
    assert!(protection.fences.is_empty() && protection.covers.is_empty() && protection.unfenced.is_empty());
    assert_eq!(protection.balance.all_m2, 0.0);
}

fn shortest_m(line: &Polygon<f64>) -> f64 {
    let rings = std::iter::once(line.exterior()).chain(line.interiors());
    rings.flat_map(LineString::lines).map(|side| side.dx().hypot(side.dy())).fold(f64::INFINITY, f64::min)
}

fn scenes() -> impl Strategy<Value = Scene> {
    let tree = (-14.0..14.0f64, -14.0..14.0f64, 1.9..9.0f64).prop_map(|(x, y, radius_m)| (at(x, y), radius_m));
    let kind = prop_oneof![Just("building"), Just("trench"), Just("haul route"), Just("storage")];
    let ground = prop_oneof![Just("road"), Just("building")];
    let site = prop_oneof![
        Just(None),
        proptest::collection::vec(8.0..25.0f64, 8).prop_map(|reach| Some(star(at(0.0, 0.0), &reach)))
    ];
    (
        proptest::collection::vec(tree, 1..6),
        proptest::collection::vec((any_shape(), kind), 0..5),
        proptest::collection::vec((any_shape(), ground), 0..3),
        site,
        0.0..2.0f64,
    )
        .prop_map(|(trees, works, surfaces, site, clearance_m)| {
            let mut scene = Scene::new(&trees, &works);
            scene.surfaces = surfaces.into_iter().map(|(shape, kind)| (shape, kind.to_string())).collect();
            scene.site = site.into_iter().collect();
            scene.clearance_m = clearance_m;
            scene
        })
}

fn all_of<'a>(shapes: impl Iterator<Item = &'a MultiPolygon<f64>>) -> MultiPolygon<f64> {
    union(&shapes.collect::<Vec<_>>())
}

fn fence_laws(scene: &Scene, fence: &Fence) -> Result<(), TestCaseError> {
    let line = &fence.shape;
    prop_assert!(line.is_valid(), "{line:?}");
    prop_assert!(shortest_m(line) >= 0.5 - 1e-6, "side of {} m", shortest_m(line));
    // Shrunk by nearly half the least width it neither falls apart nor opens around a hole: it has no neck.
    let core = shrink_with_corners(line, 0.45, PI / 12.0);
    let holes: usize = core.iter().map(|part| part.interiors().len()).sum();
    prop_assert!(core.0.len() == 1 && holes == line.interiors().len(), "a neck: {line:?}");
    let works = all_of(scene.works.iter().map(|work| &work.shape));
    for part in &works {
        let apart_m = Euclidean.distance(line, part);
        prop_assert!(apart_m >= scene.clearance_m - 1e-6, "{apart_m} m from a work, {} m asked", scene.clearance_m);
    }
    let buildings = all_of(scene.surfaces.iter().filter(|(_, kind)| kind == "building").map(|(shape, _)| shape));
    prop_assert!(buildings.intersection(line).unsigned_area() < 1e-4);
    for site in &scene.site {
        prop_assert!(MultiPolygon(vec![line.clone()]).difference(site).unsigned_area() < 1e-4);
    }
    let area = PreparedArea::new(&MultiPolygon(vec![line.clone()]));
    let mut nearest_m = f64::INFINITY;
    for &tree in &fence.trees {
        let (place, Stems::Measured(stems)) = (scene.trees[tree as usize].place, &scene.trees[tree as usize].stems)
        else {
            unreachable!()
        };
        let apart_m = area.boundary_distance_m(place, 20.0).unwrap();
        prop_assert!(area.contains(place) && apart_m >= stems[0] / 2.0 - 1e-9);
        nearest_m = nearest_m.min(apart_m);
    }
    // On its own disc a tree has the radius for the sides of the polygon: 6 sides or more, 10 % at most.
    prop_assert!(fence.trunk_distance_m >= nearest_m - 1e-9 && fence.trunk_distance_m <= nearest_m * 1.1 + 1e-9);
    prop_assert!(fence.posts >= 3 && f64::from(fence.posts) * 10.0 * FOOT_M >= fence.length_m - 1e-6);
    Ok(())
}

/// What of the ground a place is, worked out from the inputs alone: the word of a cover, or none.
fn expected_place(scene: &Scene, fences: &PreparedArea, areas: &Areas, place: Coord<f64>) -> Option<CoverPlace> {
    let is_free = !areas.surfaces.contains(place) && !areas.trunks.contains(place);
    if fences.contains(place) {
        return is_free.then_some(CoverPlace::Inside);
    }
    let on_site = scene.site.is_empty() || areas.site.contains(place);
    if !is_free || !on_site || !areas.zones.contains(place) || areas.built_on.contains(place) {
        return None;
    }
    Some(if areas.routes.contains(place) { CoverPlace::Routes } else { CoverPlace::Outside })
}

struct Areas {
    zones: PreparedArea,
    surfaces: PreparedArea,
    trunks: PreparedArea,
    site: PreparedArea,
    built_on: PreparedArea,
    routes: PreparedArea,
}

impl Areas {
    fn of(scene: &Scene) -> Areas {
        let prepared = |shapes: Vec<MultiPolygon<f64>>| PreparedArea::new(&all_of(shapes.iter()));
        let discs = |radius_m: &dyn Fn(f64) -> f64| {
            let disc = |tree: &Tree| {
                let Stems::Measured(stems) = &tree.stems else { unreachable!() };
                MultiPolygon(vec![disc_of_sides(tree.place, radius_m(stems[0]), 0.5)])
            };
            scene.trees.iter().map(disc).collect::<Vec<_>>()
        };
        let works = |passes: bool| {
            let of = scene.works.iter().filter(|work| (work.lasting == Lasting::Temporary) == passes);
            prepared(of.map(|work| work.shape.clone()).collect())
        };
        let trunk = |tree: &Tree| {
            let Stems::Measured(stems) = &tree.stems else { unreachable!() };
            crate::geometry::draw_out_point(tree.place, stems[0] / 2.0 + 0.1524)
        };
        let trunks = scene.trees.iter().map(|tree| MultiPolygon(vec![trunk(tree)])).collect();
        Areas {
            zones: prepared(discs(&|diameter_m| scene_radius(diameter_m))),
            surfaces: prepared(scene.surfaces.iter().map(|(shape, _)| shape.clone()).collect()),
            trunks: prepared(trunks),
            site: prepared(scene.site.clone()),
            built_on: works(false),
            routes: works(true),
        }
    }
}

/// At least 6 ft, as the rule set says.
fn scene_radius(diameter_m: f64) -> f64 {
    (DIAMETERS * diameter_m).max(6.0 * FOOT_M)
}

fn ground_laws(scene: &Scene, protection: &Protection) -> Result<(), TestCaseError> {
    let balance = &protection.balance;
    prop_assert!((balance.parts_m2() - balance.all_m2).abs() < 1e-4, "{balance:?}");
    let fences: Vec<_> = protection.fences.iter().map(|fence| MultiPolygon(vec![fence.shape.clone()])).collect();
    let fenced = all_of(fences.iter());
    let alone_m2: f64 = fences.iter().map(Area::unsigned_area).sum();
    prop_assert!((fenced.unsigned_area() - alone_m2).abs() < 1e-4, "fences overlap");
    let areas = Areas::of(scene);
    let (fenced, mut covers) = (PreparedArea::new(&fenced), Vec::new());
    for cover in &protection.covers {
        // One material of each stretch stands for it.
        if cover.material == "compost" || cover.material == "geotextile" {
            covers.push((cover.place, PreparedArea::new(&cover.shape), &cover.shape));
        }
        prop_assert!((cover.area_m2 - cover.shape.unsigned_area()).abs() < 1e-9);
    }
    let sum = |place| covers.iter().filter(|one| one.0 == place).map(|one| one.2.unsigned_area()).sum::<f64>();
    for (place, wanted_m2) in [
        (CoverPlace::Inside, balance.inside_m2),
        (CoverPlace::Outside, balance.outside_m2),
        (CoverPlace::Routes, balance.routes_m2),
    ] {
        prop_assert!((sum(place) - wanted_m2).abs() < 1e-4, "{place:?}");
    }
    for place in (0..60 * 60).map(|n| at(f64::from(n % 60) * 0.83 - 24.7, f64::from(n / 60) * 0.83 - 24.3)) {
        let all = [&areas.zones, &areas.surfaces, &areas.trunks, &areas.site, &areas.built_on, &areas.routes, &fenced];
        if all.iter().any(|area| area.boundary_distance_m(place, 1e-3).is_some_and(|d| d < 1e-3)) {
            continue;
        }
        let got: Vec<_> = covers.iter().filter(|one| one.1.contains(place)).map(|one| one.0).collect();
        let wanted: Vec<_> = expected_place(scene, &fenced, &areas, place).into_iter().collect();
        prop_assert_eq!(got, wanted, "at {:?}", place);
    }
    Ok(())
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(192))]
    /// Fences keep their distance, hold their trunks and stay on the site; every tree has one fence or one reason; the ground is shared out
    /// as the inputs say, place by place; and works in another order make no difference.
    #[test]
    fn laws(scene in scenes()) {
        let protection = scene.protect();
        for fence in &protection.fences {
            fence_laws(&scene, fence)?;
        }
        let fenced = protection.fences.iter().flat_map(|fence| fence.trees.iter().copied());
        let mut told: Vec<u32> = fenced.chain(protection.unfenced.iter().map(|one| one.tree)).collect();
        told.sort_unstable();
        prop_assert_eq!(told, (0..scene.trees.len() as u32).collect::<Vec<_>>());
        ground_laws(&scene, &protection)?;
        let mut turned = scene;
        turned.works.reverse();
        turned.surfaces.reverse();
        let other = turned.protect();
        prop_assert_eq!(&other.fences, &protection.fences);
        prop_assert_eq!(&other.unfenced, &protection.unfenced);
        prop_assert_eq!(&other.covers, &protection.covers);
    }
}
