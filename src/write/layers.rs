//! Results -> the four layers, with a style beside each.

use super::chunks::write_in_order;
use super::columns::Table;
use super::columns_layers::{OVERLAPS_LAYER, ROOT_ZONES_LAYER, TREES_LAYER, WORKS_LAYER};
use super::feature::{HEAD, Properties, Shape, TAIL, ToWgs84, features};
use super::measures::{AREA_DECIMALS, DIAMETER_DECIMALS, DISTANCE_DECIMALS, Measured};
use super::nearby::Nearby;
use super::staging::Staging;
use super::view::{PermitView, TreeView, View, worst};
use crate::error::Result;
use crate::model::finding::Verdict;
use crate::model::results::Row;
use crate::model::work::{Mitigations, Work};
use crate::model::zone::Zone;
use crate::settings::Layer;
use geo::{Coord, MultiPolygon, Polygon};
use std::collections::{BTreeSet, HashMap};

/// Outline of a disc (centre, radius in metres), within 1 cm of the true circle.
pub type DiscOutline<'a> = &'a (dyn Fn(Coord<f64>, f64) -> Polygon<f64> + Sync);
/// Outline of the part of a disc (centre, radius in metres) under the union of shapes.
pub type OverlapOutline<'a> = &'a (dyn Fn(&[&MultiPolygon<f64>], Coord<f64>, f64) -> MultiPolygon<f64> + Sync);

/// How shapes are drawn: functions of the geometry and of the projection, handed in so that this stage needs neither.
pub struct Drawing<'a> {
    /// From the measuring CRS to WGS 84.
    pub to_wgs84: ToWgs84<'a>,
    /// Draws zones and rings.
    pub disc_outline: DiscOutline<'a>,
    /// Draws overlaps.
    pub overlap_outline: OverlapOutline<'a>,
    /// Draws what severing works cut off.
    pub severed_outline: OverlapOutline<'a>,
}

/// Writes the chosen layers and their styles.
pub fn write_layers(view: &View, layers: &BTreeSet<Layer>, drawing: &Drawing, staging: &mut Staging) -> Result<()> {
    for &layer in layers {
        match layer {
            Layer::Trees => trees(view, drawing, staging)?,
            Layer::RootZones => root_zones(view, drawing, staging)?,
            Layer::Overlaps => overlaps(view, drawing, staging)?,
            Layer::Works => works(view, drawing, staging)?,
        }
        staging.write(&format!("layers/{}.sld", layer.word()), super::style::style(layer).as_bytes())?;
    }
    Ok(())
}

fn write_layer<T: Sync>(
    table: &Table,
    items: &[T],
    (view, drawing, staging): (&View, &Drawing, &mut Staging),
    shape: impl Fn(&T) -> Shape + Sync,
    properties: impl Fn(&T, &mut Properties) + Sync,
) -> Result<()> {
    let header = table.header(view.facts);
    let mut file = staging.create(table.file)?;
    file.put(HEAD)?;
    // Each feature brings the comma before it; the first must not.
    let (first, rest) = items.split_at(items.len().min(1));
    let text = features(first, &header, drawing.to_wgs84, &shape, &properties)?;
    file.put(text.strip_prefix(b",").unwrap_or(&text))?;
    write_in_order(rest, &mut file, |items| features(items, &header, drawing.to_wgs84, &shape, &properties))?;
    file.put(TAIL)?;
    staging.close(file)
}

fn trees(view: &View, drawing: &Drawing, staging: &mut Staging) -> Result<()> {
    let shape = |of: &TreeView| Shape::Point(of.tree.place);
    write_layer(&TREES_LAYER, &view.trees, (view, drawing, staging), shape, |of, properties| {
        let (tree, row) = (of.tree, of.worst);
        let measured = Measured::of(row);
        let together = of.together.map_or("", |t| t.row.finding.verdict.word());
        properties.text("tree_id", &tree.id);
        properties.text("species", &tree.species);
        properties.number("diameter_cm", row.diameter.used_m().map(|d| d * 100.0), DIAMETER_DECIMALS);
        properties.text("heritage_class", &row.heritage_class);
        properties.text("finding", row.finding.verdict.word());
        properties.text("permit_id", &view.permit(row).id);
        properties.whole("permits", of.permits);
        properties.yes_no("at_risk", row.at_risk());
        properties.text("together_finding", together);
        properties.number("affected_pct", measured.pct(measured.affected_m2()), AREA_DECIMALS);
        properties.text("file", view.label(tree.source));
        properties.whole("row", tree.source.row);
    })
}

/// A zone or one of its rings.
struct Region<'a> {
    of: &'a TreeView<'a>,
    name: &'a str,
    radius_m: f64,
}

