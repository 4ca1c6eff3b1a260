//! Picks the CRS in which everything is measured, or checks the one that was asked for.
//!
//! By default an ellipsoidal Lambert azimuthal equal-area projection on the works' own datum, centred on the works: areas are true
//! everywhere, and lengths within 180 km of the centre are true to 1e-4. It must not look at trees.
//!
//! # Source
//! Lambert Azimuthal Equal Area: EPSG coordinate operation method 9820. Its scale at an angle c from the centre is cos(c/2) along the
//! ray and 1/cos(c/2) across it, which is 1e-4 from 1 at c = 0.0283 (180 km); derived from the sphere, checked against geodesics.

use super::geographic::{GeographicBase, distance_km, wrap_longitude};
use super::operation::resolve_unchecked;
use super::{Projector, crs_error};
use crate::error::Result;
use crate::model::crs::{Crs, CrsKind};
use serde_json::json;

/// How far lengths and areas may be off, as a share: the contract's 1 part in 10,000.
const LIMIT: f64 = 1e-4;
/// How far from the centre the default measuring CRS keeps lengths true to [`LIMIT`], in kilometres, less 1 % for the sphere.
const TRUE_WITHIN_KM: f64 = 178.0;

/// The CRS in which everything is measured.
#[derive(Debug, Clone, PartialEq)]
pub struct MeasuringCrs {
    /// Its definition. Where its unit is not the metre, [`Projector`] turns its output into metres.
    pub crs: Crs,
    /// Longitude and latitude of its centre in degrees, where the program made it.
    pub centre: Option<(f64, f64)>,
}

impl MeasuringCrs {
    /// Metres per unit of the CRS.
    pub fn unit_m(&self) -> f64 {
        match self.crs.kind {
            CrsKind::Projected { unit_m } => unit_m,
            _ => 1.0,
        }
    }
}

/// How far a CRS is off at its worst within an extent, as shares (0.0004 = 4 parts in 10,000).
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Distortion {
    /// A length on the map over the length on the ground, less 1, where that is farthest from 0.
    pub length: f64,
    /// An area on the map over the area on the ground, less 1, where that is farthest from 0.
    pub area: f64,
}

/// The default measuring CRS for works within an extent (west, south, east, north in degrees; west above east across the antimeridian).
///
/// # Errors
/// `Error::Crs` where the works' CRS has no usable datum, where the extent is not one, or where it reaches farther than lengths stay
/// true to 1 part in 10,000.
pub fn measuring_crs(works_crs: &Crs, extent_lonlat: [f64; 4]) -> Result<MeasuringCrs> {
    let [west, south, east, north] = extent_lonlat;
    let sound =
        extent_lonlat.iter().all(|value| value.is_finite()) && south <= north && south >= -90.0 && north <= 90.0;
    if !sound {
        let what = format!(
            "the works lie within {west}, {south}, {east}, {north}; expected degrees of longitude and latitude"
        );
        return Err(crs_error("the works", what, "check the CRS of the works: --works-crs EPSG:..."));
    }
    let width = if west <= east { east - west } else { east + 360.0 - west };
    // At a pole every longitude will do; half the width stays harmless.
    let lon_deg = wrap_longitude(rounded(wrap_longitude(west + width / 2.0)));
    let lat_deg = rounded((south + north) / 2.0).clamp(-90.0, 90.0);
    check_reach((lon_deg, lat_deg), extent_lonlat)?;
    let crs = equal_area_at("the works", works_crs, lon_deg, lat_deg)?;
    Ok(MeasuringCrs { crs, centre: Some((lon_deg, lat_deg)) })
}

/// To 0.1 degree, and never -0.
fn rounded(degrees: f64) -> f64 {
    (degrees * 10.0).round() / 10.0 + 0.0
}

fn check_reach(centre: (f64, f64), [west, south, east, north]: [f64; 4]) -> Result<()> {
    let corners = [(west, south), (east, south), (west, north), (east, north)];
    let reach_km = corners.iter().map(|&corner| distance_km(corner, centre)).fold(0.0, f64::max);
    if reach_km <= TRUE_WITHIN_KM {
        return Ok(());
    }
    let what = format!(
        "the works reach {reach_km:.0} km from their middle (longitude {west} to {east}, latitude {south} to {north}); expected one city, \
         at most {TRUE_WITHIN_KM:.0} km, where one plane keeps lengths true to 1 part in 10,000"
    );
    Err(crs_error("the works", what, "screen one city at a time, or look for a stray work: rootward inspect FILE"))
}

