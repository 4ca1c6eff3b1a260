//! Existing barriers to roots, cut into small parts that overlap their neighbours, to be found near a tree and put together there.
//!
//! A city's roads can be one polygon with a million points, which no tree should have to touch. So it is halved until the parts are small. Halves
//! share a strip: a seam, rounded twice, would leave a crack through which roots find their way. Parts remember what they were cut from, because a
//! barrier on which a trunk stands is passed over as a whole.

use super::pieces::side;
use super::prepared::PreparedArea;
use geo::orient::{Direction, Orient};
use geo::{BoundingRect, Coord, MultiPolygon, Polygon};
use rayon::prelude::*;

/// Parts with fewer points are not halved any further.
const POINTS_WORTH_HALVING: usize = 128;
/// Nor are places smaller than this along their longer side, metres.
const SMALLEST_M: f64 = 8.0;
/// The half width of the strip that two halves share, metres.
const SHARED_M: f64 = 0.25;
/// Halving must not make more points than this share of those it had.
const LARGEST_GROWTH: f64 = 1.5;

/// Barriers that roots do not pass.
#[derive(Debug, Clone, Default)]
pub struct Barriers {
    /// The polygons as given.
    wholes: Vec<PreparedArea>,
    /// Small parts and the polygon each was cut from.
    parts: Vec<(u32, MultiPolygon<f64>)>,
}

impl Barriers {
    /// Cuts up valid shapes, which may overlap one another.
    pub fn new<'a>(shapes: impl Iterator<Item = &'a MultiPolygon<f64>>) -> Barriers {
        let polygons: Vec<Polygon<f64>> =
            shapes.flat_map(|shape| &shape.0).map(|polygon| polygon.orient(Direction::Default)).collect();
        let cut: Vec<(PreparedArea, Vec<Polygon<f64>>)> = polygons
            .into_par_iter()
            .map(|polygon| (PreparedArea::new(&MultiPolygon(vec![polygon.clone()])), cut_up(polygon)))
            .collect();
        let mut barriers = Barriers::default();
        for (number, (whole, parts)) in (0u32..).zip(cut) {
            barriers.wholes.push(whole);
            barriers.parts.extend(parts.into_iter().map(|part| (number, MultiPolygon(vec![part]))));
        }
        barriers
    }

    /// The parts with their numbers, for an index.
    pub fn parts(&self) -> impl Iterator<Item = (u32, &MultiPolygon<f64>)> {
        (0u32..).zip(self.parts.iter().map(|(_, part)| part))
    }

    /// Whether there are none.
    pub fn is_empty(&self) -> bool {
        self.parts.is_empty()
    }

    /// Of the barriers of which `near` lists parts, those nearer to the place than `within_m`, ascending: first those beside it, then those on which it stands.
    pub(super) fn beside_and_under(&self, near: &[u32], place: Coord<f64>, within_m: f64) -> (Vec<u32>, Vec<u32>) {
        let mut wholes: Vec<u32> = near.iter().map(|&part| self.parts[part as usize].0).collect();
        wholes.sort_unstable();
        wholes.dedup();
        let distance_m = |whole: &u32| self.wholes[*whole as usize].distance_m(place, within_m);
        wholes.retain(|whole| distance_m(whole).is_some_and(|distance_m| distance_m < within_m));
        wholes.into_iter().partition(|whole| distance_m(whole) != Some(0.0))
    }

    /// Those of the listed parts that belong to the given barriers (ascending).
    pub(super) fn parts_of<'a>(
        &'a self,
        wholes: &'a [u32],
        near: &'a [u32],
    ) -> impl Iterator<Item = &'a MultiPolygon<f64>> {
        let parts = near.iter().map(|&part| &self.parts[part as usize]);
        parts.filter(|(whole, _)| wholes.binary_search(whole).is_ok()).map(|(_, part)| part)
    }
}

fn cut_up(polygon: Polygon<f64>) -> Vec<Polygon<f64>> {
    let (mut open, mut done) = (vec![polygon], Vec::new());
    while let Some(polygon) = open.pop() {
        match halves(&polygon) {
            Some(halves) => open.extend(halves),
            None => done.push(polygon),
        }
    }
    done
}

/// Two halves that share a strip; `None` where the polygon is small enough, or halving does not help.
fn halves(polygon: &Polygon<f64>) -> Option<Vec<Polygon<f64>>> {
    let before = points(polygon);
    let bounds = polygon.bounding_rect()?;
    if before < POINTS_WORTH_HALVING || bounds.width().max(bounds.height()) < SMALLEST_M {
        return None;
    }
    let along_x = bounds.width() >= bounds.height();
    let at = if along_x { bounds.center().x } else { bounds.center().y };
    let halves = [side(polygon, along_x, at + SHARED_M, 1.0), side(polygon, along_x, at - SHARED_M, -1.0)];
    let halves: Vec<Polygon<f64>> = halves.into_iter().flatten().collect();
    let after: usize = halves.iter().map(points).sum();
    (after as f64 <= LARGEST_GROWTH * before as f64).then_some(halves)
}

fn points(polygon: &Polygon<f64>) -> usize {
    polygon.exterior().0.len() + polygon.interiors().iter().map(|ring| ring.0.len()).sum::<usize>()
}
