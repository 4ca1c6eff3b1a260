//! Pieces of an input that can be turned into records on any thread.

use super::delimited::DelimitedPlan;
use super::geojson::JsonPlan;
use super::layer::{LayerPlan, LayerRows, OwnedRow};
use super::text::{TextEncoding, TextReader};
use super::{RowProblem, delimited, geojson};
use crate::error::{Error, Result};
use crate::model::record::RawRecord;
use std::path::PathBuf;
use std::sync::Arc;

/// Where a chunk of text begins and ends, in bytes of its UTF-8.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Cut {
    pub(super) offset: u64,
    pub(super) bytes: usize,
    /// Row of the first record in it (for a CSV the line on which the chunk begins).
    pub(super) first_row: u64,
}

/// How a text file is read again.
#[derive(Debug)]
pub(super) struct TextPlan {
    pub(super) path: PathBuf,
    pub(super) encoding: TextEncoding,
    pub(super) cuts: Vec<Cut>,
    pub(super) file_bytes: u64,
}

/// What a callback of [`RawChunk::for_each`] is given.
pub(super) type Row<'a> = std::result::Result<&'a RawRecord, RowProblem>;

/// The chunks of an input in file order: an iterator that reads as it goes.
pub struct Chunks {
    source: Source,
}

/// Where the next chunk comes from.
enum Source {
    Text(TextChunks),
    Layer(LayerRows),
    Ended,
}

struct TextChunks {
    reader: TextReader,
    at: u64,
    next: usize,
    records: TextRecords,
}

/// Which kind of text the chunks hold.
enum TextRecords {
    Delimited(Arc<DelimitedPlan>),
    Json(Arc<JsonPlan>),
}

impl TextRecords {
    fn text(&self) -> &TextPlan {
        match self {
            TextRecords::Delimited(plan) => &plan.text,
            TextRecords::Json(plan) => &plan.text,
        }
    }
}

impl Chunks {
    pub(super) fn delimited(plan: &Arc<DelimitedPlan>) -> Result<Chunks> {
        Ok(Chunks { source: Source::Text(TextChunks::open(TextRecords::Delimited(Arc::clone(plan)))?) })
    }

    pub(super) fn json(plan: &Arc<JsonPlan>) -> Result<Chunks> {
        Ok(Chunks { source: Source::Text(TextChunks::open(TextRecords::Json(Arc::clone(plan)))?) })
    }

    pub(super) fn layer(plan: &Arc<LayerPlan>) -> Result<Chunks> {
        Ok(Chunks { source: Source::Layer(plan.rows()?) })
    }
}

impl Iterator for Chunks {
    type Item = Result<RawChunk>;

    fn next(&mut self) -> Option<Result<RawChunk>> {
        let chunk = match &mut self.source {
            Source::Text(text) => text.next(),
            Source::Layer(rows) => match rows.next_chunk() {
                Ok(rows) if rows.is_empty() => None,
                Ok(rows) => Some(Ok(RawChunk { body: Body::Rows(rows) })),
                Err(error) => Some(Err(error)),
            },
            Source::Ended => None,
        };
        if !matches!(chunk, Some(Ok(_))) {
            self.source = Source::Ended;
        }
        chunk
    }
}

impl TextChunks {
    fn open(records: TextRecords) -> Result<TextChunks> {
        let text = records.text();
        let bytes = std::fs::metadata(&text.path).map_err(|e| Error::io(&text.path, "read", e))?.len();
        if bytes != text.file_bytes {
            return Err(changed(text));
        }
        Ok(TextChunks { reader: TextReader::open(&text.path, text.encoding, false)?, at: 0, next: 0, records })
    }

    fn next(&mut self) -> Option<Result<RawChunk>> {
        let cut = *self.records.text().cuts.get(self.next)?;
        self.next += 1;
        Some(self.read(cut))
    }

    fn read(&mut self, cut: Cut) -> Result<RawChunk> {
        let mut bytes = Vec::with_capacity(cut.bytes);
        self.read_exactly(&mut bytes, usize::try_from(cut.offset - self.at).expect("cuts follow each other"))?;
        bytes.clear();
        self.read_exactly(&mut bytes, cut.bytes)?;
        self.at = cut.offset + cut.bytes as u64;
        let body = match &self.records {
            TextRecords::Delimited(plan) => Body::Delimited(Arc::clone(plan), bytes, cut.first_row),
            TextRecords::Json(plan) => Body::Json(Arc::clone(plan), bytes, cut.first_row),
        };
        Ok(RawChunk { body })
    }

    fn read_exactly(&mut self, bytes: &mut Vec<u8>, wanted: usize) -> Result<()> {
        while bytes.len() < wanted {
            let missing = wanted - bytes.len();
            if !self.reader.append_exactly(bytes, missing)? {
                return Err(changed(self.records.text()));
            }
        }
        Ok(())
    }
}

fn changed(text: &TextPlan) -> Error {
    Error::input(
        text.path.display().to_string(),
        "the file changed while it was being read",
        "run again when nothing writes to it",
    )
}

/// A piece of an input; parsing happens in [`for_each`](RawChunk::for_each), on the thread that calls it.
#[derive(Debug)]
pub struct RawChunk {
    body: Body,
}

#[derive(Debug)]
enum Body {
    Delimited(Arc<DelimitedPlan>, Vec<u8>, u64),
    Json(Arc<JsonPlan>, Vec<u8>, u64),
    Rows(Vec<OwnedRow>),
}

impl RawChunk {
    /// Calls `f` for every record of the chunk in file order, and for every record that cannot be read.
    ///
    /// The record is used again for the next one: take what you need from it.
    pub fn for_each(&self, f: &mut dyn FnMut(std::result::Result<&RawRecord, RowProblem>)) {
        match &self.body {
            Body::Delimited(plan, bytes, line) => delimited::for_each(plan, bytes, *line, f),
            Body::Json(plan, bytes, row) => geojson::for_each(plan, bytes, *row, f),
            Body::Rows(rows) => rows.iter().for_each(|row| f(row.as_ref().map_err(RowProblem::clone))),
        }
    }
}
