//! Scale bars in metres and feet, and the arrow to true north, below every map.

use super::map_frame::{Frame, WIDTH};
use super::words::Words;
use crate::units::METRES_PER_FOOT;
use crate::write::ToWgs84;
use geo::Coord;
use std::fmt::Write;

/// Height of the strip below the ground, 0.01 mm.
pub const STRIP: i64 = 1_700;
/// The longest bar, 0.01 mm.
const LONGEST: f64 = 6_500.0;

/// The angle from the map's up to true north, degrees clockwise; 0 where it cannot be told.
pub fn true_north_deg(frame: &Frame, to_wgs84: ToWgs84) -> f64 {
    let here = frame.window.centre();
    let places = to_wgs84(&[here, here + Coord { x: 0.0, y: 100.0 }]);
    let [here, up] = places[..] else { return 0.0 };
    let east = (up.x - here.x) * here.y.to_radians().cos();
    // The bearing of the map's up is east of north by so much; north is to the left of it.
    let bearing = east.atan2(up.y - here.y).to_degrees();
    if bearing.is_finite() { -bearing } else { 0.0 }
}

/// The strip.
pub fn strip(frame: &Frame, north_deg: f64, words: &Words) -> String {
    let mut svg = format!("<g class=\"strip\" transform=\"translate(0 {})\">", frame.height);
    bar(&mut svg, (frame, 420), 1.0, words.get("map", "metres"));
    bar(&mut svg, (frame, 1_130), METRES_PER_FOOT, words.get("map", "feet"));
    let _ = write!(
        svg,
        "<g class=\"north\" transform=\"translate({} 900) rotate({north_deg:.2})\"><path d=\"M0 700V-350\" stroke=\"#000\" \
         stroke-width=\"30\"/><path d=\"M0-480 170 0 0-90-170 0z\"/><text y=\"-510\" text-anchor=\"middle\" font-size=\"300\" \
         font-weight=\"700\">{}</text></g></g>",
        WIDTH - 600,
        super::plain_text::escaped(words.get("map", "north")),
    );
    svg
}

/// One bar in four parts, black and white in turn.
fn bar(svg: &mut String, (frame, y): (&Frame, i64), unit_m: f64, unit: &str) {
    let lengths = (0..6).flat_map(|power| [1.0, 2.0, 4.0].map(|digit| digit * 10f64.powi(power)));
    let whole = lengths.take_while(|&length| frame.length(length * unit_m) <= LONGEST).last().unwrap_or(1.0);
    let quarter = frame.length(whole * unit_m) / 4.0;
    for part in 0..4 {
        let fill = if part % 2 == 0 { "#000" } else { "#fff" };
        let x = 150.0 + quarter * f64::from(part);
        let _ = write!(
            svg,
            "<rect x=\"{x:.0}\" y=\"{y}\" width=\"{quarter:.0}\" height=\"130\" fill=\"{fill}\" stroke=\"#000\" stroke-width=\"15\"/>"
        );
    }
    for part in [0, 2, 4] {
        let x = 150.0 + quarter * f64::from(part);
        let value = super::amounts::trimmed(whole * f64::from(part) / 4.0, 2);
        let unit = if part == 4 { format!(" {}", super::plain_text::escaped(unit)) } else { String::new() };
        let _ = write!(
            svg,
            "<text x=\"{x:.0}\" y=\"{}\" text-anchor=\"{}\" font-size=\"270\">{value}{unit}</text>",
            y + 400,
            if part == 0 { "start" } else { "middle" },
        );
    }
}
