//! Closed forms for one edge seen from the centre of a disc.
//!
//! Every point here is relative to that centre: the caller subtracts it first, so that coordinates of a million metres
//! lose nothing when they are multiplied. Angles come from `atan2`, which keeps its precision where `acos` loses it.

use geo::Coord;

/// The cross product `a x b`: twice the signed area of the triangle (centre, a, b), square metres.
pub(super) fn cross(a: Coord<f64>, b: Coord<f64>) -> f64 {
    a.x * b.y - a.y * b.x
}

/// The dot product of two vectors, square metres.
pub(super) fn dot(a: Coord<f64>, b: Coord<f64>) -> f64 {
    a.x * b.x + a.y * b.y
}

/// The length of a vector, metres.
pub(super) fn length(a: Coord<f64>) -> f64 {
    a.x.hypot(a.y)
}

/// The signed angle at the centre from `a` to `b`, radians in -pi to pi, anticlockwise positive.
pub(super) fn angle(a: Coord<f64>, b: Coord<f64>) -> f64 {
    if a == b { 0.0 } else { cross(a, b).atan2(dot(a, b)) }
}

/// The part of the edge from `p` to `q` inside the disc of radius `radius_m`, in the edge's order.
///
/// `None` where the edge stays outside or only touches the circle. An end inside the disc is returned as given, bit for bit, so that
/// neighbouring edges keep sharing it.
///
/// With `u` the unit vector along the edge and `h` its signed offset from the centre, the edge is `s u + h n`; it is inside where
/// `s^2 <= r^2 - h^2 = (r - h)(r + h)`.
pub(super) fn chord(p: Coord<f64>, q: Coord<f64>, radius_m: f64) -> Option<(Coord<f64>, Coord<f64>)> {
    let along = q - p;
    let edge_m = length(along);
    if edge_m == 0.0 {
        return None;
    }
    let unit = along / edge_m;
    // The nearer end gives the offset with the smaller rounding error.
    let nearer = if dot(p, p) <= dot(q, q) { p } else { q };
    let offset = cross(unit, nearer);
    if offset.abs() >= radius_m {
        return None;
    }
    let half = ((radius_m - offset) * (radius_m + offset)).sqrt();
    let (start, end) = (dot(p, unit), dot(q, unit));
    if start >= half || end <= -half {
        return None;
    }
    let at = |s: f64| Coord { x: s * unit.x - offset * unit.y, y: s * unit.y + offset * unit.x };
    let a = if start >= -half { p } else { at(-half) };
    let b = if end <= half { q } else { at(half) };
    Some((a, b))
}

/// The signed area of the triangle (centre, p, q) within the disc, square metres, anticlockwise positive.
///
/// Inside the disc it is the triangle `a x b / 2`, outside it the sector `r^2 / 2 x angle`.
pub(super) fn triangle_in_disc_m2(p: Coord<f64>, q: Coord<f64>, radius_m: f64) -> f64 {
    let sector = 0.5 * radius_m * radius_m;
    match chord(p, q, radius_m) {
        None => sector * angle(p, q),
        Some((a, b)) => sector * (angle(p, a) + angle(b, q)) + 0.5 * cross(a, b),
    }
}

/// The squared distance from the centre to the edge from `p` to `q`, square metres.
pub(super) fn edge_distance_squared(p: Coord<f64>, q: Coord<f64>) -> f64 {
    let along = q - p;
    let squared = dot(along, along);
    if squared == 0.0 || dot(p, along) >= 0.0 {
        return dot(p, p);
    }
    if dot(q, along) <= 0.0 {
        return dot(q, q);
    }
    let nearer = if dot(p, p) <= dot(q, q) { p } else { q };
    let twice_area = cross(along, nearer);
    twice_area * twice_area / squared
}
