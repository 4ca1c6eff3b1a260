//! Checks on the output folder before a run, and the one step that puts a new folder in its place.

use super::lock;
use super::staging::RUN_FILE;
use crate::error::{Error, Result};
use rustix::fs::{Access, CWD, RenameFlags, access, renameat_with};
use std::collections::BTreeSet;
use std::ffi::{OsStr, OsString};
use std::fs::File;
use std::io::ErrorKind;
use std::os::unix::fs::MetadataExt;
use std::path::{Path, PathBuf};

/// In `--replace-files`: lists the files of the old and the new set while `run.json` is away.
pub const REPLACING_FILE: &str = ".rootward-replacing.json";

/// The output folder, taken apart. Where DIR is itself a symbolic link, this is the folder that it points to.
#[derive(Debug, Clone)]
pub struct Given {
    /// The folder.
    pub folder: PathBuf,
    /// The folder in which it stands.
    pub parent: PathBuf,
    /// Its name there.
    pub name: OsString,
}

/// Folders that were made for the output; removed again, where still empty, unless they are kept.
#[derive(Debug, Default)]
pub struct MadeFolders(Vec<PathBuf>);

impl MadeFolders {
    /// Makes a folder and those above it that are missing.
    pub fn make(&mut self, path: &Path) -> Result<()> {
        let missing: Vec<_> = path.ancestors().take_while(|p| !p.as_os_str().is_empty() && !p.exists()).collect();
        for folder in missing.into_iter().rev() {
            std::fs::create_dir(folder).map_err(|e| {
                let what = format!("cannot make the folder: {e}");
                refusal(folder, what, "name a folder that you may make or write with --out")
            })?;
            self.0.push(folder.to_path_buf());
        }
        Ok(())
    }

    /// Leaves them where they are.
    pub fn keep(&mut self) {
        self.0.clear();
    }
}

impl Drop for MadeFolders {
    fn drop(&mut self) {
        for folder in self.0.iter().rev() {
            let _ = std::fs::remove_dir(folder);
        }
    }
}

fn refusal(path: &Path, what: impl Into<String>, hint: impl Into<String>) -> Error {
    Error::Output { path: path.to_path_buf(), what: what.into(), hint: hint.into() }
}

/// Takes the typed folder apart.
pub fn resolve(out: &Path) -> Result<Given> {
    let is_link = std::fs::symlink_metadata(out).is_ok_and(|m| m.file_type().is_symlink());
    let named = matches!(out.components().next_back(), Some(std::path::Component::Normal(_)));
    let folder = if is_link || (!named && out.exists()) {
        out.canonicalize().map_err(|e| Error::io(out, "read", e))?
    } else {
        out.to_path_buf()
    };
    let Some(name) = folder.file_name().map(OsStr::to_os_string) else {
        return Err(refusal(out, "is not a folder that can be replaced", "name a new or an empty folder with --out"));
    };
    if folder.exists() && !folder.is_dir() {
        return Err(refusal(out, "is a file; a folder was expected", "name a new or an empty folder with --out"));
    }
    let parent = match folder.parent() {
        Some(parent) if !parent.as_os_str().is_empty() => parent.to_path_buf(),
        _ => PathBuf::from("."),
    };
    Ok(Given { folder, parent, name })
}

/// Says at once where a folder cannot be written.
pub fn prove_writable(place: &Path, out: &Path) -> Result<()> {
    access(place, Access::WRITE_OK | Access::EXEC_OK).map_err(|e| {
        refusal(
            out,
            format!("cannot write into {}: {}", place.display(), std::io::Error::from(e)),
            "name a folder that you may write with --out",
        )
    })
}

/// Proves that the file system can exchange two folders, and that the old folder may be exchanged and emptied.
pub fn prove_exchange(given: &Given, temporary: &Path) -> Result<()> {
    if !given.folder.exists() {
        return Ok(());
    }
    let hint = "give a folder on another file system, or put files in place one by one with --replace-files";
    let device = |path: &Path| std::fs::metadata(path).map(|m| m.dev()).map_err(|e| Error::io(path, "read", e));
    if device(&given.folder)? != device(temporary)? {
        return Err(refusal(
            &given.folder,
            "is the root of another file system and cannot be exchanged in one step",
            hint,
        ));
    }
    for folder in folders_within(&given.folder)? {
        prove_writable(&folder, &given.folder)?;
    }
    let (one, two) = (temporary.join("one"), temporary.join("two"));
    let probe = std::fs::create_dir(&one)
        .and_then(|()| std::fs::create_dir(&two))
        .and_then(|()| renameat_with(CWD, &one, CWD, &two, RenameFlags::EXCHANGE).map_err(std::io::Error::from));
    let _ = std::fs::remove_dir(&one);
    let _ = std::fs::remove_dir(&two);
    probe.map_err(|e| {
        refusal(&given.folder, format!("the file system cannot exchange two folders in one step ({e})"), hint)
    })
}

/// The folder and the folders in it, links not followed.
fn folders_within(folder: &Path) -> Result<Vec<PathBuf>> {
    let mut found = vec![folder.to_path_buf()];
    let mut next = 0;
    while next < found.len() {
        for entry in entries(&found[next])? {
            if entry.file_type().is_ok_and(|kind| kind.is_dir()) {
                found.push(entry.path());
            }
        }
        next += 1;
    }
    Ok(found)
}

