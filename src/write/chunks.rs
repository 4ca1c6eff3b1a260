//! Turns items into text in parallel and writes the text in the items' order: the same bytes for any number of threads.

use super::staging::StagedFile;
use crate::error::Result;
use rayon::prelude::*;

/// Items that one worker takes at a time.
const CHUNK: usize = 128;
/// Chunks whose text is held in memory at once.
const CHUNKS_HELD: usize = 128;

/// Writes the texts of all chunks, in order. `serialise` must depend on its items alone.
///
/// # Errors
/// The first error in the items' order, or the system's where the file cannot be written.
pub fn write_in_order<T: Sync>(
    items: &[T],
    file: &mut StagedFile,
    serialise: impl Fn(&[T]) -> Result<Vec<u8>> + Sync,
) -> Result<()> {
    for held in items.chunks(CHUNK * CHUNKS_HELD) {
        let texts: Vec<Result<Vec<u8>>> = held.par_chunks(CHUNK).map(&serialise).collect();
        for text in texts {
            file.put(&text?)?;
        }
    }
    Ok(())
}
