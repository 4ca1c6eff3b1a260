//! Latitude, day of the year and temperatures -> the evaporation of a well-watered grass, in millimetres a day.
//!
//! # Source
//! Allen, Pereira, Raes, Smith, Crop evapotranspiration, FAO Irrigation and Drainage Paper 56 (1998): equations 21 to 25 and 34 on radiation
//! and daylight, 52 (Hargreaves) on evaporation without more than temperatures. Equations second-hand, coefficients as widely printed.

use std::f64::consts::PI;

/// Solar constant, MJ/m2 a minute.
const SOLAR_CONSTANT: f64 = 0.0820;
/// Millimetres of water that one MJ/m2 evaporates.
const MM_PER_MJ: f64 = 0.408;

/// Declination of the sun on a day of the year (1 to 366), radians: equation 24.
fn declination(day: u32) -> f64 {
    0.409 * (2.0 * PI / 365.0 * f64::from(day) - 1.39).sin()
}

/// Hour angle of sunset, radians, 0 in the polar night and pi in the polar day: equation 25.
fn sunset_angle(latitude_deg: f64, day: u32) -> f64 {
    (-latitude_deg.to_radians().tan() * declination(day).tan()).clamp(-1.0, 1.0).acos()
}

/// Hours of daylight: equation 34.
pub fn daylight_hours(latitude_deg: f64, day: u32) -> f64 {
    24.0 / PI * sunset_angle(latitude_deg, day)
}

/// Radiation at the top of the atmosphere, MJ/m2 a day: equations 21 and 23.
pub fn extraterrestrial_mj(latitude_deg: f64, day: u32) -> f64 {
    let (latitude, declination, sunset) =
        (latitude_deg.to_radians(), declination(day), sunset_angle(latitude_deg, day));
    let distance = 1.0 + 0.033 * (2.0 * PI / 365.0 * f64::from(day)).cos();
    let height = sunset * latitude.sin() * declination.sin() + latitude.cos() * declination.cos() * sunset.sin();
    (24.0 * 60.0 / PI * SOLAR_CONSTANT * distance * height).max(0.0)
}

/// Reference evaporation by Hargreaves, mm a day, never below 0: equation 52.
pub fn hargreaves_mm(radiation_mj: f64, tmin_c: f64, tmax_c: f64) -> f64 {
    let mean_c = (tmin_c + tmax_c) / 2.0;
    (0.0023 * (mean_c + 17.8) * (tmax_c - tmin_c).max(0.0).sqrt() * MM_PER_MJ * radiation_mj).max(0.0)
}

#[cfg(test)]
#[path = "evaporation_tests.rs"]
mod tests;
