//! Whether a tree is heritage-size: by the sizes of the rule set, by a typed size, or by a stated default.

use super::provenance::Provenance;
use super::quantity::{Bound, Comparison};
use crate::model::tree::{Stems, Tree};
use crate::units::METRES_PER_INCH;
use serde::{Deserialize, Serialize};

/// The size used where the set names none and none was typed: 30 in (76.2 cm), `>=`.
///
/// # Source
/// No single one: common among the city and county codes that were read (DeKalb County, Georgia, specimen trees: 30 in for large
/// hardwoods and softwoods, seen; an appendix of a Minnesota city: 30 in for hardwoods, seen; others go from 6 to 48 in by species).
pub const DEFAULT_HERITAGE_SIZE_M: f64 = 30.0 * METRES_PER_INCH;

/// Diameters are compared to within this, metres: a sum of stems in inches must not miss its size by the last binary digit.
const SAME_SIZE_M: f64 = 1e-9;

/// One class of trees that a set names, `[[heritage]]`.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct SizeClass {
    /// Its name, as printed.
    pub class: String,
    /// The diameter that makes it: `">= 28 in"`.
    pub size: Bound,
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

/// What makes a tree heritage-size.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct HeritageRule {
    /// The set's own classes, in its order: the first that a tree reaches names it.
    pub classes: Vec<SizeClass>,
    /// A size outside the set: typed, or the default where the set names none.
    pub stated: Option<StatedSize>,
}

/// One size that is asked about: the text of its class and how to compare.
struct Size {
    class: String,
    comparison: Comparison,
    size_m: f64,
}

impl Size {
    fn reached(&self, diameter_m: f64) -> bool {
        match self.comparison {
            Comparison::AtLeast => diameter_m >= self.size_m - SAME_SIZE_M,
            comparison => comparison.holds(diameter_m, self.size_m + SAME_SIZE_M),
        }
    }
}

impl HeritageRule {
    /// The class of a tree of this diameter; `None` where it reaches none.
    ///
    /// A designated tree is heritage whatever its size. A class of diameters with an end below a size and no end, or an end at or
    /// above it, is `possible (...)`: a big tree must not disappear because its inventory is coarse. `at_least` says that the diameter
    /// is a lower bound.
    pub fn class(&self, tree: &Tree, diameter_m: f64, at_least: bool, imperial: bool) -> Option<String> {
        if tree.designated {
            return Some("designated".to_string());
        }
        let (low_m, high_m) = match tree.stems {
            Stems::Range { low_m, high_m } => (low_m, high_m),
            Stems::AtLeast { low_m } => (low_m, f64::INFINITY),
            Stems::Unknown(_) => return None,
            Stems::Measured(_) => (diameter_m, if at_least { f64::INFINITY } else { diameter_m }),
        };
        let sizes = self.sizes(imperial);
        if let Some(size) = sizes.iter().find(|size| size.reached(low_m)) {
            return Some(size.class.clone());
        }
        if !sizes.iter().any(|size| size.reached(high_m)) {
            return None;
        }
        let low = length_text(low_m, imperial);
        Some(match high_m.is_finite() {
            true => format!("possible ({low} to {})", length_text(high_m, imperial)),
            false => format!("possible (at least {low})"),
        })
    }

    fn sizes(&self, imperial: bool) -> Vec<Size> {
        let own = self.classes.iter().map(|class| Size {
            class: format!("{} ({})", class.class, class.size.written),
            comparison: class.size.comparison,
            size_m: class.size.value,
        });
        own.chain(self.stated.map(|stated| stated.size(imperial))).collect()
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
        Size { class, comparison: Comparison::AtLeast, size_m }
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
