//! **index**: the works' bounding boxes in an R-tree; answers which works can reach a place.
//!
//! The only user of `rstar`. Answers are candidates only, in ascending work order, so that nothing that follows depends
//! on how the tree was built.

use geo::{BoundingRect, Coord, MultiPolygon};
use rstar::primitives::{GeomWithData, Rectangle};
use rstar::{AABB, RTree};

type Boxed = GeomWithData<Rectangle<[f64; 2]>, u32>;

/// An index over the works of a run.
pub struct WorkIndex {
    tree: RTree<Boxed>,
}

impl WorkIndex {
    /// Builds the index; `shapes` gives each work's number and ground. Empty shapes are left out.
    pub fn new<'a>(shapes: impl Iterator<Item = (u32, &'a MultiPolygon<f64>)>) -> WorkIndex {
        let boxes = shapes
            .filter_map(|(work, shape)| {
                let bounds = shape.bounding_rect()?;
                let corners =
                    Rectangle::from_corners([bounds.min().x, bounds.min().y], [bounds.max().x, bounds.max().y]);
                Some(Boxed::new(corners, work))
            })
            .collect();
        WorkIndex { tree: RTree::bulk_load(boxes) }
    }

    /// Fills `found` with the works whose box lies within `distance_m` of the place along either axis, ascending.
    pub fn near(&self, place: Coord<f64>, distance_m: f64, found: &mut Vec<u32>) {
        found.clear();
        let window = AABB::from_corners(
            [place.x - distance_m, place.y - distance_m],
            [place.x + distance_m, place.y + distance_m],
        );
        found.extend(self.tree.locate_in_envelope_intersecting(&window).map(|boxed| boxed.data));
        found.sort_unstable();
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use geo::{Rect, coord};

    #[test]
    fn works_come_in_order_and_only_when_near() {
        let square =
            |x: f64| MultiPolygon::from(Rect::new(coord! {x: x, y: 0.0}, coord! {x: x + 1.0, y: 1.0}).to_polygon());
        let shapes: Vec<_> = [30.0, 0.0, 10.0].into_iter().map(square).collect();
        let index = WorkIndex::new(shapes.iter().enumerate().map(|(i, s)| (i as u32, s)));
        let mut found = Vec::new();
        index.near(coord! {x: 5.0, y: 0.5}, 5.0, &mut found);
        assert_eq!(found, [1, 2]);
        index.near(coord! {x: 20.0, y: 0.5}, 2.0, &mut found);
        assert!(found.is_empty());
    }
}
