//! Turns items into what is written of them in parallel, and hands it on in the items' order: the same bytes for any number of threads.

use super::staging::StagedFile;
use crate::error::Result;
use crate::in_order::in_order;

/// Items that one worker takes at a time.
const CHUNK: usize = 128;
/// Chunks that are worked on at once, while the text of as many waits to be written.
const CHUNKS_AT_ONCE: usize = 16;

/// Encodes all chunks and puts what comes out, in order. `encode` must depend on its items alone.
///
/// # Errors
/// The first error in the items' order, of `encode` or of `put`.
pub fn in_chunks<T: Sync, E: Send>(
    items: &[T],
    encode: impl Fn(&[T]) -> Result<E> + Sync,
    mut put: impl FnMut(E) -> Result<()>,
) -> Result<()> {
    in_order(items.chunks(CHUNK).map(Ok), CHUNKS_AT_ONCE, encode, |encoded| put(encoded?))
}

/// Writes the texts of all chunks, in order. `serialise` must depend on its items alone.
///
/// # Errors
/// The first error in the items' order, or the system's where the file cannot be written.
pub fn write_in_order<T: Sync>(
    items: &[T],
    file: &mut StagedFile,
    serialise: impl Fn(&[T]) -> Result<Vec<u8>> + Sync,
) -> Result<()> {
    in_chunks(items, serialise, |text| file.put(&text))
}
