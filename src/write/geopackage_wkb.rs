//! Shapes in metres -> well-known binary in the unit of the measuring CRS, unrounded.
//!
//! # Source
//! OGC 06-103r4, Simple Feature Access 1.2.1, clause 8: byte order, type and counts.

use super::feature::Shape;
use geo::{Coord, LineString};

const LITTLE_ENDIAN: u8 = 1;
const POINT: u32 = 1;
const LINE: u32 = 2;
const POLYGON: u32 = 3;
const MULTI_LINE: u32 = 5;
const MULTI_POLYGON: u32 = 6;

/// The shape; `None` where a feature has no geometry. A unit has `unit_m` metres.
pub fn wkb(shape: &Shape, unit_m: f64) -> Option<Vec<u8>> {
    let mut out = Vec::new();
    match shape {
        Shape::Point(at) => {
            head(&mut out, POINT);
            place(&mut out, *at, unit_m);
        }
        Shape::Polygons(polygons) if polygons.0.is_empty() => return None,
        Shape::Polygons(polygons) => {
            head(&mut out, MULTI_POLYGON);
            count(&mut out, polygons.0.len());
            for polygon in polygons {
                head(&mut out, POLYGON);
                count(&mut out, 1 + polygon.interiors().len());
                std::iter::once(polygon.exterior())
                    .chain(polygon.interiors())
                    .for_each(|ring| places(&mut out, ring, unit_m));
            }
        }
        Shape::Lines(lines) if lines.0.is_empty() => return None,
        Shape::Lines(lines) => {
            head(&mut out, MULTI_LINE);
            count(&mut out, lines.0.len());
            for line in lines {
                head(&mut out, LINE);
                places(&mut out, line, unit_m);
            }
        }
    }
    Some(out)
}

fn head(out: &mut Vec<u8>, kind: u32) {
    out.push(LITTLE_ENDIAN);
    out.extend_from_slice(&kind.to_le_bytes());
}

fn count(out: &mut Vec<u8>, count: usize) {
    out.extend_from_slice(&u32::try_from(count).expect("a shape has fewer than 2^32 parts").to_le_bytes());
}

fn place(out: &mut Vec<u8>, at: Coord<f64>, unit_m: f64) {
    out.extend_from_slice(&(at.x / unit_m).to_le_bytes());
    out.extend_from_slice(&(at.y / unit_m).to_le_bytes());
}

fn places(out: &mut Vec<u8>, line: &LineString<f64>, unit_m: f64) {
    count(out, line.0.len());
    line.0.iter().for_each(|&at| place(out, at, unit_m));
}
