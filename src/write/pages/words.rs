//! The texts of the pages: the built-in English ones, with those of a city's own file over them.
//!
//! Must not let a typing error pass: an unknown key, or a placeholder that the English text does not have, stops the run before anything is read.

use super::phrases::Phrases;
use crate::error::{Error, Result};
use std::borrow::Cow;
use std::collections::BTreeMap;
use std::path::Path;

const ENGLISH: &str = include_str!("english.toml");
/// The section whose keys are English texts that other stages write; a city may have more of them than are built in.
const SAID: &str = "said";

type Sections = BTreeMap<String, BTreeMap<String, String>>;

/// All texts by section and key.
#[derive(Debug, Clone)]
pub struct Words {
    sections: Sections,
    phrases: Phrases,
    missing: Vec<String>,
}

impl Words {
    /// The built-in texts.
    pub fn english() -> Words {
        let sections: Sections = toml::from_str(ENGLISH).expect("the built-in texts are valid");
        let phrases = Phrases::new(&sections[SAID]);
        Words { sections, phrases, missing: Vec::new() }
    }

    /// The built-in texts, or those of a file; texts that the file leaves out stay English.
    ///
    /// # Errors
    /// The file cannot be read or is no TOML of sections with texts; a section, key or placeholder is unknown.
    pub fn load(file: Option<&Path>) -> Result<Words> {
        let Some(path) = file else { return Ok(Words::english()) };
        let text = std::fs::read_to_string(path).map_err(|e| Error::io(path, "read", e))?;
        Words::english().with(&text, &path.display().to_string())
    }

    fn with(mut self, text: &str, at: &str) -> Result<Words> {
        let wrong = |what: String, hint: String| Err(Error::input(at, what, hint));
        let given: Sections = match toml::from_str(text) {
            Ok(given) => given,
            Err(error) => {
                let line = error.span().map_or(1, |span| text[..span.start].lines().count().max(1));
                return Err(Error::input(
                    format!("{at}:{line}"),
                    format!("not a table of texts: {}", error.message()),
                    "--language takes a copy of the English texts: sections with key = \"text\"",
                ));
            }
        };
        for (section, texts) in &given {
            let Some(known) = self.sections.get(section) else {
                let hint = nearest(section, self.sections.keys());
                return wrong(format!("no section [{section}] of texts"), hint);
            };
            for (key, text) in texts {
                let of_city = (section == SAID).then_some(key);
                let Some(english) = known.get(key).or(of_city) else {
                    return wrong(format!("no text `{key}` in [{section}]"), nearest(key, known.keys()));
                };
                if let Some(strange) = placeholders(text).into_iter().find(|one| !placeholders(english).contains(one)) {
                    let what = format!("[{section}] {key}: nothing is filled in for {{{strange}}}");
                    return wrong(what, format!("the English text is: {english}"));
                }
            }
        }
        if let Some(own) = given.get(SAID) {
            let known = self.sections.entry(SAID.to_string()).or_default();
            for key in own.keys() {
                known.entry(key.clone()).or_default();
            }
        }
        for (section, texts) in &mut self.sections {
            for (key, text) in texts {
                match given.get(section).and_then(|texts| texts.get(key)) {
                    Some(own) => text.clone_from(own),
                    None if section == SAID => self.missing.push(format!("{section}.\"{key}\"")),
                    None => self.missing.push(format!("{section}.{key}")),
                }
            }
        }
        self.phrases = Phrases::new(&self.sections[SAID]);
        Ok(self)
    }

    /// A text that another stage wrote in English, in the language of the pages; as it is where no phrase fits.
    pub fn said<'a>(&self, english: &'a str) -> Cow<'a, str> {
        self.phrases.said(english)
    }

    /// A text; `section.key` itself would be a fault of the program.
    pub fn get(&self, section: &str, key: &str) -> &str {
        let text = self.sections.get(section).and_then(|texts| texts.get(key));
        debug_assert!(text.is_some(), "no text {section}.{key}");
        text.map_or("", String::as_str)
    }

    /// A text with its placeholders filled in.
    pub fn fill(&self, section: &str, key: &str, values: &[(&str, &str)]) -> String {
        filled(self.get(section, key), |name| values.iter().find(|(known, _)| *known == name).map(|(_, value)| *value))
    }

    /// All texts, for templates.
    pub fn sections(&self) -> &BTreeMap<String, BTreeMap<String, String>> {
        &self.sections
    }

    /// Texts that the language file does not have.
    pub fn missing(&self) -> &[String] {
        &self.missing
    }
}

/// A text with each `{name}` replaced by its value, or by nothing; values are not looked into.
pub(super) fn filled<'a>(text: &str, value: impl Fn(&str) -> Option<&'a str>) -> String {
    let mut rest = text;
    let mut filled = String::new();
    while let Some((before, after)) = rest.split_once('{') {
        filled.push_str(before);
        let Some((name, end)) = after.split_once('}') else {
            filled.push('{');
            rest = after;
            continue;
        };
        filled.push_str(value(name).unwrap_or_default());
        rest = end;
    }
    filled + rest
}

fn placeholders(text: &str) -> Vec<&str> {
    text.split('{').skip(1).filter_map(|part| part.split_once('}')).map(|(name, _)| name).collect()
}

fn nearest<'a>(word: &str, known: impl Iterator<Item = &'a String>) -> String {
    known
        .min_by_key(|other| strsim::damerau_levenshtein(word, other))
        .map_or_else(String::new, |other| format!("did you mean `{other}`?"))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_translation_goes_over_the_english_texts() {
        let words = Words::english().with("[map]\nnorth = \"S\"\n", "own.toml").unwrap();
        assert_eq!(words.get("map", "north"), "S");
        assert_eq!(words.get("map", "feet"), "ft");
        assert!(
            words.missing().contains(&"map.feet".to_string()) && !words.missing().contains(&"map.north".to_string())
        );
    }

    #[test]
    fn mistakes_are_named() {
        let refused = |text: &str| {
            let error = Words::english().with(text, "own.toml").unwrap_err();
            format!("{error} / {}", error.hint())
        };
        assert!(refused("[map]\nnorht = \"S\"\n").contains("did you mean `north`?"));
        assert!(refused("[mpa]\n").contains("did you mean `map`?"));
        assert!(refused("[map]\nring = \"Ring {nmae}\"\n").contains("nothing is filled in for {nmae}"));
        assert!(refused("[map]\n\nnorth = \n").starts_with("own.toml:3"));
    }

    #[test]
    fn placeholders_are_filled_once() {
        let words = Words::english();
        let filled = words.fill("letter", "permit", &[("permit", "{status} <b>")]);
        assert_eq!(filled, "Permit: {status} <b>");
    }
}
