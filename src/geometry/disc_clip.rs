//! Cuts a prepared area to a disc directly: its edges inside the circle, joined along the circle. For drawings only.
//!
//! Where an edge grazes the circle or a corner lies on it, it says so and leaves the area to the overlay engine.

use super::arc::{arc_points, circle};
use super::chain::Content;
use super::edge::plane_length;
use super::prepared::PreparedArea;
use geo::{Contains, Coord, LineString, MultiPolygon, Point, Polygon};
use std::f64::consts::TAU;

/// A corner this near the circle, or an edge that passes it by as much, is not decided here, metres.
const GRAZE_M: f64 = 1e-6;

/// The circle around the origin that polygons are cut to.
#[derive(Clone, Copy)]
pub(super) struct Circle {
    pub radius_m: f64,
    /// Departure of the drawn arcs, metres.
    pub sagitta_m: f64,
}

/// A stretch of a ring inside the circle, from where it enters to where it leaves.
struct Stretch {
    /// Enters first, leaves last.
    points: Vec<Coord<f64>>,
    /// Direction of the first and the last point from the origin, radians, 0 to 2 pi.
    enters: f64,
    leaves: f64,
}

/// What of a ring lies inside the circle.
enum Inside {
    Nothing,
    Whole,
    Stretches(Vec<Stretch>),
}

/// The part of an area inside the circle around `centre`, relative to it: shells anticlockwise, holes clockwise. `None` where it grazes the
/// circle. Visits only the boxes that meet the disc.
pub(super) fn clip_to_circle(area: &PreparedArea, centre: Coord<f64>, by: Circle) -> Option<MultiPolygon<f64>> {
    let (mut stretches, mut shells, mut holes) = (Vec::new(), Vec::new(), Vec::new());
    for (ring, edges) in rings_near(area, centre, by.radius_m) {
        let origin = area.tree.rings[ring as usize];
        match inside(&edges, by.radius_m)? {
            Inside::Nothing => {}
            Inside::Whole if origin.hole => holes.push((origin.part, closed(&edges))),
            Inside::Whole => shells.push((origin.part, Polygon::new(closed(&edges), Vec::new()))),
            Inside::Stretches(found) => stretches.extend(found),
        }
    }
    let cut = match stretches.is_empty() {
        false => joined(stretches, by)?,
        // No edge crosses the circle: the area holds all of it, or none. Its middle may stand in a hole that lies wholly inside.
        // Asked a hair within the circle: what touches it from outside does not come so near, and what lies within keeps away by more.
        true if area.inside(centre + Coord { x: by.radius_m - GRAZE_M / 2.0, y: 0.0 }) => {
            vec![circle(Coord { x: 0.0, y: 0.0 }, by.radius_m, by.sagitta_m, 24, 4096)]
        }
        true => Vec::new(),
    };
    Some(with_holes(shells, cut, holes))
}

/// An edge relative to the centre, and whether it begins its ring.
struct Edge {
    from: Coord<f64>,
    to: Coord<f64>,
    first: bool,
}

/// The edges of each ring in the boxes that meet the disc, in their order; what is left out lies outside.
fn rings_near(area: &PreparedArea, centre: Coord<f64>, radius_m: f64) -> Vec<(u32, Vec<Edge>)> {
    let mut rings: Vec<(u32, Vec<Edge>)> = Vec::new();
    let mut open: Vec<u32> = area.tree.root.into_iter().collect();
    while let Some(node) = open.pop() {
        let node = &area.tree.nodes[node as usize];
        if node.distance_squared(centre) >= radius_m * radius_m {
            continue;
        }
        match node.content {
            // The first child last, so that it comes off first.
            Content::Chain { children: [one, two], .. } | Content::Group { children: [one, two] } => {
                open.extend([two, one])
            }
            Content::Leaf { first, last, ring } => {
                if rings.last().is_none_or(|(known, _)| *known != ring) {
                    rings.push((ring, Vec::new()));
                }
                let begins = area.tree.rings[ring as usize].first;
                let edges = (first..).zip(area.tree.edges(first, last));
                let (_, known) = rings.last_mut().expect("pushed above");
                known.extend(edges.map(|(index, (p, q))| Edge {
                    from: p - centre,
                    to: q - centre,
                    first: index == begins,
                }));
            }
        }
    }
    rings
}

fn closed(edges: &[Edge]) -> LineString<f64> {
    let mut ring = LineString(edges.iter().map(|edge| edge.from).collect());
    ring.close();
    ring
}

