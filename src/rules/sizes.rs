//! Whether a tree is heritage-size or protected: by the classes of the rule set, by a typed size, or by a stated default.

use super::provenance::Provenance;
use super::quantity::{Bound, SAME_LENGTH_M};
use super::stems::Combine;
use super::who::{Meant, Who};
use crate::model::tree::{Stems, Tree};
use crate::units::METRES_PER_INCH;
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// The size used where the set names none and none was typed: 30 in (76.2 cm), `>=`.
///
/// # Source
/// No single one: common among the city and county codes that were read (DeKalb County, Georgia, specimen trees: 30 in for large
/// hardwoods and softwoods, seen; an appendix of a Minnesota city: 30 in for hardwoods, seen; others go from 6 to 48 in by species).
pub const DEFAULT_HERITAGE_SIZE_M: f64 = 30.0 * METRES_PER_INCH;

/// One class of trees that a set names, `[[heritage]]` or `[[protected]]`.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct SizeClass {
    /// Its name, as printed.
    pub class: String,
    /// The diameter that makes it: `">= 28 in"`.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub size: Option<Bound>,
    /// Or the circumference.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub circumference: Option<Bound>,
    /// What is compared; the tree's diameter under the set's rule for stems where left out.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub of: Option<SizeOf>,
    /// One stem or several; both where left out.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub trunks: Option<Trunks>,
    /// The trees that it is for; all where left out.
    #[serde(default, skip_serializing_if = "Who::everyone")]
    pub who: Who,
    /// Where it comes from.
    pub from: Provenance,
}

/// What a size is compared with.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum SizeOf {
    /// The thickest stem: reached if any stem reaches it.
    AnyStem,
    /// The two thickest added up.
    TwoLargest,
    /// All stems added up.
    Sum,
}

impl SizeOf {
    /// The rule for stems that gives what is compared.
    fn combine(self) -> Combine {
        match self {
            SizeOf::AnyStem => Combine::Largest,
            SizeOf::TwoLargest => Combine::TwoLargest,
            SizeOf::Sum => Combine::Sum,
        }
    }

    /// As a person would say it.
    pub fn words(self) -> &'static str {
        match self {
            SizeOf::AnyStem => "of any stem",
            SizeOf::TwoLargest => "of the two largest stems added up",
            SizeOf::Sum => "of all stems added up",
        }
    }
}

/// How many stems a class is for.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum Trunks {
    /// A single stem.
    One,
    /// Two stems or more.
    Several,
}

/// Trees that a set does not protect, `[[exempt]]`.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Exempt {
    /// The trees.
    pub who: Who,
    /// In words.
    pub text: String,
    /// Where it comes from.
    pub from: Provenance,
}

/// Where the size without a class of its own comes from.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum StatedSize {
    /// The set names none: 30 in.
    Default,
    /// Typed with `--heritage-size`, metres.
    Typed(f64),
}

/// Which trees a set lists by size: the heritage ones, or the protected ones.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct SizeRule {
    /// The set's own classes, in its order: the first that a tree reaches names it.
    pub classes: Vec<SizeClass>,
    /// A size outside the set: typed, or the default where the set names none.
    pub stated: Option<StatedSize>,
    /// Trees that are never listed, unless designated.
    pub exempt: Vec<Exempt>,
}

/// The least and the greatest diameter that a tree can have, metres.
#[derive(Debug, Clone, Copy, PartialEq)]
struct Between {
    low_m: f64,
    high_m: f64,
}

impl SizeRule {
    /// The class of a tree of this diameter; `None` where it reaches none.
    ///
    /// A designated tree is listed whatever its size. A tree that reaches a size only at the upper end of its class of diameters, or only
    /// if it is of a species that its inventory does not name, is `possible (...)`: a big tree must not disappear because its
    /// inventory is coarse. `at_least` says that the diameter is a lower bound. A tree without a diameter reaches classes without a size.
    pub fn class(&self, tree: &Tree, diameter_m: f64, at_least: bool, imperial: bool) -> Option<String> {
        if tree.designated {
            return Some("designated".to_string());
        }
        if self.exempt.iter().any(|exempt| exempt.who.means(tree) == Meant::Yes) {
            return None;
        }
        let between = match tree.stems {
            Stems::Range { low_m, high_m } => Between { low_m, high_m },
            Stems::AtLeast { low_m } => Between { low_m, high_m: f64::INFINITY },
            Stems::Unknown(_) => return self.class_of_any_size(tree),
            Stems::Measured(_) if at_least => Between { low_m: diameter_m, high_m: f64::INFINITY },
            Stems::Measured(_) => Between { low_m: diameter_m, high_m: diameter_m },
        };
        let own: Vec<(&SizeClass, Meant)> = self.classes.iter().map(|class| (class, class.means(tree))).collect();
        let meant = |wanted: Meant| own.iter().filter(move |(_, meant)| *meant == wanted).map(|(class, _)| *class);
        let stated = self.stated.map(|stated| stated.size(imperial));
        if let Some(class) = meant(Meant::Yes).find(|class| class.reached(tree, between.low_m)) {
            return Some(class.text());
        }
        if let Some(size) = stated.as_ref().filter(|size| size.reached(between.low_m)) {
            return Some(size.class.clone());
        }
        let at_high_end = meant(Meant::Yes).any(|class| class.reached(tree, between.high_m))
            || stated.is_some_and(|size| size.reached(between.high_m));
        if at_high_end {
            return Some(between.possible(imperial));
        }
        meant(Meant::Perhaps).find(|class| class.reached(tree, between.high_m)).map(SizeClass::perhaps)
    }

