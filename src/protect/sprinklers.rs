//! The open part of a root zone and how far a sprinkler throws -> places that cover it, and the share that they reach.
//!
//! The zone is strewn with points on a hexagonal lattice. Places are picked one after another from a coarser part of the same lattice, each
//! where it reaches most points that none has reached yet, until [`ENOUGH`] of them are reached; where none of those places reaches what is
//! left, any point of the lattice will do. Places stand on open ground within the zone. Good, not the fewest possible.

use geo::Coord;

/// Share of the points that has to be reached. More than the 95 % asked for, so that the area itself is above 95 %: a test compares.
pub const ENOUGH: f64 = 0.97;

/// Where the water has to go.
pub struct Ground<'a> {
    /// Trunk centre.
    pub centre: Coord<f64>,
    /// Radius of the root zone, metres.
    pub radius_m: f64,
    /// Ground this near the trunk centre need not be reached, and no sprinkler stands on it, metres.
    pub dry_m: f64,
    /// Whether a point lies on open ground.
    pub open: &'a dyn Fn(Coord<f64>) -> bool,
    /// Whether a point is watered with this tree and not with another.
    pub own: &'a dyn Fn(Coord<f64>) -> bool,
}

/// Sprinkler places.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Places {
    /// In the order in which they were picked.
    pub places: Vec<Coord<f64>>,
    /// Share of the wanted ground that they reach, 0 to 1; 1 where nothing is wanted.
    pub covered: f64,
    /// Share of the open points that are watered with this tree, 0 to 1; 1 where none is open.
    pub own: f64,
}

/// Fewer points than this say too little of the area between them.
const FEW_POINTS: usize = 400;
/// Places are first looked for on every so many points of every so many rows.
const COARSE: i32 = 4;

/// Finds the places. `throw_m` is at least half a metre.
pub fn sprinkler_places(ground: &Ground<'_>, throw_m: f64) -> Places {
    let mut step_m = (ground.radius_m / 16.0).min(throw_m / 6.0);
    let mut lattice = Lattice::new(ground, step_m);
    // What little is open needs a finer lattice for its area to be told.
    if (1..FEW_POINTS).contains(&lattice.points) {
        step_m *= (lattice.points as f64 / FEW_POINTS as f64).sqrt().max(0.25);
        lattice = Lattice::new(ground, step_m);
    }
    let own = if lattice.open == 0 { 1.0 } else { lattice.points as f64 / lattice.open as f64 };
    if lattice.points == 0 {
        return Places { covered: 1.0, own, ..Places::default() };
    }
    let throw = Throw::new(throw_m / step_m);
    let (coarse, mut all) = (lattice.candidates(COARSE), Vec::new());
    let enough = (ENOUGH * lattice.points as f64).ceil() as u32;
    let (mut done, mut picked) = (0, Vec::new());
    while done < enough {
        let mut best = throw.best(&lattice, &coarse);
        if best.is_none() {
            if all.is_empty() {
                all = lattice.candidates(1);
            }
            best = throw.best(&lattice, &all);
        }
        // Every point that is left reaches at least itself.
        let Some((gain, place)) = best else { break };
        throw.reach(&mut lattice, place);
        picked.push(ground.centre + lattice.offset(place));
        done += gain;
    }
    Places { places: picked, covered: f64::from(done) / lattice.points as f64, own }
}

/// A point of the lattice: rows from the trunk, and columns within its row.
#[derive(Debug, Clone, Copy)]
struct Point {
    row: i32,
    column: i32,
}

/// A hexagonal lattice over the zone: odd rows stand half a step further on.
struct Lattice {
    step_m: f64,
    /// Rows and columns run from minus this to this.
    extent: i32,
    /// Points that are wanted, row by row.
    wanted: Vec<bool>,
    /// Of each row, how many points before a column are wanted and not reached: one longer than a row.
    before: Vec<u32>,
    /// Points that are wanted at first.
    points: usize,
    /// Points on open ground.
    open: usize,
}

impl Lattice {
    fn new(ground: &Ground<'_>, step_m: f64) -> Lattice {
        #[expect(clippy::cast_possible_truncation, reason = "a zone over a step, some hundreds")]
        let extent = (ground.radius_m / (step_m * ROW)).ceil() as i32 + 1;
        let width = width(extent);
        let mut lattice = Lattice {
            step_m,
            extent,
            wanted: vec![false; width * width],
            before: vec![0; width * (width + 1)],
            points: 0,
            open: 0,
        };
        for row in -extent..=extent {
            for column in -extent..=extent {
                let point = Point { row, column };
                let offset = lattice.offset(point);
                let distance_m = offset.x.hypot(offset.y);
                if distance_m > ground.radius_m || distance_m < ground.dry_m {
                    continue;
                }
                let at = ground.centre + offset;
                if (ground.open)(at) {
                    lattice.open += 1;
                    if (ground.own)(at) {
                        lattice.points += 1;
                        let index = lattice.index(point);
                        lattice.wanted[index] = true;
                    }
                }
            }
            lattice.count(row);
        }
        lattice
    }

