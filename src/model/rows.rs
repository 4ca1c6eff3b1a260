//! The rows of a run: what puts them in order and counts them is held in memory, the rest waits in a file until it is written.
//!
//! A large city has more rows than memory should hold. A row goes into the file as it was measured, with its [`RowHead`] saying where;
//! whoever writes it reads it back.

use super::finding::Verdict;
use super::results::{Row, RowDiameter};
use super::species::Certainty;
use super::text::Text;
use super::tree::Tree;
use std::cmp::Ordering;
use std::collections::HashMap;
use std::fs::File;
use std::io::{self, ErrorKind, Write};
use std::ops::Range;
use std::os::unix::fs::FileExt;
use std::sync::Arc;

/// What the system says of the file in which rows wait.
#[derive(Debug, thiserror::Error)]
#[error("cannot {action} the rows that wait: {source}")]
pub struct WaitingError {
    /// `read` or `write`.
    pub action: &'static str,
    /// Its words.
    pub source: io::Error,
}

impl WaitingError {
    fn reading(source: io::Error) -> WaitingError {
        WaitingError { action: "read", source }
    }

    fn writing(source: io::Error) -> WaitingError {
        WaitingError { action: "write", source }
    }
}

/// What comes of a file in which rows wait.
type Result<T> = std::result::Result<T, WaitingError>;

/// The warning of a severing cut that is close to the trunk.
const CUT_CLOSE: &str = "qualified_arborist_before_cutting";
/// The warning of a barrier that was passed over.
const OVER_TRUNK: &str = "barrier_over_trunk";

/// What of a row orders and counts it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct RowHead {
    /// As [`Row::rule_set`].
    pub rule_set: u16,
    /// As [`Row::permit`].
    pub permit: u32,
    /// As [`Row::tree`].
    pub tree: u32,
    /// The verdict of its finding.
    pub verdict: Verdict,
    /// Whether the tree reaches a heritage class.
    pub heritage_size: bool,
    /// Whether the finding is borderline.
    pub borderline: bool,
    /// Whether a severing cut is close to the trunk.
    pub cut_close: bool,
    /// Whether barriers shape the zone.
    pub shaped: bool,
    /// Whether the whole disc would have a worse finding.
    pub milder_for_shape: bool,
    /// Whether the tree stands on a barrier, which was passed over.
    pub over_trunk: bool,
    /// Whether the rule set has a rule on replacement that may mean the tree, or names its class.
    pub replaced: bool,
    /// Whether the tree goes, so that something may be owed now.
    pub removed: bool,
    /// Whether the botanical table does not have the tree's species.
    pub species_unmatched: bool,
    /// As [`Row::affected_share`].
    pub affected_share: f64,
    /// The diameter that the measures rest on, metres; 0 where unknown.
    pub diameter_m: f64,
    bytes: u32,
    at: u64,
}

impl RowHead {
    /// The same row of the tree of that index.
    #[must_use]
    pub fn of_tree(self, tree: u32) -> RowHead {
        RowHead { tree, ..self }
    }

    /// Heritage-size and `major` or `trunk_in_work`.
    pub fn at_risk(&self) -> bool {
        self.heritage_size && self.verdict.puts_at_risk()
    }

    /// The order of worse rows first: finding, then affected share, then diameter. Equal where these are equal.
    pub fn worse_first(&self, other: &RowHead) -> Ordering {
        let by_finding = other.verdict.cmp(&self.verdict);
        let by_share = other.affected_share.total_cmp(&self.affected_share);
        by_finding.then(by_share).then_with(|| other.diameter_m.total_cmp(&self.diameter_m))
    }
}

/// One permit and tree with a verdict, whole or in short.
pub trait Judged {
    /// Index of the permit.
    fn permit(&self) -> u32;
    /// Index of the tree.
    fn tree(&self) -> u32;
    /// The verdict.
    fn verdict(&self) -> Verdict;
}

impl Judged for RowHead {
    fn permit(&self) -> u32 {
        self.permit
    }
    fn tree(&self) -> u32 {
        self.tree
    }
    fn verdict(&self) -> Verdict {
        self.verdict
    }
}

impl Judged for Row {
    fn permit(&self) -> u32 {
        self.permit
    }
    fn tree(&self) -> u32 {
        self.tree
    }
    fn verdict(&self) -> Verdict {
        self.finding.verdict
    }
}

impl<T: Judged> Judged for &T {
    fn permit(&self) -> u32 {
        (**self).permit()
    }
    fn tree(&self) -> u32 {
        (**self).tree()
    }
    fn verdict(&self) -> Verdict {
        (**self).verdict()
    }
}

impl Row {
    /// What orders and counts the row.
    pub fn head(&self) -> RowHead {
        let replacement = self.replacement.as_deref();
        let classed = !self.heritage_class.is_empty() || !self.protected_class.is_empty();
        RowHead {
            rule_set: self.rule_set,
            permit: self.permit,
            tree: self.tree,
            verdict: self.finding.verdict,
            heritage_size: !self.heritage_class.is_empty(),
            borderline: !self.borderline.is_empty(),
            cut_close: self.finding.warnings.contains(&CUT_CLOSE),
            shaped: self.unshaped.is_some(),
            milder_for_shape: self.unshaped.as_ref().is_some_and(|disc| self.finding.verdict < disc.verdict),
            over_trunk: self.zone.as_ref().is_some_and(|zone| zone.warnings.contains(&OVER_TRUNK)),
            replaced: replacement.is_some_and(|one| one.owed.is_some() || classed),
            removed: replacement.is_some_and(|one| !one.removed_because.is_empty()),
            species_unmatched: self.of.botanical.certainty == Certainty::Unmatched,
            affected_share: self.affected_share(),
            diameter_m: RowDiameter::used_m(&self.diameter).unwrap_or(0.0),
            bytes: 0,
            at: 0,
        }
    }
}

