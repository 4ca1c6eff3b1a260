//! A raw record: text cells and, where the format has one, a geometry. Nothing in it has been interpreted.

use geo::Geometry;

/// One record as `read` found it.
///
/// All cells are text in the file's own spelling (JSON numbers as written, JSON null as the empty text, JSON arrays and
/// objects as their JSON text; GDAL numbers in their shortest form). Order of cells = order of the survey's columns.
#[derive(Debug, Clone, Default)]
pub struct RawRecord {
    /// Row in its file, from 1 (see [`SourceRef`](super::source::SourceRef)).
    pub row: u64,
    text: String,
    ends: Vec<u32>,
    /// The geometry in the file's own CRS and axis order easting/longitude first; `None` in a CSV and for a null geometry.
    pub geometry: Option<Geometry<f64>>,
}

impl RawRecord {
    /// Empties the record so that it can be filled again without new memory.
    pub fn clear(&mut self, row: u64) {
        self.row = row;
        self.text.clear();
        self.ends.clear();
        self.geometry = None;
    }

    /// Adds the next cell.
    pub fn push(&mut self, cell: &str) {
        self.text.push_str(cell);
        self.ends.push(u32::try_from(self.text.len()).expect("read refuses records over 4 GiB"));
    }

    /// Number of cells.
    pub fn len(&self) -> usize {
        self.ends.len()
    }

    /// True where the record has no cell.
    pub fn is_empty(&self) -> bool {
        self.ends.is_empty()
    }

    /// The text of a cell; empty where the record is shorter.
    pub fn cell(&self, column: usize) -> &str {
        let Some(&end) = self.ends.get(column) else { return "" };
        let start = if column == 0 { 0 } else { self.ends[column - 1] };
        &self.text[start as usize..end as usize]
    }
}
