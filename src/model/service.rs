//! What a service line takes of the root zones that it crosses, and what is advised of it.

use super::finding::Verdict;
use geo::{Coord, MultiLineString};

/// A tree near a service line: with a row under some permit, or without any.
#[derive(Debug, Clone, PartialEq)]
pub struct NearTree {
    /// Index into `Results::trees`; `None` for a tree without a row under any permit.
    pub tree: Option<u32>,
    /// Trunk centre in the measuring CRS.
    pub place: Coord<f64>,
    /// Radius of its root zone, the larger of a class of diameters; for an unknown diameter the search distance, metres.
    pub radius_m: f64,
    /// Whether its diameter is known.
    pub measured: bool,
    /// Whether the application removes or relocates it.
    pub goes: bool,
}

/// Where a line is for a measure.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Placed {
    /// Where it was drawn.
    AsDrawn,
    /// Nowhere: the other works of the permit remain.
    Away,
    /// Where it was drawn, without the other works of the permit.
    Alone,
    /// Shifted whole, metres.
    Moved(Coord<f64>),
}

/// How one tree stands with a line somewhere, by the run's own measures and rule set.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Standing {
    /// The verdict.
    pub verdict: Verdict,
    /// Affected share of the root zone, percent as printed; 0 where nothing was measured.
    pub affected_pct: f64,
    /// Severed share of the root zone, percent as printed; 0 where nothing was measured.
    pub severed_pct: f64,
    /// A severing cut within 3 trunk diameters.
    pub cut_close: bool,
    /// A published share of footprint is kept, and the severed share exceeds it.
    pub severed_exceeds: bool,
    /// Trunk centre to the nearest counted work, metres; infinite where none is in reach.
    pub distance_m: f64,
}

impl Standing {
    /// Nothing in reach.
    pub const OUT_OF_REACH: Standing = Standing {
        verdict: Verdict::Untouched,
        affected_pct: 0.0,
        severed_pct: 0.0,
        cut_close: false,
        severed_exceeds: false,
        distance_m: f64::INFINITY,
    };

    /// Whether a tree is worse off than before: a worse finding, more of the zone affected, a cut newly close to the trunk, or, for a
    /// tree without a diameter, a work nearer by than before.
    pub fn is_worse_than(&self, before: &Standing) -> bool {
        let nearer = self.verdict == Verdict::NotAssessed && self.distance_m < before.distance_m;
        self.verdict > before.verdict
            || self.affected_pct > before.affected_pct
            || (self.cut_close && !before.cut_close)
            || nearer
    }
}

/// What a shift takes the line out of.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Clears {
    /// Every root zone of a tree that stays and that the line crosses.
    EveryZone,
    /// The root zone of one tree.
    Zone,
    /// One ring of one tree, by its index in the rule set.
    Ring(usize),
}

/// The line moved whole.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Shift {
    /// The move in the measuring CRS, metres.
    pub by: Coord<f64>,
    /// Its length, metres.
    pub distance_m: f64,
    /// Its direction, degrees clockwise from the north of the measuring CRS.
    pub bearing_deg: f64,
}

/// A shift for one tree, with how that tree then stands.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct TreeShift {
    /// What it takes the line out of.
    pub clears: Clears,
    /// The move.
    pub shift: Shift,
    /// The tree with the line there.
    pub after: Standing,
}

/// What is advised.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Advice {
    /// Nothing of the root zone is taken.
    NoneNeeded,
    /// The line by itself stays within the rules.
    Dig,
    /// Move the line out of the root zone.
    Move,
    /// Bore beneath the root zone.
    Bore,
    /// Move the line out of a ring, and dig what is left of the crossing by hand or with air.
    MoveAndHandDig,
    /// Dig by hand or with air.
    HandDig,
    /// The diameter is not known.
    Measure,
}

