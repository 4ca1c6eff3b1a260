//! Fences and ground cover -> two tables and two layers.

use super::cells::Properties;
use super::columns_fences::{FENCES, FENCES_LAYER, GROUND_COVER, GROUND_COVER_LAYER};
use super::feature::Shape;
use super::layer_files::LayerFiles;
use super::layers::write_layer;
use super::measures::{AREA_DECIMALS, DISTANCE_DECIMALS};
use super::number::fixed;
use super::sheet::Sheet;
use super::staging::Staging;
use super::tables::write_table;
use super::view::View;
use crate::error::Result;
use crate::model::protection::{Cover, Fence, Protection, Unfenced};
use crate::model::work::Permit;
use crate::settings::Layer;
use crate::units::{CUBIC_METRES_PER_CUBIC_YARD, METRES_PER_FOOT, METRES_PER_INCH, SQUARE_METRES_PER_SQUARE_FOOT};
use geo::MultiPolygon;

/// Decimals of depths in cm and in.
const DEPTH_DECIMALS: u32 = 2;
/// Decimals of volumes.
const VOLUME_DECIMALS: u32 = 3;

/// One row of fences: a fence with its number, or a tree without one.
struct FenceRow<'a> {
    permit: &'a Permit,
    fence: Option<(u64, &'a Fence)>,
    without: Option<&'a Unfenced>,
}

/// One cover of a permit.
struct CoverRow<'a> {
    permit: &'a Permit,
    cover: &'a Cover,
}

/// Writes both tables; nothing where protection was not asked for.
pub fn write_fence_tables(view: &View, staging: &mut Staging) -> Result<()> {
    if view.results.protection.is_none() {
        return Ok(());
    }
    write_table(&FENCES, view, &fence_rows(view), staging, |sheet, row| fence_cells(sheet, view, row))?;
    write_table(&GROUND_COVER, view, &cover_rows(view), staging, |sheet, row| cover_cells(sheet, view, row))
}

/// Writes one of the two layers; nothing where protection was not asked for.
pub fn write_protection_layer(layer: Layer, view: &View, files: &mut LayerFiles) -> Result<()> {
    if layer == Layer::Fences {
        let shape = |row: &FenceRow| {
            Shape::Polygons(MultiPolygon(row.fence.iter().map(|(_, fence)| fence.shape.clone()).collect()))
        };
        return write_layer(&FENCES_LAYER, &fence_rows(view), files, shape, |row, properties| {
            fence_properties(properties, view, row);
        });
    }
    let rows = cover_rows(view);
    let same = |a: &CoverRow, b: &CoverRow| {
        let key = |row: &CoverRow| (row.cover.place, row.cover.traffic);
        std::ptr::eq(a.permit, b.permit) && key(a) == key(b)
    };
    let stretches: Vec<&[CoverRow]> = rows.chunk_by(same).collect();
    let shape = |stretch: &&[CoverRow]| Shape::Polygons(stretch[0].cover.shape.clone());
    write_layer(&GROUND_COVER_LAYER, &stretches, files, shape, |stretch, properties| {
        let lowest = stretch[0].cover;
        properties.text("permit_id", &stretch[0].permit.id);
        properties.text("place", lowest.place.word());
        properties.text("traffic", lowest.traffic.map_or("", |traffic| traffic.word()));
        let cover: Vec<String> = stretch.iter().map(|row| cover_words(row.cover, view.facts.rules.imperial)).collect();
        properties.text("cover", &cover.join("; "));
        properties.number("area_m2", Some(lowest.area_m2), AREA_DECIMALS);
        properties.yes_no("to_be_engineered", lowest.to_be_engineered);
    })
}

