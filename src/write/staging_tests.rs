//! Staging: a set is put in place whole or not at all, and nobody else's files are lost.

use super::*;
use std::collections::BTreeMap;
use std::fs;

/// Every file below a folder with its bytes; a link is shown as where it points.
fn tree(folder: &Path) -> BTreeMap<String, String> {
    let mut found = BTreeMap::new();
    for entry in fs::read_dir(folder).unwrap() {
        let entry = entry.unwrap();
        let name = entry.file_name().into_string().unwrap();
        if entry.file_type().unwrap().is_dir() {
            found.insert(format!("{name}/"), String::new());
            found.extend(tree(&entry.path()).into_iter().map(|(inner, text)| (format!("{name}/{inner}"), text)));
        } else if entry.file_type().unwrap().is_symlink() {
            found.insert(name, format!("-> {}", fs::read_link(entry.path()).unwrap().display()));
        } else {
            found.insert(name, fs::read_to_string(entry.path()).unwrap());
        }
    }
    found
}

/// Writes a set of one table, with `run.json` as the program does.
fn put(staging: &mut Staging, table: &str, text: &str) {
    staging.write(&format!("tables/{table}.csv"), text.as_bytes()).unwrap();
    let files: Vec<_> =
        staging.files().iter().map(|f| serde_json::json!({ "name": f.name, "sha256": f.sha256 })).collect();
    let run = serde_json::json!({ "program": "rootward", "files": files }).to_string();
    staging.write(RUN_FILE, run.as_bytes()).unwrap();
}

fn run(out: &Path, replace_files: bool, table: &str, text: &str) {
    let mut staging = Staging::begin(out, replace_files).unwrap();
    put(&mut staging, table, text);
    staging.finish().unwrap();
}

fn names(folder: &Path) -> Vec<String> {
    tree(folder).into_keys().collect()
}

#[test]
fn a_set_is_put_in_place_and_nothing_stays_beside_it() {
    for replace_files in [false, true] {
        let home = tempfile::tempdir().unwrap();
        let out = home.path().join("results");
        run(&out, replace_files, "a", "one");
        assert_eq!(names(home.path()), ["results/", "results/run.json", "results/tables/", "results/tables/a.csv"]);
        run(&out, replace_files, "b", "two");
        assert_eq!(names(home.path()), ["results/", "results/run.json", "results/tables/", "results/tables/b.csv"]);
        assert_eq!(tree(&out)["tables/b.csv"], "two");
    }
}

#[test]
fn the_hash_and_the_size_are_those_of_the_file() {
    let home = tempfile::tempdir().unwrap();
    let mut staging = Staging::begin(&home.path().join("out"), false).unwrap();
    staging.write("a.txt", b"abc").unwrap();
    // FIPS 180-2, appendix B.1: the SHA-256 of "abc".
    let sha256 = "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad";
    assert_eq!(staging.files(), [FileFacts { name: "a.txt".into(), bytes: 3, sha256: sha256.into() }]);
}

/// A large file is made safe while others are written, and arrives whole.
#[test]
fn a_large_file_arrives_whole() {
    let home = tempfile::tempdir().unwrap();
    let out = home.path().join("out");
    let mut staging = Staging::begin(&out, false).unwrap();
    let text = "0123456789abcdef".repeat(LARGE as usize / 16);
    staging.write("tables/small.csv", b"one").unwrap();
    assert!(staging.syncing.0.is_empty());
    staging.write("tables/large.csv", text.as_bytes()).unwrap();
    assert_eq!(staging.syncing.0.len(), 1);
    put(&mut staging, "a", "two");
    staging.finish().unwrap();
    assert_eq!(fs::read_to_string(out.join("tables/large.csv")).unwrap(), text);
}

/// What the disk says while a large file is made safe ends the run, as if it had been said at the end.
#[test]
fn a_large_file_that_cannot_be_made_safe_ends_the_run() {
    let home = tempfile::tempdir().unwrap();
    let out = home.path().join("out");
    let mut staging = Staging::begin(&out, false).unwrap();
    put(&mut staging, "a", "one");
    let full = std::thread::spawn(|| Err(std::io::Error::from(std::io::ErrorKind::StorageFull)));
    staging.syncing.0.push((out.join("tables/large.csv"), full));
    let said = staging.finish().unwrap_err().to_string();
    assert!(said.contains("tables/large.csv") && said.contains("make safe"), "{said}");
    assert!(!out.exists());
}

/// The same of a part that was made safe while the file was growing.
#[test]
fn a_part_that_cannot_be_made_safe_ends_the_run() {
    let home = tempfile::tempdir().unwrap();
    let out = home.path().join("out");
    let mut staging = Staging::begin(&out, false).unwrap();
    let mut file = staging.create("tables/growing.csv").unwrap();
    file.put(b"one").unwrap();
    let full = std::thread::spawn(|| Err(std::io::Error::from(std::io::ErrorKind::StorageFull)));
    file.syncing.0.push((out.join("tables/growing.csv"), full));
    staging.close(file).unwrap();
    let said = staging.finish().unwrap_err().to_string();
    assert!(said.contains("tables/growing.csv") && said.contains("make safe"), "{said}");
    assert!(!out.exists());
}

