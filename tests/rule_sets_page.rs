//! The example of `docs/rule-sets.md` is a rule file that works and does what the page says.

// A test may stop at what it does not expect.
#![allow(clippy::unwrap_used)]

use rootward::rules::RuleSet;

const PAGE: &str = include_str!("../docs/rule-sets.md");

fn example() -> RuleSet {
    let start = PAGE.find("```toml\n").expect("the page has an example") + "```toml\n".len();
    let end = start + PAGE[start..].find("```").expect("the example ends");
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("alderwick.toml");
    std::fs::write(&file, &PAGE[start..end]).unwrap();
    RuleSet::load(file.to_str().unwrap()).unwrap()
}

#[test]
fn the_example_loads_and_is_whole() {
    let rules = example();
    assert_eq!(rules.rings.len(), 2);
    assert_eq!(rules.limits.len(), 4);
    assert_eq!(rules.selections.iter().map(|set| set.words()).collect::<Vec<_>>(), ["cut+fill"]);
    let page = rules.describe();
    for part in [
        "heritage: diameter >= 28 in",
        "radius 1.25 ft per 1 in of diameter",
        "overlap of cut+fill in half ring >= 5 % of root zone",
    ] {
        assert!(page.contains(part), "{part} is missing in:\n{page}");
    }
}

#[test]
fn the_page_names_every_built_in_set() {
    for name in RuleSet::names() {
        assert!(PAGE.contains(&format!("| `{name}` |")), "{name}");
    }
}
