//! A kind of work as a file writes it -> what it does to roots and how large it is by default.
//!
//! The built-in table is `work_kinds.toml`; `--work-kinds FILE` adds to it and changes it. An unknown kind has every effect and is a severing
//! cut, the worst case. Does not draw anything out to its width.

use super::words::{cell_words, find_phrase};
use crate::error::{Error, Result};
use crate::model::effect::{Effect, Effects};
use crate::model::work::{Lasting, UNKNOWN_KIND};
use serde::Deserialize;
use std::borrow::Cow;
use std::collections::HashMap;
use std::path::Path;

/// A bore at least this deep is no cut, metres: 4.5 ft.
///
/// # Source
/// Arlington County, Virginia, "Near trees" (arlingtonva.us): bored lines near trees at least 4.5 ft deep. The program's default wherever a
/// rule set asks nothing.
pub const WHOLE_AT_M: f64 = 1.37;

/// [`WHOLE_AT_M`] as people read it.
pub const DEEP_BORE_TEXT: &str = "one that passes at least 4.5 ft (1.37 m) deep spares the roots, unless --work-kinds says otherwise; a shallower \
                                  one, or one of unknown depth, severs (from: Arlington County, Virginia, \"Near trees\"; seen)";

/// One kind of work.
#[derive(Debug, Clone, PartialEq)]
pub struct Kind {
    /// Its name.
    pub name: String,
    /// What it does to roots.
    pub effects: Effects,
    /// Whether it severs roots whatever its depth.
    pub severs: bool,
    /// Severs only where a depth is given and greater, metres.
    pub severs_deeper_than_m: Option<f64>,
    /// A bore at least this deep is no cut, metres.
    pub whole_at_m: Option<f64>,
    /// Full width of a line, metres.
    pub width_m: Option<f64>,
    /// Radius of a point, metres.
    pub radius_m: Option<f64>,
    /// Drawn out around every shape, metres.
    pub margin_m: f64,
}

impl Kind {
    /// What a work of this kind does at a depth: its effects, and whether it severs.
    pub fn at_depth(&self, depth_m: Option<f64>) -> (Effects, bool) {
        let mut effects = self.effects;
        let mut severs = self.severs;
        if let Some(limit) = self.severs_deeper_than_m {
            severs |= depth_m.is_some_and(|depth| depth > limit);
        }
        if effects.has(Effect::Bore) && !depth_m.is_some_and(|depth| depth >= self.whole_at_m.unwrap_or(WHOLE_AT_M)) {
            effects = effects.with(Effect::Cut);
            severs = true;
        }
        (effects, severs)
    }

    /// Whether a work of this kind stays where the file does not say: traffic and storage go with the job.
    pub fn lasting(&self) -> Lasting {
        let only_compacts = self.effects == Effects::of(&[Effect::Compact]);
        if only_compacts { Lasting::Temporary } else { Lasting::Permanent }
    }

    /// Both kinds in one: the worse of the two in every respect.
    fn and(self, other: &Kind) -> Kind {
        let larger = |a: Option<f64>, b: Option<f64>| a.into_iter().chain(b).reduce(f64::max);
        let smaller = |a: Option<f64>, b: Option<f64>| a.into_iter().chain(b).reduce(f64::min);
        let bores = |kind: &Kind| kind.effects.has(Effect::Bore).then(|| kind.whole_at_m.unwrap_or(WHOLE_AT_M));
        Kind {
            whole_at_m: larger(bores(&self), bores(other)),
            name: format!("{}+{}", self.name, other.name),
            effects: other.effects.iter().fold(self.effects, Effects::with),
            severs: self.severs || other.severs,
            severs_deeper_than_m: smaller(self.severs_deeper_than_m, other.severs_deeper_than_m),
            width_m: larger(self.width_m, other.width_m),
            radius_m: larger(self.radius_m, other.radius_m),
            margin_m: self.margin_m.max(other.margin_m),
        }
    }
}

