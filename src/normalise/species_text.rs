//! The text of a species cell -> its body without cultivars in quotes, its parts, and the orders in which they may be read.
//!
//! Text in, text out; knows no table.

use super::words::fold;

/// A cell taken apart.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct SpeciesText {
    /// Without what stood in quotes or behind `cv.`; hybrid signs are `x` between spaces.
    pub body: String,
    /// What stood in quotes or behind `cv.`, in lower case.
    pub cultivar: String,
    /// The body parted at `,` `;` `:` `|` `/` brackets, and hyphens with space on a side; empty parts left out.
    pub parts: Vec<String>,
}

const OPENING: &[char] = &['\'', '"', '\u{2018}', '\u{2019}', '\u{201c}', '\u{201d}', '\u{201e}', '`', '\u{b4}'];

impl SpeciesText {
    /// Takes a cell apart.
    pub fn of(cell: &str) -> SpeciesText {
        let spaced = cell.replace('_', " ").replace('\u{d7}', " x ");
        let (body, mut cultivar) = without_quotes(&spaced);
        let mut words: Vec<&str> = body.split_whitespace().collect();
        let marks = ["cv", "cv.", "cultivar", "cultivar:", "c.v."];
        if let Some(at) = words.iter().position(|word| marks.contains(&word.to_lowercase().as_str())) {
            cultivar.push(' ');
            cultivar.push_str(&words[at + 1..].join(" "));
            words.truncate(at);
        }
        let body = words.join(" ");
        let parts = parts(&body);
        SpeciesText { body, cultivar: fold(cultivar.trim()), parts }
    }

    /// All words of the body, the parts in other orders first where there are several: `Oak, English` gives `English Oak`.
    pub fn orders(&self) -> Vec<String> {
        let mut orders = vec![self.parts.join(" ")];
        if self.parts.len() > 1 {
            let reversed: Vec<&str> = self.parts.iter().rev().map(String::as_str).collect();
            orders.push(reversed.join(" "));
            orders.push(format!("{} {}", self.parts[1..].join(" "), self.parts[0]));
            // Two parts name the tree, what follows says more: `Maple, Norway, Crimson King`.
            orders.push(format!("{} {}", self.parts[1], self.parts[0]));
        }
        orders
    }
}

/// The text outside and the text inside of quotes. A quote opens behind a space or bracket; an apostrophe within a word stays.
fn without_quotes(text: &str) -> (String, String) {
    let letters: Vec<char> = text.chars().collect();
    let (mut body, mut inside) = (String::new(), String::new());
    let mut quoted = false;
    for (at, &letter) in letters.iter().enumerate() {
        let word_before = at > 0 && letters[at - 1].is_alphanumeric();
        let word_after = letters.get(at + 1).is_some_and(|next| next.is_alphanumeric());
        let is_quote = OPENING.contains(&letter);
        if is_quote && !quoted && !word_before && word_after {
            quoted = true;
            body.push(' ');
            inside.push(' ');
        } else if is_quote && quoted && !word_after {
            quoted = false;
            body.push(' ');
        } else if quoted {
            inside.push(letter);
        } else {
            body.push(letter);
        }
    }
    (body, inside)
}

fn parts(body: &str) -> Vec<String> {
    let spaced = body.replace(" -", "|").replace("- ", "|").replace(" \u{2013}", "|").replace("\u{2013} ", "|");
    let split = spaced.split([',', ';', ':', '|', '/', '(', ')', '[', ']']);
    split
        .map(|part| part.trim_matches(|c: char| !c.is_alphanumeric() && c != '.').to_string())
        .filter(|p| !p.is_empty())
        .collect()
}

/// Whether one letter put in, left out, changed, or exchanged with its neighbour makes one word of the other.
pub fn one_letter_off(a: &str, b: &str) -> bool {
    let (a, b): (Vec<char>, Vec<char>) = (a.chars().collect(), b.chars().collect());
    if a == b || a.len().abs_diff(b.len()) > 1 {
        return false;
    }
    let same = a.iter().zip(&b).take_while(|(a, b)| a == b).count();
    let (a, b) = (&a[same..], &b[same..]);
    match a.len().cmp(&b.len()) {
        std::cmp::Ordering::Less => a == &b[1..],
        std::cmp::Ordering::Greater => &a[1..] == b,
        std::cmp::Ordering::Equal => {
            a[1..] == b[1..] || (a.len() > 1 && a[0] == b[1] && a[1] == b[0] && a[2..] == b[2..])
        }
    }
}
