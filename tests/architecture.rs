//! Holds the source to what DEVELOPERS.md says: arrows between modules, where foreign crates may stand, sizes, heads, the code map.
//!
//! Plain text only: comments are cut off and paths looked for, which is crude but needs no compiler and cannot be talked round.

#![allow(clippy::unwrap_used)]

use std::collections::BTreeSet;
use std::path::{Path, PathBuf};

/// Lines that no source file may pass.
const MOST_LINES: usize = 500;

/// What each module may use of the others. A name that is not here is a stage (or the pipeline's); see [`allowed`].
const ARROWS: &[(&str, &[&str])] = &[
    ("units", &[]),
    ("model", &["units", "issue"]),
    ("issue", &["model", "units"]),
    ("error", &["model", "units", "issue"]),
    ("settings", &["model", "units", "error"]),
    ("rules", &["model", "units", "error", "issue"]),
    ("gdal_messages", &[]),
    ("in_order", &["error"]),
    ("geometry", &["model", "units", "error", "issue"]),
    ("projection", &["model", "units", "error", "issue", "settings"]),
];

/// Stages do not use each other; each may use all of the above.
const STAGES: &[&str] = &["read", "normalise", "zone", "index", "measure", "judge", "protect", "write"];

/// Foreign crates that stand in few places: the crate, and the beginnings of the paths where it may.
const CONFINED: &[(&str, &[&str])] = &[
    ("gdal", &["src/gdal_messages", "src/read", "src/write/geopackage"]),
    ("gdal_sys", &[]),
    ("flatgeobuf", &["src/write/flatgeobuf_file", "src/write/geopackage_tests"]),
    ("flatbuffers", &["src/write/flatgeobuf_file"]),
    ("proj", &["src/projection"]),
    ("proj_sys", &[]),
    ("rstar", &["src/index"]),
    ("clap", &["src/bin/"]),
    ("indicatif", &["src/bin/"]),
    ("anstyle", &["src/bin/"]),
    ("geos", &[]),
];

/// A file of `src/`: its path from the crate's folder, with `/`, and its text.
struct Source {
    path: String,
    text: String,
}

impl Source {
    fn is_test(&self) -> bool {
        self.path.ends_with("_tests.rs") || self.path.ends_with("_for_tests.rs")
    }

    /// The module under `src/` that it belongs to: `read` for `src/read/crs.rs` and `src/read.rs`.
    fn module(&self) -> &str {
        let inner = self.path.strip_prefix("src/").unwrap();
        let first = inner.split('/').next().unwrap();
        first.strip_suffix(".rs").unwrap_or(first).trim_end_matches("_tests")
    }

    /// Lines with their numbers, comments cut off.
    fn code(&self) -> impl Iterator<Item = (usize, &str)> {
        self.text.lines().enumerate().map(|(index, line)| (index + 1, without_comment(line)))
    }
}

/// The line up to `//`, unless that stands in a web address.
fn without_comment(line: &str) -> &str {
    let mut from = 0;
    while let Some(at) = line[from..].find("//").map(|at| at + from) {
        if at == 0 || line.as_bytes()[at - 1] != b':' {
            return &line[..at];
        }
        from = at + 2;
    }
    line
}

fn root() -> &'static Path {
    Path::new(env!("CARGO_MANIFEST_DIR"))
}

fn sources() -> Vec<Source> {
    let mut paths = Vec::new();
    gather(&root().join("src"), &mut paths);
    paths.sort();
    let sources: Vec<Source> = paths
        .into_iter()
        .filter(|path| path.extension().is_some_and(|extension| extension == "rs"))
        .map(|path| {
            let text = std::fs::read_to_string(&path).unwrap();
            let parts: Vec<_> = path.strip_prefix(root()).unwrap().iter().map(|part| part.to_string_lossy()).collect();
            Source { path: parts.join("/"), text }
        })
        .collect();
    assert!(sources.len() > 15, "the walk finds the source");
    sources
}

fn gather(folder: &Path, paths: &mut Vec<PathBuf>) {
    for entry in std::fs::read_dir(folder).unwrap() {
        let path = entry.unwrap().path();
        if path.is_dir() { gather(&path, paths) } else { paths.push(path) }
    }
}

