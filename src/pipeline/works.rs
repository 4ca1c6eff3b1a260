//! Reads all works: raw records -> projected, repaired, drawn-out ground, owned by permits.

use super::extent::middle_first;
use super::frame::Frame;
use super::open::OpenWorks;
use super::spent::{Spent, place_code};
use super::trees::chunks_at_once;
use crate::error::{Error, Result};
use crate::geometry::offset::{draw_out_lines, draw_out_point, grow};
use crate::geometry::repair::{Repair, repair};
use crate::geometry::union::{enclosing, union};
use crate::in_order::in_order;
use crate::issue::{Issue, Outcome};
use crate::model::crs::{Crs, CrsKind};
use crate::model::record::RawRecord;
use crate::model::source::SourceRef;
use crate::model::text::Text;
use crate::model::work::{DrawnLine, Permit, Work};
use crate::normalise::works::Span;
use crate::normalise::{WorkFacts, parse_date, permit_is_active};
use crate::projection::{Operation, Projector};
use crate::read::RawChunk;
use geo::{BoundingRect, Coord, CoordsIter, Geometry, MultiLineString, MultiPoint, MultiPolygon, Rect, coord};
use rayon::prelude::*;
use std::collections::BTreeSet;

/// A work whose geometry is still in its file's CRS.
pub(super) struct RawWork {
    facts: Box<WorkFacts>,
    geometry: Geometry<f64>,
    source: SourceRef,
}

/// Works and permits in the order of the results.
pub(super) struct Assembled {
    pub works: Vec<Work>,
    pub permits: Vec<Permit>,
    /// On works whose own status is not that of their permit.
    pub remarks: Vec<Issue>,
}

/// Reads one file of works, in parallel. What cannot be a work is set aside in `spent`; what is known of its permit goes to `lost`.
pub(super) fn read_works(
    open: &OpenWorks,
    file: u16,
    spent: &mut Spent,
    lost: &mut Vec<WorkFacts>,
) -> Result<Vec<RawWork>> {
    let mut raw = Vec::new();
    let files = spent.counts.len();
    let read = |chunk: RawChunk| {
        read_chunk(open, file, &chunk, ReadPart { raw: Vec::new(), spent: Spent::new(files), lost: Vec::new() })
    };
    in_order(open.survey.chunks()?, chunks_at_once(), read, |part| {
        raw.extend(part.raw);
        spent.add(part.spent);
        lost.extend(part.lost);
        Ok(())
    })?;
    Ok(raw)
}

/// What one chunk of a file came to.
struct ReadPart {
    raw: Vec<RawWork>,
    spent: Spent,
    lost: Vec<WorkFacts>,
}

fn read_chunk(open: &OpenWorks, file: u16, chunk: &RawChunk, mut part: ReadPart) -> ReadPart {
    chunk.for_each(&mut |record| {
        part.spent.read(file);
        match record {
            Ok(record) => part.record(open, record, SourceRef { file, row: record.row }),
            Err(problem) => {
                let source = SourceRef { file, row: problem.row };
                part.spent.set_aside(issue(source, "", problem.code, problem.detail));
            }
        }
    });
    part
}

impl ReadPart {
    fn record(&mut self, open: &OpenWorks, record: &RawRecord, source: SourceRef) {
        let mut issues = Vec::new();
        let facts = open.plan.work_facts(record, source, &mut issues);
        self.spent.dated(source.file, parse_date(&facts.permit_date));
        match open.plan.geometry(record).filter(|geometry| geometry.coords_count() > 0) {
            Some(geometry) => {
                self.raw.push(RawWork { facts: Box::new(facts), geometry: geometry.into_owned(), source });
                self.spent.note(issues);
            }
            None => {
                let detail = "no geometry, an empty one, or one that cannot be read; set aside".to_string();
                self.spent.set_aside(issue(source, &facts.id, "empty-geometry", detail).of_permit(&facts.permit_id));
                self.lost.push(facts);
            }
        }
    }
}

