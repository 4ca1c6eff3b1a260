//! The words of a cell -> is it a tree, what happens to it, is the permit alive.
//!
//! Strict on purpose: a tree that is wrongly set aside is worse than a stump that is judged.

use super::status_words::{
    ENDED_PERMIT, GONE, NO, NO_TREE, NOT, OFF_SITE, PLANNED, RELOCATE, REMOVE, RETAIN, STANDING, STUMP, YES,
};
use super::words::{cell_words, first_word, has_phrase};
use crate::model::tree::Disposition;
use std::collections::HashMap;
use std::sync::LazyLock;

/// Which kind of cell the words stand in.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum CellKind {
    /// Status.
    Status,
    /// Condition.
    Condition,
    /// Species, genus or common name.
    Name,
}

/// Phrases by their first word, so that a cell costs one look-up: the phrase and the code.
static PHRASES: LazyLock<HashMap<&str, Vec<(&str, &'static str)>>> = LazyLock::new(|| {
    let mut phrases: HashMap<&str, Vec<(&str, &'static str)>> = HashMap::new();
    for (code, words) in [("not-a-tree", NO_TREE), ("stump", STUMP), ("tree-removed", GONE)] {
        for &phrase in words {
            let first = phrase.split(' ').next().unwrap_or(phrase);
            phrases.entry(first).or_default().push((phrase, code));
        }
    }
    // The longest phrase first: `stump removed` before `stump`.
    phrases.values_mut().for_each(|list| list.sort_by_key(|(phrase, _)| std::cmp::Reverse(phrase.len())));
    phrases
});

/// Whether a cell says that no living or dead tree stands there: `stump`, `not-a-tree` or `tree-removed`.
///
/// The cell must begin with the phrase. `removed` must stand alone or before a number (`Removed 2019`), so that `removed
/// limb` and `removal recommended` keep the tree. Dead trees stay trees.
pub fn not_a_tree(kind: CellKind, cell: &str) -> Option<&'static str> {
    let first = first_word(cell);
    let known = PHRASES.get(first.as_str());
    // Hardly any cell begins with one of the words.
    if known.is_none()
        && !(kind == CellKind::Status && PLANNED.iter().any(|planned| planned.starts_with(first.as_str())))
    {
        return None;
    }
    let words = cell_words(cell);
    if kind == CellKind::Status && PLANNED.contains(&words.as_str()) {
        return Some("not-a-tree");
    }
    for &(phrase, code) in known? {
        let Some(rest) = words.strip_prefix(phrase) else { continue };
        let alone = rest.is_empty();
        let ends_word = alone || rest.starts_with(' ');
        let before_number = rest.trim_start().starts_with(|c: char| c.is_ascii_digit());
        // One short word in a name or a condition may mean anything (`toco`, `tom`, `leer`): there it must be all there is.
        let enough = match code {
            "tree-removed" => alone || before_number,
            "not-a-tree" => alone || (phrase.contains(' ') || phrase == "vacant") && ends_word,
            _ => alone || (ends_word && (kind == CellKind::Status || phrase == "stump")),
        };
        if enough {
            return Some(code);
        }
    }
    None
}

/// Whether a cell holds a known word for the status of a tree: no tree there, a tree standing, yes or no, or what happens to it.
pub fn is_status_word(cell: &str) -> bool {
    let words = cell_words(cell);
    not_a_tree(CellKind::Status, cell).is_some()
        || parse_yes_no(cell).is_some()
        || parse_disposition(cell).is_some()
        || STANDING.iter().any(|standing| has_phrase(&words, standing))
}

/// What the application does with the tree; `None` for words that do not say, or that say the opposite (`do not remove`).
pub fn parse_disposition(cell: &str) -> Option<Disposition> {
    let words = cell_words(cell);
    if words.is_empty() || NOT.iter().any(|not| has_phrase(&words, not)) {
        return None;
    }
    let tables = [
        (Disposition::OffSite, OFF_SITE),
        (Disposition::Relocate, RELOCATE),
        (Disposition::Remove, REMOVE),
        (Disposition::Retain, RETAIN),
    ];
    // `r` and `p` alone say nothing sure, so only words count.
    tables
        .into_iter()
        .find(|(_, table)| table.iter().any(|phrase| has_phrase(&words, phrase)))
        .map(|(disposition, _)| disposition)
}

/// Yes or no, in several languages, with the words that such columns use (`Heritage`, `Landmark`).
pub fn parse_yes_no(cell: &str) -> Option<bool> {
    let words = cell_words(cell);
    let words = words.as_str();
    if NO.contains(&words) || words.starts_with("not ") || words.starts_with("no ") || words == "0 0" {
        return Some(false);
    }
    let first = words.split(' ').next().unwrap_or("");
    let named = matches!(first, "heritage" | "landmark" | "significant" | "exceptional" | "protected" | "designated");
    (YES.contains(&words) || named || words == "1 0").then_some(true)
}

