//! Each mistake in a replacement rule: its message. And what cannot be said in the published examples: caps, classes, unknown species.

use super::*;
use crate::model::owed::Owed;
use crate::model::results::RowDiameter;
use crate::model::source::SourceRef;
use crate::model::tree::Stems;

/// A set without rules on replacement; 12 lines.
const REST: &str = r#"name = "alderwick"
title = "Town of Alderwick"
units = "feet-and-inches"
caution = "An example."
stems = { combine = "sum", from = { status = "common practice", date = 2026-11-25 } }
radius = { of = [{ times_diameter = 12, from = { status = "common practice", date = 2026-11-25 } }] }
otherwise = { gives = "minor", text = "any", from = { status = "common practice", date = 2026-11-25 } }
[[protected]]
class = "protected"
size = ">= 6 in"
from = { status = "common practice", date = 2026-11-25 }

"#;

const FROM: &str = "text = \"a rule\"\nfrom = { status = \"common practice\", date = 2026-11-25 }\n";
const SOURCE: &str = "from = { status = \"common practice\", date = 2026-11-25 }";

/// Sets with one or more entries; `;` ends a line.
fn set(entries: &[&str]) -> Result<RuleSet> {
    let entry = |entry: &&str| format!("[[replacement]]\n{}\n{FROM}", entry.replace("; ", "\n"));
    RuleSet::from_text("a.toml", &(REST.to_string() + &entries.iter().map(entry).collect::<String>()))
}

fn tree(species: &str) -> Tree {
    Tree {
        species: species.into(),
        stems: Stems::Measured(vec![1.0]),
        ..Tree::only_placed("1", SourceRef { file: 0, row: 1 }, geo::Coord { x: 0.0, y: 0.0 })
    }
}

fn inches(diameter_in: f64) -> RowDiameter {
    RowDiameter::Known(diameter_in * 0.0254)
}

fn owed(rules: &RuleSet, diameter: &RowDiameter) -> Owed {
    rules.owed(&tree(""), diameter, "protected", "").unwrap()
}

/// The entry, `line:column`, part of the message, the hint.
const MISTAKES: &[(&str, &str, &str, &str)] = &[
    ("", "13:1", "a replacement has 0 ways to count it", ""),
    ("trees = 1; fee_per_tree = \"5 USD\"", "13:1", "a replacement has 2 ways to count it", ""),
    ("tree = 1", "14:1", "unknown key `tree`", "did you mean `trees`?"),
    ("trees = 0", "13:1", "plants 0 trees", ""),
    ("trees = -1", "14:9", "invalid value: integer `-1`", ""),
    ("of = \"heritages\"; trees = 1", "14:6", "unknown word `heritages`", "did you mean `heritage`?"),
    ("share_of_diameter = \"0 %\"", "14:21", "`0 %` is no share of the diameter", ""),
    ("share_of_diameter = \"1001 %\"", "14:21", "`1001 %` is no share of the diameter", ""),
    ("share_of_diameter = 1.25", "14:21", "invalid type", ""),
    ("fee_per_tree = \"250\"", "14:16", "`250` is no amount of money", ""),
    ("fee_per_tree = \"$250\"", "14:16", "`$250` is no amount of money", ""),
    ("fee_per_tree = \"250 usd\"", "14:16", "`250 usd` is no amount of money", ""),
    ("fee_per_tree = \"-250 USD\"", "14:16", "`-250 USD` is no amount of money", ""),
    ("fee_per_tree = \"nan USD\"", "14:16", "`nan USD` is no amount of money", ""),
    ("fee_per_length = \"55 USD per 1 in\"", "14:18", "is no fee by length", ""),
    ("fee_per_length = \"55 USD per inch of girth\"", "14:18", "is no fee by length", ""),
    ("classes = []", "13:1", "the classes have no row", ""),
    ("classes = [{ below = \"6 in\" }]", "13:1", "row 1 of the classes asks nothing", ""),
    ("classes = [{ trees = 1 }, { below = \"6 in\", trees = 2 }]", "13:1", "row 1 of the classes is out of order", ""),
    (
        "classes = [{ below = \"6 in\", trees = 1 }, { below = \"5 in\", trees = 2 }]",
        "13:1",
        "row 2 of the classes is out of order",
        "",
    ),
    (
        "classes = [{ below = \"6 in\", printed_to = \"7 in\", trees = 1 }]",
        "13:1",
        "row 1 of the classes is printed to beyond its end",
        "",
    ),
    ("classes = [{ or_trees = 1, fee = \"5 USD\" }]", "13:1", "row 1 of the classes has or_trees without trees", ""),
    ("classes = [{ trees = 2, or_trees = 1 }]", "13:1", "or_trees and or_each_at_least belong together", ""),
    ("trees = 1; of_total = true", "13:1", "`of_total` fits classes only", ""),
    ("trees = 1; fee_is = \"instead\"", "13:1", "the replacement has no fee", ""),
    ("trees = 1; who = { genus = [\"quercus\"] }", "13:1", "`quercus` is no scientific name", ""),
];