/// What lies there in words: `mulch 2-4 in`.
fn cover_words(cover: &Cover, imperial: bool) -> String {
    let Some((least_m, most_m)) = cover.depth_m else { return cover.material.to_string() };
    let (unit, metres) = if imperial { ("in", METRES_PER_INCH) } else { ("cm", 0.01) };
    let short = |depth_m: f64| {
        let text = fixed(depth_m / metres, 1);
        text.strip_suffix(".0").map_or(text.clone(), str::to_string)
    };
    match least_m < most_m {
        true => format!("{} {}-{} {unit}", cover.material, short(least_m), short(most_m)),
        false => format!("{} {} {unit}", cover.material, short(most_m)),
    }
}

/// Permits with their protection, ordered by id.
fn by_permit<'a>(view: &View<'a>) -> Vec<(&'a Permit, &'a Protection)> {
    let all = view.results.protection.as_deref().unwrap_or_default();
    let mut pairs: Vec<_> = view.results.permits.iter().zip(all).collect();
    pairs.sort_by(|(a, _), (b, _)| a.id.cmp(&b.id));
    pairs
}

fn fence_rows<'a>(view: &View<'a>) -> Vec<FenceRow<'a>> {
    let mut rows = Vec::new();
    for (permit, protection) in by_permit(view) {
        let fences = (1..).zip(&protection.fences);
        rows.extend(fences.map(|fence| FenceRow { permit, fence: Some(fence), without: None }));
        rows.extend(protection.unfenced.iter().map(|one| FenceRow { permit, fence: None, without: Some(one) }));
    }
    rows
}

fn cover_rows<'a>(view: &View<'a>) -> Vec<CoverRow<'a>> {
    let of = |(permit, protection): (&'a Permit, &'a Protection)| {
        protection.covers.iter().map(move |cover| CoverRow { permit, cover })
    };
    by_permit(view).into_iter().flat_map(of).collect()
}

impl FenceRow<'_> {
    fn tree_ids(&self, view: &View) -> String {
        let fenced = self.fence.iter().flat_map(|(_, fence)| fence.trees.iter().copied());
        joined(view, fenced.chain(self.without.iter().map(|one| one.tree)))
    }

    fn warnings(&self) -> String {
        self.fence.map_or_else(String::new, |(_, fence)| fence.warnings.join("; "))
    }
}

fn joined(view: &View, trees: impl Iterator<Item = u32>) -> String {
    trees.map(|tree| view.results.trees[tree as usize].id.as_str()).collect::<Vec<_>>().join("; ")
}

fn fence_cells(sheet: &mut Sheet, view: &View, row: &FenceRow) {
    let fence = row.fence.map(|(_, fence)| fence);
    let metres = |of: fn(&Fence) -> f64| fence.map(of);
    let count = |sheet: &mut Sheet, column: &str, count: Option<u64>| match count {
        Some(count) => sheet.whole(column, count),
        None => sheet.text(column, ""),
    };
    let whole = |of: fn(&Fence) -> u32| fence.map(|fence| u64::from(of(fence)));
    sheet.text("permit_id", &row.permit.id);
    count(sheet, "fence", row.fence.map(|(number, _)| number));
    sheet.text("tree_ids", &row.tree_ids(view));
    count(sheet, "trees", Some(fence.map_or(1, |fence| fence.trees.len() as u64)));
    sheet.text("specification", fence.map_or("", |fence| &fence.specification));
    sheet.number("height_m", metres(|fence| fence.height_m), DISTANCE_DECIMALS);
    sheet.number("length_m", metres(|fence| fence.length_m), DISTANCE_DECIMALS);
    sheet.number("area_m2", metres(|fence| fence.area_m2), AREA_DECIMALS);
    let imperial = view.facts.rules.imperial;
    if imperial {
        sheet.number("height_ft", metres(|fence| fence.height_m / METRES_PER_FOOT), DISTANCE_DECIMALS);
        sheet.number("length_ft", metres(|fence| fence.length_m / METRES_PER_FOOT), DISTANCE_DECIMALS);
        sheet.number("area_sqft", metres(|fence| fence.area_m2 / SQUARE_METRES_PER_SQUARE_FOOT), AREA_DECIMALS);
    }
    count(sheet, "posts", whole(|fence| fence.posts));
    count(sheet, "panels", whole(|fence| fence.panels));
    count(sheet, "signs", whole(|fence| fence.signs));
    count(sheet, "gates", whole(|fence| fence.gates));
    sheet.number("trunk_distance_m", metres(|fence| fence.trunk_distance_m), DISTANCE_DECIMALS);
    if imperial {
        sheet.number("trunk_distance_ft", metres(|fence| fence.trunk_distance_m / METRES_PER_FOOT), DISTANCE_DECIMALS);
    }
    sheet.text("nearest_tree_id", &joined(view, fence.map(|fence| fence.nearest_tree).into_iter()));
    sheet.text("inside_ring_tree_ids", &joined(view, fence.iter().flat_map(|fence| fence.inside_ring.iter().copied())));
    sheet.text("warnings", &row.warnings());
    sheet.text("reason", row.without.map_or("", |one| &one.reason));
    sheet.text("advice", row.without.map_or("", |one| &one.advice));
    sheet.text("permit_status", &row.permit.status);
}

