//! Where a CRS may be used, as a range of its own coordinates that every point can be held against cheaply.
//!
//! PROJ converts nonsense without an error (longitude 0 in UTM zone 10), so every point is held against the area of use that the CRS
//! states. Converting each point to degrees for that would double the work; the area is converted to coordinates once instead.
//!
//! # Source
//! Areas of use: the EPSG data set, as the CRS states them. The margin of 1 degree is the program's own decision: a city at the edge
//! of a zone is drawn in one zone throughout.

use super::geographic::DegreesOf;
use crate::error::Result;
use crate::model::crs::{Crs, CrsKind};

/// How far beyond the stated area of use a point is still taken, in degrees.
const MARGIN_DEG: f64 = 1.0;
/// Points along each side of the area of use that are converted to find its range.
const STEPS: u32 = 24;

/// The coordinates that a CRS allows.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum InputRange {
    /// Nothing is stated: any finite coordinates.
    Any,
    /// Degrees or other angles; `west` above `east` across the antimeridian.
    Angles {
        /// Western limit in the CRS's own unit and from its own meridian.
        west: f64,
        /// Southern limit.
        south: f64,
        /// Eastern limit.
        east: f64,
        /// Northern limit.
        north: f64,
    },
    /// Easting and northing in the CRS's own unit.
    Box {
        /// Lowest easting.
        min_x: f64,
        /// Lowest northing.
        min_y: f64,
        /// Highest easting.
        max_x: f64,
        /// Highest northing.
        max_y: f64,
    },
}

impl InputRange {
    /// The range of a CRS from its area of use, after an exact look at whether `sample` lies in that.
    ///
    /// `None` where it does not. The range itself is coarser for a projected CRS: the box around the area.
    ///
    /// # Errors
    /// `Error::Crs` where the CRS cannot be converted to longitude and latitude.
    pub(super) fn holding(at: &str, crs: &Crs, sample: (f64, f64)) -> Result<Option<InputRange>> {
        let range = match (crs.kind, crs.area_of_use) {
            (CrsKind::Geographic, area) => angles(at, crs, area)?,
            (_, None) => InputRange::Any,
            (_, Some(area)) => {
                let (degrees, area) = (DegreesOf::new(at, crs)?, widened(area, MARGIN_DEG));
                let within = degrees.degrees(sample.0, sample.1).is_some_and(|place| in_area(area, place.x, place.y));
                if !within {
                    return Ok(None);
                }
                box_around(&degrees, area)
            }
        };
        Ok(range.contains(sample.0, sample.1).then_some(range))
    }

    /// The same range in another unit: every number times `factor`.
    pub fn scaled(self, factor: f64) -> InputRange {
        match self {
            InputRange::Box { min_x, min_y, max_x, max_y } => InputRange::Box {
                min_x: min_x * factor,
                min_y: min_y * factor,
                max_x: max_x * factor,
                max_y: max_y * factor,
            },
            other => other,
        }
    }

    /// Whether a point in the CRS's own coordinates lies within.
    pub fn contains(&self, x: f64, y: f64) -> bool {
        match *self {
            InputRange::Any => true,
            InputRange::Angles { west, south, east, north } => in_area([west, south, east, north], x, y),
            InputRange::Box { min_x, min_y, max_x, max_y } => x >= min_x && x <= max_x && y >= min_y && y <= max_y,
        }
    }
}

/// Whether a place lies in west, south, east, north; west exceeds east across the antimeridian.
fn in_area([west, south, east, north]: [f64; 4], lon: f64, lat: f64) -> bool {
    let in_longitude = if west <= east { lon >= west && lon <= east } else { lon >= west || lon <= east };
    in_longitude && lat >= south && lat <= north
}

/// The area with a margin on each side, within the globe.
pub(super) fn widened([west, south, east, north]: [f64; 4], margin_deg: f64) -> [f64; 4] {
    let south = (south - margin_deg).max(-90.0);
    let north = (north + margin_deg).min(90.0);
    let width = if west <= east { east - west } else { east + 360.0 - west };
    if width + 2.0 * margin_deg >= 360.0 {
        return [-180.0, south, 180.0, north];
    }
    [
        super::geographic::wrap_longitude(west - margin_deg),
        south,
        super::geographic::wrap_longitude(east + margin_deg),
        north,
    ]
}

fn angles(at: &str, crs: &Crs, area: Option<[f64; 4]>) -> Result<InputRange> {
    let base = super::geographic::GeographicBase::of(at, crs)?;
    let [west, south, east, north] = area.map_or([-180.0, -90.0, 180.0, 90.0], |area| widened(area, MARGIN_DEG));
    let (low, high) = (base.of_degrees(west, south), base.of_degrees(east, north));
    let (west, east) = if [west, east] == [-180.0, 180.0] {
        // The whole globe, from whatever meridian.
        (-180.0 / base.degrees_per_unit, 180.0 / base.degrees_per_unit)
    } else {
        (low.x, high.x)
    };
    Ok(InputRange::Angles { west, south: low.y, east, north: high.y })
}

/// The box around the area's outline and inner grid; points that the projection cannot take are passed over.
fn box_around(degrees: &DegreesOf, [west, south, east, north]: [f64; 4]) -> InputRange {
    let east = if west <= east { east } else { east + 360.0 };
    let (mut min_x, mut min_y, mut max_x, mut max_y) =
        (f64::INFINITY, f64::INFINITY, f64::NEG_INFINITY, f64::NEG_INFINITY);
    for column in 0..=STEPS {
        for row in 0..=STEPS {
            let lon_deg = west + (east - west) * f64::from(column) / f64::from(STEPS);
            let lat_deg = south + (north - south) * f64::from(row) / f64::from(STEPS);
            if let Some(place) = degrees.coordinates(lon_deg, lat_deg) {
                (min_x, max_x) = (min_x.min(place.x), max_x.max(place.x));
                (min_y, max_y) = (min_y.min(place.y), max_y.max(place.y));
            }
        }
    }
    let found = min_x < max_x && min_y < max_y;
    if found { InputRange::Box { min_x, min_y, max_x, max_y } } else { InputRange::Any }
}
