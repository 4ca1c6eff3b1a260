//! Shapes and properties -> features of a GeoJSON collection after RFC 7946, one a line.
//!
//! WGS 84, longitude first, 7 decimals, shells counter-clockwise, no `crs`.

use super::antimeridian::{cut_line, push_cut};
use super::folds::unfolded;
use super::number::{push_fixed, push_whole};
use super::position::{Position, Rings, position, push_position, push_rings, rings};
use crate::error::{Error, Result};
use geo::{Coord, LineString, MultiLineString, MultiPolygon, Polygon};

/// Brings places from the measuring CRS to WGS 84, degrees, longitude first; as many out as in, in their order.
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

/// Writes the properties of one feature, in the order of its layer's columns.
pub struct Properties<'b> {
    out: &'b mut Vec<u8>,
    header: &'b [String],
    at: usize,
}

impl Properties<'_> {
    fn name(&mut self, name: &str) {
        debug_assert_eq!(self.header[self.at], name, "properties stand in the order of columns.rs");
        self.out.extend_from_slice(if self.at == 0 { b"\"" } else { b",\"" });
        self.out.extend_from_slice(name.as_bytes());
        self.out.extend_from_slice(b"\":");
        self.at += 1;
    }

    /// A text; null where it is empty.
    pub fn text(&mut self, name: &str, text: &str) {
        self.name(name);
        if text.is_empty() {
            self.out.extend_from_slice(b"null");
        } else {
            serde_json::to_writer(&mut *self.out, text).expect("text in memory");
        }
    }

    /// A number; null where there is none or where it is not finite.
    pub fn number(&mut self, name: &str, value: Option<f64>, decimals: u32) {
        self.name(name);
        if !value.is_some_and(|value| push_fixed(self.out, value, decimals)) {
            self.out.extend_from_slice(b"null");
        }
    }

    /// A whole number.
    pub fn whole(&mut self, name: &str, value: u64) {
        self.name(name);
        push_whole(self.out, value);
    }

    /// `yes` or `no`, as in the tables: programs differ in how a filter of a style names JSON's `true`.
    pub fn yes_no(&mut self, name: &str, value: bool) {
        self.text(name, if value { "yes" } else { "no" });
    }
}

/// Turns items into features, each with a comma and a line end before it.
///
/// # Errors
/// A place that does not come out as a longitude and a latitude; a polygon around a pole.
pub fn features<T>(
    items: &[T],
    header: &[String],
    to_wgs84: ToWgs84,
    shape: impl Fn(&T) -> Shape,
    properties: impl Fn(&T, &mut Properties),
) -> Result<Vec<u8>> {
    let shapes: Vec<Shape> = items.iter().map(shape).collect();
    let mut degrees = all_to_wgs84(&shapes, to_wgs84)?.into_iter();
    let mut out = Vec::with_capacity(items.len() * 512);
    for (item, shape) in items.iter().zip(shapes) {
        out.extend_from_slice(b",\n{\"type\":\"Feature\",\"properties\":{");
        properties(item, &mut Properties { out: &mut out, header, at: 0 });
        out.extend_from_slice(b"},\"geometry\":");
        push_geometry(&mut out, shape, &mut degrees)?;
        out.push(b'}');
    }
    Ok(out)
}

/// The places of all shapes in one call, so that one transformation serves a whole chunk.
fn all_to_wgs84(shapes: &[Shape], to_wgs84: ToWgs84) -> Result<Vec<Coord<f64>>> {
    let mut places = Vec::new();
    for shape in shapes {
        match shape {
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

fn push_geometry(out: &mut Vec<u8>, shape: Shape, degrees: &mut impl Iterator<Item = Coord<f64>>) -> Result<()> {
    match shape {
        Shape::Point(_) => {
            let at = degrees.next().and_then(position).ok_or_else(bad_place)?;
            out.extend_from_slice(b"{\"type\":\"Point\",\"coordinates\":");
            push_position(out, at);
            out.push(b'}');
        }
        Shape::Polygons(polygons) => push_polygons(out, &drawn(polygons, degrees)?),
        Shape::Lines(lines) => push_lines(out, &drawn_lines(&lines, degrees)?),
    }
    Ok(())
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
fn drawn_lines(
    lines: &MultiLineString<f64>,
    degrees: &mut impl Iterator<Item = Coord<f64>>,
) -> Result<Vec<Vec<Position>>> {
    let mut parts = Vec::new();
    for line in lines {
        let places: Vec<Coord<f64>> = degrees.by_ref().take(line.0.len()).collect();
        for part in cut_line(&places) {
            let mut rounded = part.into_iter().map(position).collect::<Option<Vec<_>>>().ok_or_else(bad_place)?;
            rounded.dedup();
            if rounded.len() > 1 {
                parts.push(rounded);
            }
        }
    }
    Ok(parts)
}

/// The polygons in degrees, cut at the antimeridian, rounded, without folds.
fn drawn(polygons: MultiPolygon<f64>, degrees: &mut impl Iterator<Item = Coord<f64>>) -> Result<Vec<Rings>> {
    let mut parts = Vec::new();
    for polygon in polygons {
        let mut in_degrees = |ring: &LineString<f64>| LineString::new(degrees.by_ref().take(ring.0.len()).collect());
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
