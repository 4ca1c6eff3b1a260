//! Well-known binary geometry, as GDAL hands it out, into plane geometry: heights and measures are left, arcs become short lines.
//!
//! Ask GDAL for the ISO spelling: in its older one an empty point is the point (0, 0).
//!
//! # Source
//! Layout: OGC 06-103r4 (Simple Features), section 8; the type numbers of curves and of Z and M: ISO/IEC 13249-3. The flag bit
//! 0x80000000 for Z is GDAL's older spelling. (All from memory.)

use geo::{Coord, Geometry, GeometryCollection, LineString, MultiLineString, MultiPoint, MultiPolygon, Point, Polygon};

/// The largest angle between two points of a drawn arc, degrees: the line leaves an arc of radius r by at most 0.000039 r.
const ARC_STEP_DEGREES: f64 = 1.0;
/// Collections within collections are read to this depth.
const MAX_DEPTH: u32 = 8;

/// Why a geometry cannot be used.
#[derive(Debug, PartialEq, Eq)]
pub(super) enum WkbError {
    /// The bytes end early or make no sense.
    Damaged,
    /// A type that is no point, line or area in the plane (a triangulated surface, say).
    NotPlane(u32),
}

/// Reads one geometry; `None` for an empty one.
pub(super) fn read(bytes: &[u8]) -> Result<Option<Geometry<f64>>, WkbError> {
    let mut cursor = Cursor { bytes, at: 0 };
    Ok(cursor.geometry(0)?.filter(|geometry| !is_empty(geometry)))
}

fn is_empty(geometry: &Geometry<f64>) -> bool {
    match geometry {
        Geometry::LineString(line) => line.0.is_empty(),
        Geometry::Polygon(polygon) => polygon.exterior().0.is_empty(),
        Geometry::MultiPoint(points) => points.0.is_empty(),
        Geometry::MultiLineString(lines) => lines.0.is_empty(),
        Geometry::MultiPolygon(polygons) => polygons.0.is_empty(),
        Geometry::GeometryCollection(parts) => parts.0.is_empty(),
        _ => false,
    }
}

struct Cursor<'a> {
    bytes: &'a [u8],
    at: usize,
}

/// Byte order, type without dimensions, numbers per position.
struct Header {
    little: bool,
    kind: u32,
    dimensions: usize,
}

