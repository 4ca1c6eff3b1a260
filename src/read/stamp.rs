//! What tells, without reading a file again, that nobody has written to it since the survey: place on the disk, size, and both times.

use super::FileHash;
use super::file_set;
use crate::error::{Error, Result};
use std::fs::Metadata;
use std::os::unix::fs::MetadataExt;
use std::path::{Path, PathBuf};

/// A file as it was before its first byte was read.
#[derive(Debug, Clone)]
pub(super) struct Stamp {
    name: String,
    path: PathBuf,
    seen: [i64; 7],
}

impl Stamp {
    /// The stamp of a file that bears `name` among the hashes of its input.
    pub(super) fn of(name: String, path: &Path) -> Result<Stamp> {
        let metadata = std::fs::metadata(path).map_err(|e| Error::io(path, "read", e))?;
        Ok(Stamp { name, path: path.to_path_buf(), seen: facts(&metadata) })
    }

    /// Refuses a file that changed: another stamp and other bytes. A file that was only touched, or replaced by an equal one, is the same.
    pub(super) fn check(&self, hashes: &[FileHash]) -> Result<()> {
        let now = std::fs::metadata(&self.path).map(|metadata| facts(&metadata));
        if now.is_ok_and(|now| now == self.seen) {
            return Ok(());
        }
        let known = hashes.iter().find(|hash| hash.name == self.name);
        match (file_set::hash(&self.path, self.name.clone()), known) {
            (Ok(now), Some(known)) if now == *known => Ok(()),
            _ => Err(Error::input(
                self.path.display().to_string(),
                "the file changed while it was being read",
                "run again when nothing writes to it",
            )),
        }
    }
}

#[expect(clippy::cast_possible_wrap, reason = "compared for equality only")]
fn facts(metadata: &Metadata) -> [i64; 7] {
    [
        metadata.dev() as i64,
        metadata.ino() as i64,
        metadata.size() as i64,
        metadata.mtime(),
        metadata.mtime_nsec(),
        metadata.ctime(),
        metadata.ctime_nsec(),
    ]
}

#[cfg(test)]
mod tests {
    use crate::read::survey;
    use crate::settings::InputName;
    use std::fs;

    #[test]
    fn a_file_that_changes_is_refused_and_one_that_was_only_touched_is_not() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("trees.csv");
        fs::write(&path, "id,dbh\nA,30\n").unwrap();
        let found =
            survey(&InputName { path: path.clone(), layer: None }, crate::settings::ReadBounds::default()).unwrap();
        found.check_unchanged().unwrap();
        // Replaced by an equal file, as a copy tool does.
        fs::write(folder.path().join("copy"), "id,dbh\nA,30\n").unwrap();
        fs::rename(folder.path().join("copy"), &path).unwrap();
        found.check_unchanged().unwrap();
        // The same size, other bytes.
        fs::write(&path, "id,dbh\nA,90\n").unwrap();
        assert!(found.check_unchanged().unwrap_err().to_string().contains("trees.csv: the file changed"));
        fs::remove_file(&path).unwrap();
        assert!(found.check_unchanged().is_err());
    }
}
