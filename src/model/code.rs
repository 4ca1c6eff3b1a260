//! Words of the program itself (warnings, problems, reasons) on their way through a file: read back, they are `'static` again.

use serde::{Deserialize, Deserializer, Serialize, Serializer};
use std::cell::RefCell;
use std::collections::HashSet;

/// A word of the program. By this name alone, so that reading it back does not borrow from the file's bytes.
pub type Code = &'static str;

thread_local! {
    /// The words read so far: as many as the program has, at most.
    static KNOWN: RefCell<HashSet<&'static str>> = RefCell::default();
}

fn known(text: &str) -> &'static str {
    KNOWN.with_borrow_mut(|known| match known.get(text) {
        Some(word) => word,
        None => {
            let word: &'static str = Box::leak(Box::from(text));
            known.insert(word);
            word
        }
    })
}

/// For `#[serde(with = "code")]` on one word.
pub(super) fn serialize<S: Serializer>(word: &str, to: S) -> Result<S::Ok, S::Error> {
    word.serialize(to)
}

pub(super) fn deserialize<'de, D: Deserializer<'de>>(from: D) -> Result<&'static str, D::Error> {
    <&str>::deserialize(from).map(known)
}

/// For `#[serde(with = "code::list")]` on several.
pub(super) mod list {
    use super::{Deserialize, Deserializer, Serialize, Serializer, known};

    pub(in super::super) fn serialize<S: Serializer>(words: &[&str], to: S) -> Result<S::Ok, S::Error> {
        words.serialize(to)
    }

    pub(in super::super) fn deserialize<'de, D: Deserializer<'de>>(from: D) -> Result<Vec<&'static str>, D::Error> {
        Ok(<Vec<&str>>::deserialize(from)?.into_iter().map(known).collect())
    }
}
