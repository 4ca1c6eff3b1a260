//! Property names, ids and geometry types of GeoJSON features, gathered in one light pass over their text.

use super::feature_json::GEOMETRY_TYPES;
use super::json_scan::{self, Scan};
use std::collections::{BTreeMap, HashSet};

/// What the features hold between them.
#[derive(Default)]
pub(super) struct Seen {
    /// Property names in order of first appearance.
    pub(super) columns: Vec<String>,
    raw_names: HashSet<Vec<u8>>,
    /// Number of features by geometry type.
    pub(super) types: BTreeMap<String, u64>,
    /// True where a feature has an id of its own.
    pub(super) ids: bool,
}

impl Seen {
    /// Gathers names, id and geometry type of one feature; what is wrong in it is left to the parser.
    pub(super) fn feature(&mut self, text: &[u8]) {
        let mut kind = None;
        let mut own_type = None;
        let walked = json_scan::members(text, 0, |name, value| {
            match name {
                b"type" => own_type = string_at(text, value),
                b"id" => self.ids |= text.get(value) != Some(&b'n'),
                b"properties" if text.get(value) == Some(&b'{') => return self.names(text, value),
                b"geometry" if text.get(value) == Some(&b'{') => {
                    return json_scan::members(text, value, |name, value| {
                        if name == b"type" {
                            kind = string_at(text, value);
                        }
                        json_scan::value_end(text, value)
                    });
                }
                _ => {}
            }
            json_scan::value_end(text, value)
        });
        if walked.is_ok() {
            let bare = own_type.filter(|own| GEOMETRY_TYPES.contains(&own.as_str()));
            *self.types.entry(kind.or(bare).unwrap_or_else(|| "none".to_string())).or_default() += 1;
        }
    }

    fn names(&mut self, text: &[u8], at: usize) -> Scan<usize> {
        json_scan::members(text, at, |name, value| {
            if !self.raw_names.contains(name) {
                self.raw_names.insert(name.to_vec());
                let plain = json_scan::unescape(name);
                if !self.columns.contains(&plain) {
                    self.columns.push(plain);
                }
            }
            json_scan::value_end(text, value)
        })
    }
}

fn string_at(text: &[u8], at: usize) -> Option<String> {
    if text.get(at) != Some(&b'"') {
        return None;
    }
    let end = json_scan::string_end(text, at).ok()?;
    Some(json_scan::unescape(&text[at + 1..end - 1]))
}
