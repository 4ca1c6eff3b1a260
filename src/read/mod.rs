//! Files into raw records with their position.
//!
//! Knows formats; knows no rule, no unit and no meaning: it decides bytes (encoding, delimiter, where a record begins and
//! ends, which CRS the file states) and hands out cells as text and geometries in the file's own CRS. It must not guess what a
//! column means, convert a number, reproject or repair. It never writes next to an input and never touches the network.
//!
//! Two passes: [`survey`] reads every byte once and refuses files that cannot be read as a whole; [`Survey::chunks`] then
//! hands out pieces of bounded size, which worker threads turn into records ([`RawChunk::for_each`]).

mod archive;
mod chunk;
pub mod crs;
mod delimited;
mod delimited_records;
mod feature_json;
mod feature_names;
mod file_set;
mod format;
mod geojson;
mod json_scan;
mod layer;
mod layer_survey;
mod mapinfo_crs;
mod mapinfo_tab;
mod sample;
mod shapefile;
mod stamp;
mod text;
mod wkb;

pub use chunk::{Chunks, RawChunk};
pub use format::Format;

use crate::error::Result;
use crate::model::crs::Crs;
use crate::model::record::RawRecord;
use crate::settings::{InputName, ReadBounds};
use std::sync::Arc;

/// The size of a chunk of text, bytes; a chunk ends with the record that passes it.
const CHUNK_BYTES: usize = 1 << 18;

/// One file of an input, so that a run can say exactly what it read.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct FileHash {
    /// The file's name without its folder (within a file geodatabase: `folder.gdb/name`).
    pub name: String,
    /// Its size.
    pub bytes: u64,
    /// SHA-256 of its bytes, lower-case hexadecimal.
    pub sha256: String,
}

/// One record that cannot be read; it becomes an issue.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct RowProblem {
    /// Row as in [`RawRecord::row`].
    pub row: u64,
    /// An issue code: `bad-row` or `wrong-geometry`.
    pub code: &'static str,
    /// What was found and what was expected.
    pub detail: String,
}

/// What the bytes of one input are.
#[derive(Debug)]
pub struct Survey {
    /// The input as typed.
    pub input: InputName,
    /// Its format.
    pub format: Format,
    /// Every file that belongs to it, sorted by name.
    pub files: Vec<FileHash>,
    /// The layer that is read; `None` for formats without layers.
    pub layer: Option<String>,
    /// All layers in it.
    pub layers: Vec<String>,
    /// Column names, made unique, in the order of the cells of every record.
    pub columns: Vec<String>,
    /// The CRS that the file states; `None` where it states none.
    pub crs: Option<Crs>,
    /// Number of records, the bad ones included.
    pub rows: u64,
    /// The first 2,000 readable records and up to 2,000 spread evenly over the rest, in file order.
    pub sample: Vec<RawRecord>,
    /// What was decided and noticed, for `inspect`: `delimiter ;`, `encoding windows-1252 (guessed)` ...
    pub notes: Vec<String>,
    /// Geometry types with the number of records of each, sorted by name; `none` for a null geometry. Empty for a CSV.
    pub geometry_types: Vec<(String, u64)>,
    /// The files as they were before the first byte was read.
    stamps: Vec<stamp::Stamp>,
    plan: Plan,
}

/// How to read the records again.
#[derive(Debug)]
enum Plan {
    Delimited(Arc<delimited::DelimitedPlan>),
    Json(Arc<geojson::JsonPlan>),
    Layer(Arc<layer::LayerPlan>),
}

/// Reads every byte of an input once and decides what it is.
///
/// # Errors
/// The input is missing, unreadable, a folder, empty or of no known format; its text cannot be cut into records (a quote that
/// never closes, NUL bytes, no header, JSON that ends early or is nested deeper than 64); a record is larger than `bounds` allow, or a zip unpacks to more; several
/// layers and none chosen.
pub fn survey(input: &InputName, bounds: ReadBounds) -> Result<Survey> {
    let format = format::decide(input)?;
    let stamps = file_set::stamps(&input.path, format)?;
    let survey = match format {
        Format::Csv => delimited::survey(input, format, bounds),
        Format::GeoJson | Format::GeoJsonLines | Format::GeoJsonSequence => geojson::survey(input, format, bounds),
        format => layer_survey::survey(input, format, bounds),
    };
    Ok(Survey { stamps, ..survey? })
}

impl Survey {
    /// The records in chunks, in file order; each chunk is at most about 256 KiB of text or 1,024 records.
    ///
    /// # Errors
    /// The input has changed or vanished since the survey.
    pub fn chunks(&self) -> Result<Chunks> {
        match &self.plan {
            Plan::Delimited(plan) => Chunks::delimited(plan),
            Plan::Json(plan) => Chunks::json(plan),
            Plan::Layer(plan) => Chunks::layer(plan),
        }
    }

    /// Makes sure that the files still are what was surveyed; to be asked once all records have been read.
    ///
    /// # Errors
    /// A file has other bytes than at the survey, or is gone.
    pub fn check_unchanged(&self) -> Result<()> {
        self.stamps.iter().try_for_each(|stamp| stamp.check(&self.files))
    }
}

/// The version of the GDAL library that is loaded, e.g. `3.6.2`.
pub fn gdal_version() -> String {
    gdal::version::VersionInfo::release_name()
}

#[cfg(test)]
#[path = "open_data_tests.rs"]
mod tests;
