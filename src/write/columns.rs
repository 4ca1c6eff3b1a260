//! Every column of every table and every property of every layer, with its unit and meaning: the one list.
//!
//! Headers are written from it, and `docs/tables.md` is made from it. `<ring>` stands for each ring of the rule set and
//! `<effect>` for each effect.

use super::columns_barriers::UNSHAPED;
use super::columns_compared::{RULE_DIFFERENCES, SIDE_BY_SIDE};
use super::columns_fences::{FENCES, FENCES_LAYER, GROUND_COVER, GROUND_COVER_LAYER};
use super::columns_layers::{OVERLAPS_LAYER, ROOT_ZONES_LAYER, TREES_LAYER, WORKS_LAYER};
use super::columns_replacement::{PERMIT_MONEY, PERMIT_TREES, PERMIT_TREES_IMPERIAL, REPLACEMENT};
use super::columns_services::{SERVICE_LINES_LAYER, SERVICES};
use super::columns_upkeep::{CALENDAR, MATERIALS, WATER, WATER_DAYS};
use crate::model::effect::Effect;
use crate::model::run_facts::RunFacts;

/// A column.
#[derive(Debug, Clone, Copy)]
pub struct Column {
    /// Name in the header.
    pub name: &'static str,
    /// Unit, or `text`, `yes/no`, `count`.
    pub unit: &'static str,
    /// What it says.
    pub meaning: &'static str,
}

/// How often the columns of a group stand in a table.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Repeat {
    /// Once.
    Once,
    /// Only where the rule set is written in feet and inches.
    Imperial,
    /// Once for each effect.
    Effects,
    /// Once for each ring of the rule set.
    Rings,
    /// Once for each ring, only where the rule set is written in feet and inches.
    ImperialRings,
    /// Once for each rule set of a run with several.
    RuleSets,
    /// Only where barriers are given.
    Barriers,
}

/// Columns that stand together.
#[derive(Debug, Clone, Copy)]
pub struct Group {
    /// How often.
    pub repeat: Repeat,
    /// In order.
    pub columns: &'static [Column],
}

/// A table or layer.
#[derive(Debug, Clone, Copy)]
pub struct Table {
    /// Its file in the output folder.
    pub file: &'static str,
    /// One row of it, and the order of rows.
    pub rows: &'static str,
    /// Its columns.
    pub groups: &'static [Group],
}

impl Table {
    /// The header for a run.
    pub fn header(&self, facts: &RunFacts) -> Vec<String> {
        let rules = &facts.rules;
        let mut header = Vec::new();
        for group in self.groups {
            let names = || group.columns.iter().map(|column| column.name);
            match group.repeat {
                Repeat::Once => header.extend(names().map(str::to_string)),
                Repeat::Imperial if rules.imperial => header.extend(names().map(str::to_string)),
                Repeat::Imperial => {}
                Repeat::Barriers if facts.barriers_given() => header.extend(names().map(str::to_string)),
                Repeat::Barriers => {}
                Repeat::Effects => Effect::ALL
                    .iter()
                    .for_each(|effect| header.extend(names().map(|name| name.replace("<effect>", effect.word())))),
                Repeat::RuleSets => facts
                    .compared_rules
                    .iter()
                    .for_each(|set| header.extend(names().map(|name| name.replace("<rule_set>", &set.name)))),
                Repeat::ImperialRings if !rules.imperial => {}
                Repeat::Rings | Repeat::ImperialRings => rules.rings.iter().for_each(|ring| {
                    header.extend(names().map(|name| name.replace("<ring>", &ring.replace(' ', "_"))))
                }),
            }
        }
        header
    }
}

pub(super) const fn c(name: &'static str, unit: &'static str, meaning: &'static str) -> Column {
    Column { name, unit, meaning }
}

pub(super) const fn once(columns: &'static [Column]) -> Group {
    Group { repeat: Repeat::Once, columns }
}

const FINDINGS: &str = "`untouched`, `minor`, `moderate`, `major`, `trunk_in_work` or `not_assessed`";
pub(super) const PERMIT_ID: Column =
    c("permit_id", "text", "the permit; works without a permit column form one permit named after their file");
pub(super) const TREE_ID: Column =
    c("tree_id", "text", "the tree, as the inventory names it; `file:row` where it has no id");
