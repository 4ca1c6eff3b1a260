//! The columns of `water.csv`, `water_days.csv`, `calendar.csv` and `materials.csv`.

use super::columns::{PERMIT_ID, SPECIES, TREE_ID, Table, c, once};

/// `tables/water.csv`.
pub const WATER: Table = Table {
    file: "tables/water.csv",
    rows: "Only with `--protect`. One row per permit, tree that stays and stretch of the job within one season, ordered as overlaps.csv, then by date. Without `--start` and `--end` one row per season, without dates. Lists are joined with `; ` in the order of `dates`; where all of a list are equal it stands once. A tree under two permits has rows under both: water it once.",
    groups: &[once(&[
        PERMIT_ID,
        TREE_ID,
        SPECIES,
        c("season", "text", "`warm`, `cool`, or `all year` between the tropics"),
        c(
            "method",
            "text",
            "`calendar` (intervals of common practice) or `balance` (soil water balance with `--weather`)",
        ),
        c("from", "date", "first day of the stretch"),
        c("to", "date", "last day of it"),
        c(
            "every_days",
            "days",
            "by the calendar: days between two waterings; empty where there is none, or by the balance",
        ),
        c("waterings", "count", "how many there are in the stretch; empty without dates"),
        c("dates", "dates", "the days"),
        c(
            "hours_each_place",
            "h",
            "hours at each sprinkler place, one for each day; without dates the hours of one watering",
        ),
        c("depth_mm", "mm", "water over the ground that is watered with this tree, one for each day"),
        c("litres_each", "L", "the same in litres, one for each day"),
        c("litres", "L", "all of them"),
        c("gallons", "US gal", "the same in US gallons"),
        c("sprinkler_places", "count", "places that a sprinkler is moved to; they reach at least 95 % of the ground"),
        c("throw_m", "m", "how far a sprinkler throws"),
        c("covered_pct", "%", "share of the ground that the places reach, by points on a lattice"),
        c(
            "open_m2",
            "m2",
            "root zone less the counted works of the permit and existing surfaces; empty where the root zone is not known",
        ),
        c(
            "watered_m2",
            "m2",
            "of it, what is watered with this tree: ground in the root zones of several trees of the permit goes with one that stays dry in summer, then with the nearest trunk",
        ),
        c(
            "trunk_litres_per_day",
            "L",
            "to compare: a published rule on the trunk, 2 US gal per inch of diameter for each day between waterings",
        ),
        c(
            "trunk_litres_each",
            "L",
            "to compare: a published rule on the trunk, 10 US gal per inch of diameter every 7 to 10 days",
        ),
        c("instruction", "text", "what to do"),
    ])],
};

/// `tables/water_days.csv`.
pub const WATER_DAYS: Table = Table {
    file: "tables/water_days.csv",
    rows: "Only with `--protect` and `--weather`. The soil water balance: one row per schedule and day of weather, which holds for all trees of that schedule.",
    groups: &[once(&[
        c("schedule", "text", "`usual`, or `dry summer` for species that rot under summer water"),
        c("date", "date", "the day"),
        c("tmin_c", "degC", "lowest temperature"),
        c("tmax_c", "degC", "highest temperature"),
        c("rain_mm", "mm", "rain"),
        c("radiation_mj", "MJ/m2", "radiation at the top of the atmosphere (FAO-56, equation 21)"),
        c("reference_mm", "mm", "reference evaporation (FAO-56, equation 52, Hargreaves)"),
        c("stress", "0 to 1", "water stress factor (FAO-56, equation 84)"),
        c("evaporation_mm", "mm", "evaporation of the trees' ground: reference times crop coefficient times stress"),
        c("water_mm", "mm", "watered in the morning"),
        c("percolation_mm", "mm", "what passed below the root depth"),
        c("top_lacks_mm", "mm", "what the top of the soil lacks to field capacity in the evening"),
        c("root_lacks_mm", "mm", "what the whole root depth lacks in the evening"),
        c(
            "due",
            "text",
            "what asked for water in the morning: `top`, `root depth` or `top and root depth`; empty where nothing did",
        ),
        c(
            "withheld",
            "text",
            "why it was not given: `frozen`, `saturated`, `dry summer`, `before the job`; empty where it was",
        ),
    ])],
};

/// `tables/calendar.csv`.
pub const CALENDAR: Table = Table {
    file: "tables/calendar.csv",
    rows: "Only with `--protect`. One row per permit that has trees that stay and step, ordered by permit_id, then as steps are due.",
    groups: &[once(&[
        PERMIT_ID,
        c("order", "count", "the number of the step under the permit"),
        c("phase", "text", "`before`, `during` or `after` the job"),
        c("step", "text", "name of the step"),
        c("counted_from", "text", "`start` or `end` of the job"),
        c("day", "days", "days after that; before it where negative"),
        c(
            "repeats",
            "text",
            "`once`, `every N days`, `every year, N times`, `as water.csv says` or `whenever it comes up`",
        ),
        c("first", "date", "first date; empty without `--start` and `--end`, and for a step without a date of its own"),
        c("last", "date", "last date"),
        c("times", "count", "how many dates there are; empty without `--start` and `--end`"),
        c("dates", "dates", "all dates, joined with `; `"),
        c("who", "text", "`arborist`, `contractor`, `city`"),
        c("what", "text", "what is to be done"),
        c("holds_up", "text", "what must not begin before it is done; empty where nothing waits"),
        c("trees", "count", "trees that it is about"),
        c("tree_ids", "text", "their ids, joined with `; `"),
        c("origin", "text", "where step and day come from, and how well that is known"),
    ])],
};

/// `tables/materials.csv`.
pub const MATERIALS: Table = Table {
    file: "tables/materials.csv",
    rows: "Only with `--protect`. One row per permit and item that it needs, ordered by permit_id, then by item; with `--prices` a row `total` for each permit and currency. Then the same for all permits in force added up, with permit id `(all)`; a note names those with quantities that are not in force. A fence or a tree under two permits is counted under both.",
    groups: &[once(&[
        PERMIT_ID,
        c(
            "item",
            "text",
            "`fence`, `posts`, `panels`, `signs`, `gates`, `trunk guards`, `mulch`, `compost`, `chips`, `geotextile`, `boards`, `mats`, `water`, `inspections`, `monitoring visits` or `total`",
        ),
        c(
            "quantity",
            "unit",
            "how much to order; of materials with a range of depths, at the greater depth; `inspections` counts days of inspection, the first and the final one included",
        ),
        c("least_quantity", "unit", "at the least depth; empty where there is no range"),
        c("unit", "text", "`m`, `m2`, `m3`, `L` or `each`"),
        c("imperial_quantity", "imperial_unit", "the same in the unit beside it"),
        c("imperial_unit", "text", "`ft`, `sq ft`, `cu yd` or `gal` (US); empty for pieces"),
        c("price", "currency", "as the price file writes it; empty where it has none: nothing is invented"),
        c("price_unit", "text", "the unit that the price is by"),
        c("currency", "text", "as the price file writes it"),
        c("cost", "currency", "price times quantity as printed, to hundredths"),
        c("remark", "text", "`no price` where prices are given, but not for this item; what a total leaves out"),
    ])],
};
