//! The example of `docs/rule-sets.md` is a rule file that works and does what the page says.

// A test may stop at what it does not expect.
#![allow(clippy::unwrap_used)]

use rootward::rules::RuleSet;
use std::collections::BTreeSet;

const PAGE: &str = include_str!("../docs/rule-sets.md");

fn text() -> &'static str {
    let start = PAGE.find("```toml\n").expect("the page has an example") + "```toml\n".len();
    let end = start + PAGE[start..].find("```").expect("the example ends");
    &PAGE[start..end]
}

fn example() -> RuleSet {
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("alderwick.toml");
    std::fs::write(&file, text()).unwrap();
    RuleSet::load(file.to_str().unwrap()).unwrap()
}

#[test]
fn the_example_loads_and_is_whole() {
    let rules = example();
    assert_eq!(rules.radius.of.len(), 7);
    assert_eq!(rules.rings.len(), 3);
    assert_eq!(rules.limits.len(), 7);
    let selections: Vec<_> = rules.selections.iter().map(|set| set.words()).collect();
    assert_eq!(selections, ["cut+fill", "permanent seal new ground"]);
    assert_eq!((rules.heritage.classes.len(), rules.protected.classes.len()), (4, 1));
    assert_eq!((rules.heritage.exempt.len(), rules.mitigations.len()), (1, 2));
    assert!(rules.bores.is_some() && rules.drip_ring == Some(2));
    let page = rules.describe();
    for part in [
        "heritage: diameter >= 28 in",
        "heritage, two trunks: diameter >= 22 in of the two largest stems added up, several trunks",
        "rounded up to a multiple of 6 in",
        "mats on compact (temporary works): does not count as compact.",
        "radius 1.25 ft per 1 in of diameter",
        "overlap of cut+fill in half ring >= 5 % of root zone",
    ] {
        assert!(page.contains(part), "{part} is missing in:\n{page}");
    }
}

/// The keys, and the words that a key may take, of a schema and of all within it.
fn keys_and_words(schema: &serde_json::Value, keys: &mut BTreeSet<String>, words: &mut BTreeSet<String>) {
    match schema {
        serde_json::Value::Object(object) => {
            if let Some(properties) = object.get("properties").and_then(|properties| properties.as_object()) {
                keys.extend(properties.keys().cloned());
            }
            let listed = object.get("enum").and_then(|words| words.as_array()).into_iter().flatten();
            let texts = listed.chain(object.get("const")).filter_map(|word| word.as_str());
            words.extend(texts.map(str::to_string));
            object.values().for_each(|value| keys_and_words(value, keys, words));
        }
        serde_json::Value::Array(values) => values.iter().for_each(|value| keys_and_words(value, keys, words)),
        _ => {}
    }
}

#[test]
fn the_page_has_every_key_and_word_of_the_language() {
    let schema = serde_json::from_str(&RuleSet::schema()).unwrap();
    let (mut keys, mut words) = (BTreeSet::new(), BTreeSet::new());
    keys_and_words(&schema, &mut keys, &mut words);
    assert!(keys.len() > 60 && words.len() > 50, "{} keys, {} words", keys.len(), words.len());
    let example = text();
    let code = example.lines().map(|line| line.split(" # ").next().unwrap()).collect::<Vec<_>>().join("\n");
    let in_code: BTreeSet<&str> = code.split(|c: char| !c.is_ascii_lowercase() && c != '_').collect();
    let missing: Vec<_> = keys.iter().filter(|key| !in_code.contains(key.as_str())).collect();
    assert!(missing.is_empty(), "the example does not use {missing:?}");
    let on_page: BTreeSet<&str> = PAGE.split(|c: char| !c.is_ascii_lowercase() && c != '_' && c != '-').collect();
    let unsaid: Vec<_> =
        words.iter().filter(|word| !on_page.contains(word.as_str()) && !PAGE.contains(&format!("`{word}`"))).collect();
    assert!(unsaid.is_empty(), "the page does not name {unsaid:?}");
}

#[test]
fn the_page_names_every_built_in_set() {
    assert!(PAGE.contains(&format!("{} sets are built in", RuleSet::names().len())));
    for name in RuleSet::names() {
        assert!(PAGE.contains(&format!("| `{name}` |")), "{name}");
    }
}
