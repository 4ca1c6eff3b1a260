//! Features in the measuring CRS -> one GeoPackage with a table for each layer, and their styles in `layer_styles`.
//!
//! Written with GDAL into a private folder and moved into the set when whole, so that no side file of SQLite can stay behind. What depends
//! on the clock is fixed: the same results give the same bytes with the same versions of GDAL and SQLite, which both write their
//! version, or their way of laying out pages, into the file.
//!
//! # Source
//! OGC 12-128, GeoPackage 1.2. `layer_styles` is no part of it: it is the table in which open GIS viewers keep styles with their data; its columns
//! from memory.

use super::cells::{Cell, Kind, LayerColumn};
use super::feature::Draft;
use super::geopackage_wkb::wkb;
use super::staging::Staging;
use super::style::style;
use crate::error::{Error, Result};
use crate::gdal_messages;
use crate::settings::{DrawnAs, Layer};
use gdal::errors::GdalError;
use gdal::raster::RasterCreationOptions;
use gdal::spatial_ref::{AxisMappingStrategy, SpatialRef};
use gdal::vector::sql::Dialect;
use gdal::vector::{
    Feature, FieldDefn, Geometry, LayerAccess, LayerOptions, OGRFieldType, OGRwkbGeometryType, Transaction,
};
use gdal::{Dataset, DatasetOptions, DriverManager, GdalOpenFlags};
use std::path::PathBuf;
use tempfile::TempDir;

/// Its name in the output folder.
pub const GEOPACKAGE_FILE: &str = "layers/rootward.gpkg";

/// The time that stands wherever the format wants one: results do not depend on the clock.
const FIXED_TIME: &str = "1970-01-01T00:00:00.000Z";

/// Options that hold for this thread while a file is written; they go over the environment's.
///
/// The set is made safe on the disk as a whole before it is put in place, so SQLite need not do so for each page.
const CONFIGURATION: [(&str, &str); 7] = [
    ("OGR_CURRENT_DATE", FIXED_TIME),
    ("OGR_SQLITE_SYNCHRONOUS", "OFF"),
    ("OGR_SQLITE_JOURNAL", "MEMORY"),
    ("OGR_SQLITE_CACHE", "64"),
    ("OGR_SQLITE_PRAGMA", ""),
    ("OGR_SQLITE_LOAD_EXTENSIONS", ""),
    ("OGR_GPKG_ALLOW_THREADED_RTREE", "NO"),
];

/// Sets the options and takes them back.
struct Configured;

impl Configured {
    fn new() -> gdal::errors::Result<Configured> {
        for (key, value) in CONFIGURATION {
            gdal::config::set_thread_local_config_option(key, value)?;
        }
        Ok(Configured)
    }
}

impl Drop for Configured {
    fn drop(&mut self) {
        for (key, _) in CONFIGURATION {
            let _ = gdal::config::clear_thread_local_config_option(key);
        }
    }
}

/// A file in the making. Belongs to one thread.
///
/// Fields are dropped in this order: the file is closed before its folder goes.
pub struct GeoPackage {
    dataset: Dataset,
    crs: SpatialRef,
    path: PathBuf,
    tables: Vec<(Layer, u64)>,
    shown: PathBuf,
    folder: TempDir,
    _configured: Configured,
}

/// A feature ready to be put into its table: its geometry as well-known binary, and its properties.
pub struct Encoded {
    wkb: Option<Vec<u8>>,
    cells: Vec<Cell>,
}

/// Encodes features; a unit of the measuring CRS has `unit_m` metres. Depends on them alone.
pub fn encode(drafts: Vec<Draft>, unit_m: f64) -> Vec<Encoded> {
    let one = |Draft { shape, cells }| Encoded { wkb: wkb(&shape, unit_m), cells };
    drafts.into_iter().map(one).collect()
}

impl GeoPackage {
    /// Begins the file. `definition` is that of the measuring CRS.
    ///
    /// # Errors
    /// GDAL was built without the format, cannot make sense of the CRS, or cannot write.
    pub fn create(staging: &Staging, definition: &str) -> Result<GeoPackage> {
        gdal_messages::listen();
        let shown = staging.shown(GEOPACKAGE_FILE);
        let folder = staging.private_folder()?;
        let path = folder.path().join("rootward.gpkg");
        let made = || {
            let configured = Configured::new()?;
            let mut crs = SpatialRef::from_definition(definition)?;
            crs.set_axis_mapping_strategy(AxisMappingStrategy::TraditionalGisOrder);
            let driver = DriverManager::get_driver_by_name("GPKG")?;
            let options = RasterCreationOptions::from_iter(["VERSION=1.2"]);
            let dataset = driver.create_with_band_type_with_options::<u8, _>(&path, 0, 0, 0, &options)?;
            Ok((dataset, crs, configured))
        };
        let (dataset, crs, configured) = made().map_err(|e| refused(&shown, &e))?;
        Ok(GeoPackage { dataset, crs, path, tables: Vec::new(), shown, folder, _configured: configured })
    }

