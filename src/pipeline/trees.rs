//! The tree pass: chunks of a file go to the workers, each tree is placed, measured and judged on its own, and only trees
//! with rows are kept.

use super::extent::Extent;
use super::lines::LineReach;
use super::open::OpenTrees;
use super::progress::Progress;
use super::rows::Bench;
use super::spent::{Spent, place_code};
use crate::error::{Error, Result};
use crate::in_order::in_order;
use crate::issue::{Issue, Outcome};
use crate::model::record::RawRecord;
use crate::model::results::Row;
use crate::model::rows::{PackedRows, RowFile, RowHead};
use crate::model::source::SourceRef;
use crate::model::text::Text;
use crate::model::tree::{Stems, Tree};
use crate::projection::{Operation, Projector};
use crate::read::RawChunk;
use geo::{Coord, Rect};
use std::sync::Arc;

/// Chunks per worker that are worked on at once, while as many more are fetched: enough to keep all busy, few enough to bound memory.
const CHUNKS_PER_WORKER: usize = 8;

/// A tree that has rows: what puts it in order and finds its duplicates.
pub(super) struct Kept {
    pub id: Text,
    pub source: SourceRef,
    /// Trunk centre in the measuring CRS, metres.
    pub place: Coord<f64>,
    /// Without a usable diameter.
    pub unmeasured: bool,
    /// Its rows among the heads of the pass: the first, and how many.
    pub rows: (u32, u32),
}

/// Trees with rows and the books of the pass.
pub(super) struct TreePass {
    pub trees: Vec<Kept>,
    /// What orders and counts the rows.
    pub heads: Vec<RowHead>,
    /// Trees without a row of the deciding rule set that a moved service line could reach; none where protection is not asked for.
    pub neighbours: Vec<Tree>,
    pub spent: Spent,
    /// Extent of all places, measuring CRS.
    pub extent: Extent,
}

impl TreePass {
    pub(super) fn new(files: usize) -> TreePass {
        TreePass {
            trees: Vec::new(),
            heads: Vec::new(),
            neighbours: Vec::new(),
            spent: Spent::new(files),
            extent: Extent::default(),
        }
    }

    /// Takes over what came of a chunk, and puts its rows into the file.
    fn add(&mut self, chunk: ChunkPass, file: &mut RowFile) -> Result<()> {
        let before = number(self.heads.len());
        let appended = file.append(chunk.rows)?;
        self.heads.extend(appended);
        self.trees.extend(chunk.trees.into_iter().map(|kept| {
            let (first, rows) = kept.rows;
            Kept { rows: (before + first, rows), ..kept }
        }));
        self.neighbours.extend(chunk.neighbours);
        self.spent.add(chunk.spent);
        self.extent.join(chunk.extent);
        Ok(())
    }
}

fn number(rows: usize) -> u32 {
    u32::try_from(rows).expect("fewer than 4 billion rows")
}

/// What came of one chunk of a file.
struct ChunkPass {
    trees: Vec<Kept>,
    rows: PackedRows,
    neighbours: Vec<Tree>,
    spent: Spent,
    extent: Extent,
}

/// One tree file and the way into the measuring plane.
pub(super) struct TreeFile<'a> {
    pub open: &'a OpenTrees,
    pub file: u16,
    pub files: usize,
    /// `None` where no sampled record has a place: every record is set aside.
    pub operation: Option<&'a Operation>,
    /// One per rule set.
    pub benches: &'a [Bench<'a>],
    /// Where protection is asked for.
    pub lines: Option<&'a LineReach<'a>>,
}

