//! Keeps the books: how every record of every file was spent. Nothing is lost in silence.

use crate::issue::{Issue, Outcome};
use crate::model::results::{Counts, Dates};
use crate::model::source::SourceRef;
use crate::projection::PointProblem;
use jiff::civil::Date;
use std::collections::HashSet;

/// Counts per file and all issues.
#[derive(Debug, Clone, Default)]
pub(super) struct Spent {
    pub counts: Vec<Counts>,
    pub issues: Vec<Issue>,
}

impl Spent {
    pub(super) fn new(files: usize) -> Spent {
        Spent { counts: vec![Counts::default(); files], issues: Vec::new() }
    }

    /// One more record was read.
    pub(super) fn read(&mut self, file: u16) {
        self.counts[file as usize].read += 1;
    }

    /// The day that a record states, where it states one.
    pub(super) fn dated(&mut self, file: u16, day: Option<Date>) {
        let counts = &mut self.counts[file as usize];
        counts.dates = Dates::joined(counts.dates, day.map(|day| Dates { first: day, last: day, records: 1 }));
    }

    /// The record of this issue is set aside.
    pub(super) fn set_aside(&mut self, issue: Issue) {
        self.counts[issue.source.file as usize].set_aside += 1;
        self.issues.push(Issue { outcome: Outcome::SetAside, ..issue });
    }

    /// Issues of records that are used all the same.
    pub(super) fn note(&mut self, issues: impl IntoIterator<Item = Issue>) {
        self.issues.extend(issues);
    }

    /// Closes the books: what else was noted of a record that is set aside no longer matters; issues in order.
    pub(super) fn settle(&mut self) {
        let set_aside: HashSet<SourceRef> =
            self.issues.iter().filter(|issue| issue.outcome == Outcome::SetAside).map(|issue| issue.source).collect();
        self.issues.retain(|issue| issue.outcome == Outcome::SetAside || !set_aside.contains(&issue.source));
        self.issues.sort_by(|a, b| (a.source, a.code, &a.detail).cmp(&(b.source, b.code, &b.detail)));
    }

    /// Takes over another's books of the same files.
    pub(super) fn add(&mut self, other: Spent) {
        for (mine, theirs) in self.counts.iter_mut().zip(other.counts) {
            mine.read += theirs.read;
            mine.used += theirs.used;
            mine.out_of_reach += theirs.out_of_reach;
            mine.set_aside += theirs.set_aside;
            mine.without_diameter += theirs.without_diameter;
            mine.dates = Dates::joined(mine.dates, theirs.dates);
        }
        self.issues.extend(other.issues);
    }
}

/// The issue code of a place that cannot be projected.
pub(super) fn place_code(problem: PointProblem) -> &'static str {
    match problem {
        PointProblem::NotFinite => "bad-coordinate",
        PointProblem::OutsideArea | PointProblem::RoundTrip(_) => "place-outside-crs",
    }
}
