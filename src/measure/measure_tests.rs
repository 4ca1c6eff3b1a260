use super::*;
use crate::model::effect::{Effect, Effects};
use crate::model::source::SourceRef;
use crate::model::work::{Lasting, Permit, Work};
use crate::rules::limit::Selection;
use geo::{LineString, MultiPolygon, Polygon, Rect, coord};

pub(super) fn work(permit: u32, effects: &[Effect], severs: bool, shape: MultiPolygon<f64>) -> Work {
    Work {
        id: Default::default(),
        source: SourceRef { file: 0, row: 1 },
        permit,
        kind: "excavation".into(),
        kind_written: Default::default(),
        effects: Effects::of(effects),
        severs,
        depth_m: None,
        lasting: Lasting::Permanent,
        mitigations: Vec::new(),
        accepted: Vec::new(),
        margin_m: 0.0,
        size_of_kind_m: None,
        shape,
        line: None,
    }
}

pub(super) fn square(x0: f64, y0: f64, x1: f64, y1: f64) -> MultiPolygon<f64> {
    MultiPolygon::from(Rect::new(coord! { x: x0, y: y0 }, coord! { x: x1, y: y1 }).to_polygon())
}

pub(super) fn permits(works: &[Work]) -> Vec<Permit> {
    let last = works.iter().map(|work| work.permit).max().unwrap();
    let owned = |permit| (0..).zip(works).filter(|(_, work)| work.permit == permit).map(|(i, _)| i).collect();
    (0..=last)
        .map(|permit| Permit {
            id: permit.to_string().into(),
            status: String::new(),
            date: Default::default(),
            active: true,
            works_set_aside: 0,
            works: owned(permit),
        })
        .collect()
}

fn measured(works: &[Work], near: &[u32], radii: &[f64]) -> Option<Overlap> {
    let ground = ground(works);
    ground.measure(ground.permit(0), near, ORIGIN, radii, radii[0])
}

pub(super) fn ground(works: &[Work]) -> Ground {
    let wants = Wants {
        selections: vec![Selection { effects: Effects::of(&[Effect::Cut, Effect::Fill]), ..Selection::ALL }],
        ..Wants::default()
    };
    Ground::prepare(works, &permits(works), wants, None)
}

pub(super) const ORIGIN: Coord<f64> = Coord { x: 0.0, y: 0.0 };

#[test]
fn effects_are_measured_apart_and_united_together() {
    let works = [
        work(0, &[Effect::Cut], true, square(1.0, -1.0, 3.0, 1.0)),
        work(0, &[Effect::Fill], false, square(2.0, -1.0, 4.0, 1.0)),
    ];
    let overlap = measured(&works, &[0, 1], &[10.0, 2.0]).unwrap();
    let (zone, ring) = (&overlap.regions[0], &overlap.regions[1]);
    assert!((zone.effect_m2(Effect::Cut) - 4.0).abs() < 1e-9);
    assert!((zone.effect_m2(Effect::Fill) - 4.0).abs() < 1e-9);
    // The squares share 2 m2.
    assert!((zone.overlap_m2 - 6.0).abs() < 1e-6);
    assert!((zone.by_selection_m2[0] - 6.0).abs() < 1e-6);
    assert!(ring.overlap_m2 < 4.0 && ring.overlap_m2 > 0.0);
    assert_eq!((overlap.distance_m, overlap.nearest_work), (1.0, 0));
    assert_eq!(overlap.severing_distance_m, 1.0);
}

#[test]
fn nothing_in_the_zone_is_no_row_and_a_tie_goes_to_the_first_work() {
    let works = [
        work(0, &[Effect::Fill], false, square(3.0, -1.0, 4.0, 1.0)),
        work(0, &[Effect::Fill], false, square(-4.0, -1.0, -3.0, 1.0)),
    ];
    assert!(measured(&works, &[0, 1], &[3.0]).is_none());
    assert_eq!(measured(&works, &[0, 1], &[5.0]).unwrap().nearest_work, 0);
}

#[test]
fn a_deep_bore_alone_makes_a_row_without_overlap() {
    let works = [work(0, &[Effect::Bore], false, square(1.0, -9.0, 1.3, 9.0))];
    let overlap = measured(&works, &[0], &[5.0, 2.0]).unwrap();
    assert_eq!(overlap.regions[0].overlap_m2, 0.0);
    // Between x = 1 and x = 1.3 within the circles of 5 m and 2 m.
    assert!((overlap.regions[0].effect_m2(Effect::Bore) - 2.918).abs() < 0.01, "{:?}", overlap.regions[0]);
    assert!((overlap.regions[1].effect_m2(Effect::Bore) - 0.983).abs() < 0.01, "{:?}", overlap.regions[1]);
    assert_eq!(overlap.distance_m, 1.0);
    assert!(overlap.trunk_distance_m.is_infinite());
}

/// A wide ring of many vertices around far ground, so that it is cut down before it is united.
fn many_sided(centre_x: f64, radius: f64) -> MultiPolygon<f64> {
    let points: Vec<Coord<f64>> = (0..500)
        .map(|i| {
            let (sine, cosine) = (f64::from(i) / 500.0 * std::f64::consts::TAU).sin_cos();
            coord! { x: centre_x + radius * cosine, y: radius * sine }
        })
        .collect();
    MultiPolygon::from(Polygon::new(LineString::from(points), vec![]))
}

