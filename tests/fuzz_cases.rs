//! Cases that fuzzing found or began with (`tests/data/fuzz/CHECK/`), and changed copies of them: no check of `fuzz_checks` breaks.
//!
//! `scripts/fuzz` goes on for as long as it is told; what it finds is kept as one more case here.

#![allow(clippy::unwrap_used)]

use crate::faults::{Dice, torture};
use crate::fuzz_checks::ALL;
use std::path::{Path, PathBuf};

fn cases(check: &str) -> Vec<(PathBuf, Vec<u8>)> {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/data/fuzz").join(check);
    let mut paths: Vec<PathBuf> = std::fs::read_dir(folder).unwrap().map(|entry| entry.unwrap().path()).collect();
    paths.sort();
    paths.into_iter().map(|path| (path.clone(), std::fs::read(path).unwrap())).collect()
}

/// A copy with a few bytes changed, left out, doubled, or taken from another case.
fn changed(dice: &mut Dice, cases: &[(PathBuf, Vec<u8>)]) -> Vec<u8> {
    let pick = |dice: &mut Dice| &cases[dice.below(cases.len() as u64) as usize].1;
    let mut bytes = pick(dice).clone();
    for _ in 0..=dice.below(4) {
        let at = dice.below(bytes.len() as u64 + 1) as usize;
        let to = (at + dice.below(9) as usize).min(bytes.len());
        match dice.below(5) {
            0 if at < bytes.len() => bytes[at] = dice.below(256) as u8,
            1 => drop(bytes.drain(at..to)),
            2 => {
                let part = bytes[at..to].to_vec();
                bytes.splice(at..at, part);
            }
            3 => bytes.insert(at, b"\",;'-+=0\n\r\t{}[]\\\0\xff"[dice.below(18) as usize]),
            _ => {
                let other = pick(dice);
                let from = dice.below(other.len() as u64 + 1) as usize;
                let end = (from + dice.below(40) as usize).min(other.len());
                bytes.splice(at..to, other[from..end].iter().copied());
            }
        }
    }
    bytes
}

#[test]
fn no_case_breaks_a_check() {
    let tries = if torture() { 20_000 } else { 300 };
    for (name, check) in ALL {
        let cases = cases(name);
        assert!(cases.len() >= 3, "{name}: {} cases", cases.len());
        for (path, bytes) in &cases {
            eprintln!("{}", path.display());
            check(bytes);
        }
        let mut dice = Dice(name.len() as u64);
        for number in 0..tries {
            let bytes = changed(&mut dice, &cases);
            let broken = std::panic::catch_unwind(|| check(&bytes)).is_err();
            assert!(!broken, "{name}: try {number} breaks the check: keep it as a case: {}", bytes.escape_ascii());
        }
    }
}
