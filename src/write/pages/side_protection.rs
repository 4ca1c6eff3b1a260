//! What protects the trees that stay -> the tables of a sheet or a plan: fences, ground cover, service lines, water, calendar, materials.

use super::advice;
use super::amounts::{Amounts, grouped, trimmed};
use super::plain_text::visible;
use super::side_tables::{self, PlainTable, table, tree_list, tree_numbers};
use super::site::Site;
use super::tree_rows::finding_word;
use super::words::Words;
use crate::model::protection::{Fence, Protection};
use crate::model::rows::RowHead;
use crate::model::service::{ServiceLine, TreeShift};
use crate::model::upkeep::{Dimension, Item, Quantity, Recurrence, UpkeepRun, WaterNeed};
use crate::write::services::met;
use crate::write::upkeep_materials::costs;
use serde::Serialize;
use std::collections::BTreeSet;

/// A table with its heading.
#[derive(Serialize)]
pub struct Part {
    /// For links and labels.
    id: &'static str,
    heading: String,
    caption: String,
    table: PlainTable,
    /// Where its values come from, with the status of each source.
    origins: String,
}

/// All parts that have rows; none where protection was not asked for.
pub fn parts(site: &Site, amounts: Amounts, words: &Words) -> Vec<Part> {
    let Some(protection) = site.protection else { return Vec::new() };
    let part = |id: &'static str, table: PlainTable| Part {
        id,
        heading: words.get("sheet", id).to_string(),
        caption: words.get("sheet", &format!("{id}_caption")).to_string(),
        table: table.without_empty_columns(),
        origins: origins(id, site, protection, words),
    };
    let mut parts = vec![
        part("fences", side_tables::fences(site, amounts, words)),
        part("unfenced", unfenced(site, protection, amounts, words)),
        part("covers", side_tables::covers(site, amounts, words)),
        part("services", services(site, protection, amounts, words)),
    ];
    if let Some(run) = &site.view.results.upkeep {
        parts.push(part("water", water(site, protection, run, amounts, words)));
        parts.push(part("watering", watering(run, protection, words)));
        parts.push(part("calendar", calendar(site, protection, run, words)));
        parts.push(part("materials", materials(protection, run, amounts, words)));
    }
    parts.retain(|part| !part.table.rows.is_empty());
    parts
}

/// The sources of a table's values, each once.
fn origins(id: &str, site: &Site, protection: &Protection, words: &Words) -> String {
    let mut told: Vec<String> = match id {
        "fences" => {
            let of_fence = |fence: &Fence| {
                let [height, posts] = fence.origins.each_ref().map(|origin| words.said(origin).into_owned());
                words.fill("sheet", "fence_origins", &[("height", &height), ("posts", &posts)])
            };
            protection.fences.iter().map(of_fence).collect()
        }
        "covers" => protection.covers.iter().map(|cover| words.said(&cover.clause).into_owned()).collect(),
        "calendar" => {
            let Some(run) = &site.view.results.upkeep else { return String::new() };
            let rules = protection.upkeep.steps.iter().filter_map(|step| run.steps.get(step.rule as usize));
            rules.map(|rule| words.said(&rule.origin).into_owned()).collect()
        }
        "materials" => return [without_measures(site, words), shared(site, words)].join(" ").trim().to_string(),
        _ => Vec::new(),
    };
    let mut seen = BTreeSet::new();
    told.retain(|origin| !origin.is_empty() && seen.insert(origin.clone()));
    match told.is_empty() {
        true => String::new(),
        false => words.fill("sheet", "origins", &[("origins", &visible(&told.join("; ")))]),
    }
}

/// The trees that other permits in force count as well, with those permits.
fn shared(site: &Site, words: &Words) -> String {
    let view = site.view;
    let mut told = Vec::new();
    let all = view.results.protection.as_deref().unwrap_or_default();
    for tree in site.protection.iter().flat_map(|own| own.upkeep.watered()) {
        let others = view.rows_of_tree(tree).filter(|other| other.permit != site.permit && view.permit(*other).active);
        let waters = |other: &&RowHead| {
            all.get(other.permit as usize).is_some_and(|of| of.upkeep.watered().any(|one| one == tree))
        };
        let others: Vec<&str> = others.filter(waters).map(|other| view.permit(other).id.as_str()).collect();
        if !others.is_empty() {
            told.push(format!("{}: {}", tree_list(site, &[tree]), visible(&others.join(", "))));
        }
    }
    match told.is_empty() {
        true => String::new(),
        false => words.fill("sheet", "materials_shared", &[("trees", &told.join("; "))]),
    }
}

