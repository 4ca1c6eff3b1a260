//! Warning codes that a row can carry, with their meanings: the list that `docs/tables.md` prints.

/// Every warning code with its meaning, in alphabetical order. A row with a code that is not here fails a test.
pub const WARNINGS: &[(&str, &str)] = &[
    (
        "barrier_over_trunk",
        "a barrier of `--barriers` is drawn over the trunk, which cannot be right for this tree: it was passed over; confirm by root investigation",
    ),
    (
        "between_printed_classes",
        "the diameter lies between two classes as the rule prints them; the lower class was used up to where the next begins",
    ),
    ("columnar_form", "the species text names a columnar form: its wider margin outside the drip line was used"),
    ("crown_estimated", "the inventory has no crown: the drip line was estimated from the trunk diameter"),
    (
        "cut_may_be_close",
        "roots may be cut within 3 trunk diameters (place off by as much, or no diameter): measure on site; within them a qualified arborist must judge stability before anything is cut",
    ),
    ("depth_not_given", "a limit on depth was not judged: a work in reach has no stated depth"),
    (
        "fence_within_reserved_ring",
        "the fence comes nearer to a trunk than the ring that the rule set reserves: move the work, or have a qualified arborist agree",
    ),
    (
        "fence_without_drip_line",
        "the rule set wants the fence at the drip line, and neither the inventory nor the set says where that is: the edge of the root zone was used",
    ),
    ("height_missing", "the inventory has no height: the radius was found from the trunk diameter instead"),
    (
        "life_stage_unknown",
        "the inventory does not say how old the tree is for its kind: the widest radius of the table was used",
    ),
    (
        "made_up_area_capped",
        "the area that barriers take of the root zone could not be made up in full within twice the radius: the zone is smaller than its disc",
    ),
    (
        "mitigation_accepted",
        "the application states a mitigation for a work in reach, and the rule set accepts it: the finding holds only while it is carried out (columns mitigation and mitigation_accepted)",
    ),
    (
        "mitigation_not_accepted",
        "the application states a mitigation for a work in reach that changes nothing under this rule set: the work counts as if it were not stated",
    ),
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
        "works cover no more of the root zone than a published share, but what lies cut off behind them, the cut included, is more than the same share",
    ),
    (
        "surfaces_not_given",
        "a limit on unsurfaced ground was judged on the whole zone: existing surfaces were not given",
    ),
    (
        "tolerance_unknown",
        "no source says how well the species bears the loss of roots: the row of sensitive species was used",
    ),
    ("verify_on_site", "whether the trunk meets the work depends on the error of the tree's place: measure on site"),
    (
        "zone_shaped_by_barrier",
        "existing barriers shape the root zone (`zone_shape`; the whole disc stands beside it in `disc_*`): confirm by root investigation",
    ),
    (
        "zone_wholly_surfaced",
        "a limit on unsurfaced ground was not judged: existing surfaces cover the whole root zone",
    ),
];

/// The meaning of a warning code; `None` for a code that is not in the list.
pub fn meaning(code: &str) -> Option<&'static str> {
    WARNINGS.iter().find(|(known, _)| *known == code).map(|(_, meaning)| *meaning)
}