pub(super) const SPECIES: Column = c("species", "text", "as the inventory writes it");
pub(super) const DIAMETER_CM: Column = c(
    "diameter_cm",
    "cm",
    "trunk diameter at breast height that the rule set made of the stems and that the row was judged at; for a class, the end with the worse finding; empty where not known",
);
pub(super) const HERITAGE_CLASS: Column = c(
    "heritage_class",
    "text",
    "the heritage-size class that the tree reaches, or that it is designated; empty where none",
);
pub(super) const FINDING: Column = c("finding", "text", FINDINGS);
pub(super) const FILE: Column = c("file", "text", "the input, without its folder, with `#layer` where typed");
pub(super) const ROW: Column =
    c("row", "count", "the record's place in its file, from 1: the line in a CSV, the number of the feature elsewhere");

/// The columns that begin (after the permit) every table of measures.
const MEASURES: Group = once(&[
    TREE_ID,
    SPECIES,
    DIAMETER_CM,
    HERITAGE_CLASS,
    c("zone_radius_m", "m", "radius of the root zone as used"),
    c("zone_area_m2", "m2", "area of the root zone as used"),
    c("overlap_m2", "m2", "part of the zone under the counted works of the permit, which are unioned first"),
    c("overlap_pct", "% of zone_area_m2", "the same as a share"),
    c(
        "severed_m2",
        "m2",
        "part of the zone whose straight line to the trunk centre meets a severing work, the cut included; a straight-line model: common sense, no source",
    ),
    c("severed_pct", "% of zone_area_m2", "the same as a share"),
    c("affected_m2", "m2", "overlap and severed together"),
    c("affected_pct", "% of zone_area_m2", "the same as a share"),
    c("distance_m", "m", "from the trunk centre to the edge of the nearest counted work; 0 inside it"),
    c("nearest_kind", "text", "kind of that work"),
    FINDING,
    c("clause", "text", "the clause of the rule set that decided, with its source"),
    c(
        "measure",
        "text",
        "what it measures: `overlap`, `severed`, `affected`, `distance` or `trunk`, with the effects where not all count",
    ),
    c("value", "% or m", "the measured value as judged: percent, or metres for `distance` and `trunk`"),
    c("limit", "text", "the limit that it was held against"),
    c("denominator", "text", "what a percentage is a share of"),
    c(
        "borderline",
        "text",
        "empty, or what changes the finding: `place` (moved by its error), `diameter` (by its rounding), `place+diameter`",
    ),
]);

const IMPERIAL: Group = Group {
    repeat: Repeat::Imperial,
    columns: &[
        c("diameter_in", "in", "`diameter_cm` in inches"),
        c("zone_radius_ft", "ft", "`zone_radius_m` in international feet"),
        c("zone_area_sqft", "sq ft", "`zone_area_m2` in square feet"),
        c("overlap_sqft", "sq ft", "`overlap_m2` in square feet"),
        c("severed_sqft", "sq ft", "`severed_m2` in square feet"),
        c("affected_sqft", "sq ft", "`affected_m2` in square feet"),
        c("distance_ft", "ft", "`distance_m` in international feet"),
    ],
};

const DETAILS: Group = once(&[
    c(
        "diameter_range_cm",
        "cm",
        "for a diameter class both ends, `17.78-30.48`; for a class without an upper end `at least 78.74`",
    ),
    c("other_end_finding", "text", "for a class, the finding at the end that was not used"),
    c(
        "distance_from_trunk_face_m",
        "m",
        "`distance_m` less half the diameter, at least 0: for codes that measure from the trunk's face",
    ),
    c(
        "trunk_distance_m",
        "m",
        "from the trunk centre to the nearest work that occupies, cuts or fills; below 0 inside one, by the depth from its edge; empty where none is in reach",
    ),
    c(
        "severing_distance_m",
        "m",
        "from the trunk centre to the nearest work that severs roots; empty where none is in reach",
    ),
]);

const EFFECTS: Group = Group {
    repeat: Repeat::Effects,
    columns: &[c(
        "overlap_<effect>_m2",
        "m2",
        "part of the zone under works with this effect (`occupy`, `cut`, `seal`, `fill`, `compact`, `bore`); effects do not add up",
    )],
};

const RINGS: Group = Group {
    repeat: Repeat::Rings,
    columns: &[
        c("<ring>_radius_m", "m", "radius of the ring"),
        c("<ring>_overlap_m2", "m2", "part of the ring under the counted works"),
        c("<ring>_overlap_pct", "% of the ring", "the same as a share"),
        c("<ring>_cut_m2", "m2", "part of the ring under works that cut"),
        c(
            "<ring>_new_overlap_m2",
            "m2",
            "part of the ring under counted works on ground without an existing surface; empty where no surfaces are given",
        ),
    ],
};

