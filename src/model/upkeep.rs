//! What has to happen under a permit so that the trees that stay come through: water, the calendar, quantities and what they cost.
//!
//! Much is the same for all trees of a run (dates, depths of water, the words of a step), so that it stands once, in
//! [`UpkeepRun`], and the permits refer to it.

use super::weather::BalanceDay;
use jiff::civil::Date;
use std::sync::Arc;

/// First and last day of the job.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Job {
    /// First day.
    pub start: Date,
    /// Last day; not before the first.
    pub end: Date,
}

/// When trees need how much water.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Season {
    /// The growing season.
    Warm,
    /// The rest of the year.
    Cool,
    /// Between the tropics: warm all year.
    AllYear,
}

impl Season {
    /// The word in columns.
    pub fn word(self) -> &'static str {
        match self {
            Season::Warm => "warm",
            Season::Cool => "cool",
            Season::AllYear => "all year",
        }
    }
}

/// How dates and amounts of water were found.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum WaterMethod {
    /// At the intervals of common practice.
    Calendar,
    /// From a soil water balance with daily weather.
    Balance,
}

impl WaterMethod {
    /// The word in columns.
    pub fn word(self) -> &'static str {
        match self {
            WaterMethod::Calendar => "calendar",
            WaterMethod::Balance => "balance",
        }
    }
}

/// Which schedule a tree follows: an index into [`UpkeepRun::schedules`].
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum WaterNeed {
    /// The usual one.
    Usual,
    /// A species that rots under summer water: nothing in the warm season.
    DrySummer,
}

/// How much at one watering.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum WaterAmount {
    /// Hours at each sprinkler place.
    Hours(f64),
    /// Depth over the open ground, millimetres.
    DepthMm(f64),
}

/// One watering.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Watering {
    /// The day.
    pub date: Date,
    /// How much.
    pub amount: WaterAmount,
}

/// A stretch of the job within one season, by one method; or a season as such, where the job has no dates.
#[derive(Debug, Clone, PartialEq)]
pub struct WaterStretch {
    /// The season.
    pub season: Season,
    /// How dates were found.
    pub method: WaterMethod,
    /// First and last day; `None` where the job has no dates.
    pub days: Option<(Date, Date)>,
    /// By the calendar: days between two waterings, and hours at each place; `None` where nothing is to be watered, or by the balance.
    pub every: Option<(u32, f64)>,
    /// In order.
    pub waterings: Vec<Watering>,
    /// What to do, in words.
    pub instruction: &'static str,
}

/// The open ground of one tree that stays, and what it takes to water it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct TreeWater {
    /// Index into `Results::trees`.
    pub tree: u32,
    /// Which schedule.
    pub need: WaterNeed,
    /// The ground; `None` where the root zone is not known.
    pub ground: Option<WaterGround>,
    /// Water by the published rules on the trunk, litres.
    pub by_trunk: Option<TrunkWater>,
}

/// Ground to be watered.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct WaterGround {
    /// The root zone less works and existing surfaces, square metres.
    pub open_m2: f64,
    /// Of it, the part that is watered with this tree: ground in the zones of several goes with the nearest trunk.
    pub own_m2: f64,
    /// Sprinkler places that cover that part.
    pub places: u32,
    /// Share of that part that they reach, 0 to 1; 1 where there is nothing to reach.
    pub covered: f64,
}

impl WaterGround {
    /// One watering as litres in all and hours at each place; `flow_l_per_min` is that of one sprinkler.
    pub fn litres_and_hours(&self, amount: WaterAmount, flow_l_per_min: f64) -> (f64, f64) {
        let litres_per_hour = 60.0 * flow_l_per_min * f64::from(self.places);
        match amount {
            WaterAmount::Hours(hours) => (hours * litres_per_hour, hours),
            // One millimetre on one square metre is one litre.
            WaterAmount::DepthMm(depth_mm) => {
                let litres = depth_mm * self.own_m2;
                (litres, if litres_per_hour > 0.0 { litres / litres_per_hour } else { 0.0 })
            }
        }
    }

