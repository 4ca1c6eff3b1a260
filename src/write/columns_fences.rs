//! The columns of fences and ground cover: two tables and two layers, written with `--protect` only.

use super::columns::{Column, Group, PERMIT_ID, PERMIT_STATUS, Repeat, Table, c, once};

const fn imperial(columns: &'static [Column]) -> Group {
    Group { repeat: Repeat::Imperial, columns }
}

const FENCE: Column = c("fence", "count", "number of the fence in its permit, from 1; empty where no fence can stand");
const TREE_IDS: Column = c("tree_ids", "text", "trees within, joined with `; `; else the tree without a fence");
const SPECIFICATION: Column = c("specification", "text", "how it is built: a name in the table of protection values");
const LENGTH: Column = c(
    "length_m",
    "m",
    "length of the line, and of its inner line where a work stands in the middle; arcs as true arcs",
);
const AREA: Column = c("area_m2", "m2", "area enclosed");
const TRUNK_DISTANCE: Column = c("trunk_distance_m", "m", "least distance from a trunk centre within to the line");
const FENCE_WARNINGS: Column = c("warnings", "text", "warning codes, joined with `; `");
const REASON: Column = c("reason", "text", "why no fence can stand");
const PLACE: Column = c("place", "text", "`inside fence`, `outside fence`, or `access and storage`");
const TRAFFIC: Column = c(
    "traffic",
    "text",
    "the heaviest traffic that it is made for: `foot`, `light` or `heavy`; empty inside the fence",
);
const ENGINEERED: Column =
    c("to_be_engineered", "yes/no", "an engineer has to say what is needed; the depth is no more than a beginning");

/// `tables/fences.csv`.
pub const FENCES: Table = Table {
    file: "tables/fences.csv",
    rows: "With --protect only. One row per fence, ordered by permit_id, then by its first tree; then one per tree that stays and around which no fence can stand.",
    groups: &[
        once(&[
            PERMIT_ID,
            FENCE,
            TREE_IDS,
            c("trees", "count", "trees within"),
            SPECIFICATION,
            c("height_m", "m", "height above ground"),
            LENGTH,
            AREA,
        ]),
        imperial(&[
            c("height_ft", "ft", "height in feet"),
            c("length_ft", "ft", "length in feet"),
            c("area_sqft", "sq ft", "area in square feet"),
        ]),
        once(&[
            c(
                "posts",
                "count",
                "posts of a closed line, no further apart than the specification says, and so that no straight panel leaves the line by more than 0.3 m (common practice, no source)",
            ),
            c("panels", "count", "stretches from post to post"),
            c("signs", "count", "signs at the greatest spacing of the specification, at least one"),
            c("gates", "count", "gates, each in place of a panel"),
            TRUNK_DISTANCE,
        ]),
        imperial(&[c("trunk_distance_ft", "ft", "that distance in feet")]),
        once(&[
            c("nearest_tree_id", "text", "the tree of that distance"),
            c(
                "inside_ring_tree_ids",
                "text",
                "trees to which the line comes nearer than the ring that the rule set reserves (the ring it names, else its innermost, else 3 trunk diameters)",
            ),
            FENCE_WARNINGS,
            REASON,
            c("advice", "text", "what to do instead"),
        ]),
        PERMIT_STATUS,
    ],
};

/// `tables/ground_cover.csv`.
pub const GROUND_COVER: Table = Table {
    file: "tables/ground_cover.csv",
    rows: "With --protect only. One row per permit, place, traffic and material, ordered so, the material that lies lowest first. Root zones that overlap count once.",
    groups: &[
        once(&[
            PERMIT_ID,
            PLACE,
            TRAFFIC,
            c("material", "text", "`compost`, `mulch`, `geotextile`, `chips`, `boards` or `mats`"),
            c("area_m2", "m2", "ground that it lies on"),
            c("depth_least_cm", "cm", "least depth; empty for sheets, boards and mats"),
            c("depth_most_cm", "cm", "greatest depth"),
            c("volume_least_m3", "m3", "area times least depth, as it lies"),
            c("volume_most_m3", "m3", "area times greatest depth"),
        ]),
        imperial(&[
            c("area_sqft", "sq ft", "area in square feet"),
            c("depth_least_in", "in", "least depth in inches"),
            c("depth_most_in", "in", "greatest depth in inches"),
            c("volume_least_cuyd", "cu yd", "least volume in cubic yards"),
            c("volume_most_cuyd", "cu yd", "greatest volume in cubic yards"),
        ]),
        once(&[ENGINEERED, c("clause", "text", "where material and depth come from, with the status of the source")]),
        PERMIT_STATUS,
    ],
};

/// `layers/fences.geojson`.
pub const FENCES_LAYER: Table = Table {
    file: "layers/fences.geojson",
    rows: "With --protect only. One polygon per fence: its edge is the line; ordered as fences.csv. Without a geometry for a tree around which no fence can stand.",
    groups: &[once(&[PERMIT_ID, FENCE, TREE_IDS, SPECIFICATION, LENGTH, AREA, TRUNK_DISTANCE, FENCE_WARNINGS, REASON])],
};

/// `layers/ground_cover.geojson`.
pub const GROUND_COVER_LAYER: Table = Table {
    file: "layers/ground_cover.geojson",
    rows: "With --protect only. One feature per permit, place and traffic, ordered as ground_cover.csv.",
    groups: &[once(&[
        PERMIT_ID,
        PLACE,
        TRAFFIC,
        c("cover", "text", "what lies there from the ground up, with depths"),
        AREA_OF_COVER,
        ENGINEERED,
    ])],
};

const AREA_OF_COVER: Column = c("area_m2", "m2", "its area");
