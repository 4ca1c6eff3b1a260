//! Converts points by a settled operation: one [`Projector`] per worker, because PROJ's objects cannot be shared between threads.
//!
//! Every point is checked: finite going in and coming out, within the area of use; works and trees in reach also there and back. It
//! must not choose an operation.

use super::operation::{Operation, resolve};
use super::sound::Sound;
use super::{MeasuringCrs, crs_error, wgs84};
use crate::error::Result;
use geo::{Coord, Geometry, MapCoords};
use proj::Proj;
use std::cell::RefCell;
use std::mem::ManuallyDrop;
use std::rc::Rc;

/// How far a point may land from itself after there and back, in metres.
pub const ROUND_TRIP_LIMIT_M: f64 = 0.001;

/// Why a point cannot be used.
#[derive(Debug, Clone, Copy, PartialEq, thiserror::Error)]
pub enum PointProblem {
    /// A coordinate is not a finite number, before or after conversion.
    #[error("not a finite place")]
    NotFinite,
    /// The point lies outside the area where its CRS is valid.
    #[error("outside the area where this CRS is valid")]
    OutsideArea,
    /// The point does not come back to itself; by how many metres.
    #[error("does not come back to itself when converted there and back (off by {0} m)")]
    RoundTrip(f64),
}

/// Pipelines that a thread keeps: those of a handful of files; the oldest goes first.
const MOST_READY: usize = 8;

/// Pipelines by their texts, the latest first.
type Ready = Vec<(String, Rc<Pipeline>)>;

/// An operation as a thread has it.
pub(super) struct Pipeline {
    proj: Proj,
    sound: Sound,
}

thread_local! {
    // Not given back as a thread ends: PROJ takes milliseconds to clear each away, and the threads end with the run.
    static READY: ManuallyDrop<RefCell<Ready>> = const { ManuallyDrop::new(RefCell::new(Vec::new())) };
}

/// A worker's own copy of an operation. Neither `Send` nor `Sync`.
pub struct Projector {
    operation: Operation,
    pipeline: Rc<Pipeline>,
}

impl Projector {
    /// Builds the operation from its pipeline text, or takes what this thread has built of that text: PROJ opens its database for each,
    /// which costs as much as converting thousands of points.
    ///
    /// # Errors
    /// `Error::Crs` where PROJ does not take the text.
    pub fn new(operation: &Operation) -> Result<Projector> {
        let pipeline = ready(&operation.pipeline).map_err(|error| {
            crs_error(
                &operation.from,
                format!("PROJ does not take its own operation `{}` ({error})", operation.pipeline),
                "",
            )
        })?;
        Ok(Projector { operation: operation.clone(), pipeline })
    }

    /// The operation that this is a copy of.
    pub fn operation(&self) -> &Operation {
        &self.operation
    }

    /// Converts one point; output in metres where the target is projected.
    ///
    /// # Errors
    /// [`PointProblem::NotFinite`], [`PointProblem::OutsideArea`].
    pub fn forward(&self, x: f64, y: f64) -> std::result::Result<Coord<f64>, PointProblem> {
        self.check_input(x, y)?;
        self.plain_forward(Coord { x, y })
    }

    /// Converts points in place, many at a time. A point with a problem becomes NaN, and is returned with its position, in order.
    pub fn forward_all(&self, points: &mut [Coord<f64>]) -> Vec<(usize, PointProblem)> {
        let (input_scale, output_scale) = (self.operation.input_scale, self.operation.output_scale);
        let mut problems = Vec::new();
        let mut batch: Vec<(f64, f64)> = Vec::with_capacity(points.len());
        for (position, point) in points.iter().enumerate() {
            match self.check_input(point.x, point.y) {
                Ok(()) => batch.push((point.x * input_scale, point.y * input_scale)),
                Err(problem) => problems.push((position, problem)),
            }
        }
        // One point that PROJ refuses spoils a whole batch; then go one by one to find it.
        let whole = self.pipeline.proj.convert_array(&mut batch).is_ok();
        let mut bad = problems.iter().map(|(position, _)| *position).collect::<Vec<_>>().into_iter().peekable();
        let mut converted = batch.iter();
        for (position, point) in points.iter_mut().enumerate() {
            let result = if bad.peek() == Some(&position) {
                bad.next();
                *point = NOWHERE;
                continue;
            } else if whole {
                converted
                    .next()
                    .map_or(Err(PointProblem::NotFinite), |&(x, y)| finite(x * output_scale, y * output_scale))
            } else {
                self.forward(point.x, point.y)
            };
            *point = result.unwrap_or_else(|problem| {
                problems.push((position, problem));
                NOWHERE
            });
        }
        problems.sort_by_key(|(position, _)| *position);
        problems
    }

