//! Permit ids -> file names that any file system takes, one for each permit.
//!
//! An id of ASCII letters, digits, `-`, `_` and inner dots is its own name. Any other, and any that would meet another's or a name that Windows
//! keeps for itself, gets the part that can be kept and the beginning of its SHA-256. Names are ASCII, so no file system can fold two of
//! them into one by Unicode; letter case is looked at here.
//!
//! # Source
//! The names that Windows keeps: Microsoft, "Naming Files, Paths, and Namespaces" (from memory).

use sha2::{Digest, Sha256};
use std::collections::{HashMap, HashSet};

/// Letters of an id that are kept.
const MOST_LETTERS: usize = 60;
/// Names that stand for devices on Windows, whatever follows the first dot, and the name of the index.
const TAKEN: [&str; 7] = ["con", "prn", "aux", "nul", "conin$", "conout$", "index"];

/// One name (without an ending) for each id, in the order of the ids. Ids must differ from each other.
pub fn file_names<'a>(ids: impl Iterator<Item = &'a str>) -> Vec<String> {
    let ids: Vec<&str> = ids.collect();
    let mut of_plain: HashMap<String, u32> = HashMap::new();
    for id in ids.iter().filter(|id| is_plain(id)) {
        *of_plain.entry(id.to_ascii_lowercase()).or_default() += 1;
    }
    let alone = of_plain.iter().filter(|(_, count)| **count == 1);
    let mut taken: HashSet<String> = alone.map(|(name, _)| name.clone()).collect();
    let name = |id: &str| {
        if is_plain(id) && of_plain[&id.to_ascii_lowercase()] == 1 {
            return id.to_string();
        }
        let hash: String = Sha256::digest(id.as_bytes()).iter().map(|byte| format!("{byte:02x}")).collect();
        let digits = [8, 16, 32].into_iter().map(|count| &hash[..count]);
        let names = digits.map(|digits| format!("{}-{digits}", kept(id)));
        let free = names.into_iter().find(|name| !taken.contains(&name.to_ascii_lowercase()));
        let name = free.unwrap_or_else(|| format!("{}-{hash}-{}", kept(id), taken.len()));
        taken.insert(name.to_ascii_lowercase());
        name
    };
    ids.into_iter().map(name).collect()
}

/// Whether an id can be a file name as it is.
fn is_plain(id: &str) -> bool {
    let first = id.split('.').next().unwrap_or_default().to_ascii_lowercase();
    let device = ["com", "lpt"].iter().any(|port| {
        first.strip_prefix(port).is_some_and(|rest| rest.len() == 1 && rest.as_bytes()[0].is_ascii_digit())
    });
    !id.is_empty()
        && id.len() <= MOST_LETTERS
        && id.chars().all(|c| c.is_ascii_alphanumeric() || "-_.".contains(c))
        && !id.starts_with(['.', '-'])
        && !id.ends_with('.')
        && !id.contains("..")
        && !device
        && !TAKEN.contains(&first.as_str())
}

/// What of an id can be kept: runs of other characters become one hyphen.
fn kept(id: &str) -> String {
    let mut name = String::new();
    for c in id.chars() {
        if name.len() >= MOST_LETTERS {
            break;
        }
        if c.is_ascii_alphanumeric() || c == '_' {
            name.push(c);
        } else if !name.is_empty() && !name.ends_with('-') {
            name.push('-');
        }
    }
    let name = name.trim_end_matches('-');
    format!("permit{}{name}", if name.is_empty() { "" } else { "-" })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn names(ids: &[&str]) -> Vec<String> {
        file_names(ids.iter().copied())
    }

    #[test]
    fn plain_ids_are_their_own_names() {
        assert_eq!(names(&["AB-25-101", "2024.113", "p_1"]), ["AB-25-101", "2024.113", "p_1"]);
    }

    #[test]
    fn every_other_id_gets_a_safe_name_of_its_own() {
        let long = "x".repeat(300);
        let ids = [
            "../../etc/passwd",
            "..",
            ".",
            "",
            " ",
            "con",
            "CON.1",
            "nul",
            "Lpt1",
            "com9.x",
            "index",
            "INDEX",
            "a.",
            "a",
            "A",
            "é",
            "e\u{301}",
            "<script>",
            "a/b",
            "a\\b",
            "a:b",
            "a b",
            "a\u{0}b",
            &long,
            "x y",
            "-rf",
            "AUX",
            "\u{202e}gpj",
        ];
        let names = names(&ids);
        let mut folded: Vec<String> = names.iter().map(|name| name.to_lowercase()).collect();
        folded.sort();
        folded.dedup();
        assert_eq!(folded.len(), ids.len(), "{names:?}");
        for name in &names {
            assert!(is_plain(name) || name.len() <= 110, "{name}");
            assert!(name.bytes().all(|b| b.is_ascii_alphanumeric() || b"-_.".contains(&b)), "{name}");
            assert!(!name.starts_with('.') && !name.ends_with('.') && !name.contains(".."), "{name}");
            let stem = name.split('.').next().unwrap().to_lowercase();
            assert!(!["con", "nul", "aux", "lpt1", "com9", "index"].contains(&stem.as_str()), "{name}");
        }
    }

    #[test]
    fn an_id_that_looks_like_anothers_hashed_name_does_not_take_it() {
        let hashed = &names(&["a b"])[0];
        let both = names(&["a b", hashed]);
        assert_ne!(both[0], both[1]);
        assert_eq!(&both[1], hashed);
    }
}
