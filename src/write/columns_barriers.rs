//! The columns that stand only where barriers to roots are given: the shape of the zone, and the whole disc beside it.

use super::columns::{Column, FINDING, Group, Repeat, c};

/// How a zone came to its shape.
const ZONE_SHAPE: Column = c(
    "zone_shape",
    "text",
    "`disc`, `shaped` by barriers, or `shaped, area made up` (warning `made_up_area_capped` where not all of it); empty for a tree without a zone. Shaped: confirm by root investigation",
);

/// The last columns of every table of measures.
pub(super) const UNSHAPED: Group = Group {
    repeat: Repeat::Barriers,
    columns: &[
        ZONE_SHAPE,
        c(
            "disc_radius_m",
            "m",
            "radius that the rule set gives; `zone_radius_m` is greater where lost area is made up",
        ),
        c("disc_lost_m2", "m2", "area of the disc of that radius less that of the root zone as used"),
        c("disc_overlap_pct", "% of the disc", "overlap of the whole disc, had no barrier shaped it"),
        c("disc_severed_pct", "% of the disc", "the same for what is severed"),
        c("disc_affected_pct", "% of the disc", "the same for overlap and severed together"),
        c("disc_finding", "text", FINDING.meaning),
    ],
};

/// The last property of the layer of root zones.
pub(super) const SHAPE_OF_REGION: Group = Group { repeat: Repeat::Barriers, columns: &[ZONE_SHAPE] };
