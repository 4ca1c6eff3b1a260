//! Columns -> how a record's place or geometry is found, and the place itself, in the file's own CRS, x or longitude first.
//!
//! Does not project: whether a place makes sense in its CRS is checked where it is projected.

use super::column_names::{LATITUDE, LONGITUDE, RoleNames, TREE_ROLES};
use super::columns::{Columns, match_name, percent};
use super::geometry_cell::{CellForm, parse_geometry_cell, parse_two_numbers};
use super::number::{column_uses_decimal_comma, parse_number};
use crate::error::{Error, Result};
use crate::issue::{Issue, Outcome};
use crate::model::record::RawRecord;
use crate::model::source::SourceRef;
use geo::{Coord, Geometry};
use std::borrow::Cow;

/// Why a record has no usable place.
#[derive(Debug, Clone, PartialEq)]
pub struct PlaceProblem {
    /// The issue's code: `no-place`, `bad-coordinate`, `wrong-geometry` or `empty-geometry`.
    pub code: &'static str,
    /// What was found.
    pub detail: String,
}

impl PlaceProblem {
    fn new(code: &'static str, detail: impl Into<String>) -> PlaceProblem {
        PlaceProblem { code, detail: detail.into() }
    }

    /// The issue that sets the record aside.
    pub fn issue(self, source: SourceRef, id: &str) -> Issue {
        Issue::new(source, id, self.code, Outcome::SetAside, self.detail)
    }
}

/// Where the place stands.
#[derive(Debug, Clone, PartialEq)]
pub enum PlaceForm {
    /// In the record's own geometry.
    Record,
    /// In two columns.
    Axes {
        /// Column of longitude or easting.
        x: usize,
        /// Column of latitude or northing.
        y: usize,
        /// Decimal comma in x.
        x_comma: bool,
        /// Decimal comma in y.
        y_comma: bool,
    },
    /// WKT, hex WKB or GeoJSON in a column.
    Cell(usize),
    /// Two numbers in one column.
    Pair {
        /// The column.
        column: usize,
        /// The second number is the longitude.
        latitude_first: bool,
    },
    /// Nowhere (works without a geometry are set aside one by one).
    None,
}

/// How a file's places are found.
#[derive(Debug, Clone, PartialEq)]
pub struct PlacePlan {
    /// Where.
    pub form: PlaceForm,
    /// Longitude and latitude by name and by range.
    pub lonlat: bool,
    /// The EPSG number that the cells state, where all that state one agree.
    pub srid: Option<u32>,
}

/// No coordinate on Earth is as large: with the number of its zone in front an easting reaches 6e7 m, or 2e8 ft. A choice of the program.
const LARGEST_COORDINATE: f64 = 1e9;

/// Share of the rows that must lie within the degrees: a few bad rows in a small file must not hide what it is.
const DEGREES_SHARE: f64 = 0.8;

/// Decides where places stand: what was typed, the record's geometry, longitude and latitude, a geometry cell, a pair, easting and northing.
///
/// # Errors
/// `Input` where columns named latitude and longitude hold swapped values, and where the cells of a file state different SRIDs.
pub fn decide_place(
    at: &str,
    flag: &str,
    columns: &mut Columns,
    sample: &[RawRecord],
    has_geometry: bool,
) -> Result<PlacePlan> {
    let typed = columns.is_typed("x") || columns.is_typed("y") || columns.is_typed("place");
    if has_geometry && !typed {
        for role in ["x", "y", "place"] {
            columns.drop_column(role, "the records have a geometry of their own, and that is used");
        }
        return Ok(PlacePlan { form: PlaceForm::Record, lonlat: false, srid: None });
    }
    let axes = columns.column("x").zip(columns.column("y"));
    let axes_plan = match axes {
        Some((x, y)) => Some(decide_axes(at, flag, columns, sample, x, y)?),
        None => None,
    };
    let cell = columns.column("place");
    let prefer_axes = !columns.is_typed("place")
        && (columns.is_typed("x") || axes_plan.as_ref().is_some_and(|plan| plan.lonlat) || cell.is_none());
    if let (true, Some(plan)) = (prefer_axes, &axes_plan) {
        if cell.is_some() {
            columns.drop_column("place", "the columns for x and y are used");
        }
        return Ok(plan.clone());
    }
    if let Some(column) = cell {
        if axes_plan.is_some() {
            columns.drop_column("x", "the column for place is used");
            columns.drop_column("y", "the column for place is used");
        }
        return decide_cell(at, columns, sample, column);
    }
    let form = if has_geometry { PlaceForm::Record } else { PlaceForm::None };
    Ok(PlacePlan { form, lonlat: false, srid: None })
}

