//! Ground on which the way there and back holds, so that not every place on it has to be sent both ways.
//!
//! A cell of about a kilometre that is asked for often is tried at nine places, against a tenth of the limit. Between them an operation
//! made of formulas alone ([`is_smooth`]) departs by less than the limit too: by micrometres, and by 0.7 mm at most where PROJ takes what lies so near the
//! middle of a plane for the middle. Any other operation is never taken for sound.
//!
//! How often a cell was asked for depends on the thread. That no result does rests on this: a place of a sound cell would pass by itself.
//!
//! [`is_smooth`]: super::patch::is_smooth

use super::patch::is_smooth;
use super::projector::ROUND_TRIP_LIMIT_M;
use geo::Coord;
use std::cell::{Cell, RefCell};
use std::collections::HashMap;

/// Side of a cell on the ground, about, metres.
const SIDE_M: f64 = 1000.0;
/// What the nine places of a sound cell may be off, metres.
const SOUND_M: f64 = ROUND_TRIP_LIMIT_M / 10.0;
/// A cell is tried when it was asked for so many times: what takes 36 conversions must pay.
const ASKED_OFTEN: u8 = 64;
/// Cells that are remembered; beyond, all are forgotten.
const MOST_CELLS: usize = 10_000;

/// No coordinate on Earth is as large, in degrees, metres or feet.
const LARGEST_COORDINATE: f64 = 1e9;

/// Column and row of a cell.
type Place = (i64, i64);

/// What is known of a cell.
#[derive(Debug, Clone, Copy)]
enum Known {
    Asked(u8),
    Tried { sound: bool },
}

/// The cells of one operation, on one thread.
#[derive(Debug)]
pub(super) struct Sound {
    smooth: bool,
    /// The cell that was asked for last, where it was tried.
    last: Cell<Option<(Place, bool)>>,
    cells: RefCell<HashMap<Place, Known>>,
}

impl Sound {
    pub(super) fn new(pipeline: &str) -> Sound {
        Sound { smooth: is_smooth(pipeline), last: Cell::new(None), cells: RefCell::default() }
    }

    /// Whether the ground around a place is known to be sound. `unit_m` are the metres of one unit of its coordinates; `off_m` says how far a
    /// place is from itself after there and back, in metres.
    pub(super) fn holds(&self, place: Coord<f64>, unit_m: f64, off_m: impl Fn(Coord<f64>) -> Option<f64>) -> bool {
        let side = SIDE_M / unit_m;
        let on_earth = place.x.abs() < LARGEST_COORDINATE && place.y.abs() < LARGEST_COORDINATE;
        let can_be_told = self.smooth && on_earth && side.is_finite() && side > 0.0;
        if !can_be_told {
            return false;
        }
        #[expect(clippy::cast_possible_truncation, reason = "what is not on Earth was refused")]
        let cell = ((place.x / side).floor() as i64, (place.y / side).floor() as i64);
        if let Some((_, sound)) = self.last.get().filter(|(last, _)| *last == cell) {
            return sound;
        }
        let mut cells = self.cells.borrow_mut();
        if cells.len() >= MOST_CELLS {
            cells.clear();
        }
        let known = cells.entry(cell).or_insert(Known::Asked(0));
        if let Known::Asked(times) = *known {
            *known = match times {
                ASKED_OFTEN => Known::Tried { sound: is_sound(cell, side, off_m) },
                few => Known::Asked(few + 1),
            };
        }
        let Known::Tried { sound } = *known else { return false };
        self.last.set(Some((cell, sound)));
        sound
    }
}

#[expect(clippy::cast_precision_loss, reason = "cells of a kilometre on Earth")]
fn is_sound((column, row): Place, side: f64, off_m: impl Fn(Coord<f64>) -> Option<f64>) -> bool {
    let halves = [0.0, 0.5, 1.0];
    let mut places = halves.iter().flat_map(|east| halves.iter().map(move |north| (east, north)));
    places.all(|(east, north)| {
        let place = Coord { x: (column as f64 + east) * side, y: (row as f64 + north) * side };
        off_m(place).is_some_and(|off_m| off_m <= SOUND_M)
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    const SMOOTH: &str = "proj=pipeline step proj=unitconvert xy_in=deg xy_out=rad step proj=utm zone=33 ellps=WGS84";

    /// How often out of so many the ground around a place is sound.
    fn held(sound: &Sound, times: usize, off_m: impl Fn(Coord<f64>) -> Option<f64>) -> usize {
        (0..times).filter(|_| sound.holds(Coord { x: 500_300.0, y: 5_500_200.0 }, 1.0, &off_m)).count()
    }

    #[test]
    fn ground_is_tried_once_it_is_asked_for_often() {
        let tried = Cell::new(0);
        let off_m = |_: Coord<f64>| {
            tried.set(tried.get() + 1);
            Some(1e-9)
        };
        let sound = Sound::new(SMOOTH);
        assert_eq!(held(&sound, usize::from(ASKED_OFTEN), off_m), 0);
        assert_eq!(tried.get(), 0);
        assert_eq!(held(&sound, 100, off_m), 100);
        assert_eq!(tried.get(), 9);
    }

    #[test]
    fn one_place_of_nine_that_is_off_is_enough() {
        let corner = |place: Coord<f64>| Some(if (place.x, place.y) == (501_000.0, 5_501_000.0) { 2e-4 } else { 0.0 });
        assert_eq!(held(&Sound::new(SMOOTH), 100, corner), 0);
        let nowhere = |place: Coord<f64>| (place.x < 500_900.0).then_some(0.0);
        assert_eq!(held(&Sound::new(SMOOTH), 100, nowhere), 0);
    }

    #[test]
    fn what_reads_a_grid_is_never_sound() {
        assert_eq!(held(&Sound::new("proj=pipeline step proj=hgridshift grids=a.gsb"), 100, |_| Some(0.0)), 0);
    }

    #[test]
    fn huge_and_missing_coordinates_do_no_harm() {
        let sound = Sound::new(SMOOTH);
        for place in [f64::MAX, f64::NAN, f64::INFINITY] {
            (0..100).for_each(|_| assert!(!sound.holds(Coord { x: place, y: place }, 1.0, |_| Some(0.0))));
        }
        assert!(!sound.holds(Coord { x: 0.0, y: 0.0 }, 0.0, |_| Some(0.0)));
    }
}
