//! What becomes of each tree under a permit: it stays, or it goes and why.

use super::Site;
use crate::model::finding::Verdict;
use crate::model::protection::TreeFate;
use crate::model::results::Row;
use crate::model::tree::Disposition;

/// A tree goes by its disposition, or because a work stands on its trunk; every other tree stays, also one with a major finding:
/// what to do with it is not decided yet. `number` is the row's index.
pub(super) fn fate(site: &Site<'_>, number: usize, row: &Row) -> TreeFate {
    let disposition = site.trees[row.tree as usize].disposition;
    TreeFate { row: number, tree: row.tree, goes_because: goes_because(disposition, row.finding.verdict) }
}

fn goes_because(disposition: Option<Disposition>, verdict: Verdict) -> &'static str {
    match disposition {
        Some(Disposition::Remove) => "disposition remove",
        Some(Disposition::Relocate) => "disposition relocate",
        Some(Disposition::OffSite) => "",
        Some(Disposition::Retain) | None if verdict == Verdict::TrunkInWork => "trunk in work",
        Some(Disposition::Retain) | None => "",
    }
}
