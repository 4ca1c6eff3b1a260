//! Surveys the formats that GDAL reads: which file, which driver, which layer, then every feature once.

use super::layer::{LayerPlan, LayerRows};
use super::sample::Sampler;
use super::shapefile::TableFacts;
use super::{Format, Plan, Survey, archive, crs, delimited, file_set, mapinfo_crs, mapinfo_tab, shapefile};
use crate::error::{Error, Result};
use crate::gdal_messages;
use crate::model::crs::Crs;
use crate::model::record::RawRecord;
use crate::settings::{InputName, ReadBounds};
use gdal::Metadata;
use gdal::vector::{Layer, LayerAccess, OGRwkbGeometryType};
use geo::Geometry;
use std::collections::BTreeMap;
use std::path::{Path, PathBuf};
use std::sync::Arc;

/// Reads every feature once.
pub(super) fn survey(input: &InputName, format: Format, bounds: ReadBounds) -> Result<Survey> {
    let files = file_set::hashes(&input.path, format)?;
    let mut notes = vec![format.name().to_string()];
    let source = Source::find(input, format, bounds)?;
    let mut plan = source.plan(input, &mut notes)?;
    let found = Description::of(&mut plan, &source, input, &mut notes)?;
    let plan = Arc::new(plan);
    let seen = Seen::all(plan.rows()?)?;
    if source.format == Format::GeoPackage && seen.rows != found.counted {
        notes.push(format!("the file's own count says {} features; {} were read", found.counted, seen.rows));
    }
    Ok(Survey {
        input: input.clone(),
        format: source.format,
        files,
        layer: Some(found.layer),
        layers: found.layers,
        columns: delimited::unique_names(found.columns, &mut notes),
        crs: found.crs,
        rows: seen.rows,
        sample: seen.sampler.finish(),
        notes,
        geometry_types: seen.types.into_iter().map(|(name, count)| (name.to_string(), count)).collect(),
        stamps: Vec::new(),
        plan: Plan::Layer(plan),
    })
}

/// What a data source says about the layer that is read.
struct Description {
    layer: String,
    layers: Vec<String>,
    columns: Vec<String>,
    crs: Option<Crs>,
    counted: u64,
}

impl Description {
    /// Chooses the layer and completes the plan.
    fn of(plan: &mut LayerPlan, source: &Source, input: &InputName, notes: &mut Vec<String>) -> Result<Description> {
        let dataset = plan.open()?;
        let own: Vec<(String, bool)> = dataset.layers().map(|layer| (layer.name(), has_geometry(&layer))).collect();
        if source.layer_names.is_none() {
            plan.layer = choose(input, &own, notes)?;
        }
        let layer = dataset.layer(plan.layer).map_err(|e| Error::input(&plan.at, format!("no such layer: {e}"), ""))?;
        let mut columns: Vec<String> = layer.defn().fields().map(|field| field.name()).collect();
        plan.id_column = id_column(source.format, &columns);
        columns.splice(0..0, plan.id_column.map(str::to_string));
        let crs = layer_crs(&layer, source.format, notes);
        if let Some(encoding) = layer.metadata_item("SOURCE_ENCODING", "SHAPEFILE").filter(|name| !name.is_empty()) {
            notes.push(format!("encoding {encoding}"));
        }
        let counted = layer.feature_count();
        // A GeoPackage keeps its count in a table that other programs may have left behind; SQLite itself reports damage.
        plan.expected = (source.format != Format::GeoPackage).then(|| counted.saturating_sub(source.table.deleted));
        let layers = source.layer_names.clone().unwrap_or_else(|| own.into_iter().map(|(name, _)| name).collect());
        Ok(Description { layer: layer.name(), layers, columns, crs, counted })
    }
}

/// What GDAL is to open.
struct Source {
    format: Format,
    path: PathBuf,
    unpacked: Option<Arc<archive::PrivateFolder>>,
    /// The names of a zip's shapefiles, which stand for layers; `None` where the data source lists its own.
    layer_names: Option<Vec<String>>,
    table: TableFacts,
}

