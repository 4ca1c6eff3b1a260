//! A zip into a private temporary folder, under caps. Only the files that a format reads are unpacked.
//!
//! The folder is locked as long as its run lives, so that what a killed run left behind can be told and is removed by the next.

use super::text;
use crate::error::{Error, Result};
use crate::settings::ReadBounds;
use rustix::fs::{FlockOperation, flock};
use std::fs::File;
use std::io::{Read, Write};
use std::path::{Path, PathBuf};
use tempfile::TempDir;
use zip::ZipArchive;

/// Entries, GiB in all, and bytes in all per byte of the zip (above [`RATIO_FREE_BYTES`]) that are unpacked at most, where no flag says otherwise.
const MAX_ENTRIES: usize = 10_000;
const MAX_GIB: u32 = 4;
const MAX_RATIO: u64 = 200;
const RATIO_FREE_BYTES: u64 = 64 << 20;

/// The endings that are unpacked outside a `.gdb` folder.
const ENDINGS: [&str; 5] = ["shp", "dbf", "shx", "prj", "cpg"];

/// What was found in a zip.
#[derive(Debug)]
pub(super) struct Unpacked {
    /// The folder; it vanishes with this value.
    pub(super) folder: PrivateFolder,
    /// Shapefiles in it, sorted.
    pub(super) shapefiles: Vec<PathBuf>,
    /// File geodatabases in it, sorted.
    pub(super) geodatabases: Vec<PathBuf>,
}

/// How the names of private folders begin.
const PREFIX: &str = "rootward-unpacked-";

/// A folder that only this run sees, locked; it vanishes with this value.
#[derive(Debug)]
pub(super) struct PrivateFolder {
    folder: TempDir,
    _held: File,
}

impl PrivateFolder {
    fn new() -> Result<PrivateFolder> {
        let place = std::env::temp_dir();
        remove_leftovers(&place);
        loop {
            let made = tempfile::Builder::new().prefix(PREFIX).tempdir_in(&place);
            let folder = made.map_err(|e| Error::io(&place, "write a temporary folder in", e))?;
            // Before it is locked another run may take it for a leftover: then it is gone, or held by the one that removes it.
            if let Ok(held) = File::open(folder.path())
                && flock(&held, FlockOperation::NonBlockingLockExclusive) != Err(rustix::io::Errno::WOULDBLOCK)
                && folder.path().exists()
            {
                return Ok(PrivateFolder { folder, _held: held });
            }
        }
    }

    /// Where it is.
    pub(super) fn path(&self) -> &Path {
        self.folder.path()
    }
}

/// Removes what killed runs left; what belongs to a run that lives is locked, what belongs to others cannot be removed.
fn remove_leftovers(place: &Path) {
    let Ok(entries) = std::fs::read_dir(place) else { return };
    for entry in entries.flatten() {
        let ours = entry.file_name().to_string_lossy().starts_with(PREFIX);
        if ours
            && entry.file_type().is_ok_and(|kind| kind.is_dir())
            && let Ok(folder) = File::open(entry.path())
            && flock(&folder, FlockOperation::NonBlockingLockExclusive).is_ok()
        {
            // A leftover that cannot be removed does no harm to this run.
            let _ = std::fs::remove_dir_all(entry.path());
        }
    }
}

