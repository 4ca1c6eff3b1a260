//! Shapes -> places in longitude and latitude, and with properties features of a GeoJSON collection after RFC 7946, one a line.
//!
//! WGS 84, longitude first, 7 decimals, shells counter-clockwise, no `crs`.

use super::antimeridian::{cut_line, push_cut};
use super::cells::{Cell, LayerColumn};
use super::folds::unfolded;
use super::number::{push_fixed, push_whole};
use super::position::{Position, Rings, position, positions, push_position, push_rings, rings};
use crate::error::{Error, Result};
use geo::{Coord, LineString, MultiLineString, MultiPolygon, Polygon};

/// Brings places from the measuring CRS to WGS 84, degrees, longitude first, good for 7 decimals; as many out as in, in their order.
pub type ToWgs84<'a> = &'a (dyn Fn(&[Coord<f64>]) -> Vec<Coord<f64>> + Sync);

/// What a collection begins with.
pub const HEAD: &[u8] = b"{\"type\":\"FeatureCollection\",\"features\":[";
/// What it ends with.
pub const TAIL: &[u8] = b"\n]}\n";

/// Where a feature is drawn, in the measuring CRS.
pub enum Shape {
    /// A point.
    Point(Coord<f64>),
    /// Polygons; without any, the feature has no geometry.
    Polygons(MultiPolygon<f64>),
    /// Lines; without any, the feature has no geometry.
    Lines(MultiLineString<f64>),
}

/// A feature before any format has seen it.
pub struct Draft {
    /// Where it is drawn.
    pub shape: Shape,
    /// Its properties, one for each column of its layer.
    pub cells: Vec<Cell>,
}

/// A shape in longitude and latitude: rounded to 1e-7 degree, cut at the antimeridian, turned as RFC 7946 asks.
#[derive(Debug, PartialEq)]
pub enum Placed {
    /// A point.
    Point(Position),
    /// Polygons; without any, the feature has no geometry.
    Polygons(Vec<Rings>),
    /// Lines; without any, the feature has no geometry.
    Lines(Vec<Vec<Position>>),
}

/// Places the shapes of drafts.
///
/// # Errors
/// A place that does not come out as a longitude and a latitude; a polygon around a pole.
pub fn placed(drafts: &[Draft], to_wgs84: ToWgs84) -> Result<Vec<Placed>> {
    let degrees = all_to_wgs84(drafts, to_wgs84)?;
    let mut degrees = &degrees[..];
    let place = |draft: &Draft| match &draft.shape {
        Shape::Point(_) => position(take_first(&mut degrees, 1)[0]).map(Placed::Point).ok_or_else(bad_place),
        Shape::Polygons(polygons) => drawn(polygons, &mut degrees).map(Placed::Polygons),
        Shape::Lines(lines) => drawn_lines(lines, &mut degrees).map(Placed::Lines),
    };
    drafts.iter().map(place).collect()
}

/// Turns drafts and their places into features, each with a comma and a line end before it.
pub fn features(drafts: &[Draft], placed: &[Placed], columns: &[LayerColumn]) -> Vec<u8> {
    // About what a drawn overlap takes: growing would copy it again.
    let mut out = Vec::with_capacity(drafts.len() * 1536);
    for (draft, placed) in drafts.iter().zip(placed) {
        out.extend_from_slice(b",\n{\"type\":\"Feature\",\"properties\":{");
        for (at, (column, cell)) in columns.iter().zip(&draft.cells).enumerate() {
            out.extend_from_slice(if at == 0 { b"\"" } else { b",\"" });
            out.extend_from_slice(column.name.as_bytes());
            out.extend_from_slice(b"\":");
            push_cell(&mut out, cell);
        }
        out.extend_from_slice(b"},\"geometry\":");
        push_geometry(&mut out, placed);
        out.push(b'}');
    }
    out
}

fn push_cell(out: &mut Vec<u8>, cell: &Cell) {
    match cell {
        Cell::Null => out.extend_from_slice(b"null"),
        Cell::Text(text) => serde_json::to_writer(&mut *out, text).expect("text in memory"),
        Cell::Number(value, decimals) => {
            push_fixed(out, *value, *decimals);
        }
        Cell::Whole(value) => push_whole(out, *value),
    }
}

