//! Raw records of proposed works -> facts in metres, and issues. The geometry is handed on as it stands.
//!
//! Projection, drawing out to a width and repair are other parts' work; so is putting works and permits together.

use super::column_names::{WORK_ROLES, ground_roles};
use super::columns::{Columns, Decision};
use super::kinds::{Kind, Kinds};
use super::measure::{Measure, Size, measure};
use super::place::{PlacePlan, decide_place};
use super::stated;
use super::words::tidy;
use crate::error::{Error, Result};
use crate::issue::{Issue, Outcome};
use crate::model::effect::Effects;
use crate::model::record::RawRecord;
use crate::model::source::SourceRef;
use crate::model::text::Text;
use crate::model::work::{Lasting, Mitigation};
use crate::settings::{GroundLayer, ReadingChoices};
use compact_str::format_compact;
use geo::Geometry;
use std::borrow::Cow;

/// What a file's shapes are.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Purpose {
    /// Proposed works.
    Works,
    /// Existing ground, or ground within which something is allowed: no permit, no effect, no margin.
    Ground(GroundLayer),
}

impl Purpose {
    fn flag(self) -> &'static str {
        match self {
            Purpose::Works => "--work-columns",
            Purpose::Ground(layer) => layer.columns_flag(),
        }
    }
}

/// A width, radius, depth or margin beyond this is taken for a mistake, metres; the limit of the kinds table too. A choice of the program.
const LARGEST_M: f64 = 1000.0;
/// A width or radius below this is taken for a mistake, metres. A choice of the program.
const SMALLEST_M: f64 = 0.001;
/// Width and radius of a work that does nothing to roots and needs no size: something to put on the map, metres.
const NOMINAL_M: f64 = 0.1;

/// What a record says of a work, apart from its geometry.
#[derive(Debug, Clone, PartialEq)]
pub struct WorkFacts {
    /// Its id; `file:row` where it has none.
    pub id: Text,
    /// Id of its permit; the file's name without ending where the file has no permit column, or the cell is empty.
    pub permit_id: Text,
    /// Status of the permit as written.
    pub permit_status: Text,
    /// Date of the permit as written.
    pub permit_date: Text,
    /// Name in the kinds table; `unknown` where not found there.
    pub kind: Text,
    /// As written.
    pub kind_written: Text,
    /// What it does to roots, at its depth.
    pub effects: Effects,
    /// Whether it severs, at its depth.
    pub severs: bool,
    /// Full width of a line.
    pub width: Option<Span>,
    /// Radius of a point.
    pub radius: Option<Span>,
    /// Depth, metres, where given.
    pub depth_m: Option<f64>,
    /// Whether it stays when the job is done.
    pub lasting: Lasting,
    /// What the application states to spare roots, sorted.
    pub mitigations: Vec<Mitigation>,
    /// To be drawn out around the shape, metres.
    pub margin_m: f64,
}

/// A width or a radius.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Span {
    /// Its length, metres.
    pub metres: f64,
    /// From the kinds table, since the record states none that can be used.
    pub of_kind: bool,
}

impl Span {
    fn of_kind(metres: f64) -> Span {
        Span { metres, of_kind: true }
    }
}

/// How the records of one file become works.
#[derive(Debug, Clone)]
pub struct WorkPlan {
    purpose: Purpose,
    columns: Columns,
    file: String,
    place: PlacePlan,
    kinds: Kinds,
    width: Option<Measure>,
    radius: Option<Measure>,
    depth: Option<Measure>,
    margin: Option<Measure>,
}

/// Decides how the records of one file of works, or of a layer of ground, are read.
///
/// # Errors
/// `Usage` for roles and columns that do not exist; `Input` where there is no geometry, or a width, radius, depth or margin
/// column states no unit.
pub fn decide_works(
    purpose: Purpose,
    at: &str,
    columns: &[String],
    sample: &[RawRecord],
    has_geometry: bool,
    choices: &ReadingChoices,
    kinds: &Kinds,
) -> Result<WorkPlan> {
    let flag = purpose.flag();
    let (roles, typed) = match purpose {
        Purpose::Works => (WORK_ROLES.to_vec(), &choices.work_columns),
        Purpose::Ground(layer) => (ground_roles(), &choices.ground[layer as usize].columns),
    };
    let mut decided = Columns::decide(at, flag, &roles, columns, sample, typed)?;
    let place = decide_place(at, flag, &mut decided, sample, has_geometry)?;
    if place.form == super::place::PlaceForm::None {
        let listed = columns.iter().take(40).map(|name| format!("`{name}`")).collect::<Vec<_>>().join(", ");
        return Err(Error::input(
            at,
            format!("no geometry and no column for one, got {listed}"),
            format!("{flag} place=COLUMN (WKT, hex WKB or GeoJSON)"),
        ));
    }
    if purpose != Purpose::Works && only_polygons(&place, sample) {
        drop_sizes_without_unit(&mut decided, sample);
    }
    let mut length = |role| length(at, flag, &mut decided, role, sample);
    let (width, radius) = (length("width")?, length("radius")?);
    let (depth, margin) = (length("depth")?, length("margin")?);
    for (role, meaning) in [
        ("permit", "no column of permits: all works of the file count as one permit, named after the file"),
        ("kind", "no column of kinds of work: every work counts as a severing cut, the worst case"),
    ] {
        if purpose == Purpose::Works && decided.column(role).is_none() {
            decided.add_why(role, &format!("{meaning} ({flag} {role}=COLUMN)"));
        }
    }
    let file = at.rsplit(['/', '\\']).next().unwrap_or(at).to_string();
    Ok(WorkPlan { purpose, columns: decided, file, place, kinds: kinds.clone(), width, radius, depth, margin })
}

