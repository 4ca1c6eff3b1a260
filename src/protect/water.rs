//! The days of the job and, where given, its weather -> on which days trees are watered, and how much: the same for all trees of a run.
//!
//! Two schedules: the usual one, and one for species that rot under summer water. Without weather, water goes by the calendar of common
//! practice; with it, by a water balance. What only a probe in the soil can tell stands in the instructions.

use super::upkeep_values::WaterValues;
use super::water_balance::{Leave, SoilStore, balance};
use crate::model::upkeep::{Job, Season, WaterAmount, WaterMethod, WaterNeed, WaterStretch, Watering};
use crate::model::weather::{BalanceDay, Weather};
use jiff::civil::Date;
use jiff::{Span, ToSpan};

/// Half the width of the belt between the tropics, degrees.
///
/// # Source
/// The obliquity of the ecliptic, about 23.44 degrees (from memory).
pub const TROPIC_DEG: f64 = 23.44;

/// What to do in each season.
const WARM: &str = "probe first: none where the top 6 in (15 cm) are moist or saturated; keep the trunk dry; water besides in long dry or hot spells";
const COOL: &str = "probe first: none on frozen or saturated soil; keep the trunk dry";
const DRY: &str = "no water in the warm season: the species rots under it; only where the arborist asks for it in writing; keep the sprinklers of neighbouring trees off its root zone; keep the trunk dry";

/// Which months are warm at a latitude.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Seasons {
    /// First and last month of the warm season, 1 to 12, which may lie around the turn of the year; `None`: warm all year.
    warm: Option<(i8, i8)>,
}

impl Seasons {
    /// The seasons at a latitude, degrees: south of the tropics half a year later than north of them, between them warm all year.
    pub fn at(latitude_deg: f64, values: &WaterValues) -> Seasons {
        #[expect(clippy::cast_possible_truncation, reason = "checked to be 1 to 12")]
        let (from, to) = (values.warm_from_month.is as i8, values.warm_to_month.is as i8);
        let later = |month: i8| (month + 5) % 12 + 1;
        let warm = if latitude_deg.abs() < TROPIC_DEG {
            None
        } else if latitude_deg > 0.0 {
            Some((from, to))
        } else {
            Some((later(from), later(to)))
        };
        Seasons { warm }
    }

    /// The season of a day.
    pub fn of(&self, date: Date) -> Season {
        let month = date.month();
        match self.warm {
            None => Season::AllYear,
            Some((from, to)) if from <= to && (from..=to).contains(&month) => Season::Warm,
            Some((from, to)) if from > to && (month >= from || month <= to) => Season::Warm,
            Some(_) => Season::Cool,
        }
    }

    /// The seasons that there are, the warm one first.
    fn all(&self) -> &'static [Season] {
        if self.warm.is_some() { &[Season::Warm, Season::Cool] } else { &[Season::AllYear] }
    }
}

/// Days and hours of common practice in a season; `None` where these trees get nothing.
fn practice(season: Season, need: WaterNeed, values: &WaterValues) -> Option<(u32, f64)> {
    #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "checked to be whole, 1 to 366")]
    let days = |value: f64| value as u32;
    match (season, need) {
        (Season::Cool, _) => Some((days(values.cool_every_days.is), values.cool_hours.is)),
        (Season::Warm | Season::AllYear, WaterNeed::DrySummer) => None,
        (Season::Warm | Season::AllYear, WaterNeed::Usual) => {
            Some((days(values.warm_every_days.is), values.warm_hours.is))
        }
    }
}

fn instruction(season: Season, need: WaterNeed) -> &'static str {
    match (season, need) {
        (Season::Cool, _) => COOL,
        (_, WaterNeed::DrySummer) => DRY,
        (_, WaterNeed::Usual) => WARM,
    }
}