/// Rows on their way into the file: those of one chunk of trees.
#[derive(Debug, Default)]
pub struct PackedRows {
    heads: Vec<RowHead>,
    bytes: Vec<u8>,
}

impl PackedRows {
    /// Adds a row.
    pub fn push(&mut self, row: &Row) {
        let at = self.bytes.len();
        postcard::to_io(row, &mut self.bytes).expect("a row has a form in bytes, and memory takes them");
        let bytes = u32::try_from(self.bytes.len() - at).expect("a row is less than 4 GiB");
        self.heads.push(RowHead { at: at as u64, bytes, ..row.head() });
    }

    /// Rows so far.
    pub fn len(&self) -> usize {
        self.heads.len()
    }

    /// Whether there is none.
    pub fn is_empty(&self) -> bool {
        self.heads.is_empty()
    }
}

/// The file in which rows wait.
#[derive(Debug, Clone, Default)]
pub struct RowFile {
    /// `None` before the first row.
    file: Option<Arc<File>>,
    bytes: u64,
}

impl RowFile {
    /// An empty file, open for reading and writing.
    pub fn new(file: File) -> RowFile {
        RowFile { file: Some(Arc::new(file)), bytes: 0 }
    }

    /// Appends rows; gives their heads.
    ///
    /// # Errors
    /// As the system says.
    pub fn append(&mut self, packed: PackedRows) -> Result<impl Iterator<Item = RowHead>> {
        let start = self.bytes;
        if !packed.bytes.is_empty() {
            self.open().and_then(|mut file| file.write_all(&packed.bytes)).map_err(WaitingError::writing)?;
            self.bytes += packed.bytes.len() as u64;
        }
        Ok(packed.heads.into_iter().map(move |head| RowHead { at: head.at + start, ..head }))
    }

    fn read(&self, head: &RowHead) -> Result<Row> {
        let mut bytes = vec![0; head.bytes as usize];
        let filled = self.open().and_then(|file| file.read_exact_at(&mut bytes, head.at));
        let row = filled
            .and_then(|()| postcard::from_bytes(&bytes).map_err(|error| io::Error::new(ErrorKind::InvalidData, error)));
        row.map_err(WaitingError::reading)
    }

    fn open(&self) -> io::Result<&File> {
        self.file.as_deref().ok_or_else(|| ErrorKind::NotFound.into())
    }
}

/// The rows of a run in their order.
#[derive(Debug, Clone, Default)]
pub struct Rows {
    heads: Vec<RowHead>,
    /// Ids of trees that are told otherwise than their records have them, by number.
    renamed: HashMap<u32, Text>,
    file: RowFile,
}

impl Rows {
    /// Rows in the order of their heads, and the ids of trees that are told otherwise than their records have them.
    pub fn new(heads: Vec<RowHead>, renamed: HashMap<u32, Text>, file: RowFile) -> Rows {
        Rows { heads, renamed, file }
    }

    /// Puts rows into a file.
    ///
    /// # Errors
    /// As the system says.
    pub fn put(rows: &[Row], file: File) -> Result<Rows> {
        let mut file = RowFile::new(file);
        let mut packed = PackedRows::default();
        rows.iter().for_each(|row| packed.push(row));
        let heads = file.append(packed)?.collect();
        Ok(Rows { heads, file, renamed: HashMap::new() })
    }

    /// What orders and counts them.
    pub fn heads(&self) -> &[RowHead] {
        &self.heads
    }

    /// How many trees have a row.
    pub fn trees(&self) -> usize {
        self.heads.iter().map(|head| head.tree as usize + 1).max().unwrap_or(0)
    }

    /// Reads all trees back, by their number.
    ///
    /// # Errors
    /// As the system says.
    pub fn read_trees(&self) -> Result<Vec<Tree>> {
        let mut first: Vec<&RowHead> = self.heads.iter().collect();
        first.sort_by_key(|head| head.tree);
        first.dedup_by_key(|head| head.tree);
        first.into_iter().map(|head| Ok(Arc::unwrap_or_clone(self.read(head)?.of))).collect()
    }

    /// Where those of one permit stand among the heads.
    pub fn of_permit(&self, permit: u32) -> Range<usize> {
        let from = self.heads.partition_point(|head| head.permit < permit);
        from..self.heads.partition_point(|head| head.permit <= permit)
    }

    /// The row of a permit and a tree, where there is one.
    pub fn of(&self, permit: u32, tree: u32) -> Option<&RowHead> {
        let at = self.heads.binary_search_by_key(&(permit, tree), |head| (head.permit, head.tree)).ok()?;
        self.heads.get(at)
    }

    /// Reads a row back: one of [`Rows::heads`], or of another rule set of the run.
    ///
    /// # Errors
    /// As the system says.
    pub fn read(&self, head: &RowHead) -> Result<Row> {
        let row = Row { tree: head.tree, ..self.file.read(head)? };
        Ok(match self.renamed.get(&head.tree) {
            Some(id) => Row { of: Arc::new(Tree { id: id.clone(), ..Arc::unwrap_or_clone(row.of) }), ..row },
            None => row,
        })
    }

    /// Reads several.
    ///
    /// # Errors
    /// As the system says.
    pub fn read_all(&self, heads: &[RowHead]) -> Result<Vec<Row>> {
        heads.iter().map(|head| self.read(head)).collect()
    }
}

#[cfg(test)]
#[path = "rows_tests.rs"]
mod tests;
