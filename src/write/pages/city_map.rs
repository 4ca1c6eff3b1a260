//! All permits -> a small map of the city, a mark for each by its worst finding.

use super::map_frame::{WIDTH as PAPER, Window};
use super::map_labels::{Block, Labels};
use super::marks::mark;
use super::plain_text::escaped;
use crate::model::finding::Verdict;
use geo::Coord;
use std::fmt::Write;

/// Width of the map, in units of its own.
const WIDTH: f64 = 1_000.0;
/// Least and greatest height.
const HEIGHTS: [f64; 2] = [300.0, 720.0];
/// Ground around the outermost permits, in units of the map.
const MARGIN: f64 = 24.0;
/// Permits drawn with a mark of their own, the worst first; the others, and those whose mark would cover another, are dots.
const MOST_MARKS: usize = 400;
/// Marks that are labelled with the permit's id, where the label covers nothing.
const MOST_LABELS: usize = 60;
/// Longer ids are no label.
const LONGEST_LABEL: usize = 24;
/// Units of the map in what labels are laid out in.
const UNIT: f64 = PAPER as f64 / WIDTH;

/// A permit on the map.
pub struct Spot<'a> {
    /// Where its works are, metres.
    pub place: Coord<f64>,
    /// Its worst finding; `None` where no tree is in reach.
    pub worst: Option<Verdict>,
    /// Its id.
    pub id: &'a str,
    /// Its sheet; empty where it has none.
    pub file: &'a str,
}

/// Size of a mark by finding.
fn size(worst: Option<Verdict>) -> f64 {
    match worst {
        Some(Verdict::TrunkInWork) => 26.0,
        Some(Verdict::Major | Verdict::NotAssessed) => 24.0,
        Some(Verdict::Moderate) => 18.0,
        Some(Verdict::Minor) => 15.0,
        Some(Verdict::Untouched) => 12.0,
        None => 8.0,
    }
}

fn colour(worst: Option<Verdict>) -> &'static str {
    match worst {
        Some(Verdict::TrunkInWork) => "#CC79A7",
        Some(Verdict::Major) => "#D55E00",
        Some(Verdict::NotAssessed) => "#56B4E9",
        Some(Verdict::Moderate) => "#E69F00",
        Some(Verdict::Minor) => "#F0E442",
        Some(Verdict::Untouched) => "#009E73",
        None => "#fff",
    }
}

/// The map; empty where no permit has a place. `spots` come worst first.
pub fn city_map(spots: &[Spot], title: &str, description: &str) -> String {
    let Some(all) = spots.iter().map(|spot| Window::around(spot.place, 0.0)).reduce(Window::joined) else {
        return String::new();
    };
    let extent = all.size_m();
    let inner = WIDTH - 2.0 * MARGIN;
    let per_m = (inner / extent.x.max(1.0)).min((HEIGHTS[1] - 2.0 * MARGIN) / extent.y.max(1.0)).min(20.0);
    let height = (extent.y * per_m + 2.0 * MARGIN).clamp(HEIGHTS[0], HEIGHTS[1]).round();
    let centre = all.centre();
    let at =
        |place: Coord<f64>| (WIDTH / 2.0 + (place.x - centre.x) * per_m, height / 2.0 - (place.y - centre.y) * per_m);
    let mut svg = format!(
        "<svg class=\"city\" viewBox=\"0 0 {WIDTH} {}\" role=\"group\" aria-labelledby=\"city-title city-desc\"><title id=\"city-title\">{}</title>\
         <desc id=\"city-desc\">{}</desc><path d=\"M0 0H{WIDTH}V{height}H0z\" fill=\"#fff\" stroke=\"#777\"/>",
        height + 40.0,
        escaped(title),
        escaped(description),
    );
    let (marks, labels, dotted) = laid_out(spots, height, at);
    dots(&mut svg, &dotted, at);
    // The worst on top, where symbols touch.
    for spot in marks.iter().rev() {
        linked(&mut svg, spot, at(spot.place));
    }
    svg.push_str(&labels);
    bar(&mut svg, per_m, height);
    svg + "</svg>"
}

