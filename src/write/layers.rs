//! Results -> the layers, with a style beside each; which files they go into is decided in `layer_files`.

use super::barriers::zone_shape;
use super::cells::{LayerColumn, Properties};
use super::columns::Table;
use super::columns_layers::{ROOT_ZONES_LAYER, TREES_LAYER, WORKS_LAYER};
use super::columns_services::SERVICE_LINES_LAYER;
pub use super::feature::ToWgs84;
use super::feature::{Draft, Shape};
use super::fences::write_protection_layer;
use super::layer_files::LayerFiles;
use super::measures::{AREA_DECIMALS, DIAMETER_DECIMALS, DISTANCE_DECIMALS, Measured};
use super::overlaps::{write_table_alone, write_with_layer};
use super::services::{Drawn, drawn, line_properties};
use super::staging::Staging;
use super::view::{PermitView, TreeView, View, worst};
use crate::error::Result;
use crate::model::finding::Verdict;
use crate::model::overlap::RegionAreas;
use crate::model::results::Row;
use crate::model::work::{Mitigations, Work};
use crate::model::zone::Zone;
use crate::settings::{Layer, LayerFormat};
use geo::{Coord, MultiPolygon, Polygon};
use std::collections::{BTreeSet, HashMap};

/// Outline of a disc (centre, radius in metres), within 1 cm of the true circle.
pub type DiscOutline<'a> = &'a (dyn Fn(Coord<f64>, f64) -> Polygon<f64> + Sync);
/// Draws what the works of a permit (its index) cover of a disc: centre, radius.
pub type WorksOutline<'a> = &'a (dyn Fn(u32, Coord<f64>, f64) -> MultiPolygon<f64> + Sync);
/// Outline of the part of a disc (centre, radius in metres) under the union of shapes.
pub type OverlapOutline<'a> = &'a (dyn Fn(&[&MultiPolygon<f64>], Coord<f64>, f64) -> MultiPolygon<f64> + Sync);
/// The part of a shape on some ground, worked out around a place.
pub type OnGround<'a> = &'a (dyn Fn(&MultiPolygon<f64>, &MultiPolygon<f64>, Coord<f64>) -> MultiPolygon<f64> + Sync);

/// How shapes are drawn: functions of the geometry and of the projection, handed in so that this stage needs neither.
pub struct Drawing<'a> {
    /// From the measuring CRS to WGS 84.
    pub to_wgs84: ToWgs84<'a>,
    /// Draws zones and rings.
    pub disc_outline: DiscOutline<'a>,
    /// Draws what the counted works of a permit cover of a disc.
    pub works_outline: WorksOutline<'a>,
    /// Draws what shapes cover of a disc.
    pub overlap_outline: OverlapOutline<'a>,
    /// The format of the layers' own files.
    pub format: LayerFormat,
    /// Whether all layers go into one GeoPackage as well.
    pub geopackage: bool,
    /// Cuts overlaps to zones that barriers shape.
    pub on_ground: OnGround<'a>,
    /// Draws what severing works cut off.
    pub severed_outline: OverlapOutline<'a>,
}

/// Writes the chosen layers and their styles, and the table of overlaps: with its layer, or alone.
pub fn write_layers(view: &View, layers: &BTreeSet<Layer>, drawing: &Drawing, staging: &mut Staging) -> Result<()> {
    let mut files = LayerFiles::create(view.facts, drawing, staging)?;
    let mut table_is_written = false;
    let unprotected = view.results.protection.is_none();
    for &layer in layers.iter().filter(|layer| !(unprotected && layer.needs_protection())) {
        files.begin(layer)?;
        match layer {
            Layer::Trees => trees(view, &mut files)?,
            Layer::RootZones => root_zones(view, drawing, &mut files)?,
            Layer::Overlaps => {
                write_with_layer(view, drawing, &mut files)?;
                table_is_written = true;
            }
            Layer::Works => works(view, &mut files)?,
            Layer::Fences | Layer::GroundCover => write_protection_layer(layer, view, &mut files)?,
            Layer::ServiceLines => service_lines(view, &mut files)?,
        }
    }
    files.finish()?;
    if table_is_written { Ok(()) } else { write_table_alone(view, staging) }
}

pub(super) fn write_layer<T: Sync>(
    table: &Table,
    items: &[T],
    files: &mut LayerFiles,
    shape: impl Fn(&T) -> Shape + Sync,
    properties: impl Fn(&T, &mut Properties) + Sync,
) -> Result<()> {
    files.write(table, items, |items, columns| {
        Ok(items.iter().map(|item| draft(columns, shape(item), |cells| properties(item, cells))).collect())
    })
}

pub(super) fn draft(columns: &[LayerColumn], shape: Shape, properties: impl FnOnce(&mut Properties)) -> Draft {
    let mut cells = Properties::new(columns);
    properties(&mut cells);
    Draft { shape, cells: cells.finish() }
}

