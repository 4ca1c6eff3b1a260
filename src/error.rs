//! What stops a run. Everything here ends with exit code 1 or 2, nothing written, old results kept.
//!
//! A problem with one record is not an error: it is an [`Issue`](crate::issue::Issue).

use crate::model::rows::WaitingError;
use std::path::PathBuf;

/// Why a run stopped. Every variant says the file, what is wrong, and what to do (`hint`).
#[derive(Debug, thiserror::Error)]
pub enum Error {
    /// A file could not be opened, read or written by the system.
    #[error("{path}: cannot {action}: {source}", path = path.display())]
    Io {
        /// The file or folder.
        path: PathBuf,
        /// `read`, `write`, `rename` ...
        action: &'static str,
        /// The system's own word.
        source: std::io::Error,
    },
    /// An input is not what it should be. `what` is "what is wrong, got `<value>`; what was expected".
    #[error("{at}: {what}")]
    Input {
        /// `file`, `file:line` or `file:line:column`.
        at: String,
        /// What is wrong, the value, what was expected.
        what: String,
        /// A flag or command that mends it; may be empty.
        hint: String,
    },
    /// The flags contradict each other or name something that is not there (exit code 2).
    #[error("{what}")]
    Usage {
        /// What is wrong.
        what: String,
        /// A flag or command that mends it; may be empty.
        hint: String,
    },
    /// A CRS is missing, unknown, or cannot be transformed well enough.
    #[error("{at}: {what}")]
    Crs {
        /// The file or flag.
        at: String,
        /// What is wrong.
        what: String,
        /// Ranked candidates and the flag to type.
        hint: String,
    },
    /// A rule set file is wrong.
    #[error("{at}: {what}")]
    Rules {
        /// `file:line:column` or the set's name.
        at: String,
        /// What is wrong.
        what: String,
        /// What to do.
        hint: String,
    },
    /// The output folder cannot be used.
    #[error("{path}: {what}", path = path.display())]
    Output {
        /// The folder.
        path: PathBuf,
        /// What is wrong.
        what: String,
        /// What to do.
        hint: String,
    },
}

impl Error {
    /// The flag or command that mends it; empty where there is none.
    pub fn hint(&self) -> &str {
        match self {
            Error::Io { .. } => "",
            Error::Input { hint, .. }
            | Error::Usage { hint, .. }
            | Error::Crs { hint, .. }
            | Error::Rules { hint, .. }
            | Error::Output { hint, .. } => hint,
        }
    }

    /// An input error at a file.
    pub fn input(at: impl Into<String>, what: impl Into<String>, hint: impl Into<String>) -> Error {
        Error::Input { at: at.into(), what: what.into(), hint: hint.into() }
    }

    /// A system error at a path.
    pub fn io(path: impl Into<PathBuf>, action: &'static str, source: std::io::Error) -> Error {
        Error::Io { path: path.into(), action, source }
    }
}

impl From<WaitingError> for Error {
    fn from(WaitingError { action, source }: WaitingError) -> Error {
        Error::io("rows that wait beside the output folder", action, source)
    }
}

/// The result of a stage.
pub type Result<T> = std::result::Result<T, Error>;
