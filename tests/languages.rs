//! Pages in another language: with every text of the built-in file replaced, no English word of it is left on any page.

#![allow(clippy::unwrap_used)]

use crate::run::{command, table};
use std::collections::BTreeSet;
use std::path::{Path, PathBuf};

fn root() -> PathBuf {
    PathBuf::from(env!("CARGO_MANIFEST_DIR"))
}

fn english() -> toml::Table {
    std::fs::read_to_string(root().join("src/write/pages/english.toml")).unwrap().parse().unwrap()
}

/// Every Latin letter outside of braces as a Cyrillic one.
fn foreign(text: &str) -> String {
    let mut within = false;
    let letter = |c: char| {
        within = (within || c == '{') && c != '}';
        if !within && c.is_ascii_alphabetic() { 'ж' } else { c }
    };
    text.chars().map(letter).collect()
}

/// The built-in file with every text replaced by one of its own, but for the code of the language.
fn written(path: &Path) {
    let mut texts = english();
    let mut number = 0;
    for (section, table) in texts.iter_mut() {
        for (key, text) in table.as_table_mut().unwrap().iter_mut() {
            if (section.as_str(), key.as_str()) != ("page", "language") {
                number += 1;
                *text = format!("{} {number}", foreign(text.as_str().unwrap())).into();
            }
        }
    }
    std::fs::write(path, toml::to_string(&texts).unwrap()).unwrap();
}

/// The sample town with all that protects trees, with a language file.
pub fn town_in_another_language(folder: &Path, more: &[&str]) -> PathBuf {
    let (language, out) = (folder.join("foreign.toml"), folder.join("out"));
    written(&language);
    let mut args = vec!["screen", "--trees", "data-samples/alderwick_trees.csv", "data-samples/hollin_park.gpkg#trees"];
    args.extend(["--works", "data-samples/alderwick_permits.geojson", "data-samples/alderwick_utilities.shp"]);
    args.extend(["--rules", "one-foot-per-inch", "--layers", "none", "--quiet", "--out", out.to_str().unwrap()]);
    args.extend([
        "--protect",
        "--start",
        "2027-03-01",
        "--end",
        "2027-06-30",
        "--language",
        language.to_str().unwrap(),
    ]);
    args.extend(more);
    let output = command(&args, &root());
    assert_eq!(output.status.code(), Some(0), "{}", String::from_utf8_lossy(&output.stderr));
    out
}

/// What a person reads or hears of a page: text between tags, and labels.
fn read(page: &str) -> String {
    let mut text = String::new();
    let mut rest = page.to_string();
    for (from, to) in [("<style>", "</style>"), ("<script", "</script>")] {
        while let Some((before, after)) = rest.split_once(from) {
            rest = format!("{before} {}", after.split_once(to).unwrap().1);
        }
    }
    for part in rest.split('<').skip(1) {
        let (tag, after) = part.split_once('>').unwrap_or((part, ""));
        if let Some((_, label)) = tag.split_once("aria-label=\"") {
            text += label.split('"').next().unwrap();
            text += "\n";
        }
        text += &after.split_whitespace().collect::<Vec<_>>().join(" ");
        text += "\n";
    }
    let entities = [
        ("&lt;", "<"),
        ("&gt;", ">"),
        ("&quot;", "\""),
        ("&#39;", "'"),
        ("&#x27;", "'"),
        ("&#x2f;", "/"),
        ("&amp;", "&"),
    ];
    entities.into_iter().fold(text, |text, (entity, letter)| text.replace(entity, letter))
}

/// Texts that are not the program's but those of inputs, the rule set and its sources.
fn of_others(out: &Path) -> Vec<String> {
    let run: serde_json::Value = serde_json::from_slice(&std::fs::read(out.join("run.json")).unwrap()).unwrap();
    let mut texts = BTreeSet::new();
    for name in ["overlaps", "permits", "heritage_at_risk"] {
        for row in table(&out.join(format!("tables/{name}.csv"))) {
            let columns = [
                "permit_id",
                "status",
                "tree_id",
                "species",
                "heritage_class",
                "clause",
                "condition",
                "owner",
                "permit_status",
            ];
            texts.extend(columns.into_iter().filter_map(|column| row.get(column).cloned()));
        }
    }
    texts.extend(
        table(&out.join("tables/set_aside.csv"))
            .into_iter()
            .flat_map(|row| [row["detail"].clone(), row["problem"].clone()]),
    );
    let rules = &run["rules"];
    texts.extend(
        [&rules["title"], &rules["name"], &rules["replacement"], &run["measuring_crs"]["name"]]
            .map(|text| text.as_str().unwrap_or_default().to_string()),
    );
    for list in [&rules["cautions"], &rules["notes"], &run["defaults"]] {
        texts.extend(list.as_array().unwrap().iter().map(|text| text.as_str().unwrap().to_string()));
    }
    // Kinds of work as the applications write them.
    let permits = std::fs::read_to_string(root().join("data-samples/alderwick_permits.geojson")).unwrap();
    texts.extend(permits.split("\"work_type\": \"").skip(1).map(|rest| rest.split('"').next().unwrap().to_string()));
    // The sources of values, which stand within notes.
    for values in ["src/protect/upkeep_values.toml", "src/protect/values.toml"] {
        let text = std::fs::read_to_string(root().join(values)).unwrap();
        let sources = ["source = \"", "title = \""].into_iter().flat_map(|key| text.split(key).skip(1));
        let sources = sources.map(|rest| rest.split('"').next().unwrap().to_string());
        texts.extend(sources);
    }
    // Citations of fences and covers, as the table prints them.
    let cited = |file: &str, column: &str| {
        table(&out.join("tables").join(file)).into_iter().filter_map(|row| row.get(column).cloned()).collect::<Vec<_>>()
    };
    texts.extend(cited("ground_cover.csv", "clause"));
    texts.extend(["seen", "second-hand", "from memory", "common practice"].map(str::to_string));
    let mut texts: Vec<String> = texts.into_iter().filter(|text| text.len() > 1).collect();
    texts.sort_by_key(|text| std::cmp::Reverse(text.len()));
    texts
}

