//! The results of a run in the order in which they are written: what `write` turns into files.

use super::asked::Asked;
use super::code::Code;
use super::finding::{Finding, Verdict};
use super::overlap::Overlap;
use super::owed::{PermitOwed, Replacement};
use super::protection::Protection;
use super::rows::{Judged, RowHead, Rows};
use super::set_back::SetBack;
use super::source::SourceRef;
use super::text::Text;
use super::tree::Tree;
use super::upkeep::UpkeepRun;
use super::work::{Permit, Work};
use super::zone::Zone;
use crate::issue::Issue;
use jiff::civil::Date;
use std::cmp::Ordering;
use std::sync::Arc;

/// The diameter that a row was judged at.
#[derive(Debug, Clone, PartialEq, serde::Serialize, serde::Deserialize)]
pub enum RowDiameter {
    /// One number, metres.
    Known(f64),
    /// A class judged at both ends: the end with the worse finding, both ends, and the finding at the other end.
    Range {
        /// The end whose finding the row carries, metres.
        used_m: f64,
        /// Lower end, metres.
        low_m: f64,
        /// Upper end, metres.
        high_m: f64,
        /// Verdict at the end that was not used.
        other: Verdict,
    },
    /// A class without an upper end: its lower bound, metres.
    AtLeast(f64),
    /// None; the issue code that says why.
    Unknown(#[serde(with = "super::code")] Code),
}

impl RowDiameter {
    /// The diameter that the measures of the row rest on, metres.
    pub fn used_m(&self) -> Option<f64> {
        match *self {
            RowDiameter::Known(d) | RowDiameter::AtLeast(d) | RowDiameter::Range { used_m: d, .. } => Some(d),
            RowDiameter::Unknown(_) => None,
        }
    }
}

/// What a row would say of the whole disc where barriers shape the zone.
#[derive(Debug, Clone, Copy, PartialEq, serde::Serialize, serde::Deserialize)]
pub struct UnshapedResult {
    /// Area of the disc, square metres.
    pub area_m2: f64,
    /// Overlap, square metres.
    pub overlap_m2: f64,
    /// Severed, square metres.
    pub severed_m2: f64,
    /// Affected, square metres.
    pub affected_m2: f64,
    /// The verdict.
    pub verdict: Verdict,
}

/// One permit and tree (or one tree and several permits together).
#[derive(Debug, Clone, PartialEq, serde::Serialize, serde::Deserialize)]
pub struct Row {
    /// Which of the run's rule sets it was judged by; 0 is the one that decides.
    pub rule_set: u16,
    /// Index of the permit; for a row of several permits together, of the first.
    pub permit: u32,
    /// Number of the tree among those with a row, in the order of id (UTF-8 bytes), then source.
    pub tree: u32,
    /// The tree.
    pub of: Arc<Tree>,
    /// Diameter as judged.
    pub diameter: RowDiameter,
    /// The zone as used; `None` where not assessed.
    pub zone: Option<Zone>,
    /// The measures.
    pub overlap: Overlap,
    /// The verdict.
    pub finding: Finding,
    /// Heritage class that the tree reaches; empty where none.
    pub heritage_class: String,
    /// Class of protected trees that the tree reaches; empty where none, or where the set names none.
    pub protected_class: String,
    /// What the set asks if the tree goes; `None` where it has no rule on replacement.
    pub replacement: Option<Box<Replacement>>,
    /// Empty, or what flips the finding: `place`, `diameter`, `place+diameter`.
    #[serde(with = "super::code")]
    pub borderline: Code,
    /// The same row for the whole disc, at the same diameter; `None` where no barrier shapes the zone.
    pub unshaped: Option<Box<UnshapedResult>>,
}

impl Row {
    /// Heritage-size and `major` or `trunk_in_work`.
    pub fn at_risk(&self) -> bool {
        !self.heritage_class.is_empty() && self.finding.verdict.puts_at_risk()
    }

    /// Affected share of the zone, 0 to 1; 0 where nothing was measured.
    pub fn affected_share(&self) -> f64 {
        match (&self.zone, self.overlap.regions.first()) {
            (Some(zone), Some(whole)) => whole.affected_m2 / zone.area_m2(),
            _ => 0.0,
        }
    }