impl TreeFile<'_> {
    /// Reads the whole file into the pass; results are in the order of the file whatever the number of workers.
    pub(super) fn screen(&self, pass: &mut TreePass, file: &mut RowFile, progress: &dyn Progress) -> Result<()> {
        let at = || self.open.survey.input.display();
        let of_chunk = |chunk: RawChunk| match self.operation.map(Projector::new).transpose() {
            Ok(projector) => Ok(self.chunk(&chunk, projector.as_ref())),
            Err(error) => Err(Error::Crs { at: at(), what: error.to_string(), hint: String::new() }),
        };
        in_order(self.open.survey.chunks()?, chunks_at_once(), of_chunk, |part: Result<ChunkPass>| {
            let part = part?;
            progress.advance(part.spent.counts[self.file as usize].read);
            pass.add(part, file)
        })
    }

    fn chunk(&self, chunk: &RawChunk, projector: Option<&Projector>) -> ChunkPass {
        let mut pass = ChunkPass {
            trees: Vec::new(),
            rows: PackedRows::default(),
            neighbours: Vec::new(),
            spent: Spent::new(self.files),
            extent: Extent::default(),
        };
        chunk.for_each(&mut |record| {
            pass.spent.read(self.file);
            match record {
                Ok(record) => self.record(record, projector, &mut pass),
                Err(problem) => {
                    let source = SourceRef { file: self.file, row: problem.row };
                    pass.spent.set_aside(Issue::new(source, "", problem.code, Outcome::SetAside, problem.detail));
                }
            }
        });
        pass
    }

    fn record(&self, record: &RawRecord, projector: Option<&Projector>, pass: &mut ChunkPass) {
        let source = SourceRef { file: self.file, row: record.row };
        pass.spent.dated(self.file, self.open.plan.date(record));
        let refused = |code, detail| {
            let id = self.open.plan.id(record);
            Issue::new(source, id, code, Outcome::SetAside, detail)
        };
        let written = match self.open.plan.place(record) {
            Ok(written) => written,
            Err(problem) => return pass.spent.set_aside(problem.issue(source, &self.open.plan.id(record))),
        };
        let Some(projector) = projector else {
            return pass
                .spent
                .set_aside(refused("no-place", "no place like it was found when the file was surveyed".to_string()));
        };
        let place = match projector.forward(written.x, written.y) {
            Ok(place) => place,
            Err(problem) => {
                let exchanged = if written.y.abs() > 90.0 && written.x.abs() <= 90.0 {
                    "; longitude and latitude look exchanged"
                } else {
                    ""
                };
                let detail = format!("the place {}, {} is {problem}{exchanged}", written.x, written.y);
                return pass.spent.set_aside(refused(place_code(problem), detail));
            }
        };
        let mut issues = Vec::new();
        let Some(tree) = self.open.plan.tree(record, source, place, &mut issues).map(Arc::new) else {
            issues.into_iter().for_each(|issue| pass.spent.set_aside(issue.at(Some(Rect::new(place, place)))));
            return;
        };
        pass.extent.take(place);
        let rows: Vec<Row> = self.benches.iter().flat_map(|bench| bench.rows(&tree)).collect();
        if !rows.is_empty()
            && let Err(problem) = projector.checked(written.x, written.y)
        {
            return pass
                .spent
                .set_aside(refused(place_code(problem), problem.to_string()).at(Some(Rect::new(place, place))));
        }
        let decided = rows.iter().any(|row| row.rule_set == 0);
        if !decided && self.lines.is_some_and(|lines| lines.is_neighbour(&tree)) {
            pass.neighbours.push(Tree::clone(&tree));
        }
        self.keep(&tree, &rows, issues, pass);
    }

    /// Books a tree, and keeps it where it has rows.
    fn keep(&self, tree: &Tree, rows: &[Row], issues: Vec<Issue>, pass: &mut ChunkPass) {
        let counts = &mut pass.spent.counts[self.file as usize];
        if matches!(tree.stems, Stems::Unknown(_)) {
            counts.without_diameter += 1;
        }
        if rows.is_empty() {
            counts.out_of_reach += 1;
            return;
        }
        counts.used += 1;
        pass.spent.note(issues);
        pass.trees.push(Kept {
            id: tree.id.clone(),
            source: tree.source,
            place: tree.place,
            unmeasured: matches!(tree.stems, Stems::Unknown(_)),
            rows: (number(pass.rows.len()), number(rows.len())),
        });
        rows.iter().for_each(|row| pass.rows.push(row));
    }
}

/// Chunks that are worked on at once.
pub(super) fn chunks_at_once() -> usize {
    CHUNKS_PER_WORKER * rayon::current_num_threads()
}
