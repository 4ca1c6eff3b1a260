//! Turns what lies behind the cuts around a trunk into polygons for drawings.
//!
//! The outline follows the near side of the cuts that the trunk sees, and the arc of the zone behind them. It is for the eye: areas come
//! from [`Sight`]. What is drawn holds the cuts themselves where they lie behind their own near side, as the measure does.

use super::envelope::{Bearing, Front};
use super::outline::{cut_to_square, disc_outline};
use super::prepared::PreparedArea;
use super::severed::Sight;
use geo::{Coord, LineString, MapCoords, MultiPolygon, Polygon};
use std::f64::consts::PI;

/// Steps of an arc in a full turn; at 15 m of radius the chord leaves the arc by 2 mm.
const STEPS: f64 = 180.0;
/// Shadows narrower than this are not drawn, radians.
const NARROWEST: f64 = 1e-6;

/// The ground of a disc that severing works cut off from its centre: shells counter-clockwise, metres.
///
/// Empty where nothing is severed or the radius is not above 0; the whole disc where the centre stands inside a work.
pub fn severed_outline(cuts: &[&MultiPolygon<f64>], centre: Coord<f64>, radius_m: f64) -> MultiPolygon<f64> {
    if !radius_m.is_finite() || radius_m <= 0.0 {
        return MultiPolygon(Vec::new());
    }
    let polygons = cuts.iter().flat_map(|shape| &shape.0);
    let near: Vec<Polygon<f64>> =
        polygons.filter_map(|polygon| cut_to_square(polygon, centre, 2.0 * radius_m)).collect();
    if near.is_empty() {
        return MultiPolygon(Vec::new());
    }
    let local = PreparedArea::new(&MultiPolygon(near));
    let sight = Sight::new(&local, Coord { x: 0.0, y: 0.0 }, radius_m);
    shadows(&sight).map_coords(|point| point + centre)
}

/// A stretch of bearings in which something is in the way, and the near side of it.
struct Shadow {
    from: f64,
    to: f64,
    near: Vec<Coord<f64>>,
}

fn shadows(sight: &Sight) -> MultiPolygon<f64> {
    let disc = || disc_outline(sight.origin, sight.radius_m);
    if sight.blind {
        return MultiPolygon(vec![disc()]);
    }
    let mut found: Vec<Shadow> = Vec::new();
    for (index, piece) in sight.pieces.iter().enumerate() {
        let Front::Segment(segment) = piece.front else { continue };
        let segment = &sight.segments[segment as usize];
        let (from, to) = (piece.from, sight.piece_end(index));
        let at = |bearing: Bearing| bearing.unit * segment.distance_m(bearing.unit).min(sight.radius_m);
        match found.last_mut().filter(|last| last.to == from.angle) {
            Some(last) => {
                last.near.extend([at(from), at(to)]);
                last.to = to.angle;
            }
            None => found.push(Shadow { from: from.angle, to: to.angle, near: vec![at(from), at(to)] }),
        }
    }
    if let [all] = &found[..]
        && all.from == -PI
        && all.to == PI
    {
        let hole = LineString(all.near.iter().rev().map(|&point| point + sight.origin).collect());
        return MultiPolygon(vec![Polygon::new(disc().exterior().clone(), vec![hole])]);
    }
    join_at_the_end(&mut found);
    let wide = found.iter().filter(|shadow| shadow.to - shadow.from > NARROWEST);
    MultiPolygon(wide.map(|shadow| shadow.polygon(sight)).collect())
}

/// A shadow that runs across the bearing of pi was found in two parts.
fn join_at_the_end(found: &mut Vec<Shadow>) {
    let both = found.len() > 1
        && found.first().is_some_and(|shadow| shadow.from == -PI)
        && found.last().is_some_and(|shadow| shadow.to == PI);
    if both && let Some(mut last) = found.pop() {
        let first = found.remove(0);
        last.near.extend(first.near);
        last.to = first.to + 2.0 * PI;
        found.push(last);
    }
}

impl Shadow {
    /// The arc anticlockwise, then back along the near side.
    fn polygon(&self, sight: &Sight) -> Polygon<f64> {
        let turn = self.to - self.from;
        let steps = (turn / (2.0 * PI) * STEPS).ceil().max(1.0);
        #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "1 to 180")]
        let arc = (0..=steps as u32).map(|step| {
            let angle = self.from + turn * f64::from(step) / steps;
            Coord { x: angle.cos(), y: angle.sin() } * sight.radius_m
        });
        let mut points: Vec<Coord<f64>> =
            arc.chain(self.near.iter().rev().copied()).map(|point| point + sight.origin).collect();
        points.dedup();
        Polygon::new(LineString(points), Vec::new())
    }
}

#[cfg(test)]
#[path = "severed_outline_tests.rs"]
mod tests;