    /// One watering as millimetres over the ground.
    pub fn depth_mm(&self, amount: WaterAmount, flow_l_per_min: f64) -> f64 {
        match amount {
            WaterAmount::DepthMm(depth_mm) => depth_mm,
            WaterAmount::Hours(_) if self.own_m2 > 0.0 => self.litres_and_hours(amount, flow_l_per_min).0 / self.own_m2,
            WaterAmount::Hours(_) => 0.0,
        }
    }
}

/// What published rules on the trunk would give a tree.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct TrunkWater {
    /// For each day between two waterings, litres.
    pub litres_per_day: f64,
    /// At each watering, litres.
    pub litres_each: f64,
}

/// Part of the job.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, serde::Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum Phase {
    /// Before work begins.
    Before,
    /// While work goes on.
    During,
    /// When work is done.
    After,
}

impl Phase {
    /// The word in files and columns.
    pub fn word(self) -> &'static str {
        match self {
            Phase::Before => "before",
            Phase::During => "during",
            Phase::After => "after",
        }
    }
}

/// The day that a step is counted from.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, serde::Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum Anchor {
    /// The first day of the job.
    Start,
    /// The last day of the job.
    End,
}

impl Anchor {
    /// The word in files and columns.
    pub fn word(self) -> &'static str {
        match self {
            Anchor::Start => "start",
            Anchor::End => "end",
        }
    }
}

/// How often a step is due.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Recurrence {
    /// Once.
    Once,
    /// Every so many days until the end of the job.
    EveryDays(u32),
    /// Every year, so many times.
    Years(u32),
    /// On the days of the watering schedule.
    Water,
    /// All the time, or whenever it comes up: no date of its own.
    Standing,
}

/// What is to be done at a step: the same words for all permits.
#[derive(Debug, Clone, PartialEq)]
pub struct StepRule {
    /// Its name: `meeting`, `fence` ...
    pub name: String,
    /// Before, during or after.
    pub phase: Phase,
    /// Counted from.
    pub anchor: Anchor,
    /// Days after that (before it, where negative).
    pub day: i32,
    /// How often.
    pub recurrence: Recurrence,
    /// Who: `arborist`, `contractor`, `city`, several joined with `; `.
    pub who: String,
    /// What to do.
    pub what: String,
    /// What must not begin before it is done; empty where nothing waits for it.
    pub holds_up: String,
    /// Where the step and its day come from.
    pub origin: String,
}

/// One step under one permit.
#[derive(Debug, Clone, PartialEq)]
pub struct Step {
    /// Index into [`UpkeepRun::steps`].
    pub rule: u32,
    /// Dates, ascending; empty where the job has none, or the step has none.
    pub dates: Arc<[Date]>,
    /// Trees that it is about (indices into `Results::trees`), ascending.
    pub trees: Vec<u32>,
}

/// A thing to order or to do so many times.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Item {
    /// Length of fence.
    Fence,
    /// Its posts.
    Posts,
    /// Its panels.
    Panels,
    /// Its signs.
    Signs,
    /// Its gates.
    Gates,
    /// Padded guards around trunks where no fence can stand, one for each tree.
    TrunkGuards,
    /// Mulch.
    Mulch,
    /// Compost.
    Compost,
    /// Wood chips.
    Chips,
    /// Geotextile.
    Geotextile,
    /// Boards.
    Boards,
    /// Mats.
    Mats,
    /// Water.
    Water,
    /// Inspections during the job, the last one before the fence comes down included.
    Inspections,
    /// Visits in the years after.
    MonitoringVisits,
}

/// What an item is counted in.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Dimension {
    /// Metres.
    Length,
    /// Square metres.
    Area,
    /// Cubic metres; litres for water.
    Volume,
    /// Pieces or times.
    Count,
}

impl Item {
    /// All, in the order of the table.
    pub const ALL: [Item; 15] = [
        Item::Fence,
        Item::Posts,
        Item::Panels,
        Item::Signs,
        Item::Gates,
        Item::TrunkGuards,
        Item::Mulch,
        Item::Compost,
        Item::Chips,
        Item::Geotextile,
        Item::Boards,
        Item::Mats,
        Item::Water,
        Item::Inspections,
        Item::MonitoringVisits,
    ];

