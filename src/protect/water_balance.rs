//! Daily weather -> a soil water balance of the top of the soil and of the whole root depth -> days on which water is due, and how much.
//!
//! The root depth is one store as in FAO-56, kept in two layers: rain and water fill the top first, what the top cannot hold passes on, and
//! what the lower layer cannot hold is lost below the roots. Trees take from both layers in proportion to what each still holds. Runoff and
//! capillary rise are left out: on sloping or sealed ground less rain enters than is counted.
//!
//! # Source
//! FAO Irrigation and Drainage Paper 56 (1998), chapter 8: equations 82 to 85 (second-hand). The two layers and the days on which no water is
//! given are the program's own: common sense, no source.

use super::evaporation::{extraterrestrial_mj, hargreaves_mm};
use crate::model::weather::{BalanceDay, DueTo, WeatherDay};
use jiff::civil::Date;

/// A layer that lacks less than this has reached field capacity, millimetres.
const FULL_MM: f64 = 1e-6;

/// What the soil holds and how trees use it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SoilStore {
    /// Water that the root depth holds for plants, mm: TAW, equation 82.
    pub root_mm: f64,
    /// Of it, the part in the top of the soil, mm; less than `root_mm` unless the roots go no deeper.
    pub top_mm: f64,
    /// Share of it that may be used before trees feel it: p of equation 83.
    pub depletion_share: f64,
    /// Evaporation of the ground over the reference: Kc.
    pub crop_coefficient: f64,
}

impl SoilStore {
    /// A soil of `available_mm_per_m` between wilting and field capacity.
    pub fn new(
        available_mm_per_m: f64,
        root_m: f64,
        top_m: f64,
        depletion_share: f64,
        crop_coefficient: f64,
    ) -> SoilStore {
        SoilStore {
            root_mm: available_mm_per_m * root_m,
            top_mm: available_mm_per_m * top_m.min(root_m),
            depletion_share,
            crop_coefficient,
        }
    }

    /// What the root depth takes up on a day when water is due, mm: the share that may be used.
    pub fn takes_mm(&self) -> f64 {
        self.root_mm * self.depletion_share
    }
}

/// On which days water may be given.
pub struct Leave<'a> {
    /// First and last day of the job: none is given outside.
    pub job: (Date, Date),
    /// Whether a day lies in the dry summer of the trees; their soil is left to dry.
    pub dry_summer: &'a dyn Fn(Date) -> bool,
}

/// What both layers lack to field capacity, mm.
#[derive(Debug, Clone, Copy, Default)]
struct Lack {
    top_mm: f64,
    lower_mm: f64,
}

/// Keeps account over all days, which follow on one another without a gap. The soil begins at field capacity.
///
/// On a morning when the top or the whole root depth lacks its allowed share or more, water is due; it brings the whole root depth to field
/// capacity. It is not given on a day that freezes (lowest temperature below 0 degrees), on a top that is at field capacity, in the dry
/// summer, or outside the job: it stays due.
pub fn balance(days: &[WeatherDay], latitude_deg: f64, soil: &SoilStore, leave: &Leave<'_>) -> Vec<BalanceDay> {
    let mut lack = Lack::default();
    days.iter().map(|&weather| one_day(&mut lack, weather, latitude_deg, soil, leave)).collect()
}

fn one_day(lack: &mut Lack, weather: WeatherDay, latitude_deg: f64, soil: &SoilStore, leave: &Leave<'_>) -> BalanceDay {
    let radiation_mj = extraterrestrial_mj(latitude_deg, weather.date.day_of_year().unsigned_abs().into());
    let reference_mm = hargreaves_mm(radiation_mj, weather.tmin_c, weather.tmax_c);
    let due = due(lack, soil);
    let withheld = if due.is_some() { withheld(lack, &weather, leave) } else { "" };
    let water_mm = if due.is_some() && withheld.is_empty() { lack.top_mm + lack.lower_mm } else { 0.0 };

    // FAO-56 finds the stress from what was lacking before the day; water given in the morning has ended it.
    let stress = stress(lack.top_mm + lack.lower_mm - water_mm, soil);
    let lost_mm = fill(lack, water_mm);
    let evaporation_mm = draw(lack, stress * soil.crop_coefficient * reference_mm, soil);
    let percolation_mm = lost_mm + fill(lack, weather.rain_mm);
    BalanceDay {
        weather,
        radiation_mj,
        reference_mm,
        stress,
        evaporation_mm,
        water_mm,
        percolation_mm,
        top_lacks_mm: lack.top_mm,
        root_lacks_mm: lack.top_mm + lack.lower_mm,
        due,
        withheld,
    }
}

fn due(lack: &Lack, soil: &SoilStore) -> Option<DueTo> {
    let top = lack.top_mm >= soil.depletion_share * soil.top_mm;
    let root = lack.top_mm + lack.lower_mm >= soil.depletion_share * soil.root_mm;
    match (top, root) {
        (true, true) => Some(DueTo::Both),
        (true, false) => Some(DueTo::Top),
        (false, true) => Some(DueTo::RootDepth),
        (false, false) => None,
    }
}

fn withheld(lack: &Lack, weather: &WeatherDay, leave: &Leave<'_>) -> &'static str {
    if weather.date < leave.job.0 {
        "before the job"
    } else if weather.date > leave.job.1 {
        "after the job"
    } else if (leave.dry_summer)(weather.date) {
        "dry summer"
    } else if weather.tmin_c < 0.0 {
        "frozen"
    } else if lack.top_mm < FULL_MM {
        "saturated"
    } else {
        ""
    }
}

/// Ks of equation 84: 1 until the allowed share is used, then falling to 0 where nothing is left.
fn stress(lack_mm: f64, soil: &SoilStore) -> f64 {
    let allowed_mm = soil.depletion_share * soil.root_mm;
    if lack_mm <= allowed_mm { 1.0 } else { ((soil.root_mm - lack_mm) / (soil.root_mm - allowed_mm)).clamp(0.0, 1.0) }
}

/// Fills the top, then the lower layer; what neither holds is returned.
fn fill(lack: &mut Lack, water_mm: f64) -> f64 {
    let into_top = water_mm.min(lack.top_mm);
    let into_lower = (water_mm - into_top).min(lack.lower_mm);
    lack.top_mm -= into_top;
    lack.lower_mm -= into_lower;
    water_mm - into_top - into_lower
}

/// Takes from both layers in proportion to what they hold, never more than that; returns what was taken.
fn draw(lack: &mut Lack, wanted_mm: f64, soil: &SoilStore) -> f64 {
    let held = [soil.top_mm - lack.top_mm, soil.root_mm - soil.top_mm - lack.lower_mm].map(|mm| mm.max(0.0));
    let all_mm = held[0] + held[1];
    let taken_mm = wanted_mm.min(all_mm);
    if all_mm > 0.0 {
        lack.top_mm += taken_mm * held[0] / all_mm;
        lack.lower_mm += taken_mm * held[1] / all_mm;
    }
    taken_mm
}

#[cfg(test)]
#[path = "water_balance_tests.rs"]
mod tests;
