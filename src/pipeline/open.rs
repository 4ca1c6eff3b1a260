//! Opens the inputs: survey every file, decide what its columns mean, and which CRS it is in. `inspect` shows just this.

use crate::error::{Error, Result};
use crate::model::crs::{Crs, CrsKind};
use crate::model::record::RawRecord;
use crate::normalise::kinds::Kinds;
use crate::normalise::trees::{TreePlan, decide_trees};
use crate::normalise::works::{Purpose, WorkPlan, decide_works};
use crate::projection::candidates;
use crate::read::crs::describe_crs;
use crate::read::{Survey, survey};
use crate::settings::{GroundLayer, InputName, ReadingChoices};
use geo::{Coord, CoordsIter};

/// A tree file, ready to be read.
pub struct OpenTrees {
    /// What the bytes are.
    pub survey: Survey,
    /// What the columns mean.
    pub plan: TreePlan,
    /// What the coordinates mean.
    pub crs: Crs,
}

/// A file of works or of a layer of ground, ready to be read.
pub struct OpenWorks {
    /// What the bytes are.
    pub survey: Survey,
    /// What the columns mean.
    pub plan: WorkPlan,
    /// What the coordinates mean.
    pub crs: Crs,
}

/// The kinds of work: the built-in table, extended by the user's.
pub fn kinds(choices: &ReadingChoices) -> Result<Kinds> {
    match &choices.work_kinds {
        Some(path) => Kinds::with_file(path),
        None => Ok(Kinds::built_in()),
    }
}

/// Opens one work file; `near` is a place (longitude, latitude) in the neighbourhood, where one is known.
pub fn open_works(
    input: &InputName,
    choices: &ReadingChoices,
    kinds: &Kinds,
    near: Option<(f64, f64)>,
) -> Result<OpenWorks> {
    open_shapes(Purpose::Works, input, choices, kinds, near)
}

/// Opens one file of a layer of ground; `near` as for works.
pub fn open_ground(
    layer: GroundLayer,
    input: &InputName,
    choices: &ReadingChoices,
    kinds: &Kinds,
    near: Option<(f64, f64)>,
) -> Result<OpenWorks> {
    open_shapes(Purpose::Ground(layer), input, choices, kinds, near)
}

fn open_shapes(
    purpose: Purpose,
    input: &InputName,
    choices: &ReadingChoices,
    kinds: &Kinds,
    near: Option<(f64, f64)>,
) -> Result<OpenWorks> {
    let survey = with_records(survey(input, choices.bounds)?)?;
    let (at, with_geometry) = (input.display(), has_geometry(&survey.sample));
    let plan = decide_works(purpose, &at, &survey.columns, &survey.sample, with_geometry, choices, kinds)?;
    let places = survey.sample.iter().filter_map(|record| plan.geometry(record)?.coords_iter().next());
    let crs = CrsChoice {
        input,
        stated: survey.crs.as_ref(),
        flag: match purpose {
            Purpose::Works => ("--works-crs", choices.works_crs.as_deref()),
            Purpose::Ground(layer) => (layer.crs_flag(), choices.ground[layer as usize].crs.as_deref()),
        },
        lonlat_by_columns: plan.lonlat_by_columns(),
        embedded_srid: plan.embedded_srid(),
        places: places.collect(),
        near,
    }
    .choose()?;
    Ok(OpenWorks { survey, plan, crs })
}

/// Surveys one tree file, which asks for nothing else that is known.
pub fn survey_trees(input: &InputName, choices: &ReadingChoices) -> Result<Survey> {
    with_records(survey(input, choices.bounds)?)
}

/// Opens one tree file once surveyed; `near` is the centre of the works (longitude, latitude), where known.
pub fn open_trees(survey: Survey, choices: &ReadingChoices, near: Option<(f64, f64)>) -> Result<OpenTrees> {
    let input = &survey.input;
    let has_geometry = has_geometry(&survey.sample);
    let plan = decide_trees(&input.display(), &survey.columns, &survey.sample, has_geometry, choices)?;
    let places = survey.sample.iter().filter_map(|record| plan.place(record).ok());
    let crs = CrsChoice {
        input,
        stated: survey.crs.as_ref(),
        flag: ("--trees-crs", choices.trees_crs.as_deref()),
        lonlat_by_columns: plan.lonlat_by_columns(),
        embedded_srid: plan.embedded_srid(),
        places: places.collect(),
        near,
    }
    .choose()?;
    Ok(OpenTrees { survey, plan, crs })
}