impl Cursor<'_> {
    fn take<const N: usize>(&mut self) -> Result<[u8; N], WkbError> {
        let bytes = self.bytes.get(self.at..self.at + N).ok_or(WkbError::Damaged)?;
        self.at += N;
        Ok(bytes.try_into().expect("the slice has N bytes"))
    }

    fn number(&mut self, little: bool) -> Result<u32, WkbError> {
        let bytes = self.take()?;
        Ok(if little { u32::from_le_bytes(bytes) } else { u32::from_be_bytes(bytes) })
    }

    fn real(&mut self, little: bool) -> Result<f64, WkbError> {
        let bytes = self.take()?;
        Ok(if little { f64::from_le_bytes(bytes) } else { f64::from_be_bytes(bytes) })
    }

    fn header(&mut self) -> Result<Header, WkbError> {
        let [order] = self.take()?;
        let little = order == 1;
        let written = self.number(little)?;
        let plain = written & 0x1FFF_FFFF;
        let extra = (written >> 31 & 1)
            + (written >> 30 & 1)
            + match plain / 1000 {
                0 => 0,
                3 => 2,
                _ => 1,
            };
        if written & 0x2000_0000 != 0 {
            self.number(little)?;
        }
        Ok(Header { little, kind: plain % 1000, dimensions: 2 + extra as usize })
    }

    fn geometry(&mut self, depth: u32) -> Result<Option<Geometry<f64>>, WkbError> {
        let header = self.header()?;
        Ok(Some(match header.kind {
            1 => {
                let place = self.position(&header)?;
                // An empty point is written as NaN.
                if place.x.is_nan() && place.y.is_nan() {
                    return Ok(None);
                }
                Geometry::Point(Point(place))
            }
            2 | 8 | 9 | 13 => Geometry::LineString(LineString(self.curve_of(&header, depth)?)),
            3 | 10 => Geometry::Polygon(self.polygon_of(&header, depth)?),
            4..=7 | 11 | 12 if depth < MAX_DEPTH => return self.parts(&header, depth).map(Some),
            4..=7 | 11 | 12 => return Err(WkbError::Damaged),
            kind => return Err(WkbError::NotPlane(kind)),
        }))
    }

    fn parts(&mut self, header: &Header, depth: u32) -> Result<Geometry<f64>, WkbError> {
        let count = self.number(header.little)?;
        let mut parts = Vec::new();
        for _ in 0..count {
            parts.extend(self.geometry(depth + 1)?);
        }
        Ok(match header.kind {
            4 => Geometry::MultiPoint(MultiPoint(all(parts)?)),
            5 | 11 => Geometry::MultiLineString(MultiLineString(all(parts)?)),
            6 | 12 => Geometry::MultiPolygon(MultiPolygon(all(parts)?)),
            _ => Geometry::GeometryCollection(GeometryCollection(parts)),
        })
    }

    fn position(&mut self, header: &Header) -> Result<Coord<f64>, WkbError> {
        let (x, y) = (self.real(header.little)?, self.real(header.little)?);
        self.at += 8 * (header.dimensions - 2);
        Ok(Coord { x, y })
    }

    fn positions(&mut self, header: &Header) -> Result<Vec<Coord<f64>>, WkbError> {
        let count = self.number(header.little)? as usize;
        if count > self.bytes.len().saturating_sub(self.at) / (8 * header.dimensions) {
            return Err(WkbError::Damaged);
        }
        (0..count).map(|_| self.position(header)).collect()
    }

    /// The points of a line, an arc string or a line made of both.
    fn curve_of(&mut self, header: &Header, depth: u32) -> Result<Vec<Coord<f64>>, WkbError> {
        match header.kind {
            2 => self.positions(header),
            8 => Ok(arcs(&self.positions(header)?)),
            9 if depth < MAX_DEPTH => {
                let mut line: Vec<Coord<f64>> = Vec::new();
                for _ in 0..self.number(header.little)? {
                    let inner = self.header()?;
                    let part = self.curve_of(&inner, depth + 1)?;
                    let joined = usize::from(!line.is_empty() && line.last() == part.first());
                    line.extend(&part[joined..]);
                }
                Ok(line)
            }
            _ => Err(WkbError::Damaged),
        }
    }

    fn polygon_of(&mut self, header: &Header, depth: u32) -> Result<Polygon<f64>, WkbError> {
        let count = self.number(header.little)?;
        let mut rings = Vec::new();
        for _ in 0..count {
            let ring = match header.kind {
                3 => self.positions(header)?,
                _ => {
                    let inner = self.header()?;
                    self.curve_of(&inner, depth + 1)?
                }
            };
            rings.push(LineString(ring));
        }
        let mut rings = rings.into_iter();
        let exterior = rings.next().unwrap_or_else(|| LineString(Vec::new()));
        Ok(Polygon::new(exterior, rings.collect()))
    }
}

fn all<T: TryFrom<Geometry<f64>>>(parts: Vec<Geometry<f64>>) -> Result<Vec<T>, WkbError> {
    parts.into_iter().map(|part| T::try_from(part).map_err(|_| WkbError::Damaged)).collect()
}

/// Points along a string of arcs, each through three points of which neighbours share one.
fn arcs(points: &[Coord<f64>]) -> Vec<Coord<f64>> {
    let mut line: Vec<Coord<f64>> = points.first().copied().into_iter().collect();
    let mut at = 0;
    while let [start, middle, end, ..] = points[at..] {
        arc(start, middle, end, &mut line);
        at += 2;
    }
    line
}

/// Adds the points of one arc behind its start; a full circle where start and end are the same.
fn arc(start: Coord<f64>, middle: Coord<f64>, end: Coord<f64>, line: &mut Vec<Coord<f64>>) {
    let (b, c) = (middle - start, end - start);
    let cross = b.x * c.y - b.y * c.x;
    let (centre, turn) = if start == end {
        (start + b / 2.0, std::f64::consts::TAU)
    } else if cross.abs() <= 1e-12 * (b.x.hypot(b.y) * c.x.hypot(c.y)) {
        // On one straight line: no arc at all.
        return line.extend([middle, end]);
    } else {
        let (bb, cc) = (b.x * b.x + b.y * b.y, c.x * c.x + c.y * c.y);
        let offset = Coord { x: c.y * bb - b.y * cc, y: b.x * cc - c.x * bb } / (2.0 * cross);
        let angle = |p: Coord<f64>| (p.y - start.y - offset.y).atan2(p.x - start.x - offset.x);
        let turn = (angle(end) - angle(start)).rem_euclid(std::f64::consts::TAU);
        // Counter-clockwise where the middle lies to the right of the line from start to end.
        (start + offset, if cross > 0.0 { turn } else { turn - std::f64::consts::TAU })
    };
    let steps = (turn.abs() / ARC_STEP_DEGREES.to_radians()).ceil().max(2.0);
    let arm = start - centre;
    for step in 1..steps as u32 {
        let (sin, cos) = (turn * f64::from(step) / steps).sin_cos();
        line.push(centre + Coord { x: arm.x * cos - arm.y * sin, y: arm.x * sin + arm.y * cos });
    }
    line.push(end);
}

