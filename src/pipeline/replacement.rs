//! What each row and each permit owes for trees that go: by the disposition, or because the trunk stands in the work.

use crate::error::Result;
use crate::model::finding::Verdict;
use crate::model::owed::{Owed, PermitOwed, Replacement};
use crate::model::results::Row;
use crate::model::rows::Rows;
use crate::model::tree::{Disposition, Tree};
use crate::rules::RuleSet;

/// What the set asks of a row; `None` where it has no rule on replacement.
pub(super) fn of_row(rules: &RuleSet, tree: &Tree, row: &Row) -> Option<Replacement> {
    if rules.replacement.is_empty() {
        return None;
    }
    let owed = rules.owed(tree, &row.diameter, &row.protected_class, &row.heritage_class);
    Some(Replacement { removed_because: removed_because(tree.disposition, row.finding.verdict), owed })
}

/// Why the tree goes; empty where it stays, is moved, or stands on other ground.
fn removed_because(disposition: Option<Disposition>, verdict: Verdict) -> &'static str {
    match disposition {
        Some(Disposition::Remove) => "disposition remove",
        Some(Disposition::Relocate | Disposition::OffSite) => "",
        Some(Disposition::Retain) | None if verdict == Verdict::TrunkInWork => "trunk in work",
        Some(Disposition::Retain) | None => "",
    }
}

/// What is owed now under each permit; empty where the set has no rule on replacement.
///
/// # Errors
/// Rows cannot be read back.
pub(super) fn by_permit(rules: &RuleSet, rows: &Rows, permits: usize) -> Result<Vec<PermitOwed>> {
    if rules.replacement.is_empty() {
        return Ok(Vec::new());
    }
    let mut removed: Vec<Vec<Owed>> = vec![Vec::new(); permits];
    for head in rows.heads().iter().filter(|head| head.removed) {
        let row = rows.read(head)?;
        removed[head.permit as usize].extend(row.replacement.and_then(|one| one.owed));
    }
    Ok(removed.iter().map(|owed| rules.owed_together(owed)).collect())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_makes_a_tree_go() {
        for (disposition, verdict, because) in [
            (Some(Disposition::Remove), Verdict::Untouched, "disposition remove"),
            (Some(Disposition::Remove), Verdict::TrunkInWork, "disposition remove"),
            (Some(Disposition::Retain), Verdict::TrunkInWork, "trunk in work"),
            (None, Verdict::TrunkInWork, "trunk in work"),
            (None, Verdict::Major, ""),
            (Some(Disposition::Relocate), Verdict::TrunkInWork, ""),
            (Some(Disposition::OffSite), Verdict::TrunkInWork, ""),
            (Some(Disposition::Remove), Verdict::NotAssessed, "disposition remove"),
        ] {
            assert_eq!(removed_because(disposition, verdict), because, "{disposition:?} {verdict:?}");
        }
    }
}