#[test]
fn permits_together_are_measured_as_one_permit_would_be() {
    let shapes = [many_sided(105.0, 100.0), square(-6.0, -2.0, -4.0, 2.0)];
    let apart: Vec<Work> =
        (0..).zip(&shapes).map(|(i, shape)| work(i, &[Effect::Cut], i == 1, shape.clone())).collect();
    let as_one: Vec<Work> = apart.iter().map(|work| Work { permit: 0, ..work.clone() }).collect();
    let ground = ground(&apart);
    let united = ground.unite(&apart, &[0, 1], ORIGIN, 10.0);
    let together = ground.measure(&united, &[0, 1], ORIGIN, &[10.0, 5.0], 10.0).unwrap();
    let one = measured(&as_one, &[0, 1], &[10.0, 5.0]).unwrap();
    for (a, b) in together.regions.iter().zip(&one.regions) {
        assert!((a.overlap_m2 - b.overlap_m2).abs() < 1e-5, "{} {}", a.overlap_m2, b.overlap_m2);
        assert!((a.severed_m2 - b.severed_m2).abs() < 1e-5);
        assert!((a.affected_m2 - b.affected_m2).abs() < 1e-5);
    }
    assert!(one.regions[0].affected_m2 > one.regions[0].overlap_m2);
}

/// 2 m deep in one work and 1 m deep in another: the deeper counts, since moving out of one is not moving out of both.
#[test]
fn a_trunk_inside_works_is_as_deep_as_in_the_deepest() {
    let works = [
        work(0, &[Effect::Cut], true, square(-2.0, -5.0, 5.0, 5.0)),
        work(0, &[Effect::Fill], false, square(-1.0, -5.0, 5.0, 5.0)),
    ];
    let overlap = measured(&works, &[0, 1], &[10.0]).unwrap();
    assert_eq!((overlap.distance_m, overlap.trunk_distance_m), (0.0, -2.0));
}

fn with_surfaces(works: &[Work], surfaces: &[MultiPolygon<f64>]) -> Ground {
    let new_ground = Selection { effects: Effects::of(&[Effect::Cut]), new_ground: true, ..Selection::ALL };
    let wants = Wants { selections: vec![new_ground], ..Wants::default() };
    Ground::prepare(works, &permits(works), wants, Some(std::sync::Arc::new(Surfaces::new(surfaces))))
}

/// The half plane x < 0 is paved; a cut covers y < 0: each takes half the zone, and a quarter of it is new.
#[test]
fn half_a_zone_is_surfaced_and_a_quarter_is_new() {
    let works = [work(0, &[Effect::Cut], false, square(-50.0, -50.0, 50.0, 0.0))];
    // Drawn twice, in two halves and once as a whole: it counts once.
    let paved = [square(-50.0, -50.0, 0.0, 0.0), square(-50.0, -10.0, 0.0, 50.0), square(-50.0, -50.0, 0.0, 50.0)];
    let ground = with_surfaces(&works, &paved);
    let overlap = ground.measure(ground.permit(0), &[0], ORIGIN, &[10.0, 4.0], 10.0).unwrap();
    let quarter_m2 = std::f64::consts::PI * 25.0;
    let zone = &overlap.regions[0];
    assert!((zone.surfaced_m2.unwrap() - 2.0 * quarter_m2).abs() < 1e-6);
    assert!((zone.new_m2.unwrap() - quarter_m2).abs() < 1e-6);
    assert!((zone.by_selection_m2[0] - quarter_m2).abs() < 1e-6);
    assert!((zone.effect_m2(Effect::Cut) - 2.0 * quarter_m2).abs() < 1e-6);
    assert!((overlap.regions[1].new_m2.unwrap() - std::f64::consts::PI * 4.0).abs() < 1e-6);
}

#[test]
fn without_surfaces_nothing_is_said_of_new_ground_and_selections_are_whole() {
    let works = [work(0, &[Effect::Cut], false, square(-50.0, -50.0, 50.0, 0.0))];
    let new_ground = Selection { new_ground: true, ..Selection::ALL };
    let wants = Wants { selections: vec![new_ground], ..Wants::default() };
    let ground = Ground::prepare(&works, &permits(&works), wants, None);
    let zone = ground.measure(ground.permit(0), &[0], ORIGIN, &[10.0], 10.0).unwrap().regions.remove(0);
    assert_eq!((zone.surfaced_m2, zone.new_m2), (None, None));
    assert_eq!(zone.by_selection_m2[0], zone.overlap_m2);
}

#[test]
fn temporary_and_permanent_works_are_measured_apart() {
    let stays = work(0, &[Effect::Cut], false, square(1.0, -1.0, 3.0, 1.0));
    let goes = Work { lasting: Lasting::Temporary, ..work(0, &[Effect::Compact], false, square(2.0, -1.0, 4.0, 1.0)) };
    let zone = measured(&[stays, goes], &[0, 1], &[10.0]).unwrap().regions.remove(0);
    assert!((zone.permanent_m2 - 4.0).abs() < 1e-9 && (zone.temporary_m2 - 4.0).abs() < 1e-9);
    assert!((zone.overlap_m2 - 6.0).abs() < 1e-6);
}

#[test]
fn mitigations_of_works_in_reach_are_told_and_those_further_off_are_not() {
    use crate::model::work::{Mitigation, Mitigations};
    let near = Work {
        mitigations: vec![Mitigation::Mats, Mitigation::HandDigging],
        accepted: vec![Mitigation::Mats],
        ..work(0, &[Effect::Cut], false, square(1.0, -1.0, 3.0, 1.0))
    };
    let off =
        Work { mitigations: vec![Mitigation::Piers], ..work(0, &[Effect::Cut], false, square(30.0, 0.0, 31.0, 1.0)) };
    let overlap = measured(&[near, off], &[0, 1], &[10.0]).unwrap();
    assert_eq!(overlap.accepted, Mitigations::of(&[Mitigation::Mats]));
    assert_eq!(overlap.not_accepted, Mitigations::of(&[Mitigation::HandDigging]));
}
