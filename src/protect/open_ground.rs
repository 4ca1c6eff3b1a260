//! A root zone less works and existing surfaces: how much ground is open, and whether a point lies on it.
//!
//! Areas are exact, in closed form along the boundaries.

use crate::geometry::{Pieces, PreparedArea, union};
use crate::model::work::{Permit, Work};
use geo::{Coord, MultiPolygon};
use std::f64::consts::PI;

/// Existing pavement and buildings of the whole run, ready for questions.
#[derive(Debug, Clone, Default)]
pub struct Surfaces {
    pieces: Option<Pieces>,
    area: PreparedArea,
}

impl Surfaces {
    /// Prepares valid shapes, which may overlap.
    pub fn new(shapes: &[MultiPolygon<f64>]) -> Surfaces {
        if shapes.is_empty() {
            return Surfaces::default();
        }
        let pieces = Pieces::new(&shapes.iter().collect::<Vec<_>>());
        Surfaces { area: pieces.prepared(), pieces: Some(pieces) }
    }
}

/// What is not open under one permit.
pub struct OpenGround<'a> {
    surfaces: &'a Surfaces,
    /// The permit's works where no surface lies already.
    works: PreparedArea,
    /// The same in pieces.
    pieces: Pieces,
}

impl<'a> OpenGround<'a> {
    /// Prepares the counted works of a permit.
    pub fn new(surfaces: &'a Surfaces, permit: &Permit, works: &[Work]) -> OpenGround<'a> {
        let counted = permit.works.iter().map(|&work| &works[work as usize]).filter(|work| work.counted());
        let shapes: Vec<&MultiPolygon<f64>> = counted.map(|work| &work.shape).collect();
        let united = union(&shapes);
        let outside = surfaces.pieces.as_ref().and_then(|pieces| pieces.outside(&united));
        let works = outside.unwrap_or(united);
        OpenGround { surfaces, works: PreparedArea::new(&works), pieces: Pieces::new(&[&works]) }
    }

    /// The open part of the ground that shapes a zone.
    pub fn of_shape(&self, ground: &MultiPolygon<f64>) -> PreparedArea {
        let surfaces = self.surfaces.pieces.as_ref();
        let unsurfaced = surfaces.and_then(|pieces| pieces.outside(ground));
        let unsurfaced = unsurfaced.as_ref().unwrap_or(ground);
        PreparedArea::new(self.pieces.outside(unsurfaced).as_ref().unwrap_or(unsurfaced))
    }

    /// Area of the open part of a disc, square metres.
    pub fn open_m2(&self, centre: Coord<f64>, radius_m: f64) -> f64 {
        let taken = self.works.disc_area_m2(centre, radius_m) + self.surfaces.area.disc_area_m2(centre, radius_m);
        (PI * radius_m * radius_m - taken).max(0.0)
    }

    /// Whether a point lies on open ground.
    pub fn is_open(&self, point: Coord<f64>) -> bool {
        !self.works.contains(point) && !self.surfaces.area.contains(point)
    }
}
