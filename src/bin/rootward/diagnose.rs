//! An error as a person reads it: one message with file, value and expectation, then the hint.

use crate::exit::Exit;
use rootward::error::Error;
use std::io::{IsTerminal, Write};

/// Whether colour may be used on stderr: a terminal, and `NO_COLOR` not set to anything.
pub fn colour_on_stderr() -> bool {
    std::io::stderr().is_terminal() && std::env::var_os("NO_COLOR").is_none_or(|value| value.is_empty())
}

/// Prints a line to stderr. That nobody can read it (a full disk, a closed pipe) is no reason to stop, least of all to panic.
pub fn say(line: &str) {
    let _ = writeln!(std::io::stderr(), "{line}");
}

/// Prints the error to stderr and gives the exit code that belongs to it.
pub fn tell(error: &Error) -> Exit {
    let (bold, plain) = if colour_on_stderr() { ("\x1b[1;31m", "\x1b[0m") } else { ("", "") };
    say(&format!("{bold}error{plain}: {}", visible(&error.to_string())));
    if !error.hint().is_empty() {
        say(&format!("hint: {}", visible(error.hint())));
    }
    match error {
        Error::Usage { .. } => Exit::WrongUsage,
        _ => Exit::Failed,
    }
}

/// Text of several lines with its control characters shown, so that it cannot steer the terminal. Line ends stay.
pub fn visible(text: &str) -> String {
    text.split('\n').map(visible_line).collect::<Vec<_>>().join("\n")
}

/// Text from a file with its control characters shown, line ends among them: it cannot pass for a line of its own.
pub fn visible_line(text: &str) -> String {
    let mut shown = String::with_capacity(text.len());
    for c in text.chars() {
        if steers(c) { shown.extend(c.escape_unicode()) } else { shown.push(c) }
    }
    shown
}

/// JSON whose texts hold nothing that steers a terminal: what JSON allows as it is but a terminal obeys becomes `\uXXXX`, which means the
/// same in JSON.
pub fn visible_json(json: &str) -> String {
    let mut shown = String::with_capacity(json.len());
    for c in json.chars() {
        if c != '\n' && steers(c) {
            shown.push_str(&format!("\\u{:04x}", c as u32));
        } else {
            shown.push(c);
        }
    }
    shown
}

/// Control characters (C0, delete, C1), line separators, and what changes the direction of writing.
fn steers(c: char) -> bool {
    c.is_control()
        || matches!(c, '\u{061C}' | '\u{200E}' | '\u{200F}' | '\u{2028}'..='\u{202E}' | '\u{2066}'..='\u{2069}')
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn nothing_steers_the_terminal() {
        assert_eq!(visible("Hollin Park\nTilia × europaea"), "Hollin Park\nTilia × europaea");
        assert_eq!(
            visible_line("a\nerror: b\r\u{1b}[2J\u{9b}\u{202e}"),
            "a\\u{a}error: b\\u{d}\\u{1b}[2J\\u{9b}\\u{202e}"
        );
        let json = serde_json::json!({ "id": "a\u{9b}2J\u{202e}\u{1b}" }).to_string();
        let shown = visible_json(&json);
        assert!(!shown.chars().any(steers), "{shown}");
        assert_eq!(
            serde_json::from_str::<serde_json::Value>(&shown).unwrap(),
            serde_json::from_str::<serde_json::Value>(&json).unwrap()
        );
    }
}
