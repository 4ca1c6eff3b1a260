//! Checks of a shapefile's own headers, which GDAL does not make: parts that are missing, files that end early, deleted rows.
//!
//! # Source
//! ESRI Shapefile Technical Description (1998): file length in 16-bit words at byte 24, big-endian. dBASE III header: records at
//! byte 4, header length at 8, record length at 10, little-endian; language driver at 29. (From memory.)

use super::file_set::companion;
use super::text;
use crate::error::{Error, Result};
use std::io::{Read, Seek, SeekFrom};
use std::path::Path;

/// The head of an index, and each of its entries: where a shape starts and how long it is.
const INDEX_HEAD_BYTES: u64 = 100;
const INDEX_ENTRY_BYTES: u64 = 8;

/// What a table of attributes says about itself.
#[derive(Debug, Default, Clone, Copy)]
pub(super) struct TableFacts {
    /// Rows, deleted ones included.
    pub(super) rows: u64,
    /// Rows that are marked as deleted; GDAL passes over them.
    pub(super) deleted: u64,
    /// True where no encoding is stated and the text is UTF-8 all the same.
    pub(super) unstated_utf8: bool,
}

/// Checks the parts of a shapefile.
///
/// # Errors
/// The index (.shx) is missing or lists other than the rows there are, or a part is shorter than its header says.
pub(super) fn check(path: &Path) -> Result<TableFacts> {
    let at = path.display().to_string();
    whole(path)?;
    let Some(index) = companion(path, "shx")? else {
        let what = "its index (.shx) is missing; expected it beside the .shp";
        return Err(Error::input(at, what, "export the shapefile again with all its parts (.shp .shx .dbf .prj)"));
    };
    let listed = whole(&index)?.saturating_sub(INDEX_HEAD_BYTES) / INDEX_ENTRY_BYTES;
    let held = (file_bytes(&index)?.saturating_sub(INDEX_HEAD_BYTES)) / INDEX_ENTRY_BYTES;
    let encoding_stated = companion(path, "cpg")?.is_some();
    let table = companion(path, "dbf")?;
    let facts = table.map_or(Ok(None), |table| check_table(&table, encoding_stated).map(Some))?;
    let rows = facts.map_or(held, |facts| facts.rows);
    if listed != rows {
        let what = format!("its index (.shx) lists {listed} shapes, expected {rows}, as many as there are rows");
        return Err(Error::input(at, what, "copy or export it again"));
    }
    Ok(facts.unwrap_or_default())
}

fn file_bytes(path: &Path) -> Result<u64> {
    Ok(std::fs::metadata(path).map_err(|e| Error::io(path, "read", e))?.len())
}

/// Compares the length in a .shp or .shx header with the file's; what the header says, in bytes.
fn whole(path: &Path) -> Result<u64> {
    let head = text::head(path, 28)?;
    let bytes = file_bytes(path)?;
    let words = head.get(24..28).map_or(u32::MAX, |b| u32::from_be_bytes([b[0], b[1], b[2], b[3]]));
    let stated = u64::from(words) * 2;
    if bytes < stated.max(100) {
        let what = format!("the file ends early, got {bytes} bytes; its header says {stated}");
        return Err(Error::input(path.display().to_string(), what, "copy or export it again"));
    }
    Ok(stated)
}

/// Checks a dBASE table (.dbf, or the .dat of a TAB).
pub(super) fn check_table(path: &Path, encoding_stated: bool) -> Result<TableFacts> {
    let head = text::head(path, 32)?;
    let short = |at: usize| head.get(at..at + 2).map_or(0, |b| u64::from(u16::from_le_bytes([b[0], b[1]])));
    let rows = short(4) | short(6) << 16;
    let (header_bytes, row_bytes) = (short(8), short(10));
    let bytes = file_bytes(path)?;
    let stated = header_bytes + rows * row_bytes;
    if bytes < stated || row_bytes == 0 {
        let what = format!("the table of attributes ends early, got {bytes} bytes; its header says {stated}");
        return Err(Error::input(path.display().to_string(), what, "copy or export it again"));
    }
    let mut facts = TableFacts { rows, ..TableFacts::default() };
    let mut tally = (0, 0);
    let mut file = text::open(path)?;
    let io = |e| Error::io(path, "read", e);
    file.seek(SeekFrom::Start(header_bytes)).map_err(io)?;
    let per_read = ((1 << 20) / row_bytes).max(1);
    let mut left = rows;
    while left > 0 {
        let take = left.min(per_read);
        let mut block = vec![0; usize::try_from(take * row_bytes).expect("a block is about 1 MiB")];
        file.read_exact(&mut block).map_err(io)?;
        facts.deleted += block.chunks_exact(row_bytes as usize).filter(|row| row[0] == b'*').count() as u64;
        if !block.is_ascii() {
            let (whole, broken) = text::utf8_tally(&block);
            tally = (tally.0 + whole, tally.1 + broken);
        }
        left -= take;
    }
    let language = head.get(29).copied().unwrap_or(0);
    // A cell's last character may be cut by the width of its column: a few broken ones do not disprove UTF-8.
    facts.unstated_utf8 = !encoding_stated && matches!(language, 0 | 0x57) && tally.0 > 10 * tally.1;
    Ok(facts)
}
