//! Where a record came from.

/// The file (its number among the inputs of the run) and the row within it.
///
/// Rows count from 1: the line number of the record's first line in a CSV, the feature number elsewhere.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, Default, serde::Serialize, serde::Deserialize)]
pub struct SourceRef {
    /// Index into the run's list of inputs (trees first, then works).
    pub file: u16,
    /// Row, from 1.
    pub row: u64,
}
