//! Reads all works: raw records -> projected, repaired, drawn-out ground, owned by permits.

use super::frame::Frame;
use super::open::OpenWorks;
use super::spent::{Spent, place_code};
use crate::error::{Error, Result};
use crate::geometry::offset::{draw_out_lines, draw_out_point, grow};
use crate::geometry::repair::{Repair, repair};
use crate::geometry::union::union;
use crate::issue::{Issue, Outcome};
use crate::model::crs::{Crs, CrsKind};
use crate::model::source::SourceRef;
use crate::model::work::{Permit, Work};
use crate::normalise::{WorkFacts, permit_is_active};
use crate::projection::{Operation, Projector};
use geo::{BoundingRect, Coord, CoordsIter, Geometry, MultiLineString, MultiPoint, MultiPolygon, Rect, coord};
use rayon::prelude::*;
use std::collections::BTreeMap;

/// A work whose geometry is still in its file's CRS.
pub(super) struct RawWork {
    facts: WorkFacts,
    geometry: Geometry<f64>,
    source: SourceRef,
}

/// Works and permits in the order of the results.
pub(super) struct Assembled {
    pub works: Vec<Work>,
    pub permits: Vec<Permit>,
}

/// Reads one file of works. What cannot be a work is set aside in `spent`.
pub(super) fn read_works(open: &OpenWorks, file: u16, spent: &mut Spent) -> Result<Vec<RawWork>> {
    let mut raw = Vec::new();
    for chunk in open.survey.chunks()? {
        chunk?.for_each(&mut |record| {
            spent.read(file);
            let record = match record {
                Ok(record) => record,
                Err(problem) => {
                    let source = SourceRef { file, row: problem.row };
                    return spent.set_aside(issue(source, "", problem.code, problem.detail));
                }
            };
            let source = SourceRef { file, row: record.row };
            let mut issues = Vec::new();
            let facts = open.plan.work_facts(record, source, &mut issues);
            match open.plan.geometry(record).filter(|geometry| geometry.coords_count() > 0) {
                Some(geometry) => {
                    raw.push(RawWork { facts, geometry: geometry.into_owned(), source });
                    spent.note(issues);
                }
                None => {
                    let detail = "no geometry, an empty one, or one that cannot be read; set aside".to_string();
                    spent.set_aside(issue(source, &facts.id, "empty-geometry", detail));
                }
            }
        });
    }
    Ok(raw)
}

fn issue(source: SourceRef, id: &str, code: &'static str, detail: String) -> Issue {
    Issue { source, id: id.to_string(), code, outcome: Outcome::SetAside, detail }
}

/// The extent of a file's works in its own CRS; longitudes unwrapped around the first. `None` where there is no work.
pub(super) fn extent(raw: &[RawWork], crs: &Crs) -> Option<Rect<f64>> {
    let first = raw.iter().find_map(|work| work.geometry.coords_iter().next())?;
    let unwrapped = |c: Coord<f64>| match crs.kind {
        CrsKind::Geographic => coord! { x: c.x - 360.0 * ((c.x - first.x) / 360.0).round(), y: c.y },
        _ => c,
    };
    let finite = |c: &Coord<f64>| c.x.is_finite() && c.y.is_finite();
    let points: MultiPoint<f64> = raw
        .iter()
        .flat_map(|work| work.geometry.coords_iter())
        .filter(finite)
        .map(unwrapped)
        .collect::<Vec<_>>()
        .into();
    points.bounding_rect()
}

/// A work on the ground, with what its file says of its permit.
pub(super) struct GroundedWork {
    facts: WorkFacts,
    work: Work,
    /// The issue of its repair, where it needed one.
    repaired: Option<Issue>,
}

/// The operation that brings one file's works into the plane; `None` where the file has none.
pub(super) fn operation(raw: &[RawWork], at: &str, crs: &Crs, frame: &Frame) -> Result<Option<Operation>> {
    extent(raw, crs).map(|rect| frame.operation(at, crs, rect.center())).transpose()
}

