//! The plane that everything is measured in, and the operations that lead into it and out of it.

use super::extent::{corners, middle_first};
use crate::error::Result;
use crate::model::crs::{Crs, CrsKind};
use crate::projection::{
    DEFAULT_DATUM_ERROR_M, MeasuringCrs, Operation, Projector, ToWgs84, check_measure_crs, extent_lonlat,
    measuring_crs, resolve, wgs84,
};
use crate::read::crs::describe_crs;
use crate::settings::ReadingChoices;
use geo::{Coord, Rect};

/// Places of a file at which its operation is tried before the file is refused.
const PLACES_TRIED: usize = 5;

/// The measuring CRS and the way back to longitude and latitude.
pub(super) struct Frame {
    /// The plane; coordinates in it are metres.
    pub measuring: MeasuringCrs,
    /// From the plane to WGS 84.
    pub to_wgs84: Operation,
    /// Centre of the works, longitude and latitude in degrees.
    pub centre_lonlat: (f64, f64),
    area: [f64; 4],
    accept_error_m: f64,
}

/// Where the works of one file lie.
pub(super) struct FileExtent<'a> {
    pub at: String,
    pub crs: &'a Crs,
    /// In the file's own CRS, longitudes unwrapped.
    pub rect: Rect<f64>,
}

impl Frame {
    /// Chooses the plane from the extents of the works; the first file's datum is kept.
    pub(super) fn choose(files: &[FileExtent<'_>], choices: &ReadingChoices) -> Result<Frame> {
        let accept_error_m = choices.accept_datum_error_m.unwrap_or(DEFAULT_DATUM_ERROR_M);
        let area = area_lonlat(files)?;
        let measuring = match &choices.measure_crs {
            Some(typed) => {
                let given = describe_crs(typed, "--measure-crs")?;
                check_measure_crs(&given, area)?;
                MeasuringCrs { crs: given, centre: None }
            }
            None => measuring_crs(files[0].crs, area)?,
        };
        let middle = within_turn(files[0].rect.center(), files[0].crs);
        let into = resolve(&files[0].at, files[0].crs, &measuring.crs, middle.x_y(), Some(area), accept_error_m)?;
        let plane = Projector::new(&into)?.forward(middle.x, middle.y).map_err(|problem| crate::error::Error::Crs {
            at: files[0].at.clone(),
            what: format!("the middle of the works, {} {}, is {problem}", middle.x, middle.y),
            hint: "check --works-crs".to_string(),
        })?;
        let to_wgs84 = ToWgs84::resolve(&measuring, plane.x_y(), Some(area), accept_error_m)?;
        let centre_lonlat = centre(area);
        Ok(Frame { measuring, to_wgs84, centre_lonlat, area, accept_error_m })
    }

    /// The operation from a file's CRS into the plane, settled at one of its places; `None` where there is none.
    ///
    /// Places in the middle are tried first, a few more where they fail: one bad record must not stop a whole file.
    pub(super) fn operation(&self, at: &str, crs: &Crs, places: Vec<Coord<f64>>) -> Result<Option<Operation>> {
        let mut first_error = None;
        for place in middle_first(places, PLACES_TRIED) {
            let place = within_turn(place, crs);
            match resolve(at, crs, &self.measuring.crs, place.x_y(), Some(self.area), self.accept_error_m) {
                Ok(operation) => return Ok(Some(operation)),
                Err(error) => first_error = first_error.or(Some(error)),
            }
        }
        first_error.map_or(Ok(None), Err)
    }
}

/// West, south, east, north around all files' works, degrees.
fn area_lonlat(files: &[FileExtent<'_>]) -> Result<[f64; 4]> {
    let mut ends = Vec::new();
    for file in files {
        let points = corners(file.rect).map(|corner| within_turn(corner, file.crs));
        let [west, south, east, north] = extent_lonlat(&file.at, file.crs, points)?;
        ends.extend([Coord { x: west, y: south }, Coord { x: east, y: north }]);
    }
    match ends.len() {
        2 => Ok([ends[0].x, ends[0].y, ends[1].x, ends[1].y]),
        _ => extent_lonlat("the works", &wgs84(), ends),
    }
}

fn centre([west, south, east, north]: [f64; 4]) -> (f64, f64) {
    let east = if west <= east { east } else { east + 360.0 };
    let longitude = (west + east) / 2.0;
    (if longitude > 180.0 { longitude - 360.0 } else { longitude }, (south + north) / 2.0)
}

/// Longitudes that were unwrapped for an extent, brought back to -180 to 180.
fn within_turn(place: Coord<f64>, crs: &Crs) -> Coord<f64> {
    match crs.kind {
        CrsKind::Geographic if place.x.abs() > 180.0 => {
            Coord { x: place.x - 360.0 * (place.x / 360.0).round(), y: place.y }
        }
        _ => place,
    }
}
