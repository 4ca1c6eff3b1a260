//! Invented results of the invented town of Alderwick, for the tests of this stage: small enough to check by hand.
//!
//! Two permits and five trees. Tree `T-2` stands under both permits and is at risk only under both together; `T-10` has a class
//! range; `T-3` has no diameter; `T-4` has a class without an upper end. Texts try to break CSV, JSON and spreadsheets.

use super::layers::Drawing;
use crate::issue::{Issue, Outcome};
use crate::model::effect::{Effect, Effects};
use crate::model::finding::{Finding, Verdict};
use crate::model::overlap::{Overlap, RegionAreas};
use crate::model::results::{Counts, Results, Row, RowDiameter, TogetherRow};
use crate::model::rows::Rows;
use crate::model::run_facts::{
    ColumnFacts, CrsFacts, FileFacts, InputFacts, InputRole, OperationFacts, RulesFacts, RunFacts,
};
use crate::model::source::SourceRef;
use crate::model::species::{Botanical, Certainty};
use crate::model::tree::{Disposition, Stems, Tree};
use crate::model::work::{Lasting, Permit, Work};
use crate::model::zone::{Ring, Zone};
use crate::settings::LayerFormat;
use geo::{BooleanOps, Coord, MultiPolygon, Polygon, Rect};
use std::sync::Arc;

fn tree(id: &str, row: u64, x: f64, y: f64, stems: Stems) -> Tree {
    Tree {
        species: "Quercus robur".into(),
        stems,
        condition: "good".into(),
        botanical: Botanical { accepted: "Quercus robur", certainty: Certainty::Exact, ..Botanical::default() },
        ..Tree::only_placed(id, SourceRef { file: 0, row }, Coord { x, y })
    }
}

fn work(id: &str, permit: u32, row: u64, kind: &str, severs: bool, (from, to): ((f64, f64), (f64, f64))) -> Work {
    Work {
        id: id.into(),
        source: SourceRef { file: 1, row },
        permit,
        kind: kind.into(),
        kind_written: kind.to_uppercase().into(),
        effects: Effects::of(if severs { &[Effect::Cut] } else { &[Effect::Compact] }),
        severs,
        depth_m: severs.then_some(1.2),
        lasting: Lasting::Permanent,
        mitigations: Vec::new(),
        accepted: Vec::new(),
        margin_m: 0.0,
        size_of_kind_m: None,
        shape: MultiPolygon::new(vec![Rect::new(from, to).to_polygon()]),
        line: None,
    }
}

/// A row whose zone has an area of `zone_m2` and a half ring; `taken` is overlap, severed and affected, in square metres.
fn row(permit: u32, tree: u32, diameter: RowDiameter, taken: (f64, f64, f64), verdict: Verdict) -> Row {
    let diameter_m = diameter.used_m().unwrap_or_default();
    let radius_m = 12.0 * diameter_m;
    let mut whole = RegionAreas {
        radius_m,
        overlap_m2: taken.0,
        severed_m2: taken.1,
        affected_m2: taken.2,
        ..RegionAreas::default()
    };
    whole.by_effect_m2[Effect::Cut as usize] = taken.0;
    let half = RegionAreas { radius_m: radius_m / 2.0, ..RegionAreas::default() };
    Row {
        rule_set: 0,
        permit,
        tree,
        of: Arc::new(Tree::only_placed("", SourceRef { file: 0, row: 0 }, Coord { x: 0.0, y: 0.0 })),
        diameter,
        zone: Some(Zone {
            drip_line_m: None,
            diameter_m,
            radius_m,
            rings: vec![Ring { ring: 0, radius_m: radius_m / 2.0 }],
            warnings: vec!["radius_capped"],
            shape: None,
        }),
        overlap: Overlap {
            regions: vec![whole, half],
            distance_m: 2.5,
            nearest_work: 0,
            trunk_distance_m: 2.5,
            severing_distance_m: f64::INFINITY,
            ..Overlap::default()
        },
        finding: Finding {
            verdict,
            clause: "any overlap, \"common practice\"".into(),
            measure: "overlap".into(),
            value: Some(12.3456),
            limit: "> 10 %".into(),
            denominator: "root zone".into(),
            warnings: vec!["severed_exceeds"],
        },
        heritage_class: String::new(),
        protected_class: String::new(),
        replacement: None,
        borderline: "",
        unshaped: None,
    }
}

