//! Keeps two runs from writing into the same folder, and finds what killed runs left beside it.
//!
//! The lock is an advisory lock of the system (`flock`), so that it is gone when its run is, however that ended.

use crate::error::{Error, Result};
use rustix::fs::{FlockOperation, flock};
use std::ffi::{OsStr, OsString};
use std::fs::{File, OpenOptions};
use std::io::{Read, Write};
use std::os::unix::fs::MetadataExt;
use std::path::{Path, PathBuf};

/// Number of random letters and digits at the end of a temporary folder's name.
pub const RANDOM_LETTERS: usize = 12;

/// A held lock file; removed when dropped.
#[derive(Debug)]
pub struct Lock {
    path: PathBuf,
    _file: File,
}

impl Lock {
    /// Takes the lock, and writes the number of this process into the file.
    ///
    /// # Errors
    /// Another run holds it (its process number is named), or the file cannot be made.
    pub fn take(path: &Path, out: &Path) -> Result<Lock> {
        loop {
            let mut file = OpenOptions::new()
                .create(true)
                .read(true)
                .write(true)
                .truncate(false)
                .open(path)
                .map_err(|e| unwritable(path, out, &e))?;
            if flock(&file, FlockOperation::NonBlockingLockExclusive).is_err() {
                let mut holder = String::new();
                // The number is a courtesy: where it cannot be read the message does without.
                let _ = (&mut file).take(32).read_to_string(&mut holder);
                return Err(in_use(out, holder.trim()));
            }
            // The run that held it may have removed the file between our opening and our locking it.
            let same = std::fs::metadata(path).ok().zip(file.metadata().ok());
            if !same.is_some_and(|(there, here)| there.ino() == here.ino() && there.dev() == here.dev()) {
                continue;
            }
            file.set_len(0)
                .and_then(|()| file.write_all(std::process::id().to_string().as_bytes()))
                .map_err(|e| Error::io(path, "write", e))?;
            return Ok(Lock { path: path.to_path_buf(), _file: file });
        }
    }
}

impl Drop for Lock {
    fn drop(&mut self) {
        // Removed while still held, so that nobody can lock a file that is about to vanish without noticing.
        let _ = std::fs::remove_file(&self.path);
    }
}

/// The error of a folder beside which nothing can be written.
fn unwritable(path: &Path, out: &Path, error: &std::io::Error) -> Error {
    let beside = path.parent().map_or_else(String::new, |parent| parent.display().to_string());
    Error::Output {
        path: out.to_path_buf(),
        what: format!("no file can be made in {beside}: {error}"),
        hint: "name a folder that you may write, on an ordinary file system, with --out".into(),
    }
}

/// Locks a folder itself; `None` where another run holds it.
pub fn hold_folder(path: &Path) -> Result<Option<File>> {
    let folder = File::open(path).map_err(|e| Error::io(path, "read", e))?;
    Ok(flock(&folder, FlockOperation::NonBlockingLockExclusive).is_ok().then_some(folder))
}

/// The error of a second run.
pub fn in_use(out: &Path, holder: &str) -> Error {
    let by = if holder.is_empty() { String::new() } else { format!(" (process {holder})") };
    Error::Output {
        path: out.to_path_buf(),
        what: format!("another run is writing into this folder{by}"),
        hint: "wait for it to end, or give another folder with --out".into(),
    }
}

/// What the names of all temporary folders of an output folder begin with: `.NAME.rootward-`.
pub fn prefix(name: &OsStr) -> OsString {
    let mut prefix = OsString::from(".");
    prefix.push(name);
    prefix.push(".rootward-");
    prefix
}

/// Removes temporary folders that killed runs left in `folder`. Those whose lock is held stay.
pub fn remove_leftovers(folder: &Path, prefix: &OsStr) {
    let Ok(entries) = std::fs::read_dir(folder) else { return };
    for entry in entries.flatten() {
        let is_folder = entry.file_type().is_ok_and(|kind| kind.is_dir());
        if is_folder
            && is_temporary(&entry.file_name(), prefix)
            && let Ok(Some(_held)) = hold_folder(&entry.path())
        {
            // A leftover that cannot be removed does no harm to this run.
            let _ = std::fs::remove_dir_all(entry.path());
        }
    }
}

/// Whether a name is the prefix and the random letters, and nothing else.
pub fn is_temporary(name: &OsStr, prefix: &OsStr) -> bool {
    name.as_encoded_bytes()
        .strip_prefix(prefix.as_encoded_bytes())
        .is_some_and(|rest| rest.len() == RANDOM_LETTERS && rest.iter().all(u8::is_ascii_alphanumeric))
}
