//! Works and the permits that own them, normalised: metres, measuring CRS, polygons.

use super::effect::Effects;
use super::source::SourceRef;
use geo::MultiPolygon;

/// One application.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Permit {
    /// Its id; the file's name without ending for works without a permit column.
    pub id: String,
    /// Status as written; empty where not given.
    pub status: String,
    /// Date as written; empty where not given.
    pub date: String,
    /// False where the status says withdrawn, denied, refused or expired: left out of the cumulative measures only.
    pub active: bool,
    /// Works of it that were set aside: what is measured of this permit is not all of it.
    pub works_set_aside: u32,
    /// Indices of its works in the run's list of works, ascending.
    pub works: Vec<u32>,
}

/// One proposed polygon, line or point, as polygons.
#[derive(Debug, Clone, PartialEq)]
pub struct Work {
    /// Its id; `file:row` where it has none.
    pub id: String,
    /// Where it came from.
    pub source: SourceRef,
    /// Index of its permit.
    pub permit: u32,
    /// The kind's name in the kinds table, e.g. `trench`; `unknown` where not found there.
    pub kind: String,
    /// The kind as written in the file.
    pub kind_written: String,
    /// What it does to roots; none for `planting`. A shallow bore has `cut` as well.
    pub effects: Effects,
    /// Whether it severs roots.
    pub severs: bool,
    /// Depth below ground, metres, where given.
    pub depth_m: Option<f64>,
    /// Width that was drawn out around the geometry (overdig), metres.
    pub margin_m: f64,
    /// Its ground in the measuring CRS: valid, shells counter-clockwise, lines and points drawn out to their width.
    pub shape: MultiPolygon<f64>,
}

impl Work {
    /// Counts as overlap: has an effect other than a deep bore.
    pub fn counted(&self) -> bool {
        self.effects.meets(Effects::COUNTED)
    }

    /// Makes a row at all: any kind but planting.
    pub fn in_question(&self) -> bool {
        !self.effects.is_empty()
    }
}
