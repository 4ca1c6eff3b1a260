//! Settles once which PROJ operation leads from one CRS to another, and how far it can be off.
//!
//! Between two datums PROJ knows several operations and would choose anew for every point. Here one is chosen, on a point of the
//! works, and its pipeline text is what every worker uses, so that all points of a run go the same way. It must not convert data.
//!
//! # Source
//! Operations and their accuracy: the EPSG data set in PROJ. The limit of 5 m is the program's own decision.

use super::geographic::GeographicBase;
use super::projector::{self, PointProblem, Projector};
use super::range::InputRange;
use super::{between, crs_error, without_order};
use crate::error::{Error, Result};
use crate::model::crs::{Crs, CrsKind};
use std::collections::BTreeMap;
use std::sync::Mutex;

/// The worst datum operation that is taken without a flag, in metres.
pub const DEFAULT_DATUM_ERROR_M: f64 = 5.0;

/// What an operation of unknown accuracy counts as, in metres.
///
/// # Source
/// Common knowledge, no source: unshifted coordinates on two old datums can lie several hundred metres apart.
pub const UNKNOWN_ACCURACY_M: f64 = 1000.0;

/// One way from a CRS to another, fixed as text, so that it can be written into the manifest and rebuilt by every worker.
#[derive(Debug, Clone, PartialEq)]
pub struct Operation {
    /// Name of the CRS that coordinates come from.
    pub from: String,
    /// Name of the CRS that they go to.
    pub to: String,
    /// PROJ's pipeline, longitude or easting first on both sides.
    pub pipeline: String,
    /// PROJ's words for the steps, e.g. `Inverse of UTM zone 10N + NAD83 to WGS 84 (1)`.
    pub name: String,
    /// How far the datum operation may be off, in metres; 0 on one datum; `None` where nobody stated it.
    pub accuracy_m: Option<f64>,
    /// Two different datums are treated as one for want of anything better.
    pub ballpark: bool,
    /// West, south, east, north in degrees where `from` may be used, where it states that.
    pub area_of_use: Option<[f64; 4]>,
    /// The same area in the coordinates that go in.
    pub range: InputRange,
    /// What input is multiplied by before PROJ sees it: 1, or units per metre where the input is in metres and the CRS is not.
    pub input_scale: f64,
    /// What PROJ's output is multiplied by: metres per unit of `to` where it is projected, else 1.
    pub output_scale: f64,
    /// Metres on the ground (about) in one unit of the input, to tell a round trip in metres.
    pub input_unit_m: f64,
    /// The input is in degrees or other angles.
    pub input_is_angle: bool,
}

impl Operation {
    /// The accuracy in words: `exact (one datum)`, `4 m`, `unknown`.
    pub fn accuracy_text(&self) -> String {
        match self.accuracy_m {
            Some(0.0) => "exact (one datum)".to_string(),
            Some(metres) => format!("{metres} m"),
            None => "unknown".to_string(),
        }
    }
}

/// Chooses the operation from one CRS to another on a point of the works, and refuses one that is too coarse.
///
/// `sample_xy` is a point in the coordinates of `from`. `area` is west, south, east, north in degrees around the works.
/// Output is in metres where `to` is projected, in its own angular unit otherwise.
///
/// # Errors
/// `Error::Crs` where either CRS is neither geographic nor projected, where PROJ knows no way, where the sample cannot be converted or
/// lies outside the area of use of `from`, or where the operation may be off by more than `accept_error_m` (an unknown accuracy counts
/// as [`UNKNOWN_ACCURACY_M`]).
pub fn resolve(
    at: &str,
    from: &Crs,
    to: &Crs,
    sample_xy: (f64, f64),
    area: Option<[f64; 4]>,
    accept_error_m: f64,
) -> Result<Operation> {
    let mut operation = resolve_unchecked(at, from, to, Some(sample_xy), area)?;
    let range = InputRange::holding(at, from, sample_xy)?;
    operation.range = range.ok_or_else(|| misfit(at, &operation, sample_xy, PointProblem::OutsideArea))?;
    Projector::new(&operation)?
        .checked(sample_xy.0, sample_xy.1)
        .map_err(|problem| misfit(at, &operation, sample_xy, problem))?;
    check_accuracy(at, &operation, accept_error_m)?;
    Ok(operation)
}

/// The operation without a look at its accuracy, the sample's place or the range of the input.
///
/// On one datum there is one operation, wherever the sample lies. It is remembered: PROJ takes 10 ms to look it up, and a run asks for it
/// for each file of a CRS, and again for its area of use.
pub(super) fn resolve_unchecked(
    at: &str,
    from: &Crs,
    to: &Crs,
    sample_xy: Option<(f64, f64)>,
    area: Option<[f64; 4]>,
) -> Result<Operation> {
    static KNOWN: Mutex<BTreeMap<(String, String), Operation>> = Mutex::new(BTreeMap::new());
    let key = (without_order(&from.definition).to_string(), without_order(&to.definition).to_string());
    if let Some(known) = KNOWN.lock().ok().and_then(|known| known.get(&key).cloned()) {
        return Ok(Operation { from: from.name.clone(), to: to.name.clone(), area_of_use: from.area_of_use, ..known });
    }
    let operation = chosen(at, from, to, sample_xy, area)?;
    if operation.accuracy_m == Some(0.0)
        && let Ok(mut known) = KNOWN.lock()
    {
        known.insert(key, operation.clone());
    }
    Ok(operation)
}

