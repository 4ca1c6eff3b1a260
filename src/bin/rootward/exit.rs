//! Exit codes, and printing results to stdout.

use rootward::error::{Error, Result};
use std::io::Write;
use std::process::ExitCode;

/// How a command ended.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Exit {
    /// 0: done.
    Done,
    /// 1: failed; the output folder is as it was.
    Failed,
    /// 2: wrong usage.
    WrongUsage,
    /// 3: done, and `--fail-at-risk` found something.
    AtRisk,
}

impl From<Exit> for ExitCode {
    fn from(exit: Exit) -> ExitCode {
        ExitCode::from(match exit {
            Exit::Done => 0,
            Exit::Failed => 1,
            Exit::WrongUsage => 2,
            Exit::AtRisk => 3,
        })
    }
}

/// Prints a result to stdout. A reader that has gone away (`| head`) is no failure.
pub fn print(text: &str) -> Result<Exit> {
    let mut out = std::io::stdout().lock();
    let end = if text.ends_with('\n') { "" } else { "\n" };
    match out.write_all(text.as_bytes()).and_then(|()| out.write_all(end.as_bytes())).and_then(|()| out.flush()) {
        Ok(()) => Ok(Exit::Done),
        Err(error) if error.kind() == std::io::ErrorKind::BrokenPipe => Ok(Exit::Done),
        Err(error) => Err(Error::io("stdout", "write", error)),
    }
}
