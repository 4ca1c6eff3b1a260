//! The columns of `tables/replacement.csv`, and those of `tables/permits.csv` on replacement.

use super::columns::{
    FINDING, Group, PERMIT_ID, PERMIT_STATUS, Repeat, SPECIES, SPECIES_MATCH, TREE_ID, TREE_SOURCE, Table, c, once,
};

/// Of `permits.csv`: what is owed now, up to the length.
pub(super) const PERMIT_TREES: Group = once(&[
    c(
        "trees_removed",
        "count",
        "trees removed (replacement.csv) for which the rule set asks something, or may; empty, as are all that follow, where it has no rule on replacement",
    ),
    c("replacement_trees", "count", "trees owed now for them"),
    c("replacement_length_cm", "cm", "trunk diameter owed now for them, added up"),
]);

/// The length in inches.
pub(super) const PERMIT_TREES_IMPERIAL: Group =
    Group { repeat: Repeat::Imperial, columns: &[c("replacement_length_in", "in", "the same in inches")] };

/// Of `permits.csv`: money, and what is not known.
pub(super) const PERMIT_MONEY: Group = once(&[
    c(
        "replacement_money",
        "currency",
        "money owed now for them, instead of planting or besides, as replacement.csv says",
    ),
    c("replacement_currency", "text", "its currency"),
    c(
        "replacement_money_is",
        "text",
        "`instead` of the planting (one of the two is owed, not both), `besides`, or both words where trees differ; empty where only one of them is asked",
    ),
    c("replacement_unknown", "count", "removed trees of which part cannot be said: the sums are too small"),
    c(
        "replacement_arithmetic",
        "text",
        "what is not a plain sum of replacement.csv: totals looked up in a table, caps",
    ),
]);

/// `tables/replacement.csv`.
pub const REPLACEMENT: Table = Table {
    file: "tables/replacement.csv",
    rows: "One row per permit and tree that is protected, heritage-size, or meant by a rule on replacement, and per tree without a diameter, ordered as overlaps.csv. Only the header where the rule set has no rule on replacement (run.json says so). A tree in the root zone of which two permits work stands under both. A tree whose root zone no work meets has no row, be it removed or not.",
    groups: &[
        once(&[
            PERMIT_ID,
            TREE_ID,
            SPECIES,
            c(
                "diameter_cm",
                "cm",
                "the diameter that is counted: for a class its upper end, for an open class its lower bound",
            ),
        ]),
        Group { repeat: Repeat::Imperial, columns: &[c("diameter_in", "in", "the same in inches")] },
        once(&[
            c("class", "text", "protected class, then heritage class, joined with `; `; empty where neither"),
            FINDING,
            c("disposition", "text", "`retain`, `remove`, `relocate` or `off site`, where given"),
            c(
                "removed_because",
                "text",
                "`disposition remove`, `trunk in work` (but not for a tree that is relocated or off site), or empty: the tree stays, and owes nothing now",
            ),
            c("owed_trees", "count", "trees owed now"),
            c("owed_length_cm", "cm", "trunk diameter owed now"),
        ]),
        Group { repeat: Repeat::Imperial, columns: &[c("owed_length_in", "in", "the same in inches")] },
        once(&[
            c("owed_money", "currency", "money owed now"),
            c("owed_currency", "text", "its currency"),
            c(
                "if_removed_trees",
                "count",
                "for a tree with the finding `major` that is not removed: trees owed if it goes",
            ),
            c("if_removed_length_cm", "cm", "the same as trunk diameter"),
        ]),
        Group { repeat: Repeat::Imperial, columns: &[c("if_removed_length_in", "in", "the same in inches")] },
        once(&[
            c("if_removed_money", "currency", "the same as money"),
            c("if_removed_currency", "text", "its currency"),
            c("money_is", "text", "`instead` of planting or `besides`; empty where only one of them is asked"),
            c("each_at_least", "text", "least size of each tree planted, as the rule writes it"),
            c("arithmetic", "text", "how it was worked out, or why nothing is asked"),
            c("clause", "text", "the clause of the rule set, with its source and status"),
        ]),
        PERMIT_STATUS,
        TREE_SOURCE,
        SPECIES_MATCH,
    ],
};
