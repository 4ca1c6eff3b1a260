//! All permits -> a small map of the city, a mark for each by its worst finding.

use super::map_frame::Window;
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
/// More permits than this are drawn as one path for each finding, without links.
const MOST_LINKS: usize = 400;

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

/// The map; empty where no permit has a place.
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
    let mut order: Vec<&Spot> = spots.iter().collect();
    // The worst last, so that they lie on top; stable.
    order.sort_by_key(|spot| spot.worst.map_or(0, |worst| worst as u8 + 1));
    if spots.len() <= MOST_LINKS {
        order.iter().for_each(|spot| linked(&mut svg, spot, at(spot.place)));
    } else {
        paths(&mut svg, &order, at);
    }
    bar(&mut svg, per_m, height);
    svg + "</svg>"
}

fn linked(svg: &mut String, spot: &Spot, (x, y): (f64, f64)) {
    let size = size(spot.worst);
    let Some(worst) = spot.worst else {
        let _ = write!(
            svg,
            "<circle class=\"spot\" cx=\"{x:.1}\" cy=\"{y:.1}\" r=\"3\" fill=\"#fff\" stroke=\"#555\" stroke-width=\"1.5\"/>"
        );
        return;
    };
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

/// One path for each finding: the same shapes as the symbols, in few bytes.
fn paths(svg: &mut String, order: &[&Spot], at: impl Fn(Coord<f64>) -> (f64, f64)) {
    let looks: [(Option<Verdict>, &str, &str); 7] = [
        (None, "#fff", "h1v1h-1z"),
        (Some(Verdict::Untouched), "#009E73", "a3 3 0 1 0 .1 0z"),
        (Some(Verdict::Minor), "#F0E442", "a4 4 0 1 0 .1 0z"),
        (Some(Verdict::Moderate), "#E69F00", "m-4-4h8v8h-8z"),
        (Some(Verdict::NotAssessed), "#56B4E9", "m0-7 2 4h4l-2 3 2 3h-4l-2 4-2-4h-4l2-3-2-3h4z"),
        (Some(Verdict::Major), "#D55E00", "m0-6 6 11h-12z"),
        (Some(Verdict::TrunkInWork), "#CC79A7", "m-5-5h10v10h-10zl10 10m0-10-10 10"),
    ];
    for (worst, fill, shape) in looks {
        let mut data = String::new();
        for spot in order.iter().filter(|spot| spot.worst == worst) {
            let (x, y) = at(spot.place);
            let _ = write!(data, "M{x:.0} {y:.0}{shape}");
        }
        if !data.is_empty() {
            let _ =
                write!(svg, "<path class=\"spots\" d=\"{data}\" fill=\"{fill}\" stroke=\"#000\" stroke-width=\".8\"/>");
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
