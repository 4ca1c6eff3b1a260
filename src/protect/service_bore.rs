//! A line and the root zones that it crosses -> from where to where it would be bored, with pits outside every zone.
//!
//! A pit lies on the line, its whole width outside every root zone by the set-back. Where two crossings leave no room for a pit each
//! between them, one bore passes beneath both.

use super::service_values::ServiceValues;
use crate::geometry::centre_line::{Stretch, line_length_m, sharpest_bend_deg, stretches_inside};
use crate::model::service::Bore;
use crate::rules::RuleSet;
use geo::{Coord, LineString, MultiLineString};
use std::fmt::Write;

/// A bend beneath a zone of more than this is said: a bore runs straight or in a wide curve. Common practice, no source, degrees.
const BEND_WORTH_SAYING_DEG: f64 = 15.0;
/// A pit this much short of room has room, metres.
const ROOM_SLACK_M: f64 = 1e-6;

/// The bores of one line, part by part.
pub(super) struct Bores<'a> {
    lines: &'a MultiLineString<f64>,
    /// In the order of the line's parts, each in order along it.
    runs: Vec<Vec<Stretch>>,
    values: &'a ServiceValues,
    /// A zone's radius grows by this for the centre line of a pit, metres.
    beside_m: f64,
}

impl<'a> Bores<'a> {
    /// Plans the bores beneath discs (centre and radius) for a line that is `half_m` wide to either side.
    pub(super) fn plan(
        lines: &'a MultiLineString<f64>,
        half_m: f64,
        zones: &[(Coord<f64>, f64)],
        values: &'a ServiceValues,
    ) -> Bores<'a> {
        let pit = &values.pit;
        let beside_m = pit.set_back.metres + half_m.max(pit.width.metres / 2.0);
        let of_part = |line: &LineString<f64>| {
            let crossed =
                zones.iter().flat_map(|&(centre, radius_m)| stretches_inside(line, centre, radius_m + beside_m));
            merged(crossed.collect(), 2.0 * pit.length.metres)
        };
        Bores { lines, runs: lines.0.iter().map(of_part).collect(), values, beside_m }
    }

    /// The bore beneath one of these discs.
    pub(super) fn beneath(&self, centre: Coord<f64>, radius_m: f64, rules: &RuleSet) -> Bore {
        let (depth_m, depth_from) = depth(rules, self.values);
        let mut bore = Bore { depth_m, depth_from, length_m: 0.0, pits: 0, pits_text: String::new(), possible: true };
        for (part, (line, runs)) in self.lines.0.iter().zip(&self.runs).enumerate() {
            let own = stretches_inside(line, centre, radius_m + self.beside_m);
            let beneath = |run: &&Stretch| {
                own.iter().any(|own| own.from_m >= run.from_m - ROOM_SLACK_M && own.to_m <= run.to_m + ROOM_SLACK_M)
            };
            for run in runs.iter().filter(beneath) {
                self.add(&mut bore, (part, line), *run);
            }
        }
        bore.possible &= bore.length_m > 0.0;
        bore
    }

    /// Adds one bore with its pits to what is said of a tree.
    fn add(&self, bore: &mut Bore, (part, line): (usize, &LineString<f64>), run: Stretch) {
        let pit_m = self.values.pit.length.metres;
        bore.length_m += run.length_m();
        if !bore.pits_text.is_empty() {
            bore.pits_text.push_str("; ");
        }
        if self.lines.0.len() > 1 {
            let _ = write!(bore.pits_text, "part {}: ", part + 1);
        }
        let ends = [
            ("start", run.from_m > ROOM_SLACK_M, (run.from_m - pit_m, run.from_m)),
            ("end", run.to_m < line_length_m(line) - ROOM_SLACK_M, (run.to_m, run.to_m + pit_m)),
        ];
        for (at, (name, room, (from_m, to_m))) in ends.into_iter().enumerate() {
            bore.pits_text.push_str(if at == 0 { "" } else { " and " });
            if room {
                bore.pits += 1;
                let _ = write!(bore.pits_text, "pit {from_m:.1} to {to_m:.1} m along the line");
            } else {
                bore.possible = false;
                let _ =
                    write!(bore.pits_text, "no room for a pit: the line's {name} lies within or beside a root zone");
            }
        }
        let bend_deg = sharpest_bend_deg(line, run);
        if bend_deg > BEND_WORTH_SAYING_DEG {
            let _ = write!(
                bore.pits_text,
                " (the line bends by {bend_deg:.0} degrees beneath: a bore runs straight or in a wide curve)"
            );
        }
    }
}

/// Stretches that leave less than `room_m` between them become one.
fn merged(mut stretches: Vec<Stretch>, room_m: f64) -> Vec<Stretch> {
    stretches.sort_by(|a, b| a.from_m.total_cmp(&b.from_m).then(a.to_m.total_cmp(&b.to_m)));
    let mut runs: Vec<Stretch> = Vec::new();
    for stretch in stretches {
        match runs.last_mut() {
            Some(last) if stretch.from_m - last.to_m < room_m => last.to_m = last.to_m.max(stretch.to_m),
            _ => runs.push(stretch),
        }
    }
    runs
}

/// How deep the bore's top must pass, and where that comes from: the rule set where it says so, else the first published value, with
/// the others beside it.
fn depth(rules: &RuleSet, values: &ServiceValues) -> (f64, String) {
    if let Some(bores) = &rules.bores {
        let from = &bores.deep_from;
        return (
            from.is.metres,
            format!("{} by the rule set {} ({})", from.is.written, rules.name, from.from.status.word()),
        );
    }
    let said =
        |one: &super::service_values::BoreDepth| format!("{} {} ({})", one.depth.written, one.place, one.status.word());
    let (first, others) = values.bore_depths.split_first().expect("never empty");
    let others = others.iter().map(said).collect::<Vec<_>>().join("; ");
    let others = if others.is_empty() { others } else { format!("; compare {others}") };
    (first.depth.metres, format!("the rule set states none: {}{others}", said(first)))
}

#[cfg(test)]
#[path = "service_bore_tests.rs"]
mod tests;
