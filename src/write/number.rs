//! Numbers -> decimal text with a fixed number of decimals: the only place that rounds.
//!
//! Rounds the exact binary value to the nearest decimal, as Rust's own formatting does and as findings are judged, only quicker.
//! Never prints `-0.0000`, `NaN` or `inf`.

/// Appends a number with a fixed number of decimals (at most 9); appends nothing and returns false where it is not finite.
pub fn push_fixed(out: &mut Vec<u8>, value: f64, decimals: u32) -> bool {
    if !value.is_finite() {
        return false;
    }
    let scaled = value * 10f64.powi(decimals.cast_signed());
    // The product is itself rounded: near the middle between two decimals, and for huge numbers, the exact value must decide.
    let from_middle = (scaled.abs().fract() - 0.5).abs();
    if scaled.abs() < 1e11 && from_middle > 1e-4 {
        #[expect(clippy::cast_possible_truncation, reason = "a whole number of at most 1e11")]
        push_scaled(out, scaled.round() as i64, decimals);
    } else {
        let text = format!("{value:.*}", decimals as usize);
        let is_zero = text.bytes().all(|byte| matches!(byte, b'-' | b'0' | b'.'));
        out.extend_from_slice(if is_zero { text.trim_start_matches('-') } else { &text }.as_bytes());
    }
    true
}

/// As many as the most decimals.
const ZEROS: &[u8] = b"000000000";

/// Appends `scaled / 10^decimals` exactly; at most 9 decimals.
pub fn push_scaled(out: &mut Vec<u8>, scaled: i64, decimals: u32) {
    let mut buffer = itoa::Buffer::new();
    let digits = buffer.format(scaled.unsigned_abs()).as_bytes();
    let decimals = decimals as usize;
    if scaled < 0 {
        out.push(b'-');
    }
    let whole = digits.len().saturating_sub(decimals);
    out.extend_from_slice(if whole == 0 { b"0" } else { &digits[..whole] });
    if decimals > 0 {
        out.push(b'.');
        out.extend_from_slice(&ZEROS[..decimals.saturating_sub(digits.len())]);
        out.extend_from_slice(&digits[whole..]);
    }
}

/// Appends a whole number.
pub fn push_whole(out: &mut Vec<u8>, value: u64) {
    out.extend_from_slice(itoa::Buffer::new().format(value).as_bytes());
}

/// A number as text; empty where it is not finite.
pub fn fixed(value: f64, decimals: u32) -> String {
    let mut out = Vec::new();
    push_fixed(&mut out, value, decimals);
    String::from_utf8(out).expect("digits are ASCII")
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn awkward_numbers() {
        for (value, decimals, text) in [
            (0.0, 4, "0.0000"),
            (-0.0, 4, "0.0000"),
            (-0.000_04, 4, "0.0000"),
            (-0.000_06, 4, "-0.0001"),
            (-0.000_05, 4, "-0.0001"),
            // Ties of the exact binary value go to the even digit.
            (0.5, 0, "0"),
            (-0.5, 0, "0"),
            (1.5, 0, "2"),
            (0.125, 2, "0.12"),
            (12.0, 0, "12"),
            (9.999_96, 4, "10.0000"),
            (-122.419_415_5, 7, "-122.4194155"),
            (0.000_05, 4, "0.0001"),
            (1e17, 2, "100000000000000000.00"),
            (f64::NAN, 4, ""),
            (f64::INFINITY, 4, ""),
        ] {
            assert_eq!(fixed(value, decimals), text, "{value} to {decimals}");
        }
    }

    proptest! {
        #[test]
        fn what_is_printed_is_within_half_a_step(value in -1e9f64..1e9, decimals in 0u32..=7) {
            let text = fixed(value, decimals);
            let back: f64 = text.parse().unwrap();
            prop_assert!((back - value).abs() <= 0.5 * 10f64.powi(-decimals.cast_signed()) + value.abs() * 1e-15);
            prop_assert_eq!(text.split_once('.').map_or(0, |(_, d)| d.len()), decimals as usize);
            // Printing what was printed changes nothing.
            prop_assert_eq!(fixed(back, decimals), text);
        }

        #[test]
        fn rounds_as_the_language_does(steps in -4_000_000_000i64..4_000_000_000, decimals in 2u32..=4) {
            // Middles between two decimals are where a scaled value misleads.
            #[expect(clippy::cast_precision_loss, reason = "under 2^53")]
            let value = (steps as f64 + 0.5) / 10f64.powi(decimals.cast_signed());
            let expected = format!("{value:.*}", decimals as usize);
            let without_sign = expected.trim_start_matches('-');
            let is_zero = without_sign.parse::<f64>().unwrap() == 0.0;
            prop_assert_eq!(fixed(value, decimals), if is_zero { without_sign } else { &expected });
        }
    }
}