fn trees(view: &View, files: &mut LayerFiles) -> Result<()> {
    files.write(&TREES_LAYER, &view.trees, |trees, columns| {
        let of_tree = |of: &TreeView| {
            let row = view.read(of.worst)?;
            let shape = Shape::Point(row.of.place);
            Ok(draft(columns, shape, |properties| tree_properties(view, of, &row, properties)))
        };
        trees.iter().map(of_tree).collect()
    })
}

fn tree_properties(view: &View, of: &TreeView, row: &Row, properties: &mut Properties) {
    let tree = &row.of;
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
}

/// A zone or one of its rings.
struct Region<'a> {
    row: &'a Row,
    name: &'a str,
    radius_m: f64,
    /// What shapes it; `None` for a whole disc.
    ground: Option<&'a MultiPolygon<f64>>,
    area_m2: f64,
    shape: &'static str,
}

/// The zone of a tree, then its rings, then the whole disc where barriers shape the zone.
fn regions<'a>(view: &'a View, (row, zone): (&'a Row, &'a Zone)) -> impl Iterator<Item = Region<'a>> {
    let (ground, shape) = (zone.ground(), zone_shape(zone));
    let measured = &row.overlap.regions;
    let disc_m2 = |radius_m: f64| std::f64::consts::PI * radius_m * radius_m;
    let rings = zone.rings.iter().enumerate().map(move |(number, ring)| {
        let name = view.facts.rules.rings.get(ring.ring).map_or("", String::as_str);
        let area_m2 = measured.get(number + 1).map_or(disc_m2(ring.radius_m), RegionAreas::area_m2);
        Region { row, name, radius_m: ring.radius_m, ground, area_m2, shape }
    });
    let whole = Region { row, name: "root zone", radius_m: zone.radius_m, ground, area_m2: zone.area_m2(), shape };
    let unshaped = ground.map(|_| {
        let radius_m = zone.disc_radius_m();
        Region { row, name: "unshaped root zone", radius_m, ground: None, area_m2: disc_m2(radius_m), shape: "disc" }
    });
    std::iter::once(whole).chain(rings).chain(unshaped).filter(|region| region.radius_m > 0.0)
}

fn root_zones(view: &View, drawing: &Drawing, files: &mut LayerFiles) -> Result<()> {
    let shape = |region: &Region| {
        let (place, radius_m) = (region.row.of.place, region.radius_m);
        Shape::Polygons(match region.ground {
            None => (drawing.disc_outline)(place, radius_m).into(),
            Some(ground) => (drawing.overlap_outline)(&[ground], place, radius_m),
        })
    };
    let properties = |region: &Region, properties: &mut Properties| {
        let row = region.row;
        properties.text("tree_id", &region.row.of.id);
        properties.text("region", region.name);
        properties.number("radius_m", Some(region.radius_m), DISTANCE_DECIMALS);
        properties.number("area_m2", Some(region.area_m2), AREA_DECIMALS);
        properties.text("heritage_class", &row.heritage_class);
        properties.text("finding", row.finding.verdict.word());
        properties.text("permit_id", &view.permit(row).id);
        if view.facts.barriers_given() {
            properties.text("zone_shape", region.shape);
        }
    };
    files.write(&ROOT_ZONES_LAYER, &view.trees, |trees, columns| {
        let mut drafts = Vec::new();
        for of in trees {
            let row = view.read(of.worst)?;
            let Some(zone) = &row.zone else { continue };
            let of_region = |region: Region| draft(columns, shape(&region), |cells| properties(&region, cells));
            drafts.extend(regions(view, (&row, zone)).map(of_region));
        }
        Ok(drafts)
    })
}

/// The drawn overlap of a row; empty where it has no zone.
pub(super) fn overlap_shape(view: &View, drawing: &Drawing, row: &Row) -> MultiPolygon<f64> {
    let Some(zone) = &row.zone else { return MultiPolygon::new(Vec::new()) };
    let centre = view.tree(row).place;
    let overlap = (drawing.works_outline)(row.permit, centre, zone.radius_m);
    match zone.ground() {
        None => overlap,
        Some(ground) => (drawing.on_ground)(&overlap, ground, centre),
    }
}

fn works(view: &View, files: &mut LayerFiles) -> Result<()> {
    let worst_of = |of: &PermitView| worst(of.rows).map_or("", |row| Verdict::word(row.verdict));
    let findings: HashMap<&str, &str> = view.permits.iter().map(|of| (of.permit.id.as_str(), worst_of(of))).collect();
    let shape = |work: &&Work| Shape::Polygons(work.shape.clone());
    write_layer(&WORKS_LAYER, &view.works, files, shape, |work, properties| {
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

fn service_lines(view: &View, files: &mut LayerFiles) -> Result<()> {
    let shape = |of: &Drawn| Shape::Lines(of.lines());
    write_layer(&SERVICE_LINES_LAYER, &drawn(view), files, shape, |of, properties| {
        line_properties(view, of, properties);
    })
}

#[cfg(test)]
#[path = "layers_tests.rs"]
mod tests;
