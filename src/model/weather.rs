//! Daily weather as measured, and what a soil water balance makes of it.

use jiff::civil::Date;

/// The weather of one day.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct WeatherDay {
    /// The day.
    pub date: Date,
    /// Lowest temperature, degrees Celsius.
    pub tmin_c: f64,
    /// Highest temperature, degrees Celsius; not below the lowest.
    pub tmax_c: f64,
    /// Rain, millimetres; 0 or more.
    pub rain_mm: f64,
}

/// Weather without a gap, day after day, with what there is to say about the file.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Weather {
    /// One for each day, in order.
    pub days: Vec<WeatherDay>,
    /// What was left out, in sentences.
    pub notes: Vec<String>,
}

/// Which store of water asked for water.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum DueTo {
    /// The top of the soil.
    Top,
    /// The whole root depth.
    RootDepth,
    /// Both.
    Both,
}

impl DueTo {
    /// The word in columns.
    pub fn word(self) -> &'static str {
        match self {
            DueTo::Top => "top",
            DueTo::RootDepth => "root depth",
            DueTo::Both => "top and root depth",
        }
    }
}

/// The water balance of one day.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct BalanceDay {
    /// The weather.
    pub weather: WeatherDay,
    /// Radiation at the top of the atmosphere, MJ/m2.
    pub radiation_mj: f64,
    /// Reference evaporation, mm.
    pub reference_mm: f64,
    /// Water stress factor, 0 to 1.
    pub stress: f64,
    /// Evaporation and transpiration of the root zone, mm.
    pub evaporation_mm: f64,
    /// Watered, mm.
    pub water_mm: f64,
    /// What passed below the root depth, mm.
    pub percolation_mm: f64,
    /// What the top of the soil lacks to field capacity at the end of the day, mm.
    pub top_lacks_mm: f64,
    /// What the whole root depth, the top included, lacks at the end of the day, mm.
    pub root_lacks_mm: f64,
    /// What asked for water in the morning, whether or not it was given.
    pub due: Option<DueTo>,
    /// Why it was not given: `frozen`, `saturated`, `dry summer`, `before the job`; empty where it was, or where none was due.
    pub withheld: &'static str,
}
