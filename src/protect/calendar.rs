//! The table of steps, the days of the job and what is known of a permit's trees -> who does what on which day, and what waits for it.
//!
//! Without dates a step keeps its order and its days before or after the job begins or ends. It promises nothing: a step is a proposal that
//! the approved plan and the authority's arborist may change.

use super::upkeep_values::{Every, NeedsCover, StepTrees, StepValue, UpkeepValues, origin};
use super::water::days_between;
use crate::model::protection::{CoverPlace, Protection};
use crate::model::upkeep::{Anchor, Job, Recurrence, Step, StepRule, WaterNeed, WaterStretch};
use jiff::ToSpan;
use jiff::civil::Date;
use std::sync::Arc;

/// Everything about steps that is the same for all permits.
pub struct Steps {
    /// The steps in the order in which they are due.
    pub rules: Vec<StepRule>,
    /// Of each, for which trees it is, and the cover without which it is left out.
    asks: Vec<(StepTrees, Option<NeedsCover>)>,
    /// Of each, its dates.
    dates: Vec<Arc<[Date]>>,
    /// Times that each is done, where that is known.
    times: Vec<Option<u32>>,
}

/// How often inspections and visits of monitoring are due.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Intervals {
    /// Days between two inspections.
    pub inspect_every_days: u32,
    /// Years of monitoring.
    pub monitor_years: u32,
}

impl Steps {
    /// Puts the steps of the table in order, and gives them dates where the job has them.
    pub fn new(values: &UpkeepValues, job: Option<Job>, intervals: Intervals, water: &[Vec<WaterStretch>; 2]) -> Steps {
        let mut ordered: Vec<(&String, &StepValue)> = values.step.iter().collect();
        ordered.sort_by_key(|(name, step)| (step.phase, step.from, step.every == Every::Year, step.day, *name));
        let mut steps = Steps { rules: Vec::new(), asks: Vec::new(), dates: Vec::new(), times: Vec::new() };
        for (name, step) in ordered {
            let dates = job.map_or(Vec::new(), |job| dates(step, job, intervals, water));
            steps.times.push(match step.every {
                Every::Year => Some(intervals.monitor_years),
                Every::Once => Some(1),
                Every::Inspection => job.map(|_| u32::try_from(dates.len()).unwrap_or(u32::MAX)),
                Every::Water | Every::Standing => None,
            });
            steps.rules.push(rule(name, step, intervals));
            steps.asks.push((step.trees, step.needs));
            steps.dates.push(dates.into());
        }
        steps
    }

    /// The steps of one permit; `trees` says which trees are which.
    pub fn of_permit(&self, trees: &StepTreesOf, protection: &Protection) -> Vec<Step> {
        let mut steps = Vec::new();
        for (index, &(asked, cover)) in self.asks.iter().enumerate() {
            if cover.is_some_and(|cover| !is_laid(cover, protection)) {
                continue;
            }
            let of_step = trees.of(asked);
            if !of_step.is_empty() {
                let rule = u32::try_from(index).expect("a table has fewer steps");
                steps.push(Step { rule, dates: Arc::clone(&self.dates[index]), trees: of_step.to_vec() });
            }
        }
        steps
    }

    /// Different days on which someone inspects, from the one before the job to the final one; `None` where the job has no dates.
    pub fn inspections(&self, of_permit: &[Step]) -> Option<u32> {
        let names = ["first-inspection", "inspection", "last-inspection"];
        let inspects = |step: &&Step| names.contains(&self.rules[step.rule as usize].name.as_str());
        let mut days: Vec<Date> = Vec::new();
        for step in of_permit.iter().filter(inspects) {
            days.extend(step.dates.iter());
        }
        days.sort_unstable();
        days.dedup();
        (!days.is_empty()).then(|| u32::try_from(days.len()).unwrap_or(u32::MAX))
    }

    /// Visits of monitoring after the job.
    pub fn visits(&self, of_permit: &[Step]) -> u32 {
        let yearly = |step: &&Step| matches!(self.rules[step.rule as usize].recurrence, Recurrence::Years(_));
        of_permit.iter().filter(yearly).filter_map(|step| self.times[step.rule as usize]).sum()
    }
}

