//! `--replace-files`: puts a new set in place file by file, for file systems that cannot exchange folders.
//!
//! While it works `run.json` is away, so that a mixed set is never taken for a complete one.

use super::folder::{Given, REPLACING_FILE, sync};
use super::staging::RUN_FILE;
use crate::error::{Error, Result};
use std::collections::BTreeSet;
use std::path::Path;

/// Moves the files named from the temporary folder (inside the output folder) into the output folder, `run.json` last, and removes
/// files of the old set that the new one does not have.
pub fn put_files(given: &Given, temporary: &Path, names: &BTreeSet<String>) -> Result<()> {
    let old = old_names(&given.folder);
    let all: Vec<_> = old.union(names).map(|name| serde_json::json!({ "name": name })).collect();
    let list = serde_json::json!({ "program": "rootward", "files": all }).to_string();
    let list_path = given.folder.join(REPLACING_FILE);
    let new_list = temporary.join(REPLACING_FILE);
    std::fs::write(&new_list, list).map_err(|e| Error::io(&list_path, "write", e))?;
    sync(&new_list)?;
    rename(&new_list, &list_path)?;
    remove(&given.folder.join(RUN_FILE))?;
    sync(&given.folder)?;
    for name in old.difference(names) {
        remove(&given.folder.join(name))?;
    }
    for name in names.iter().filter(|name| *name != RUN_FILE) {
        let target = given.folder.join(name);
        if let Some(parent) = target.parent() {
            real_folder(parent)?;
        }
        rename(&temporary.join(name), &target)?;
    }
    rename(&temporary.join(RUN_FILE), &given.folder.join(RUN_FILE))?;
    remove(&list_path)?;
    for folder in ["layers", "tables"] {
        // Fails where it is not empty, or not there: both are as they should be.
        let _ = std::fs::remove_dir(given.folder.join(folder));
    }
    sync(&given.folder)
}

/// Names that the old `run.json` (or an interrupted replacing) lists, those that leave the folder not among them.
fn old_names(folder: &Path) -> BTreeSet<String> {
    let mut names = BTreeSet::new();
    for list in [RUN_FILE, REPLACING_FILE] {
        let Ok(text) = std::fs::read(folder.join(list)) else { continue };
        let Ok(run) = serde_json::from_slice::<serde_json::Value>(&text) else { continue };
        let files = run["files"].as_array().into_iter().flatten();
        let within =
            |name: &&str| Path::new(name).components().all(|part| matches!(part, std::path::Component::Normal(_)));
        names.extend(files.filter_map(|file| file["name"].as_str()).filter(within).map(str::to_string));
    }
    names.remove(RUN_FILE);
    names
}

/// Makes sure that a folder is a folder and not a link to one.
fn real_folder(path: &Path) -> Result<()> {
    if std::fs::symlink_metadata(path).is_ok_and(|m| !m.is_dir()) {
        remove(path)?;
    }
    match std::fs::create_dir(path) {
        Err(e) if e.kind() != std::io::ErrorKind::AlreadyExists => Err(Error::io(path, "make the folder", e)),
        _ => Ok(()),
    }
}

fn rename(from: &Path, to: &Path) -> Result<()> {
    std::fs::rename(from, to).map_err(|e| Error::io(to, "put in place", e))
}

fn remove(path: &Path) -> Result<()> {
    match std::fs::remove_file(path) {
        Err(e) if e.kind() != std::io::ErrorKind::NotFound => Err(Error::io(path, "remove", e)),
        _ => Ok(()),
    }
}