fn only_polygons(place: &PlacePlan, sample: &[RawRecord]) -> bool {
    let polygon = |geometry: &Geometry<f64>| matches!(geometry, Geometry::Polygon(_) | Geometry::MultiPolygon(_));
    sample.iter().filter_map(|record| place.geometry(record)).all(|geometry| polygon(&geometry))
}

/// Ground that is drawn as polygons needs no width: a column without a unit is left alone. A line that comes all the same is set aside.
fn drop_sizes_without_unit(columns: &mut Columns, sample: &[RawRecord]) {
    for role in ["width", "radius"] {
        let unclear = columns.column(role).is_some()
            && !columns.is_typed(role)
            && measure(columns, role, sample, None, &mut Vec::new()).is_none();
        if unclear {
            let why = format!("`{}` states no unit, and polygons need no {role}: left alone", columns.name(role));
            columns.drop_column(role, &why);
        }
    }
}

/// A length whose unit must be stated: a trench of 24 is not guessed to be inches.
fn length(
    at: &str,
    flag: &str,
    columns: &mut Columns,
    role: &'static str,
    sample: &[RawRecord],
) -> Result<Option<Measure>> {
    let Some(column) = columns.column(role) else { return Ok(None) };
    let name = columns.name(role).to_string();
    let values = sample.iter().map(|record| record.cell(column).trim()).filter(|cell| !cell.is_empty()).take(3);
    let values = values.collect::<Vec<_>>().join(", ");
    match measure(columns, role, sample, None, &mut Vec::new()) {
        Some(found) => Ok(Some(found)),
        None if values.is_empty() => Ok(None),
        None => Err(Error::input(
            at,
            format!(
                "column `{name}` gives a {role} without a unit, got {values}; expected the unit in the name, as in `{role}_m`, or by flag"
            ),
            format!("{flag} {role}={name}:m (or :ft, :in, :cm, :mm; {role}=none to leave the column alone)"),
        )),
    }
}

impl WorkPlan {
    /// What was decided, role by role, for `inspect`.
    pub fn decisions(&self) -> &[Decision] {
        self.columns.decisions()
    }

    /// Longitude and latitude by name and by range: WGS 84.
    pub fn lonlat_by_columns(&self) -> bool {
        self.place.lonlat
    }

    /// The EPSG number that the cells of the geometry state.
    pub fn embedded_srid(&self) -> Option<u32> {
        self.place.srid
    }