/// Watering without dates: what to do in each season.
pub fn undated(need: WaterNeed, seasons: Seasons, values: &WaterValues) -> Vec<WaterStretch> {
    let stretch = |&season: &Season| WaterStretch {
        season,
        method: WaterMethod::Calendar,
        days: None,
        every: practice(season, need, values),
        waterings: Vec::new(),
        instruction: instruction(season, need),
    };
    seasons.all().iter().map(stretch).collect()
}

/// Watering by the calendar from one day to another: on the first day of the job, then whenever the interval of the season has passed since the
/// last. `last` is the last watering before `from`, where there was one.
pub fn by_calendar(
    (from, to): (Date, Date),
    last: Option<Date>,
    need: WaterNeed,
    seasons: Seasons,
    values: &WaterValues,
) -> Vec<WaterStretch> {
    let mut last = last;
    let mut stretches: Vec<WaterStretch> = Vec::new();
    for date in days(from, to) {
        let season = seasons.of(date);
        let every = practice(season, need, values);
        extend(&mut stretches, date, season, WaterMethod::Calendar, need, every);
        let Some((interval, hours)) = every else { continue };
        if last.is_none_or(|last| days_between(last, date) >= i64::from(interval)) {
            let stretch = stretches.last_mut().expect("a stretch has this day");
            stretch.waterings.push(Watering { date, amount: WaterAmount::Hours(hours) });
            last = Some(date);
        }
    }
    stretches
}

/// Watering by the balance where there is weather, and by the calendar after it; with the account of its days.
pub fn by_balance(
    job: Job,
    weather: &Weather,
    latitude_deg: f64,
    soil: &SoilStore,
    (need, seasons, values): (WaterNeed, Seasons, &WaterValues),
) -> (Vec<WaterStretch>, Vec<BalanceDay>) {
    let dry = |date: Date| practice(seasons.of(date), need, values).is_none();
    let account = balance(&weather.days, latitude_deg, soil, &Leave { job: (job.start, job.end), dry_summer: &dry });
    let mut stretches: Vec<WaterStretch> = Vec::new();
    for day in account.iter().filter(|day| (job.start..=job.end).contains(&day.weather.date)) {
        let date = day.weather.date;
        extend(&mut stretches, date, seasons.of(date), WaterMethod::Balance, need, None);
        if day.water_mm > 0.0 {
            let stretch = stretches.last_mut().expect("a stretch has this day");
            stretch.waterings.push(Watering { date, amount: WaterAmount::DepthMm(day.water_mm) });
        }
    }
    let reached = weather.days.last().map(|day| day.date);
    if let Some(next) = reached.filter(|&last| last < job.end).and_then(|last| last.tomorrow().ok()) {
        let last = stretches.iter().flat_map(|stretch| &stretch.waterings).map(|one| one.date).next_back();
        stretches.extend(by_calendar((next, job.end), last, need, seasons, values));
    }
    (stretches, account)
}

/// Lets the last stretch reach to this day, or begins a new one.
fn extend(
    stretches: &mut Vec<WaterStretch>,
    date: Date,
    season: Season,
    method: WaterMethod,
    need: WaterNeed,
    every: Option<(u32, f64)>,
) {
    match stretches.last_mut() {
        Some(last) if last.season == season => last.days = last.days.map(|(from, _)| (from, date)),
        _ => stretches.push(WaterStretch {
            season,
            method,
            days: Some((date, date)),
            every,
            waterings: Vec::new(),
            instruction: instruction(season, need),
        }),
    }
}

/// Every day from one to another.
pub(super) fn days(from: Date, to: Date) -> impl Iterator<Item = Date> {
    from.series(1.day()).take_while(move |&date| date <= to)
}

/// Days from one date to a later one.
pub(super) fn days_between(from: Date, to: Date) -> i64 {
    i64::from(from.until(to).map_or(0, |span: Span| span.get_days()))
}

#[cfg(test)]
#[path = "water_tests.rs"]
mod tests;
