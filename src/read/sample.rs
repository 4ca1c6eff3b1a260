//! Which records of a stream of unknown length make up the sample: the first 2,000 and 2,000 evenly spread.
//!
//! The spread keeps every n-th record and doubles n whenever too many have gathered, so the choice depends on the file alone.

/// Number of records from the start, and at most so many spread over the rest.
const PART: usize = 2_000;
/// The sample's memory is bounded to about this, whatever the records hold.
const MAX_BYTES: usize = 32 << 20;

/// Gathers a sample while records pass by.
#[derive(Debug)]
pub(super) struct Sampler<T> {
    first: Vec<T>,
    first_bytes: usize,
    spread: Vec<(u64, usize, T)>,
    spread_bytes: usize,
    stride: u64,
    seen: u64,
}

impl<T> Sampler<T> {
    pub(super) fn new() -> Sampler<T> {
        Sampler { first: Vec::new(), first_bytes: 0, spread: Vec::new(), spread_bytes: 0, stride: 1, seen: 0 }
    }

    /// Counts the next record and says whether [`keep`](Self::keep) should be called for it.
    pub(super) fn wants_next(&mut self) -> bool {
        let index = self.seen;
        self.seen += 1;
        self.in_first(index) || index.is_multiple_of(self.stride)
    }

    /// Keeps the record that was just asked about; `bytes` is about its size.
    pub(super) fn keep(&mut self, item: T, bytes: usize) {
        let index = self.seen - 1;
        if self.in_first(index) {
            self.first.push(item);
            self.first_bytes += bytes;
            return;
        }
        self.spread.push((index, bytes, item));
        self.spread_bytes += bytes;
        while self.spread.len() > 2 * PART || (self.spread_bytes > MAX_BYTES && self.spread.len() > 1) {
            self.stride *= 2;
            let stride = self.stride;
            self.spread.retain(|(index, ..)| index.is_multiple_of(stride));
            self.spread_bytes = self.spread.iter().map(|(_, bytes, _)| bytes).sum();
        }
    }

    fn in_first(&self, index: u64) -> bool {
        index < PART as u64 && self.first_bytes < MAX_BYTES
    }

    /// The sample in the order of the records.
    pub(super) fn finish(mut self) -> Vec<T> {
        let gathered = self.spread.len();
        let mut position = 0;
        self.spread.retain(|_| {
            let keep = gathered <= PART || position * PART / gathered != (position + 1) * PART / gathered;
            position += 1;
            keep
        });
        self.first.extend(self.spread.into_iter().map(|(.., item)| item));
        self.first
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn sample_of(rows: u64) -> Vec<u64> {
        let mut sampler = Sampler::new();
        for row in 0..rows {
            if sampler.wants_next() {
                sampler.keep(row, 8);
            }
        }
        sampler.finish()
    }

    #[test]
    fn small_files_are_taken_whole() {
        assert_eq!(sample_of(3_999), (0..3_999).collect::<Vec<_>>());
    }

    #[test]
    fn large_files_are_spread_to_the_end_without_duplicates() {
        for rows in [4_001, 10_000, 123_457, 1_000_000] {
            let sample = sample_of(rows);
            assert!(sample.windows(2).all(|pair| pair[0] < pair[1]), "{rows}");
            assert!((3_000..=4_000).contains(&sample.len()), "{rows}: {}", sample.len());
            let gap = sample.windows(2).map(|pair| pair[1] - pair[0]).max().unwrap();
            assert!(gap <= rows / 500 + 3, "{rows}: gap {gap}");
            assert!(sample[sample.len() - 1] > rows - rows / 500 - 3, "{rows}");
        }
    }
}