    /// The geometry of a record in the file's CRS; `None` where it has none or one that cannot be read.
    pub fn geometry<'a>(&self, record: &'a RawRecord) -> Option<Cow<'a, Geometry<f64>>> {
        self.place.geometry(record)
    }

    /// What the record says of the work.
    ///
    /// Adds `lasting-unknown` and `mitigation-unknown` for what is stated and not understood, `kind-unknown` for kinds that the table does not
    /// have, `permit-missing` and `id-missing` for empty cells of a column of permits or ids (a file without a column of permits or kinds has one
    /// issue as a whole: [`WorkPlan::without_columns`]), and `damaged-size` for sizes that cannot be used. All lengths that come out are finite, 0 to 1000 m.
    pub fn work_facts(&self, record: &RawRecord, source: SourceRef, issues: &mut Vec<Issue>) -> WorkFacts {
        if self.purpose != Purpose::Works {
            return self.ground_facts(record, source, issues);
        }
        let own_id = self.text(record, "id");
        let id = if own_id.is_empty() { format_compact!("{}:{}", self.file, record.row) } else { own_id.clone() };
        if own_id.is_empty() && self.columns.column("id").is_some() {
            issues.push(remark(source, "", "id-missing", format!("named `{id}`")));
        }
        let mut permit_id = self.text(record, "permit");
        if permit_id.is_empty() {
            permit_id = self.permit_of_file();
            if self.columns.column("permit").is_some() {
                let detail = format!("no permit is named; counted with the permit `{permit_id}`, named after the file");
                issues.push(remark(source, &own_id, "permit-missing", detail));
            }
        }
        let kind_written = self.text(record, "kind");
        let kind = self.kinds.find(&kind_written).unwrap_or_else(|| {
            if self.columns.column("kind").is_some() {
                issues.push(remark(source, &own_id, "kind-unknown", unknown_kind(&kind_written)));
            }
            Cow::Borrowed(self.kinds.unknown())
        });
        let mut damaged = |detail| {
            issues.push(remark(source, &own_id, "damaged-size", detail));
        };
        // Planting is set aside for no want of a size.
        let nominal = kind.effects.is_empty().then_some(Span::of_kind(NOMINAL_M));
        let width = span(self.width, record, "width", kind.width_m, &kind, &mut damaged).or(nominal);
        let radius = span(self.radius, record, "radius", kind.radius_m, &kind, &mut damaged).or(nominal);
        let depth_m = self.depth.and_then(|measure| depth(measure, record, &mut damaged));
        let margin_m = self.margin.and_then(|measure| margin(measure, record, &kind, &mut damaged));
        let (effects, severs) = kind.at_depth(depth_m);
        WorkFacts {
            id,
            permit_id,
            permit_status: self.text(record, "status"),
            permit_date: self.text(record, "date"),
            kind: Text::from(&kind.name),
            kind_written,
            effects,
            severs,
            width,
            radius,
            depth_m,
            lasting: self.lasting(record, source, &own_id, issues).unwrap_or_else(|| kind.lasting()),
            mitigations: self.mitigations(record, source, &own_id, issues),
            margin_m: margin_m.unwrap_or(kind.margin_m),
        }
    }

    /// What a record says of a piece of ground: only where its width, or its radius, comes from.
    fn ground_facts(&self, record: &RawRecord, source: SourceRef, issues: &mut Vec<Issue>) -> WorkFacts {
        let own_id = self.text(record, "id");
        let id = if own_id.is_empty() { format_compact!("{}:{}", self.file, record.row) } else { own_id.clone() };
        let kind_written = self.text(record, "kind");
        let kind = self.kinds.find(&kind_written).unwrap_or_else(|| Cow::Borrowed(self.kinds.unknown()));
        let mut damaged = |detail| {
            issues.push(remark(source, &own_id, "damaged-size", detail));
        };
        WorkFacts {
            width: span(self.width, record, "width", kind.width_m, &kind, &mut damaged),
            radius: span(self.radius, record, "radius", kind.radius_m, &kind, &mut damaged),
            id,
            permit_id: Text::default(),
            permit_status: Text::default(),
            permit_date: Text::default(),
            kind: Text::from(&kind.name),
            kind_written,
            effects: Effects::NONE,
            severs: false,
            depth_m: None,
            lasting: Lasting::Permanent,
            mitigations: Vec::new(),
            margin_m: 0.0,
        }
    }

    /// Whether the file says that the work stays; `None` where it does not, or not so that it is understood.
    fn lasting(&self, record: &RawRecord, source: SourceRef, id: &str, issues: &mut Vec<Issue>) -> Option<Lasting> {
        let written = self.text(record, "lasting");
        if written.is_empty() {
            return None;
        }
        let found = stated::lasting(&written);
        if found.is_none() {
            let detail =
                format!("`{written}` says neither temporary nor permanent; what is usual for the kind is used");
            issues.push(remark(source, id, "lasting-unknown", detail));
        }
        found
    }

    fn mitigations(&self, record: &RawRecord, source: SourceRef, id: &str, issues: &mut Vec<Issue>) -> Vec<Mitigation> {
        let (found, unknown) = stated::mitigations(&self.text(record, "mitigation"));
        issues.extend(unknown.into_iter().map(|part| {
            let detail = format!(
                "`{part}` is no mitigation that is known, or no plain promise of one; it changes nothing (known: mats, no-dig, air excavation, hand digging, piers)"
            );
            remark(source, id, "mitigation-unknown", detail)
        }));
        found
    }

    /// What is remarked once on a file without a column of permits, or of kinds; `first` is its first work, `works` how many it has.
    pub fn without_columns(&self, first: SourceRef, works: usize) -> Vec<Issue> {
        let lacks = |role: &str, fewest: usize| works >= fewest && self.columns.column(role).is_none();
        // One work is one permit, whatever its file says.
        let permits = lacks("permit", 2).then(|| {
            let detail = format!(
                "the file has no column of permits: all of its works from this row on, {works} in all, count as one permit, `{}` \
                 (--work-columns permit=COLUMN names one)",
                self.permit_of_file()
            );
            remark(first, "", "permit-missing", detail)
        });
        let kinds = lacks("kind", 1).then(|| {
            let detail = format!(
                "the file has no column that says the kind of work: every work from this row on, {works} in all, counts as a severing \
                 cut, the worst case (--work-columns kind=COLUMN names one)"
            );
            remark(first, "", "kind-unknown", detail)
        });
        permits.into_iter().chain(kinds).collect()
    }

    /// Works without a permit form one, named after their file.
    fn permit_of_file(&self) -> Text {
        // `works.geojson#layer` -> `works#layer`
        let (file, layer) =
            self.file.split_once('#').map_or((self.file.as_str(), None), |(file, layer)| (file, Some(layer)));
        let stem = file.rsplit_once('.').map_or(file, |(stem, _)| if stem.is_empty() { file } else { stem });
        layer.map_or(stem.into(), |layer| format_compact!("{stem}#{layer}"))
    }

    fn text(&self, record: &RawRecord, role: &str) -> Text {
        self.columns.column(role).map_or(Text::default(), |column| tidy(record.cell(column)))
    }
}

