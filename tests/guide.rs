//! Runs every command of the manual: what a reader is told to type must do what the manual says.
//!
//! In `docs/guide.md` and `README.md` a fence marked `console` holds commands after `$ `. Those that begin with `$ rootward` are
//! run in order, from a temporary folder with a copy of `data-samples/`, so that nothing in the repository is touched. A `\` at the end of a line
//! goes on in the next. A line `(exit 3)` below a command says which exit code is expected (0 where none is said). Every other line below it
//! must stand in what the command prints, as a whole line and in that order; `...` stands for any lines.
//!
//! A fence with a language and a file name, such as `toml our-code.toml`, is written into that file before the commands run.

use std::path::Path;
use std::process::Command;

/// A command with what the manual says of it.
#[derive(Debug, PartialEq)]
struct Told {
    line: usize,
    words: Vec<String>,
    exit: i32,
    output: Vec<String>,
}

/// A file that the manual shows in full.
#[derive(Debug, PartialEq)]
struct Shown {
    name: String,
    text: String,
}

/// The commands and files of a document, in order.
fn read_manual(text: &str) -> (Vec<Told>, Vec<Shown>) {
    let (mut told, mut shown) = (Vec::new(), Vec::new());
    let mut lines = text.lines().zip(1..);
    while let Some((line, number)) = lines.next() {
        let Some(info) = line.strip_prefix("```") else { continue };
        let block: Vec<(&str, usize)> = lines.by_ref().take_while(|(line, _)| *line != "```").collect();
        match info.split_whitespace().collect::<Vec<_>>()[..] {
            ["console"] => told.extend(commands(&block)),
            [_, name] => {
                let text = block.iter().map(|(line, _)| format!("{line}\n")).collect();
                shown.push(Shown { name: name.to_string(), text });
            }
            [] => panic!("line {number}: a fence without a language; `text` is for plain text"),
            _ => {}
        }
    }
    (told, shown)
}

fn commands(block: &[(&str, usize)]) -> Vec<Told> {
    let mut told: Vec<Told> = Vec::new();
    let mut ours = false;
    let mut lines = block.iter();
    while let Some(&(line, number)) = lines.next() {
        if let Some(command) = line.strip_prefix("$ ") {
            let mut command = command.to_string();
            while let Some(begun) = command.strip_suffix('\\') {
                let next = lines.next().map_or("", |(line, _)| line.trim_start());
                command = format!("{begun}{next}");
            }
            let words = shell_words(&command);
            ours = words[0] == "rootward";
            if ours {
                told.push(Told { line: number, words, exit: 0, output: Vec::new() });
            }
        } else if let (true, Some(told)) = (ours, told.last_mut()) {
            match line.strip_prefix("(exit ").and_then(|rest| rest.strip_suffix(')')) {
                Some(code) => told.exit = code.parse().expect("an exit code is a number"),
                None => told.output.push(line.to_string()),
            }
        }
    }
    told
}

/// Splits a command as a shell would, as far as the manual needs it: blanks and single quotes.
fn shell_words(command: &str) -> Vec<String> {
    assert!(
        !command.contains(['|', '>', '<', '$', '"', '*']),
        "the test knows no shell beyond single quotes: {command}"
    );
    let mut words = vec![String::new()];
    for (part, quoted) in command.split('\'').zip([false, true].into_iter().cycle()) {
        if quoted {
            words.last_mut().expect("never empty").push_str(part);
            continue;
        }
        for (number, piece) in part.split(' ').enumerate() {
            if number > 0 {
                words.push(String::new());
            }
            words.last_mut().expect("never empty").push_str(piece);
        }
    }
    words.retain(|word| !word.is_empty());
    words
}

/// The first expected line that the output does not hold after those before it.
fn missing<'a>(expected: &'a [String], printed: &str) -> Option<&'a str> {
    let mut printed = printed.lines();
    let expected = expected.iter().filter(|line| !line.trim().is_empty() && *line != "...");
    expected.map(String::as_str).find(|line| !printed.any(|found| found.trim_end() == line.trim_end()))
}

fn copy_samples(to: &Path) {
    let from = Path::new(env!("CARGO_MANIFEST_DIR")).join("data-samples");
    let into = to.join("data-samples");
    std::fs::create_dir(&into).expect("a new folder in a temporary one");
    for entry in std::fs::read_dir(&from).expect("data-samples is in the repository") {
        let entry = entry.expect("a folder that can be listed");
        std::fs::copy(entry.path(), into.join(entry.file_name())).expect("a plain file");
    }
}