/// An equal-area CRS in metres on the datum of another, centred anywhere.
fn equal_area_at(at: &str, on: &Crs, lon_deg: f64, lat_deg: f64) -> Result<Crs> {
    let base = GeographicBase::of(at, on)?;
    let name = format!("Lambert azimuthal equal-area at {} on {}", place_name(lon_deg, lat_deg), base.name);
    let degree = |name: &str, value: f64, code: u32| json!({"name": name, "value": value, "unit": "degree", "id": {"authority": "EPSG", "code": code}});
    let metre = |name: &str, code: u32| json!({"name": name, "value": 0, "unit": "metre", "id": {"authority": "EPSG", "code": code}});
    let definition = json!({
        "type": "ProjectedCRS",
        "name": name,
        "base_crs": base.json,
        "conversion": {
            "name": name,
            "method": {"name": "Lambert Azimuthal Equal Area", "id": {"authority": "EPSG", "code": 9820}},
            "parameters": [
                degree("Latitude of natural origin", lat_deg, 8801),
                // A base that counts from Paris has its projections count from there too.
                degree("Longitude of natural origin", wrap_longitude(lon_deg - base.meridian_deg), 8802),
                metre("False easting", 8806),
                metre("False northing", 8807),
            ],
        },
        "coordinate_system": {"subtype": "Cartesian", "axis": [
            {"name": "Easting", "abbreviation": "E", "direction": "east", "unit": "metre"},
            {"name": "Northing", "abbreviation": "N", "direction": "north", "unit": "metre"},
        ]},
    });
    Ok(Crs {
        definition: definition.to_string(),
        name,
        authority: None,
        kind: CrsKind::Projected { unit_m: 1.0 },
        geographic_base: base.json.to_string(),
        area_of_use: None,
        origin: "chosen from the works".to_string(),
    })
}

/// `13.4 E 52.5 N`.
fn place_name(lon_deg: f64, lat_deg: f64) -> String {
    let (east, north) = (if lon_deg < 0.0 { "W" } else { "E" }, if lat_deg < 0.0 { "S" } else { "N" });
    format!("{} {east} {} {north}", lon_deg.abs(), lat_deg.abs())
}

/// Checks that a CRS asked for with `--measure-crs` keeps lengths and areas true to 1 part in 10,000 over the works' extent.
///
/// Held against the equal-area plane at the middle and the four corners of the extent, where that plane is true.
///
/// # Errors
/// `Error::Crs` where the CRS is not projected, does not reach the works, or is off by more.
pub fn check_measure_crs(given: &Crs, extent_lonlat: [f64; 4]) -> Result<Distortion> {
    const AT: &str = "--measure-crs";
    if !matches!(given.kind, CrsKind::Projected { .. }) {
        let what = format!(
            "{} is not a map projection; expected one, since lengths cannot be measured in degrees",
            given.name
        );
        return Err(crs_error(AT, what, LEAVE_OUT));
    }
    let [west, south, east, north] = extent_lonlat;
    let east_on = if west <= east { east } else { east + 360.0 };
    let middle = ((west + east_on) / 2.0, (south + north) / 2.0);
    let mut worst = Distortion { length: 0.0, area: 0.0 };
    for (lon, lat) in [middle, (west, south), (east, south), (west, north), (east, north)] {
        let here = distortion_at(AT, given, wrap_longitude(lon), lat)?;
        worst.length = farther(worst.length, here.length);
        worst.area = farther(worst.area, here.area);
    }
    if worst.length.abs() <= LIMIT && worst.area.abs() <= LIMIT {
        return Ok(worst);
    }
    let what = format!(
        "{} makes lengths {} and areas {} at the works; expected true to 0.0100 % (1 part in 10,000)",
        given.name,
        off(worst.length),
        off(worst.area)
    );
    Err(crs_error(AT, what, LEAVE_OUT))
}

const LEAVE_OUT: &str = "leave --measure-crs out: the program then takes an equal-area projection centred on the works";

fn farther(one: f64, other: f64) -> f64 {
    if other.abs() > one.abs() { other } else { one }
}

fn off(share: f64) -> String {
    format!("{:.4} % too {}", share.abs() * 100.0, if share < 0.0 { "small" } else { "large" })
}

/// Scale of a CRS at a place, from the images of two short crossing lines of the equal-area plane centred there.
fn distortion_at(at: &str, given: &Crs, lon_deg: f64, lat_deg: f64) -> Result<Distortion> {
    const HALF_M: f64 = 50.0;
    let plane = equal_area_at(at, given, lon_deg, lat_deg)?;
    let projector = Projector::new(&resolve_unchecked(at, &plane, given, None, None)?)?;
    let image = |x: f64, y: f64| {
        projector.forward(x, y).map_err(|problem| {
            crs_error(
                at,
                format!("{} does not reach the works at {}: {problem}", given.name, place_name(lon_deg, lat_deg)),
                LEAVE_OUT,
            )
        })
    };
    let column = |dx: f64, dy: f64| -> Result<(f64, f64)> {
        let (ahead, behind) = (image(dx, dy)?, image(-dx, -dy)?);
        Ok(((ahead.x - behind.x) / (2.0 * HALF_M), (ahead.y - behind.y) / (2.0 * HALF_M)))
    };
    let (a, c) = column(HALF_M, 0.0)?;
    let (b, d) = column(0.0, HALF_M)?;
    // Singular values of the 2 x 2 matrix of derivatives are the largest and smallest scale in any direction.
    let (sum, difference) = (((a + d).hypot(c - b)) / 2.0, ((a - d).hypot(c + b)) / 2.0);
    let (largest, smallest) = (sum + difference, (sum - difference).abs());
    Ok(Distortion { length: farther(largest - 1.0, smallest - 1.0), area: (a * d - b * c).abs() - 1.0 })
}
