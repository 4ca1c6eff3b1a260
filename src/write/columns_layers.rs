//! Every property of every layer, with its unit and meaning.

use super::columns::{DIAMETER_CM, FILE, FINDING, HERITAGE_CLASS, PERMIT_ID, ROW, SPECIES, TREE_ID, Table, c, once};
use super::columns_barriers::SHAPE_OF_REGION;

/// `layers/trees.geojson`.
pub const TREES_LAYER: Table = Table {
    file: "layers/trees.geojson",
    rows: "One point per tree with a row, ordered by tree_id.",
    groups: &[once(&[
        TREE_ID,
        SPECIES,
        DIAMETER_CM,
        HERITAGE_CLASS,
        c("finding", "text", "the worst finding of the tree"),
        c("permit_id", "text", "the permit with that finding"),
        c("permits", "count", "permits that have a row for the tree"),
        c("at_risk", "yes/no", "heritage-size, and the finding is `major` or `trunk_in_work`"),
        c(
            "together_finding",
            "text",
            "finding under all active permits together, where more than one touches the tree",
        ),
        c("affected_pct", "%", "affected share of the root zone under that permit"),
        c("file", "text", "the inventory, without its folder"),
        ROW,
    ])],
};

/// `layers/root_zones.geojson`.
pub const ROOT_ZONES_LAYER: Table = Table {
    file: "layers/root_zones.geojson",
    rows: "One polygon per root zone and per ring of a tree with a row, ordered by tree_id; as used for its worst finding.",
    groups: &[
        once(&[
            TREE_ID,
            c(
                "region",
                "text",
                "`root zone`, or the name of the ring; `unshaped root zone` for the whole disc of a zone that barriers shape",
            ),
            c("radius_m", "m", "radius"),
            c(
                "area_m2",
                "m2",
                "area of the true disc, or of the part that barriers leave (the outline drawn keeps within 1 cm of it)",
            ),
            HERITAGE_CLASS,
            c("finding", "text", "the worst finding of the tree"),
            c("permit_id", "text", "the permit with that finding"),
        ]),
        SHAPE_OF_REGION,
    ],
};

/// `layers/overlaps.geojson`.
pub const OVERLAPS_LAYER: Table = Table {
    file: "layers/overlaps.geojson",
    rows: "One feature per permit and tree, ordered as overlaps.csv: the part of the root zone under counted works; without a geometry where there is none (a tree not assessed, a bore beneath).",
    groups: &[once(&[
        PERMIT_ID,
        TREE_ID,
        FINDING,
        c("at_risk", "yes/no", "heritage-size, and the finding is `major` or `trunk_in_work`"),
        c("overlap_m2", "m2", "as in overlaps.csv"),
        c("overlap_pct", "%", "as in overlaps.csv"),
        c("severed_pct", "%", "as in overlaps.csv"),
        c("affected_pct", "%", "as in overlaps.csv"),
    ])],
};

/// `layers/works.geojson`.
pub const WORKS_LAYER: Table = Table {
    file: "layers/works.geojson",
    rows: "One polygon per work, as used (lines and points drawn out to their width), ordered by permit_id, then work_id.",
    groups: &[once(&[
        PERMIT_ID,
        c("work_id", "text", "the work; `file:row` where it has no id"),
        c("kind", "text", "its kind in the table of kinds; `unknown` where it was not found there"),
        c("kind_written", "text", "the kind as the file writes it"),
        c("effects", "text", "what it does to roots as the rule set sees it, joined with `+`"),
        c("severs", "yes/no", "whether it severs roots as the rule set sees it"),
        c("depth_m", "m", "depth below ground, where given"),
        c("margin_m", "m", "width drawn out around it for overdig and formwork"),
        c(
            "lasting",
            "text",
            "`permanent`, or `temporary` where it goes with the job: as stated, else what is usual for its kind",
        ),
        c("mitigation", "text", "what the application states to spare roots, joined with `; `"),
        c("mitigation_accepted", "text", "of these, what the rule set accepts"),
        c("permit_finding", "text", "the worst finding under its permit; empty where no tree is in reach"),
        FILE,
        ROW,
    ])],
};