/// The trees of which nothing is counted, since their trunks were not measured.
fn without_measures(site: &Site, words: &Words) -> String {
    let unknown = site.rows.iter().filter(|row| row.zone.is_none() && advice::goes(row, site.tree(row)).is_none());
    let trees: Vec<u32> = unknown.map(|row| row.tree).collect();
    match trees[..] {
        [] => String::new(),
        _ => words.fill("sheet", "materials_without", &[("trees", &tree_list(site, &trees))]),
    }
}

fn unfenced(site: &Site, protection: &Protection, amounts: Amounts, words: &Words) -> PlainTable {
    let mut found = table(words, &["tree", "reason", "instead"]);
    let row = |one: &crate::model::protection::Unfenced| {
        let [reason, advice] = [&one.reason, &one.advice].map(|text| amounts.with_feet(&visible(&words.said(text))));
        vec![tree_list(site, &[one.tree]), reason, advice]
    };
    found.rows.extend(protection.unfenced.iter().map(row));
    found
}

fn services(site: &Site, protection: &Protection, amounts: Amounts, words: &Words) -> PlainTable {
    let mut found = table(words, &["work", "tree", "centre_line", "in_zone", "advice", "reason", "move"]);
    for line in &protection.services {
        let Some(work) = site.view.results.works.get(line.work as usize) else { continue };
        let label = site.label(line.work).map_or_else(String::new, |label| format!(" ({label})"));
        let name = format!("{}{label}", visible(&work.id));
        for tree in &line.trees {
            let shift = tree.advised.map_or_else(String::new, |advised| moved(site, line, advised, amounts, words));
            found.rows.push(vec![
                name.clone(),
                tree_list(site, &[tree.tree]),
                amounts.length(tree.centre_line_m),
                tree.zone_length_m.map_or_else(String::new, |length_m| amounts.length(length_m)),
                words.said(tree.advice.words()).into_owned(),
                amounts.with_feet(&visible(&words.said(&tree.reason))),
                shift,
            ]);
        }
    }
    found
}

/// How a line would move for a tree, how the tree then stands, and what the line meets there.
fn moved(site: &Site, line: &ServiceLine, advised: TreeShift, amounts: Amounts, words: &Words) -> String {
    let bearing = trimmed(advised.shift.bearing_deg, 0);
    let distance = amounts.at_least_in_both(advised.shift.distance_m);
    let finding = finding_word(advised.after.verdict, words);
    let values = [("length", &*distance), ("bearing", &bearing), ("finding", finding)];
    let mut said = words.fill("sheet", "move_by", &values);
    let met = line.moved.as_ref().map_or_else(String::new, |moved| met(site.view, moved));
    if !met.is_empty() {
        said.push(' ');
        said.push_str(&words.fill("sheet", "move_meets", &[("works", &visible(&met))]));
    }
    said
}

fn need_word(need: WaterNeed, words: &Words) -> &str {
    words.get(
        "sheet",
        match need {
            WaterNeed::Usual => "water_usual",
            WaterNeed::DrySummer => "water_dry_summer",
        },
    )
}

fn water(site: &Site, protection: &Protection, run: &UpkeepRun, amounts: Amounts, words: &Words) -> PlainTable {
    let mut found = table(words, &["tree", "schedule", "open_ground", "own_ground", "sprinklers"]);
    let per_hour = |places: u32| {
        let litres = 60.0 * run.flow_l_per_min * f64::from(places);
        words.fill("sheet", "sprinkler_places", &[("count", &places.to_string()), ("volume", &amounts.water(litres))])
    };
    for tree in &protection.upkeep.water {
        let ground = tree.ground.as_ref();
        found.rows.push(vec![
            tree_list(site, &[tree.tree]),
            need_word(tree.need, words).to_string(),
            ground.map_or_else(String::new, |ground| amounts.area(ground.open_m2)),
            ground.map_or_else(String::new, |ground| amounts.area(ground.own_m2)),
            ground.map_or_else(String::new, |ground| per_hour(ground.places)),
        ]);
    }
    found
}

