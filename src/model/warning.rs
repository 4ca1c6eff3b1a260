//! Warning codes that a row can carry, with their meanings: the list that `docs/tables.md` prints.

/// Every warning code with its meaning, in alphabetical order. A row with a code that is not here fails a test.
pub const WARNINGS: &[(&str, &str)] = &[
    ("crown_estimated", "the inventory gives no crown; its radius was estimated from the diameter"),
    ("qualified_arborist_before_cutting", "a severing cut lies within 3 trunk diameters: the tree's stability is in question, whatever the finding"),
    ("ring_from_breast_height", "a ring that wants the diameter above the root crown was made from breast height: it is likely too small"),
    ("severed_exceeds", "the limit counts overlap; what lies behind cuts (severed) passes the same number"),
    ("verify_on_site", "whether the trunk meets the work depends on the error of the tree's place"),
];

/// The meaning of a warning code; `None` for a code that is not in the list.
pub fn meaning(code: &str) -> Option<&'static str> {
    WARNINGS.iter().find(|(known, _)| *known == code).map(|(_, meaning)| *meaning)
}