impl Source {
    fn find(input: &InputName, format: Format, bounds: ReadBounds) -> Result<Source> {
        let mut source = Source {
            format,
            path: input.path.clone(),
            unpacked: None,
            layer_names: None,
            table: TableFacts::default(),
        };
        if input.path.is_file()
            && matches!(format, Format::Shapefile | Format::FileGeodatabase)
            && file_set::is_zip(&input.path)
        {
            source.unpack(input, bounds)?;
        }
        match source.format {
            Format::Shapefile => source.table = shapefile::check(&source.path)?,
            Format::MapInfoTab => {
                mapinfo_tab::refuse_references(&source.path)?;
                if let Some(table) = file_set::companion(&source.path, "dat")? {
                    source.table = TableFacts { unstated_utf8: false, ..shapefile::check_table(&table, true)? };
                }
            }
            Format::GeoPackage => refuse_open_journal(&source.path)?,
            _ => {}
        }
        Ok(source)
    }

    fn unpack(&mut self, input: &InputName, bounds: ReadBounds) -> Result<()> {
        let at = input.path.display().to_string();
        let found = archive::unpack(&input.path, bounds)?;
        self.path = match (&found.geodatabases[..], &found.shapefiles[..]) {
            ([one], _) => {
                self.format = Format::FileGeodatabase;
                one.clone()
            }
            ([], [_, ..]) => {
                self.format = Format::Shapefile;
                let names: Vec<String> = found.shapefiles.iter().map(|path| stem(path)).collect();
                let layers: Vec<(String, bool)> = names.iter().map(|name| (name.clone(), true)).collect();
                let chosen = choose(input, &layers, &mut Vec::new())?;
                self.layer_names = Some(names);
                found.shapefiles[chosen].clone()
            }
            ([], []) => {
                return Err(Error::input(
                    at,
                    "the zip holds no shapefile and no .gdb folder",
                    "unpack it and give the file itself",
                ));
            }
            _ => {
                return Err(Error::input(
                    at,
                    "the zip holds several .gdb folders; expected one",
                    "unpack it and give one of them",
                ));
            }
        };
        self.unpacked = Some(Arc::new(found.folder));
        Ok(())
    }

    fn plan(&self, input: &InputName, notes: &mut Vec<String>) -> Result<LayerPlan> {
        let (driver, mut options) = match self.format {
            Format::GeoPackage => ("GPKG", vec!["IMMUTABLE=YES".to_string()]),
            Format::Shapefile => ("ESRI Shapefile", Vec::new()),
            Format::FlatGeobuf => ("FlatGeobuf", Vec::new()),
            Format::FileGeodatabase => ("OpenFileGDB", Vec::new()),
            _ => ("MapInfo File", Vec::new()),
        };
        if self.table.unstated_utf8 {
            options.push("ENCODING=UTF-8".to_string());
            notes.push("the .dbf states no encoding; its text is UTF-8".to_string());
        }
        if self.table.deleted > 0 {
            notes.push(format!("{} rows are marked as deleted and passed over", self.table.deleted));
        }
        Ok(LayerPlan {
            at: input.path.display().to_string(),
            path: std::path::absolute(&self.path).map_err(|e| Error::io(&self.path, "read", e))?,
            driver,
            options,
            layer: 0,
            id_column: None,
            expected: None,
            unpacked: self.unpacked.clone(),
        })
    }
}

fn stem(path: &Path) -> String {
    path.file_stem().map_or_else(String::new, |stem| stem.to_string_lossy().into_owned())
}

/// Changes that wait in a write-ahead log would be missed: the file is read as it stands.
fn refuse_open_journal(path: &Path) -> Result<()> {
    let mut log = path.as_os_str().to_owned();
    log.push("-wal");
    if std::fs::metadata(&log).is_ok_and(|file| file.len() > 0) {
        let what = "another program has it open and its changes still wait in the -wal file beside it";
        return Err(Error::input(
            path.display().to_string(),
            what,
            "close the program that edits it, or export a copy",
        ));
    }
    Ok(())
}

fn has_geometry(layer: &Layer<'_>) -> bool {
    layer.defn().geometry_type() != OGRwkbGeometryType::wkbNone
}

