//! Every column of the tables that set several rule sets beside each other.

use super::columns::{DIAMETER_CM, Group, HERITAGE_CLASS, PERMIT_ID, Repeat, SPECIES, TREE_ID, Table, c, once};

/// `tables/side_by_side.csv`.
pub const SIDE_BY_SIDE: Table = Table {
    file: "tables/side_by_side.csv",
    rows: "Only where several `--rules` are given. One row per permit, tree and rule set, for every permit and tree that any of them gives a row; ordered by permit_id, tree_id, then the rule sets as typed.",
    groups: &[once(&[
        PERMIT_ID,
        TREE_ID,
        SPECIES,
        c("rule_set", "text", "name of the rule set"),
        c("finding", "text", "the finding under it; `untouched` without measures where its root zone is out of reach"),
        DIAMETER_CM,
        HERITAGE_CLASS,
        c("zone_radius_m", "m", "radius of the root zone under it"),
        c("overlap_pct", "%", "as in overlaps.csv, for that zone"),
        c("severed_pct", "%", "as in overlaps.csv, for that zone"),
        c("affected_pct", "%", "as in overlaps.csv, for that zone"),
        c("distance_m", "m", "as in overlaps.csv"),
        c("sentence", "text", "the finding as a plain sentence"),
        c("clause", "text", "the clause that decided, with its source"),
        c("borderline", "text", "as in overlaps.csv"),
    ])],
};

/// `tables/rule_differences.csv`.
pub const RULE_DIFFERENCES: Table = Table {
    file: "tables/rule_differences.csv",
    rows: "Only where several `--rules` are given. One row per permit and tree on which they disagree: on the finding, or on whether the tree is heritage-size. Ordered by permit_id, then tree_id.",
    groups: &[
        once(&[
            PERMIT_ID,
            TREE_ID,
            SPECIES,
            c("worst_finding", "text", "the worst of the findings"),
            c("worst_under", "text", "the rule sets that give it"),
            c("mildest_finding", "text", "the mildest of the findings"),
            c("mildest_under", "text", "the rule sets that give it"),
        ]),
        Group {
            repeat: Repeat::RuleSets,
            columns: &[
                c("finding_<rule_set>", "text", "the finding under that rule set"),
                c("heritage_<rule_set>", "text", "the heritage-size class under it; empty where none, or out of reach"),
            ],
        },
    ],
};