    /// Metres in a unit of the measuring CRS. Places are in metres, whatever its unit.
    pub fn unit_m(&self) -> f64 {
        self.crs.linear_units()
    }

    /// Begins the table of a layer; `about` is its description.
    pub fn table(&mut self, layer: Layer, columns: &[LayerColumn], about: &str) -> Result<TableWriter<'_>> {
        let shown = self.shown.clone();
        self.tables.push((layer, 0));
        let rows = &mut self.tables.last_mut().expect("just pushed").1;
        let options = ["GEOMETRY_NAME=geom", "FID=fid", "SPATIAL_INDEX=YES", &format!("DESCRIPTION={about}")];
        let options = LayerOptions {
            name: layer.word(),
            srs: Some(&self.crs),
            ty: match layer.drawn_as() {
                DrawnAs::Points => OGRwkbGeometryType::wkbPoint,
                DrawnAs::Polygons => OGRwkbGeometryType::wkbMultiPolygon,
                DrawnAs::Lines => OGRwkbGeometryType::wkbMultiLineString,
            },
            options: Some(&options),
        };
        let transaction = create_table(&mut self.dataset, options, columns).map_err(|e| refused(&shown, &e))?;
        Ok(TableWriter { transaction, layer, kinds: columns.iter().map(|column| column.kind).collect(), rows, shown })
    }

    /// Adds the styles, closes the file, sees that all is there, and hands it to the set.
    pub fn finish(self, staging: &mut Staging) -> Result<()> {
        let GeoPackage { dataset, path, tables, shown, folder, _configured, .. } = self;
        add_styles(&dataset, &tables).map_err(|e| refused(&shown, &e))?;
        drop(dataset);
        // The driver goes on after a commit that failed; what it then lacks may be no table.
        let not_whole = |complaint: Option<String>| {
            complaint.map_or(Ok(()), |complaint| {
                let what = format!("could not be written whole: {complaint}");
                Err(Error::Output { path: shown.clone(), what, hint: "is the disk full?".to_string() })
            })
        };
        not_whole(gdal_messages::take().failures.into_iter().next())?;
        let (found, references) = counts(&path).map_err(|e| refused(&shown, &e))?;
        let heard = gdal_messages::take();
        not_whole(heard.failures.into_iter().chain(heard.warnings).next())?;
        for (layer, rows) in tables.iter().map(|(layer, rows)| (layer.word(), *rows)) {
            if !found.contains(&(layer.to_string(), rows)) {
                let what = format!(
                    "could not be closed whole: {rows} features went into the table {layer}, but not so many came out"
                );
                let hint = "is the disk full?".to_string();
                return Err(Error::Output { path: shown, what, hint });
            }
        }
        // A read that failed without a word makes the driver store the CRS again, under another number.
        if references > 1 {
            let what = format!("could not be written whole: its one CRS was stored {references} times");
            return Err(Error::Output { path: shown, what, hint: "run it again; is the disk sound?".to_string() });
        }
        staging.adopt(&path, GEOPACKAGE_FILE)?;
        folder.close().map_err(|e| Error::io(shown, "write", e))
    }
}

fn refused(shown: &std::path::Path, error: &GdalError) -> Error {
    let hint = "write without --geopackage, or give a folder on a disk with room";
    // The library says that a call failed; why, it has told its message handler.
    let why = Some(gdal_messages::take_first()).filter(|why| !why.is_empty()).unwrap_or_else(|| error.to_string());
    Error::Output { path: shown.into(), what: format!("cannot be written: {why}"), hint: hint.to_string() }
}

/// Makes the table and begins the one transaction in which it is filled.
fn create_table<'a>(
    dataset: &'a mut Dataset,
    options: LayerOptions<'_>,
    columns: &[LayerColumn],
) -> gdal::errors::Result<Transaction<'a>> {
    let layer = dataset.create_layer(options)?;
    for column in columns {
        let field = match column.kind {
            Kind::Text => OGRFieldType::OFTString,
            Kind::Whole => OGRFieldType::OFTInteger64,
            Kind::Number => OGRFieldType::OFTReal,
        };
        FieldDefn::new(&column.name, field)?.add_to_layer(&layer)?;
    }
    dataset.start_transaction()
}