const TREE_FACTS: Group = once(&[
    c("nearest_work_id", "text", "the work that `distance_m` and `nearest_kind` speak of"),
    c("warnings", "text", "warning codes, joined with `;` (listed below)"),
    c("disposition", "text", "`retain`, `remove`, `relocate` or `off site`, where given"),
    c("condition", "text", "as the inventory writes it"),
    c("owner", "text", "as the inventory writes it"),
    c("sentence", "text", "the finding as a plain sentence, numbers rounded for reading"),
]);

pub(super) const PERMIT_STATUS: Group = once(&[c(
    "permit_status",
    "text",
    "status of the permit as written; of each permit, joined with `; `, where several act together",
)]);

pub(super) const TREE_SOURCE: Group = once(&[
    c("tree_file", "text", "the inventory, without its folder"),
    c("tree_row", "count", "the tree's row in it, from 1"),
]);

pub(super) const SPECIES_MATCH: Group = once(&[
    c(
        "species_match",
        "text",
        "the accepted scientific name that `species` (or the common name) was matched to; the genus alone where no more is certain; empty where nothing is",
    ),
    c(
        "species_certainty",
        "text",
        "how: `exact`, `synonym`, `common name`, `cultivar` (passed over), `spelling` (one letter off), `genus` (alone) or `unmatched`",
    ),
]);

/// What of the overlap is new, what stays, and what is promised.
const OVERLAP_PARTS: Group = once(&[
    c("surfaced_m2", "m2", "part of the root zone under existing surfaces; empty where none are given (`--surfaces`)"),
    c(
        "new_overlap_m2",
        "m2",
        "part of the overlap on ground without an existing surface; empty where no surfaces are given",
    ),
    c("new_overlap_pct", "% of zone_area_m2", "the same as a share"),
    c("temporary_m2", "m2", "part of the zone under counted works that go with the job"),
    c(
        "permanent_m2",
        "m2",
        "part of the zone under counted works that stay; where both lie on one another both areas have it",
    ),
    c(
        "mitigation",
        "text",
        "what the application states for works of the permit in reach: `mats`, `no-dig`, `air-excavation`, `hand-digging`, `piers`, joined with `; `",
    ),
    c(
        "mitigation_accepted",
        "text",
        "of these, what the rule set accepts: it changes what the works do to roots, and the finding holds only while it is carried out",
    ),
]);

/// `tables/overlaps.csv`.
pub const OVERLAPS: Table = Table {
    file: "tables/overlaps.csv",
    rows: "One row per permit and tree, ordered by permit_id, then tree_id, then the tree's file and row.",
    groups: &[
        once(&[PERMIT_ID]),
        MEASURES,
        IMPERIAL,
        DETAILS,
        EFFECTS,
        RINGS,
        TREE_FACTS,
        PERMIT_STATUS,
        TREE_SOURCE,
        SPECIES_MATCH,
        OVERLAP_PARTS,
        once(&[c(
            "protected_class",
            "text",
            "the class of protected trees that the tree reaches; empty where none, or where the rule set names none",
        )]),
        UNSHAPED,
    ],
};

/// `tables/heritage_at_risk.csv`.
pub const HERITAGE_AT_RISK: Table = Table {
    file: "tables/heritage_at_risk.csv",
    rows: "One row per permit and heritage-size tree at risk, worst first: finding, then affected share, then diameter, then id.",
    groups: &[
        once(&[c(
            "permit_id",
            "text",
            "the permit; `(together)` for a tree that no permit puts at risk alone and all of them together do",
        )]),
        MEASURES,
        IMPERIAL,
        once(&[c("together_permit_ids", "text", "for `(together)`, the permits, joined with `; `")]),
        DETAILS,
        EFFECTS,
        RINGS,
        TREE_FACTS,
        PERMIT_STATUS,
        TREE_SOURCE,
        SPECIES_MATCH,
        OVERLAP_PARTS,
        UNSHAPED,
    ],
};

