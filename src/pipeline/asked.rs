//! What an answer to each row has to bring within the rules: every limit with its verdict that is exceeded, and the permit's own part in it.

use crate::error::Result;
use crate::judge::{self, Case};
use crate::model::asked::{Asked, AskedTogether};
use crate::model::finding::Verdict;
use crate::model::results::{Results, Row, TogetherRow};
use crate::model::rows::RowHead;
use crate::rules::RuleSet;
use rayon::prelude::*;

/// One for each row that exceeds more than the limit that decided, or a limit together with others; by permit and tree.
///
/// # Errors
/// Rows cannot be read back.
pub(super) fn asked(rules: &RuleSet, results: &Results) -> Result<Vec<Asked>> {
    let of_row = |head: &RowHead| -> Result<Option<Asked>> {
        let together = results.worse_together(head);
        if together.is_none() && !matches!(head.verdict, Verdict::Moderate | Verdict::Major | Verdict::TrunkInWork) {
            return Ok(None);
        }
        let row = results.rows.read(head)?;
        let Some(own) = case_of(rules, &row) else { return Ok(None) };
        // Beside a trunk in a work, what else is to be kept within.
        let alone = judge::exceeded(&own, head.verdict.min(Verdict::Major));
        let together =
            together.map(|together| of_together(rules, results, together, (head.permit, &own))).transpose()?;
        // A single limit is the one that decided, which the row has.
        let says_more = together.is_some() || alone.len() > usize::from(head.verdict != Verdict::TrunkInWork);
        Ok(says_more.then_some(Asked { permit: head.permit, tree: head.tree, alone, together }))
    };
    let rows = results.rows.heads().par_iter().map(of_row);
    Ok(rows.collect::<Result<Vec<_>>>()?.into_iter().flatten().collect())
}

/// What of a row of several permits falls to one of them.
fn of_together(
    rules: &RuleSet,
    results: &Results,
    together: &TogetherRow,
    (permit, own): (u32, &Case<'_>),
) -> Result<AskedTogether> {
    let row = &together.row;
    let Some(case) = case_of(rules, row) else { return Ok(AskedTogether { limits: Vec::new(), others: Vec::new() }) };
    let all: Vec<u32> = together.permits.iter().copied().filter(|&other| other != permit).collect();
    let mut others = Vec::new();
    for &other in &all {
        let Some(head) = results.rows.of(other, row.tree) else { continue };
        let alone = results.rows.read(head)?;
        if case_of(rules, &alone).is_some_and(|part| judge::has_part_in_deciding(&case, &part)) {
            others.push(other);
        }
    }
    // What only comes about together is everybody's.
    let others = if others.is_empty() { all } else { others };
    Ok(AskedTogether { limits: judge::exceeded_in_part(&case, row.finding.verdict, own), others })
}

/// `None` for a tree without a usable diameter.
fn case_of<'a>(rules: &'a RuleSet, row: &'a Row) -> Option<Case<'a>> {
    row.zone.as_ref().map(|zone| Case { rules, tree: &row.of, zone, overlap: &row.overlap })
}
