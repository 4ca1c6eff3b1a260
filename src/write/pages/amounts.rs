//! Lengths, areas and shares -> text for people, in metric or US customary units.
//!
//! Rounded for reading; the exact numbers are in the tables.

use crate::settings::ShownUnits;
use crate::units::{METRES_PER_FOOT, METRES_PER_INCH, SQUARE_METRES_PER_SQUARE_FOOT};
use crate::write::number::fixed;

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

    /// The same area in both units, the chosen one first.
    pub fn area_in_both(self, area_m2: f64) -> String {
        let other = Amounts { units: self.units.other() };
        format!("{} ({})", self.area(area_m2), other.area(area_m2))
    }
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
        assert_eq!([grouped("12"), grouped("1234567.5")], ["12", "1,234,567.5"]);
    }
}
