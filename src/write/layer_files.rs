//! The files of the layers: each feature is drafted once and goes into every format that was asked for.

use super::cells::{LayerColumn, layer_columns};
use super::chunks::in_chunks;
use super::columns::Table;
use super::feature::{Draft, HEAD, TAIL, ToWgs84, features, placed};
use super::flatgeobuf_file::{self, FlatGeobuf};
use super::geopackage::{self, GeoPackage};
use super::layers::Drawing;
use super::staging::{StagedFile, Staging};
use super::style::style;
use crate::error::Result;
use crate::model::run_facts::RunFacts;
use crate::settings::{Layer, LayerFormat};

/// Where layers go.
pub struct LayerFiles<'a> {
    staging: &'a mut Staging,
    facts: &'a RunFacts,
    to_wgs84: ToWgs84<'a>,
    format: LayerFormat,
    geopackage: Option<GeoPackage>,
    layer: Layer,
}

/// The file of one layer in the format of the run.
enum LayerFile {
    GeoJson { file: StagedFile, first: bool },
    FlatGeobuf(FlatGeobuf),
}

/// Features in the format of the run.
enum Encoded {
    GeoJson(Vec<u8>),
    FlatGeobuf(Vec<flatgeobuf_file::Encoded>),
}

impl<'a> LayerFiles<'a> {
    /// Begins.
    pub fn create(facts: &'a RunFacts, drawing: &Drawing<'a>, staging: &'a mut Staging) -> Result<LayerFiles<'a>> {
        let geopackage =
            drawing.geopackage.then(|| GeoPackage::create(staging, &facts.measuring_crs.definition)).transpose()?;
        let (to_wgs84, format) = (drawing.to_wgs84, drawing.format);
        Ok(LayerFiles { staging, facts, to_wgs84, format, geopackage, layer: Layer::Trees })
    }

    /// Says which layer the next features belong to, and writes its style.
    pub fn begin(&mut self, layer: Layer) -> Result<()> {
        self.layer = layer;
        self.staging.write(&format!("layers/{}.sld", layer.word()), style(layer).as_bytes())
    }

    /// Writes all features of the layer. `drafts` must depend on its items alone.
    ///
    /// # Errors
    /// A place that cannot be brought to longitude and latitude; as the system or GDAL says.
    pub fn write<T: Sync>(
        &mut self,
        table: &Table,
        items: &[T],
        drafts: impl Fn(&[T], &[LayerColumn]) -> Result<Vec<Draft>> + Sync,
    ) -> Result<()> {
        self.write_beside(table, items, |items, columns| Ok((drafts(items, columns)?, ())), |()| Ok(()))
    }

    /// As [`LayerFiles::write`]; what else comes of the items is handed on in their order.
    ///
    /// # Errors
    /// As [`LayerFiles::write`], and those of `put_beside`.
    pub fn write_beside<T: Sync, B: Send>(
        &mut self,
        table: &Table,
        items: &[T],
        drafts: impl Fn(&[T], &[LayerColumn]) -> Result<(Vec<Draft>, B)> + Sync,
        mut put_beside: impl FnMut(B) -> Result<()>,
    ) -> Result<()> {
        let columns = layer_columns(table, self.facts);
        let mut file = LayerFile::create(self.format, self.staging, table, self.layer, &columns)?;
        let unit_m = self.geopackage.as_ref().map(GeoPackage::unit_m);
        let mut rows = match &mut self.geopackage {
            Some(geopackage) => Some(geopackage.table(self.layer, &columns, table.rows)?),
            None => None,
        };
        let (to_wgs84, format) = (self.to_wgs84, self.format);
        let encode = |items: &[T]| {
            let (drafts, beside) = drafts(items, &columns)?;
            let placed = placed(&drafts, to_wgs84)?;
            let encoded = match format {
                LayerFormat::GeoJson => Encoded::GeoJson(features(&drafts, &placed, &columns)),
                LayerFormat::FlatGeobuf => Encoded::FlatGeobuf(flatgeobuf_file::encode(&drafts, &placed, &columns)),
            };
            Ok((encoded, unit_m.map(|unit_m| geopackage::encode(drafts, unit_m)), beside))
        };
        let written = in_chunks(items, encode, |(encoded, of_table, beside)| {
            put_beside(beside)?;
            file.put(encoded)?;
            match (&mut rows, of_table) {
                (Some(rows), Some(of_table)) => rows.put(of_table),
                _ => Ok(()),
            }
        });
        // The table is ended either way: GDAL complains of one that is given up, and the file of a failed run is removed with its folder.
        let closed = rows.map_or(Ok(()), |rows| rows.close());
        written.and(closed)?;
        file.close(self.staging)
    }

    /// The folder that the files go into.
    pub fn staging(&mut self) -> &mut Staging {
        self.staging
    }

    /// Ends the file of all layers.
    pub fn finish(self) -> Result<()> {
        self.geopackage.map_or(Ok(()), |geopackage| geopackage.finish(self.staging))
    }
}

impl LayerFile {
    fn create(
        format: LayerFormat,
        staging: &mut Staging,
        table: &Table,
        layer: Layer,
        columns: &[LayerColumn],
    ) -> Result<LayerFile> {
        Ok(match format {
            LayerFormat::GeoJson => {
                let mut file = staging.create(table.file)?;
                file.put(HEAD)?;
                LayerFile::GeoJson { file, first: true }
            }
            LayerFormat::FlatGeobuf => LayerFile::FlatGeobuf(FlatGeobuf::create(staging, layer, columns)?),
        })
    }

    fn put(&mut self, features: Encoded) -> Result<()> {
        match (self, features) {
            (LayerFile::GeoJson { file, first }, Encoded::GeoJson(text)) => {
                // Each feature brings the comma before it; the first must not.
                let text = if *first { text.strip_prefix(b",").unwrap_or(&text) } else { &text };
                *first = false;
                file.put(text)
            }
            (LayerFile::FlatGeobuf(file), Encoded::FlatGeobuf(features)) => file.put(features),
            _ => unreachable!("features are encoded in the format of their file"),
        }
    }

    fn close(self, staging: &mut Staging) -> Result<()> {
        match self {
            LayerFile::GeoJson { mut file, .. } => {
                file.put(TAIL)?;
                staging.close(file)
            }
            LayerFile::FlatGeobuf(file) => file.close(staging),
        }
    }
}
