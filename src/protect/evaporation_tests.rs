//! Against the examples of FAO-56.

use super::*;
use proptest::prelude::*;

#[test]
fn daylight_of_example_9() {
    // Latitude 20 S, 3 September (day 246): 11.66559 h in NCL's documentation of daylight_fao56 (seen), printed 11.7 in FAO-56.
    assert!((daylight_hours(-20.0, 246) - 11.66559).abs() < 5e-5, "{}", daylight_hours(-20.0, 246));
}

#[test]
fn radiation_of_example_8() {
    // Latitude 20 S, day 246: 32.2 MJ/m2 (FAO-56, from memory).
    assert!((extraterrestrial_mj(-20.0, 246) - 32.2).abs() < 0.05, "{}", extraterrestrial_mj(-20.0, 246));
}

#[test]
fn hargreaves_of_example_20() {
    // Latitude 45.72 N, day 196, 26.6 and 14.8 degrees (second-hand): about 5.0 mm (from memory).
    let mm = hargreaves_mm(extraterrestrial_mj(45.72, 196), 14.8, 26.6);
    assert!((mm - 5.0).abs() < 0.05, "{mm}");
}

#[test]
fn polar_night_and_polar_day() {
    assert_eq!((daylight_hours(80.0, 355), extraterrestrial_mj(80.0, 355)), (0.0, 0.0));
    assert!((daylight_hours(80.0, 172) - 24.0).abs() < 1e-9);
    assert!((daylight_hours(0.0, 80) - 12.0).abs() < 1e-9);
}

proptest! {
    #[test]
    fn nothing_is_negative_or_infinite(latitude in -90.0f64..=90.0, day in 1u32..=366, low in -60.0f64..50.0, range in 0.0f64..40.0) {
        let radiation = extraterrestrial_mj(latitude, day);
        prop_assert!((0.0..50.0).contains(&radiation), "{}", radiation);
        let mm = hargreaves_mm(radiation, low, low + range);
        prop_assert!((0.0..40.0).contains(&mm), "{}", mm);
        prop_assert!((0.0..=24.0).contains(&daylight_hours(latitude, day)));
    }

    #[test]
    fn the_other_half_of_the_world_has_the_rest_of_the_day(latitude in 0.0f64..60.0, day in 1u32..=365) {
        let both = daylight_hours(latitude, day) + daylight_hours(-latitude, day);
        prop_assert!((both - 24.0).abs() < 1e-9);
    }
}