fn issue(source: SourceRef, id: &str, code: &'static str, detail: String) -> Issue {
    Issue::new(source, id, code, Outcome::SetAside, detail)
}

/// No coordinate on Earth is as large, in metres or feet (as for trees).
const LARGEST_COORDINATE: f64 = 1e9;

/// The extent of a file's works in its own CRS; longitudes unwrapped around the first. `None` where there is no work.
pub(super) fn extent(raw: &[RawWork], crs: &Crs) -> Option<Rect<f64>> {
    let first = middle_first(raw.iter().filter_map(|work| work.geometry.coords_iter().next()).collect(), 1);
    let first = first.first()?;
    let unwrapped = |c: Coord<f64>| match crs.kind {
        CrsKind::Geographic => coord! { x: c.x - 360.0 * ((c.x - first.x) / 360.0).round(), y: c.y },
        _ => c,
    };
    // What cannot be in the CRS is set aside when it is projected, and must not widen the extent.
    let possible = |c: &Coord<f64>| {
        let in_degrees = !matches!(crs.kind, CrsKind::Geographic) || (c.x.abs() <= 360.0 && c.y.abs() <= 90.0);
        let on_earth = |v: f64| v.abs() < LARGEST_COORDINATE;
        on_earth(c.x) && on_earth(c.y) && in_degrees
    };
    let of_work = |work: &RawWork| {
        // One zero of the two: which of them is the least would be the threads' choice.
        let places = work.geometry.coords_iter().filter(possible).map(unwrapped).map(|c| c + coord! { x: 0.0, y: 0.0 });
        places.map(|place| Rect::new(place, place)).reduce(enclosing)
    };
    raw.par_iter().filter_map(of_work).reduce_with(enclosing)
}

/// A work on the ground, with what its file says of its permit.
pub(super) struct GroundedWork {
    facts: Box<WorkFacts>,
    work: Work,
    /// The issue of its repair, where it needed one.
    repaired: Option<Box<Issue>>,
}

impl GroundedWork {
    /// The kind, and the ground alone.
    pub(super) fn into_kind_and_shape(self) -> (Text, MultiPolygon<f64>) {
        (self.work.kind, self.work.shape)
    }
}

/// The operation that brings one file's works into the plane; `None` where the file has none.
pub(super) fn operation(raw: &[RawWork], at: &str, crs: &Crs, frame: &Frame) -> Result<Option<Operation>> {
    frame.operation(at, crs, raw.iter().filter_map(|work| work.geometry.coords_iter().next()).collect())
}

/// Names the work of a file that lies furthest from the middle of them all.
pub(super) fn furthest(raw: &[RawWork], at: &str) -> Option<String> {
    let places: Vec<Coord<f64>> = raw.iter().filter_map(|work| work.geometry.coords_iter().next()).collect();
    let middle = *middle_first(places, 1).first()?;
    let off = |work: &RawWork| {
        work.geometry.coords_iter().map(|c| (c.x - middle.x).hypot(c.y - middle.y)).fold(0.0, f64::max)
    };
    let work = raw.iter().max_by(|a, b| off(a).total_cmp(&off(b)))?;
    Some(format!("furthest from the rest of {at}: row {}, work `{}`", work.source.row, work.facts.id))
}

/// Works that a worker takes at a time: few, so that none of them waits long for the others at the end.
const WORKS_AT_ONCE: usize = 256;

/// Projects, repairs and draws out one file's works, in parallel; what fails is set aside.
pub(super) fn ground_works(
    raw: Vec<RawWork>,
    at: &str,
    operation: &Operation,
    spent: &mut Spent,
    lost: &mut Vec<WorkFacts>,
) -> Result<Vec<GroundedWork>> {
    let one = |projector: &mut Result<Projector>, raw: RawWork| match projector {
        Ok(projector) => Ok(ground(raw, projector)),
        Err(error) => Err(Error::Crs { at: at.to_string(), what: error.to_string(), hint: String::new() }),
    };
    let grounded: Vec<Result<GroundResult>> =
        raw.into_par_iter().with_max_len(WORKS_AT_ONCE).map_init(|| Projector::new(operation), one).collect();
    let mut works = Vec::with_capacity(grounded.len());
    for result in grounded {
        match result? {
            Ok(grounded) => {
                spent.note(grounded.repaired.as_deref().cloned());
                works.push(grounded);
            }
            Err(refused) => {
                let (facts, issue) = *refused;
                spent.set_aside(issue);
                lost.push(facts);
            }
        }
    }
    Ok(works)
}

