//! `inspect`: what is in a file, what would be used, and why; by the same functions that a run uses.

use super::open;
use crate::error::{Error, Result};
use crate::model::crs::Crs;
use crate::model::record::RawRecord;
use crate::normalise::column_names::{TREE_ROLES, WORK_ROLES, ground_roles};
use crate::normalise::columns::{Columns, Decision};
use crate::normalise::geometry_cell::parse_geometry_cell;
use crate::read::{Survey, survey};
use crate::settings::{GroundLayer, InputName, ReadingChoices};
use crate::units::LengthUnit;
use geo::Geometry;
use std::collections::HashMap;

/// What a file is looked at as.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum InspectedAs {
    /// A tree inventory.
    Trees,
    /// Proposed works.
    Works,
    /// A layer of ground.
    Ground(GroundLayer),
}

/// One file, looked into.
pub struct Inspected {
    /// What the bytes are.
    pub survey: Survey,
    /// As what it was looked at.
    pub role: InspectedAs,
    /// What each column would be used for, and why.
    pub decisions: Vec<Decision>,
    /// What a run would note of its columns.
    pub notes: Vec<String>,
    /// The CRS, where one is stated or plain.
    pub crs: Option<Crs>,
    /// Ids that stand in more than one row, with the number of rows; the commonest first, ten at most.
    pub repeated_ids: Vec<(String, u64)>,
    /// How many ids stand in more than one row.
    pub repeated_ids_in_all: usize,
    /// Why a run would refuse the file; empty where it would not.
    pub problems: Vec<Error>,
}

/// Looks into one file. Only what cannot be read at all is an error; what a run would refuse is among the problems.
pub fn inspect(input: &InputName, role: Option<InspectedAs>, choices: &ReadingChoices) -> Result<Inspected> {
    let found = survey(input, choices.bounds)?;
    let role = role.unwrap_or_else(|| guess(input, &found, choices));
    let mut problems = Vec::new();
    let opened = opened(input, role, choices).or_else(|error| {
        problems.push(error);
        // One thing that is missing must not hide another: look on as if the unit had been given.
        opened(input, role, &ReadingChoices { stand_in_unit: Some(LengthUnit::Inch), ..choices.clone() })
    });
    let (decisions, notes, crs) = match opened {
        Ok((decisions, notes, crs)) => (decisions, notes, Some(crs)),
        Err(error) => {
            if problems.iter().all(|known| known.to_string() != error.to_string()) {
                problems.push(error);
            }
            (by_columns_alone(input, role, &found, choices)?, Vec::new(), found.crs.clone())
        }
    };
    let (repeated_ids, repeated_ids_in_all) =
        match decisions.iter().find(|decision| decision.role == "id").and_then(|id| id.column) {
            Some(column) => repeated(&found, column)?,
            None => (Vec::new(), 0),
        };
    Ok(Inspected { survey: found, role, decisions, notes, crs, repeated_ids, repeated_ids_in_all, problems })
}

/// The decisions, notes and the CRS of a file, as a run would take them.
fn opened(input: &InputName, role: InspectedAs, choices: &ReadingChoices) -> Result<(Vec<Decision>, Vec<String>, Crs)> {
    match role {
        InspectedAs::Trees => {
            let survey = open::survey_trees(input, choices)?;
            let open = open::open_trees(survey, choices, None)?;
            Ok((open.plan.decisions().to_vec(), open.plan.notes().to_vec(), open.crs))
        }
        InspectedAs::Works => open::open_works(input, choices, &open::kinds(choices)?, None)
            .map(|open| (open.plan.decisions().to_vec(), Vec::new(), open.crs)),
        InspectedAs::Ground(layer) => open::open_ground(layer, input, choices, &open::kinds(choices)?, None)
            .map(|open| (open.plan.decisions().to_vec(), Vec::new(), open.crs)),
    }
}

/// What the columns would be used for, where a run would refuse the file.
fn by_columns_alone(
    input: &InputName,
    role: InspectedAs,
    found: &Survey,
    choices: &ReadingChoices,
) -> Result<Vec<Decision>> {
    let (flag, roles, typed) = match role {
        InspectedAs::Trees => ("--tree-columns", TREE_ROLES.to_vec(), &choices.tree_columns),
        InspectedAs::Works => ("--work-columns", WORK_ROLES.to_vec(), &choices.work_columns),
        InspectedAs::Ground(layer) => (layer.columns_flag(), ground_roles(), &choices.ground[layer as usize].columns),
    };
    let columns = Columns::decide(&input.display(), flag, &roles, &found.columns, &found.sample, typed)?;
    Ok(columns.decisions().to_vec())
}

/// Records whose cells are looked at for geometries.
const LOOKED_AT: usize = 20;

/// Lines and polygons are works, as the format has them or in the cells of a table without diameters and coordinates; all else is trees.
fn guess(input: &InputName, found: &Survey, choices: &ReadingChoices) -> InspectedAs {
    let sample = &found.sample;
    let has_trees = || {
        let decisions = by_columns_alone(input, InspectedAs::Trees, found, choices).unwrap_or_default();
        decisions.iter().any(|one| ["diameter", "girth", "x"].contains(&one.role) && one.column.is_some())
    };
    let drawn = sample.iter().filter_map(|record| record.geometry.as_ref());
    let in_cells = |record: &RawRecord| {
        let mut cells = (0..record.len()).filter_map(|column| parse_geometry_cell(record.cell(column)));
        cells.any(|cell| !is_place(&cell.geometry))
    };
    if drawn.into_iter().any(|geometry| !is_place(geometry))
        || (sample.iter().take(LOOKED_AT).any(in_cells) && !has_trees())
    {
        InspectedAs::Works
    } else {
        InspectedAs::Trees
    }
}

fn is_place(geometry: &Geometry<f64>) -> bool {
    matches!(geometry, Geometry::Point(_) | Geometry::MultiPoint(_))
}

/// Reads the whole file for ids that repeat: the ten commonest, and how many there are.
fn repeated(survey: &Survey, column: usize) -> Result<(Vec<(String, u64)>, usize)> {
    let mut seen: HashMap<String, u64> = HashMap::new();
    for chunk in survey.chunks()? {
        chunk?.for_each(&mut |record| {
            if let Ok(record) = record {
                let id = record.cell(column);
                if !id.is_empty() {
                    *seen.entry(id.to_string()).or_insert(0) += 1;
                }
            }
        });
    }
    let mut repeated: Vec<(String, u64)> = seen.into_iter().filter(|(_, rows)| *rows > 1).collect();
    repeated.sort_by(|(a, many), (b, more)| more.cmp(many).then(a.cmp(b)));
    let in_all = repeated.len();
    repeated.truncate(10);
    Ok((repeated, in_all))
}