/// A file without records says nothing about its columns; it gets a message of its own.
fn with_records(survey: Survey) -> Result<Survey> {
    match survey.rows {
        0 => Err(Error::input(
            survey.input.display(),
            "no records, got a header or an empty collection only; expected at least one",
            "",
        )),
        _ => Ok(survey),
    }
}

/// Whether any sampled record carries a geometry of its own.
pub fn has_geometry(sample: &[RawRecord]) -> bool {
    sample.iter().any(|record| record.geometry.is_some())
}

/// Coordinates that no grid of a city has: its origin would have to lie in the city. A choice of the program, no source.
const SMALL: f64 = 10_000.0;

/// All that can say in which CRS a file's coordinates are.
struct CrsChoice<'a> {
    input: &'a InputName,
    stated: Option<&'a Crs>,
    flag: (&'static str, Option<&'a str>),
    lonlat_by_columns: bool,
    embedded_srid: Option<u32>,
    places: Vec<Coord<f64>>,
    near: Option<(f64, f64)>,
}

impl CrsChoice<'_> {
    /// In this order: stated in the file, the flag, an SRID inside the cells, longitude and latitude by name and range,
    /// the default of the format (GeoJSON). Else an error with candidates.
    fn choose(&self) -> Result<Crs> {
        let by_format = self.stated.filter(|crs| crs.origin.contains("RFC 7946"));
        if let Some(stated) = self.stated.filter(|_| by_format.is_none()) {
            let mut stated = stated.clone();
            if let (name, Some(typed)) = self.flag {
                stated.origin = format!("{}; {name} {typed} is not used", stated.origin);
            }
            return self.usable(stated);
        }
        if let (name, Some(typed)) = self.flag {
            return self.usable(describe_crs(typed, name)?);
        }
        if let Some(srid) = self.embedded_srid.filter(|&srid| srid > 0) {
            return self.usable(describe_crs(&format!("EPSG:{srid}"), "SRID inside the geometry cells")?);
        }
        if self.lonlat_by_columns {
            let origin = "WGS 84 taken: longitude and latitude by the columns' names and ranges";
            return self.usable(describe_crs("EPSG:4326", origin)?);
        }
        match by_format {
            Some(crs) => self.usable(crs.clone()),
            None => Err(self.refusal("the file states no CRS")),
        }
    }

    fn usable(&self, crs: Crs) -> Result<Crs> {
        match crs.kind {
            CrsKind::Other => Err(self.refusal(&format!("the CRS `{}` is neither geographic nor projected", crs.name))),
            CrsKind::Geographic if self.mostly_out_of_range() => Err(self.refusal(&format!(
                "the coordinates cannot be degrees, but the CRS is `{}` ({})",
                crs.name, crs.origin
            ))),
            _ => Ok(crs),
        }
    }

    fn mostly_out_of_range(&self) -> bool {
        let outside = self.places.iter().filter(|c| c.x.abs() > 360.0 || c.y.abs() > 90.0).count();
        outside * 2 > self.places.len()
    }

    fn refusal(&self, what: &str) -> Error {
        let places: Vec<(f64, f64)> = self.places.iter().map(|c| (c.x, c.y)).collect();
        let example = places.first().map_or(String::new(), |(x, y)| format!(", got coordinates such as {x} {y}"));
        let flag = self.flag.0;
        let listed: Vec<String> = candidates(&places, self.near)
            .into_iter()
            .take(5)
            .map(|found| format!("{flag} {}   {} ({})", found.definition, found.name, found.why))
            .collect();
        let hint = if listed.is_empty() {
            let small = places.iter().all(|(x, y)| x.abs() < SMALL && y.abs() < SMALL);
            let local = "; such small values may be local coordinates (metres from a corner of the site), which have no CRS: give the \
                         file true coordinates first";
            format!("state it with {flag}, e.g. {flag} EPSG:26910{}", if small { local } else { "" })
        } else {
            format!("state it with {flag}; candidates by range and place, likeliest first:\n  {}", listed.join("\n  "))
        };
        Error::Crs { at: self.input.display(), what: format!("{what}{example}; a CRS is needed to measure"), hint }
    }
}
