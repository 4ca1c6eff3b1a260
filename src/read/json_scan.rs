//! Where JSON values begin and end, without building them: enough to cut a large document into features.
//!
//! The full check of each feature's JSON is left to the parser in the worker. Brackets must match here, or the cut would be
//! wrong; nesting is limited to 64.

use memchr::memchr2;

/// The deepest nesting of arrays and objects within one feature or member.
const MAX_DEPTH: u32 = 64;

/// Why a scan stopped.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) enum Stop {
    /// The text ends within the value: more bytes may complete it.
    Incomplete,
    /// The text is wrong at this position.
    Wrong(usize, String),
}

/// The result of a scan: the position behind what was scanned.
pub(super) type Scan<T> = Result<T, Stop>;

fn wrong<T>(position: usize, what: impl Into<String>) -> Scan<T> {
    Err(Stop::Wrong(position, what.into()))
}

/// The position of the next byte that is not white space; `Incomplete` at the end.
pub(super) fn skip_space(bytes: &[u8], mut at: usize) -> Scan<usize> {
    while let Some(byte) = bytes.get(at) {
        if !matches!(byte, b' ' | b'\n' | b'\r' | b'\t') {
            return Ok(at);
        }
        at += 1;
    }
    Err(Stop::Incomplete)
}

/// Steps over one expected byte, white space before it allowed.
pub(super) fn expect(bytes: &[u8], at: usize, wanted: u8) -> Scan<usize> {
    let at = skip_space(bytes, at)?;
    if bytes[at] == wanted {
        return Ok(at + 1);
    }
    wrong(at, format!("got `{}`; expected `{}`", bytes[at].escape_ascii(), char::from(wanted)))
}

/// The position behind the string whose opening quote is at `at`.
pub(super) fn string_end(bytes: &[u8], at: usize) -> Scan<usize> {
    let mut at = at + 1;
    loop {
        let found = at + memchr2(b'"', b'\\', bytes.get(at..).ok_or(Stop::Incomplete)?).ok_or(Stop::Incomplete)?;
        if bytes[found] == b'"' {
            return Ok(found + 1);
        }
        at = found + 2;
    }
}

/// The position behind the value that begins at `at` (no white space before it).
pub(super) fn value_end(bytes: &[u8], at: usize) -> Scan<usize> {
    match bytes.get(at) {
        None => Err(Stop::Incomplete),
        Some(b'{' | b'[') => nested_end(bytes, at),
        Some(b'"') => string_end(bytes, at),
        Some(b'-' | b'0'..=b'9' | b't' | b'f' | b'n') => {
            let length =
                bytes[at..].iter().position(|byte| matches!(byte, b',' | b'}' | b']' | b' ' | b'\n' | b'\r' | b'\t'));
            length.map(|length| at + length).ok_or(Stop::Incomplete)
        }
        Some(byte) => wrong(at, format!("got `{}`; expected a JSON value", byte.escape_ascii())),
    }
}

fn nested_end(bytes: &[u8], mut at: usize) -> Scan<usize> {
    // One bit per open bracket: 1 for `{`.
    let (mut open, mut depth) = (0_u64, 0_u32);
    while let Some(&byte) = bytes.get(at) {
        match byte {
            b'"' => {
                at = string_end(bytes, at)?;
                continue;
            }
            b'{' | b'[' => {
                if depth == MAX_DEPTH {
                    return wrong(at, format!("brackets are nested deeper than {MAX_DEPTH}"));
                }
                open = open << 1 | u64::from(byte == b'{');
                depth += 1;
            }
            b'}' | b']' => {
                if (open & 1 == 1) != (byte == b'}') {
                    return wrong(
                        at,
                        format!("got `{}`; expected `{}`", char::from(byte), if open & 1 == 1 { '}' } else { ']' }),
                    );
                }
                open >>= 1;
                depth -= 1;
                if depth == 0 {
                    return Ok(at + 1);
                }
            }
            _ => {}
        }
        at += 1;
    }
    Err(Stop::Incomplete)
}

/// Walks over the members of the object whose `{` is at `at`; `member` is given the key without its quotes and the position of
/// the value, and returns the position behind it. Returns the position behind the `}`.
pub(super) fn members(bytes: &[u8], at: usize, mut member: impl FnMut(&[u8], usize) -> Scan<usize>) -> Scan<usize> {
    let mut at = expect(bytes, at, b'{')?;
    let first = skip_space(bytes, at)?;
    if bytes[first] == b'}' {
        return Ok(first + 1);
    }
    loop {
        let (key, value) = member_start(bytes, at)?;
        at = skip_space(bytes, member(key, value)?)?;
        match bytes[at] {
            b',' => at += 1,
            b'}' => return Ok(at + 1),
            byte => return wrong(at, format!("got `{}`; expected `,` or `}}`", byte.escape_ascii())),
        }
    }
}

/// The key (without its quotes) of the member that begins behind `at`, and the position of its value.
pub(super) fn member_start(bytes: &[u8], at: usize) -> Scan<(&[u8], usize)> {
    let quote = expect(bytes, at, b'"')?;
    let end = string_end(bytes, quote - 1)?;
    let value = skip_space(bytes, expect(bytes, end, b':')?)?;
    Ok((&bytes[quote..end - 1], value))
}

/// The text of a key or string as found between its quotes.
pub(super) fn unescape(inner: &[u8]) -> String {
    if memchr::memchr(b'\\', inner).is_none() {
        return String::from_utf8_lossy(inner).into_owned();
    }
    let quoted = [b"\"", inner, b"\""].concat();
    serde_json::from_slice(&quoted).unwrap_or_else(|_| String::from_utf8_lossy(inner).into_owned())
}

/// Line and column (from 1, in bytes) of a position.
pub(super) fn line_and_column(bytes: &[u8], position: usize) -> (u64, u64) {
    let before = &bytes[..position.min(bytes.len())];
    let line = memchr::memchr_iter(b'\n', before).count() as u64;
    let column = before.len() - memchr::memrchr(b'\n', before).map_or(0, |end| end + 1);
    (line, column as u64 + 1)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn values_end_where_they_end() {
        for (text, end) in
            [(r#"{"a":"}]"} x"#, 10), (r#"[[1,2],["\"]"]],"#, 15), ("12.5,", 4), (r#""a\\" "#, 5), ("null}", 4)]
        {
            assert_eq!(value_end(text.as_bytes(), 0), Ok(end), "{text}");
        }
    }

    #[test]
    fn text_that_ends_early_is_incomplete_at_every_cut() {
        let text = br#"{"a":[1,"x\"y",{"b":null}],"c":"d"}"#;
        for end in 0..text.len() {
            assert_eq!(value_end(&text[..end], 0), Err(Stop::Incomplete), "{end}");
            assert_eq!(
                members(&text[..end], 0, |_, value| value_end(&text[..end], value)),
                Err(Stop::Incomplete),
                "{end}"
            );
        }
    }

    #[test]
    fn brackets_must_match_and_not_nest_deeper_than_64() {
        assert!(matches!(value_end(b"[1,2}", 0), Err(Stop::Wrong(4, _))));
        let nested = |depth: usize| [vec![b'['; depth], vec![b']'; depth]].concat();
        assert_eq!(value_end(&nested(64), 0), Ok(128));
        assert!(matches!(value_end(&nested(65), 0), Err(Stop::Wrong(64, _))));
    }
}