#[cfg(test)]
mod tests {
    use super::*;
    use geo::{Area, Length, line_measures::metric_spaces::Euclidean};

    fn from_wkt(wkt: &str) -> Result<Option<Geometry<f64>>, WkbError> {
        let geometry = gdal::vector::Geometry::from_wkt(wkt).unwrap();
        if !geometry.is_empty() {
            assert_eq!(read(&geometry.wkb().unwrap()), read(&geometry.iso_wkb().unwrap()), "{wkt}");
        }
        read(&geometry.iso_wkb().unwrap())
    }

    #[test]
    fn heights_and_measures_are_left() {
        let flat = from_wkt("POLYGON ((0 0,4 0,4 4,0 0),(1 0.5,2 0.5,2 1,1 0.5))").unwrap();
        for wkt in [
            "POLYGON Z ((0 0 9,4 0 9,4 4 9,0 0 9),(1 0.5 9,2 0.5 9,2 1 9,1 0.5 9))",
            "POLYGON ZM ((0 0 9 1,4 0 9 1,4 4 9 1,0 0 9 1),(1 0.5 9 1,2 0.5 9 1,2 1 9 1,1 0.5 9 1))",
        ] {
            assert_eq!(from_wkt(wkt).unwrap(), flat, "{wkt}");
        }
        assert_eq!(from_wkt("POINT M (1 2 3)").unwrap(), Some(Geometry::Point(Point::new(1.0, 2.0))));
        assert!(matches!(
            from_wkt("GEOMETRYCOLLECTION (POINT (1 2),MULTIPOINT (1 2,3 4))").unwrap(),
            Some(Geometry::GeometryCollection(_))
        ));
    }

    #[test]
    fn empty_geometries_are_none_and_never_the_origin() {
        for wkt in
            ["POINT EMPTY", "LINESTRING EMPTY", "POLYGON EMPTY", "MULTIPOLYGON EMPTY", "GEOMETRYCOLLECTION EMPTY"]
        {
            assert_eq!(from_wkt(wkt), Ok(None), "{wkt}");
        }
    }

    #[test]
    fn arcs_are_drawn_within_the_stated_error() {
        // A circle of radius 10 from two arcs: area 100 pi, 314.159.
        let circle = from_wkt("CURVEPOLYGON (CIRCULARSTRING (10 0,0 10,-10 0,0 -10,10 0))").unwrap().unwrap();
        assert!(
            (circle.unsigned_area() / (100.0 * std::f64::consts::PI) - 1.0).abs() < 1e-4,
            "{}",
            circle.unsigned_area()
        );
        // A quarter turned clockwise, a straight piece on: 5 pi + 5.
        let Some(Geometry::LineString(line)) =
            from_wkt("COMPOUNDCURVE (CIRCULARSTRING (0 10,7.0710678118654755 7.0710678118654755,10 0),(10 0,10 -5))")
                .unwrap()
        else {
            panic!()
        };
        let length = Euclidean.length(&line);
        assert!((length - (5.0 * std::f64::consts::PI + 5.0)).abs() < 1e-3, "{length}");
        assert!(line.0.iter().all(|p| p.x > -1e-9), "the short way round");
        // The long way round: three quarters.
        let Some(Geometry::LineString(line)) = from_wkt("CIRCULARSTRING (0 10,-10 0,10 0)").unwrap() else { panic!() };
        assert!((Euclidean.length(&line) - 15.0 * std::f64::consts::PI).abs() < 1e-2);
        let multi =
            from_wkt("MULTISURFACE (((0 0,1 0,1 1,0 0)),CURVEPOLYGON (CIRCULARSTRING (10 0,0 10,-10 0,0 -10,10 0)))")
                .unwrap();
        assert!(matches!(multi, Some(Geometry::MultiPolygon(m)) if m.0.len() == 2));
    }

    #[test]
    fn other_surfaces_and_damage_are_refused() {
        assert_eq!(from_wkt("TIN (((0 0,1 0,1 1,0 0)))"), Err(WkbError::NotPlane(16)));
        let whole = gdal::vector::Geometry::from_wkt("MULTIPOLYGON (((0 0,4 0,4 4,0 0)))").unwrap().wkb().unwrap();
        for end in 0..whole.len() {
            assert_eq!(read(&whole[..end]), Err(WkbError::Damaged), "{end}");
        }
    }
}