/// False where a permit's status says withdrawn, denied, refused, expired, void or cancelled, in several languages.
///
/// A permit whose denial is under appeal is alive. A status that says nothing known is alive.
pub fn permit_is_active(status: &str) -> bool {
    let words = cell_words(status);
    if [
        "appeal",
        "appealed",
        "under appeal",
        "recours",
        "recurso",
        "ricorso",
        "widerspruch",
        "beroep",
        "not withdrawn",
        "not expired",
        "not denied",
        "not refused",
        "not void",
    ]
    .iter()
    .any(|phrase| has_phrase(&words, phrase))
    {
        return true;
    }
    !ENDED_PERMIT.iter().any(|phrase| has_phrase(&words, phrase))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_no_tree() {
        use CellKind::*;
        let cases: &[(CellKind, &str, Option<&str>)] = &[
            (Name, "STUMP", Some("stump")),
            (Name, "Stump - oak", Some("stump")),
            (Name, "PLANTING SITE-SMALL", Some("not-a-tree")),
            (Name, "PLANTING SITE", Some("not-a-tree")),
            (Name, "Vacant site, large", Some("not-a-tree")),
            (Name, "Quercus robur", None),
            (Name, "Tom Thumb crape myrtle", None),
            (Name, "Toco toco", None),
            (Name, "", None),
            (Status, "Removed", Some("tree-removed")),
            (Status, "Removed 2019-03-02", Some("tree-removed")),
            (Status, "removed limb", None),
            (Status, "Removal recommended", None),
            (Status, "to be removed", None),
            (Status, "Dead", None),
            (Status, "alive", None),
            (Status, "Proposed", Some("not-a-tree")),
            (Status, "Souche", Some("stump")),
            (Status, "Stubbe", Some("stump")),
            (Status, "Abattu", Some("tree-removed")),
            (Status, "gefällt", Some("tree-removed")),
            (Status, "Emplacement libre", Some("not-a-tree")),
            (Status, "Stump Removed", Some("not-a-tree")),
            (Status, "empty tree pit", Some("not-a-tree")),
            (Condition, "Stump", Some("stump")),
            (Condition, "stump sprouts", Some("stump")),
            (Condition, "Dead or dying", None),
            (Condition, "Fair", None),
            (Condition, "proposed pruning", None),
        ];
        for &(kind, cell, expected) in cases {
            assert_eq!(not_a_tree(kind, cell), expected, "{kind:?} `{cell}`");
        }
    }

    #[test]
    fn what_happens_to_the_tree() {
        use Disposition::*;
        let cases: &[(&str, Option<Disposition>)] = &[
            ("Retain", Some(Retain)),
            ("To be retained", Some(Retain)),
            ("REMOVE", Some(Remove)),
            ("Proposed removal", Some(Remove)),
            ("do not remove", None),
            ("Transplant", Some(Relocate)),
            ("Off-site (neighbour), protect", Some(OffSite)),
            ("erhalten", Some(Retain)),
            ("Fällung", Some(Remove)),
            ("abattage", Some(Remove)),
            ("conservé", Some(Retain)),
            ("behouden", Some(Retain)),
            ("", None),
            ("prune", None),
        ];
        for &(cell, expected) in cases {
            assert_eq!(parse_disposition(cell), expected, "{cell}");
        }
    }

    #[test]
    fn designated_words() {
        for yes in ["Yes", "TRUE", "1", "Heritage", "Landmark tree #12", "ja", "oui", "sí"] {
            assert_eq!(parse_yes_no(yes), Some(true), "{yes}");
        }
        for no in ["No", "false", "0", "not protected", "nein", "não"] {
            assert_eq!(parse_yes_no(no), Some(false), "{no}");
        }
        assert_eq!(parse_yes_no("2019-01-01"), None);
    }

    #[test]
    fn permits_that_ended() {
        for ended in [
            "Withdrawn",
            "DENIED",
            "Application refused",
            "Expired",
            "Void",
            "Cancelled by applicant",
            "abgelehnt",
            "Refusé",
            "ingetrokken",
            "Avslått",
            "zrušeno",
        ] {
            assert!(!permit_is_active(ended), "{ended}");
        }
        for alive in
            ["", "Issued", "Under review", "Approved", "Built", "Denied - under appeal", "not expired", "Refusenik"]
        {
            assert!(permit_is_active(alive), "{alive}");
        }
    }
}
