//! Warning codes that a row can carry, with their meanings: the list that `docs/tables.md` prints.

/// Every warning code with its meaning, in alphabetical order. A row with a code that is not here fails a test.
pub const WARNINGS: &[(&str, &str)] = &[
    ("columnar_form", "the species text names a columnar form: its wider margin outside the drip line was used"),
    ("crown_estimated", "the inventory has no crown: the drip line was estimated from the trunk diameter"),
    (
        "qualified_arborist_before_cutting",
        "roots would be cut within 3 trunk diameters, or where the rule set says so: the tree may become unstable; a qualified arborist must judge before anything is cut",
    ),
    ("radius_capped", "the rule set's largest radius was used; a tree this thick may need more"),
    (
        "ring_from_breast_height",
        "no diameter above the root crown was given: the ring was found from the diameter at breast height and is likely too small",
    ),
    (
        "severed_exceeds",
        "what the limit counts of the overlap stays within a published share, but the part of the root zone behind the cut, the cut included, passes the same number",
    ),
    ("verify_on_site", "whether the trunk meets the work depends on the error of the tree's place: measure on site"),
];

/// The meaning of a warning code; `None` for a code that is not in the list.
pub fn meaning(code: &str) -> Option<&'static str> {
    WARNINGS.iter().find(|(known, _)| *known == code).map(|(_, meaning)| *meaning)
}