/// The modules that a line of code names after `crate::`, also in `use crate::{a, b::c}`.
fn modules_named(code: &str) -> Vec<String> {
    let word = |text: &str| text.chars().take_while(|c| c.is_ascii_alphanumeric() || *c == '_').collect::<String>();
    let mut named = Vec::new();
    for (at, found) in code.match_indices("crate::") {
        let joined_to_a_word =
            at > 0 && (code.as_bytes()[at - 1].is_ascii_alphanumeric() || code.as_bytes()[at - 1] == b'_');
        if joined_to_a_word {
            continue;
        }
        let rest = &code[at + found.len()..];
        match rest.strip_prefix('{') {
            None => named.push(word(rest)),
            Some(list) => {
                let mut depth = 0;
                let mut fresh = true;
                for (position, sign) in list.char_indices() {
                    match sign {
                        '{' => depth += 1,
                        '}' if depth == 0 => break,
                        '}' => depth -= 1,
                        ',' if depth == 0 => fresh = true,
                        _ if fresh && depth == 0 && !sign.is_whitespace() => {
                            named.push(word(&list[position..]));
                            fresh = false;
                        }
                        _ => {}
                    }
                }
            }
        }
    }
    named.retain(|name| !name.is_empty());
    named
}

/// Whether a module may use another.
fn allowed(from: &str, to: &str) -> bool {
    let below = |name: &str| ARROWS.iter().find(|(module, _)| *module == name);
    match below(from) {
        _ if from == to => true,
        Some((_, uses)) => uses.contains(&to),
        // A stage may use everything below the stages, and no other stage. `judge` in one file or a folder is the same.
        None if STAGES.contains(&from) => below(to).is_some(),
        // The pipeline, the crate's root and the binary may name everything.
        None => ["lib", "pipeline", "bin"].contains(&from),
    }
}

#[test]
fn arrows_between_modules_run_one_way() {
    let known: BTreeSet<String> = sources().iter().map(|source| source.module().to_string()).collect();
    let mut wrong = Vec::new();
    for source in sources().iter().filter(|source| !source.is_test()) {
        let from = source.module();
        let placed = ARROWS.iter().any(|(module, _)| *module == from)
            || STAGES.contains(&from)
            || ["lib", "pipeline", "bin"].contains(&from);
        if !placed {
            wrong.push(format!(
                "{}: the module `{from}` has no place in the order; add it to tests/architecture.rs and DEVELOPERS.md",
                source.path
            ));
        }
        for (line, code) in source.code() {
            for to in modules_named(code).into_iter().filter(|to| known.contains(to)) {
                if !allowed(from, &to) {
                    wrong.push(format!("{}:{line}: `{from}` uses `{to}`", source.path));
                }
            }
        }
    }
    assert!(wrong.is_empty(), "arrows that run the wrong way:\n{}", wrong.join("\n"));
}