    /// Converts one point back, from the target (metres where projected) to the source's own coordinates.
    ///
    /// PROJ's way back is up to 1.6 mm off in the equal-area plane (its series for the latitude stops early) and 1.3 mm after a datum
    /// shift (the height made on the way is dropped), so its answer is sent forward once more and the difference taken off.
    ///
    /// # Errors
    /// [`PointProblem::NotFinite`].
    pub fn inverse(&self, x: f64, y: f64) -> std::result::Result<Coord<f64>, PointProblem> {
        let target = finite(x, y)?;
        let first = self.plain_inverse(target)?;
        let landed = self.plain_forward(first)?;
        self.plain_inverse(target + (target - landed))
    }

    fn plain_inverse(&self, target: Coord<f64>) -> std::result::Result<Coord<f64>, PointProblem> {
        let (input_scale, output_scale) = (self.operation.input_scale, self.operation.output_scale);
        let given = (target.x / output_scale, target.y / output_scale);
        let (x, y) = self.pipeline.proj.project(given, true).map_err(|_| PointProblem::NotFinite)?;
        finite(x / input_scale, y / input_scale)
    }

    fn plain_forward(&self, source: Coord<f64>) -> std::result::Result<Coord<f64>, PointProblem> {
        let (input_scale, output_scale) = (self.operation.input_scale, self.operation.output_scale);
        let given = (source.x * input_scale, source.y * input_scale);
        let (x, y) = self.pipeline.proj.convert(given).map_err(|_| PointProblem::NotFinite)?;
        finite(x * output_scale, y * output_scale)
    }

    /// How far a point lands from itself after there and back, in metres (angles: at the length of a degree on the equator).
    ///
    /// # Errors
    /// As [`Projector::forward`].
    pub fn round_trip_error_m(&self, x: f64, y: f64) -> std::result::Result<f64, PointProblem> {
        let there = self.forward(x, y)?;
        Ok(self.distance_m(Coord { x, y }, self.inverse(there.x, there.y)?))
    }

    /// Converts one point and checks that it comes back to itself.
    ///
    /// # Errors
    /// Every [`PointProblem`].
    pub fn checked(&self, x: f64, y: f64) -> std::result::Result<Coord<f64>, PointProblem> {
        let there = self.forward(x, y)?;
        let off_m = |place: Coord<f64>| self.round_trip_error_m(place.x, place.y).ok();
        if self.pipeline.sound.holds(Coord { x, y }, self.operation.input_unit_m, off_m) {
            return Ok(there);
        }
        // PROJ's plain way back mostly suffices, at a third of the cost.
        let plain_m = self.distance_m(Coord { x, y }, self.plain_inverse(there)?);
        if plain_m <= ROUND_TRIP_LIMIT_M {
            return Ok(there);
        }
        let off_m = self.distance_m(Coord { x, y }, self.inverse(there.x, there.y)?);
        if off_m <= ROUND_TRIP_LIMIT_M { Ok(there) } else { Err(PointProblem::RoundTrip(off_m)) }
    }

    /// Converts every vertex of a geometry, each checked there and back. Edges stay straight between vertices.
    ///
    /// # Errors
    /// The first [`PointProblem`] of a vertex.
    pub fn geometry(&self, geometry: &Geometry<f64>) -> std::result::Result<Geometry<f64>, PointProblem> {
        geometry.try_map_coords(|vertex| self.checked(vertex.x, vertex.y))
    }

