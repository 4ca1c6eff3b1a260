//! Lengths, areas and shares -> text for people, in metric or US customary units.
//!
//! Rounded for reading; the exact numbers are in the tables.

use crate::settings::ShownUnits;
use crate::units::{METRES_PER_FOOT, METRES_PER_INCH, SQUARE_METRES_PER_SQUARE_FOOT};
use crate::write::number::fixed;
use std::fmt::Write;

/// How amounts are shown.
#[derive(Debug, Clone, Copy)]
pub struct Amounts {
    /// The units.
    pub units: ShownUnits,
}

impl Amounts {
    /// A trunk's diameter: whole centimetres to one decimal, or inches.
    pub fn diameter(self, diameter_m: f64) -> String {
        match self.units {
            ShownUnits::Metric => format!("{} cm", trimmed(diameter_m * 100.0, 1)),
            ShownUnits::Us => format!("{} in", trimmed(diameter_m / METRES_PER_INCH, 1)),
        }
    }

    /// A length on the ground.
    pub fn length(self, length_m: f64) -> String {
        match self.units {
            ShownUnits::Metric => format!("{} m", fixed(length_m, 2)),
            ShownUnits::Us => format!("{} ft", fixed(length_m / METRES_PER_FOOT, 1)),
        }
    }

    /// A depth of cover.
    pub fn depth(self, depth_m: f64) -> String {
        self.diameter(depth_m)
    }

    /// An area on the ground.
    pub fn area(self, area_m2: f64) -> String {
        match self.units {
            ShownUnits::Metric => format!("{} m²", fixed(area_m2, 1)),
            ShownUnits::Us => format!("{} sq ft", grouped(&fixed(area_m2 / SQUARE_METRES_PER_SQUARE_FOOT, 0))),
        }
    }

    /// A volume of material.
    pub fn volume(self, volume_m3: f64) -> String {
        match self.units {
            ShownUnits::Metric => format!("{} m³", fixed(volume_m3, 2)),
            // One yard is 0.9144 m.
            ShownUnits::Us => format!("{} cu yd", fixed(volume_m3 / 0.9144f64.powi(3), 1)),
        }
    }

    /// A volume of water.
    pub fn water(self, litres: f64) -> String {
        match self.units {
            ShownUnits::Metric => format!("{} L", grouped(&fixed(litres, 0))),
            // One US gallon is 231 cubic inches.
            ShownUnits::Us => format!("{} gal", grouped(&fixed(litres / 3.785_411_784, 0))),
        }
    }

    /// A length that must be kept, in both units, each rounded up.
    pub fn at_least_in_both(self, length_m: f64) -> String {
        let up = |value: f64, parts: f64| (value * parts - 1e-6).ceil() / parts;
        let metres = format!("{} m", fixed(up(length_m, 100.0), 2));
        let feet = format!("{} ft", fixed(up(length_m / METRES_PER_FOOT, 10.0), 1));
        match self.units {
            ShownUnits::Metric => format!("{metres} ({feet})"),
            ShownUnits::Us => format!("{feet} ({metres})"),
        }
    }

    /// The same length in both units, the chosen one first.
    pub fn length_in_both(self, length_m: f64) -> String {
        let other = Amounts { units: self.units.other() };
        format!("{} ({})", self.length(length_m), other.length(length_m))
    }

    /// A text of another stage, which tells lengths in metres: with US units each has its feet beside it.
    pub fn with_feet(self, text: &str) -> String {
        let mut told = String::new();
        let mut rest = text;
        while let Some((before, after)) = rest.split_once(" m") {
            let digits = before.trim_end_matches(|c: char| c.is_ascii_digit() || c == '.').len();
            let length_m = before[digits..].parse::<f64>().ok().filter(|_| ends_length(after));
            let _ = write!(told, "{before} m");
            if let Some(length_m) = length_m.filter(|_| self.units == ShownUnits::Us) {
                let _ = write!(told, " ({})", self.length(length_m));
            }
            rest = after;
        }
        told + rest
    }

    /// The same area in both units, the chosen one first.
    pub fn area_in_both(self, area_m2: f64) -> String {
        let other = Amounts { units: self.units.other() };
        format!("{} ({})", self.area(area_m2), other.area(area_m2))
    }
}

/// Whether `m` before this text is the end of a length.
fn ends_length(after: &str) -> bool {
    after.chars().next().is_none_or(|next| " ,;.)".contains(next))
}

/// A number without zeros at the end of its decimals.
pub fn trimmed(value: f64, decimals: u32) -> String {
    let text = fixed(value, decimals);
    if text.contains('.') { text.trim_end_matches('0').trim_end_matches('.').to_string() } else { text }
}

/// Whole numbers in groups of three, apart by a comma.
pub fn grouped(digits: &str) -> String {
    let (whole, rest) = digits.split_at(digits.find('.').unwrap_or(digits.len()));
    let mut out = String::new();
    for (index, c) in whole.chars().enumerate() {
        if index > 0 && (whole.len() - index) % 3 == 0 {
            out.push(',');
        }
        out.push(c);
    }
    out + rest
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn amounts_read_well() {
        let (metric, us) = (Amounts { units: ShownUnits::Metric }, Amounts { units: ShownUnits::Us });
        assert_eq!(metric.diameter(0.508), "50.8 cm");
        assert_eq!(us.diameter(0.508), "20 in");
        assert_eq!(us.area(92.903_04), "1,000 sq ft");
        assert_eq!(metric.length_in_both(3.048), "3.05 m (10.0 ft)");
        let text = "0.999 m from a work, within 1 m; top 6 in (15 cm) are moist, 2 m high, 3 metres, a 12 mm bar";
        let both = "0.999 m (3.3 ft) from a work, within 1 m (3.3 ft); top 6 in (15 cm) are moist, 2 m (6.6 ft) high, 3 metres, a 12 mm bar";
        assert_eq!([us.with_feet(text).as_str(), &metric.with_feet(text)], [both, text]);
        assert_eq!([grouped("12"), grouped("1234567.5")], ["12", "1,234,567.5"]);
    }
}