/// The trees of a permit by what steps are about; each list ascending.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct StepTreesOf {
    /// All that stay.
    pub stay: Vec<u32>,
    /// Those within a fence.
    pub fenced: Vec<u32>,
    /// Those that no fence could be put around, and that have a root zone.
    pub unfenced: Vec<u32>,
    /// Those without a usable diameter, so without a root zone.
    pub unmeasured: Vec<u32>,
    /// Those whose roots are cut further than 3 diameters from the trunk.
    pub cut: Vec<u32>,
    /// Those whose roots would be cut within 3 diameters.
    pub cut_close: Vec<u32>,
    /// Those on the usual watering schedule.
    pub usual_water: Vec<u32>,
    /// Those without summer water.
    pub dry_summer: Vec<u32>,
}

impl StepTreesOf {
    fn of(&self, asked: StepTrees) -> &[u32] {
        match asked {
            StepTrees::Stay => &self.stay,
            StepTrees::Fenced => &self.fenced,
            StepTrees::Unfenced => &self.unfenced,
            StepTrees::Unmeasured => &self.unmeasured,
            StepTrees::Cut => &self.cut,
            StepTrees::CutClose => &self.cut_close,
            StepTrees::UsualWater => &self.usual_water,
            StepTrees::DrySummer => &self.dry_summer,
        }
    }

    /// Takes a tree that stays.
    pub fn add_water(&mut self, tree: u32, need: WaterNeed) {
        match need {
            WaterNeed::Usual => self.usual_water.push(tree),
            WaterNeed::DrySummer => self.dry_summer.push(tree),
        }
    }

    /// Puts each list in order.
    pub fn sort(&mut self) {
        let lists = [
            &mut self.stay,
            &mut self.fenced,
            &mut self.unfenced,
            &mut self.unmeasured,
            &mut self.cut,
            &mut self.cut_close,
            &mut self.usual_water,
            &mut self.dry_summer,
        ];
        for list in lists {
            list.sort_unstable();
            list.dedup();
        }
    }
}

fn is_laid(cover: NeedsCover, protection: &Protection) -> bool {
    protection.covers.iter().any(|laid| match cover {
        NeedsCover::Mulch => laid.material == "mulch",
        NeedsCover::Compost => laid.material == "compost",
        NeedsCover::Other => laid.place == CoverPlace::Outside && !matches!(laid.material, "mulch" | "compost"),
    })
}

fn rule(name: &str, step: &StepValue, intervals: Intervals) -> StepRule {
    StepRule {
        name: name.to_string(),
        phase: step.phase,
        anchor: step.from,
        day: step.day,
        recurrence: match step.every {
            Every::Once => Recurrence::Once,
            Every::Inspection => Recurrence::EveryDays(intervals.inspect_every_days),
            Every::Year => Recurrence::Years(intervals.monitor_years),
            Every::Water => Recurrence::Water,
            Every::Standing => Recurrence::Standing,
        },
        who: step.who.clone(),
        what: step.what.clone(),
        holds_up: step.holds_up.clone(),
        origin: origin(step.status, &step.source),
    }
}

/// The dates of a step. Dates that the calendar does not have (before the year -9999, after 9999) are left out.
fn dates(step: &StepValue, job: Job, intervals: Intervals, water: &[Vec<WaterStretch>; 2]) -> Vec<Date> {
    let anchor = match step.from {
        Anchor::Start => job.start,
        Anchor::End => job.end,
    };
    let Ok(first) = anchor.checked_add(step.day.days()) else { return Vec::new() };
    match step.every {
        Every::Once => vec![first],
        Every::Standing => Vec::new(),
        Every::Inspection => every_days(first, job.end, intervals.inspect_every_days),
        // Counted from the end itself, so that 29 February does not become the 28th for good.
        Every::Year => {
            (1..=intervals.monitor_years).filter_map(|years| first.checked_add(i64::from(years).years()).ok()).collect()
        }
        Every::Water => {
            let need = if step.trees == StepTrees::DrySummer { WaterNeed::DrySummer } else { WaterNeed::Usual };
            let stretches = water[need as usize].iter();
            stretches.flat_map(|stretch| &stretch.waterings).map(|watering| watering.date).collect()
        }
    }
}

/// From one day, every so many days, to the last at most, and then the last day itself: no two are further apart.
fn every_days(from: Date, to: Date, interval_days: u32) -> Vec<Date> {
    let mut dates: Vec<Date> =
        from.series(i64::from(interval_days.max(1)).days()).take_while(|&date| date <= to).collect();
    if dates.last().is_some_and(|&last| days_between(last, to) > 0) {
        dates.push(to);
    }
    dates
}

#[cfg(test)]
#[path = "calendar_tests.rs"]
mod tests;