#[test]
fn a_file_goes_to_the_disk_as_it_grows() {
    let home = tempfile::tempdir().unwrap();
    let out = home.path().join("out");
    let mut staging = Staging::begin(&out, false).unwrap();
    let mut file = staging.create("tables/growing.csv").unwrap();
    let part = vec![b'x'; PART as usize];
    file.put(&part[1..]).unwrap();
    assert!(file.syncing.0.is_empty());
    file.put(&part[..1]).unwrap();
    assert_eq!(file.syncing.0.len(), 1);
    file.put(b"end").unwrap();
    assert_eq!(file.syncing.0.len(), 1, "what follows is a part of its own");
    staging.close(file).unwrap();
    assert_eq!(staging.syncing.0.len(), 2, "the part, and the whole");
    staging.finish().unwrap();
    assert_eq!(fs::metadata(out.join("tables/growing.csv")).unwrap().len(), PART + 3);
}

#[test]
fn a_failed_run_leaves_everything_as_it_was() {
    for replace_files in [false, true] {
        let home = tempfile::tempdir().unwrap();
        let out = home.path().join("results");
        run(&out, false, "a", "one");
        let before = tree(home.path());
        let mut staging = Staging::begin(&out, replace_files).unwrap();
        staging.write("tables/a.csv", b"half of a tab").unwrap();
        assert_ne!(tree(home.path()), before, "the temporary folder stands somewhere");
        drop(staging);
        assert_eq!(tree(home.path()), before);
    }
}

#[test]
fn a_failed_first_run_leaves_no_folder() {
    for replace_files in [false, true] {
        let home = tempfile::tempdir().unwrap();
        let staging = Staging::begin(&home.path().join("2031/may/results"), replace_files).unwrap();
        assert!(home.path().join("2031/may").is_dir());
        drop(staging);
        assert!(names(home.path()).is_empty());
    }
}