/// The table of kinds.
#[derive(Debug, Clone)]
pub struct Kinds {
    kinds: Vec<Kind>,
    /// Name as written (plain words) -> index.
    names: HashMap<String, usize>,
    /// The longest first.
    phrases: Vec<(String, usize)>,
    unknown: Kind,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct KindsFile {
    #[serde(default)]
    kind: Vec<toml::Spanned<KindEntry>>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct KindEntry {
    name: String,
    effects: Option<Vec<Effect>>,
    severs: Option<bool>,
    severs_deeper_than_m: Option<f64>,
    whole_at_m: Option<f64>,
    width_m: Option<f64>,
    radius_m: Option<f64>,
    margin_m: Option<f64>,
    #[serde(default)]
    names: Vec<String>,
}

const BUILT_IN: &str = include_str!("work_kinds.toml");

/// Stands in place of the letters of a name that was found; words hold letters and digits only.
const TAKEN: u8 = b'|';

/// Words that deny the kind that follows them, in languages of the table, without their accents.
const DENIALS: &[&str] = &[
    "no", "not", "without", "ohne", "kein", "keine", "sans", "sin", "senza", "sem", "zonder", "geen", "ingen", "uden",
    "uten", "utan", "bez",
];

/// Words that do not change what a work is, so that `new asphalt driveway` and `storage area 2` are still known.
const NEUTRAL: &[&str] = &[
    "new",
    "proposed",
    "temporary",
    "temp",
    "existing",
    "permanent",
    "area",
    "zone",
    "site",
    "the",
    "a",
    "of",
    "for",
    "and",
    "with",
    "in",
    "on",
    "at",
    "to",
    "by",
    "work",
    "works",
    "construction",
    "permit",
    "project",
    "phase",
    "main",
    "private",
    "public",
    "residential",
    "commercial",
    "small",
    "large",
    "asphalt",
    "concrete",
    "gravel",
    "paved",
    "unpaved",
    "front",
    "rear",
    "side",
    "left",
    "right",
    "north",
    "south",
    "east",
    "west",
    "replace",
    "replacement",
    "repair",
    "install",
    "installation",
    "widening",
    "bau",
    "neu",
    "neue",
    "neuer",
    "nouveau",
    "nouvelle",
    "nuevo",
    "nueva",
    "nuovo",
    "nuova",
    "de",
    "del",
    "la",
    "le",
    "les",
    "du",
    "des",
    "di",
    "da",
    "der",
    "die",
    "das",
    "und",
    "et",
    "y",
    "e",
    "van",
    "voor",
    "materials",
    "material",
    "soil",
    "trees",
    "tree",
    "existing",
];

impl Kinds {
    /// The table that the program brings.
    pub fn built_in() -> Kinds {
        let mut kinds = Kinds { kinds: Vec::new(), names: HashMap::new(), phrases: Vec::new(), unknown: unknown() };
        kinds.add(BUILT_IN, "work_kinds.toml").expect("a test reads the built-in table");
        kinds
    }

    /// The built-in table with a city's own: a known name changes what the entry states, a new one needs `effects` and `severs`.
    ///
    /// # Errors
    /// `Io` where the file cannot be read, `Input` with line and column for what it should not hold.
    pub fn with_file(path: &Path) -> Result<Kinds> {
        let text = std::fs::read_to_string(path).map_err(|source| Error::io(path, "read", source))?;
        let mut kinds = Kinds::built_in();
        kinds.add(&text, &path.display().to_string())?;
        Ok(kinds)
    }

    /// The kinds, in the order of the table.
    pub fn all(&self) -> &[Kind] {
        &self.kinds
    }

    /// The worst case: a severing cut that also stands on the ground, seals, fills and compacts, named `unknown`.
    pub fn unknown(&self) -> &Kind {
        &self.unknown
    }

    /// The kind of a cell.
    ///
    /// A cell that names several kinds gets the effects of all, as one kind named `excavation+paving`. Kinds that do not sever are
    /// taken from a longer text only where the other words say nothing (`temporary storage area`): else `None`, and the work
    /// counts as the worst case. So does one in which every kind is denied (`no excavation`): what is done there is not said.
    pub fn find(&self, written: &str) -> Option<Cow<'_, Kind>> {
        let words = cell_words(written);
        if let Some(&kind) = self.names.get(&words) {
            return Some(Cow::Borrowed(&self.kinds[kind]));
        }
        let (named, left) = self.named_in(words);
        let found = self.joined(&named)?;
        let says_nothing = |word: &str| {
            NEUTRAL.contains(&word) || word.bytes().all(|b| b == TAKEN) || word.bytes().all(|b| b.is_ascii_digit())
        };
        (found.severs || left.split(' ').all(says_nothing)).then_some(found)
    }

    /// The kinds whose names stand in the text, each once, in the order of the text; and the text with bars over them.
    fn named_in(&self, words: String) -> (Vec<usize>, String) {
        let mut left = words;
        let mut found: Vec<(usize, usize, bool)> = Vec::new();
        // The longest first: `parking` in `parking lot` is no second name.
        for (phrase, kind) in &self.phrases {
            while let Some(at) = find_phrase(&left, phrase) {
                left.replace_range(at..at + phrase.len(), &char::from(TAKEN).to_string().repeat(phrase.len()));
                let material = phrase.split(' ').all(|word| NEUTRAL.contains(&word));
                found.push((at, *kind, material));
            }
        }
        found.sort_unstable();
        // `asphalt driveway`: the material before a kind is no paving of its own.
        let begins = |at: usize| found.iter().any(|&(other, ..)| other == at);
        let after = |at: usize| left[at..].find(' ').map(|space| at + space + 1);
        let is_denied = |at: usize| left[..at].split(' ').rev().nth(1).is_some_and(|word| DENIALS.contains(&word));
        if found.iter().all(|&(at, ..)| is_denied(at)) {
            return (Vec::new(), left);
        }
        let mut named = Vec::new();
        for &(at, kind, material) in &found {
            let is_adjective = material && after(at).is_some_and(begins);
            if !is_adjective && !named.contains(&kind) {
                named.push(kind);
            }
        }
        (named, left)
    }

    /// One kind that does what all do: their effects, the largest sizes, severing as soon as one severs.
    fn joined(&self, named: &[usize]) -> Option<Cow<'_, Kind>> {
        let acting: Vec<&Kind> =
            named.iter().map(|&at| &self.kinds[at]).filter(|kind| !kind.effects.is_empty()).collect();
        let (first, others) = match acting.split_first() {
            Some((first, others)) => (*first, others),
            None => (&self.kinds[*named.first()?], &[][..]),
        };
        if others.is_empty() {
            return Some(Cow::Borrowed(first));
        }
        Some(Cow::Owned(others.iter().fold(first.clone(), |all, kind| all.and(kind))))
    }