#[test]
fn each_mistake_has_a_message_at_its_place() {
    assert_eq!(set(&["trees = 1"]).unwrap().replacement.len(), 1);
    let mut wrong = Vec::new();
    for &(bad, place, what, hint) in MISTAKES {
        match set(&[bad]) {
            Ok(_) => wrong.push(format!("{bad}: accepted")),
            Err(error) => {
                let message = error.to_string();
                let placed = message.starts_with(&format!("a.toml:{place}: "));
                if !placed || !message.contains(what) || error.hint() != hint {
                    wrong.push(format!("{bad}: expected {place} {what} [{hint}], got {message} [{}]", error.hint()));
                }
            }
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

#[test]
fn caps_and_sizes_must_fit() {
    for (key, what) in [
        ("at_most = { is = {}", "the most is empty"),
        ("at_most = { is = { trees = 2 }", "counted in trees, but the replacement plants none"),
        ("each_at_least = { is = \"2 in\"", "the replacement plants none"),
    ] {
        let error = set(&[&format!("fee_per_tree = \"5 USD\"; {key}, {SOURCE} }}")]).unwrap_err();
        assert!(error.to_string().contains(what), "{error}");
    }
    let error = set(&[&format!("trees = 1; at_most_per_permit = {{ is = {{ money = \"5 USD\" }}, {SOURCE} }}")]);
    assert!(error.unwrap_err().to_string().contains("counted in money, but the replacement has no fee"));
}

#[test]
fn one_currency_and_no_entry_out_of_reach() {
    let error = set(&["fee_per_tree = \"5 USD\"; of = \"heritage\"", "fee_per_tree = \"5 EUR\""]).unwrap_err();
    assert!(error.to_string().contains("`5 EUR` beside USD; expected one currency"), "{error}");
    let error = set(&["trees = 1", "trees = 2; of = \"heritage\""]).unwrap_err();
    assert!(error.to_string().contains("no tree reaches this replacement"), "{error}");
    set(&["trees = 2; of = \"heritage\"", "trees = 1", "fee_per_tree = \"5 USD\""]).unwrap();
}

#[test]
fn classes_of_diameters_count_at_their_upper_end() {
    let rules = set(&["share_of_diameter = \"50 %\""]).unwrap();
    let (low_m, high_m) = (20.0 * 0.0254, 24.0 * 0.0254);
    let other = crate::model::finding::Verdict::Minor;
    let range = owed(&rules, &RowDiameter::Range { used_m: low_m, low_m, high_m, other });
    assert_eq!(range.arithmetic, "the upper end of 20.0 in to 24.0 in: 24.0 in x 50 % = 12.0 in");
    assert!((range.length_m.unwrap() - 12.0 * 0.0254).abs() < 1e-12);
    let open = owed(&rules, &RowDiameter::AtLeast(31.0 * 0.0254));
    assert_eq!(open.arithmetic, "31.0 in or more, so at least: 31.0 in x 50 % = 15.5 in");
}

#[test]
fn what_is_not_known_is_said() {
    let rules = set(&["share_of_diameter = \"50 %\""]).unwrap();
    let unknown = RowDiameter::Unknown("diameter-missing");
    // Designated: it is one of those meant, but how much is not known.
    let designated = rules.owed(&tree(""), &unknown, "designated", "designated").unwrap();
    assert!(designated.unknown && designated.length_m.is_none());
    assert_eq!(designated.arithmetic, "diameter not known (diameter-missing): measure the tree");
    // Neither designated nor measured: it may be one.
    let may_be = rules.owed(&tree(""), &unknown, "", "").unwrap();
    assert!(may_be.unknown && may_be.arithmetic.contains("neither the class of the tree nor what is owed"));
    // A count needs no diameter.
    let count = set(&["trees = 2"]).unwrap().owed(&tree(""), &unknown, "designated", "").unwrap();
    assert_eq!((count.trees, count.unknown), (Some(2), false));
    // Measured and not protected: no rule is for it.
    assert_eq!(rules.owed(&tree(""), &inches(4.0), "", ""), None);
    let all = rules.owed_together([&designated, &owed(&rules, &inches(10.0))]);
    assert_eq!((all.removed, all.unknown), (2, 1));
    assert_eq!(all.arithmetic, "not known for 1 tree: the sums are too small");
}

#[test]
fn the_first_that_plants_and_the_first_that_pays_decide() {
    let oak = "trees = 3; who = { genus = [\"Quercus\"] }";
    let rules =
        set(&["trees = 5; of = \"heritage\"", oak, "fee_per_tree = \"9 USD\"; fee_is = \"besides\"", "trees = 1"]);
    let rules = rules.unwrap();
    let of = |species: &str, heritage: &str| rules.owed(&tree(species), &inches(10.0), "protected", heritage).unwrap();
    assert_eq!(of("Quercus robur", "great").arithmetic, "5 trees; and 9 USD");
    assert_eq!(of("Quercus robur", "").arithmetic, "3 trees; and 9 USD");
    // No species is known: the oak's rule may be for it.
    assert_eq!(of("", "").arithmetic, "if it is genus Quercus (not known well enough): 3 trees; and 9 USD");
    assert_eq!((of("", "").money_is, of("", "").trees), ("besides", Some(3)));
}

#[test]
fn protected_stands_for_heritage_where_the_set_protects_none() {
    let text =
        REST.replace("[[protected]]", "[[heritage]]") + "[[replacement]]\nof = \"protected\"\ntrees = 1\n" + FROM;
    let rules = RuleSet::from_text("a.toml", &text).unwrap();
    assert!(rules.owed(&tree(""), &inches(10.0), "", "great").is_some());
    assert!(rules.owed(&tree(""), &inches(3.0), "", "").is_none());
}

#[test]
fn caps_per_tree_and_per_permit() {
    let most = |key: &str, most: &str| format!("{key} = {{ is = {{ {most} }}, {SOURCE} }}");
    let (tree, permit) = (most("at_most", "trees = 3"), most("at_most_per_permit", "trees = 5, money = \"100 USD\""));
    let classes = "classes = [{ below = \"10 in\", trees = 2, fee = \"40 USD\" }, { trees = 4, fee = \"80 USD\" }]";
    let rules = set(&[&format!("{classes}; {tree}; {permit}")]).unwrap();
    let (small, great) = (owed(&rules, &inches(8.0)), owed(&rules, &inches(20.0)));
    assert_eq!(small.arithmetic, "8.0 in: class below 10 in: 2 trees or 40 USD");
    assert_eq!(great.arithmetic, "20.0 in: class 10 in and over: 4 trees or 80 USD, but at most 3 trees for one tree");
    assert_eq!(great.trees, Some(3));
    let all = rules.owed_together([&small, &great, &great]);
    assert_eq!((all.trees, all.money.map(|money| money.amount)), (Some(5), Some(100.0)));
    assert_eq!(all.arithmetic, "at most 5 trees and 100 USD for the permit");
}

#[test]
fn metric_sets_count_in_centimetres() {
    let text = REST.replace("feet-and-inches", "metric");
    let text = text + "[[replacement]]\nfee_per_length = \"10 EUR per 1 cm of circumference\"\n" + FROM;
    let rules = RuleSet::from_text("a.toml", &text).unwrap();
    let one = owed(&rules, &RowDiameter::Known(0.8 / std::f64::consts::PI));
    assert_eq!(one.arithmetic, "80.0 cm circumference x 10 EUR per 1 cm = 800 EUR");
    assert_eq!((one.money.unwrap().amount, one.money_is), (800.0, ""));
}