    /// Metres, about, between two places in source coordinates.
    fn distance_m(&self, one: Coord<f64>, other: Coord<f64>) -> f64 {
        let mut dx = (one.x - other.x).abs();
        if self.operation.input_is_angle {
            // -180 and 180 are one meridian.
            let circle = 360.0 * (super::operation::METRES_PER_DEGREE / self.operation.input_unit_m);
            dx = dx.min((dx - circle).abs());
        }
        dx.hypot(one.y - other.y) * self.operation.input_unit_m
    }

    fn check_input(&self, x: f64, y: f64) -> std::result::Result<(), PointProblem> {
        finite(x, y)?;
        if self.operation.range.contains(x, y) { Ok(()) } else { Err(PointProblem::OutsideArea) }
    }
}

pub(super) const NOWHERE: Coord<f64> = Coord { x: f64::NAN, y: f64::NAN };

/// The place, where it is one.
pub(super) fn finite(x: f64, y: f64) -> std::result::Result<Coord<f64>, PointProblem> {
    if x.is_finite() && y.is_finite() { Ok(Coord { x, y }) } else { Err(PointProblem::NotFinite) }
}

/// This thread's copy of a pipeline.
fn ready(pipeline: &str) -> std::result::Result<Rc<Pipeline>, proj::ProjCreateError> {
    let known = |ready: &Ready| ready.iter().find(|(text, _)| text == pipeline).map(|(_, known)| Rc::clone(known));
    if let Some(known) = READY.with(|ready| known(&ready.borrow())) {
        return Ok(known);
    }
    Ok(keep(pipeline, Proj::new(pipeline)?))
}

/// Keeps a pipeline for this thread: of its text, or the one that PROJ chose and whose text it is, which converts to the same last digit.
pub(super) fn keep(pipeline: &str, made: Proj) -> Rc<Pipeline> {
    let made = Rc::new(Pipeline { proj: made, sound: Sound::new(pipeline) });
    READY.with(|ready| {
        let mut ready = ready.borrow_mut();
        ready.truncate(MOST_READY - 1);
        ready.insert(0, (pipeline.to_string(), Rc::clone(&made)));
    });
    made
}

/// From the measuring CRS (metres) to longitude and latitude on WGS 84 in degrees, as RFC 7946 asks for. One per worker.
pub struct ToWgs84 {
    projector: Projector,
}

impl ToWgs84 {
    /// Settles the operation once, on a point of the works in the measuring CRS (metres).
    ///
    /// # Errors
    /// As [`resolve`]: also where the works' datum cannot be brought to WGS 84 within `accept_error_m`.
    pub fn resolve(
        measuring: &MeasuringCrs,
        sample_m: (f64, f64),
        area: Option<[f64; 4]>,
        accept_error_m: f64,
    ) -> Result<Operation> {
        let unit_m = measuring.unit_m();
        let sample = (sample_m.0 / unit_m, sample_m.1 / unit_m);
        let mut operation = resolve("the measuring CRS", &measuring.crs, &wgs84(), sample, area, accept_error_m)?;
        operation.range = operation.range.scaled(unit_m);
        operation.input_scale = 1.0 / unit_m;
        operation.input_unit_m = 1.0;
        Ok(operation)
    }

    /// A worker's copy.
    ///
    /// # Errors
    /// `Error::Crs` where PROJ does not take the operation.
    pub fn new(operation: &Operation) -> Result<ToWgs84> {
        Ok(ToWgs84 { projector: Projector::new(operation)? })
    }

    /// Longitude and latitude in degrees of a point in metres; within 2 mm of the exact place, a fifth of the last of 7 decimals.
    ///
    /// # Errors
    /// [`PointProblem::NotFinite`].
    pub fn lonlat(&self, x_m: f64, y_m: f64) -> std::result::Result<Coord<f64>, PointProblem> {
        self.projector.forward(x_m, y_m)
    }

    /// A geometry in longitude and latitude, vertex by vertex.
    ///
    /// # Errors
    /// [`PointProblem::NotFinite`] where a vertex cannot be converted.
    pub fn geometry(&self, geometry: &Geometry<f64>) -> std::result::Result<Geometry<f64>, PointProblem> {
        geometry.try_map_coords(|vertex| self.projector.forward(vertex.x, vertex.y))
    }
}

#[cfg(test)]
#[path = "projector_tests.rs"]
mod tests;
