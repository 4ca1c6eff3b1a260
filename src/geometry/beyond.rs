//! What of an area lies at least so far from a centre: works as they would be if they kept away from a trunk.
//!
//! Nothing is cut: the disc around the centre is taken off in closed form, so that a distance can be tried at the price of a measurement.

use super::chain::{Content, Edge};
use super::edge::chord;
use super::envelope::{Bearing, Range, Segment};
use super::prepared::PreparedArea;
use geo::Coord;

impl PreparedArea {
    /// The area of the part of a disc that this area covers and that lies at least `beyond_m` from its centre, square metres.
    pub fn annulus_area_m2(&self, centre: Coord<f64>, beyond_m: f64, radius_m: f64) -> f64 {
        let disc_m2 = self.disc_area_m2(centre, radius_m);
        if beyond_m <= 0.0 {
            return disc_m2;
        }
        (disc_m2 - self.disc_area_m2(centre, beyond_m.min(radius_m))).max(0.0)
    }

    /// The distance from a point to what of this area lies at least `beyond_m` away; `None` where there is none within `within_m`.
    pub fn distance_beyond_m(&self, from: Coord<f64>, beyond_m: f64, within_m: f64) -> Option<f64> {
        let distance_m = self.distance_m(from, within_m)?;
        if distance_m >= beyond_m {
            return Some(distance_m);
        }
        if beyond_m > within_m {
            return None;
        }
        if !self.arcs_inside(from, beyond_m).is_empty() {
            return Some(beyond_m);
        }
        // The circle meets nothing: every edge lies wholly before it or wholly beyond.
        self.tree.nearest_edge_beyond(from, beyond_m * beyond_m, within_m * within_m).map(|(_, squared)| squared.sqrt())
    }

    /// The bearings in which a circle runs inside this area, ascending from -pi and apart from each other.
    pub(super) fn arcs_inside(&self, centre: Coord<f64>, radius_m: f64) -> Vec<Range> {
        let mut bearings = vec![Bearing::START, Bearing::END];
        if let Some(root) = self.tree.root {
            self.crossings(root, centre, radius_m, &mut bearings);
        }
        bearings.sort_by(|a, b| a.angle.total_cmp(&b.angle));
        let mut arcs: Vec<Range> = Vec::new();
        for pair in bearings.windows(2).filter(|pair| pair[0].angle < pair[1].angle) {
            let middle = f64::midpoint(pair[0].angle, pair[1].angle);
            if !self.inside(centre + Coord { x: middle.cos(), y: middle.sin() } * radius_m) {
                continue;
            }
            match arcs.last_mut().filter(|last| last.1.angle == pair[0].angle) {
                Some(last) => last.1 = pair[1],
                None => arcs.push((pair[0], pair[1])),
            }
        }
        arcs
    }

    /// Adds the bearings in which the boundary crosses a circle.
    fn crossings(&self, node: u32, centre: Coord<f64>, radius_m: f64, bearings: &mut Vec<Bearing>) {
        let node = &self.tree.nodes[node as usize];
        if node.distance_squared(centre) > radius_m * radius_m || node.furthest_squared(centre) < radius_m * radius_m {
            return;
        }
        match node.content {
            Content::Leaf { first, last, .. } => {
                for (p, q) in self.tree.edges(first, last) {
                    let (p, q) = (p - centre, q - centre);
                    let Some((a, b)) = chord(p, q, radius_m) else { continue };
                    bearings.extend(
                        [(a, p), (b, q)].into_iter().filter(|(cut, end)| cut != end).map(|(cut, _)| Bearing::of(cut)),
                    );
                }
            }
            Content::Chain { children, .. } | Content::Group { children } => {
                children.into_iter().for_each(|child| self.crossings(child, centre, radius_m, bearings));
            }
        }
    }
}

/// The parts of an edge that run anticlockwise between two circles around the centre.
pub(super) fn between_circles((p, q): Edge, beyond_m: f64, radius_m: f64) -> impl Iterator<Item = Segment> {
    let before = if beyond_m > 0.0 { chord(p, q, beyond_m) } else { None };
    let parts = match before {
        None => [Some((p, q)), None],
        Some((a, b)) => [Some((p, a)), Some((b, q))],
    };
    parts.into_iter().flatten().filter_map(move |(p, q)| Segment::in_disc(p, q, radius_m))
}

#[cfg(test)]
#[path = "beyond_tests.rs"]
mod tests;
