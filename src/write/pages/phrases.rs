//! Texts that other stages write in English (what to do, why, the names of things) -> the language of the pages.
//!
//! A phrase is known by its English text, in which `{word}` stands for anything. What no phrase fits stays as it is: names, clauses and
//! citations of a rule set or of a file of values are their own authors' words.

use std::borrow::Cow;
use std::collections::BTreeMap;

/// Filled-in texts within filled-in texts: deeper, a text stays as it is.
const DEEPEST: u32 = 4;

/// The phrases that have a text other than their own.
#[derive(Debug, Clone, Default)]
pub struct Phrases {
    exact: BTreeMap<String, String>,
    patterns: Vec<Pattern>,
}

#[derive(Debug, Clone)]
struct Pattern {
    /// The text between placeholders; one more than there are placeholders.
    between: Vec<String>,
    names: Vec<String>,
    said: String,
}

impl Phrases {
    /// From English texts and what is said for them.
    pub fn new(said: &BTreeMap<String, String>) -> Phrases {
        let mut phrases = Phrases::default();
        for (english, text) in said.iter().filter(|(english, text)| english != text) {
            match pattern(english, text) {
                Some(pattern) => phrases.patterns.push(pattern),
                None => {
                    phrases.exact.insert(english.clone(), text.clone());
                }
            }
        }
        // The one that says most goes first; stable, so in the order of the alphabet where equal.
        let told = |pattern: &Pattern| pattern.between.iter().map(String::len).sum::<usize>();
        phrases.patterns.sort_by_key(|pattern| std::cmp::Reverse(told(pattern)));
        phrases
    }

    /// A text in the language of the pages: as a whole, else each part between semicolons.
    pub fn said<'a>(&self, english: &'a str) -> Cow<'a, str> {
        self.said_within(english, 0)
    }

    fn said_within<'a>(&self, english: &'a str, depth: u32) -> Cow<'a, str> {
        if depth > DEEPEST || (self.exact.is_empty() && self.patterns.is_empty()) {
            return Cow::Borrowed(english);
        }
        if let Some(text) = self.exact.get(english) {
            return Cow::Owned(text.clone());
        }
        if let Some(text) = self.patterns.iter().find_map(|pattern| self.filled(pattern, english, depth)) {
            return Cow::Owned(text);
        }
        if !english.contains("; ") {
            return Cow::Borrowed(english);
        }
        let parts: Vec<Cow<str>> = english.split("; ").map(|part| self.said_within(part, depth + 1)).collect();
        Cow::Owned(parts.join("; "))
    }

    fn filled(&self, pattern: &Pattern, english: &str, depth: u32) -> Option<String> {
        let values = pattern.values(english)?;
        let values = values.into_iter().map(|value| self.said_within(value, depth + 1));
        let known: Vec<(&String, Cow<str>)> = pattern.names.iter().zip(values).collect();
        Some(super::words::filled(&pattern.said, |name| {
            known.iter().find(|(known, _)| *known == name).map(|(_, value)| &**value)
        }))
    }
}

fn pattern(english: &str, said: &str) -> Option<Pattern> {
    let (mut between, mut names) = (Vec::new(), Vec::new());
    let mut rest = english;
    while let Some((before, after)) = rest.split_once('{') {
        let (name, end) = after.split_once('}')?;
        between.push(before.to_string());
        names.push(name.to_string());
        rest = end;
    }
    between.push(rest.to_string());
    (!names.is_empty()).then(|| Pattern { between, names, said: said.to_string() })
}

impl Pattern {
    /// What stands in a text where the placeholders are; `None` where the text is another one. The first place counts where several fit.
    fn values<'a>(&self, text: &'a str) -> Option<Vec<&'a str>> {
        let (first, others) = self.between.split_first()?;
        let (last, middle) = others.split_last()?;
        let mut rest = text.strip_prefix(first.as_str())?.strip_suffix(last.as_str())?;
        let mut values = Vec::new();
        for part in middle {
            let (value, after) = rest.split_once(part.as_str())?;
            values.push(value);
            rest = after;
        }
        values.push(rest);
        values.iter().all(|value| !value.is_empty()).then_some(values)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn phrases(said: &[(&str, &str)]) -> Phrases {
        Phrases::new(&said.iter().map(|(english, text)| ((*english).to_string(), (*text).to_string())).collect())
    }

    #[test]
    fn phrases_are_said_whole_in_parts_and_within_each_other() {
        let german = phrases(&[
            ("the trunk stands within a work", "der Stamm steht in einem Bauwerk"),
            ("no shift within {length} m helps", "kein Verschieben bis {length} m hilft"),
            ("{share} % of the {whole} is cut", "{share} % von: {whole} abgegraben"),
            ("root zone", "Wurzelbereich"),
            ("cut", "abgegraben"),
        ]);
        assert_eq!(german.said("the trunk stands within a work"), "der Stamm steht in einem Bauwerk");
        assert_eq!(
            german.said("no shift within 2.5 m helps; cut; else"),
            "kein Verschieben bis 2.5 m hilft; abgegraben; else"
        );
        assert_eq!(german.said("12.5 % of the root zone is cut"), "12.5 % von: Wurzelbereich abgegraben");
        assert_eq!(german.said("a clause that {nobody} knows"), "a clause that {nobody} knows");
        // Nothing to fill in: the pattern does not fit.
        assert_eq!(german.said(" % of the root zone is cut"), " % of the root zone is cut");
    }

    #[test]
    fn english_stays_as_it_is() {
        let english = phrases(&[("cut", "cut"), ("{a} of {b}", "{a} of {b}")]);
        assert!(matches!(english.said("cut; 1 of 2"), Cow::Borrowed(_)));
    }
}