/// The remarks on a file without a column of permits, or of kinds.
pub(super) fn without_columns(open: &OpenWorks, works: &[GroundedWork]) -> Vec<Issue> {
    let first = works.iter().map(|one| one.work.source).min();
    first.map_or(Vec::new(), |first| open.plan.without_columns(first, works.len()))
}

/// A grounded work, or what is known of it and why it is set aside.
type GroundResult = std::result::Result<GroundedWork, Box<(WorkFacts, Issue)>>;

fn ground(raw: RawWork, projector: &Projector) -> GroundResult {
    let RawWork { facts, geometry, source } = raw;
    let projected =
        projector.geometry(&geometry).map_err(|problem| (place_code(problem), format!("{problem}; set aside")));
    let ground = projected.as_ref().ok().and_then(BoundingRect::bounding_rect);
    let shaped = projected.and_then(|projected| drawn_out(projected, &facts));
    let DrawnOut { shape, line, size_of_kind_m, repaired } = match shaped {
        Ok(shaped) => shaped,
        Err((code, detail)) => {
            let issue = issue(source, &facts.id, code, detail).at(ground).of_permit(&facts.permit_id);
            return Err(Box::new((*facts, issue)));
        }
    };
    let repaired =
        repaired.map(|detail| Issue { outcome: Outcome::Used, ..issue(source, &facts.id, "polygon-repaired", detail) });
    let repaired = repaired.map(Box::new);
    let work = Work {
        id: facts.id.clone(),
        source,
        permit: 0,
        kind: facts.kind.clone(),
        kind_written: facts.kind_written.clone(),
        effects: facts.effects,
        severs: facts.severs,
        depth_m: facts.depth_m,
        lasting: facts.lasting,
        mitigations: facts.mitigations.clone(),
        accepted: Vec::new(),
        margin_m: facts.margin_m,
        size_of_kind_m,
        shape,
        line,
    };
    Ok(GroundedWork { facts, work, repaired })
}

