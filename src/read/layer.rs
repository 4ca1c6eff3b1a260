//! One layer of a GDAL data source into records.
//!
//! The source is opened with exactly one driver, read-only and in a way that leaves nothing beside it. What GDAL complains about
//! is an error, and so is a count that does not agree: its iterator would hide both.

use super::archive::PrivateFolder;
use super::{RowProblem, wkb};
use crate::error::{Error, Result};
use crate::gdal_messages;
use crate::model::record::RawRecord;
use gdal::vector::{Feature, LayerAccess, OGRFieldType, OwnedFeatureIterator};
use gdal::{Dataset, DatasetOptions, GdalOpenFlags};
use std::path::PathBuf;
use std::sync::Arc;

/// How a layer is opened and read.
#[derive(Debug)]
pub(super) struct LayerPlan {
    /// As the user named it, for messages.
    pub(super) at: String,
    /// The file or folder that GDAL opens, absolute.
    pub(super) path: PathBuf,
    pub(super) driver: &'static str,
    pub(super) options: Vec<String>,
    /// Index of the layer in the data source.
    pub(super) layer: usize,
    /// A column for the feature id, where the format keeps ids and no field has the name.
    pub(super) id_column: Option<&'static str>,
    /// Features that reading must give; `None` where the format's own count is not to be relied on.
    pub(super) expected: Option<u64>,
    /// The private folder of an unpacked zip, kept as long as the plan.
    pub(super) unpacked: Option<Arc<PrivateFolder>>,
}

/// Number of records in one chunk.
const CHUNK_RECORDS: usize = 1024;

impl LayerPlan {
    /// Opens the data source with its one driver.
    pub(super) fn open(&self) -> Result<Dataset> {
        gdal_messages::listen();
        let options: Vec<&str> = self.options.iter().map(String::as_str).collect();
        let opened = Dataset::open_ex(
            &self.path,
            DatasetOptions {
                open_flags: GdalOpenFlags::GDAL_OF_READONLY
                    | GdalOpenFlags::GDAL_OF_VECTOR
                    | GdalOpenFlags::GDAL_OF_VERBOSE_ERROR,
                allowed_drivers: Some(&[self.driver]),
                open_options: Some(&options),
                sibling_files: None,
            },
        );
        opened.map_err(|e| {
            let heard = gdal_messages::take_first();
            let why = if heard.is_empty() { e.to_string() } else { heard };
            Error::input(&self.at, format!("cannot be opened: {}", self.plain(&why)), "check that it is whole")
        })
    }

    /// Opens the layer for reading from its start.
    pub(super) fn rows(self: &Arc<LayerPlan>) -> Result<LayerRows> {
        let layer = self
            .open()?
            .into_layer(self.layer)
            .map_err(|e| Error::input(&self.at, format!("no such layer: {e}"), ""))?;
        let fields = layer.defn().fields().map(|field| field.field_type()).collect();
        Ok(LayerRows { plan: Arc::clone(self), features: layer.owned_features(), fields, row: 0, ended: false })
    }

    /// A message of GDAL without the private folder's name.
    fn plain(&self, message: &str) -> String {
        match &self.unpacked {
            Some(folder) => message.replace(&format!("{}/", folder.path().display()), ""),
            None => message.to_string(),
        }
    }
}

/// The records of a layer, one after the other.
pub(super) struct LayerRows {
    plan: Arc<LayerPlan>,
    features: OwnedFeatureIterator,
    fields: Vec<OGRFieldType::Type>,
    row: u64,
    ended: bool,
}

/// A record or why it cannot be read.
pub(super) type OwnedRow = std::result::Result<RawRecord, RowProblem>;

impl LayerRows {
    /// The next records; empty at the end of the layer.
    ///
    /// # Errors
    /// GDAL complained, or the layer ended before or after its own count.
    pub(super) fn next_chunk(&mut self) -> Result<Vec<OwnedRow>> {
        let mut rows = Vec::new();
        gdal_messages::listen();
        while !self.ended && rows.len() < CHUNK_RECORDS {
            match (&mut self.features).next() {
                Some(feature) => {
                    self.row += 1;
                    rows.push(record(&feature, &self.fields, self.plan.id_column.is_some(), self.row));
                }
                None => self.ended = true,
            }
        }
        let heard = gdal_messages::take();
        let failed = |what: String| Err(Error::input(&self.plan.at, what, "copy or export it again"));
        if let Some(failure) = heard.failures.first() {
            return failed(format!("reading failed near feature {}: {}", self.row, self.plan.plain(failure)));
        }
        match self.plan.expected {
            Some(expected) if self.ended && expected != self.row => {
                failed(format!("{} features could be read; the file says {expected}", self.row))
            }
            _ => Ok(rows),
        }
    }
}

fn record(feature: &Feature<'_>, fields: &[OGRFieldType::Type], with_id: bool, row: u64) -> OwnedRow {
    let mut record = RawRecord::default();
    record.clear(row);
    if with_id {
        record.push(&feature.fid().map_or_else(String::new, |id| id.to_string()));
    }
    for (index, &kind) in fields.iter().enumerate() {
        record.push(&cell(feature, index, kind));
    }
    record.geometry = match feature.geometry_by_index(0) {
        Ok(geometry) => {
            let bytes = geometry.iso_wkb().map_err(|e| RowProblem {
                row,
                code: "bad-row",
                detail: format!("bad geometry: {e}"),
            })?;
            wkb::read(&bytes).map_err(|e| problem(&e, row))?
        }
        Err(_) => None,
    };
    Ok(record)
}

fn problem(error: &wkb::WkbError, row: u64) -> RowProblem {
    match error {
        wkb::WkbError::Damaged => RowProblem { row, code: "bad-row", detail: "the geometry is damaged".to_string() },
        wkb::WkbError::NotPlane(kind) => RowProblem {
            row,
            code: "wrong-geometry",
            detail: format!("a geometry of type {kind} (a surface in space); expected points, lines or polygons"),
        },
    }
}

/// A field as text: numbers in their shortest form, dates as year-month-day, null and unset empty.
fn cell(feature: &Feature<'_>, index: usize, kind: OGRFieldType::Type) -> String {
    let text = || feature.field_as_string(index).ok().flatten().unwrap_or_default();
    match kind {
        OGRFieldType::OFTInteger | OGRFieldType::OFTInteger64 => match feature.field_as_integer64(index) {
            // A field that was never set reads as 0; as text it is empty.
            Ok(Some(0)) => text(),
            Ok(Some(value)) => value.to_string(),
            _ => String::new(),
        },
        OGRFieldType::OFTReal => match feature.field_as_double(index) {
            Ok(Some(0.0)) => {
                if text().is_empty() {
                    String::new()
                } else {
                    "0".to_string()
                }
            }
            Ok(Some(value)) if value.is_finite() => shortest(value),
            _ => String::new(),
        },
        OGRFieldType::OFTDate | OGRFieldType::OFTDateTime => text().replacen('/', "-", 2),
        OGRFieldType::OFTBinary => String::new(),
        _ => text(),
    }
}

/// The shortest decimal that reads back as the same number; a number that was stored in single precision is written as such.
fn shortest(value: f64) -> String {
    let double = value.to_string();
    let single = value as f32;
    if f64::from(single) == value && double.len() > 10 { single.to_string() } else { double }
}

#[cfg(test)]
#[path = "layer_tests.rs"]
mod tests;
