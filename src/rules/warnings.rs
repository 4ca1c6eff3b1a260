//! The warning codes that zones and findings carry, with what each tells the reviewer.

/// Every warning code with its meaning, in alphabetical order. A code that is not here fails a test.
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
        "the overlap stays within a published share, but the part of the root zone behind the cut, the cut included, passes the same number",
    ),
    ("verify_on_site", "whether the trunk meets the work depends on the error of the tree's place: measure on site"),
];

/// The codes that a limit may raise with `flag`.
pub const FLAGS: &[&str] = &["qualified_arborist_before_cutting", "verify_on_site"];

/// The code as it lives in the list; `None` where it is not there.
pub fn flag(code: &str) -> Option<&'static str> {
    FLAGS.iter().copied().find(|&known| known == code)
}
