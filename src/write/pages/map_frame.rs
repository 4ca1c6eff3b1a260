//! What has to be on a map -> the window on the ground, the scale, and places on paper.
//!
//! Paper is counted in hundredths of a millimetre, in whole numbers, so that a map printed at 100 % can be measured with a rule.

use crate::settings::ShownUnits;
use geo::Coord;

/// Width of every map, 0.01 mm: the print area of A4 with 15 mm margins.
pub const WIDTH: i64 = 18_000;
/// Least and greatest height of the ground on a map, 0.01 mm: with its heading it fits below the head of a sheet on US letter.
const HEIGHTS: [i64; 2] = [8_000, 13_000];
/// Height of one of several maps, where that is enough: two of them fit on a page.
const LOW: i64 = 9_000;
/// Scales that a metric rule can be laid on.
const METRIC_SCALES: [u32; 16] =
    [50, 100, 150, 200, 250, 300, 400, 500, 750, 1000, 1250, 1500, 2000, 2500, 5000, 10_000];
/// Scales of a whole number of feet to the inch.
const US_SCALES: [u32; 13] = [60, 120, 240, 360, 480, 600, 720, 960, 1200, 1800, 2400, 4800, 9600];
/// The smallest scale at which trunks and zones can still be measured on paper.
const MEASURABLE: u32 = 500;
const MEASURABLE_US: u32 = 480;

/// A rectangle on the ground, metres.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Window {
    /// Lower left corner.
    pub low: Coord<f64>,
    /// Upper right corner.
    pub high: Coord<f64>,
}

impl Window {
    /// Around a place.
    pub fn around(centre: Coord<f64>, reach_m: f64) -> Window {
        let reach = Coord { x: reach_m, y: reach_m };
        Window { low: centre - reach, high: centre + reach }
    }

    /// The least window that holds both.
    pub fn joined(self, other: Window) -> Window {
        Window {
            low: Coord { x: self.low.x.min(other.low.x), y: self.low.y.min(other.low.y) },
            high: Coord { x: self.high.x.max(other.high.x), y: self.high.y.max(other.high.y) },
        }
    }

    /// What both hold; `None` where they do not meet.
    pub fn common(self, other: Window) -> Option<Window> {
        let low = Coord { x: self.low.x.max(other.low.x), y: self.low.y.max(other.low.y) };
        let high = Coord { x: self.high.x.min(other.high.x), y: self.high.y.min(other.high.y) };
        (low.x <= high.x && low.y <= high.y).then_some(Window { low, high })
    }

    /// Wider by so much on each side.
    pub fn grown(self, by_m: f64) -> Window {
        let by = Coord { x: by_m, y: by_m };
        Window { low: self.low - by, high: self.high + by }
    }

    /// Whether it holds a window wholly.
    pub fn holds(self, other: Window) -> bool {
        self.common(other) == Some(other)
    }

    /// Its middle.
    pub fn centre(self) -> Coord<f64> {
        (self.low + self.high) / 2.0
    }

    /// Width and height, metres.
    pub fn size_m(self) -> Coord<f64> {
        self.high - self.low
    }
}

/// A window at a scale.
#[derive(Debug, Clone, Copy)]
pub struct Frame {
    /// The ground that the map shows, metres.
    pub window: Window,
    /// 1 to so many.
    pub scale: u32,
    /// Height of the ground on paper, 0.01 mm.
    pub height: i64,
    per_m: f64,
}

impl Frame {
    /// The largest scale at which the window fits, or the smallest of all where it does not fit.
    pub fn fitting(window: Window, units: ShownUnits) -> Frame {
        let largest = scales(units).iter().copied().find(|&scale| fits(window, scale, HEIGHTS[1]));
        Frame::at_scale(window, largest.unwrap_or_else(|| beyond(window)))
    }

    /// The same for one of several maps: lower, where it can be measured on all the same.
    pub fn one_of_several(window: Window, units: ShownUnits) -> Frame {
        let measurable = scales(units).iter().copied().take_while(|&scale| scale <= smallest_measurable(units));
        let low = measurable.into_iter().find(|&scale| fits(window, scale, LOW));
        low.map_or_else(|| Frame::fitting(window, units), |scale| Frame::at_scale(window, scale))
    }

