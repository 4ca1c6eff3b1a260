//! The files that belong to one input, and their hashes.

use super::stamp::Stamp;
use super::{FileHash, Format, text};
use crate::error::{Error, Result};
use sha2::{Digest, Sha256};
use std::io::Read;
use std::path::{Path, PathBuf};

/// Hashes every file of an input; sorted by name.
pub(super) fn hashes(path: &Path, format: Format) -> Result<Vec<FileHash>> {
    let mut files =
        members(path, format)?.into_iter().map(|(name, path)| hash(&path, name)).collect::<Result<Vec<_>>>()?;
    files.sort_by(|a, b| a.name.cmp(&b.name));
    Ok(files)
}

/// Every file of an input as it is now, to be compared when it has been read.
pub(super) fn stamps(path: &Path, format: Format) -> Result<Vec<Stamp>> {
    members(path, format)?.into_iter().map(|(name, path)| Stamp::of(name, &path)).collect()
}

/// Name and path of each file that the format reads.
fn members(path: &Path, format: Format) -> Result<Vec<(String, PathBuf)>> {
    if path.is_dir() {
        let folder = name_of(path);
        let inner = entries(path)?.into_iter().filter(|entry| entry.is_file());
        return Ok(inner.map(|file| (format!("{folder}/{}", name_of(&file)), file)).collect());
    }
    let endings: &[&str] = match format {
        Format::Shapefile if is_zip(path) => &[],
        Format::Shapefile => &["dbf", "shx", "prj", "cpg"],
        Format::MapInfoTab => &["dat", "map", "id", "ind"],
        _ => &[],
    };
    let mut members = vec![(name_of(path), path.to_path_buf())];
    for ending in endings {
        members.extend(companion(path, ending)?.map(|file| (name_of(&file), file)));
    }
    Ok(members)
}

/// True for a zip by its name.
pub(super) fn is_zip(path: &Path) -> bool {
    path.extension().is_some_and(|e| e.eq_ignore_ascii_case("zip") || e.eq_ignore_ascii_case("shz"))
}

/// The file beside `path` with the same stem and another ending, whatever its case.
pub(super) fn companion(path: &Path, ending: &str) -> Result<Option<PathBuf>> {
    let folder = path.parent().filter(|p| !p.as_os_str().is_empty()).unwrap_or(Path::new("."));
    let is_it = |file: &PathBuf| {
        file.file_stem() == path.file_stem() && file.extension().is_some_and(|e| e.eq_ignore_ascii_case(ending))
    };
    Ok(entries(folder)?.into_iter().find(is_it))
}

fn entries(folder: &Path) -> Result<Vec<PathBuf>> {
    let listed = std::fs::read_dir(folder).map_err(|e| Error::io(folder, "read", e))?;
    let mut paths = listed
        .map(|entry| entry.map(|e| e.path()))
        .collect::<std::io::Result<Vec<_>>>()
        .map_err(|e| Error::io(folder, "read", e))?;
    paths.sort();
    Ok(paths)
}

/// A path's last part.
pub(super) fn name_of(path: &Path) -> String {
    path.file_name().map_or_else(String::new, |name| name.to_string_lossy().into_owned())
}

/// Size and hash of one file.
pub(super) fn hash(path: &Path, name: String) -> Result<FileHash> {
    let mut file = text::open(path)?;
    let mut hasher = Sha256::new();
    let mut buffer = vec![0; 256 << 10];
    let mut bytes = 0;
    loop {
        let read = file.read(&mut buffer).map_err(|e| Error::io(path, "read", e))?;
        if read == 0 {
            return Ok(FileHash { name, bytes, sha256: text::hexadecimal(&hasher.finalize()) });
        }
        hasher.update(&buffer[..read]);
        bytes += read as u64;
    }
}
