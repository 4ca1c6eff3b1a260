//! The columns of `tables/services.csv` and the properties of `layers/service_lines.geojson`.

use super::columns::{
    FILE, Group, PERMIT_ID, PERMIT_STATUS, ROW, Repeat, SPECIES, TREE_ID, TREE_SOURCE, Table, c, once,
};

/// The line and the tree, and how they lie to each other.
const LENGTHS: Group = once(&[
    PERMIT_ID,
    TREE_ID,
    c("work_id", "text", "the line; `file:row` where it has no id"),
    c("kind", "text", "its kind in the table of kinds; `unknown` counts as a trench, the worst case"),
    SPECIES,
    c("diameter_cm", "cm", "as in overlaps.csv"),
    c("finding", "text", "as in overlaps.csv: of all works of the permit"),
    c("width_m", "m", "full width of the line as drawn out, overdig on both sides included"),
    c("zone_radius_m", "m", "radius of the root zone; empty where the diameter is not known"),
    c(
        "zone_length_m",
        "m",
        "length of the centre line inside the root zone; 0 where only the edge of the line reaches it",
    ),
    c("centre_line_distance_m", "m", "from the trunk centre to the centre line"),
    c("distance_m", "m", "from the trunk centre to the edge of the line; 0 inside it"),
    c("distance_diameters", "trunk diameters", "the same in trunk diameters"),
    c(
        "cut_close_to_trunk",
        "yes/no",
        "the edge is within 3 trunk diameters of the trunk centre: a qualified arborist before any cut",
    ),
]);

const RING_LENGTHS: Group =
    Group { repeat: Repeat::Rings, columns: &[c("<ring>_length_m", "m", "length of the centre line inside the ring")] };

const ADVICE: Group = once(&[
    c("line_affected_pct", "% of the root zone", "overlap and severed together of the line alone"),
    c("line_severed_pct", "% of the root zone", "what the line alone severs"),
    c("line_finding", "text", "the finding if the line were the permit's only work"),
    c("finding_without_line", "text", "the finding of all other works of the permit"),
    c(
        "advice",
        "text",
        "`none needed`, `dig, with an arborist present`, `move`, `bore`, `move out of the ring, then hand or air dig with an arborist`, `hand or air dig with an arborist` or `measure the tree`: advice on paper; services are located first (call before you dig), the utility's own rules on depth and separation decide, and the work is for licensed people",
    ),
    c("reason", "text", "why, and why not the other ways"),
    c("bore_depth_m", "m", "depth of the top of a bore that would pass beneath"),
    c("bore_depth_from", "text", "where that depth comes from, with its status"),
    c(
        "bore_length_m",
        "m",
        "length from pit to pit, set-backs included; shared with neighbouring trees where one bore passes beneath several; up to the line's end where a pit has no room",
    ),
    c("bore_possible", "yes/no", "both ends of every bore have room for a pit outside the root zones"),
    c("pits", "count", "pits with room"),
    c(
        "pits_place",
        "text",
        "where the pits lie, in metres along the line from its first point, or why one has no room; their size is common practice, no source, or yours",
    ),
    c(
        "zone_shift_m",
        "m",
        "the shortest shift of the whole line that takes it out of this root zone; empty where none within --shift-within leaves every other tree no worse off",
    ),
    c("zone_shift_bearing_deg", "degrees", "its direction, clockwise from the north of the measuring plane"),
    c("ring_shift", "text", "the ring that the next shift leaves"),
    c("ring_shift_m", "m", "the shortest shift out of that ring"),
    c("ring_shift_bearing_deg", "degrees", "its direction"),
    c(
        "every_zone_shift_m",
        "m",
        "the shortest shift out of every root zone that the line crosses; empty where it crosses one, or where there is none",
    ),
    c("every_zone_shift_bearing_deg", "degrees", "its direction"),
    c(
        "advised_shift",
        "text",
        "where the one shift that is advised for the line takes it out of this zone or ring: `every zone`, `this zone` or `ring`; a line is moved only once: out of most of the zones that need it, by the shortest way",
    ),
    c("advised_shift_m", "m", "length of that shift"),
    c("advised_shift_bearing_deg", "degrees", "its direction"),
    c("finding_after_shift", "text", "the finding of this tree with all works of the permit, the line moved so"),
    c(
        "trees_measured_again",
        "count",
        "trees near the line that a shift was held against, those without a row among them; none of them is worse off",
    ),
    c(
        "meets_after_shift",
        "text",
        "other works of the permit that the line would newly meet, joined with `; `; existing buildings and services are not known here",
    ),
]);

const IMPERIAL: Group = Group {
    repeat: Repeat::Imperial,
    columns: &[
        c("diameter_in", "in", "`diameter_cm` in inches"),
        c("width_ft", "ft", "`width_m` in international feet"),
        c("zone_radius_ft", "ft", "`zone_radius_m` in feet"),
        c("zone_length_ft", "ft", "`zone_length_m` in feet"),
        c("distance_ft", "ft", "`distance_m` in feet"),
        c("bore_depth_ft", "ft", "`bore_depth_m` in feet"),
        c("bore_length_ft", "ft", "`bore_length_m` in feet"),
        c("zone_shift_ft", "ft", "`zone_shift_m` in feet"),
        c("ring_shift_ft", "ft", "`ring_shift_m` in feet"),
        c("every_zone_shift_ft", "ft", "`every_zone_shift_m` in feet"),
        c("advised_shift_ft", "ft", "`advised_shift_m` in feet"),
    ],
};

const IMPERIAL_RINGS: Group =
    Group { repeat: Repeat::ImperialRings, columns: &[c("<ring>_length_ft", "ft", "`<ring>_length_m` in feet")] };

/// `tables/services.csv`.
pub const SERVICES: Table = Table {
    file: "tables/services.csv",
    rows: "Only where protection is asked for. One row per permit, service line and tree that stays (or that goes only because a work stands on its trunk) whose root zone the line meets, ordered by permit_id, then work, then tree_id. A service line is a work drawn as a line that cuts and at most bores: a trench, a pipe, a cable, a drain.",
    groups: &[LENGTHS, RING_LENGTHS, ADVICE, IMPERIAL, IMPERIAL_RINGS, PERMIT_STATUS, TREE_SOURCE],
};

/// `layers/service_lines.geojson`.
pub const SERVICE_LINES_LAYER: Table = Table {
    file: "layers/service_lines.geojson",
    rows: "Only where protection is asked for. One line per service line of services.csv as proposed, and after it the same line moved, where a shift is advised; ordered by permit_id, then work.",
    groups: &[once(&[
        PERMIT_ID,
        c("work_id", "text", "the line"),
        c("kind", "text", "its kind in the table of kinds"),
        c("line", "text", "`as proposed` or `moved`"),
        c(
            "advice",
            "text",
            "of a line as proposed: what services.csv advises for its trees, each once, joined with `; `; of a moved one empty",
        ),
        c("shift_m", "m", "how far it was moved"),
        c("shift_bearing_deg", "degrees", "where to, clockwise from the north of the measuring plane"),
        c("tree_ids", "text", "trees of services.csv; of a moved line those that it is advised for, joined with `; `"),
        c("meets", "text", "other works of the permit that the moved line would newly meet, joined with `; `"),
        c("caution", "text", "what holds for every line"),
        FILE,
        ROW,
    ])],
};