/// PROJ's choice.
fn chosen(at: &str, from: &Crs, to: &Crs, sample_xy: Option<(f64, f64)>, area: Option<[f64; 4]>) -> Result<Operation> {
    let (input_unit_m, input_is_angle) = match usable(at, from)? {
        Some(unit_m) => (unit_m, false),
        None => (METRES_PER_DEGREE * GeographicBase::of(at, from)?.degrees_per_unit, true),
    };
    let output_scale = usable(at, to)?.unwrap_or(1.0);
    let chooser = between(at, &from.definition, &to.definition, area)?;
    let is_text = |text: &String| !text.is_empty() && !text.starts_with("unavailable");
    // Of several operations PROJ takes one for each point, and has no text before the first.
    let only_one = chooser.proj_info().definition.as_ref().is_some_and(is_text);
    if let Some((x, y)) = sample_xy {
        // PROJ settles on one of several operations, and knows its accuracy, only when it has converted a point.
        chooser.convert((x, y)).map_err(|error| {
            crs_error(
                at,
                format!("the point {x}, {y} cannot be converted from {} to {} ({error})", from.name, to.name),
                wrong_crs_hint(),
            )
        })?;
    }
    let info = chooser.proj_info();
    let name = info.description.unwrap_or_default();
    let pipeline = info.definition.filter(is_text).ok_or_else(|| {
        crs_error(at, format!("PROJ does not say how it goes from {} to {}", from.name, to.name), wrong_crs_hint())
    })?;
    let one_datum = GeographicBase::of(at, from)?.datum_key == GeographicBase::of(at, to)?.datum_key;
    let ballpark = name.to_lowercase().contains("ballpark") && !one_datum;
    let accuracy_m = if one_datum && !pipeline.contains("proj=cart") {
        Some(0.0)
    } else {
        Some(info.accuracy).filter(|metres| *metres >= 0.0 && !ballpark)
    };
    if accuracy_m == Some(0.0) && only_one {
        projector::keep(&pipeline, chooser);
    }
    Ok(Operation {
        from: from.name.clone(),
        to: to.name.clone(),
        pipeline,
        name: tidy(&name),
        accuracy_m,
        ballpark,
        area_of_use: from.area_of_use,
        range: InputRange::Any,
        input_scale: 1.0,
        output_scale,
        input_unit_m,
        input_is_angle,
    })
}

/// About the length of a degree along a meridian; only used to tell the size of a round trip.
pub(super) const METRES_PER_DEGREE: f64 = 111_320.0;

/// Metres per unit where projected, `None` where geographic.
fn usable(at: &str, crs: &Crs) -> Result<Option<f64>> {
    match crs.kind {
        CrsKind::Geographic => Ok(None),
        CrsKind::Projected { unit_m } if unit_m.is_finite() && unit_m > 0.0 => Ok(Some(unit_m)),
        CrsKind::Projected { unit_m } => Err(crs_error(
            at,
            format!("the CRS {} has a unit of {unit_m} m; expected a length", crs.name),
            wrong_crs_hint(),
        )),
        CrsKind::Other => Err(crs_error(
            at,
            format!(
                "the CRS {} is neither longitude and latitude nor a map projection; expected one of the two",
                crs.name
            ),
            wrong_crs_hint(),
        )),
    }
}

fn wrong_crs_hint() -> String {
    "check the CRS of the file, and state it where the file has it wrong: --trees-crs EPSG:... or --works-crs EPSG:..."
        .to_string()
}

/// PROJ's words without the axis swaps that do not matter here.
fn tidy(name: &str) -> String {
    let steps: Vec<&str> = name.split(" + ").filter(|step| !step.starts_with("axis order change")).collect();
    if steps.is_empty() { "no change".to_string() } else { steps.join(" + ") }
}

fn misfit(at: &str, operation: &Operation, (x, y): (f64, f64), problem: PointProblem) -> Error {
    let place = match (problem, operation.area_of_use) {
        (PointProblem::OutsideArea, Some([west, south, east, north])) => {
            format!("; expected a place between longitudes {west} and {east} and latitudes {south} and {north}")
        }
        _ => String::new(),
    };
    crs_error(at, format!("the point {x}, {y} does not fit {}: {problem}{place}", operation.from), wrong_crs_hint())
}

fn check_accuracy(at: &str, operation: &Operation, accept_error_m: f64) -> Result<()> {
    let may_be_off_m = operation.accuracy_m.unwrap_or(UNKNOWN_ACCURACY_M);
    if may_be_off_m <= accept_error_m {
        return Ok(());
    }
    let (from, to, name) = (&operation.from, &operation.to, &operation.name);
    let what = match operation.accuracy_m {
        Some(metres) => format!(
            "from {from} to {to} the only way at hand ({name}) may be off by {metres} m; expected at most {accept_error_m} m"
        ),
        None => format!(
            "from {from} to {to} the way at hand ({name}) has no stated accuracy; expected at most {accept_error_m} m"
        ),
    };
    let hint = match operation.accuracy_m {
        Some(metres) => format!(
            "bring the trees and the works to one datum with a tool that has its shift grids, or accept it: --accept-datum-error {metres}"
        ),
        None => format!(
            "state a CRS with a known datum (--trees-crs, --works-crs), or, where you know that the datums agree, --accept-datum-error {UNKNOWN_ACCURACY_M}"
        ),
    };
    Err(crs_error(at, what, hint))
}
