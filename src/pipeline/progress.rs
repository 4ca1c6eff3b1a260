//! How a run tells what it is doing: one stage at a time, by the seven verbs.

use std::time::Instant;

/// Told of every stage; implemented by the terminal, and by nothing in tests.
pub trait Progress: Sync {
    /// A stage begins; `total` records where known.
    fn begin(&self, stage: &'static str, what: &str, total: Option<u64>);
    /// So many more records are done.
    fn advance(&self, records: u64);
    /// The stage is done.
    fn end(&self);
}

/// Says nothing.
pub struct Silent;

impl Progress for Silent {
    fn begin(&self, _: &'static str, _: &str, _: Option<u64>) {}
    fn advance(&self, _: u64) {}
    fn end(&self) {}
}

/// Wall-clock seconds by stage, in the order of the run. Never part of the results.
#[derive(Debug, Clone, Default)]
pub struct Timings(pub Vec<(&'static str, f64)>);

impl Timings {
    /// Runs a stage, tells of it, and keeps its time (added to what the stage took before).
    pub(super) fn stage<T>(
        &mut self,
        progress: &dyn Progress,
        stage: &'static str,
        what: &str,
        total: Option<u64>,
        work: impl FnOnce() -> T,
    ) -> T {
        progress.begin(stage, what, total);
        let start = Instant::now();
        let result = work();
        let seconds = start.elapsed().as_secs_f64();
        match self.0.iter_mut().find(|(known, _)| *known == stage) {
            Some((_, sum)) => *sum += seconds,
            None => self.0.push((stage, seconds)),
        }
        progress.end();
        result
    }
}