    fn offset(&self, point: Point) -> Coord<f64> {
        let x = f64::from(half_steps(point)) * self.step_m / 2.0;
        Coord { x, y: f64::from(point.row) * ROW * self.step_m }
    }

    fn index(&self, point: Point) -> usize {
        place(point.row, self.extent) * width(self.extent) + place(point.column, self.extent)
    }

    /// Counts the wanted points of a row anew.
    fn count(&mut self, row: i32) {
        let width = width(self.extent);
        let first = place(row, self.extent) * width;
        let counts = place(row, self.extent) * (width + 1);
        let mut sum = 0;
        for column in 0..width {
            sum += u32::from(self.wanted[first + column]);
            self.before[counts + column + 1] = sum;
        }
    }

    /// Wanted points on every `every`-th column of every `every`-th row.
    fn candidates(&self, every: i32) -> Vec<Point> {
        let on = move |number: &i32| number.rem_euclid(every) == 0;
        let rows = (-self.extent..=self.extent).filter(on);
        let points =
            rows.flat_map(|row| (-self.extent..=self.extent).filter(on).map(move |column| Point { row, column }));
        points.filter(|&point| self.wanted[self.index(point)]).collect()
    }
}

/// Distance of two rows, in steps.
const ROW: f64 = 0.866_025_403_784_438_6;

/// Points of a row.
fn width(extent: i32) -> usize {
    (2 * extent + 1).unsigned_abs() as usize
}

/// Where a row or column stands, counted from 0.
fn place(number: i32, extent: i32) -> usize {
    (number + extent).unsigned_abs() as usize
}

/// How far east of the trunk a point lies, in half steps.
fn half_steps(point: Point) -> i32 {
    2 * point.column + point.row.rem_euclid(2)
}

/// The reach of a sprinkler over the lattice, in whole numbers: half steps along a row, and rows of the square root of three half steps.
struct Throw {
    squared: i32,
    rows: i32,
}

impl Throw {
    fn new(steps: f64) -> Throw {
        // A throw many times the zone reaches all of it; a point at exactly the throw is reached.
        #[expect(clippy::cast_possible_truncation, reason = "bounded just before")]
        let squared = (4.0 * steps * steps + 1e-6).min(1e8) as i32;
        Throw { squared, rows: (squared / 3).isqrt() }
    }

    /// The stretches of rows within reach of a point: row, and columns from and to, the last not counted, from 0.
    fn stretches<'l>(&'l self, extent: i32, from: Point) -> impl Iterator<Item = (i32, usize, usize)> + 'l {
        let centre = half_steps(from);
        let rows = (from.row - self.rows).max(-extent)..=(from.row + self.rows).min(extent);
        rows.map(move |row| {
            let up = row - from.row;
            let reach = (self.squared - 3 * up * up).isqrt();
            let odd = row.rem_euclid(2);
            let least = (centre - reach - odd + 1).div_euclid(2).max(-extent);
            let most = (centre + reach - odd).div_euclid(2).min(extent);
            if least > most { (row, 0, 0) } else { (row, place(least, extent), place(most, extent) + 1) }
        })
    }

    /// How many wanted points a place reaches.
    fn gain(&self, lattice: &Lattice, from: Point) -> u32 {
        let counts = width(lattice.extent) + 1;
        let of_row = |(row, least, end): (i32, usize, usize)| {
            let first = place(row, lattice.extent) * counts;
            lattice.before[first + end] - lattice.before[first + least]
        };
        self.stretches(lattice.extent, from).map(of_row).sum()
    }

    /// The first of the candidates that reach most; `None` where none reaches any.
    fn best(&self, lattice: &Lattice, candidates: &[Point]) -> Option<(u32, Point)> {
        let mut best: Option<(u32, Point)> = None;
        for &point in candidates {
            let gain = self.gain(lattice, point);
            if gain > best.map_or(0, |(most, _)| most) {
                best = Some((gain, point));
            }
        }
        best
    }

    /// Takes away what a place reaches.
    fn reach(&self, lattice: &mut Lattice, from: Point) {
        let width = width(lattice.extent);
        for (row, least, end) in self.stretches(lattice.extent, from) {
            let first = place(row, lattice.extent) * width;
            lattice.wanted[first + least..first + end].fill(false);
            lattice.count(row);
        }
    }
}

#[cfg(test)]
#[path = "sprinklers_tests.rs"]
mod tests;
