//! Longitude and latitude in degrees -> whole numbers of 1e-7 degree, and rings as RFC 7946 wants them.
//!
//! Rounding comes first; duplicates and orientation are then decided on whole numbers, exactly.

use super::number::push_scaled;
use geo::{Coord, Polygon};

/// Decimals of coordinates: 1e-7 degree is about 1 cm.
pub const DECIMALS: u32 = 7;

/// Longitude and latitude in 1e-7 degree.
pub type Position = [i64; 2];

/// A polygon: the shell, counter-clockwise, then holes, clockwise. Rings are closed.
pub type Rings = Vec<Vec<Position>>;

/// Rounds one position; `None` where it is not a longitude and a latitude.
pub fn position(degrees: Coord<f64>) -> Option<Position> {
    let within = degrees.x.abs() <= 180.000_000_05 && degrees.y.abs() <= 90.000_000_05;
    #[expect(clippy::cast_possible_truncation, reason = "at most 1.8e9")]
    within.then(|| [(degrees.x * 1e7).round() as i64, (degrees.y * 1e7).round() as i64])
}

/// Rounds the positions of a line or a ring; `None` where one is not a longitude and a latitude.
pub fn positions(line: &[Coord<f64>]) -> Option<Vec<Position>> {
    let mut rounded = Vec::with_capacity(line.len());
    for &place in line {
        rounded.push(position(place)?);
    }
    Some(rounded)
}

/// Drops repeated positions and turns the ring; `None` where nothing is left of it at this precision.
fn ring(mut ring: Vec<Position>, counter_clockwise: bool) -> Option<Vec<Position>> {
    ring.dedup();
    if ring.len() > 1 && ring.first() != ring.last() {
        ring.push(ring[0]);
    }
    let doubled_area = doubled_area(&ring);
    if ring.len() < 4 || doubled_area == 0 {
        return None;
    }
    if (doubled_area > 0) != counter_clockwise {
        ring.reverse();
    }
    Some(ring)
}

/// Twice the signed area of a closed ring, positive where counter-clockwise.
fn doubled_area(ring: &[Position]) -> i128 {
    ring.windows(2).map(|w| i128::from(w[0][0]) * i128::from(w[1][1]) - i128::from(w[1][0]) * i128::from(w[0][1])).sum()
}

/// Rounds a polygon; empty where nothing of its shell is left. `None` where it is not in longitudes and latitudes.
pub fn rings(polygon: &Polygon<f64>) -> Option<Rings> {
    let shell = positions(&polygon.exterior().0)?;
    let holes = polygon.interiors().iter().map(|hole| positions(&hole.0)).collect::<Option<Vec<_>>>()?;
    Some(rings_of(shell, holes))
}

/// The rings of rounded places: turned, without repeated positions; empty where nothing of the shell is left.
pub fn rings_of(shell: Vec<Position>, holes: Vec<Vec<Position>>) -> Rings {
    let Some(shell) = ring(shell, true) else { return Vec::new() };
    std::iter::once(shell).chain(holes.into_iter().filter_map(|hole| ring(hole, false))).collect()
}

/// `[lon,lat]`
pub fn push_position(out: &mut Vec<u8>, [longitude, latitude]: Position) {
    out.push(b'[');
    push_scaled(out, longitude, DECIMALS);
    out.push(b',');
    push_scaled(out, latitude, DECIMALS);
    out.push(b']');
}

/// `[[[lon,lat],...],...]`
pub fn push_rings(out: &mut Vec<u8>, rings: &Rings) {
    let mut open = b'[';
    for ring in rings {
        out.push(open);
        open = b'[';
        for &position in ring {
            out.push(open);
            push_position(out, position);
            open = b',';
        }
        out.push(b']');
    }
    out.push(b']');
}