#[test]
fn foreign_crates_stand_where_they_may() {
    let mut wrong = Vec::new();
    for source in sources() {
        for (line, code) in source.code() {
            for (name, places) in CONFINED {
                if names_crate(code, name) && !places.iter().any(|place| source.path.starts_with(place)) {
                    wrong.push(format!("{}:{line}: `{name}` may stand in {places:?} only", source.path));
                }
            }
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

/// Whether a line of code uses a crate: `use name`, `name::` at the start of a path, or `extern crate name`.
fn names_crate(code: &str, name: &str) -> bool {
    code.match_indices(name).any(|(at, _)| {
        let (before, after) = (&code[..at], &code[at + name.len()..]);
        let own_word = |text: Option<char>| !text.is_some_and(|c| c.is_ascii_alphanumeric() || c == '_');
        let starts_a_path = own_word(before.chars().next_back()) && !before.ends_with("::") && after.starts_with("::");
        let whole = before.trim_end().ends_with("use") || before.trim_end().ends_with("extern crate");
        starts_a_path || (whole && own_word(after.chars().next()))
    })
}

#[test]
fn no_file_is_longer_than_500_lines() {
    let long: Vec<String> = sources()
        .iter()
        .map(|source| (source.path.clone(), source.text.lines().count()))
        .filter(|(_, lines)| *lines >= MOST_LINES)
        .map(|(path, lines)| format!("{path}: {lines} lines; split it by what it does"))
        .collect();
    assert!(long.is_empty(), "{}", long.join("\n"));
}

#[test]
fn every_module_says_at_its_head_what_it_does() {
    let silent: Vec<String> = sources()
        .iter()
        .filter(|source| !source.is_test())
        .filter(|source| !source.text.lines().next().is_some_and(|line| line.starts_with("//! ") && line.len() > 12))
        .map(|source| source.path.clone())
        .collect();
    assert!(silent.is_empty(), "no `//!` at the head of:\n{}", silent.join("\n"));
}

/// The paths in the code map of DEVELOPERS.md: what stands first on a line, between backticks, and begins with `src/`.
fn code_map() -> BTreeSet<String> {
    let text = std::fs::read_to_string(root().join("DEVELOPERS.md")).unwrap();
    let (_, rest) = text.split_once("<!-- code map -->").expect("DEVELOPERS.md has the mark `<!-- code map -->`");
    let (map, _) =
        rest.split_once("<!-- end of code map -->").expect("DEVELOPERS.md has the mark `<!-- end of code map -->`");
    map.lines()
        .filter_map(|line| line.trim_start_matches(['|', '-', ' ']).strip_prefix('`'))
        .filter_map(|line| line.split_once('`'))
        .map(|(path, _)| path.to_string())
        .filter(|path| path.starts_with("src/"))
        .collect()
}

#[test]
fn the_code_map_names_every_file() {
    let map = code_map();
    let missing: Vec<String> = sources()
        .iter()
        .filter(|source| !source.is_test() && !map.contains(&source.path))
        .map(|source| {
            let head = source.text.lines().next().unwrap_or("").trim_start_matches("//! ");
            format!("| `{}` | {head} |", source.path)
        })
        .collect();
    assert!(missing.is_empty(), "not in the code map of DEVELOPERS.md; add:\n{}", missing.join("\n"));
}

#[test]
fn the_code_map_names_no_file_that_is_gone() {
    // Only of modules that the library has: the map may be ahead of the code by a module, never by a file.
    let modules: BTreeSet<String> = sources().iter().map(|source| source.module().to_string()).collect();
    let gone: Vec<String> = code_map()
        .into_iter()
        .filter(|path| !root().join(path).exists())
        .filter(|path| modules.contains(Source { path: path.clone(), text: String::new() }.module()))
        .collect();
    assert!(gone.is_empty(), "in the code map of DEVELOPERS.md, but gone:\n{}", gone.join("\n"));
}

#[test]
fn the_suite_names_every_file_of_tests() {
    let suite = std::fs::read_to_string(root().join("tests/suite.rs")).unwrap();
    let named: BTreeSet<&str> = suite.lines().filter_map(|line| line.strip_prefix("mod ")?.strip_suffix(';')).collect();
    let missing: Vec<String> = std::fs::read_dir(root().join("tests"))
        .unwrap()
        .map(|entry| entry.unwrap().path())
        .filter(|path| path.extension().is_some_and(|extension| extension == "rs"))
        .map(|path| path.file_stem().unwrap().to_str().unwrap().to_string())
        .filter(|name| name != "suite" && !named.contains(name.as_str()))
        .collect();
    assert!(missing.is_empty(), "tests/suite.rs does not run {missing:?}");
}

#[test]
fn the_checks_themselves_can_see() {
    assert_eq!(modules_named("use crate::{model::crs::{Crs, CrsKind}, read, write::x};"), ["model", "read", "write"]);
    assert_eq!(modules_named("    let x = crate::read::open(); // crate"), ["read"]);
    assert!(modules_named("use supercrate::read;").is_empty());
    assert!(
        allowed("read", "model") && allowed("pipeline", "read") && allowed("judge", "rules") && allowed("read", "read")
    );
    assert!(
        !allowed("read", "normalise")
            && !allowed("model", "rules")
            && !allowed("geometry", "measure")
            && !allowed("units", "model")
    );
    assert!(!allowed("write", "pipeline") && !allowed("measure", "bin"));
    assert!(
        names_crate("use proj::Proj;", "proj")
            && names_crate("let p = proj::Proj::new(x);", "proj")
            && names_crate("use gdal;", "gdal")
    );
    assert!(
        !names_crate("use proj_sys::x;", "proj")
            && !names_crate("use crate::proj::x;", "proj")
            && !names_crate("\"+proj=laea\"", "proj")
    );
    assert_eq!(without_comment("let a = 1; // use crate::read"), "let a = 1; ");
    assert_eq!(without_comment("let a = \"https://example.org\";"), "let a = \"https://example.org\";");
}
