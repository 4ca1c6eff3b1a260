//! Dated steps -> `calendar.ics`: one event for each step and day, or for a row of days at equal distances. No clock, no chance.
//!
//! All of a run's permits stand in one file, each event with its permit as category. Every event is identified by permit, step and its
//! number, so that reading in a later plan moves events instead of doubling them.
//!
//! # Source
//! RFC 5545: sections 3.1 (lines of at most 75 octets, CRLF), 3.3.4 (dates), 3.3.10 (recurrence), 3.3.11 (escaping), 3.6.1 (events).

use super::staging::Staging;
use super::upkeep::{PermitUpkeep, tree_ids};
use super::view::View;
use crate::error::Result;
use crate::in_order::in_order;
use crate::model::upkeep::{Job, Recurrence, Step, UpkeepRun};
use jiff::civil::Date;
use sha2::{Digest, Sha256};
use std::fmt::Write;

/// The file.
pub const CALENDAR_FILE: &str = "calendar.ics";
/// Octets of a line, its end not counted.
const MOST_OCTETS: usize = 75;
/// Permits that are worked on at once, while the text of as many waits to be written.
const PERMITS_AT_ONCE: usize = 1024;

/// Writes the file; none where the job has no days or no permit has a step.
pub(super) fn write_calendar_file(
    view: &View,
    run: &UpkeepRun,
    permits: &[PermitUpkeep],
    staging: &mut Staging,
) -> Result<()> {
    let Some(job) = run.job else { return Ok(()) };
    if permits.iter().all(|permit| permit.upkeep.steps.is_empty()) {
        return Ok(());
    }
    let mut file = staging.create(CALENDAR_FILE)?;
    let mut head = Text::default();
    for line in [
        "BEGIN:VCALENDAR".to_string(),
        "VERSION:2.0".to_string(),
        format!("PRODID:-//rootward//rootward {}//EN", escaped(&view.facts.program_version)),
        "CALSCALE:GREGORIAN".to_string(),
    ] {
        head.line(&line);
    }
    file.put(head.0.as_bytes())?;
    let text = |permit: &PermitUpkeep| events(view, run, job, permit);
    in_order(permits.iter().map(Ok), PERMITS_AT_ONCE, text, |text| file.put(text.as_bytes()))?;
    file.put(b"END:VCALENDAR\r\n")?;
    staging.close(file)
}

/// The events of one permit.
fn events(view: &View, run: &UpkeepRun, job: Job, permit: &PermitUpkeep) -> String {
    let mut text = Text::default();
    for step in &permit.upkeep.steps {
        for (number, (first, every)) in runs_of_days(step, run.steps[step.rule as usize].recurrence).iter().enumerate()
        {
            event(&mut text, view, run, job, (permit.permit_id, step), number, *first, *every);
        }
    }
    text.0
}

/// Days between and number of days of a row.
type Repeats = Option<(i64, usize)>;

/// The dates of a step as rows of days at equal distances: three or more of them make a row.
fn runs_of_days(step: &Step, recurrence: Recurrence) -> Vec<(Date, Repeats)> {
    let dates = &step.dates;
    if !matches!(recurrence, Recurrence::EveryDays(_) | Recurrence::Water) {
        return dates.iter().map(|&date| (date, None)).collect();
    }
    let gap = |at: usize| i64::from(dates[at].until(dates[at + 1]).map_or(0, |span| span.get_days()));
    let mut runs = Vec::new();
    let mut at = 0;
    while at < dates.len() {
        let mut end = at + 1;
        while end < dates.len() && gap(end - 1) == gap(at) {
            end += 1;
        }
        if end - at >= 3 {
            runs.push((dates[at], Some((gap(at), end - at))));
            at = end;
        } else {
            runs.push((dates[at], None));
            at += 1;
        }
    }
    runs
}

#[expect(clippy::too_many_arguments, reason = "what one event is made of")]
fn event(
    text: &mut Text,
    view: &View,
    run: &UpkeepRun,
    job: Job,
    (permit_id, step): (&str, &Step),
    number: usize,
    first: Date,
    every: Repeats,
) {
    let rule = &run.steps[step.rule as usize];
    let day = |date: Date| date.strftime("%Y%m%d").to_string();
    let mut hash = Sha256::new();
    for part in [permit_id, rule.name.as_str(), &number.to_string()] {
        hash.update((part.len() as u64).to_be_bytes());
        hash.update(part.as_bytes());
    }
    let uid = hash.finalize().iter().take(16).fold(String::new(), |mut uid, byte| {
        let _ = write!(uid, "{byte:02x}");
        uid
    });
    let mut told = format!("{}\nWho: {}\nTrees: {}", rule.what, rule.who, tree_ids(view, step));
    if !rule.holds_up.is_empty() {
        let _ = write!(told, "\nHolds up: {}", rule.holds_up);
    }
    let _ = write!(told, "\nFrom: {}", rule.origin);
    text.line("BEGIN:VEVENT");
    text.line(&format!("UID:{uid}@rootward"));
    // The moment of writing would make each run differ: the first day of the job stands for it.
    text.line(&format!("DTSTAMP:{}T000000Z", day(job.start)));
    text.line(&format!("DTSTART;VALUE=DATE:{}", day(first)));
    if let Some((days, times)) = every {
        text.line(&format!("RRULE:FREQ=DAILY;INTERVAL={days};COUNT={times}"));
    }
    text.line(&format!("SUMMARY:{}", escaped(&format!("{permit_id}: {}", rule.name.replace('-', " ")))));
    text.line(&format!("DESCRIPTION:{}", escaped(&told)));
    text.line(&format!("CATEGORIES:{}", escaped(permit_id)));
    text.line("TRANSP:TRANSPARENT");
    text.line("END:VEVENT");
}

/// Text as RFC 5545, section 3.3.11, wants it; control characters, which it forbids, become blanks.
fn escaped(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    for letter in text.chars() {
        match letter {
            '\\' => out.push_str("\\\\"),
            ';' => out.push_str("\\;"),
            ',' => out.push_str("\\,"),
            '\n' => out.push_str("\\n"),
            other if other.is_control() => out.push(' '),
            other => out.push(other),
        }
    }
    out
}

/// Lines in the making.
#[derive(Default)]
struct Text(String);

impl Text {
    /// Adds a line, folded after at most 75 octets and never within a letter.
    fn line(&mut self, line: &str) {
        let mut octets = 0;
        for letter in line.chars() {
            if octets + letter.len_utf8() > MOST_OCTETS {
                self.0.push_str("\r\n ");
                octets = 1;
            }
            self.0.push(letter);
            octets += letter.len_utf8();
        }
        self.0.push_str("\r\n");
    }
}

#[cfg(test)]
#[path = "icalendar_tests.rs"]
mod tests;
