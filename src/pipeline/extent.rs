//! Bounding rectangles of places and shapes.

use crate::geometry::union::enclosing;
use geo::{BoundingRect, Coord, MultiPolygon, Rect, coord};

/// The rectangle around nothing, one, or many places.
#[derive(Debug, Clone, Copy, Default)]
pub(super) struct Extent(pub Option<Rect<f64>>);

impl Extent {
    /// Takes in a place.
    pub(super) fn take(&mut self, place: Coord<f64>) {
        self.join(Extent(Some(Rect::new(place, place))));
    }

    /// Takes in another extent.
    pub(super) fn join(&mut self, other: Extent) {
        self.0 = match (self.0, other.0) {
            (Some(a), Some(b)) => Some(enclosing(a, b)),
            (a, b) => a.or(b),
        };
    }

    /// The extent of shapes.
    pub(super) fn of<'a>(shapes: impl Iterator<Item = &'a MultiPolygon<f64>>) -> Extent {
        let mut all = Extent::default();
        shapes.for_each(|shape| all.join(Extent(shape.bounding_rect())));
        all
    }

    /// The gap between two extents, 0 where they meet; `None` where either holds nothing.
    pub(super) fn gap(self, other: Extent) -> Option<f64> {
        let (a, b) = (self.0?, other.0?);
        let along = |a_low: f64, a_high: f64, b_low: f64, b_high: f64| (b_low - a_high).max(a_low - b_high).max(0.0);
        let dx = along(a.min().x, a.max().x, b.min().x, b.max().x);
        let dy = along(a.min().y, a.max().y, b.min().y, b.max().y);
        Some(dx.hypot(dy))
    }
}

/// The four corners of a rectangle and its centre.
pub(super) fn corners(rect: Rect<f64>) -> [Coord<f64>; 5] {
    let (low, high) = (rect.min(), rect.max());
    [low, high, coord! { x: low.x, y: high.y }, coord! { x: high.x, y: low.y }, rect.center()]
}

/// Up to `most` of the places, those nearest to the middle (the median of x and of y) first: one stray place does not lead.
pub(super) fn middle_first(mut places: Vec<Coord<f64>>, most: usize) -> Vec<Coord<f64>> {
    places.retain(|place| place.x.is_finite() && place.y.is_finite());
    let median = |pick: fn(&Coord<f64>) -> f64| {
        let mut values: Vec<f64> = places.iter().map(pick).collect();
        let half = values.len() / 2;
        *values.select_nth_unstable_by(half, f64::total_cmp).1
    };
    if places.is_empty() {
        return places;
    }
    let middle = coord! { x: median(|place| place.x), y: median(|place| place.y) };
    // Of places as far off, the earlier one comes first.
    let off = |(at, place): (usize, &Coord<f64>)| ((place.x - middle.x).hypot(place.y - middle.y), at);
    let by_distance = |a: &(f64, usize), b: &(f64, usize)| a.0.total_cmp(&b.0).then(a.1.cmp(&b.1));
    let mut distances: Vec<(f64, usize)> = places.iter().enumerate().map(off).collect();
    if most < distances.len() {
        distances.select_nth_unstable_by(most, by_distance);
        distances.truncate(most);
    }
    distances.sort_unstable_by(by_distance);
    distances.into_iter().map(|(_, at)| places[at]).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_stray_place_does_not_lead() {
        let mut places: Vec<Coord<f64>> = (0..9).map(|i| coord! { x: 500.0 + f64::from(i), y: 40.0 }).collect();
        places.insert(0, coord! { x: 1.0, y: 95.0 });
        let first = middle_first(places, 3);
        assert_eq!(first.len(), 3);
        assert!(first.iter().all(|place| place.y == 40.0), "{first:?}");
    }
}