impl Advice {
    /// All, in the order of the table of rules.
    pub const ALL: [Advice; 7] = [
        Advice::Measure,
        Advice::NoneNeeded,
        Advice::Dig,
        Advice::Move,
        Advice::Bore,
        Advice::MoveAndHandDig,
        Advice::HandDig,
    ];

    /// The words in columns.
    pub fn words(self) -> &'static str {
        match self {
            Advice::NoneNeeded => "none needed",
            Advice::Dig => "dig, with an arborist present",
            Advice::Move => "move",
            Advice::Bore => "bore",
            Advice::MoveAndHandDig => "move out of the ring, then hand or air dig with an arborist",
            Advice::HandDig => "hand or air dig with an arborist",
            Advice::Measure => "measure the tree",
        }
    }
}

/// A bore beneath one root zone, from pit to pit.
#[derive(Debug, Clone, PartialEq)]
pub struct Bore {
    /// Depth of its top below ground, metres.
    pub depth_m: f64,
    /// Where the depth comes from, with its status.
    pub depth_from: String,
    /// Length from pit to pit, metres; of several crossings together. Up to the line's end where no pit has room there.
    pub length_m: f64,
    /// Pits that have room outside every root zone.
    pub pits: u32,
    /// Where the pits lie along the line, or why there is no room.
    pub pits_text: String,
    /// Every crossing has room for a pit at both ends.
    pub possible: bool,
}

/// One service line and one tree that stays.
#[derive(Debug, Clone, PartialEq)]
pub struct LineTree {
    /// Index into `Results::rows`.
    pub row: usize,
    /// Index into `Results::trees`.
    pub tree: u32,
    /// Length of the centre line inside the root zone, metres; `None` where the diameter is not known.
    pub zone_length_m: Option<f64>,
    /// The same inside each ring of the rule set, in its order.
    pub ring_lengths_m: Vec<f64>,
    /// Trunk centre to the centre line, metres.
    pub centre_line_m: f64,
    /// Trunk centre to the edge of the line as drawn out, 0 inside, metres.
    pub edge_m: f64,
    /// The same in trunk diameters.
    pub edge_diameters: Option<f64>,
    /// The edge is within 3 trunk diameters.
    pub cut_close: bool,
    /// The tree with the line alone.
    pub alone: Standing,
    /// The tree without the line.
    pub without: Standing,
    /// The bore that would pass beneath; `None` where the diameter is not known.
    pub bore: Option<Bore>,
    /// The shortest shift out of every zone that the line crosses.
    pub every_zone: Option<TreeShift>,
    /// The shortest shift out of this zone.
    pub zone: Option<TreeShift>,
    /// The shortest shift out of the ring that decides, or of the innermost that the line meets.
    pub ring: Option<TreeShift>,
    /// The one shift that is advised for the line, where it takes the line out of this zone or ring.
    pub advised: Option<TreeShift>,
    /// What is advised.
    pub advice: Advice,
    /// Why, in words.
    pub reason: String,
}

/// Where a line would lie after an advised shift.
#[derive(Debug, Clone, PartialEq)]
pub struct MovedLine {
    /// The shift.
    pub shift: Shift,
    /// The centre line there, measuring CRS.
    pub lines: MultiLineString<f64>,
    /// Trees that it is advised for (indices into `Results::trees`), ascending.
    pub trees: Vec<u32>,
    /// Other works of the permit that it would newly meet (indices into `Results::works`), ascending.
    pub meets: Vec<u32>,
}

/// One work that is a service line, with the trees whose zones it meets.
#[derive(Debug, Clone, PartialEq)]
pub struct ServiceLine {
    /// Index into `Results::works`.
    pub work: u32,
    /// Trees that a moved line was held against, those without a row among them.
    pub trees_near: u32,
    /// One per tree that stays, in the order of rows.
    pub trees: Vec<LineTree>,
    /// The one shift that is advised: a line can be moved only once.
    pub moved: Option<MovedLine>,
}
