//! What a page may do: only its own style and script, named by their hashes; nothing is fetched, nothing is sent.
//!
//! # Source
//! W3C Content Security Policy Level 3, hash sources; RFC 4648 for base 64.

use sha2::{Digest, Sha256};

/// The policy for a page with this style and, where there is one, this script: each exactly as it stands between its tags.
pub fn policy(style: &str, script: Option<&str>) -> String {
    let script = script.map_or_else(|| "'none'".to_string(), hash_source);
    format!(
        "default-src 'none'; style-src {}; script-src {script}; img-src data:; base-uri 'none'; form-action 'none'",
        hash_source(style)
    )
}

fn hash_source(text: &str) -> String {
    format!("'sha256-{}'", base64(&Sha256::digest(text.as_bytes())))
}

fn base64(bytes: &[u8]) -> String {
    const LETTERS: &[u8; 64] = b"ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789+/";
    let mut out = String::new();
    for group in bytes.chunks(3) {
        let bits = group.iter().chain([0, 0].iter()).take(3).fold(0usize, |bits, &byte| bits << 8 | usize::from(byte));
        for place in 0..4 {
            let letter = LETTERS[bits >> (18 - 6 * place) & 63];
            out.push(if place <= group.len() { char::from(letter) } else { '=' });
        }
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    /// RFC 4648, section 10.
    #[test]
    fn base64_of_the_rfc() {
        let vectors = [
            ("", ""),
            ("f", "Zg=="),
            ("fo", "Zm8="),
            ("foo", "Zm9v"),
            ("foob", "Zm9vYg=="),
            ("fooba", "Zm9vYmE="),
            ("foobar", "Zm9vYmFy"),
        ];
        for (text, expected) in vectors {
            assert_eq!(base64(text.as_bytes()), expected);
        }
    }
}
