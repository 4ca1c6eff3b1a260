//! Turns coordinates of one CRS into those of another, and says how far that can be trusted.
//!
//! The only module that uses PROJ. It picks the measuring CRS ([`measuring_crs`]), settles once which operation leads from a file's
//! CRS to it ([`resolve`]), hands every worker its own copy of that operation ([`Projector`]), and brings results back to longitude
//! and latitude ([`ToWgs84`]). Where a file states no CRS it lists what it could be ([`candidates`]). It must not guess a CRS, read a
//! file or touch the network.
//!
//! Coordinates go in and out as x, y = easting, northing or longitude, latitude, whatever the order in the definition of the CRS.
//! Heights are not used: a datum shift is made at height 0 on the ellipsoid.
//!
//! Only vertices are converted. An edge that is straight in the file's CRS is taken as straight in the measuring CRS; over an edge of
//! 1 km between a transverse Mercator grid and the measuring CRS the two differ by millimetres, over long edges in longitude and
//! latitude by more (1 km at latitude 60: 3 cm; it grows with the square of the length).
//!
//! # Source
//! Numbers come from PROJ and its copy of the EPSG data set. Limits stated here (1 mm, 5 m, 1e-4) are the program's own decisions.

mod candidates;
mod geographic;
mod measuring;
mod operation;
mod patch;
mod projector;
mod range;
mod sound;

pub use candidates::{Candidate, candidates};
pub use geographic::{extent_lonlat, wgs84};
pub use measuring::{Distortion, MeasuringCrs, check_measure_crs, measuring_crs};
pub use operation::{DEFAULT_DATUM_ERROR_M, Operation, UNKNOWN_ACCURACY_M, resolve};
pub use projector::{PointProblem, Projector, ROUND_TRIP_LIMIT_M, ToWgs84};
pub use range::InputRange;

use crate::error::{Error, Result};
use proj::{Area, Proj, ProjBuilder};

/// The version of the PROJ library that is loaded, e.g. `9.1.1`; `unknown` where it does not say.
pub fn proj_version() -> String {
    ProjBuilder::new()
        .lib_info()
        .map_or_else(|_| "unknown".to_string(), |info| format!("{}.{}.{}", info.major, info.minor, info.patch))
}

/// Stops where the environment has switched PROJ's network access on: it would fetch grids in the middle of a run.
fn refuse_network(at: &str) -> Result<()> {
    if ProjBuilder::new().network_enabled() {
        return Err(crs_error(
            at,
            "PROJ is set up to fetch grids over the network; this program works without it",
            "unset the environment variable PROJ_NETWORK, or set `network = off` in proj.ini",
        ));
    }
    Ok(())
}

/// What is added on each side to the area of interest that PROJ is told, in degrees.
const AREA_MARGIN_DEG: f64 = 0.1;

/// PROJ's operation between two CRS definitions, longitude or easting first on both sides.
fn between(at: &str, from: &str, to: &str, area: Option<[f64; 4]>) -> Result<Proj> {
    refuse_network(at)?;
    let (from, to) = (without_order(from), without_order(to));
    // Measured: an area without any width makes PROJ 9.1.1 pass over operations whose area crosses the antimeridian (New Zealand).
    let area = area
        .map(|area| range::widened(area, AREA_MARGIN_DEG))
        .map(|[west, south, east, north]| Area::new(west, south, east, north));
    // The binding panics where PROJ fails without a reason, and reads as "no change" where PROJ returns nothing at all.
    let made = std::panic::catch_unwind(|| Proj::new_known_crs(from, to, area).map_err(|error| error.to_string()))
        .unwrap_or_else(|_| Err("PROJ gives no reason".to_string()));
    match made {
        Ok(operation) if operation.proj_info().description.is_some() => Ok(operation),
        Ok(_) => Err(no_way(at, from, to, "PROJ finds no operation")),
        Err(reason) => Err(no_way(at, from, to, &reason)),
    }
}

/// OGC:CRS84 differs from EPSG:4326 in the order of axes alone, which does not matter here; but PROJ 9.1.1 looks for operations among other
/// authorities for it, and then takes one way for trees and another for results.
fn without_order(definition: &str) -> &str {
    if definition == "OGC:CRS84" { "EPSG:4326" } else { definition }
}

fn no_way(at: &str, from: &str, to: &str, reason: &str) -> Error {
    let unknown = [from, to]
        .into_iter()
        .find(|definition| std::panic::catch_unwind(|| Proj::new(definition).is_err()).unwrap_or(true));
    let what = match unknown {
        Some(definition) => {
            format!("PROJ does not know the CRS {}; expected a code, WKT or PROJJSON", brief(definition))
        }
        None => format!(
            "no way from {} to {} ({reason}); expected two CRSs that PROJ can bring together",
            brief(from),
            brief(to)
        ),
    };
    crs_error(at, what, "name the CRS by its code, e.g. --trees-crs EPSG:26910 or --works-crs EPSG:26910")
}

/// The first words of a definition that may be a page of WKT or PROJJSON.
fn brief(definition: &str) -> String {
    let line = definition.split_whitespace().collect::<Vec<_>>().join(" ");
    if line.chars().count() <= 60 { line } else { line.chars().take(57).chain("...".chars()).collect() }
}

fn crs_error(at: &str, what: impl Into<String>, hint: impl Into<String>) -> Error {
    Error::Crs { at: at.to_string(), what: what.into(), hint: hint.into() }
}