/// A table being filled.
pub struct TableWriter<'a> {
    transaction: Transaction<'a>,
    layer: Layer,
    kinds: Vec<Kind>,
    rows: &'a mut u64,
    shown: PathBuf,
}

impl TableWriter<'_> {
    /// Takes the next features.
    pub fn put(&mut self, features: Vec<Encoded>) -> Result<()> {
        self.insert(features).map_err(|e| refused(&self.shown, &e))
    }

    fn insert(&mut self, features: Vec<Encoded>) -> gdal::errors::Result<()> {
        let layer = self.transaction.layer_by_name(self.layer.word())?;
        for Encoded { wkb, cells } in features {
            let mut feature = Feature::new(layer.defn())?;
            for (at, (cell, kind)) in cells.iter().zip(&self.kinds).enumerate() {
                match (cell, kind) {
                    (Cell::Null, _) => feature.set_field_null(at)?,
                    // The library ends a text at a NUL.
                    (Cell::Text(text), _) => feature.set_field_string(at, &text.replace('\0', "\u{fffd}"))?,
                    (Cell::Whole(value), Kind::Whole) => {
                        feature.set_field_integer64(at, i64::try_from(*value).unwrap_or(i64::MAX))?
                    }
                    _ => feature.set_field_double(at, cell.printed().unwrap_or(f64::NAN))?,
                }
            }
            if let Some(wkb) = wkb {
                feature.set_geometry(Geometry::from_wkb(&wkb)?)?;
            }
            feature.create(&layer)?;
            *self.rows += 1;
        }
        Ok(())
    }

    /// Ends the table.
    pub fn close(self) -> Result<()> {
        self.transaction.commit().map_err(|e| refused(&self.shown, &e))
    }
}

/// The table of styles, one row for each layer, each the default of its table.
fn add_styles(dataset: &Dataset, tables: &[(Layer, u64)]) -> gdal::errors::Result<()> {
    let run = |sql: &str| dataset.execute_sql(sql, None, Dialect::DEFAULT).map(|_| ());
    run("CREATE TABLE layer_styles (id INTEGER PRIMARY KEY AUTOINCREMENT NOT NULL, f_table_catalog TEXT(256), \
         f_table_schema TEXT(256), f_table_name TEXT(256), f_geometry_column TEXT(256), styleName TEXT(30), styleQML TEXT, \
         styleSLD TEXT, useAsDefault BOOLEAN, description TEXT, owner TEXT(30), ui TEXT(30), update_time DATETIME)")?;
    run(&format!(
        "INSERT INTO gpkg_contents (table_name, data_type, identifier, description, last_change) VALUES \
         ('layer_styles', 'attributes', 'layer_styles', 'Styles of the layers', '{FIXED_TIME}')"
    ))?;
    for (layer, _) in tables {
        let (name, sld) = (layer.word(), style(*layer).replace('\'', "''"));
        run(&format!(
            "INSERT INTO layer_styles (f_table_catalog, f_table_schema, f_table_name, f_geometry_column, styleName, styleQML, \
             styleSLD, useAsDefault, description, owner, update_time) \
             VALUES ('', '', '{name}', 'geom', '{name}', '', '{sld}', 1, '', '', '{FIXED_TIME}')"
        ))?;
    }
    Ok(())
}

/// The tables of a closed file with their numbers of features, and how many CRSs it has beside the three that every file holds.
fn counts(path: &std::path::Path) -> gdal::errors::Result<(Vec<(String, u64)>, u64)> {
    let dataset = Dataset::open_ex(
        path,
        DatasetOptions {
            open_flags: GdalOpenFlags::GDAL_OF_READONLY | GdalOpenFlags::GDAL_OF_VECTOR,
            allowed_drivers: Some(&["GPKG"]),
            open_options: Some(&["IMMUTABLE=YES"]),
            sibling_files: None,
        },
    )?;
    let query = "SELECT srs_id FROM gpkg_spatial_ref_sys WHERE srs_id NOT IN (-1, 0, 4326)";
    let references = dataset.execute_sql(query, None, Dialect::DEFAULT)?.map_or(0, |rows| rows.feature_count());
    Ok((dataset.layers().map(|layer| (layer.name(), layer.feature_count())).collect(), references))
}

#[cfg(test)]
#[path = "geopackage_tests.rs"]
mod tests;
