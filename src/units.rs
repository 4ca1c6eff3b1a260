//! Units and exact factors.
//!
//! Inside the program every length is in metres and every area in square metres; a name carries its unit (`radius_m`).
//! Only `normalise` turns what a file says into metres, and only `write` turns metres into what a person reads.
//!
//! # Source
//! International foot 0.3048 m and inch 0.0254 m exactly: international yard and pound agreement, 1959 (from memory;
//! the values are also EPSG units 9002 and 9003). US survey foot 1200/3937 m exactly: EPSG unit 9003.

/// Metres in one international foot, exactly.
pub const METRES_PER_FOOT: f64 = 0.3048;
/// Metres in one US survey foot, exactly 1200/3937.
pub const METRES_PER_US_SURVEY_FOOT: f64 = 1200.0 / 3937.0;
/// Metres in one inch, exactly.
pub const METRES_PER_INCH: f64 = 0.0254;
/// Square metres in one square international foot, exactly.
pub const SQUARE_METRES_PER_SQUARE_FOOT: f64 = METRES_PER_FOOT * METRES_PER_FOOT;
/// Cubic metres in a cubic yard: 27 cubic feet.
pub const CUBIC_METRES_PER_CUBIC_YARD: f64 = 27.0 * METRES_PER_FOOT * METRES_PER_FOOT * METRES_PER_FOOT;

/// A unit of length as a column, a flag or a rule file may state it.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, serde::Serialize, serde::Deserialize)]
pub enum LengthUnit {
    /// 0.0254 m
    #[serde(rename = "in")]
    Inch,
    /// 0.01 m
    #[serde(rename = "cm")]
    Centimetre,
    /// 0.001 m
    #[serde(rename = "mm")]
    Millimetre,
    /// 1 m
    #[serde(rename = "m")]
    Metre,
    /// 0.3048 m
    #[serde(rename = "ft")]
    Foot,
}

impl LengthUnit {
    /// Every unit, in the order in which candidates are listed.
    pub const ALL: [LengthUnit; 5] =
        [LengthUnit::Inch, LengthUnit::Centimetre, LengthUnit::Millimetre, LengthUnit::Metre, LengthUnit::Foot];

    /// Metres in one of this unit.
    pub fn metres(self) -> f64 {
        match self {
            LengthUnit::Inch => METRES_PER_INCH,
            LengthUnit::Centimetre => 0.01,
            LengthUnit::Millimetre => 0.001,
            LengthUnit::Metre => 1.0,
            LengthUnit::Foot => METRES_PER_FOOT,
        }
    }

    /// The short name as typed after a number or in a flag: `in`, `cm`, `mm`, `m`, `ft`.
    pub fn symbol(self) -> &'static str {
        match self {
            LengthUnit::Inch => "in",
            LengthUnit::Centimetre => "cm",
            LengthUnit::Millimetre => "mm",
            LengthUnit::Metre => "m",
            LengthUnit::Foot => "ft",
        }
    }

    /// Reads a unit name in one of its usual spellings (`in`, `inch`, `inches`, `"`, `cm`, `mm`, `m`, `metre`, `ft` ...).
    pub fn parse(text: &str) -> Option<LengthUnit> {
        match text.trim().to_lowercase().as_str() {
            "in" | "in." | "inch" | "inches" | "\"" | "\u{2033}" | "zoll" => Some(LengthUnit::Inch),
            "cm" | "centimetre" | "centimetres" | "centimeter" | "centimeters" => Some(LengthUnit::Centimetre),
            "mm" | "millimetre" | "millimetres" | "millimeter" | "millimeters" => Some(LengthUnit::Millimetre),
            "m" | "metre" | "metres" | "meter" | "meters" => Some(LengthUnit::Metre),
            "ft" | "ft." | "foot" | "feet" | "'" | "\u{2032}" => Some(LengthUnit::Foot),
            _ => None,
        }
    }
}

impl std::fmt::Display for LengthUnit {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str(self.symbol())
    }
}

/// Reads a length with its unit, such as `30in`, `76 cm`, `2.5 m`, into metres.
///
/// `None` where the number or the unit cannot be read, or the number is not finite.
pub fn parse_length_m(text: &str) -> Option<f64> {
    let text = text.trim();
    let split = text.find(|c: char| !(c.is_ascii_digit() || c == '.' || c == '-' || c == '+'))?;
    let number: f64 = text[..split].parse().ok()?;
    let unit = LengthUnit::parse(&text[split..])?;
    let metres = number * unit.metres();
    metres.is_finite().then_some(metres)
}

/// Reads a multiple of the trunk, such as `6 x diameter` or `4 x circumference`, into diameters.
///
/// `None` where it is neither, or the number is not more than 0 and at most 1000.
pub fn parse_multiple(text: &str) -> Option<f64> {
    let (factor, of) = text.split_once(" x ")?;
    let factor: f64 = factor.trim().parse().ok().filter(|factor: &f64| *factor > 0.0 && *factor <= 1000.0)?;
    match of.trim() {
        "diameter" => Some(factor),
        "circumference" => Some(factor * std::f64::consts::PI),
        _ => None,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn lengths_with_units() {
        assert_eq!(parse_length_m("30in"), Some(0.762));
        assert_eq!(parse_length_m("76 cm"), Some(0.76));
        assert_eq!(parse_length_m("30"), None);
        assert_eq!(parse_length_m("in"), None);
    }

    #[test]
    fn the_two_feet_differ_by_two_parts_in_a_million() {
        let ratio = METRES_PER_US_SURVEY_FOOT / METRES_PER_FOOT;
        assert!((ratio - 1.000002).abs() < 1e-9, "{ratio}");
    }
}