fn decide_axes(
    at: &str,
    flag: &str,
    columns: &mut Columns,
    sample: &[RawRecord],
    x: usize,
    y: usize,
) -> Result<PlacePlan> {
    let cells = |column: usize| sample.iter().map(move |record| record.cell(column));
    let (x_comma, y_comma) = (column_uses_decimal_comma(cells(x)), column_uses_decimal_comma(cells(y)));
    let numbers = |column: usize, comma: bool| -> Vec<f64> {
        cells(column).filter_map(|cell| parse_number(cell, comma)).filter(|number| *number != 0.0).collect()
    };
    let (xs, ys) = (numbers(x, x_comma), numbers(y, y_comma));
    let (x_name, y_name) = (columns.name("x").to_string(), columns.name("y").to_string());
    let named = |name: &str, names| is_named(name, names);
    let straight = named(&x_name, LONGITUDE) && named(&y_name, LATITUDE);
    // Crossed on purpose, after the error below told the user to.
    let crossed = columns.is_typed("x") && named(&x_name, LATITUDE) && named(&y_name, LONGITUDE);
    let share = |values: &[f64], limit: f64| within(values, limit);
    let in_range = !xs.is_empty() && share(&xs, 180.0) >= DEGREES_SHARE && share(&ys, 90.0) >= DEGREES_SHARE;
    if straight
        && !xs.is_empty()
        && share(&xs, 180.0) >= DEGREES_SHARE
        && share(&ys, 180.0) >= DEGREES_SHARE
        && share(&ys, 90.0) < 0.5
    {
        return Err(Error::input(
            at,
            format!(
                "latitude and longitude are swapped: `{y_name}` holds {}, got {} of its values beyond 90 degrees; latitudes lie between -90 and 90",
                ys.first().copied().unwrap_or_default(),
                percent(1.0 - share(&ys, 90.0)),
            ),
            format!("{flag} x={y_name},y={x_name}"),
        ));
    }
    let lonlat = in_range && (straight || crossed);
    let why = if lonlat {
        "longitude and latitude by name and by range"
    } else if straight {
        "named longitude and latitude, but the values are no degrees: taken as plain x and y"
    } else {
        "a pair of plain x and y"
    };
    columns.add_why("x", why);
    columns.add_why("y", why);
    Ok(PlacePlan { form: PlaceForm::Axes { x, y, x_comma, y_comma }, lonlat, srid: None })
}

fn within(values: &[f64], limit: f64) -> f64 {
    if values.is_empty() {
        0.0
    } else {
        values.iter().filter(|value| value.abs() <= limit).count() as f64 / values.len() as f64
    }
}

fn is_named(name: &str, names: &'static [&'static str]) -> bool {
    let rule = TREE_ROLES.iter().find(|rule| rule.role == "x").expect("the table has an x");
    match_name(name, &RoleNames { names, ..*rule }).is_some()
}

fn decide_cell(at: &str, columns: &mut Columns, sample: &[RawRecord], column: usize) -> Result<PlacePlan> {
    let filled: Vec<&str> =
        sample.iter().map(|record| record.cell(column)).filter(|cell| !cell.trim().is_empty()).collect();
    let geometries: Vec<_> = filled.iter().filter_map(|cell| parse_geometry_cell(cell)).collect();
    if !geometries.is_empty() || filled.is_empty() {
        let mut srids: Vec<u32> = geometries.iter().filter_map(|cell| cell.srid).collect();
        srids.sort_unstable();
        srids.dedup();
        if srids.len() > 1 {
            return Err(Error::input(
                at,
                format!(
                    "column `{}` mixes coordinate systems, got SRID {srids:?}; expected one for the file",
                    columns.name("place")
                ),
                "divide the file by SRID and give the parts as several files",
            ));
        }
        let lonlat = geometries.iter().all(|cell| cell.form == CellForm::GeoJson) && !geometries.is_empty();
        columns.add_why("place", "a geometry in each cell");
        return Ok(PlacePlan { form: PlaceForm::Cell(column), lonlat, srid: srids.first().copied() });
    }
    let pairs: Vec<(f64, f64)> = filled.iter().filter_map(|cell| parse_two_numbers(cell)).collect();
    let name = columns.name("place").to_lowercase().replace(['_', ' ', '-'], "");
    let (firsts, seconds): (Vec<f64>, Vec<f64>) = pairs.into_iter().unzip();
    let first_is_longitude =
        within(&firsts, 90.0) < DEGREES_SHARE || name.starts_with("lonlat") || name.starts_with("longlat");
    let lonlat = within(&firsts, 180.0) >= DEGREES_SHARE
        && within(&seconds, 180.0) >= DEGREES_SHARE
        && (within(&firsts, 90.0) >= DEGREES_SHARE || within(&seconds, 90.0) >= DEGREES_SHARE);
    let latitude_first = lonlat && !first_is_longitude;
    columns.add_why(
        "place",
        match (lonlat, latitude_first) {
            (true, true) => "two numbers in degrees, latitude first",
            (true, false) => "two numbers in degrees, longitude first",
            (false, _) => "two numbers that are no degrees, x first",
        },
    );
    Ok(PlacePlan { form: PlaceForm::Pair { column, latitude_first }, lonlat, srid: None })
}

