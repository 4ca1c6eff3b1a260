//! What an answer to each row has to bring within the rules: every limit with its verdict that is exceeded, and the permit's own part in it.

use crate::error::Result;
use crate::judge::{self, Case};
use crate::model::asked::Asked;
use crate::model::finding::Verdict;
use crate::model::results::{Results, Row};
use crate::model::rows::RowHead;
use crate::rules::RuleSet;
use rayon::prelude::*;

/// One for each row that exceeds a limit, by permit and tree.
///
/// # Errors
/// Rows cannot be read back.
pub(super) fn asked(rules: &RuleSet, results: &Results) -> Result<Vec<Asked>> {
    let of_row = |head: &RowHead| -> Result<Option<Asked>> {
        let together = results.worse_together(head).map(|together| &together.row);
        if together.is_none() && !matches!(head.verdict, Verdict::Moderate | Verdict::Major) {
            return Ok(None);
        }
        Ok(of_rows(rules, &results.rows.read(head)?, together))
    };
    let rows = results.rows.heads().par_iter().map(of_row);
    Ok(rows.collect::<Result<Vec<_>>>()?.into_iter().flatten().collect())
}

/// `None` where no limit is exceeded; `together` is given where it decides.
fn of_rows(rules: &RuleSet, alone: &Row, together: Option<&Row>) -> Option<Asked> {
    let own = case_of(rules, alone)?;
    let shared = together.and_then(|row| Some(judge::exceeded(&case_of(rules, row)?, row.finding.verdict, Some(&own))));
    let limits = shared.filter(|limits| !limits.is_empty());
    let limits = limits.unwrap_or_else(|| judge::exceeded(&own, alone.finding.verdict, None));
    (!limits.is_empty()).then_some(Asked { permit: alone.permit, tree: alone.tree, limits })
}

/// `None` for a tree without a usable diameter.
fn case_of<'a>(rules: &'a RuleSet, row: &'a Row) -> Option<Case<'a>> {
    row.zone.as_ref().map(|zone| Case { rules, tree: &row.of, zone, overlap: &row.overlap })
}