/// Projects, repairs and draws out one file's works, in parallel; what fails is set aside.
pub(super) fn ground_works(
    raw: Vec<RawWork>,
    at: &str,
    operation: &Operation,
    spent: &mut Spent,
) -> Result<Vec<GroundedWork>> {
    let one = |projector: &mut Result<Projector>, raw: RawWork| match projector {
        Ok(projector) => Ok(ground(raw, projector)),
        Err(error) => Err(Error::Crs { at: at.to_string(), what: error.to_string(), hint: String::new() }),
    };
    let grounded: Vec<Result<GroundResult>> =
        raw.into_par_iter().with_min_len(256).map_init(|| Projector::new(operation), one).collect();
    let mut works = Vec::with_capacity(grounded.len());
    for result in grounded {
        match result? {
            Ok(grounded) => {
                spent.note(grounded.repaired.clone());
                works.push(grounded);
            }
            Err(issue) => spent.set_aside(issue),
        }
    }
    Ok(works)
}

/// A grounded work, or why it is set aside.
type GroundResult = std::result::Result<GroundedWork, Issue>;

fn ground(raw: RawWork, projector: &Projector) -> GroundResult {
    let RawWork { facts, geometry, source } = raw;
    let refuse = |code, detail| issue(source, &facts.id, code, detail);
    let projected = projector
        .geometry(&geometry)
        .map_err(|problem| refuse(place_code(problem), format!("{problem}; set aside")))?;
    let (shape, repaired) = drawn_out(projected, &facts).map_err(|(code, detail)| refuse(code, detail))?;
    let repaired = repaired.map(|detail| Issue { outcome: Outcome::Used, ..refuse("polygon-repaired", detail) });
    let work = Work {
        id: facts.id.clone(),
        source,
        permit: 0,
        kind: facts.kind.clone(),
        kind_written: facts.kind_written.clone(),
        effects: facts.effects,
        severs: facts.severs,
        depth_m: facts.depth_m,
        margin_m: facts.margin_m,
        shape,
    };
    Ok(GroundedWork { facts, work, repaired })
}

