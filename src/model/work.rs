//! Works and the permits that own them, normalised: metres, measuring CRS, polygons.

use super::effect::{Effect, Effects};
use super::source::SourceRef;
use super::text::Text;
use geo::{MultiLineString, MultiPolygon};

/// The name of the kind of works of which is not known what they do.
pub const UNKNOWN_KIND: &str = "unknown";

/// Whether a work stays.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, serde::Serialize, serde::Deserialize, schemars::JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum Lasting {
    /// Stays.
    Permanent,
    /// Is gone when the job is done.
    Temporary,
}

impl Lasting {
    /// The word in rule files and columns.
    pub fn word(self) -> &'static str {
        match self {
            Lasting::Permanent => "permanent",
            Lasting::Temporary => "temporary",
        }
    }
}

/// What an application states that it will do to spare the roots under a work.
#[derive(
    Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, serde::Serialize, serde::Deserialize, schemars::JsonSchema,
)]
#[serde(rename_all = "kebab-case")]
pub enum Mitigation {
    /// Mats, plates or boards under traffic.
    Mats,
    /// A surface built on top of the ground, without digging.
    NoDig,
    /// Soil loosened with compressed air or water, roots left whole.
    AirExcavation,
    /// Dug by hand, roots left whole.
    HandDigging,
    /// Stands on piers or piles with a beam above the ground.
    Piers,
}

impl Mitigation {
    /// All, in the order of rule files.
    pub const ALL: [Mitigation; 5] =
        [Mitigation::Mats, Mitigation::NoDig, Mitigation::AirExcavation, Mitigation::HandDigging, Mitigation::Piers];

    /// The word in rule files and columns.
    pub fn word(self) -> &'static str {
        match self {
            Mitigation::Mats => "mats",
            Mitigation::NoDig => "no-dig",
            Mitigation::AirExcavation => "air-excavation",
            Mitigation::HandDigging => "hand-digging",
            Mitigation::Piers => "piers",
        }
    }
}

/// Several mitigations, each at most once.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, serde::Serialize, serde::Deserialize)]
pub struct Mitigations(u8);

impl Mitigations {
    /// Those of a list.
    pub fn of(list: &[Mitigation]) -> Mitigations {
        Mitigations(list.iter().fold(0, |bits, &one| bits | 1 << one as u8))
    }

    /// These and others.
    #[must_use]
    pub fn and(self, others: Mitigations) -> Mitigations {
        Mitigations(self.0 | others.0)
    }

    /// These but for others.
    #[must_use]
    pub fn without(self, others: Mitigations) -> Mitigations {
        Mitigations(self.0 & !others.0)
    }

    /// Whether there is none.
    pub fn is_empty(self) -> bool {
        self.0 == 0
    }

    /// As words, in the order of [`Mitigation::ALL`], joined with `; `; empty for none.
    pub fn words(self) -> String {
        let held = Mitigation::ALL.into_iter().filter(|&one| self.0 & 1 << one as u8 != 0);
        held.map(Mitigation::word).collect::<Vec<_>>().join("; ")
    }
}

/// One application.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Permit {
    /// Its id; the file's name without ending for works without a permit column.
    pub id: Text,
    /// Status as written; empty where not given.
    pub status: String,
    /// Date as written; empty where not given.
    pub date: Text,
    /// False where the status says withdrawn, denied, refused or expired: left out of the cumulative measures only.
    pub active: bool,
    /// Works of it that were set aside: what is measured of this permit is not all of it.
    pub works_set_aside: u32,
    /// Indices of its works in the run's list of works, ascending.
    pub works: Vec<u32>,
}

/// A work that was drawn as a line, before its width was drawn out.
#[derive(Debug, Clone, PartialEq)]
pub struct DrawnLine {
    /// The centre line in the measuring CRS, as drawn.
    pub lines: MultiLineString<f64>,
    /// Its full width without the margin, metres, > 0.
    pub width_m: f64,
}

/// One proposed polygon, line or point, as polygons.
#[derive(Debug, Clone, PartialEq)]
pub struct Work {
    /// Its id; `file:row` where it has none.
    pub id: Text,
    /// Where it came from.
    pub source: SourceRef,
    /// Index of its permit.
    pub permit: u32,
    /// The kind's name in the kinds table, e.g. `trench`; `unknown` where not found there.
    pub kind: Text,
    /// The kind as written in the file.
    pub kind_written: Text,
    /// What it does to roots; none for `planting`. A shallow bore has `cut` as well.
    pub effects: Effects,
    /// Whether it severs roots.
    pub severs: bool,
    /// Depth below ground (of a fill: height above it), metres, where given.
    pub depth_m: Option<f64>,
    /// Whether it stays when the job is done.
    pub lasting: Lasting,
    /// What the application states to spare roots, sorted; empty where nothing.
    pub mitigations: Vec<Mitigation>,
    /// Of these, the ones that change what the work does under the run's rule set; empty before a rule set has seen it.
    pub accepted: Vec<Mitigation>,
    /// Width that was drawn out around the geometry (overdig), metres.
    pub margin_m: f64,
    /// The width or radius that was drawn out, metres, where the record states none and that of its kind was taken.
    pub size_of_kind_m: Option<f64>,
    /// Its ground in the measuring CRS: valid, shells counter-clockwise, lines and points drawn out to their width.
    pub shape: MultiPolygon<f64>,
    /// The centre line and width, where it was drawn as a line.
    pub line: Option<Box<DrawnLine>>,
}

impl Work {
    /// Counts as overlap: has an effect other than a deep bore.
    pub fn counted(&self) -> bool {
        self.effects.meets(Effects::COUNTED)
    }

    /// A line that cuts and does nothing else but perhaps bore: a trench, a pipe, a cable, a drain. A wall or a path is none.
    pub fn service_line(&self) -> Option<&DrawnLine> {
        let digs = Effects::of(&[Effect::Cut, Effect::Bore]);
        let only_digs = self.effects.has(Effect::Cut) && self.effects.without(digs).is_empty();
        self.line.as_deref().filter(|_| only_digs)
    }

    /// Makes a row at all: any kind but planting.
    pub fn in_question(&self) -> bool {
        !self.effects.is_empty()
    }
}