fn words(text: &str) -> BTreeSet<String> {
    let plain = |word: &&str| word.len() > 2 && word.bytes().all(|b| b.is_ascii_alphabetic());
    // A path is a name.
    let endings = [".csv", ".json", ".txt", ".geojson", ".shp", ".gpkg"];
    let name = |word: &&str| word.contains(['/', '_', '=', '`']) || endings.iter().any(|ending| word.contains(ending));
    let parts = text.split_whitespace().filter(|word| !name(word));
    parts.flat_map(|part| part.split(|c: char| !c.is_alphanumeric())).filter(plain).map(str::to_lowercase).collect()
}

#[test]
fn no_english_word_is_left_where_all_texts_are_replaced() {
    let folder = tempfile::tempdir().unwrap();
    let out = town_in_another_language(folder.path(), &["--surfaces", "data-samples/alderwick_surfaces.geojson"]);
    let known: BTreeSet<String> = english()
        .values()
        .flat_map(|table| table.as_table().unwrap().values())
        .flat_map(|text| words(text.as_str().unwrap()))
        .collect();
    assert!(known.len() > 400);
    let others = of_others(&out);
    let mut pages = 0;
    for entry in std::fs::read_dir(out.join("sheets")).unwrap() {
        let path = entry.unwrap().path();
        let page = std::fs::read_to_string(&path).unwrap();
        let letter = path.extension().is_some_and(|ending| ending == "txt");
        let mut text = if letter { page.split_whitespace().collect::<Vec<_>>().join(" ") } else { read(&page) };
        assert!(text.contains("жжж"));
        for other in &others {
            text = text.replace(other.as_str(), " ");
            // As a sentence.
            let mut letters = other.chars();
            let capital: String = letters.next().unwrap().to_uppercase().chain(letters).collect();
            text = text.replace(&capital, " ");
        }
        let left: Vec<String> = words(&text).intersection(&known).cloned().collect();
        let lines: Vec<&str> =
            text.lines().filter(|line| left.iter().any(|word| words(line).contains(word))).take(12).collect();
        assert!(left.is_empty(), "{}: {left:?}\n{}", path.display(), lines.join("\n"));
        pages += 1;
    }
    assert!(pages > 80, "{pages}");
    // The tables stay as they are, for machines.
    assert!(table(&out.join("tables/overlaps.csv")).iter().any(|row| row["sentence"].contains("root zone")));
}

/// A city's own phrase, with a number in it, for a text that the built-in file does not have.
#[test]
fn a_city_adds_phrases_of_its_own() {
    let folder = tempfile::tempdir().unwrap();
    let language = folder.path().join("own.toml");
    std::fs::write(&language, "[said]\n\"shed {what}\" = \"Schuppen {what}\"\n\"permanent\" = \"dauerhaft\"\n")
        .unwrap();
    let kinds = folder.path().join("kinds.toml");
    std::fs::write(&kinds, "[[kind]]\nname = \"shed for tools\"\nnames = [\"tool shed\"]\neffects = [\"occupy\", \"cut\"]\nsevers = true\n").unwrap();
    let works = "permit_id,kind,wkt\nP,tool shed,\"POLYGON((2 50,5 50,5 53,2 53,2 50))\"\n";
    let more = ["--language", language.to_str().unwrap(), "--work-kinds", kinds.to_str().unwrap()];
    let run = crate::run::screen("id,x,y,dbh_in\nT,0,50,24\n", works, "one-foot-per-inch", &more).done();
    let page = std::fs::read_to_string(run.out().join("sheets/P.html")).unwrap();
    assert!(page.contains("Schuppen for tools") && page.contains("dauerhaft") && !page.contains(">permanent<"));
    let strange = "[said]\n\"shed {what}\" = \"Schuppen {wat}\"\n";
    std::fs::write(&language, strange).unwrap();
    let refused = crate::run::screen("id,x,y,dbh_in\nT,0,50,24\n", works, "one-foot-per-inch", &more);
    assert_eq!(refused.output.status.code(), Some(1));
    assert!(refused.stderr().contains("{wat}"), "{}", refused.stderr());
}
