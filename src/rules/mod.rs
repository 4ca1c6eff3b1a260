//! Rule sets: from a tree's numbers to its root zone and rings, and from measures to findings, as data.
//!
//! Look-ups only, no geometry. Every number of the built-in sets stands in a data file in `sets/` beside its source, clause and
//! status; none stands in code. A city writes its own set as a TOML file of the same form (see `docs/rule-sets.md`).

mod check;
mod check_limits;
mod check_radius;
mod check_replacement;
mod check_sizes;
mod describe;
mod describe_replacement;
mod describe_words;
mod explain;
pub(crate) mod file;
pub mod limit;
pub mod money;
mod owed;
mod owed_part;
pub mod protection;
pub mod provenance;
pub mod quantity;
pub mod radius;
pub mod replacement;
pub mod sizes;
pub mod spared;
pub mod stability;
pub mod stems;
pub mod tolerance;
pub mod warnings;
pub mod who;

use crate::error::{Error, Result};
use crate::model::effect::Effect;
use crate::model::tree::Tree;
use crate::model::work::Work;
use crate::model::zone::{Ring, Zone};
use limit::{Counted, Limit, Measure, Otherwise, Outcome, Selection};
use protection::ProtectionRule;
use provenance::{Source, Status};
use radius::{RadiusRule, RingRule};
use replacement::ReplacementRule;
use sizes::{SizeRule, StatedSize};
use spared::{BoreRule, MitigationRule};
use std::collections::BTreeMap;
use std::io::Read as _;
use std::path::Path;
use stems::StemRule;
use who::Meant;

/// The built-in sets: name and text of the file. General rules first, then national standards, then cities and counties by name.
const SETS: [(&str, &str); 25] = [
    ("one-foot-per-inch", include_str!("sets/one-foot-per-inch.toml")),
    ("tolerance-by-age", include_str!("sets/tolerance-by-age.toml")),
    ("bs5837-2012", include_str!("sets/bs5837-2012.toml")),
    ("veteran-tree", include_str!("sets/veteran-tree.toml")),
    ("as4970-2009", include_str!("sets/as4970-2009.toml")),
    ("as4970-2025", include_str!("sets/as4970-2025.toml")),
    ("din18920-dripline", include_str!("sets/din18920-dripline.toml")),
    ("ras-lp4-trench", include_str!("sets/ras-lp4-trench.toml")),
    ("arlington-county", include_str!("sets/arlington-county.toml")),
    ("atlanta", include_str!("sets/atlanta.toml")),
    ("berlin", include_str!("sets/berlin.toml")),
    ("city-of-san-mateo", include_str!("sets/city-of-san-mateo.toml")),
    ("dekalb-county", include_str!("sets/dekalb-county.toml")),
    ("district-of-columbia", include_str!("sets/district-of-columbia.toml")),
    ("durham", include_str!("sets/durham.toml")),
    ("ionia", include_str!("sets/ionia.toml")),
    ("lexington-massachusetts", include_str!("sets/lexington-massachusetts.toml")),
    ("miami", include_str!("sets/miami.toml")),
    ("oak-harbor", include_str!("sets/oak-harbor.toml")),
    ("ottawa", include_str!("sets/ottawa.toml")),
    ("pleasanton-texas", include_str!("sets/pleasanton-texas.toml")),
    ("portland-title-11", include_str!("sets/portland-title-11.toml")),
    ("toronto-city-trees", include_str!("sets/toronto-city-trees.toml")),
    ("toronto-ravine", include_str!("sets/toronto-ravine.toml")),
    ("ventura-county", include_str!("sets/ventura-county.toml")),
];

/// The names that share a word with what was typed; else the nearest one, where one is near.
fn like<'a>(typed: &str, names: &[&'a str]) -> Vec<&'a str> {
    let plain = |text: &str| text.chars().filter(char::is_ascii_alphanumeric).collect::<String>().to_lowercase();
    let words: Vec<String> = typed.split(|c: char| !c.is_alphanumeric()).map(plain).filter(|w| w.len() > 3).collect();
    let whole = plain(typed);
    let shares = |name: &&&str| {
        let name = plain(name);
        (whole.len() > 3 && name.contains(&whole)) || words.iter().any(|word| name.contains(word.as_str()))
    };
    let sharing: Vec<&str> = names.iter().filter(shares).copied().collect();
    if sharing.is_empty() { file::nearest(typed, names).into_iter().collect() } else { sharing }
}