    /// Whether a window can be drawn at a scale that can be measured on.
    pub fn measurable(window: Window, units: ShownUnits) -> bool {
        fits(window, smallest_measurable(units), HEIGHTS[1])
    }

    fn at_scale(window: Window, scale: u32) -> Frame {
        let per_m = 100_000.0 / f64::from(scale);
        #[expect(clippy::cast_possible_truncation, reason = "clamped to the heights of a page")]
        let height = ((window.size_m().y * per_m).ceil() as i64).clamp(HEIGHTS[0], HEIGHTS[1]);
        let half = Coord { x: WIDTH as f64 / per_m / 2.0, y: height as f64 / per_m / 2.0 };
        let centre = window.centre();
        Frame { window: Window { low: centre - half, high: centre + half }, scale, height, per_m }
    }

    /// A place on paper: from the upper left corner, 0.01 mm.
    pub fn at(&self, place: Coord<f64>) -> (i64, i64) {
        let x = (place.x - self.window.low.x) * self.per_m;
        let y = (self.window.high.y - place.y) * self.per_m;
        // A work can reach far beyond the paper; what is cut off there does not show.
        #[expect(clippy::cast_possible_truncation, reason = "clamped to ten metres of paper")]
        let whole = |value: f64| value.round().clamp(-1e6, 1e6) as i64;
        (whole(x), whole(y))
    }

    /// A length on paper, 0.01 mm.
    pub fn length(&self, length_m: f64) -> f64 {
        length_m * self.per_m
    }
}

fn scales(units: ShownUnits) -> &'static [u32] {
    match units {
        ShownUnits::Metric => &METRIC_SCALES,
        ShownUnits::Us => &US_SCALES,
    }
}

fn smallest_measurable(units: ShownUnits) -> u32 {
    match units {
        ShownUnits::Metric => MEASURABLE,
        ShownUnits::Us => MEASURABLE_US,
    }
}

fn fits(window: Window, scale: u32, most_height: i64) -> bool {
    let per_m = 100_000.0 / f64::from(scale);
    let size = window.size_m() * per_m;
    size.x <= WIDTH as f64 && size.y <= most_height as f64
}

/// A round scale, smaller than all in the lists, at which a window fits.
fn beyond(window: Window) -> u32 {
    (1..40_000u32)
        .map(|thousands| thousands * 5_000)
        .find(|&scale| fits(window, scale, HEIGHTS[1]))
        .unwrap_or(200_000_000)
}

/// Splits windows (one per tree) into groups that each fit a map that can be measured on, or hold a single tree. Groups hold indices in
/// the order given.
pub fn groups(windows: &[Window], units: ShownUnits) -> Vec<Vec<usize>> {
    let mut done = Vec::new();
    let mut open: Vec<Vec<usize>> = vec![(0..windows.len()).collect()];
    while let Some(mut group) = open.pop() {
        let Some(all) = group.iter().map(|&index| windows[index]).reduce(Window::joined) else { continue };
        if group.len() == 1 || Frame::measurable(all, units) {
            group.sort_unstable();
            done.push(group);
            continue;
        }
        let wide = all.size_m().x >= all.size_m().y;
        let along = |index: usize| {
            let centre = windows[index].centre();
            if wide { centre.x } else { centre.y }
        };
        group.sort_by(|&a, &b| along(a).total_cmp(&along(b)).then(a.cmp(&b)));
        // At the widest gap, but not so near an end that every tree gets a map of its own.
        let ends = group.len() / 4;
        let range = ends.max(1)..(group.len() - ends).max(2).min(group.len());
        let gap = |at: &usize| along(group[*at]) - along(group[*at - 1]);
        let cut = range.max_by(|a, b| gap(a).total_cmp(&gap(b)).then(b.cmp(a))).unwrap_or(1);
        let rest = group.split_off(cut);
        open.extend([group, rest]);
    }
    done.sort();
    done
}

#[cfg(test)]
#[path = "map_frame_tests.rs"]
mod tests;