fn remark(source: SourceRef, id: &str, code: &'static str, detail: String) -> Issue {
    Issue::new(source, id, code, Outcome::Used, detail)
}

/// A width or radius: the cell's, else the kind's; none where the cell is absurdly large.
fn span(
    measure: Option<Measure>,
    record: &RawRecord,
    what: &str,
    of_kind: Option<f64>,
    kind: &Kind,
    damaged: &mut impl FnMut(String),
) -> Option<Span> {
    let usual = of_kind.map(Span::of_kind);
    let Some(measure) = measure else { return usual };
    let why = match measure.read(record) {
        Size::Empty => return usual,
        Size::Metres(metres) if metres > LARGEST_M => {
            damaged(format!(
                "{what} {} is more than {LARGEST_M} m; no {what} is used, mend it in the file",
                measure.shown(record)
            ));
            return None;
        }
        Size::Metres(metres) if metres >= SMALLEST_M => return Some(Span { metres, of_kind: false }),
        Size::Metres(_) => "is less than a millimetre",
        Size::Negative(_) => "is negative",
        Size::Unreadable => "is no length",
    };
    let used = of_kind
        .map_or(format!("kind `{}` has none in the kinds table, so no {what} is used", kind.name), |metres| {
            format!("the {what} of kind `{}` is used, {metres} m", kind.name)
        });
    damaged(format!("{what} {} {why}; {used}", measure.shown(record)));
    usual
}

/// A depth; one below zero counts downwards.
fn depth(measure: Measure, record: &RawRecord, damaged: &mut impl FnMut(String)) -> Option<f64> {
    let cell = measure.shown(record);
    match measure.read(record) {
        Size::Empty => None,
        Size::Metres(metres) if metres <= LARGEST_M => Some(metres),
        Size::Negative(metres) if -metres <= LARGEST_M => {
            damaged(format!("depth {cell} is negative; read as {} m deep", -metres));
            Some(-metres)
        }
        Size::Metres(_) | Size::Negative(_) => {
            damaged(format!("depth {cell} is more than {LARGEST_M} m; no depth is used"));
            None
        }
        Size::Unreadable => {
            damaged(format!("depth {cell} is no length; no depth is used"));
            None
        }
    }
}

/// A margin; `None` where the kind's counts.
fn margin(measure: Measure, record: &RawRecord, kind: &Kind, damaged: &mut impl FnMut(String)) -> Option<f64> {
    let why = match measure.read(record) {
        Size::Empty => return None,
        Size::Metres(metres) if metres <= LARGEST_M => return Some(metres),
        Size::Metres(_) => format!("is more than {LARGEST_M} m"),
        Size::Negative(_) => "is negative".to_string(),
        Size::Unreadable => "is no length".to_string(),
    };
    damaged(format!(
        "margin {} {why}; the margin of kind `{}` is used, {} m",
        measure.shown(record),
        kind.name,
        kind.margin_m
    ));
    None
}

fn unknown_kind(written: &str) -> String {
    let said = if written.is_empty() {
        "no kind is given".to_string()
    } else {
        format!("kind `{written}` is not in the kinds table")
    };
    format!("{said}; counted as a severing cut, the worst case (--work-kinds FILE adds a kind)")
}

#[cfg(test)]
#[path = "works_tests.rs"]
mod tests;