fn entries(folder: &Path) -> Result<Vec<std::fs::DirEntry>> {
    let mut entries: Vec<_> = std::fs::read_dir(folder)
        .and_then(Iterator::collect::<std::io::Result<_>>)
        .map_err(|e| Error::io(folder, "read", e))?;
    entries.sort_by_key(std::fs::DirEntry::file_name);
    Ok(entries)
}

/// Refuses a folder that holds files which its `run.json` does not list: they would be lost.
pub fn refuse_foreign(given: &Given, prefix: &OsStr) -> Result<()> {
    if !given.folder.exists() {
        return Ok(());
    }
    let ours = listed(&given.folder);
    let mut foreign = Vec::new();
    let mut lock_name = prefix.to_os_string();
    lock_name.push("lock");
    let mut open = vec![(given.folder.clone(), String::new())];
    while let Some((folder, before)) = open.pop() {
        for entry in entries(&folder)? {
            let name = format!("{before}{}", entry.file_name().to_string_lossy());
            let own = entry.file_name() == lock_name || lock::is_temporary(&entry.file_name(), prefix);
            if before.is_empty() && own {
                continue;
            }
            if entry.file_type().is_ok_and(|kind| kind.is_dir()) {
                open.push((entry.path(), format!("{name}/")));
            } else if !ours.contains(&name) {
                foreign.push(name);
            }
        }
    }
    let Some(first) = foreign.iter().min() else { return Ok(()) };
    let more = if foreign.len() > 1 { format!(" and {} more", foreign.len() - 1) } else { String::new() };
    Err(refusal(
        &given.folder,
        format!("holds files that its {RUN_FILE} does not list: {first}{more}"),
        "move them elsewhere, or name a new or an empty folder with --out",
    ))
}

/// The files that earlier runs say they wrote into the folder.
fn listed(folder: &Path) -> BTreeSet<String> {
    let mut names = BTreeSet::new();
    for list in [RUN_FILE, REPLACING_FILE] {
        let Ok(text) = std::fs::read(folder.join(list)) else { continue };
        let Ok(run) = serde_json::from_slice::<serde_json::Value>(&text) else { continue };
        if run["program"] != "rootward" {
            continue;
        }
        names.insert(list.to_string());
        let files = run["files"].as_array().into_iter().flatten();
        names.extend(files.filter_map(|file| file["name"].as_str()).map(str::to_string));
    }
    names
}

/// Makes all files and folders of a set safe on the disk.
pub fn sync_all(folder: &Path) -> Result<()> {
    for folder in folders_within(folder)? {
        let files = entries(&folder)?.into_iter().filter(|entry| entry.file_type().is_ok_and(|kind| kind.is_file()));
        sync_files(&files.map(|entry| entry.path()).collect::<Vec<_>>())?;
        sync(&folder)?;
    }
    Ok(())
}

/// Files that one thread makes safe, where there are no more.
const FEW_FILES: usize = 128;
/// Threads that wait for the disk, where there are many files: it writes down what several wait for at once.
const WAITING: usize = 32;

fn sync_files(files: &[PathBuf]) -> Result<()> {
    let share = files.len().div_ceil(WAITING).max(FEW_FILES);
    std::thread::scope(|scope| {
        let of_part = |part: &'_ [PathBuf]| part.iter().try_for_each(|file| sync(file));
        let waiting: Vec<_> = files.chunks(share).map(|part| scope.spawn(move || of_part(part))).collect();
        waiting.into_iter().try_for_each(|one| one.join().unwrap_or_else(|panic| std::panic::resume_unwind(panic)))
    })
}

/// Makes one file or folder safe on the disk.
pub fn sync(path: &Path) -> Result<()> {
    match File::open(path).and_then(|file| file.sync_all()) {
        // Some file systems cannot sync a folder, and say so in this way.
        Err(e) if e.kind() == ErrorKind::InvalidInput && path.is_dir() => Ok(()),
        other => other.map_err(|e| Error::io(path, "make safe on the disk", e)),
    }
}

/// Puts the temporary folder in place of the output folder in one step; the old set is then in the temporary folder.
///
/// # Errors
/// As the system says. Everything is then as it was, also where the step itself cannot be made safe on the disk.
pub fn put_folder(given: &Given, temporary: &Path) -> Result<()> {
    let failed = |e: std::io::Error| Error::io(&given.folder, "put in place", e);
    let exchanged = if let Ok(old) = std::fs::metadata(&given.folder) {
        std::fs::set_permissions(temporary, old.permissions()).map_err(failed)?;
        renameat_with(CWD, temporary, CWD, &given.folder, RenameFlags::EXCHANGE).map_err(|e| failed(e.into()))?;
        true
    } else {
        match renameat_with(CWD, temporary, CWD, &given.folder, RenameFlags::NOREPLACE) {
            // A file system without this flag: a plain rename replaces nothing but an empty folder.
            Err(rustix::io::Errno::INVAL | rustix::io::Errno::NOSYS) => {
                std::fs::rename(temporary, &given.folder).map_err(failed)?
            }
            other => other.map_err(|e| failed(e.into()))?,
        }
        false
    };
    sync(&given.parent).inspect_err(|_| {
        let back = if exchanged { RenameFlags::EXCHANGE } else { RenameFlags::NOREPLACE };
        // If this fails too, the new set stays in place: whole, and with its run.json.
        let _ = renameat_with(CWD, &given.folder, CWD, temporary, back);
    })
}
