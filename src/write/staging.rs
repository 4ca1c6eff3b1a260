//! A new set of files in a temporary folder -> the output folder, in one step; or nothing at all.
//!
//! Begun before the long run, so that a folder which cannot be written is said at once. Until `finish` the old results stay as they
//! are, and a run that fails, or is killed, leaves them so. Never follows a symbolic link within the output folder.

use super::folder::{self, Given};
use super::lock::{self, Lock};
use crate::error::{Error, Result};
use crate::model::run_facts::FileFacts;
use sha2::{Digest, Sha256};
use std::collections::BTreeSet;
use std::fs::File;
use std::io::{BufWriter, Read, Write};
use std::os::unix::fs::PermissionsExt;
use std::path::{Path, PathBuf};
use std::thread::JoinHandle;

/// The file whose presence says that a set is complete.
pub const RUN_FILE: &str = "run.json";

/// From this size on a file is made safe on the disk while others are still being written, bytes.
const LARGE: u64 = 8 << 20;
/// So much of a file is written before it is made safe as far as it goes, bytes: little is left to wait for at its end.
const PART: u64 = 32 << 20;

/// A set of files in the making.
///
/// Fields are dropped in this order: large files are waited for, then the temporary folder goes, then the locks, then folders made for it.
#[derive(Debug)]
pub struct Staging {
    given: Given,
    replace_files: bool,
    syncing: Syncing,
    temporary: tempfile::TempDir,
    files: Vec<FileFacts>,
    _held: Vec<File>,
    _lock: Lock,
    made: folder::MadeFolders,
}

impl Staging {
    /// Proves that the output folder can be put in place, takes its lock, and makes the temporary folder beside it.
    ///
    /// With `replace_files` the temporary folder is made inside the output folder and files are put in place one by one, which works
    /// where folders cannot be exchanged (some network file systems, mount points).
    ///
    /// # Errors
    /// The folder cannot be made or written; it holds files that its `run.json` does not list; another run is writing into it; the
    /// file system cannot exchange folders and `replace_files` is false.
    pub fn begin(out: &Path, replace_files: bool) -> Result<Staging> {
        let given = folder::resolve(out)?;
        let mut made = folder::MadeFolders::default();
        made.make(if replace_files { &given.folder } else { &given.parent })?;
        let place = if replace_files { given.folder.clone() } else { given.parent.clone() };
        let prefix = lock::prefix(&given.name);
        let mut lock_name = prefix.clone();
        lock_name.push("lock");
        folder::prove_writable(&place, out)?;
        let lock = Lock::take(&place.join(lock_name), out)?;
        let mut held = Vec::new();
        if given.folder.exists() {
            // The folder itself is locked as well: runs with and without --replace-files keep their lock files in different places.
            held.push(lock::hold_folder(&given.folder)?.ok_or_else(|| lock::in_use(out, ""))?);
        }
        lock::remove_leftovers(&place, &prefix);
        folder::refuse_foreign(&given, &prefix)?;
        let temporary = tempfile::Builder::new()
            .prefix(&prefix)
            .rand_bytes(lock::RANDOM_LETTERS)
            .permissions(std::fs::Permissions::from_mode(0o777))
            .tempdir_in(&place)
            .map_err(|e| Error::io(&place, "write a temporary folder in", e))?;
        held.extend(lock::hold_folder(temporary.path())?);
        if !replace_files {
            folder::prove_exchange(&given, temporary.path())?;
        }
        Ok(Staging {
            given,
            replace_files,
            temporary,
            files: Vec::new(),
            syncing: Syncing::default(),
            _held: held,
            _lock: lock,
            made,
        })
    }

    /// Where a file of the set stands until it is put in place.
    pub fn path(&self, name: &str) -> PathBuf {
        self.temporary.path().join(name)
    }

    /// How a file will be called once it is in place, for messages.
    pub fn shown(&self, name: &str) -> PathBuf {
        self.given.folder.join(name)
    }

    /// A folder for files in the making that only one writer sees. It must be gone before [`Staging::finish`].
    pub fn private_folder(&self) -> Result<tempfile::TempDir> {
        tempfile::tempdir_in(self.temporary.path()).map_err(|e| Error::io(&self.given.folder, "write into", e))
    }

    /// A file without a name on the same disk; gone when it is closed.
    pub fn nameless_file(&self) -> Result<File> {
        tempfile::tempfile_in(self.temporary.path()).map_err(|e| Error::io(&self.given.folder, "write into", e))
    }

    /// Moves a file that another library wrote and closed into the set, and keeps its size and hash.
    pub fn adopt(&mut self, from: &Path, name: &str) -> Result<()> {
        let mut file = File::open(from).map_err(|e| Error::io(self.shown(name), "read", e))?;
        let mut hash = Sha256::new();
        let mut part = vec![0; 1 << 16];
        let mut bytes = 0;
        loop {
            let read = file.read(&mut part).map_err(|e| Error::io(self.shown(name), "read", e))?;
            if read == 0 {
                break;
            }
            hash.update(&part[..read]);
            bytes += read as u64;
        }
        let path = self.path(name);
        path.parent()
            .map_or(Ok(()), std::fs::create_dir_all)
            .and_then(|()| std::fs::rename(from, &path))
            .map_err(|e| Error::io(self.shown(name), "write", e))?;
        self.files.push(FileFacts { name: name.to_string(), bytes, sha256: hexadecimal(hash) });
        Ok(())
    }