/// `tables/cumulative.csv`.
pub const CUMULATIVE: Table = Table {
    file: "tables/cumulative.csv",
    rows: "One row per tree that more than one active permit touches, ordered by tree_id, then the tree's file and row; the measures are those of all these permits together.",
    groups: &[
        once(&[
            c("permit_ids", "text", "the permits, in order, joined with `; `"),
            c("permits", "count", "how many they are"),
        ]),
        MEASURES,
        IMPERIAL,
        once(&[
            c("worst_alone_finding", "text", "the worst finding under these permits one by one"),
            c("at_risk_only_together", "yes/no", "heritage-size, at risk together, and under none of them alone"),
        ]),
        DETAILS,
        EFFECTS,
        RINGS,
        TREE_FACTS,
        PERMIT_STATUS,
        TREE_SOURCE,
        SPECIES_MATCH,
        OVERLAP_PARTS,
        UNSHAPED,
    ],
};

/// `tables/permits.csv`.
pub const PERMITS: Table = Table {
    file: "tables/permits.csv",
    rows: "One row per permit, ordered by permit_id.",
    groups: &[
        once(&[
            PERMIT_ID,
            c("status", "text", "as written"),
            c("date", "text", "as written"),
            c(
                "active",
                "yes/no",
                "`no` where the status says withdrawn, denied, refused or expired: left out of cumulative.csv only",
            ),
            c("works", "count", "its works that were measured"),
            c(
                "works_set_aside",
                "count",
                "its works that could not be used, listed in set_aside.csv: the permit does more than was measured",
            ),
            c("trees_in_reach", "count", "its rows in overlaps.csv"),
            c("trunk_in_work", "count", "trees with this finding"),
            c("major", "count", "trees with this finding"),
            c("moderate", "count", "trees with this finding"),
            c("minor", "count", "trees with this finding"),
            c("untouched", "count", "trees with this finding"),
            c(
                "not_assessed",
                "count",
                "trees without a usable diameter, or that could not be judged: look at them on site",
            ),
            c(
                "borderline",
                "count",
                "trees whose finding changes with the error of their place or the rounding of their diameter",
            ),
            c(
                "cut_close_to_trunk",
                "count",
                "trees with the warning `qualified_arborist_before_cutting`, whatever their finding",
            ),
            c("heritage_size", "count", "heritage-size trees in reach"),
            c("heritage_at_risk", "count", "heritage-size trees with the finding `major` or `trunk_in_work`"),
            c("worst_finding", "text", "the worst finding; empty where no tree is in reach"),
            c(
                "worst_tree_id",
                "text",
                "the tree that has it (then the largest affected share, then the largest diameter, then by id)",
            ),
            c("worst_affected_pct", "%", "affected share of that tree's root zone"),
            c(
                "heritage_at_risk_together",
                "count",
                "as heritage_at_risk, with those that are so together with other permits in force (counted as in worst_finding_together): the index of the sheets sorts by this first",
            ),
            c(
                "worst_finding_together",
                "text",
                "as worst_finding, or what is found together with other permits where that is worse: not where the permit's works do nothing to the tree, nor where the trunk stands in works of others",
            ),
        ]),
        PERMIT_TREES,
        PERMIT_TREES_IMPERIAL,
        PERMIT_MONEY,
    ],
};

/// `tables/set_aside.csv`.
pub const SET_ASIDE: Table = Table {
    file: "tables/set_aside.csv",
    rows: "One row per problem of a record, ordered by file, then row.",
    groups: &[once(&[
        FILE,
        ROW,
        c("id", "text", "the record's own id, where it has one"),
        c("problem", "text", "problem code (listed below)"),
        c("outcome", "text", "`set aside` (not used) or `used` (after a repair, or with a caution)"),
        c("detail", "text", "what was found, what was done, what a person can do"),
    ])],
};

/// All tables and layers, in the order of the contract.
pub const TABLES: [Table; 22] = [
    TREES_LAYER,
    ROOT_ZONES_LAYER,
    OVERLAPS_LAYER,
    WORKS_LAYER,
    OVERLAPS,
    HERITAGE_AT_RISK,
    PERMITS,
    CUMULATIVE,
    REPLACEMENT,
    SET_ASIDE,
    SIDE_BY_SIDE,
    RULE_DIFFERENCES,
    FENCES_LAYER,
    GROUND_COVER_LAYER,
    SERVICE_LINES_LAYER,
    FENCES,
    GROUND_COVER,
    SERVICES,
    WATER,
    WATER_DAYS,
    CALENDAR,
    MATERIALS,
];