    /// The class of a tree whose diameter is not known: one that is for trees of any size.
    fn class_of_any_size(&self, tree: &Tree) -> Option<String> {
        let mut any_size = self.classes.iter().filter(|class| class.size.is_none() && class.circumference.is_none());
        let perhaps = any_size.clone().find(|class| class.means(tree) == Meant::Perhaps);
        any_size.find(|class| class.means(tree) == Meant::Yes).map(SizeClass::text).or(perhaps.map(SizeClass::perhaps))
    }

    /// Whether a class or an exemption asks about the species.
    pub fn asks_species(&self) -> bool {
        self.classes.iter().any(|class| class.who.asks_species())
            || self.exempt.iter().any(|exempt| exempt.who.asks_species())
    }
}

impl Between {
    fn possible(self, imperial: bool) -> String {
        let low = length_text(self.low_m, imperial);
        match self.high_m.is_finite() {
            true => format!("possible ({low} to {})", length_text(self.high_m, imperial)),
            false => format!("possible (at least {low})"),
        }
    }
}

impl SizeClass {
    fn means(&self, tree: &Tree) -> Meant {
        let several = matches!(&tree.stems, Stems::Measured(stems) if stems.len() > 1);
        match self.trunks {
            Some(Trunks::One) if several => Meant::No,
            Some(Trunks::Several) if !several => Meant::No,
            _ => self.who.means(tree),
        }
    }

    /// Whether a diameter under the set's rule reaches the class; `of` goes back to the stems where they are known.
    fn reached(&self, tree: &Tree, diameter_m: f64) -> bool {
        let compared_m = match (self.of, &tree.stems) {
            (Some(of), Stems::Measured(stems)) if diameter_m.is_finite() => of.combine().diameter(stems),
            _ => diameter_m,
        };
        self.size.as_ref().is_none_or(|size| size.holds(compared_m))
            && self.circumference.as_ref().is_none_or(|size| size.holds(compared_m * std::f64::consts::PI))
    }

    /// The class as printed for a tree that may be one of those meant.
    fn perhaps(&self) -> String {
        format!("possible ({}; species not known well enough)", self.text())
    }

    /// The class as printed: its name and its size.
    pub fn text(&self) -> String {
        match self.size_words() {
            words if words.is_empty() => self.class.clone(),
            words => format!("{} ({words})", self.class),
        }
    }

    /// The size as printed; empty where the class has none.
    pub fn size_words(&self) -> String {
        match (&self.size, &self.circumference) {
            (Some(size), _) => size.written.clone(),
            (None, Some(size)) => format!("circumference {}", size.written),
            (None, None) => String::new(),
        }
    }
}

/// The size that stands outside the set.
struct Size {
    class: String,
    size_m: f64,
}

impl Size {
    fn reached(&self, diameter_m: f64) -> bool {
        diameter_m >= self.size_m - SAME_LENGTH_M
    }
}

impl StatedSize {
    fn size(self, imperial: bool) -> Size {
        let (size_m, class) = match self {
            StatedSize::Default => (DEFAULT_HERITAGE_SIZE_M, "heritage-size (>= 30 in, default)".to_string()),
            StatedSize::Typed(size_m) => {
                (size_m, format!("heritage-size (>= {}, --heritage-size)", length_text(size_m, imperial)))
            }
        };
        Size { class, size_m }
    }

    /// The text of the class that this size makes.
    pub fn class_text(self, imperial: bool) -> String {
        self.size(imperial).class
    }

    /// Where the size comes from, for people.
    pub fn explanation(self) -> &'static str {
        match self {
            StatedSize::Default => {
                "a default, since this set names no size: common among city codes (DeKalb County, Georgia: 30 in, seen), which go from 6 to 48 in by species; --heritage-size gives another"
            }
            StatedSize::Typed(_) => "typed with --heritage-size",
        }
    }
}

/// A diameter as people write it: inches or centimetres to at most 1 decimal.
fn length_text(length_m: f64, imperial: bool) -> String {
    let (value, unit) = if imperial { (length_m / METRES_PER_INCH, "in") } else { (length_m * 100.0, "cm") };
    let text = format!("{value:.1}");
    format!("{} {unit}", text.strip_suffix(".0").unwrap_or(&text))
}