fn not_assessed(permit: u32, tree: u32) -> Row {
    let mut row = row(permit, tree, RowDiameter::Unknown("diameter-missing"), (0.0, 0.0, 0.0), Verdict::NotAssessed);
    row.zone = None;
    row.overlap.regions.clear();
    row.finding = Finding {
        verdict: Verdict::NotAssessed,
        clause: "no diameter".into(),
        measure: String::new(),
        value: None,
        limit: String::new(),
        denominator: String::new(),
        warnings: Vec::new(),
    };
    row
}

/// Rows as results hold them.
pub fn held(rows: &[Row]) -> Rows {
    Rows::put(rows, tempfile::tempfile().unwrap()).unwrap()
}

/// Rows that are not held.
pub fn read(rows: &Rows) -> Vec<Row> {
    rows.read_all(rows.heads()).unwrap()
}

/// The same results with other trees.
pub fn change_trees(results: &mut Results, change: impl Fn(&mut Tree)) {
    let mut rows = read(&results.rows);
    let together = results.together.iter_mut().map(|one| &mut one.row);
    rows.iter_mut().chain(together).for_each(|row| change(Arc::make_mut(&mut row.of)));
    results.rows = held(&rows);
}

/// The results.
pub fn results() -> Results {
    let mut trees = [
        tree("=SUM(A1)", 2, 0.0, 0.0, Stems::Measured(vec![0.5])),
        tree("T-10", 4, 20.0, 0.0, Stems::Range { low_m: 0.2, high_m: 0.3 }),
        tree("T-2", 3, 40.0, 0.0, Stems::Measured(vec![0.9])),
        tree("T-3", 6, 60.0, 0.0, Stems::Unknown("diameter-missing")),
        tree("T-4", 7, 80.0, 0.0, Stems::AtLeast { low_m: 0.7874 }),
    ];
    trees[0].species = "Acer \"Crimson\", late".into();
    trees[0].botanical = Botanical::default();
    trees[2].disposition = Some(Disposition::Retain);
    trees[2].owner = "'s Heeren".into();
    let permits = vec![
        Permit {
            id: "P-1".into(),
            status: "issued".into(),
            date: "2031-05-02".into(),
            active: true,
            works_set_aside: 1,
            works: vec![0, 1],
        },
        Permit { id: "P-2".into(), active: true, works: vec![2], ..Permit::default() },
        Permit { id: "P-9".into(), status: "withdrawn".into(), ..Permit::default() },
    ];
    let works = vec![
        work("W-1", 0, 1, "trench", true, ((2.5, -30.0), (3.1, 30.0))),
        work("W-2", 0, 2, "haul route", false, ((35.0, -3.0), (90.0, 3.0))),
        work("W-3", 1, 3, "trench", true, ((42.5, -30.0), (43.1, 30.0))),
    ];
    let mut major = row(0, 0, RowDiameter::Known(0.5), (5.25, 20.0, 22.5), Verdict::Major);
    major.heritage_class = "heritage".into();
    major.borderline = "place";
    let mut range = row(
        0,
        1,
        RowDiameter::Range { used_m: 0.3, low_m: 0.2, high_m: 0.3, other: Verdict::Minor },
        (1.0, 0.0, 1.0),
        Verdict::Moderate,
    );
    range.finding.value = Some(2.5);
    range.finding.measure = "distance".into();
    let mut one = row(0, 2, RowDiameter::Known(0.9), (40.0, 0.0, 40.0), Verdict::Moderate);
    let mut other = row(1, 2, RowDiameter::Known(0.9), (12.0, 60.0, 60.0), Verdict::Moderate);
    let mut both = row(0, 2, RowDiameter::Known(0.9), (50.0, 60.0, 98.0), Verdict::Major);
    for of_two in [&mut one, &mut other, &mut both] {
        of_two.heritage_class = "heritage".into();
    }
    let at_least = row(0, 4, RowDiameter::AtLeast(0.7874), (3.0, 0.0, 3.0), Verdict::Minor);
    let of_tree = |row: Row| Row { of: Arc::new(trees[row.tree as usize].clone()), ..row };
    let rows = [major, range, one, not_assessed(0, 3), at_least, other].map(of_tree);
    let both = of_tree(both);
    Results {
        owed: Vec::new(),
        trees: Vec::new(),
        permits,
        works,
        rows: held(&rows),
        together: vec![TogetherRow { permits: vec![0, 1], row: both, at_risk_only_together: true }],
        compared: Vec::new(),
        issues: vec![
            issue(0, 6, "T-3", "diameter-missing", Outcome::Used, "kept as not assessed"),
            issue(0, 5, "", "stump", Outcome::SetAside, "status reads `stump`, set aside"),
        ],
        counts: vec![
            Counts { read: 9, used: 5, out_of_reach: 3, set_aside: 1, without_diameter: 1, dates: None },
            Counts { read: 3, used: 3, ..Counts::default() },
        ],
        protection: None,
        upkeep: None,
        set_backs: Vec::new(),
        asked: Vec::new(),
    }
}