/// Which permits have a mark, the labels of the worst of them, and which are dots.
fn laid_out<'a, 'b>(
    spots: &'a [Spot<'b>],
    height: f64,
    at: impl Fn(Coord<f64>) -> (f64, f64),
) -> (Vec<&'a Spot<'b>>, String, Vec<&'a Spot<'b>>) {
    #[expect(clippy::cast_possible_truncation, reason = "a map of a thousand units")]
    let units = |value: f64| (value * UNIT) as i64;
    let centre = |spot: &Spot| {
        let (x, y) = at(spot.place);
        (units(x), units(y))
    };
    let mut paper = Labels::new(units(height));
    let (mut marks, mut dotted) = (Vec::new(), Vec::new());
    for spot in spots {
        let side = units(size(spot.worst) * 0.8);
        let place = (spot.worst.is_some() && marks.len() < MOST_MARKS).then(|| centre(spot));
        match place.and_then(|place| paper.on_one_of([place], side, side)) {
            Some(_) => marks.push(spot),
            None => dotted.push(spot),
        }
    }
    // Dots are not covered either, where there are few of them.
    for spot in dotted.iter().take(MOST_MARKS) {
        paper.keep_free(Block::around(centre(spot), units(5.0), units(5.0)));
    }
    let mut labels = String::new();
    for spot in marks.iter().take(MOST_LABELS).filter(|spot| spot.id.chars().count() <= LONGEST_LABEL) {
        let letters = spot.id.chars().count() as f64;
        let clear = units(size(spot.worst) / 2.0);
        let Some(block) = paper.close(centre(spot), clear, units(8.6 * letters + 4.0), units(16.0)) else { continue };
        let (x, y) = block.centre();
        let _ = write!(
            labels,
            "<text class=\"spot-label\" x=\"{:.1}\" y=\"{:.1}\" text-anchor=\"middle\" font-size=\"14\" aria-hidden=\"true\">{}</text>",
            x as f64 / UNIT,
            y as f64 / UNIT + 5.0,
            escaped(spot.id)
        );
    }
    (marks, labels, dotted)
}

fn linked(svg: &mut String, spot: &Spot, (x, y): (f64, f64)) {
    let (Some(worst), size) = (spot.worst, size(spot.worst)) else { return };
    let symbol = format!(
        "<use class=\"spot\" href=\"#{}\" x=\"{:.1}\" y=\"{:.1}\" width=\"{size}\" height=\"{size}\"/>",
        mark(worst),
        x - size / 2.0,
        y - size / 2.0
    );
    // Keyboards reach the same sheets through the table; a hundred stops on the way there would be in the way.
    let _ = write!(
        svg,
        "<a href=\"{}.html\" tabindex=\"-1\" aria-hidden=\"true\"><title>{}</title>{symbol}</a>",
        escaped(spot.file),
        escaped(spot.id)
    );
}

/// One path for each finding, the worst on top: a permit takes a few bytes.
fn dots(svg: &mut String, spots: &[&Spot], at: impl Fn(Coord<f64>) -> (f64, f64)) {
    for worst in std::iter::once(None).chain(Verdict::ALL.map(Some)) {
        let mut data = String::new();
        for spot in spots.iter().filter(|spot| spot.worst == worst) {
            let (x, y) = at(spot.place);
            let _ = write!(data, "M{x:.0} {y:.0}h0");
        }
        if !data.is_empty() {
            for (width, colour) in [("5", "#555"), ("3.6", colour(worst))] {
                let _ = write!(
                    svg,
                    "<path class=\"spots\" d=\"{data}\" fill=\"none\" stroke=\"{colour}\" stroke-width=\"{width}\" stroke-linecap=\"round\"/>"
                );
            }
        }
    }
}

fn bar(svg: &mut String, per_m: f64, height: f64) {
    let lengths = (0..7).flat_map(|power| [1.0, 2.0, 5.0].map(|digit| digit * 10f64.powi(power)));
    let metres = lengths.take_while(|length| length * per_m <= 220.0).last().unwrap_or(1.0);
    let text = if metres >= 1000.0 { format!("{} km", metres / 1000.0) } else { format!("{metres} m") };
    let feet = super::amounts::grouped(&format!("{:.0}", metres / crate::units::METRES_PER_FOOT));
    let _ = write!(
        svg,
        "<path d=\"M12 {y}v10h{:.1}v-10\" fill=\"none\" stroke=\"#000\" stroke-width=\"2\"/><text x=\"{:.1}\" y=\"{:.1}\" \
         font-size=\"17\">{text} ({feet} ft)</text>",
        metres * per_m,
        metres * per_m + 22.0,
        height + 25.0,
        y = height + 14.0,
    );
}