/// Runs all commands of one document and reports every one that does not do what the document says.
fn check(document: &str, least: usize) {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join(document);
    let text = std::fs::read_to_string(&path).expect("the document is in the repository");
    let (told, shown) = read_manual(&text);
    assert!(told.len() >= least, "{document}: only {} commands found", told.len());
    let folder = tempfile::tempdir().expect("a temporary folder");
    copy_samples(folder.path());
    for file in &shown {
        std::fs::write(folder.path().join(&file.name), &file.text).expect("a file name without a folder");
    }
    let wrong: Vec<String> = told.iter().filter_map(|told| differs(document, told, folder.path())).collect();
    assert!(wrong.is_empty(), "{} of {} commands:\n\n{}", wrong.len(), told.len(), wrong.join("\n\n"));
}

/// What a command does other than the document says, or `None`.
fn differs(document: &str, told: &Told, folder: &Path) -> Option<String> {
    let done = Command::new(env!("CARGO_BIN_EXE_rootward"))
        .args(&told.words[1..])
        .current_dir(folder)
        .output()
        .expect("the program starts");
    let printed = format!("{}{}", String::from_utf8_lossy(&done.stdout), String::from_utf8_lossy(&done.stderr));
    let at = format!("{document}:{}: {}", told.line, told.words.join(" "));
    if done.status.code() != Some(told.exit) {
        return Some(format!("{at}\nexit {:?}, expected {}\n{printed}", done.status.code(), told.exit));
    }
    let line = missing(&told.output, &printed)?;
    Some(format!("{at}\ndoes not print (after the lines before it): {line}\nit prints:\n{printed}"))
}

#[test]
fn every_command_of_the_guide_does_what_it_says() {
    check("docs/guide.md", 20);
}

#[test]
fn every_command_of_the_readme_does_what_it_says() {
    check("README.md", 2);
}

#[test]
fn the_manual_is_read_as_its_head_says() {
    let text = "\
intro
```console
$ rootward screen --trees a.csv \\
    'b c.gpkg#trees'
(exit 3)
Trees in reach       7 of 9 read
...
$ diff one two
not ours
```
```toml our-code.toml
name = 1
```
```text
$ rootward not-a-command
```
";
    let (told, shown) = read_manual(text);
    let words = ["rootward", "screen", "--trees", "a.csv", "b c.gpkg#trees"].map(str::to_string).to_vec();
    let output = ["Trees in reach       7 of 9 read", "..."].map(str::to_string).to_vec();
    assert_eq!(told, [Told { line: 3, words, exit: 3, output: output.clone() }]);
    assert_eq!(shown, [Shown { name: "our-code.toml".to_string(), text: "name = 1\n".to_string() }]);
    assert_eq!(missing(&output, "x\nTrees in reach       7 of 9 read\ny\n"), None);
    assert_eq!(missing(&output, "x\nTrees in reach       7 of 9\n"), Some("Trees in reach       7 of 9 read"));
    let swapped = ["b", "a"].map(str::to_string);
    assert_eq!(missing(&swapped, "a\nb\n"), Some("a"));
}

/// The committed figures are what their script draws, the map from a run on the samples.
#[test]
fn figures_are_what_their_script_draws() {
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    if Command::new("python3").arg("--version").output().is_err() {
        eprintln!("skipped: figures of the manual: no python3");
        return;
    }
    let folder = tempfile::tempdir().expect("a temporary folder");
    copy_samples(folder.path());
    let screen = "screen --trees data-samples/alderwick_trees.csv data-samples/hollin_park.gpkg#trees \
                  --works data-samples/alderwick_permits.geojson data-samples/alderwick_utilities.shp \
                  --rules one-foot-per-inch --quiet --out screening";
    let done =
        Command::new(env!("CARGO_BIN_EXE_rootward")).args(shell_words(screen)).current_dir(folder.path()).output();
    assert!(done.expect("the program starts").status.success());
    let results = folder.path().join("screening");
    for more in [vec![], vec!["--results".as_ref(), results.as_os_str()]] {
        let script = root.join("scripts/draw-figures");
        let done = Command::new("python3").arg(&script).arg("--check").args(&more).output().expect("python3 starts");
        assert!(done.status.success(), "{more:?}: {}", String::from_utf8_lossy(&done.stderr));
    }
}

/// Every link of the manual to a file of the repository leads somewhere.
#[test]
fn links_lead_to_files() {
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    let mut broken = Vec::new();
    for document in ["README.md", "docs/guide.md", "docs/method.md"] {
        let text = std::fs::read_to_string(root.join(document)).expect("the document is in the repository");
        let folder = root.join(document).parent().expect("a file has a folder").to_path_buf();
        for link in text.split("](").skip(1).filter_map(|rest| rest.split_once(')').map(|(link, _)| link)) {
            let file = link.split('#').next().unwrap_or("");
            if !link.starts_with("http") && !file.is_empty() && !folder.join(file).exists() {
                broken.push(format!("{document}: {link}"));
            }
        }
    }
    assert!(broken.is_empty(), "links to nothing: {broken:#?}");
}