fn issue(file: u16, row: u64, id: &str, code: &'static str, outcome: Outcome, detail: &str) -> Issue {
    Issue::new(SourceRef { file, row }, id, code, outcome, detail.into())
}

/// The facts.
pub fn facts(imperial: bool) -> RunFacts {
    let input = |role, name: &str| InputFacts {
        role,
        name: name.into(),
        format: "CSV".into(),
        layer: None,
        encoding: "UTF-8 (all bytes are valid)".into(),
        files: vec![FileFacts { name: name.into(), bytes: 7, sha256: "00".repeat(32) }],
        columns: vec![ColumnFacts {
            role: "diameter".into(),
            column: "DBH".into(),
            unit: "in (--diameter-unit)".into(),
        }],
        crs: CrsFacts {
            name: "WGS 84".into(),
            definition: "EPSG:4326".into(),
            authority: Some("EPSG:4326".into()),
            origin: "by name".into(),
        },
        operation: OperationFacts {
            description: "Alderwick".into(),
            definition: "+proj=noop".into(),
            accuracy_m: Some(0.0),
        },
        notes: Vec::new(),
    };
    RunFacts {
        program_version: "0.0.0".into(),
        gdal_version: "3.6.2".into(),
        proj_version: "9.1.1".into(),
        rules: RulesFacts {
            name: "invented".into(),
            title: "Invented rules".into(),
            sha256: "11".repeat(32),
            rings: vec!["half".into()],
            imperial,
            ..RulesFacts::default()
        },
        inputs: vec![input(InputRole::Trees, "trees.csv"), input(InputRole::Works, "works.geojson")],
        settings: vec![("position-error".into(), "1 m".into())],
        cautions: vec!["Screening only.".into()],
        ..RunFacts::default()
    }
}

/// Metres to degrees around a point: 1e-5 degree a metre both ways, so that results can be read off.
pub fn to_degrees(places: &[Coord<f64>]) -> Vec<Coord<f64>> {
    places.iter().map(|place| Coord { x: -123.0 + place.x * 1e-5, y: 49.0 + place.y * 1e-5 }).collect()
}

/// A coarse disc with 24 sides.
pub fn disc(centre: Coord<f64>, radius_m: f64) -> Polygon<f64> {
    let corner = |step: u32| {
        let (sin, cos) = (f64::from(step) * std::f64::consts::TAU / 24.0).sin_cos();
        Coord { x: centre.x + radius_m * cos, y: centre.y + radius_m * sin }
    };
    Polygon::new((0..24).map(corner).collect(), vec![])
}

/// The shapes within a coarse disc.
pub fn overlap(shapes: &[&MultiPolygon<f64>], centre: Coord<f64>, radius_m: f64) -> MultiPolygon<f64> {
    let none = MultiPolygon::new(vec![]);
    let united = shapes.iter().fold(none, |united, shape| united.union(*shape));
    united.intersection(&disc(centre, radius_m))
}

/// The counted works of a permit of [`results`] within a coarse disc.
pub fn works_of(permit: u32, centre: Coord<f64>, radius_m: f64) -> MultiPolygon<f64> {
    let works = results().works;
    let counted: Vec<_> = works.iter().filter(|work| work.permit == permit && work.counted()).collect();
    overlap(&counted.iter().map(|work| &work.shape).collect::<Vec<_>>(), centre, radius_m)
}

/// The common part of two shapes.
pub fn common(shape: &MultiPolygon<f64>, ground: &MultiPolygon<f64>, _: Coord<f64>) -> MultiPolygon<f64> {
    shape.intersection(ground)
}

/// All of these.
pub const DRAWING: Drawing = Drawing {
    to_wgs84: &to_degrees,
    disc_outline: &disc,
    works_outline: &works_of,
    overlap_outline: &overlap,
    severed_outline: &overlap,
    on_ground: &common,
    format: LayerFormat::GeoJson,
    geopackage: false,
};