/// The index of the layer that is meant.
fn choose(input: &InputName, layers: &[(String, bool)], notes: &mut Vec<String>) -> Result<usize> {
    let at = input.path.display().to_string();
    let listed = || layers.iter().map(|(name, _)| format!("{at}#{name}")).collect::<Vec<_>>().join(", ");
    if let Some(wanted) = &input.layer {
        let exact = layers.iter().position(|(name, _)| name == wanted);
        let found = exact.or_else(|| layers.iter().position(|(name, _)| name.eq_ignore_ascii_case(wanted)));
        return found
            .ok_or_else(|| Error::input(&at, format!("it has no layer `{wanted}`"), format!("one of {}", listed())));
    }
    let with_geometry: Vec<usize> = (0..layers.len()).filter(|&index| layers[index].1).collect();
    match (layers.len(), &with_geometry[..]) {
        (0, _) => Err(Error::input(at, "it has no layer", "check how it was exported")),
        (1, _) => Ok(0),
        (_, &[only]) => {
            notes.push(format!("layer {}: the only one with geometry", layers[only].0));
            Ok(only)
        }
        _ => Err(Error::input(
            &at,
            format!("it has {} layers; expected one to be named", layers.len()),
            format!("one of {}", listed()),
        )),
    }
}

/// The column for ids that the format keeps apart from the fields.
fn id_column(format: Format, columns: &[String]) -> Option<&'static str> {
    let name = match format {
        Format::GeoPackage => "fid",
        Format::FileGeodatabase => "OBJECTID",
        _ => return None,
    };
    (!columns.iter().any(|column| column.eq_ignore_ascii_case(name))).then_some(name)
}

fn layer_crs(layer: &Layer<'_>, format: Format, notes: &mut Vec<String>) -> Option<Crs> {
    let mut reference = layer.spatial_ref()?;
    if format == Format::MapInfoTab
        && let Some(mended) = mapinfo_crs::with_offsets_in_its_unit(&reference)
    {
        notes.push("false easting and northing taken in the unit of the coordinates; GDAL reads metres".to_string());
        reference = mended;
    }
    let described = crs::describe(&reference, "in the file");
    gdal_messages::take();
    match described {
        // GeoPackage's own words for "not known".
        Ok(crs) if crs.name.starts_with("Undefined ") || crs.name == "unknown" => None,
        Ok(crs) => Some(crs),
        Err(why) => {
            notes.push(format!("the CRS in the file cannot be understood: {why}"));
            None
        }
    }
}

/// What the features hold between them.
struct Seen {
    rows: u64,
    sampler: Sampler<RawRecord>,
    types: BTreeMap<&'static str, u64>,
}

impl Seen {
    fn all(mut rows: LayerRows) -> Result<Seen> {
        let mut seen = Seen { rows: 0, sampler: Sampler::new(), types: BTreeMap::new() };
        loop {
            let chunk = rows.next_chunk()?;
            if chunk.is_empty() {
                return Ok(seen);
            }
            for row in chunk {
                seen.rows += 1;
                let wanted = seen.sampler.wants_next();
                let Ok(record) = row else { continue };
                *seen.types.entry(type_name(record.geometry.as_ref())).or_default() += 1;
                if wanted {
                    let bytes = std::mem::size_of::<RawRecord>()
                        + 16 * record.geometry.as_ref().map_or(0, geo::CoordsIter::coords_count);
                    seen.sampler.keep(record, bytes);
                }
            }
        }
    }
}

fn type_name(geometry: Option<&Geometry<f64>>) -> &'static str {
    match geometry {
        None => "none",
        Some(Geometry::Point(_)) => "Point",
        Some(Geometry::MultiPoint(_)) => "MultiPoint",
        Some(Geometry::LineString(_)) => "LineString",
        Some(Geometry::MultiLineString(_)) => "MultiLineString",
        Some(Geometry::Polygon(_)) => "Polygon",
        Some(Geometry::MultiPolygon(_)) => "MultiPolygon",
        Some(_) => "GeometryCollection",
    }
}
