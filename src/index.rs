//! **index**: the works' bounding boxes in an R-tree; answers which works can reach a place.
//!
//! The only user of `rstar`. Answers are candidates only, in ascending work order, so that nothing that follows depends
//! on how the tree was built. Most trees of a city are near no work at all, which a few bits of a grid tell without a walk through the R-tree.

mod cells;

use cells::Cells;
use geo::{BoundingRect, Coord, MultiPolygon, Rect};
use rstar::primitives::{GeomWithData, Rectangle};
use rstar::{AABB, RTree};

type Boxed = GeomWithData<Rectangle<[f64; 2]>, u32>;

/// An index over the works of a run.
pub struct WorkIndex {
    tree: RTree<Boxed>,
    cells: Cells,
}

impl WorkIndex {
    /// Builds the index; `shapes` gives each work's number and ground. Empty shapes are left out.
    pub fn new<'a>(shapes: impl Iterator<Item = (u32, &'a MultiPolygon<f64>)>) -> WorkIndex {
        let boxes: Vec<(Rect<f64>, u32)> =
            shapes.filter_map(|(work, shape)| Some((shape.bounding_rect()?, work))).collect();
        let cells = Cells::new(boxes.iter().map(|(bounds, _)| *bounds));
        let boxed = |(bounds, work): (Rect<f64>, u32)| {
            let corners = Rectangle::from_corners(bounds.min().x_y().into(), bounds.max().x_y().into());
            Boxed::new(corners, work)
        };
        WorkIndex { tree: RTree::bulk_load(boxes.into_iter().map(boxed).collect()), cells }
    }

    /// Fills `found` with the works whose box lies within `distance_m` of the place along either axis, ascending.
    pub fn near(&self, place: Coord<f64>, distance_m: f64, found: &mut Vec<u32>) {
        found.clear();
        let far = Coord { x: distance_m, y: distance_m };
        let (low, high) = (place - far, place + far);
        if !self.cells.may_meet(low, high) {
            return;
        }
        let window = AABB::from_corners(low.x_y().into(), high.x_y().into());
        found.extend(self.tree.locate_in_envelope_intersecting(&window).map(|boxed| boxed.data));
        found.sort_unstable();
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use geo::coord;
    use proptest::prelude::*;

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

    proptest! {
        /// Against a look at every box, also where boxes touch the window, cover everything or have no width.
        #[test]
        fn exactly_the_works_whose_box_meets_the_window(
            boxes in prop::collection::vec((-50i32..50, -50i32..50, 0i32..40, 0i32..40), 0..30),
            (x, y, distance) in (-80i32..80, -80i32..80, 0i32..30),
            scale in prop_oneof![Just(0.25), Just(7.0), Just(9000.0)],
        ) {
            let at = |v: i32| f64::from(v) * scale;
            let rects: Vec<Rect<f64>> = boxes
                .iter()
                .map(|&(x, y, w, h)| Rect::new(coord! { x: at(x), y: at(y) }, coord! { x: at(x + w), y: at(y + h) }))
                .collect();
            let shapes: Vec<MultiPolygon<f64>> = rects.iter().map(|rect| rect.to_polygon().into()).collect();
            let index = WorkIndex::new((0..).zip(&shapes));
            let mut found = Vec::new();
            index.near(coord! { x: at(x), y: at(y) }, at(distance), &mut found);
            let meets = |rect: &Rect<f64>| {
                rect.min().x <= at(x + distance) && rect.max().x >= at(x - distance)
                    && rect.min().y <= at(y + distance) && rect.max().y >= at(y - distance)
            };
            let expected: Vec<u32> = (0..).zip(&rects).filter(|(_, rect)| meets(rect)).map(|(work, _)| work).collect();
            prop_assert_eq!(found, expected);
        }
    }
}
