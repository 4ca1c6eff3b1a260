//! Hex WKB and EWKB -> geometry and SRID. Heights and measures are dropped. Never panics on what it is given.
//!
//! # Source
//! OGC 06-103r4 (Simple Features, part 1), 8.2: byte order, type codes, type + 1000/2000/3000 for Z, M, ZM. The flags
//! 0x80000000 (Z), 0x40000000 (M) and 0x20000000 (SRID) are the extended form that spatial databases write (from memory).

use geo::{Coord, Geometry, GeometryCollection, LineString, MultiLineString, MultiPoint, MultiPolygon, Point, Polygon};

/// Nested collections deeper than this are refused.
const DEEPEST: usize = 8;

/// Reads hex WKB. `None` for anything that is not WKB from the first to the last byte.
pub fn parse_hex_wkb(text: &str) -> Option<(Geometry<f64>, Option<u32>)> {
    let text = text.trim().trim_start_matches("\\x");
    let long_enough = text.len() >= 18 && text.len().is_multiple_of(2);
    if !long_enough
        || !(text.starts_with("00") || text.starts_with("01"))
        || !text.bytes().all(|b| b.is_ascii_hexdigit())
    {
        return None;
    }
    let bytes: Vec<u8> = (0..text.len() / 2)
        .map(|at| u8::from_str_radix(&text[2 * at..2 * at + 2], 16))
        .collect::<Result<_, _>>()
        .ok()?;
    let mut reader = Reader { bytes: &bytes, little: true, dimensions: 2, srid: None };
    let geometry = reader.geometry(0)?;
    reader.bytes.is_empty().then_some((geometry, reader.srid))
}

struct Reader<'a> {
    bytes: &'a [u8],
    little: bool,
    dimensions: usize,
    srid: Option<u32>,
}

impl Reader<'_> {
    fn take<const N: usize>(&mut self) -> Option<[u8; N]> {
        let (first, rest) = self.bytes.split_first_chunk::<N>()?;
        self.bytes = rest;
        Some(*first)
    }

    fn number(&mut self) -> Option<u32> {
        let bytes = self.take::<4>()?;
        Some(if self.little { u32::from_le_bytes(bytes) } else { u32::from_be_bytes(bytes) })
    }

    fn real(&mut self) -> Option<f64> {
        let bytes = self.take::<8>()?;
        Some(if self.little { f64::from_le_bytes(bytes) } else { f64::from_be_bytes(bytes) })
    }

    /// A count of things that take at least `least_bytes` each: a count beyond what is left is refused before memory is asked for.
    fn count(&mut self, least_bytes: usize) -> Option<usize> {
        let count = self.number()? as usize;
        (count <= self.bytes.len() / least_bytes).then_some(count)
    }

    fn coord(&mut self) -> Option<Coord<f64>> {
        let (x, y) = (self.real()?, self.real()?);
        for _ in 2..self.dimensions {
            self.real()?;
        }
        Some(Coord { x, y })
    }

    fn line(&mut self) -> Option<LineString<f64>> {
        let count = self.count(8 * self.dimensions)?;
        (0..count).map(|_| self.coord()).collect::<Option<Vec<_>>>().map(LineString)
    }

    fn polygon(&mut self) -> Option<Polygon<f64>> {
        let count = self.count(4)?;
        let mut rings = (0..count).map(|_| self.line()).collect::<Option<Vec<_>>>()?.into_iter();
        let shell = rings.next().unwrap_or_else(|| LineString(vec![]));
        Some(Polygon::new(shell, rings.collect()))
    }

    fn parts(&mut self, depth: usize) -> Option<Vec<Geometry<f64>>> {
        let count = self.count(9)?;
        (0..count).map(|_| self.geometry(depth + 1)).collect()
    }

    fn geometry(&mut self, depth: usize) -> Option<Geometry<f64>> {
        if depth > DEEPEST {
            return None;
        }
        self.little = match self.take::<1>()? {
            [0] => false,
            [1] => true,
            _ => return None,
        };
        let code = self.number()?;
        if code & 0x2000_0000 != 0 {
            self.srid = Some(self.number()?);
        }
        let plain = code & 0x0fff_ffff;
        let by_flag = usize::from(code & 0x8000_0000 != 0) + usize::from(code & 0x4000_0000 != 0);
        let by_thousand = [0, 1, 1, 2][(plain / 1000).min(3) as usize];
        self.dimensions = 2 + by_flag.max(by_thousand);
        self.body(plain % 1000, depth)
    }

    fn body(&mut self, kind: u32, depth: usize) -> Option<Geometry<f64>> {
        Some(match kind {
            1 => Geometry::Point(Point(self.coord()?)),
            2 => Geometry::LineString(self.line()?),
            3 => Geometry::Polygon(self.polygon()?),
            4 => Geometry::MultiPoint(MultiPoint(of_kind(self.parts(depth)?)?)),
            5 => Geometry::MultiLineString(MultiLineString(of_kind(self.parts(depth)?)?)),
            6 => Geometry::MultiPolygon(MultiPolygon(of_kind(self.parts(depth)?)?)),
            7 => Geometry::GeometryCollection(GeometryCollection(self.parts(depth)?)),
            _ => return None,
        })
    }
}

/// All parts as one type; `None` where one is something else.
fn of_kind<T: TryFrom<Geometry<f64>>>(parts: Vec<Geometry<f64>>) -> Option<Vec<T>> {
    parts.into_iter().map(|part| T::try_from(part).ok()).collect()
}

#[cfg(test)]
#[path = "wkb_tests.rs"]
mod tests;
