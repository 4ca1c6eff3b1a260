//! Shapes near the trees of one permit: cut, taken away and united around a local origin.
//!
//! Works, buildings, surfaces and the site come in small pieces under a hierarchy of boxes, so that a tree costs what is near it.

use super::staying::Staying;
use crate::geometry::overlay;
use crate::geometry::{Pieces, grow_with_corners};
use geo::bool_ops::{FillRule, OpType};
use geo::orient::{Direction, Orient};
use geo::{Area, Coord, MapCoords, MultiPolygon, Polygon};
use std::collections::BTreeMap;

/// Parts smaller than this are rounding and not ground, square metres.
const DUST_M2: f64 = 1e-5;

/// Shapes relative to an origin near them, wound anticlockwise: what the overlay engine works on.
#[derive(Debug, Clone)]
pub(super) struct Local {
    origin: Coord<f64>,
    pub shape: MultiPolygon<f64>,
}

impl Local {
    /// Disjoint or overlapping polygons as one union.
    pub fn union_of<'a>(origin: Coord<f64>, polygons: impl IntoIterator<Item = &'a Polygon<f64>>) -> Local {
        let local: Vec<Polygon<f64>> = polygons.into_iter().map(|polygon| moved(polygon, origin)).collect();
        let shape = match local.len() {
            0 | 1 => MultiPolygon(local),
            _ => overlay(&MultiPolygon(local), &MultiPolygon::<f64>(Vec::new()), OpType::Union, FillRule::Positive),
        };
        Local { origin, shape }
    }

    /// What of it lies in another.
    pub fn within(&self, other: &Local) -> Local {
        if self.is_empty() || other.is_empty() {
            return Local { origin: self.origin, shape: MultiPolygon(Vec::new()) };
        }
        self.overlay(other, OpType::Intersection)
    }

    /// What of it lies outside another.
    pub fn without(&self, other: &Local) -> Local {
        if self.is_empty() || other.is_empty() {
            return self.clone();
        }
        self.overlay(other, OpType::Difference)
    }

    fn overlay(&self, other: &Local, operation: OpType) -> Local {
        let shape = overlay(&self.shape, &other.shape, operation, FillRule::Positive);
        let mut shape = shape.orient(Direction::Default);
        shape.0.retain(|part| part.unsigned_area() > DUST_M2);
        Local { origin: self.origin, shape }
    }

    pub fn is_empty(&self) -> bool {
        self.shape.0.is_empty()
    }

    pub fn area_m2(&self) -> f64 {
        self.shape.unsigned_area()
    }

    /// Back in the measuring CRS.
    pub fn placed(&self) -> MultiPolygon<f64> {
        self.shape.map_coords(|c| c + self.origin).orient(Direction::Default)
    }
}

fn moved(polygon: &Polygon<f64>, origin: Coord<f64>) -> Polygon<f64> {
    polygon.map_coords(|c| c - origin).orient(Direction::Default)
}

/// The pieces near any of the trees, each once, in a fixed order.
pub(super) fn near<'a>(pieces: &'a Pieces, trees: &[&Staying], margin_m: f64) -> Vec<&'a Polygon<f64>> {
    let mut found: BTreeMap<(u64, u64, usize), &Polygon<f64>> = BTreeMap::new();
    for tree in trees {
        for piece in pieces.near(tree.window(margin_m)) {
            // Pieces are disjoint: where one begins, and its number of corners, tell it from the others.
            let start = piece.exterior().0.first().copied().unwrap_or_default();
            found.entry((start.x.to_bits(), start.y.to_bits(), piece.exterior().0.len())).or_insert(piece);
        }
    }
    found.into_values().collect()
}

/// The pieces near the trees, each grown by a clearance.
pub(super) fn grown(pieces: &Pieces, trees: &[&Staying], clearance_m: f64) -> Pieces {
    let grown: Vec<MultiPolygon<f64>> = near(pieces, trees, clearance_m * 1.2)
        .into_iter()
        .map(|piece| grow_with_corners(piece, clearance_m, crate::geometry::corners::BLUNT))
        .collect();
    Pieces::new(&grown.iter().collect::<Vec<_>>())
}
