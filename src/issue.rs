//! What is wrong with one record: a stable kebab-case code, the place, and what was done about it.
//!
//! Issues end in `tables/set_aside.csv`. A record that is used after a repair is listed too, with what was done.

use crate::model::source::SourceRef;
use geo::Rect;

/// What became of the record.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Outcome {
    /// The record could not be used.
    SetAside,
    /// The record was used after a repair or with a caution.
    Used,
}

/// One problem with one record.
#[derive(Debug, Clone, PartialEq)]
pub struct Issue {
    /// Where the record stands.
    pub source: SourceRef,
    /// The record's own id; empty where it has none.
    pub id: String,
    /// Stable kebab-case code, e.g. `no-place`, `stump`, `polygon-repaired`. All codes are in [`CODES`].
    pub code: &'static str,
    /// What became of the record.
    pub outcome: Outcome,
    /// What was found, what was done, what a person can do.
    pub detail: String,
    /// The ground that the record covers on the measuring plane, or its place as a rectangle without area; `None` where that is not known.
    pub ground: Option<Rect<f64>>,
    /// The permit that a work set aside names; empty for trees and ground, and where none is known.
    pub permit: String,
}

impl Issue {
    /// An issue of a record of which neither place nor permit is known.
    pub fn new(
        source: SourceRef,
        id: impl Into<String>,
        code: &'static str,
        outcome: Outcome,
        detail: String,
    ) -> Issue {
        Issue { source, id: id.into(), code, outcome, detail, ground: None, permit: String::new() }
    }

    /// The same, of a record at this ground.
    pub fn at(self, ground: Option<Rect<f64>>) -> Issue {
        Issue { ground, ..self }
    }

    /// The same, of a record of this permit.
    pub fn of_permit(self, permit: &str) -> Issue {
        Issue { permit: permit.to_string(), ..self }
    }
}

/// Every issue code with its meaning, in alphabetical order: the list that `docs/tables.md` prints.
///
/// A code that is not here fails a test.
pub const CODES: &[(&str, &str)] = &[
    (
        "bad-coordinate",
        "a coordinate is not a finite number or lies outside what its CRS allows; the record is set aside",
    ),
    ("bad-row", "the row cannot be read (columns missing or left over, not valid text, bad JSON); set aside"),
    (
        "damaged-diameter",
        "the diameter cell holds something that cannot be a diameter (a date, text); the tree is kept as not assessed",
    ),
    (
        "damaged-size",
        "a width, radius, depth, margin, crown, height, age or accuracy is unreadable, negative or absurdly large; the record is used, and the remark says with what in its place",
    ),
    ("diameter-implausible", "the diameter is negative or larger than any tree; the tree is kept as not assessed"),
    (
        "diameter-missing",
        "the tree has no diameter, or 0, which stands for not measured or just planted; kept as not assessed",
    ),
    (
        "diameter-unusual",
        "a single trunk thicker than 3 m (a choice of the program): the tree is used as it is; measure it, or mend a digit or the unit",
    ),
    ("duplicate-id", "another tree in reach has this id at another place; both are kept, this one as `id (file:row)`"),
    ("duplicate-tree", "another tree in reach has this id within 0.1 m; this later row is set aside"),
    ("empty-geometry", "the record has no geometry, or an empty one; set aside"),
    ("id-missing", "the record has no id; it is named after its file and row"),
    (
        "kind-unknown",
        "the kind of work is not in the kinds table; counted as a severing cut, the worst case; one remark for a whole file without a column of kinds",
    ),
    (
        "lasting-unknown",
        "the words that say whether the work stays are not understood; what is usual for its kind is used",
    ),
    (
        "mitigation-unknown",
        "a stated mitigation is not understood, is taken back or depends on something; it changes nothing",
    ),
    ("no-place", "the tree has no usable coordinates; set aside"),
    ("not-a-tree", "the row is a vacant or planting site; set aside"),
    (
        "permit-missing",
        "the work names no permit; it counts with the permit named after its file; one remark for a whole file without a column of permits",
    ),
    ("place-outside-crs", "the place lies outside the area where its CRS is valid; set aside"),
    ("polygon-repaired", "the polygon was invalid and was repaired; the areas before and after are stated"),
    ("polygon-unrepairable", "the polygon is invalid and could not be repaired; set aside"),
    ("size-missing", "a line without a width or a point without a radius, and none in the kinds table; set aside"),
    (
        "species-unknown",
        "the species text is not in the botanical table, and the rules ask for the species; listed once for all trees in reach with this text, which are judged as trees of no known species",
    ),
    (
        "status-not-in-force",
        "a work's own status is not in force, but its permit is by that of other works: it counts with them",
    ),
    ("stump", "the row is a stump; set aside"),
    ("tree-removed", "the row says that the tree is gone; set aside"),
    ("wrong-geometry", "the geometry type cannot be a tree or a work; set aside"),
];
