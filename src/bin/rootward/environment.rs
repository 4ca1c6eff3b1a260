//! The environment that GDAL, SQLite and PROJ would obey -> the same command without it.
//!
//! Those libraries take hundreds of settings from variables and from files in the user's folder: where their data lie, which code to load,
//! whether to fetch grids, how geometry is read. None of them may change a result, so the command starts itself once more without them. It
//! says which variables were left out. `LD_*` and the like are not looked at: who sets them chooses the program itself.
//!
//! # Source
//! Prefixes: the names of settings in the libraries of GDAL 3.6 and PROJ 9.1 (the text in them). Files and the two PROJ variables: "Configuration
//! options" of the GDAL and "Environment variables" of the PROJ documentation (from memory).

use crate::diagnose::say;
use rootward::error::{Error, Result};
use std::ffi::{OsStr, OsString};
use std::os::unix::process::CommandExt;
use std::path::PathBuf;
use std::process::Command;

/// How the names of settings begin.
const PREFIXES: [&str; 17] = [
    "GDAL_",
    "OGR_",
    "OSR_",
    "PROJ_",
    "CPL_",
    "VSI_",
    "VSIL_",
    "VRT_",
    "SHAPE_",
    "DBF_",
    "SQLITE_",
    "GPKG_",
    "OPENFILEGDB_",
    "FILEGDB_",
    "MITAB_",
    "TAB_",
    "FLATGEOBUF_",
];

/// What is set instead where anything had to be left out: no network, no files of the user.
const FIXED: [(&str, &str); 3] =
    [("PROJ_NETWORK", "OFF"), ("PROJ_SKIP_READ_USER_WRITABLE_DIRECTORY", "YES"), ("GDAL_CONFIG_FILE", "/dev/null")];

/// Starts the command again without the settings, in the same process. Returns where there is nothing to leave out.
///
/// # Errors
/// The system cannot start the command again.
pub fn leave_behind() -> Result<()> {
    let left_out: Vec<OsString> =
        std::env::vars_os().filter(|(name, value)| steers(name, value)).map(|(n, _)| n).collect();
    if left_out.is_empty() && (is_fixed() || !files_of_the_user()) {
        return Ok(());
    }
    let mut given = std::env::args_os();
    let name = given.next().unwrap_or_else(|| "rootward".into());
    let given: Vec<OsString> = given.collect();
    if !left_out.is_empty() && !given.iter().any(|arg| arg == "--quiet" || arg == "-q") {
        let names: Vec<_> = left_out.iter().map(|name| name.to_string_lossy()).collect();
        say(&format!("note: not used, though the environment sets them: {}", names.join(", ")));
    }
    let program = std::env::current_exe().map_err(|error| cannot(&left_out, error))?;
    let mut again = Command::new(program);
    again.arg0(name).args(given).envs(FIXED);
    for name in left_out.iter().filter(|name| FIXED.iter().all(|(fixed, _)| *name != fixed)) {
        again.env_remove(name);
    }
    Err(cannot(&left_out, again.exec()))
}

fn cannot(left_out: &[OsString], error: std::io::Error) -> Error {
    let names: Vec<_> = left_out.iter().map(|name| name.to_string_lossy()).collect();
    Error::Usage {
        what: format!("cannot start without the settings of the environment: {error}"),
        hint: format!("unset {}", names.join(" ")),
    }
}

/// Whether a variable is a setting that is not already as it must be.
fn steers(name: &OsStr, value: &OsStr) -> bool {
    let name = name.to_string_lossy().to_ascii_uppercase();
    PREFIXES.iter().any(|prefix| name.starts_with(prefix))
        && FIXED.iter().all(|&(fixed, set)| name != fixed || value != set)
}

fn is_fixed() -> bool {
    FIXED.iter().all(|(name, value)| std::env::var_os(name).is_some_and(|set| set == *value))
}

/// Whether there are files from which the libraries would read settings or data of the user.
fn files_of_the_user() -> bool {
    let home = std::env::var_os("HOME").map(PathBuf::from).unwrap_or_default();
    let data = std::env::var_os("XDG_DATA_HOME").map_or_else(|| home.join(".local/share"), PathBuf::from);
    [home.join(".gdal/gdalrc"), "/etc/gdal/gdalrc".into(), data.join("proj")].iter().any(|path| path.exists())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn settings_are_told_from_other_variables() {
        let steers = |name: &str, value: &str| steers(OsStr::new(name), OsStr::new(value));
        for name in ["GDAL_DATA", "gdal_driver_path", "OGR_SQLITE_LOAD_EXTENSIONS", "PROJ_LIB", "PROJ_DATA", "CPL_LOG"]
        {
            assert!(steers(name, "/tmp"), "{name}");
        }
        for name in ["PATH", "HOME", "LANG", "NO_COLOR", "PROJECT", "TMPDIR", "TABLE"] {
            assert!(!steers(name, "/tmp"), "{name}");
        }
        assert!(steers("PROJ_NETWORK", "ON") && !steers("PROJ_NETWORK", "OFF"));
    }
}