/// A rule file larger than this is not one, bytes.
const LARGEST_FILE: u64 = 1 << 20;

/// One rule set with every name resolved.
#[derive(Debug, Clone, PartialEq, serde::Serialize)]
pub struct RuleSet {
    /// Its name, as typed with `--rules` for a built-in one.
    pub name: String,
    /// What it is, in a line.
    pub title: String,
    /// What its readers must be warned of.
    pub caution: String,
    /// Notes that are printed with every use of the set.
    pub notes: Vec<String>,
    /// Written in feet and inches: people also get columns in those.
    pub imperial: bool,
    /// Stems into one diameter.
    pub stems: StemRule,
    /// Diameter, crown ... into the radius of the zone.
    pub radius: RadiusRule,
    /// Named inner parts of the zone, in the order of the file.
    pub rings: Vec<RingRule>,
    /// Limits, worst finding first, flags last; the first exceeded decides.
    pub limits: Vec<Limit>,
    /// What an overlap is that exceeds no limit.
    pub otherwise: Otherwise,
    /// What makes a tree heritage-size.
    pub heritage: SizeRule,
    /// What makes a tree protected, be it heritage-size or not.
    pub protected: SizeRule,
    /// How deep a bore must pass, where the set says so.
    pub bores: Option<BoreRule>,
    /// What stated mitigations change.
    pub mitigations: Vec<MitigationRule>,
    /// What is asked for trees that go: the first that plants and the first that pays decide.
    pub replacement: Vec<ReplacementRule>,
    /// What the set says of fences, where it does.
    pub protection: Option<ProtectionRule>,
    /// Index of the ring that is a drip line.
    #[serde(skip)]
    pub drip_ring: Option<usize>,
    /// The distinct selections of works (neither all nor those of one effect) that limits count: what
    /// `RegionAreas::by_selection_m2` holds.
    pub selections: Vec<Selection>,
    /// Whether a limit needs severed or affected areas of a ring.
    pub severed_in_rings: bool,
    /// The documents behind the values, by key.
    pub sources: BTreeMap<String, Source>,
    #[serde(skip)]
    source_text: String,
}

