//! How cells are put together.

use super::*;
use jiff::civil::date;

#[test]
fn lists_that_are_equal_stand_once() {
    assert_eq!(list(&[2.0, 2.0, 2.0], 1), "2.0");
    assert_eq!(list(&[2.0, 2.5], 1), "2.0; 2.5");
    // Equal as printed.
    assert_eq!(list(&[2.04, 2.0], 1), "2.0");
    assert_eq!(list(&[], 1), "");
}

#[test]
fn dates_are_joined_as_iso_8601_writes_them() {
    assert_eq!(joined([date(2028, 2, 29), date(2028, 3, 1)].into_iter()), "2028-02-29; 2028-03-01");
    assert_eq!(joined(std::iter::empty()), "");
}

#[test]
fn repeats_are_told_in_words() {
    let told =
        [Recurrence::Once, Recurrence::EveryDays(28), Recurrence::Years(5), Recurrence::Water, Recurrence::Standing];
    let words = ["once", "every 28 days", "every year, 5 times", "as water.csv says", "whenever it comes up"];
    assert_eq!(told.map(repeats), words);
}
