//! Boxes -> a grid of bits over them all: which cells a box touches.

use crate::geometry::union::enclosing;
use geo::{Coord, Rect};

/// Cells are no smaller than this, metres: about the reach of a small root zone.
const LEAST_SIDE_M: f64 = 8.0;
/// Cells of a grid, about, at most: half a MiB of bits, which stays where a processor finds it at once, and 16 MiB while it is made. Beyond, cells
/// are larger.
const MOST_CELLS: f64 = 4_194_304.0;
/// As many are made without a thought; a few works far apart are not worth more.
const FEW_CELLS: f64 = 65_536.0;
/// Cells that a box is worth.
const CELLS_FOR_A_BOX: f64 = 64.0;
/// Looking through more cells than this takes longer than the R-tree.
const MOST_LOOKED_AT: usize = 64;

/// The grid.
#[derive(Debug, Default)]
pub(super) struct Cells {
    low: Coord<f64>,
    side_m: f64,
    columns: usize,
    rows: usize,
    held: Vec<u64>,
}

impl Cells {
    /// A grid over all boxes.
    pub(super) fn new(boxes: impl Iterator<Item = Rect<f64>> + Clone) -> Cells {
        let Some(all) = boxes.clone().reduce(enclosing) else { return Cells::default() };
        let most = (boxes.clone().count() as f64 * CELLS_FOR_A_BOX).clamp(FEW_CELLS, MOST_CELLS);
        let side_m = (all.width() * all.height() / most).sqrt().max(all.width() / most);
        let side_m = side_m.max(all.height() / most).max(LEAST_SIDE_M);
        let along = |length_m: f64| (length_m / side_m) as usize + 1;
        let (columns, rows) = (along(all.width()), along(all.height()));
        let mut cells = Cells { low: all.min(), side_m, columns, rows, held: vec![0; (columns * rows).div_ceil(64)] };
        cells.hold(boxes);
        cells
    }

    /// Marks what the boxes touch, in time that grows with cells and boxes and not with their product: each box adds one at its corner and
    /// takes it away beyond, and the sums along both axes say how many boxes a cell touches.
    fn hold(&mut self, boxes: impl Iterator<Item = Rect<f64>>) {
        let wide = self.columns + 1;
        let mut counts = vec![0i32; wide * (self.rows + 1)];
        for bounds in boxes {
            let ((west, south), (east, north)) = (self.cell(bounds.min()), self.cell(bounds.max()));
            counts[south * wide + west] += 1;
            counts[south * wide + east + 1] -= 1;
            counts[(north + 1) * wide + west] -= 1;
            counts[(north + 1) * wide + east + 1] += 1;
        }
        let mut column_sums = vec![0; wide];
        for row in 0..self.rows {
            let mut boxes = 0;
            for column in 0..self.columns {
                column_sums[column] += counts[row * wide + column];
                boxes += column_sums[column];
                if boxes > 0 {
                    let bit = row * self.columns + column;
                    self.held[bit / 64] |= 1 << (bit % 64);
                }
            }
        }
    }

    /// Column and row of the cell at a place, or of the nearest to it.
    fn cell(&self, place: Coord<f64>) -> (usize, usize) {
        let along = |far_m: f64, cells: usize| ((far_m / self.side_m) as usize).min(cells - 1);
        (along(place.x - self.low.x, self.columns), along(place.y - self.low.y, self.rows))
    }

    /// False only where no box meets the window between two corners, and mostly where none does.
    pub(super) fn may_meet(&self, low: Coord<f64>, high: Coord<f64>) -> bool {
        if self.held.is_empty() {
            return false;
        }
        let ((west, south), (east, north)) = (self.cell(low), self.cell(high));
        if (east - west + 1) * (north - south + 1) > MOST_LOOKED_AT {
            return true;
        }
        (south..=north).any(|row| self.holds_any(row * self.columns + west, row * self.columns + east))
    }

    /// Whether one of the bits from the first to the last is set; at most [`MOST_LOOKED_AT`], which stand in two words.
    fn holds_any(&self, first: usize, last: usize) -> bool {
        let (from, to) = (u64::MAX << (first % 64), u64::MAX >> (63 - last % 64));
        let (low, high) = (first / 64, last / 64);
        match low == high {
            true => self.held[low] & from & to != 0,
            false => self.held[low] & from != 0 || self.held[high] & to != 0,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn boxed(x: f64, y: f64, side: f64) -> Rect<f64> {
        Rect::new(Coord { x, y }, Coord { x: x + side, y: y + side })
    }

    fn meets(cells: &Cells, x: f64, y: f64, far: f64) -> bool {
        cells.may_meet(Coord { x: x - far, y: y - far }, Coord { x: x + far, y: y + far })
    }

    /// The one thing that the grid is for: places away from all boxes are told at once.
    #[test]
    fn the_ground_between_boxes_is_told() {
        let cells = Cells::new([boxed(0.0, 0.0, 10.0), boxed(900.0, 500.0, 30.0)].into_iter());
        let told = (0..90).flat_map(|x| (0..53).map(move |y| (f64::from(x) * 10.0, f64::from(y) * 10.0)));
        let (near, far): (Vec<_>, Vec<_>) = told.partition(|&(x, y)| meets(&cells, x, y, 5.0));
        assert!(near.len() < 30 && far.len() > 4_700, "{} near, {} far", near.len(), far.len());
        assert!(meets(&cells, 12.0, 5.0, 3.0) && meets(&cells, 915.0, 515.0, 1.0));
        assert!(meets(&cells, 400.0, 300.0, 100.0), "a wide window is left to the R-tree");
    }

    #[test]
    fn a_country_has_no_more_cells_than_a_city() {
        for (width, height) in [(1e6, 1e6), (4e7, 0.0), (0.0, 4e7), (4e7, 10.0)] {
            let cells = Cells::new([boxed(0.0, 0.0, 0.0), boxed(width, height, 0.0)].into_iter());
            assert!(cells.held.len() < 150_000, "{width} by {height}: {}", cells.held.len());
            assert!(meets(&cells, width, height, 1.0) && !meets(&cells, width / 2.0, height / 2.0, 1.0));
        }
    }

    /// Against a look at each bit, in rows of as many as are looked at.
    #[test]
    fn bits_of_a_row_are_found_wherever_a_word_ends() {
        for bit in 0..256 {
            let mut cells = Cells { held: vec![0; 4], ..Cells::default() };
            cells.held[bit / 64] |= 1 << (bit % 64);
            for first in 0..256 {
                for last in first..(first + MOST_LOOKED_AT).min(256) {
                    assert_eq!(
                        cells.holds_any(first, last),
                        (first..=last).contains(&bit),
                        "{bit} in {first} to {last}"
                    );
                }
            }
        }
    }

    #[test]
    fn nothing_meets_nothing() {
        assert!(!meets(&Cells::new(std::iter::empty()), 0.0, 0.0, 1e9));
    }
}
