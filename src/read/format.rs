//! Which format an input has, from its name and its first bytes together. Neither alone decides.

use super::text;
use crate::error::{Error, Result};
use crate::settings::InputName;
use std::path::Path;

/// A format that can be read.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Format {
    /// Delimited text with a header.
    Csv,
    /// One GeoJSON document (RFC 7946).
    GeoJson,
    /// One GeoJSON feature or geometry per line.
    GeoJsonLines,
    /// GeoJSON text sequence (RFC 8142): each text after a record separator (0x1E).
    GeoJsonSequence,
    /// OGC GeoPackage.
    GeoPackage,
    /// Shapefile, also zipped.
    Shapefile,
    /// FlatGeobuf.
    FlatGeobuf,
    /// File geodatabase folder, also zipped.
    FileGeodatabase,
    /// MapInfo TAB.
    MapInfoTab,
}

impl Format {
    /// Its name in messages.
    pub fn name(self) -> &'static str {
        match self {
            Format::Csv => "CSV",
            Format::GeoJson => "GeoJSON",
            Format::GeoJsonLines => "newline-delimited GeoJSON",
            Format::GeoJsonSequence => "GeoJSON text sequence",
            Format::GeoPackage => "GeoPackage",
            Format::Shapefile => "Shapefile",
            Format::FlatGeobuf => "FlatGeobuf",
            Format::FileGeodatabase => "file geodatabase",
            Format::MapInfoTab => "MapInfo TAB",
        }
    }
}

/// What is read, for hints.
const READABLE: &str =
    "give a CSV, GeoJSON, GeoPackage, Shapefile (or its zip), FlatGeobuf, .gdb folder or MapInfo TAB";

/// Decides the format.
///
/// # Errors
/// The input is missing, empty, a folder that is no file geodatabase, a network or virtual path, or its bytes are not what its
/// name says.
pub(super) fn decide(input: &InputName) -> Result<Format> {
    let path = &input.path;
    let at = path.display().to_string();
    if at.contains("://") || at.starts_with("/vsi") {
        return Err(Error::input(
            at,
            "this is not a file on this machine; nothing is read from the network",
            "download it first",
        ));
    }
    let metadata = std::fs::metadata(path).map_err(|e| Error::io(path, "read", e))?;
    let ending = path.extension().map(|e| e.to_string_lossy().to_lowercase()).unwrap_or_default();
    if metadata.is_dir() {
        return match ending.as_str() {
            "gdb" => Ok(Format::FileGeodatabase),
            _ => Err(Error::input(at, "this is a folder; expected a file", READABLE)),
        };
    }
    if !metadata.is_file() {
        return Err(Error::input(
            at,
            "this is not a plain file; expected a file that can be read twice",
            "save it to a file first",
        ));
    }
    if metadata.len() == 0 {
        return Err(Error::input(at, "the file is empty, got 0 bytes", "check how it was exported"));
    }
    let head = text::head(path, 4096)?;
    let by_bytes = of_bytes(&head);
    of_name(&ending, path, &at)?
        .map_or(Ok(by_bytes), |named| agree(named, by_bytes, &at))
        .and_then(|found| found.ok_or_else(|| unknown(&at)))
}

fn unknown(at: &str) -> Error {
    Error::input(at, "the file's bytes are of no format that is read here", READABLE)
}

/// The format that the ending promises. `Ok(None)` where it promises nothing.
fn of_name(ending: &str, path: &Path, at: &str) -> Result<Option<Format>> {
    let zipped = path.file_stem().map(|stem| stem.to_string_lossy().to_lowercase()).unwrap_or_default();
    Ok(Some(match ending {
        "csv" | "tsv" | "txt" => Format::Csv,
        "json" | "geojson" => Format::GeoJson,
        "geojsonl" | "ndjson" | "jsonl" | "ndgeojson" => Format::GeoJsonLines,
        "geojsons" | "geojsonseq" => Format::GeoJsonSequence,
        "gpkg" => Format::GeoPackage,
        "shp" | "shz" => Format::Shapefile,
        "fgb" => Format::FlatGeobuf,
        "tab" => Format::MapInfoTab,
        "zip" if zipped.ends_with(".gdb") => Format::FileGeodatabase,
        "zip" => Format::Shapefile,
        "dbf" | "shx" | "prj" | "cpg" => {
            let hint = format!("give {}", path.with_extension("shp").display());
            return Err(Error::input(at, "this is a companion of a shapefile; expected the .shp itself", hint));
        }
        "dat" | "map" | "id" => {
            let hint = format!("give {}", path.with_extension("tab").display());
            return Err(Error::input(at, "this may be a companion of a MapInfo TAB; expected the .tab itself", hint));
        }
        "xlsx" | "xls" | "ods" => {
            return Err(Error::input(
                at,
                "this is a spreadsheet; expected a table of text",
                "save the sheet as CSV (UTF-8)",
            ));
        }
        _ => return Ok(None),
    }))
}

/// What the first bytes say.
fn of_bytes(head: &[u8]) -> Option<Format> {
    let unmarked = head.strip_prefix(b"\xEF\xBB\xBF").unwrap_or(head).trim_ascii_start();
    match head {
        [b'P', b'K', 3, 4, ..] | [b'P', b'K', 5, 6, ..] => Some(Format::Shapefile),
        [0, 0, 0x27, 0x0A, ..] => Some(Format::Shapefile),
        [b'f', b'g', b'b', ..] => Some(Format::FlatGeobuf),
        _ if head.starts_with(b"SQLite format 3\0") => Some(Format::GeoPackage),
        _ if unmarked.len() > 5 && unmarked[..6].eq_ignore_ascii_case(b"!table") => Some(Format::MapInfoTab),
        _ if unmarked.starts_with(b"{") => Some(Format::GeoJson),
        _ if unmarked.starts_with(b"\x1E") => Some(Format::GeoJsonSequence),
        _ if unmarked.starts_with(b"<") || head.starts_with(b"%PDF") => None,
        _ => Some(Format::Csv),
    }
}

/// Name and bytes must agree, or differ in a way that is known to be harmless.
fn agree(named: Format, by_bytes: Option<Format>, at: &str) -> Result<Option<Format>> {
    use Format::{Csv, FileGeodatabase, GeoJson, GeoJsonLines, GeoJsonSequence, MapInfoTab, Shapefile};
    match (named, by_bytes) {
        (_, Some(bytes)) if named == bytes => Ok(by_bytes),
        (FileGeodatabase, Some(Shapefile)) => Ok(Some(FileGeodatabase)),
        // The lines of a line-delimited file begin like a document; a sequence shows itself by its separator.
        (GeoJsonLines | GeoJsonSequence, Some(GeoJson)) => Ok(Some(GeoJsonLines)),
        (GeoJson | GeoJsonLines, Some(GeoJsonSequence)) => Ok(Some(GeoJsonSequence)),
        // A first line that is not JSON is a bad row of a line-delimited file; a `.tab` may be tab-separated text.
        (GeoJsonLines, Some(Csv)) => Ok(Some(GeoJsonLines)),
        (MapInfoTab, Some(Csv)) => Ok(Some(Csv)),
        (named, bytes) => {
            let got = bytes.map_or("something else", Format::name);
            Err(Error::input(
                at,
                format!("the name says {}, the bytes are {got}; expected both to agree", named.name()),
                READABLE,
            ))
        }
    }
}