    /// The order of worse rows first, as [`RowHead::worse_first`].
    pub fn worse_first(&self, other: &Row) -> Ordering {
        self.head().worse_first(&other.head())
    }
}

/// A tree that more than one active permit touches.
#[derive(Debug, Clone, PartialEq)]
pub struct TogetherRow {
    /// Indices of the permits, ordered by permit id.
    pub permits: Vec<u32>,
    /// The measures and the finding of all of them together.
    pub row: Row,
    /// True where the tree is at risk together, and under none of the permits alone.
    pub at_risk_only_together: bool,
}

/// One permit and tree under every rule set of the run.
#[derive(Debug, Clone, PartialEq)]
pub struct Compared {
    /// Index of the permit.
    pub permit: u32,
    /// Id of the tree.
    pub tree_id: Text,
    /// Where the tree came from.
    pub source: SourceRef,
    /// One per rule set; `None` where its root zone is out of reach of the permit's works.
    pub rows: Vec<Option<RowHead>>,
}

impl Compared {
    /// The verdict under one rule set; out of reach is untouched.
    pub fn verdict(&self, rule_set: usize) -> Verdict {
        self.rows[rule_set].map_or(Verdict::Untouched, |row| row.verdict)
    }

    /// Whether the rule sets disagree on the finding, or on whether the tree is heritage-size.
    pub fn differs(&self) -> bool {
        let known: Vec<bool> = self.rows.iter().flatten().map(|row| row.heritage_size).collect();
        (1..self.rows.len()).any(|set| self.verdict(set) != self.verdict(0)) || known.windows(2).any(|w| w[0] != w[1])
    }
}

/// The days that records of a file state.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Dates {
    /// The earliest.
    pub first: Date,
    /// The latest.
    pub last: Date,
    /// Records that state one.
    pub records: u64,
}

impl Dates {
    /// Those of two parts of a file.
    pub fn joined(one: Option<Dates>, other: Option<Dates>) -> Option<Dates> {
        let (Some(a), Some(b)) = (one, other) else { return one.or(other) };
        Some(Dates { first: a.first.min(b.first), last: a.last.max(b.last), records: a.records + b.records })
    }
}

/// How the records of one input file were spent. `read = used + out_of_reach + set_aside`, always.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Counts {
    /// Records in the file.
    pub read: u64,
    /// Trees with a row; works that belong to a permit; ground.
    pub used: u64,
    /// Trees that no work reaches; works of permits that were not asked for.
    pub out_of_reach: u64,
    /// Records in `set_aside.csv` with the outcome set aside.
    pub set_aside: u64,
    /// Trees without a usable diameter, wherever they stand (part of `used` or `out_of_reach`).
    pub without_diameter: u64,
    /// The days that its records state; `None` where it has no column of days, or no cell of it can be read.
    pub dates: Option<Dates>,
}

/// Everything that is written.
#[derive(Debug, Clone, Default)]
pub struct Results {
    /// The trees by their number, where protection was asked for; else empty: rows hold their tree.
    pub trees: Vec<Tree>,
    /// All permits, ordered by id.
    pub permits: Vec<Permit>,
    /// What is owed now under each permit, as `permits`; empty where the set has no rule on replacement.
    pub owed: Vec<PermitOwed>,
    /// All works, ordered by permit, then id, then source.
    pub works: Vec<Work>,
    /// Rows of the deciding rule set, ordered by permit id, then tree id, then the tree's source. Those of [`Results::compared`] are
    /// read from the same file.
    pub rows: Rows,
    /// Trees that several permits touch, ordered as `trees`.
    pub together: Vec<TogetherRow>,
    /// Every permit and tree that any rule set gives a row, in any order; empty where the run has one rule set.
    pub compared: Vec<Compared>,
    /// What was set aside or used with a repair, ordered by source.
    pub issues: Vec<Issue>,
    /// One per input file, in the order of `Settings::inputs`.
    pub counts: Vec<Counts>,
    /// What protects the trees that stay: one per permit, as `permits`; `None` where not asked for.
    pub protection: Option<Vec<Protection>>,
    /// What water, calendar and quantities of all permits share; `None` where protection was not asked for.
    pub upkeep: Option<UpkeepRun>,
    /// How far works would have to keep away, by permit and tree ascending; empty where no pages were asked for.
    pub set_backs: Vec<SetBack>,
    /// What answers to rows have to bring within the rules, by permit and tree ascending; empty where no pages were asked for.
    pub asked: Vec<Asked>,
}

impl Results {
    /// The row of several permits together for a tree, where there is one.
    pub fn together_of_tree(&self, tree: u32) -> Option<&TogetherRow> {
        let at = self.together.binary_search_by_key(&tree, |one| one.row.tree).ok()?;
        self.together.get(at)
    }

    /// The row of several permits together, where that one's is among them and the finding is worse than alone.
    pub fn worse_together(&self, row: &impl Judged) -> Option<&TogetherRow> {
        let together = self.together_of_tree(row.tree())?;
        let worse = together.row.finding.verdict > row.verdict();
        (worse && together.permits.contains(&row.permit())).then_some(together)
    }
}
