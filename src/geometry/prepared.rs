//! Turns a union of polygons into a form that answers, for any disc, how much of the disc it covers and how far away it is.
//!
//! The area of a disc under a union is a sum along the union's boundary, exact in closed form: nothing is drawn as a
//! many-sided polygon. It must not be given overlapping parts, which would count twice: see [`union`](super::union()).

use super::chain::{ChainTree, Content};
use super::edge::{angle, chain_in_disc_m2, dot};
use geo::{Coord, LineString, MultiPolygon, Polygon, Rect};
use std::f64::consts::PI;

/// A union of polygons under a hierarchy of boxes, ready for many questions about small discs.
///
/// # Units
/// Metres in a measuring CRS; coordinates of a million metres cost no precision, because the centre is subtracted first.
#[derive(Debug, Clone, Default)]
pub struct PreparedArea {
    pub(super) tree: ChainTree,
}

impl PreparedArea {
    /// Prepares polygons with disjoint interiors and finite coordinates, in any ring order and with any ring start.
    ///
    /// Rings with fewer than three different points, or without area, are left out.
    pub fn new(area: &MultiPolygon<f64>) -> PreparedArea {
        PreparedArea { tree: ChainTree::new(area) }
    }

    /// Whether there is no ground in it.
    pub fn is_empty(&self) -> bool {
        self.tree.root.is_none()
    }

    /// The bounding box; `None` where empty.
    pub fn bounds(&self) -> Option<Rect<f64>> {
        let root = &self.tree.nodes[self.tree.root? as usize];
        Some(Rect::new(root.min, root.max))
    }

    /// The polygons that it was made of: shells anticlockwise, holes clockwise, metres.
    pub fn polygons(&self) -> MultiPolygon<f64> {
        let mut polygons: Vec<(u32, Polygon<f64>)> = Vec::new();
        let ends = self.tree.rings.iter().skip(1).map(|next| next.first as usize).chain([self.tree.points.len()]);
        for (ring, end) in self.tree.rings.iter().zip(ends) {
            let points = LineString(self.tree.points[ring.first as usize..end].to_vec());
            match polygons.last_mut().filter(|(part, _)| *part == ring.part) {
                Some((_, polygon)) if ring.hole => polygon.interiors_push(points),
                _ => polygons.push((ring.part, Polygon::new(points, Vec::new()))),
            }
        }
        MultiPolygon(polygons.into_iter().map(|(_, polygon)| polygon).collect())
    }

    /// The area of the part of the disc that this area covers, square metres, 0 to pi r^2.
    ///
    /// # Source
    /// Green's theorem: the area is the sum over directed edges of the triangle (centre, p, q) cut to the disc. A chain of edges whose box
    /// does not meet the disc lies in a convex set without the centre, so it adds r^2 / 2 times the angle between its two ends.
    pub fn disc_area_m2(&self, centre: Coord<f64>, radius_m: f64) -> f64 {
        let Some(root) = self.tree.root else { return 0.0 };
        if radius_m.is_nan() || radius_m <= 0.0 {
            return 0.0;
        }
        self.disc_sum(root, centre, radius_m).clamp(0.0, PI * radius_m * radius_m)
    }

    fn disc_sum(&self, node: u32, centre: Coord<f64>, radius_m: f64) -> f64 {
        let node = &self.tree.nodes[node as usize];
        let outside = node.distance_squared(centre) >= radius_m * radius_m;
        match node.content {
            Content::Group { .. } if outside => 0.0,
            Content::Leaf { first, last, .. } | Content::Chain { first, last, .. } if outside => {
                let [start, end] = [first, last].map(|index| self.tree.points[index as usize] - centre);
                0.5 * radius_m * radius_m * angle(start, end)
            }
            Content::Leaf { first, last, .. } => {
                chain_in_disc_m2(self.tree.chain_points(first, last), centre, radius_m)
            }
            Content::Chain { children, .. } | Content::Group { children } => {
                children.into_iter().map(|child| self.disc_sum(child, centre, radius_m)).sum()
            }
        }
    }

    /// The distance from a point to this area, metres: 0 inside or on the boundary, `None` where it is more than `within_m`.
    pub fn distance_m(&self, from: Coord<f64>, within_m: f64) -> Option<f64> {
        if within_m.is_nan() || within_m < 0.0 {
            return None;
        }
        if self.inside(from) {
            return Some(0.0);
        }
        self.boundary_distance_m(from, within_m)
    }

    /// The distance from a point, inside or outside, to the nearest edge, metres; `None` where it is more than `within_m`.
    pub fn boundary_distance_m(&self, from: Coord<f64>, within_m: f64) -> Option<f64> {
        self.tree.nearest_edge(from, within_m * within_m).map(|(_, squared)| squared.sqrt())
    }

    /// The way from a place to the nearest point of the boundary; `None` for an empty area.
    pub fn way_to_boundary(&self, from: Coord<f64>) -> Option<Coord<f64>> {
        let ((start, end), _) = self.tree.nearest_edge(from, f64::INFINITY)?;
        let along = end - start;
        let share = (dot(from - start, along) / dot(along, along)).clamp(0.0, 1.0);
        Some(start + along * share - from)
    }

    /// Whether a point lies inside or exactly on the boundary.
    pub fn contains(&self, point: Coord<f64>) -> bool {
        self.distance_m(point, 0.0).is_some()
    }

    /// Whether a point lies inside; either answer for a point on the boundary.
    pub(super) fn inside(&self, point: Coord<f64>) -> bool {
        self.tree.winding(point, &|_| true) != 0
    }
}

#[cfg(test)]
#[path = "prepared_tests.rs"]
mod tests;