/// What of a ring lies inside the circle; `None` where it grazes it.
fn inside(edges: &[Edge], radius_m: f64) -> Option<Inside> {
    let mut stretches: Vec<Stretch> = Vec::new();
    // The stretch that is being followed; the first may have begun before the ring's first point.
    let mut open: Option<Vec<Coord<f64>>> = None;
    let mut begun_inside = false;
    for &Edge { from, to, first } in edges {
        let from_in = is_inside(from, radius_m)?;
        let to_in = is_inside(to, radius_m)?;
        if first && from_in {
            begun_inside = true;
            open = Some(vec![from]);
        }
        let (enters, leaves) = crossings(from, to, (from_in, to_in), radius_m)?;
        if let Some(at) = enters {
            open = Some(vec![at]);
        }
        if let (Some(at), Some(mut points)) = (leaves, if leaves.is_some() { open.take() } else { None }) {
            points.push(at);
            stretches.push(stretch(points));
        }
        if let (true, Some(points)) = (to_in, &mut open) {
            points.push(to);
        }
    }
    Some(match (open, begun_inside, stretches.is_empty()) {
        (Some(_), true, true) => Inside::Whole,
        (Some(mut tail), true, false) => {
            // The ring's first point stands inside a stretch: its two halves are one.
            let head = stretches.remove(0);
            tail.pop();
            tail.extend(head.points);
            stretches.push(stretch(tail));
            Inside::Stretches(stretches)
        }
        (_, _, true) => Inside::Nothing,
        _ => Inside::Stretches(stretches),
    })
}

fn stretch(points: Vec<Coord<f64>>) -> Stretch {
    let turn = |at: Coord<f64>| at.y.atan2(at.x).rem_euclid(TAU);
    let (enters, leaves) = (turn(points[0]), turn(points[points.len() - 1]));
    Stretch { points, enters, leaves }
}

fn is_inside(point: Coord<f64>, radius_m: f64) -> Option<bool> {
    let from_circle_m = plane_length(point) - radius_m;
    (from_circle_m.abs() > GRAZE_M).then_some(from_circle_m < 0.0)
}

/// Where an edge enters the circle and where it leaves it.
type Crossings = (Option<Coord<f64>>, Option<Coord<f64>>);

fn crossings(from: Coord<f64>, to: Coord<f64>, (from_in, to_in): (bool, bool), radius_m: f64) -> Option<Crossings> {
    if from_in && to_in {
        return Some((None, None));
    }
    let along = to - from;
    let length_m = plane_length(along);
    if length_m == 0.0 {
        return Some((None, None));
    }
    let unit = along / length_m;
    let (foot_m, off_m) = (-(from.x * unit.x + from.y * unit.y), (from.x * unit.y - from.y * unit.x).abs());
    if !from_in && !to_in {
        if foot_m <= 0.0 || foot_m >= length_m || off_m > radius_m + GRAZE_M {
            return Some((None, None));
        }
        if off_m > radius_m - GRAZE_M {
            return None;
        }
    }
    let half_m = ((radius_m - off_m) * (radius_m + off_m)).max(0.0).sqrt();
    let at = |m: f64| from + unit * m;
    Some(((!from_in).then(|| at(foot_m - half_m)), (!to_in).then(|| at(foot_m + half_m))))
}

/// Stretches joined along the circle, anticlockwise from where one leaves to where the next enters.
fn joined(mut stretches: Vec<Stretch>, by: Circle) -> Option<Vec<Polygon<f64>>> {
    stretches.sort_by(|a, b| a.enters.total_cmp(&b.enters));
    let next = |leaves: f64| {
        let at = stretches.partition_point(|stretch| stretch.enters < leaves);
        at % stretches.len()
    };
    let follows: Vec<usize> = stretches.iter().map(|stretch| next(stretch.leaves)).collect();
    // Each stretch is entered once, or the ring crosses itself on the circle.
    let mut entered = vec![false; stretches.len()];
    for &index in &follows {
        if std::mem::replace(&mut entered[index], true) {
            return None;
        }
    }
    let mut done = vec![false; stretches.len()];
    let mut rings = Vec::new();
    for first in 0..stretches.len() {
        let (mut at, mut points) = (first, Vec::new());
        while !std::mem::replace(&mut done[at], true) {
            let stretch = &stretches[at];
            points.extend_from_slice(&stretch.points);
            at = follows[at];
            let turn = (stretches[at].enters - stretch.leaves).rem_euclid(TAU);
            arc_points(stretch.points[stretch.points.len() - 1], turn, by.sagitta_m, &mut points);
        }
        if !points.is_empty() {
            let mut ring = LineString(points);
            ring.close();
            rings.push(Polygon::new(ring, Vec::new()));
        }
    }
    Some(rings)
}

/// Parts that lie wholly inside and parts cut by the circle, each with its holes.
fn with_holes(
    shells: Vec<(u32, Polygon<f64>)>,
    cut: Vec<Polygon<f64>>,
    holes: Vec<(u32, LineString<f64>)>,
) -> MultiPolygon<f64> {
    let whole = shells.len();
    let parts: Vec<u32> = shells.iter().map(|(part, _)| *part).collect();
    let mut polygons: Vec<Polygon<f64>> = shells.into_iter().map(|(_, polygon)| polygon).chain(cut).collect();
    for (part, hole) in holes {
        let of_shell = parts.iter().position(|known| *known == part);
        let only = (polygons.len() == whole + 1).then_some(whole);
        let around = || (whole..polygons.len()).find(|&index| polygons[index].contains(&Point(hole.0[0])));
        if let Some(index) = of_shell.or(only).or_else(around) {
            polygons[index].interiors_push(hole);
        }
    }
    MultiPolygon(polygons)
}

#[cfg(test)]
#[path = "disc_clip_tests.rs"]
mod tests;
