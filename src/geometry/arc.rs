//! Arcs as chains of points that enclose exactly the area of the true arc.
//!
//! An inscribed polygon is too small and a circumscribed one too large; here the inner points lie slightly outside the arc, by the
//! amount that makes the area exact, so that neither side is favoured.

use geo::{Coord, LineString, Polygon};
use std::f64::consts::PI;

/// The angle of a chord that departs from its arc by `sagitta_m`, radians: `sagitta = r (1 - cos(angle / 2))`.
fn step_for(radius_m: f64, sagitta_m: f64) -> f64 {
    2.0 * (1.0 - (sagitta_m / radius_m).min(1.0)).clamp(-1.0, 1.0).acos()
}

/// The whole circle as a polygon of exactly the disc's area, anticlockwise from the direction of x.
///
/// The sides are as many as a departure of `sagitta_m` asks for, within `least` and `most`. With n sides of the angle `t = 2 pi / n` the polygon
/// of radius R has the area `n R^2 sin(t) / 2`, which is `pi r^2` where `R = r sqrt(t / sin t)`.
pub(super) fn circle(centre: Coord<f64>, radius_m: f64, sagitta_m: f64, least: u32, most: u32) -> Polygon<f64> {
    let sides = (2.0 * PI / step_for(radius_m, sagitta_m)).ceil().clamp(f64::from(least), f64::from(most)) as u32;
    let step = 2.0 * PI / f64::from(sides);
    let reach_m = radius_m * (step / step.sin()).sqrt();
    let points = (0..sides).map(|side| {
        let turn = step * f64::from(side);
        Coord { x: centre.x + reach_m * turn.cos(), y: centre.y + reach_m * turn.sin() }
    });
    Polygon::new(LineString(points.collect()), Vec::new())
}

/// A polygon around the origin that holds the whole disc and departs from its circle by no more than `sagitta_m`, anticlockwise.
///
/// Its sides touch the circle in their middles.
pub(super) fn around_disc(radius_m: f64, sagitta_m: f64) -> Polygon<f64> {
    let sides = (2.0 * PI / step_for(radius_m, sagitta_m)).ceil().clamp(32.0, 4096.0);
    let corner_m = radius_m / (PI / sides).cos();
    let points = (0..sides as u32).map(|side| {
        let (sine, cosine) = (2.0 * PI * f64::from(side) / sides).sin_cos();
        Coord { x: corner_m * cosine, y: corner_m * sine }
    });
    Polygon::new(LineString(points.collect()), Vec::new())
}

/// Adds the inner points of the arc around the origin from `from` through `turn` radians, anticlockwise; its two ends are not added.
///
/// With the two ends on the arc and the inner points at R, m steps of the angle t enclose `sin(t) (2 r R + (m - 2) R^2) / 2`, which is the
/// sector's `r^2 turn / 2` where `R = r k / (1 + sqrt(1 + (m - 2) k))`, `k = turn / sin t`.
pub(super) fn arc_points(from: Coord<f64>, turn: f64, sagitta_m: f64, points: &mut Vec<Coord<f64>>) {
    let radius_m = from.x.hypot(from.y);
    let steps = (turn / step_for(radius_m, sagitta_m)).ceil().clamp(2.0, 4096.0);
    let step = turn / steps;
    if step == 0.0 {
        return;
    }
    let ratio = turn / step.sin();
    let reach = ratio / (1.0 + (1.0 + (steps - 2.0) * ratio).sqrt());
    for index in 1..steps as u32 {
        let (sine, cosine) = (step * f64::from(index)).sin_cos();
        points.push(Coord { x: cosine * from.x - sine * from.y, y: sine * from.x + cosine * from.y } * reach);
    }
}

/// The sector at `centre` from `centre + arm` through `turn` radians to `centre + end_arm`, anticlockwise, with exactly the sector's area.
pub(super) fn sector(
    centre: Coord<f64>,
    arm: Coord<f64>,
    end_arm: Coord<f64>,
    turn: f64,
    sagitta_m: f64,
) -> Polygon<f64> {
    let mut inner = Vec::new();
    arc_points(arm, turn, sagitta_m, &mut inner);
    let mut points = vec![centre, centre + arm];
    points.extend(inner.into_iter().map(|point| centre + point));
    points.push(centre + end_arm);
    Polygon::new(LineString(points), Vec::new())
}