#[test]
fn foreign_files_are_refused() {
    let home = tempfile::tempdir().unwrap();
    let out = home.path().join("results");
    fs::create_dir(&out).unwrap();
    fs::write(out.join("letter.odt"), "dear").unwrap();
    let error = Staging::begin(&out, false).unwrap_err();
    assert!(error.to_string().contains("letter.odt"), "{error}");
    assert!(error.hint().contains("--out"));
    fs::remove_file(out.join("letter.odt")).unwrap();
    // Another program's run.json lists nothing of ours, and is a foreign file itself.
    fs::write(out.join("run.json"), r#"{"program":"other","files":[]}"#).unwrap();
    assert!(Staging::begin(&out, false).unwrap_err().to_string().contains("run.json"));
    fs::remove_file(out.join("run.json")).unwrap();
    run(&out, false, "a", "one");
    fs::write(out.join("tables/note.txt"), "mine").unwrap();
    let error = Staging::begin(&out, true).unwrap_err();
    assert!(error.to_string().contains("tables/note.txt"), "{error}");
}

#[test]
fn a_file_put_there_during_the_run_is_not_lost() {
    let home = tempfile::tempdir().unwrap();
    let out = home.path().join("results");
    run(&out, false, "a", "one");
    let mut staging = Staging::begin(&out, false).unwrap();
    put(&mut staging, "a", "two");
    fs::write(out.join("note.txt"), "mine").unwrap();
    let before = tree(&out);
    assert!(staging.finish().unwrap_err().to_string().contains("note.txt"));
    assert_eq!(tree(&out), before);
}

#[test]
fn a_second_run_is_refused_and_told_who_holds_the_folder() {
    let home = tempfile::tempdir().unwrap();
    let out = home.path().join("results");
    let first = Staging::begin(&out, false).unwrap();
    let error = Staging::begin(&out, false).unwrap_err();
    assert!(error.to_string().contains(&format!("process {}", std::process::id())), "{error}");
    drop(first);
    run(&out, false, "a", "one");
    // Both ways of putting files in place exclude each other, though their lock files stand in different places.
    for (one, other) in [(false, true), (true, false), (true, true)] {
        let first = Staging::begin(&out, one).unwrap();
        let error = Staging::begin(&out, other).unwrap_err();
        assert!(error.to_string().contains("another run"), "{error}");
        drop(first);
    }
    Staging::begin(&out, false).unwrap();
}

#[test]
fn what_killed_runs_left_is_removed_and_nothing_else() {
    let home = tempfile::tempdir().unwrap();
    let out = home.path().join("results");
    let left = home.path().join(".results.rootward-abcdefGHIJ12");
    let held = home.path().join(".results.rootward-held00000000");
    let others = [".results.rootward-short", ".results2.rootward-abcdefGHIJ12", ".results.rootward-abc.efGHIJ12"];
    for folder in [&left, &held] {
        fs::create_dir_all(folder.join("tables")).unwrap();
        fs::write(folder.join("tables/a.csv"), "half").unwrap();
    }
    for other in others {
        fs::create_dir(home.path().join(other)).unwrap();
    }
    fs::write(home.path().join(".results.rootward-lock"), "999999").unwrap();
    let holder = lock::hold_folder(&held).unwrap();
    run(&out, false, "a", "one");
    assert!(!left.exists() && held.exists(), "{:?}", names(home.path()));
    assert!(!home.path().join(".results.rootward-lock").exists());
    for other in others {
        assert!(home.path().join(other).exists(), "{other}");
    }
    drop(holder);
}

#[test]
fn links_are_replaced_and_not_followed() {
    for replace_files in [false, true] {
        let home = tempfile::tempdir().unwrap();
        let out = home.path().join("results");
        let precious = home.path().join("precious.csv");
        fs::write(&precious, "precious").unwrap();
        run(&out, false, "a", "one");
        fs::remove_file(out.join("tables/a.csv")).unwrap();
        std::os::unix::fs::symlink(&precious, out.join("tables/a.csv")).unwrap();
        run(&out, replace_files, "a", "two");
        assert_eq!(tree(&out)["tables/a.csv"], "two");
        assert_eq!(fs::read_to_string(&precious).unwrap(), "precious");
        // A link in place of a folder is nobody's that we know.
        fs::rename(out.join("tables"), home.path().join("elsewhere")).unwrap();
        std::os::unix::fs::symlink(home.path().join("elsewhere"), out.join("tables")).unwrap();
        assert!(Staging::begin(&out, replace_files).unwrap_err().to_string().contains("tables"));
    }
}

#[test]
fn a_folder_given_by_a_link_is_written_where_the_link_points() {
    let home = tempfile::tempdir().unwrap();
    let real = home.path().join("disk/results");
    fs::create_dir_all(&real).unwrap();
    let link = home.path().join("link");
    std::os::unix::fs::symlink(&real, &link).unwrap();
    run(&link, false, "a", "one");
    assert!(fs::symlink_metadata(&link).unwrap().is_symlink());
    assert_eq!(tree(&real)["tables/a.csv"], "one");
}

#[test]
fn an_interrupted_replacing_can_be_run_again() {
    let home = tempfile::tempdir().unwrap();
    let out = home.path().join("results");
    run(&out, true, "a", "one");
    // As it is when the power fails after the first file: no run.json, an old and a new file, and the list.
    fs::remove_file(out.join(RUN_FILE)).unwrap();
    fs::write(out.join("tables/b.csv"), "two").unwrap();
    let list =
        r#"{"program":"rootward","files":[{"name":"tables/a.csv"},{"name":"tables/b.csv"},{"name":"run.json"}]}"#;
    fs::write(out.join(folder::REPLACING_FILE), list).unwrap();
    run(&out, true, "b", "two");
    assert_eq!(names(home.path()), ["results/", "results/run.json", "results/tables/", "results/tables/b.csv"]);
}

#[test]
fn a_list_that_points_outside_removes_nothing_there() {
    let home = tempfile::tempdir().unwrap();
    let out = home.path().join("results");
    run(&out, true, "a", "one");
    let precious = home.path().join("precious.csv");
    fs::write(&precious, "precious").unwrap();
    let list = r#"{"program":"rootward","files":[{"name":"../precious.csv"},{"name":"tables/a.csv"}]}"#;
    fs::write(out.join(RUN_FILE), list).unwrap();
    run(&out, true, "b", "two");
    assert!(precious.exists());
}

#[test]
fn folders_that_cannot_be_used_are_said_at_once() {
    let home = tempfile::tempdir().unwrap();
    let file = home.path().join("file");
    fs::write(&file, "").unwrap();
    for out in [file.as_path(), Path::new("/"), Path::new("/proc/rootward-results"), &file.join("below")] {
        for replace_files in [false, true] {
            assert!(Staging::begin(out, replace_files).is_err(), "{}", out.display());
        }
    }
    // A mount point cannot be exchanged. It must exist and be another file system than what it stands in; /dev/shm is, on most Linux.
    let shm = Path::new("/dev/shm");
    let differs = |m: fs::Metadata| {
        std::os::unix::fs::MetadataExt::dev(&m) != std::os::unix::fs::MetadataExt::dev(&fs::metadata("/dev").unwrap())
    };
    if shm.metadata().is_ok_and(differs) && fs::read_dir(shm).is_ok_and(|mut entries| entries.next().is_none()) {
        let error = Staging::begin(shm, false).unwrap_err();
        assert!(error.hint().contains("--replace-files"), "{error}");
    } else {
        eprintln!("skipped: no empty mount point at /dev/shm");
    }
}

#[test]
fn the_folder_keeps_its_permissions() {
    let home = tempfile::tempdir().unwrap();
    let out = home.path().join("results");
    run(&out, false, "a", "one");
    assert_ne!(fs::metadata(&out).unwrap().permissions().mode() & 0o050, 0, "a new folder follows the umask");
    fs::set_permissions(&out, fs::Permissions::from_mode(0o750)).unwrap();
    run(&out, false, "a", "two");
    assert_eq!(fs::metadata(&out).unwrap().permissions().mode() & 0o777, 0o750);
}