impl PlacePlan {
    /// The geometry of a record; `None` where it has none, or one that cannot be read.
    pub fn geometry<'a>(&self, record: &'a RawRecord) -> Option<Cow<'a, Geometry<f64>>> {
        match self.form {
            PlaceForm::Record => record.geometry.as_ref().map(Cow::Borrowed),
            PlaceForm::Cell(column) => parse_geometry_cell(record.cell(column)).map(|cell| Cow::Owned(cell.geometry)),
            PlaceForm::None => None,
            _ => self.point(record).ok().map(|place| Cow::Owned(Geometry::Point(place.into()))),
        }
    }

    /// The one point of a record, in the file's CRS, x or longitude first.
    ///
    /// # Errors
    /// `no-place` for empty cells and for 0, 0; `bad-coordinate` for what is no finite number; `empty-geometry` and
    /// `wrong-geometry` for geometries that are not one point.
    pub fn point(&self, record: &RawRecord) -> std::result::Result<Coord<f64>, PlaceProblem> {
        let place = match self.form {
            PlaceForm::Record => match &record.geometry {
                Some(geometry) => one_point(geometry)?,
                None => return Err(PlaceProblem::new("no-place", "the record has no geometry")),
            },
            PlaceForm::Axes { x, y, x_comma, y_comma } => {
                Coord { x: axis(record.cell(x), x_comma)?, y: axis(record.cell(y), y_comma)? }
            }
            PlaceForm::Cell(column) => cell_point(record.cell(column))?,
            PlaceForm::Pair { column, latitude_first } => {
                let cell = record.cell(column);
                let (first, second) = parse_two_numbers(cell).ok_or_else(|| not_readable(cell))?;
                if latitude_first { Coord { x: second, y: first } } else { Coord { x: first, y: second } }
            }
            PlaceForm::None => return Err(PlaceProblem::new("no-place", "the file has no column for a place")),
        };
        if !(place.x.is_finite() && place.y.is_finite()) {
            return Err(PlaceProblem::new(
                "bad-coordinate",
                format!("coordinates {}, {} are not finite", place.x, place.y),
            ));
        }
        if place.x.abs() >= LARGEST_COORDINATE || place.y.abs() >= LARGEST_COORDINATE {
            let detail = format!("coordinates {}, {} lie on no map, in any unit", place.x, place.y);
            return Err(PlaceProblem::new("bad-coordinate", detail));
        }
        if place.x == 0.0 && place.y == 0.0 {
            return Err(PlaceProblem::new("no-place", "coordinates 0, 0 stand for `not known`"));
        }
        Ok(place)
    }
}

fn not_readable(cell: &str) -> PlaceProblem {
    let cell = cell.trim();
    if cell.is_empty() {
        return PlaceProblem::new("no-place", "the cell for the place is empty");
    }
    let shown: String = cell.chars().take(60).collect();
    PlaceProblem::new("bad-coordinate", format!("`{shown}` is not a place"))
}

fn axis(cell: &str, comma: bool) -> std::result::Result<f64, PlaceProblem> {
    parse_number(cell, comma).ok_or_else(|| {
        let empty = matches!(cell.trim().to_lowercase().as_str(), "" | "-" | "na" | "n/a" | "null" | "none" | "nan");
        if empty { PlaceProblem::new("no-place", "a coordinate is empty") } else { not_readable(cell) }
    })
}

fn cell_point(cell: &str) -> std::result::Result<Coord<f64>, PlaceProblem> {
    match parse_geometry_cell(cell) {
        Some(found) => one_point(&found.geometry),
        None => match parse_two_numbers(cell) {
            // A pair among geometries has no sure order.
            Some(_) => Err(PlaceProblem::new("bad-coordinate", "a pair of numbers in a column of geometries")),
            None => Err(not_readable(cell)),
        },
    }
}

fn one_point(geometry: &Geometry<f64>) -> std::result::Result<Coord<f64>, PlaceProblem> {
    let wrong = |what: &str| Err(PlaceProblem::new("wrong-geometry", format!("{what}; a tree is one point")));
    match geometry {
        // An empty point is written as NaN NaN in WKB.
        Geometry::Point(point) if point.x().is_nan() && point.y().is_nan() => {
            Err(PlaceProblem::new("empty-geometry", "the point is empty"))
        }
        Geometry::Point(point) => Ok(point.0),
        Geometry::MultiPoint(points) => match &points.0[..] {
            [] => Err(PlaceProblem::new("empty-geometry", "the multipoint is empty")),
            [point] => Ok(point.0),
            many => wrong(&format!("a multipoint of {}", many.len())),
        },
        Geometry::GeometryCollection(parts) => match &parts.0[..] {
            [] => Err(PlaceProblem::new("empty-geometry", "the collection is empty")),
            [part] => one_point(part),
            many => wrong(&format!("a collection of {}", many.len())),
        },
        Geometry::Line(_) | Geometry::LineString(_) | Geometry::MultiLineString(_) => wrong("a line"),
        _ => wrong("a polygon"),
    }
}

#[cfg(test)]
#[path = "place_tests.rs"]
mod tests;