    /// The word in price files and columns.
    pub fn word(self) -> &'static str {
        match self {
            Item::Fence => "fence",
            Item::Posts => "posts",
            Item::Panels => "panels",
            Item::Signs => "signs",
            Item::Gates => "gates",
            Item::TrunkGuards => "trunk guards",
            Item::Mulch => "mulch",
            Item::Compost => "compost",
            Item::Chips => "chips",
            Item::Geotextile => "geotextile",
            Item::Boards => "boards",
            Item::Mats => "mats",
            Item::Water => "water",
            Item::Inspections => "inspections",
            Item::MonitoringVisits => "monitoring visits",
        }
    }

    /// What it is counted in.
    pub fn dimension(self) -> Dimension {
        match self {
            Item::Fence => Dimension::Length,
            Item::Geotextile | Item::Boards | Item::Mats => Dimension::Area,
            Item::Mulch | Item::Compost | Item::Chips | Item::Water => Dimension::Volume,
            _ => Dimension::Count,
        }
    }

    /// The unit of its quantity in the table.
    pub fn unit(self) -> &'static str {
        match (self, self.dimension()) {
            (Item::Water, _) => "L",
            (_, Dimension::Length) => "m",
            (_, Dimension::Area) => "m2",
            (_, Dimension::Volume) => "m3",
            (_, Dimension::Count) => "each",
        }
    }
}

/// How much of an item, in thousandths of its unit: what is printed is what is added up and priced.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Quantity {
    /// The item.
    pub item: Item,
    /// The amount to order, thousandths of [`Item::unit`].
    pub thousandths: i64,
    /// The least amount that will do, where the depth has a range.
    pub least_thousandths: Option<i64>,
    /// What it costs, hundredths of the currency, where the item has a price.
    pub cost_hundredths: Option<i128>,
}

/// The price of an item.
#[derive(Debug, Clone, PartialEq)]
pub struct Price {
    /// Of what.
    pub item: Item,
    /// Unit as written.
    pub unit: String,
    /// Of [`Item::unit`] in one of that unit.
    pub units_in_one: f64,
    /// Price as written.
    pub written: String,
    /// The price in ten-thousandths of the currency.
    pub ten_thousandths: i64,
    /// Currency as written.
    pub currency: String,
}

/// All of it for one permit.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Upkeep {
    /// One for each tree that stays, in the order of rows.
    pub water: Vec<TreeWater>,
    /// Steps in the order in which they are due.
    pub steps: Vec<Step>,
    /// Quantities in the order of [`Item::ALL`]; only those that are needed.
    pub quantities: Vec<Quantity>,
}

impl Upkeep {
    /// The trees whose ground is watered.
    pub fn watered(&self) -> impl Iterator<Item = u32> {
        self.water.iter().filter(|water| water.ground.is_some()).map(|water| water.tree)
    }
}

/// What is the same for all permits of a run.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct UpkeepRun {
    /// The job, where its days were given.
    pub job: Option<Job>,
    /// Stretches of the usual schedule and of that of trees with a dry summer: see [`WaterNeed`].
    pub schedules: [Vec<WaterStretch>; 2],
    /// The days of the balance, of each schedule; empty without weather.
    pub balance: [Vec<BalanceDay>; 2],
    /// How far a sprinkler throws, metres.
    pub throw_m: f64,
    /// Flow of one sprinkler, litres a minute.
    pub flow_l_per_min: f64,
    /// Steps, in the order in which they are due.
    pub steps: Vec<StepRule>,
    /// Prices, in the order of [`Item::ALL`].
    pub prices: Vec<Price>,
    /// Quantities of all permits added up.
    pub totals: Vec<Quantity>,
    /// What was assumed, left out or is missing, in sentences.
    pub notes: Vec<String>,
}

impl UpkeepRun {
    /// The price of an item, where it has one.
    pub fn price(&self, item: Item) -> Option<&Price> {
        self.prices.iter().find(|price| price.item == item)
    }
}