impl RuleSet {
    /// The names of the built-in sets.
    pub fn names() -> Vec<&'static str> {
        SETS.iter().map(|&(name, _)| name).collect()
    }

    /// A built-in set by name, or a rule file.
    ///
    /// # Errors
    /// `Usage` for a word that is neither, with the names and the nearest; `Io` for a file that cannot be read; `Rules` with line and
    /// column for a file that is wrong.
    pub fn load(name_or_file: &str) -> Result<RuleSet> {
        if let Some((name, text)) = SETS.iter().find(|(name, _)| *name == name_or_file) {
            return RuleSet::from_text(&format!("built-in rule set {name}"), text);
        }
        let path = Path::new(name_or_file);
        let looks_like_file = name_or_file.ends_with(".toml") || name_or_file.contains(std::path::is_separator);
        if !path.exists() && !looks_like_file {
            let names = RuleSet::names();
            let hint = match &like(name_or_file, &names)[..] {
                [_, ..] => format!("did you mean {}?", like(name_or_file, &names).join(" or ")),
                [] => "`rootward rules` lists them; for a city that is not among them take one-foot-per-inch, or write its rules \
                       (docs/rule-sets.md; `rootward rules NAME --toml` gives one to begin with): --rules ./my-city.toml"
                    .to_string(),
            };
            let what = format!("unknown rule set `{name_or_file}`; expected a file or one of {}", names.join(", "));
            return Err(Error::Usage { what, hint });
        }
        RuleSet::from_text(name_or_file, &read_text(path)?)
    }

    /// A rule set from the text of a file; `at` names it in errors.
    ///
    /// # Errors
    /// `Rules` with line and column.
    pub fn from_text(at: &str, text: &str) -> Result<RuleSet> {
        let text = file::Text { name: at, text };
        check::check(text.parse::<file::SetFile>()?, &text)
    }

    /// How many values of the set have each status; statuses without a value are left out.
    pub fn status_counts(&self) -> Vec<(Status, usize)> {
        let set = serde_json::to_value(self).expect("a rule set holds only finite numbers and text");
        let all = [Status::Seen, Status::SecondHand, Status::FromMemory, Status::CommonPractice];
        let counts = all.map(|status| (status, provenance::count_status(&set, status)));
        counts.into_iter().filter(|&(_, count)| count > 0).collect()
    }

    /// The scientific names that the set speaks of, sorted, each once.
    pub fn taxa(&self) -> Vec<&str> {
        let sizes = [&self.heritage, &self.protected];
        let classes = sizes.iter().flat_map(|sizes| sizes.classes.iter().map(|class| &class.who));
        let exempt = sizes.iter().flat_map(|sizes| sizes.exempt.iter().map(|exempt| &exempt.who));
        let replaced = self.replacement.iter().map(|rule| &rule.who);
        let who = classes.chain(exempt).chain(replaced);
        let named = who.flat_map(|who| who.species.iter().chain(&who.genus).chain(&who.not)).map(String::as_str);
        named.collect::<std::collections::BTreeSet<_>>().into_iter().collect()
    }

    /// The JSON Schema of a rule file, for editors.
    pub fn schema() -> String {
        let schema = schemars::schema_for!(file::SetFile);
        serde_json::to_string_pretty(&schema).expect("a schema is plain data")
    }

    /// The TOML text of the set, byte for byte as read.
    pub fn source_text(&self) -> &str {
        &self.source_text
    }

    /// One diameter from the stems (metres, largest first, each > 0), metres. 0 for no stem.
    pub fn diameter_m(&self, tree: &Tree, stems: &[f64]) -> f64 {
        self.stems.diameter(stems, tree.narrowest_diameter_m)
    }

    /// A work as this set sees it: a bore by the depth that the set asks, and the mitigations that it accepts.
    pub fn seen(&self, work: &Work) -> Work {
        spared::seen(work, self.bores.as_ref(), &self.mitigations)
    }

    /// Whether the set sees any work otherwise than the kinds table does.
    pub fn changes_works(&self) -> bool {
        self.bores.is_some() || !self.mitigations.is_empty()
    }

    /// Whether a limit asks for the works one by one: distances and depths.
    pub fn wants_reached(&self) -> bool {
        self.limits.iter().any(|limit| matches!(limit.measure, Measure::Distance | Measure::Depth))
    }

    /// The distance from the centre of the trunk within which a work can exceed a limit on distance, metres; it may lie outside the root
    /// zone. 0 where no such limit is for the tree.
    pub fn farthest_limit_m(&self, tree: &Tree, diameter_m: f64) -> f64 {
        let distances = self
            .limits_of_verdict()
            .filter(|limit| limit.measure == Measure::Distance && limit.who.means(tree) != Meant::No);
        distances.map(|limit| limit.within_m(diameter_m)).fold(0.0, f64::max)
    }

    /// Whether a limit asks on how many sides the works lie.
    pub fn wants_sides(&self) -> bool {
        self.limits.iter().any(|limit| limit.sides.is_some())
    }

    /// Which effects are counted alone by a limit that gives a verdict, in the order of [`Effect::ALL`].
    pub fn effects_of_verdict(&self) -> [bool; 6] {
        Effect::ALL.map(|effect| {
            let counted = Counted::Effect(effect as usize);
            self.limits_of_verdict().any(|limit| limit.measure == Measure::Overlap && limit.counted == counted)
        })
    }

    /// Which rings a limit that gives a verdict looks at, in the set's order.
    pub fn rings_of_verdict(&self) -> Vec<bool> {
        (0..self.rings.len()).map(|ring| self.limits_of_verdict().any(|limit| limit.ring == Some(ring))).collect()
    }

    /// Whether a limit that gives a verdict is on severed or affected area.
    pub fn severed_of_verdict(&self) -> bool {
        self.limits_of_verdict().any(|limit| matches!(limit.measure, Measure::Severed | Measure::Affected))
    }

    fn limits_of_verdict(&self) -> impl Iterator<Item = &Limit> {
        self.limits.iter().filter(|limit| matches!(limit.gives, Outcome::Verdict(_)))
    }

    /// Whether any value of the set depends on the species.
    pub fn asks_species(&self) -> bool {
        let radius = self
            .radius
            .of
            .iter()
            .any(|part| part.only.asks_species() || matches!(part.way, radius::RadiusWay::ByTolerance(_)));
        radius
            || self.limits.iter().any(|limit| limit.who.asks_species())
            || self.heritage.asks_species()
            || self.protected.asks_species()
            || self.replacement.iter().any(|rule| rule.who.asks_species())
    }

    /// The root zone of a tree at a diameter (metres, > 0), with what had to be assumed.
    pub fn zone(&self, tree: &Tree, diameter_m: f64) -> Zone {
        let mut warnings = Vec::new();
        let radius_m = self.radius.radius_m(tree, diameter_m, &mut warnings);
        let rings = self.rings.iter().enumerate().map(|(ring, rule)| {
            let radius_m = rule.radius_m(tree, diameter_m, radius_m, &mut warnings);
            Ring { ring, radius_m }
        });
        let rings = rings.collect();
        let drip_line_m =
            self.drip_ring.map(|ring| self.rings[ring].whole_radius_m(tree, diameter_m, radius_m, &mut warnings));
        warnings.sort_unstable();
        warnings.dedup();
        Zone { diameter_m, radius_m, rings, drip_line_m, warnings, shape: None }
    }

    /// The radius of [`RuleSet::zone`] alone, metres.
    pub fn zone_radius_m(&self, tree: &Tree, diameter_m: f64) -> f64 {
        self.radius.radius_m(tree, diameter_m, &mut Vec::new())
    }

    /// The heritage class that the tree reaches at a diameter (metres), as printed; `None` where it reaches none.
    ///
    /// `at_least` says that the diameter is a lower bound. A tree without a diameter has a class only where it is designated
    /// or one is for trees of any size.
    pub fn heritage_class(&self, tree: &Tree, diameter_m: f64, at_least: bool) -> Option<String> {
        self.heritage.class(tree, diameter_m, at_least, self.imperial)
    }

    /// The class of protected trees that the tree reaches at a diameter (metres), as printed; `None` where it reaches none.
    pub fn protected_class(&self, tree: &Tree, diameter_m: f64, at_least: bool) -> Option<String> {
        if self.protected.classes.is_empty() {
            return None;
        }
        self.protected.class(tree, diameter_m, at_least, self.imperial)
    }

    /// The set with a typed heritage size (metres of diameter, `>=`) in place of the default; the set's own classes stay and go first.
    ///
    /// `None` leaves the set as it is: a set that names no size has the default of 30 in.
    #[must_use]
    pub fn with_heritage_size(mut self, size_m: Option<f64>) -> RuleSet {
        if let Some(size_m) = size_m {
            self.heritage.stated = Some(StatedSize::Typed(size_m));
        }
        self
    }

    /// The heritage sizes as used and where each comes from, for people.
    pub fn heritage_text(&self) -> String {
        let own = self.heritage.classes.iter().map(|class| format!("{} (set {})", class.text(), self.name));
        let stated = self
            .heritage
            .stated
            .map(|stated| format!("{}: {}", stated.class_text(self.imperial), stated.explanation()));
        own.chain(stated).collect::<Vec<_>>().join("; ")
    }

    /// What must be said where the heritage size is the program's default, and not the set's or the user's.
    pub fn heritage_default(&self) -> Option<String> {
        let stated = self.heritage.stated.filter(|stated| *stated == StatedSize::Default)?;
        Some(format!("{}: {}", stated.class_text(self.imperial), stated.explanation()))
    }

    /// What the set says of replacement, in a line.
    pub fn replacement_text(&self) -> String {
        match self.replacement.len() {
            0 => "none: the set has no rule on replacement".to_string(),
            1 => "1 rule".to_string(),
            many => format!("{many} rules"),
        }
    }

    /// The set as JSON, every value with its source and status.
    pub fn json(&self) -> String {
        serde_json::to_string_pretty(self).expect("a rule set holds only finite numbers and text")
    }
}

/// The text of a rule file, read whole.
fn read_text(path: &Path) -> Result<String> {
    let at = path.display().to_string();
    let wrong = |what: String| Err(Error::Rules { at: at.clone(), what, hint: String::new() });
    let mut bytes = Vec::new();
    std::fs::File::open(path)
        .and_then(|file| file.take(LARGEST_FILE + 1).read_to_end(&mut bytes))
        .map_err(|source| Error::io(path, "read", source))?;
    if bytes.len() as u64 > LARGEST_FILE {
        return wrong(format!("the file is larger than {LARGEST_FILE} bytes; expected a rule file"));
    }
    match String::from_utf8(bytes) {
        Ok(text) => Ok(text),
        Err(error) => wrong(format!(
            "not UTF-8 text, got a wrong byte at offset {}; expected a rule file",
            error.utf8_error().valid_up_to()
        )),
    }
}

#[cfg(test)]
#[path = "mistakes_tests.rs"]
mod mistakes_tests;
#[cfg(test)]
#[path = "replacement_mistakes_tests.rs"]
mod replacement_mistakes_tests;
#[cfg(test)]
#[path = "rules_tests.rs"]
mod tests;
