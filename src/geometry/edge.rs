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

/// The same in a third of the time, where the square of the length is a number, as it is in a plane of metres.
pub(super) fn plane_length(a: Coord<f64>) -> f64 {
    dot(a, a).sqrt()
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
    let edge_m = plane_length(along);
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

/// The sum of [`triangle_in_disc_m2`] over the edges of a chain, whose points are not relative to the centre.
///
/// Edges one after the other on one side of the disc (all west of it, or south, east, north) add together what one from their beginning to
/// their end would.
pub(super) fn chain_in_disc_m2(points: &[Coord<f64>], centre: Coord<f64>, radius_m: f64) -> f64 {
    let [first, rest @ ..] = points else { return 0.0 };
    let mut last = *first - centre;
    let (mut last_sides, mut from) = (sides(last, radius_m), last);
    let mut shared = last_sides;
    let (mut inside_m2, mut turned) = (0.0, 0.0);
    for &point in rest {
        let next = point - centre;
        let next_sides = sides(next, radius_m);
        if shared & next_sides != 0 {
            shared &= next_sides;
        } else {
            turned += angle(from, last);
            if last_sides & next_sides != 0 {
                (from, shared) = (last, last_sides & next_sides);
            } else {
                inside_m2 += triangle_in_disc_m2(last, next, radius_m);
                (from, shared) = (next, next_sides);
            }
        }
        (last, last_sides) = (next, next_sides);
    }
    inside_m2 + 0.5 * radius_m * radius_m * (turned + angle(from, last))
}

/// Beyond which of the four tangents along the axes a place lies, a bit for each.
fn sides(place: Coord<f64>, radius_m: f64) -> u8 {
    let beyond = [place.x <= -radius_m, place.x >= radius_m, place.y <= -radius_m, place.y >= radius_m];
    beyond.into_iter().enumerate().map(|(side, beyond)| u8::from(beyond) << side).sum()
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

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    proptest! {
        /// A chain is the sum of its edges, wherever it runs: around, along the tangents, through the disc, back on itself.
        #[test]
        fn a_chain_is_the_sum_of_its_edges(
            points in prop::collection::vec((-40i32..40, -40i32..40), 1..12),
            (x, y, radius) in (-20i32..20, -20i32..20, 1i32..30),
            scale in prop_oneof![Just(0.5), Just(1.0), Just(0.037)],
        ) {
            let at = |(x, y): (i32, i32)| Coord { x: f64::from(x) * scale, y: f64::from(y) * scale };
            let (points, centre) = (points.into_iter().map(at).collect::<Vec<_>>(), at((x, y)));
            let radius_m = f64::from(radius) * scale;
            let edges = points.windows(2).map(|ends| triangle_in_disc_m2(ends[0] - centre, ends[1] - centre, radius_m));
            let sum_m2: f64 = edges.sum();
            // An edge through the centre is half a turn either way.
            let through = points.windows(2).any(|ends| {
                let (p, q) = (ends[0] - centre, ends[1] - centre);
                cross(p, q).abs() < 1e-9 && dot(p, q) <= 0.0
            });
            prop_assume!(!through);
            let chain_m2 = chain_in_disc_m2(&points, centre, radius_m);
            prop_assert!((chain_m2 - sum_m2).abs() <= 1e-12 * radius_m * radius_m, "{chain_m2} {sum_m2}");
        }
    }
}