    fn add(&mut self, text: &str, at: &str) -> Result<()> {
        let file: KindsFile = toml::from_str(text).map_err(|error| {
            let place = error.span().map_or(at.to_string(), |span| line_of(at, text, span.start));
            Error::input(place, format!("not a table of kinds: {}", error.message().replace('\n', " ")), HINT)
        })?;
        for entry in file.kind {
            let place = line_of(at, text, entry.span().start);
            self.add_entry(entry.into_inner(), &place)?;
        }
        self.phrases = self.names.iter().map(|(name, &kind)| (name.clone(), kind)).collect();
        self.phrases.sort_by(|a, b| b.0.len().cmp(&a.0.len()).then_with(|| a.0.cmp(&b.0)));
        Ok(())
    }

    fn add_entry(&mut self, entry: KindEntry, place: &str) -> Result<()> {
        check_lengths(&entry, place)?;
        let name = entry.name.trim().to_string();
        if cell_words(&name).is_empty() || name == UNKNOWN_KIND {
            return Err(Error::input(
                place,
                format!("`{name}` cannot be the name of a kind; expected words other than `unknown`"),
                HINT,
            ));
        }
        let known = self.kinds.iter().position(|kind| kind.name == name);
        let index = match known {
            Some(index) => index,
            None => {
                if entry.effects.is_none() || entry.severs.is_none() {
                    return Err(Error::input(
                        place,
                        format!("the new kind `{name}` has no effects or no severs; expected both"),
                        HINT,
                    ));
                }
                self.kinds.push(Kind { name: name.clone(), effects: Effects::NONE, ..unknown_sizes(&name) });
                self.kinds.len() - 1
            }
        };
        change(&mut self.kinds[index], &entry);
        for written in entry.names.iter().chain([&entry.name]) {
            self.names.insert(cell_words(written), index);
        }
        self.names.remove("");
        Ok(())
    }
}

const HINT: &str = "each [[kind]] has name, effects (occupy, cut, seal, fill, compact, bore), severs, names, and may have width_m, radius_m, margin_m, \
                    severs_deeper_than_m, whole_at_m";

fn unknown() -> Kind {
    // Every effect but a bore: a rule set may count only sealing, or only filling, and what is unknown must not pass under it.
    Kind { effects: Effects::COUNTED, severs: true, ..unknown_sizes(UNKNOWN_KIND) }
}

fn unknown_sizes(name: &str) -> Kind {
    Kind {
        name: name.to_string(),
        effects: Effects::NONE,
        severs: false,
        severs_deeper_than_m: None,
        whole_at_m: None,
        width_m: None,
        radius_m: None,
        margin_m: 0.0,
    }
}

fn change(kind: &mut Kind, entry: &KindEntry) {
    if let Some(effects) = &entry.effects {
        kind.effects = Effects::of(effects);
    }
    if let Some(severs) = entry.severs {
        kind.severs = severs;
    }
    kind.severs_deeper_than_m = entry.severs_deeper_than_m.or(kind.severs_deeper_than_m);
    kind.whole_at_m = entry.whole_at_m.or(kind.whole_at_m);
    kind.width_m = entry.width_m.or(kind.width_m);
    kind.radius_m = entry.radius_m.or(kind.radius_m);
    kind.margin_m = entry.margin_m.unwrap_or(kind.margin_m);
}

fn check_lengths(entry: &KindEntry, place: &str) -> Result<()> {
    let lengths = [
        ("severs_deeper_than_m", entry.severs_deeper_than_m),
        ("whole_at_m", entry.whole_at_m),
        ("width_m", entry.width_m),
        ("radius_m", entry.radius_m),
        ("margin_m", entry.margin_m),
    ];
    for (key, length) in lengths {
        if length.is_some_and(|length| !(0.0..=1000.0).contains(&length)) {
            let value = length.unwrap_or_default();
            return Err(Error::input(
                place,
                format!("{key} of kind `{}`, got {value}; expected 0 to 1000 metres", entry.name),
                HINT,
            ));
        }
    }
    Ok(())
}

/// `file:line:column` of a byte, both from 1.
fn line_of(at: &str, text: &str, byte: usize) -> String {
    let before = text.get(..byte).unwrap_or(text);
    let line = before.matches('\n').count() + 1;
    let column = before.rsplit('\n').next().unwrap_or("").chars().count() + 1;
    format!("{at}:{line}:{column}")
}

#[cfg(test)]
#[path = "kinds_tests.rs"]
mod tests;