    /// Begins a file; `name` is its name within the folder, with `/`. End it with [`Staging::close`].
    pub fn create(&mut self, name: &str) -> Result<StagedFile> {
        debug_assert!(
            Path::new(name).components().all(|part| matches!(part, std::path::Component::Normal(_))),
            "{name}"
        );
        let path = self.path(name);
        let shown = self.shown(name);
        if let Some(parent) = path.parent() {
            std::fs::create_dir_all(parent).map_err(|e| Error::io(&shown, "write", e))?;
        }
        let file = File::create_new(&path).map_err(|e| Error::io(&shown, "write", e))?;
        Ok(StagedFile {
            name: name.to_string(),
            shown,
            out: BufWriter::with_capacity(1 << 16, file),
            hash: Sha256::new(),
            bytes: 0,
            syncing: Syncing::default(),
            syncing_from: 0,
        })
    }

    /// Ends a file and keeps its size and hash; a large one is made safe on the disk from here on.
    pub fn close(&mut self, mut file: StagedFile) -> Result<()> {
        let written = file.out.into_inner().map_err(|e| Error::io(&file.shown, "write", e.into_error()))?;
        self.syncing.0.extend(std::mem::take(&mut file.syncing.0));
        if file.bytes >= LARGE {
            self.syncing.begin(&file.shown, move || written.sync_all());
        }
        self.files.push(FileFacts { name: file.name, bytes: file.bytes, sha256: hexadecimal(file.hash) });
        Ok(())
    }

    /// Writes a whole file.
    pub fn write(&mut self, name: &str, bytes: &[u8]) -> Result<()> {
        let mut file = self.create(name)?;
        file.put(bytes)?;
        self.close(file)
    }

    /// The files that were closed so far, ordered by name.
    pub fn files(&self) -> Vec<FileFacts> {
        let mut files = self.files.clone();
        files.sort();
        files
    }

    /// Makes everything safe on the disk, puts the set in place, and removes the old one.
    ///
    /// # Errors
    /// As the system says; files that someone put into the folder since `begin`. The old set is then as it was (with
    /// `replace_files`, some files may be new and `run.json` is gone).
    pub fn finish(mut self) -> Result<()> {
        self.syncing.wait()?;
        folder::sync_all(self.temporary.path())?;
        folder::refuse_foreign(&self.given, &lock::prefix(&self.given.name))?;
        if self.replace_files {
            let names: BTreeSet<String> = self.files.iter().map(|file| file.name.clone()).collect();
            super::replace::put_files(&self.given, self.temporary.path(), &names)?;
        } else {
            folder::put_folder(&self.given, self.temporary.path())?;
        }
        self.made.keep();
        // The temporary folder now holds the old set, or nothing: `TempDir` removes it as this set is dropped.
        Ok(())
    }
}

/// Large files that are being made safe on the disk, with their names for messages.
#[derive(Debug, Default)]
struct Syncing(Vec<(PathBuf, JoinHandle<std::io::Result<()>>)>);

impl Syncing {
    /// Begins to make a file safe on the disk. Without a thread to spare it is left to [`Staging::finish`].
    fn begin(&mut self, shown: &Path, sync: impl FnOnce() -> std::io::Result<()> + Send + 'static) {
        let syncing = std::thread::Builder::new().spawn(sync);
        self.0.extend(syncing.map(|syncing| (shown.to_path_buf(), syncing)));
    }

    fn is_busy(&self) -> bool {
        self.0.iter().any(|(_, syncing)| !syncing.is_finished())
    }

    /// Waits for all of them; the first error.
    fn wait(&mut self) -> Result<()> {
        let waited = self.0.drain(..).map(|(shown, syncing)| {
            let synced = syncing.join().unwrap_or_else(|panic| std::panic::resume_unwind(panic));
            synced.map_err(|e| Error::io(shown, "make safe on the disk", e))
        });
        waited.collect::<Vec<_>>().into_iter().collect()
    }
}

impl Drop for Syncing {
    /// A file that is still open could not be removed everywhere.
    fn drop(&mut self) {
        // The run has failed already, and says why.
        let _ = self.wait();
    }
}

fn hexadecimal(hash: Sha256) -> String {
    hash.finalize().iter().map(|byte| format!("{byte:02x}")).collect()
}

/// A file of the set, hashed as it is written.
#[derive(Debug)]
pub struct StagedFile {
    name: String,
    shown: PathBuf,
    out: BufWriter<File>,
    hash: Sha256,
    bytes: u64,
    syncing: Syncing,
    /// How much had been written when a part was last made safe, bytes.
    syncing_from: u64,
}

impl StagedFile {
    /// Writes bytes; an error names the file as it will be called in the output folder.
    pub fn put(&mut self, bytes: &[u8]) -> Result<()> {
        self.write_all(bytes).map_err(|e| self.failed("write", e))?;
        if self.bytes - self.syncing_from >= PART && !self.syncing.is_busy() {
            self.syncing_from = self.bytes;
            // Without a handle to spare it is left to the end.
            if let Ok(file) = self.out.get_ref().try_clone() {
                self.syncing.begin(&self.shown, move || file.sync_data());
            }
        }
        Ok(())
    }

    /// An error that names the file as it will be called in the output folder.
    pub fn failed(&self, action: &'static str, error: std::io::Error) -> Error {
        Error::io(&self.shown, action, error)
    }
}

impl Write for StagedFile {
    fn write(&mut self, bytes: &[u8]) -> std::io::Result<usize> {
        let written = self.out.write(bytes)?;
        self.hash.update(&bytes[..written]);
        self.bytes += written as u64;
        Ok(written)
    }

    fn flush(&mut self) -> std::io::Result<()> {
        self.out.flush()
    }
}

#[cfg(test)]
#[path = "staging_tests.rs"]
mod tests;