type Refused = (&'static str, String);

/// The ground of a geometry: polygons repaired, lines drawn out to their width, points to their radius, all grown by the margin.
fn drawn_out(
    geometry: Geometry<f64>,
    facts: &WorkFacts,
) -> std::result::Result<(MultiPolygon<f64>, Option<String>), Refused> {
    let (shape, repaired) = match sorted_by_dimension(geometry)? {
        Dimension::Areas(polygons) => repaired(polygons)?,
        Dimension::Lines(lines) => (draw_out_lines(&lines, size(facts.width_m, "width", facts)?), None),
        Dimension::Points(points) => (draw_out_points(&points, size(facts.radius_m, "radius", facts)?), None),
    };
    if shape.0.is_empty() {
        return Err(("empty-geometry", "the geometry covers no ground; set aside".to_string()));
    }
    if facts.margin_m > 0.0 { Ok((grow(&shape, facts.margin_m), repaired)) } else { Ok((shape, repaired)) }
}

fn draw_out_points(points: &MultiPoint<f64>, radius_m: f64) -> MultiPolygon<f64> {
    let discs: Vec<MultiPolygon<f64>> =
        points.iter().map(|point| MultiPolygon::from(draw_out_point(point.0, radius_m))).collect();
    union(&discs.iter().collect::<Vec<_>>())
}

fn size(given: Option<f64>, what: &str, facts: &WorkFacts) -> std::result::Result<f64, Refused> {
    given.ok_or_else(|| {
        let detail = format!(
            "no {what} is given, and kind `{}` has none in the kinds table; set aside: add a {what} column or a kind with --work-kinds",
            facts.kind
        );
        ("size-missing", detail)
    })
}

fn repaired(polygons: MultiPolygon<f64>) -> std::result::Result<(MultiPolygon<f64>, Option<String>), Refused> {
    match repair(&polygons) {
        Repair::Valid(shape) => Ok((shape, None)),
        Repair::Repaired { shape, area_before_m2, area_after_m2, what } => {
            Ok((shape, Some(format!("{what}; area {area_before_m2:.4} m2 before, {area_after_m2:.4} m2 after"))))
        }
        Repair::Failed(what) => Err(("polygon-unrepairable", format!("{what}; set aside: mend it in the file"))),
    }
}

enum Dimension {
    Areas(MultiPolygon<f64>),
    Lines(MultiLineString<f64>),
    Points(MultiPoint<f64>),
}

/// One dimension, whatever the geometry's type; mixed dimensions are refused.
fn sorted_by_dimension(geometry: Geometry<f64>) -> std::result::Result<Dimension, Refused> {
    let (mut areas, mut lines, mut points) = (Vec::new(), Vec::new(), Vec::new());
    let mut waiting = vec![geometry];
    while let Some(next) = waiting.pop() {
        match next {
            Geometry::Polygon(one) => areas.push(one),
            Geometry::MultiPolygon(many) => areas.extend(many.0),
            Geometry::Rect(rect) => areas.push(rect.to_polygon()),
            Geometry::Triangle(triangle) => areas.push(triangle.to_polygon()),
            Geometry::LineString(one) => lines.push(one),
            Geometry::MultiLineString(many) => lines.extend(many.0),
            Geometry::Line(line) => lines.push(line.into()),
            Geometry::Point(one) => points.push(one),
            Geometry::MultiPoint(many) => points.extend(many.0),
            Geometry::GeometryCollection(parts) => waiting.extend(parts.0.into_iter().rev()),
        }
    }
    match (areas.is_empty(), lines.is_empty(), points.is_empty()) {
        (false, true, true) => Ok(Dimension::Areas(MultiPolygon::new(areas))),
        (true, false, true) => Ok(Dimension::Lines(MultiLineString::new(lines))),
        (true, true, false) => Ok(Dimension::Points(MultiPoint::new(points))),
        (true, true, true) => Err(("empty-geometry", "the record has no geometry; set aside".to_string())),
        _ => {
            Err(("wrong-geometry", "polygons, lines and points are mixed in one work; set aside: split it".to_string()))
        }
    }
}

/// Permits ordered by id, works by permit, id and source; the first stated status and date of a permit count.
pub(super) fn assemble(mut works: Vec<GroundedWork>) -> Assembled {
    works.sort_by(|a, b| {
        let key = (&a.facts.permit_id, &a.work.id, a.work.source);
        key.cmp(&(&b.facts.permit_id, &b.work.id, b.work.source))
    });
    let mut permits: Vec<Permit> = Vec::new();
    let mut numbers: BTreeMap<String, usize> = BTreeMap::new();
    let mut owned = Vec::with_capacity(works.len());
    for GroundedWork { facts, mut work, .. } in works {
        let number = *numbers.entry(facts.permit_id.clone()).or_insert_with(|| {
            permits.push(Permit {
                id: facts.permit_id.clone(),
                status: String::new(),
                date: String::new(),
                active: true,
                works: Vec::new(),
            });
            permits.len() - 1
        });
        let permit = &mut permits[number];
        take_first(&mut permit.status, &facts.permit_status);
        take_first(&mut permit.date, &facts.permit_date);
        permit.works.push(u32::try_from(owned.len()).expect("fewer than 4 billion works fit in memory"));
        work.permit = u32::try_from(number).expect("fewer permits than works");
        owned.push(work);
    }
    for permit in &mut permits {
        permit.active = permit_is_active(&permit.status);
    }
    Assembled { works: owned, permits }
}

fn take_first(kept: &mut String, offered: &str) {
    if kept.is_empty() {
        kept.push_str(offered);
    }
}