/// The places of all shapes in one call, so that one transformation serves a whole chunk.
fn all_to_wgs84(drafts: &[Draft], to_wgs84: ToWgs84) -> Result<Vec<Coord<f64>>> {
    let mut places = Vec::new();
    for draft in drafts {
        match &draft.shape {
            Shape::Point(at) => places.push(*at),
            Shape::Polygons(polygons) => {
                polygons.iter().flat_map(all_rings).for_each(|ring| places.extend_from_slice(&ring.0))
            }
            Shape::Lines(lines) => lines.iter().for_each(|line| places.extend_from_slice(&line.0)),
        }
    }
    let degrees = to_wgs84(&places);
    if degrees.len() != places.len() {
        return Err(bad_place());
    }
    Ok(degrees)
}

/// The first of the places that are left, taken from them: as many as went in.
fn take_first<'a>(left: &mut &'a [Coord<f64>], count: usize) -> &'a [Coord<f64>] {
    left.split_off(..count).expect("as many places come out as went in")
}

fn all_rings(polygon: &Polygon<f64>) -> impl Iterator<Item = &LineString<f64>> {
    std::iter::once(polygon.exterior()).chain(polygon.interiors())
}

fn bad_place() -> Error {
    Error::Crs {
        at: "layers".into(),
        what: "a place cannot be brought from the measuring CRS to longitude and latitude".into(),
        hint: "check --measure-crs; or write no layers with --layers none".into(),
    }
}

fn push_geometry(out: &mut Vec<u8>, placed: &Placed) {
    match placed {
        Placed::Point(at) => {
            out.extend_from_slice(b"{\"type\":\"Point\",\"coordinates\":");
            push_position(out, *at);
            out.push(b'}');
        }
        Placed::Polygons(polygons) => push_polygons(out, polygons),
        Placed::Lines(lines) => push_lines(out, lines),
    }
}

fn push_polygons(out: &mut Vec<u8>, polygons: &[Rings]) {
    match polygons {
        [] => out.extend_from_slice(b"null"),
        [one] => {
            out.extend_from_slice(b"{\"type\":\"Polygon\",\"coordinates\":");
            push_rings(out, one);
            out.push(b'}');
        }
        several => {
            out.extend_from_slice(b"{\"type\":\"MultiPolygon\",\"coordinates\":");
            for (at, polygon) in several.iter().enumerate() {
                out.push(if at == 0 { b'[' } else { b',' });
                push_rings(out, polygon);
            }
            out.extend_from_slice(b"]}");
        }
    }
}

fn push_lines(out: &mut Vec<u8>, lines: &[Vec<Position>]) {
    let push_line = |out: &mut Vec<u8>, line: &[Position]| {
        for (at, &place) in line.iter().enumerate() {
            out.push(if at == 0 { b'[' } else { b',' });
            push_position(out, place);
        }
        out.push(b']');
    };
    match lines {
        [] => out.extend_from_slice(b"null"),
        [one] => {
            out.extend_from_slice(b"{\"type\":\"LineString\",\"coordinates\":");
            push_line(out, one);
            out.push(b'}');
        }
        several => {
            out.extend_from_slice(b"{\"type\":\"MultiLineString\",\"coordinates\":");
            for (at, line) in several.iter().enumerate() {
                out.push(if at == 0 { b'[' } else { b',' });
                push_line(out, line);
            }
            out.extend_from_slice(b"]}");
        }
    }
}

/// The lines in degrees, cut at the antimeridian, rounded; what is left of one place only is no line.
fn drawn_lines(lines: &MultiLineString<f64>, degrees: &mut &[Coord<f64>]) -> Result<Vec<Vec<Position>>> {
    let mut parts = Vec::new();
    for line in lines {
        for part in cut_line(take_first(degrees, line.0.len())) {
            let mut rounded = positions(&part).ok_or_else(bad_place)?;
            rounded.dedup();
            if rounded.len() > 1 {
                parts.push(rounded);
            }
        }
    }
    Ok(parts)
}

/// The polygons in degrees, cut at the antimeridian, rounded, without folds.
fn drawn(polygons: &MultiPolygon<f64>, degrees: &mut &[Coord<f64>]) -> Result<Vec<Rings>> {
    let mut parts = Vec::new();
    for polygon in polygons {
        let mut in_degrees = |ring: &LineString<f64>| LineString::new(take_first(degrees, ring.0.len()).to_vec());
        let shell = in_degrees(polygon.exterior());
        let holes = polygon.interiors().iter().map(in_degrees).collect();
        if !push_cut(Polygon::new(shell, holes), &mut parts) {
            return Err(Error::input(
                "layers",
                "a polygon around a pole cannot be written as GeoJSON",
                "write no layers with --layers none",
            ));
        }
    }
    let rounded = parts.iter().map(rings).collect::<Option<Vec<_>>>().ok_or_else(bad_place)?;
    Ok(unfolded(rounded.into_iter().filter(|rings| !rings.is_empty()).collect()))
}