/// The schedules that trees of this permit follow.
fn watering(run: &UpkeepRun, protection: &Protection, words: &Words) -> PlainTable {
    let mut found = table(words, &["schedule", "season", "dates", "how_often", "instruction"]);
    for need in [WaterNeed::Usual, WaterNeed::DrySummer] {
        if !protection.upkeep.water.iter().any(|tree| tree.need == need) {
            continue;
        }
        for stretch in &run.schedules[need as usize] {
            let often = stretch.every.map_or_else(String::new, |(days, hours)| {
                let values = [("days", days.to_string()), ("hours", trimmed(hours, 1))];
                words.fill("sheet", "every", &[("days", &values[0].1), ("hours", &values[1].1)])
            });
            found.rows.push(vec![
                need_word(need, words).to_string(),
                words.said(stretch.season.word()).into_owned(),
                stretch.days.map_or_else(String::new, |(first, last)| format!("{first} – {last}")),
                often,
                words.said(stretch.instruction).into_owned(),
            ]);
        }
    }
    found
}

fn calendar(site: &Site, protection: &Protection, run: &UpkeepRun, words: &Words) -> PlainTable {
    let mut found = table(words, &["step", "dates", "what", "who", "step_trees", "holds_up"]);
    for step in &protection.upkeep.steps {
        let Some(rule) = run.steps.get(step.rule as usize) else { continue };
        let dates = match (&step.dates[..], rule.recurrence) {
            ([], Recurrence::Standing) => words.get("sheet", "standing").to_string(),
            ([], Recurrence::Water) => words.get("sheet", "as_watering").to_string(),
            ([], _) => {
                let values = [("day", rule.day.to_string()), ("anchor", words.said(rule.anchor.word()).into_owned())];
                words.fill("sheet", "day_of", &[("day", &values[0].1), ("anchor", &values[1].1)])
            }
            ([one], _) => one.to_string(),
            ([first, .., last], _) => {
                let values = [first.to_string(), last.to_string(), step.dates.len().to_string()];
                words.fill("sheet", "times", &[("first", &values[0]), ("last", &values[1]), ("count", &values[2])])
            }
        };
        let said = |text: &str| visible(&words.said(text)).into_owned();
        let mut cells = vec![said(&rule.name), dates, said(&rule.what), said(&rule.who)];
        cells.push(tree_numbers(site, &step.trees));
        cells.push(said(&rule.holds_up));
        found.rows.push(cells);
    }
    found
}

fn materials(protection: &Protection, run: &UpkeepRun, amounts: Amounts, words: &Words) -> PlainTable {
    let mut found = table(words, &["item", "amount", "least_amount", "cost"]);
    for quantity in &protection.upkeep.quantities {
        let least = quantity.least_thousandths.map_or_else(String::new, |least| amount(quantity.item, least, amounts));
        found.rows.push(vec![
            words.said(quantity.item.word()).into_owned(),
            amount(quantity.item, quantity.thousandths, amounts),
            least,
            cost(quantity, run),
        ]);
    }
    let (by_currency, unpriced) = costs(&protection.upkeep.quantities, run);
    for (currency, hundredths) in by_currency {
        let mut item = words.get("sheet", "total").to_string();
        if !unpriced.is_empty() {
            let items: Vec<_> = unpriced.iter().map(|item| words.said(item)).collect();
            item = words.fill("sheet", "total_without", &[("items", &items.join(", "))]);
        }
        found.rows.push(vec![item, String::new(), String::new(), money(hundredths, currency)]);
    }
    found
}

fn amount(item: Item, thousandths: i64, amounts: Amounts) -> String {
    let value = thousandths as f64 / 1000.0;
    match (item, item.dimension()) {
        (Item::Water, _) => amounts.water(value),
        (_, Dimension::Length) => amounts.length(value),
        (_, Dimension::Area) => amounts.area(value),
        (_, Dimension::Volume) => amounts.volume(value),
        (_, Dimension::Count) => trimmed(value, 0),
    }
}

fn cost(quantity: &Quantity, run: &UpkeepRun) -> String {
    let priced = quantity.cost_hundredths.zip(run.price(quantity.item));
    priced.map_or_else(String::new, |(hundredths, price)| money(hundredths, &price.currency))
}

fn money(hundredths: i128, currency: &str) -> String {
    let whole = grouped(&(hundredths / 100).to_string());
    format!("{whole}.{:02} {}", hundredths.rem_euclid(100), visible(currency))
}
