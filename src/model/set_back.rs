//! How far works would have to keep from a trunk for a tree to come out of the findings that put it at risk.

/// For one row with the finding `major` or `trunk_in_work`, of a tree that stays.
#[derive(Debug, Clone, PartialEq)]
pub struct SetBack {
    /// Index of the permit.
    pub permit: u32,
    /// Index into `Results::trees`.
    pub tree: u32,
    /// The least distance from the trunk centre, whole centimetres in metres, > 0, that all works of the permit would have to keep; `None`
    /// where none within reach of the limits helps.
    pub distance_m: Option<f64>,
    /// Counted works that come nearer than that (all in reach, where no distance helps), in the order of works.
    pub works: Vec<SetBackWork>,
}

/// A work that comes too near.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SetBackWork {
    /// Index into `Results::works`.
    pub work: u32,
    /// From the trunk centre to its edge as drawn, metres; 0 inside.
    pub as_drawn_m: f64,
    /// Nothing of it lies beyond the distance: it would have to stand elsewhere.
    pub wholly_within: bool,
}