type Refused = (&'static str, String);

/// The ground of a geometry.
struct DrawnOut {
    shape: MultiPolygon<f64>,
    /// The line that it was drawn out from.
    line: Option<Box<DrawnLine>>,
    /// As [`Work::size_of_kind_m`].
    size_of_kind_m: Option<f64>,
    /// What was repaired.
    repaired: Option<String>,
}

impl DrawnOut {
    fn of(shape: MultiPolygon<f64>) -> DrawnOut {
        DrawnOut { shape, line: None, size_of_kind_m: None, repaired: None }
    }
}

/// The ground of a geometry: polygons repaired, lines drawn out to their width, points to their radius, all grown by the margin.
fn drawn_out(geometry: Geometry<f64>, facts: &WorkFacts) -> std::result::Result<DrawnOut, Refused> {
    let of_kind = |span: Option<Span>| span.filter(|span| span.of_kind).map(|span| span.metres);
    let mut drawn = match sorted_by_dimension(geometry)? {
        Dimension::Areas(polygons) => repaired(polygons)?,
        Dimension::Lines(lines) => {
            let width_m = size(facts.width, "width", facts)?;
            let shape = draw_out_lines(&lines, width_m);
            let line = Some(Box::new(DrawnLine { lines, width_m }));
            DrawnOut { shape, line, size_of_kind_m: of_kind(facts.width), repaired: None }
        }
        Dimension::Points(points) => {
            let shape = draw_out_points(&points, size(facts.radius, "radius", facts)?);
            DrawnOut { size_of_kind_m: of_kind(facts.radius), ..DrawnOut::of(shape) }
        }
    };
    if drawn.shape.0.is_empty() {
        return Err(("empty-geometry", "the geometry covers no ground; set aside".to_string()));
    }
    if facts.margin_m > LARGEST_SIZE_M || !facts.margin_m.is_finite() {
        return Err((
            "size-missing",
            format!("a margin of {} m is no margin; set aside: mend it in the file", facts.margin_m),
        ));
    }
    if facts.margin_m > 0.0 {
        drawn.shape = grow(&drawn.shape, facts.margin_m);
    }
    Ok(drawn)
}

fn draw_out_points(points: &MultiPoint<f64>, radius_m: f64) -> MultiPolygon<f64> {
    let discs: Vec<MultiPolygon<f64>> =
        points.iter().map(|point| MultiPolygon::from(draw_out_point(point.0, radius_m))).collect();
    union(&discs.iter().collect::<Vec<_>>())
}

/// Wider than any work, metres: a unit or a digit went wrong.
const LARGEST_SIZE_M: f64 = 1000.0;

fn is_a_size(metres: f64) -> bool {
    metres.is_finite() && metres > 0.0 && metres <= LARGEST_SIZE_M
}

fn size(given: Option<Span>, what: &str, facts: &WorkFacts) -> std::result::Result<f64, Refused> {
    let given = given.map(|span| span.metres);
    if let Some(absurd) = given.filter(|metres| !is_a_size(*metres)) {
        return Err(("size-missing", format!("a {what} of {absurd} m is no {what}; set aside: mend it in the file")));
    }
    given.ok_or_else(|| {
        let detail = if facts.kind_written.is_empty() {
            format!("no {what} is given, nor a kind that has one; set aside: add a column {what}_m, or one of kinds")
        } else {
            format!(
                "no {what} is given, and kind `{}` has none in the kinds table; set aside: add a {what} column or a kind with --work-kinds",
                facts.kind
            )
        };
        ("size-missing", detail)
    })
}

fn repaired(polygons: MultiPolygon<f64>) -> std::result::Result<DrawnOut, Refused> {
    match repair(&polygons) {
        Repair::Valid(shape) => Ok(DrawnOut::of(shape)),
        Repair::Repaired { shape, area_before_m2, area_after_m2, what } => {
            let what = format!("{what} (place in the measuring CRS)");
            let what = format!("{what}; area {area_before_m2:.4} m2 before, {area_after_m2:.4} m2 after");
            Ok(DrawnOut { repaired: Some(what), ..DrawnOut::of(shape) })
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

/// Permits ordered by id, works by permit, id and source; the first stated date of a permit counts.
///
/// A permit whose works state different statuses keeps them all, and is active while one of them is.
/// A permit whose works were all set aside stays, without works.
pub(super) fn assemble(mut grounded: Vec<GroundedWork>, lost: &[WorkFacts]) -> Assembled {
    // Two records have two sources: no order is lost, and no memory is asked for.
    grounded.par_sort_unstable_by(|a, b| {
        let key = (&a.facts.permit_id, &a.work.id, a.work.source);
        key.cmp(&(&b.facts.permit_id, &b.work.id, b.work.source))
    });
    let known = grounded.iter().map(|one| (&*one.facts, false)).chain(lost.iter().map(|facts| (facts, true)));
    let mut known: Vec<(&WorkFacts, bool)> = known.collect();
    // Stable: what is said first counts, and nothing that is lost comes before a work.
    known.sort_by(|(a, _), (b, _)| a.permit_id.cmp(&b.permit_id));
    let mut permits: Vec<Permit> =
        known.par_chunk_by(|(a, _), (b, _)| a.permit_id == b.permit_id).map(permit_of).collect();
    let remarks = not_in_force(&grounded, &permits);
    let works = owned(grounded, &mut permits);
    Assembled { works, permits, remarks }
}

/// The permit of what is known of its works, and whether each was set aside.
fn permit_of(known: &[(&WorkFacts, bool)]) -> Permit {
    let facts = || known.iter().map(|(facts, _)| *facts);
    let statuses: BTreeSet<&Text> = facts().map(|of| &of.permit_status).filter(|status| !status.is_empty()).collect();
    Permit {
        id: known[0].0.permit_id.clone(),
        active: statuses.is_empty() || statuses.iter().any(|status| permit_is_active(status)),
        status: statuses.into_iter().map(Text::as_str).collect::<Vec<_>>().join("; "),
        date: facts().map(|of| &of.permit_date).find(|date| !date.is_empty()).cloned().unwrap_or_default(),
        works_set_aside: u32::try_from(known.iter().filter(|(_, lost)| *lost).count()).unwrap_or(u32::MAX),
        works: Vec::new(),
    }
}

/// A remark on each work whose own status is not in force, but another's of its permit is: it counts, since the permit is screened as a whole.
fn not_in_force(grounded: &[GroundedWork], permits: &[Permit]) -> Vec<Issue> {
    let in_force =
        |id: &str| permits.binary_search_by(|permit| permit.id.as_str().cmp(id)).is_ok_and(|at| permits[at].active);
    let stale = grounded
        .iter()
        .filter(|one| !one.facts.permit_status.is_empty() && !permit_is_active(&one.facts.permit_status));
    let remark = |one: &GroundedWork| {
        let (status, permit) = (&one.facts.permit_status, &one.facts.permit_id);
        let detail = format!(
            "its status reads `{status}`, but other works of permit `{permit}` are in force: it counts with them; leave it out of the file if it will not be built"
        );
        let issue = issue(one.work.source, &one.work.id, "status-not-in-force", detail);
        Issue { outcome: Outcome::Used, ..issue.of_permit(permit) }
    };
    stale.filter(|one| in_force(&one.facts.permit_id)).map(remark).collect()
}

/// Ids less alike than this are not offered for each other (Jaro-Winkler).
const ALIKE: f64 = 0.8;

/// Leaves only one permit; gives back where the works of the others came from.
///
/// # Errors
/// No permit of that id, with the nearest one.
pub(super) fn keep_permit(assembled: &mut Assembled, id: &str) -> Result<Vec<SourceRef>> {
    let Some(kept) = assembled.permits.iter().position(|permit| permit.id == id) else {
        let likeness = |permit: &&Permit| (strsim::jaro_winkler(&permit.id, id) * 1e9) as u64;
        let nearest = assembled.permits.iter().max_by_key(likeness);
        let alike = nearest.filter(|permit| strsim::jaro_winkler(&permit.id, id) >= ALIKE);
        let hint = alike.map_or_else(
            || "permits.csv of rootward screen lists them".to_string(),
            |permit| format!("--permit {}", permit.id),
        );
        let what = format!("--permit: no permit `{id}` in the works, which have {} permits", assembled.permits.len());
        return Err(Error::Usage { what, hint });
    };
    let (own, others): (Vec<Work>, Vec<Work>) =
        std::mem::take(&mut assembled.works).into_iter().partition(|work| work.permit as usize == kept);
    let numbers = (0u32..).zip(&own).map(|(number, _)| number).collect();
    let permit = Permit { works: numbers, ..assembled.permits.swap_remove(kept) };
    assembled.works = own.into_iter().map(|work| Work { permit: 0, ..work }).collect();
    assembled.remarks.retain(|remark| remark.permit == permit.id.as_str());
    assembled.permits = vec![permit];
    Ok(others.into_iter().map(|work| work.source).collect())
}

/// Gives every work its permit; both are ordered by permit id.
fn owned(grounded: Vec<GroundedWork>, permits: &mut [Permit]) -> Vec<Work> {
    let mut number = 0;
    let mut works = Vec::with_capacity(grounded.len());
    for GroundedWork { facts, work, .. } in grounded {
        while permits[number].id != facts.permit_id {
            number += 1;
        }
        permits[number].works.push(u32::try_from(works.len()).expect("fewer than 4 billion works fit in memory"));
        works.push(Work { permit: u32::try_from(number).expect("fewer than 4 billion permits"), ..work });
    }
    works
}