/// The zone of a tree, then its rings.
fn regions<'a>(view: &'a View, of: &'a TreeView, zone: &'a Zone) -> impl Iterator<Item = Region<'a>> {
    let rings = zone.rings.iter().map(move |ring| {
        let name = view.facts.rules.rings.get(ring.ring).map_or("", String::as_str);
        Region { of, name, radius_m: ring.radius_m }
    });
    std::iter::once(Region { of, name: "root zone", radius_m: zone.radius_m }).chain(rings).filter(|r| r.radius_m > 0.0)
}

fn root_zones(view: &View, drawing: &Drawing, staging: &mut Staging) -> Result<()> {
    let with_zone = view.trees.iter().filter_map(|of| Some((of, of.worst.zone.as_ref()?)));
    let all: Vec<Region> = with_zone.flat_map(|(of, zone)| regions(view, of, zone)).collect();
    let shape = |region: &Region| Shape::Polygons((drawing.disc_outline)(region.of.tree.place, region.radius_m).into());
    write_layer(&ROOT_ZONES_LAYER, &all, (view, drawing, staging), shape, |region, properties| {
        let row = region.of.worst;
        properties.text("tree_id", &region.of.tree.id);
        properties.text("region", region.name);
        properties.number("radius_m", Some(region.radius_m), DISTANCE_DECIMALS);
        properties.number("area_m2", Some(std::f64::consts::PI * region.radius_m.powi(2)), AREA_DECIMALS);
        properties.text("heritage_class", &row.heritage_class);
        properties.text("finding", row.finding.verdict.word());
        properties.text("permit_id", &view.permit(row).id);
    })
}

fn overlaps(view: &View, drawing: &Drawing, staging: &mut Staging) -> Result<()> {
    let works = &view.results.works;
    let mut of_permit: Vec<Vec<u32>> = vec![Vec::new(); view.results.permits.len()];
    for (index, work) in (0u32..).zip(works) {
        of_permit[work.permit as usize].push(index);
    }
    let nearby: Vec<Nearby> = of_permit.into_iter().map(|indices| Nearby::new(works, indices.into_iter())).collect();
    let shape = |row: &&Row| Shape::Polygons(overlap_shape(view, drawing, &nearby[row.permit as usize], row));
    write_layer(&OVERLAPS_LAYER, &view.rows, (view, drawing, staging), shape, |row, properties| {
        let measured = Measured::of(row);
        properties.text("permit_id", &view.permit(row).id);
        properties.text("tree_id", &view.tree(row).id);
        properties.text("finding", row.finding.verdict.word());
        properties.yes_no("at_risk", row.at_risk());
        properties.number("overlap_m2", measured.overlap_m2(), AREA_DECIMALS);
        properties.number("overlap_pct", measured.pct(measured.overlap_m2()), AREA_DECIMALS);
        properties.number("severed_pct", measured.pct(measured.severed_m2()), AREA_DECIMALS);
        properties.number("affected_pct", measured.pct(measured.affected_m2()), AREA_DECIMALS);
    })
}

fn overlap_shape(view: &View, drawing: &Drawing, nearby: &Nearby, row: &Row) -> MultiPolygon<f64> {
    let Some(zone) = &row.zone else { return MultiPolygon::new(Vec::new()) };
    let centre = view.tree(row).place;
    let shapes: Vec<&MultiPolygon<f64>> = nearby
        .within(centre, zone.radius_m)
        .into_iter()
        .map(|index| &view.results.works[index as usize].shape)
        .collect();
    if shapes.is_empty() {
        MultiPolygon::new(Vec::new())
    } else {
        (drawing.overlap_outline)(&shapes, centre, zone.radius_m)
    }
}

fn works(view: &View, drawing: &Drawing, staging: &mut Staging) -> Result<()> {
    let worst_of = |of: &PermitView| worst(&of.rows).map_or("", |row| Verdict::word(row.finding.verdict));
    let findings: HashMap<&str, &str> = view.permits.iter().map(|of| (of.permit.id.as_str(), worst_of(of))).collect();
    let shape = |work: &&Work| Shape::Polygons(work.shape.clone());
    write_layer(&WORKS_LAYER, &view.works, (view, drawing, staging), shape, |work, properties| {
        let permit = &view.results.permits[work.permit as usize];
        properties.text("permit_id", &permit.id);
        properties.text("work_id", &work.id);
        properties.text("kind", &work.kind);
        properties.text("kind_written", &work.kind_written);
        properties.text("effects", &work.effects.words());
        properties.yes_no("severs", work.severs);
        properties.number("depth_m", work.depth_m, DISTANCE_DECIMALS);
        properties.number("margin_m", Some(work.margin_m), DISTANCE_DECIMALS);
        properties.text("lasting", work.lasting.word());
        properties.text("mitigation", &Mitigations::of(&work.mitigations).words());
        properties.text("mitigation_accepted", &Mitigations::of(&work.accepted).words());
        properties.text("permit_finding", findings.get(permit.id.as_str()).copied().unwrap_or(""));
        properties.text("file", view.label(work.source));
        properties.whole("row", work.source.row);
    })
}

#[cfg(test)]
#[path = "layers_tests.rs"]
mod tests;