fn fence_properties(properties: &mut Properties, view: &View, row: &FenceRow) {
    let fence = row.fence.map(|(_, fence)| fence);
    properties.text("permit_id", &row.permit.id);
    match row.fence {
        Some((number, _)) => properties.whole("fence", number),
        None => properties.text("fence", ""),
    }
    properties.text("tree_ids", &row.tree_ids(view));
    properties.text("specification", fence.map_or("", |fence| &fence.specification));
    properties.number("length_m", fence.map(|fence| fence.length_m), DISTANCE_DECIMALS);
    properties.number("area_m2", fence.map(|fence| fence.area_m2), AREA_DECIMALS);
    properties.number("trunk_distance_m", fence.map(|fence| fence.trunk_distance_m), DISTANCE_DECIMALS);
    properties.text("warnings", &row.warnings());
    properties.text("reason", row.without.map_or("", |one| &one.reason));
}

fn cover_cells(sheet: &mut Sheet, view: &View, CoverRow { permit, cover }: &CoverRow) {
    let depth = |most: bool| cover.depth_m.map(|(least_m, most_m)| if most { most_m } else { least_m });
    let volume = |most: bool| depth(most).map(|depth_m| depth_m * cover.area_m2);
    sheet.text("permit_id", &permit.id);
    sheet.text("place", cover.place.word());
    sheet.text("traffic", cover.traffic.map_or("", |traffic| traffic.word()));
    sheet.text("material", cover.material);
    sheet.number("area_m2", Some(cover.area_m2), AREA_DECIMALS);
    sheet.number("depth_least_cm", depth(false).map(|m| m * 100.0), DEPTH_DECIMALS);
    sheet.number("depth_most_cm", depth(true).map(|m| m * 100.0), DEPTH_DECIMALS);
    sheet.number("volume_least_m3", volume(false), VOLUME_DECIMALS);
    sheet.number("volume_most_m3", volume(true), VOLUME_DECIMALS);
    if view.facts.rules.imperial {
        sheet.number("area_sqft", Some(cover.area_m2 / SQUARE_METRES_PER_SQUARE_FOOT), AREA_DECIMALS);
        sheet.number("depth_least_in", depth(false).map(|m| m / METRES_PER_INCH), DEPTH_DECIMALS);
        sheet.number("depth_most_in", depth(true).map(|m| m / METRES_PER_INCH), DEPTH_DECIMALS);
        sheet.number("volume_least_cuyd", volume(false).map(|m| m / CUBIC_METRES_PER_CUBIC_YARD), VOLUME_DECIMALS);
        sheet.number("volume_most_cuyd", volume(true).map(|m| m / CUBIC_METRES_PER_CUBIC_YARD), VOLUME_DECIMALS);
    }
    sheet.yes_no("to_be_engineered", cover.to_be_engineered);
    sheet.text("clause", &cover.clause);
    sheet.text("permit_status", &permit.status);
}
