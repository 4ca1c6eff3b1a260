//! Lines, escapes and rows of days as RFC 5545 wants them. Whole files are read back in tests of the command.

use super::*;
use jiff::ToSpan;
use jiff::civil::date;
use proptest::prelude::*;

fn folded(line: &str) -> String {
    let mut text = Text::default();
    text.line(line);
    text.0
}

/// RFC 5545, section 3.1: a line break followed by one blank is no part of the line.
fn unfolded(text: &str) -> String {
    text.replace("\r\n ", "")
}

/// RFC 5545, section 3.3.11, read backwards.
fn unescaped(text: &str) -> String {
    let mut out = String::new();
    let mut letters = text.chars();
    while let Some(letter) = letters.next() {
        match letter {
            '\\' => match letters.next() {
                Some('n' | 'N') => out.push('\n'),
                Some(other) => out.push(other),
                None => panic!("a lone backslash"),
            },
            other => out.push(other),
        }
    }
    out
}

#[test]
fn a_line_of_75_octets_is_not_folded_and_one_of_76_is() {
    assert_eq!(folded(&"a".repeat(75)), format!("{}\r\n", "a".repeat(75)));
    assert_eq!(folded(&"a".repeat(76)), format!("{}\r\n a\r\n", "a".repeat(75)));
    // The blank counts: 75, then 74 more.
    assert_eq!(folded(&"a".repeat(150)), format!("{}\r\n {}\r\n a\r\n", "a".repeat(75), "a".repeat(74)));
}

#[test]
fn a_letter_of_several_octets_is_never_cut() {
    // 74 + 2 octets: the e with an acute goes to the next line.
    assert_eq!(folded(&format!("{}\u{e9}", "a".repeat(74))), format!("{}\r\n \u{e9}\r\n", "a".repeat(74)));
}

#[test]
fn marks_are_escaped_and_control_characters_become_blanks() {
    assert_eq!(escaped("a,b;c\\d\ne:f\"g"), "a\\,b\\;c\\\\d\\ne:f\"g");
    assert_eq!(escaped("x\r\nEND:VEVENT\u{0}\u{7f}"), "x \\nEND:VEVENT  ");
}

fn step(dates: &[Date]) -> Step {
    Step { rule: 0, dates: dates.into(), trees: vec![0] }
}

/// All days of the rows again.
fn days_of(rows: &[(Date, Repeats)]) -> Vec<Date> {
    rows.iter()
        .flat_map(|&(first, every)| {
            let (gap, times) = every.unwrap_or((1, 1));
            (0..times).map(move |time| first.checked_add((gap * time as i64).days()).unwrap())
        })
        .collect()
}

#[test]
fn inspections_make_a_row_and_the_last_day_stands_alone() {
    let dates = [date(2027, 4, 1), date(2027, 4, 29), date(2027, 5, 27), date(2027, 5, 31)];
    let rows = runs_of_days(&step(&dates), Recurrence::EveryDays(28));
    assert_eq!(rows, [(dates[0], Some((28, 3))), (dates[3], None)]);
    // Years are not of equal length: each visit is an event of its own.
    let visits = [date(2028, 10, 31), date(2029, 10, 31), date(2030, 10, 31)];
    assert!(runs_of_days(&step(&visits), Recurrence::Years(3)).iter().all(|row| row.1.is_none()));
    assert_eq!(runs_of_days(&step(&[]), Recurrence::Water), []);
}

proptest! {
    #[test]
    fn any_text_comes_back_and_no_line_is_too_long(text in "\\PC{0,300}") {
        let lines = folded(&format!("SUMMARY:{}", escaped(&text)));
        prop_assert!(lines.ends_with("\r\n"));
        prop_assert!(lines.split("\r\n").all(|line| line.len() <= 75));
        let line = unfolded(lines.strip_suffix("\r\n").unwrap());
        prop_assert_eq!(unescaped(line.strip_prefix("SUMMARY:").unwrap()), text);
    }

    #[test]
    fn rows_of_days_are_the_days(gaps in proptest::collection::vec(1i32..4, 0..60)) {
        let mut dates = vec![date(2027, 12, 1)];
        for gap in gaps {
            dates.push(dates[dates.len() - 1].checked_add(gap.days()).unwrap());
        }
        let rows = runs_of_days(&step(&dates), Recurrence::Water);
        prop_assert_eq!(days_of(&rows), dates);
        prop_assert!(rows.iter().all(|row| row.1.is_none_or(|(_, times)| times >= 3)));
    }
}
