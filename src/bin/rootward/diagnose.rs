//! An error as a person reads it: one message with file, value and expectation, then the hint.

use crate::exit::Exit;
use rootward::error::Error;
use std::io::IsTerminal;

/// Whether colour may be used on stderr: a terminal, and `NO_COLOR` not set to anything.
pub fn colour_on_stderr() -> bool {
    std::io::stderr().is_terminal() && std::env::var_os("NO_COLOR").is_none_or(|value| value.is_empty())
}

/// Prints the error to stderr and gives the exit code that belongs to it.
pub fn tell(error: &Error) -> Exit {
    let (bold, plain) = if colour_on_stderr() { ("\x1b[1;31m", "\x1b[0m") } else { ("", "") };
    eprintln!("{bold}error{plain}: {}", visible(&error.to_string()));
    if !error.hint().is_empty() {
        eprintln!("hint: {}", visible(error.hint()));
    }
    match error {
        Error::Usage { .. } => Exit::WrongUsage,
        _ => Exit::Failed,
    }
}

/// Text from a file with its control characters shown, so that it cannot steer the terminal.
pub fn visible(text: &str) -> String {
    text.chars()
        .map(|c| match c {
            '\n' => "\n".to_string(),
            c if c.is_control() || is_direction_mark(c) => c.escape_unicode().to_string(),
            c => c.to_string(),
        })
        .collect()
}

fn is_direction_mark(c: char) -> bool {
    matches!(c, '\u{200E}' | '\u{200F}' | '\u{061C}' | '\u{202A}'..='\u{202E}' | '\u{2066}'..='\u{2069}')
}
