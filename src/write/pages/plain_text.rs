//! Text from files -> text that shows as it is: no character that moves, hides or turns what stands beside it.
//!
//! Markup is escaped by the templates, and here for what is drawn. This takes care of what escaping leaves alone: control characters and those
//! that change the direction of writing, each shown as U+FFFD.

use std::borrow::Cow;

/// The text with every character that does not show replaced; line ends and tabs become spaces.
pub fn visible(text: &str) -> Cow<'_, str> {
    if !text.chars().any(hides) {
        return Cow::Borrowed(text);
    }
    let shown = |c: char| match c {
        '\n' | '\r' | '\t' => ' ',
        c if hides(c) => '\u{fffd}',
        c => c,
    };
    Cow::Owned(text.chars().map(shown).collect())
}

fn hides(c: char) -> bool {
    c.is_control()
        || matches!(c, '\u{200b}'..='\u{200f}' | '\u{2028}'..='\u{202e}' | '\u{2060}'..='\u{206f}' | '\u{feff}' | '\u{fff9}'..='\u{fffb}')
}

/// A text inside markup.
pub fn escaped(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    for c in visible(text).chars() {
        match c {
            '&' => out.push_str("&amp;"),
            '<' => out.push_str("&lt;"),
            '>' => out.push_str("&gt;"),
            '"' => out.push_str("&quot;"),
            '\'' => out.push_str("&#39;"),
            c => out.push(c),
        }
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn nothing_hides() {
        assert_eq!(visible("Quercus robur 'Fastigiata'"), "Quercus robur 'Fastigiata'");
        assert_eq!(visible("a\u{202e}b\u{0}c\nd\u{1b}[31m"), "a\u{fffd}b\u{fffd}c d\u{fffd}[31m");
        assert_eq!(escaped("<i a=\"'\">&"), "&lt;i a=&quot;&#39;&quot;&gt;&amp;");
    }
}
