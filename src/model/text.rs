//! Short texts of records: up to 24 bytes stand in the value itself, which holds most ids and names without memory of their own.

/// A text as a record has it. Reads as `str`.
pub type Text = compact_str::CompactString;