/// Unpacks a zip.
///
/// # Errors
/// It is damaged, encrypted or over a cap.
pub(super) fn unpack(path: &Path, bounds: ReadBounds) -> Result<Unpacked> {
    let at = path.display().to_string();
    let damaged = |e: zip::result::ZipError| {
        Error::input(&at, format!("the zip cannot be read: {e}"), "check that it is whole and not encrypted")
    };
    let file = text::open(path)?;
    let zip_bytes = file.metadata().map_err(|e| Error::io(path, "read", e))?.len();
    let mut budget = Budget::new(zip_bytes, bounds);
    let mut archive = ZipArchive::new(file).map_err(damaged)?;
    if archive.len() > MAX_ENTRIES {
        return Err(Error::input(
            at,
            format!("the zip has {} entries; expected at most {MAX_ENTRIES}", archive.len()),
            "unpack it yourself",
        ));
    }
    let folder = PrivateFolder::new()?;
    let mut found = Unpacked { folder, shapefiles: Vec::new(), geodatabases: Vec::new() };
    for index in 0..archive.len() {
        let mut entry = archive.by_index(index).map_err(damaged)?;
        let Some(name) = entry.enclosed_name().filter(|name| entry.is_file() && is_wanted(name)) else { continue };
        let target = found.folder.path().join(&name);
        write(&mut entry, &target, &mut budget, &at)?;
        note(&target, &mut found);
    }
    found.shapefiles.sort();
    found.geodatabases.sort();
    found.geodatabases.dedup();
    Ok(found)
}

fn is_wanted(name: &Path) -> bool {
    let hidden = name
        .components()
        .any(|part| part.as_os_str().to_string_lossy().starts_with("._") || part.as_os_str() == "__MACOSX");
    let ending = name.extension().map(|e| e.to_string_lossy().to_lowercase()).unwrap_or_default();
    !hidden && (geodatabase_of(name).is_some() || ENDINGS.contains(&ending.as_str()))
}

/// The `.gdb` folder that a path lies in.
fn geodatabase_of(name: &Path) -> Option<PathBuf> {
    let is_gdb = |folder: &&Path| folder.extension().is_some_and(|e| e.eq_ignore_ascii_case("gdb"));
    name.ancestors().skip(1).find(is_gdb).map(Path::to_path_buf)
}

fn note(target: &Path, found: &mut Unpacked) {
    if let Some(folder) = geodatabase_of(target) {
        found.geodatabases.push(folder);
    } else if target.extension().is_some_and(|e| e.eq_ignore_ascii_case("shp")) {
        found.shapefiles.push(target.to_path_buf());
    }
}

/// What may still be unpacked.
struct Budget {
    left: u64,
    /// The bound in words.
    bound: String,
}

impl Budget {
    fn new(zip_bytes: u64, bounds: ReadBounds) -> Budget {
        let bytes = |gib: u32| u64::from(gib) << 30;
        match bounds.unzipped_gib {
            Some(gib) => Budget { left: bytes(gib), bound: format!("{gib} GiB") },
            None => Budget {
                left: zip_bytes.saturating_mul(MAX_RATIO).clamp(RATIO_FREE_BYTES, bytes(MAX_GIB)),
                bound: format!("{MAX_GIB} GiB, or to more than {MAX_RATIO} times its size"),
            },
        }
    }

    fn spend(&mut self, bytes: usize, at: &str) -> Result<()> {
        self.left = self.left.checked_sub(bytes as u64).ok_or_else(|| {
            let what = format!("the zip unpacks to more than {}", self.bound);
            Error::input(at, what, "if you trust it, unpack it yourself, or --largest-unzipped GIB")
        })?;
        Ok(())
    }
}

/// Writes one entry.
fn write(entry: &mut impl Read, target: &Path, budget: &mut Budget, at: &str) -> Result<()> {
    if let Some(parent) = target.parent() {
        std::fs::create_dir_all(parent).map_err(|e| Error::io(parent, "write", e))?;
    }
    let mut file = std::fs::File::create_new(target).map_err(|e| Error::io(target, "write", e))?;
    let mut buffer = vec![0; 256 << 10];
    loop {
        let read = entry
            .read(&mut buffer)
            .map_err(|e| Error::input(at, format!("the zip cannot be unpacked: {e}"), "check that it is whole"))?;
        if read == 0 {
            return Ok(());
        }
        budget.spend(read, at)?;
        file.write_all(&buffer[..read]).map_err(|e| Error::io(target, "write", e))?;
    }
}
