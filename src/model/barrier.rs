//! Existing barriers to roots by what they are, and whether roots pass them.

/// What a barrier is, as far as roots are concerned.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum BarrierClass {
    /// Buildings, foundations, basements, pools.
    Foundations,
    /// Walls.
    Walls,
    /// Roads, driveways, sidewalks, parking, other paving.
    Roads,
    /// Any other kind, and those of which the kind is not known.
    Others,
}

impl BarrierClass {
    /// All, in the order of options and notes.
    pub const ALL: [BarrierClass; 4] =
        [BarrierClass::Foundations, BarrierClass::Walls, BarrierClass::Roads, BarrierClass::Others];

    /// The word in options and notes.
    pub fn word(self) -> &'static str {
        match self {
            BarrierClass::Foundations => "foundations",
            BarrierClass::Walls => "walls",
            BarrierClass::Roads => "roads",
            BarrierClass::Others => "others",
        }
    }

    /// The class of a kind, as the table of kinds names it.
    pub fn of_kind(kind: &str) -> BarrierClass {
        match kind {
            "building" | "foundation" | "basement" | "pool" => BarrierClass::Foundations,
            "wall" => BarrierClass::Walls,
            "road" | "paving" | "driveway" | "sidewalk" | "parking" | "resurfacing" => BarrierClass::Roads,
            _ => BarrierClass::Others,
        }
    }

    /// Whether roots stop there unless the user says otherwise: foundations and walls stop them, roads do not (common practice, no source).
    pub fn stops_by_default(self) -> bool {
        matches!(self, BarrierClass::Foundations | BarrierClass::Walls)
    }
}
