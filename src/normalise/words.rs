//! Text -> plain lower-case words, so that `Trunk_Diameter`, `trunkDiameter` and `DIAMÈTRE` can be compared.
//!
//! Knows letters only, no column and no status.

use crate::model::text::Text;

/// The text in lower case without accents: `Größe` gives `grosse`, `Łódź` gives `lodz`.
pub fn fold(text: &str) -> String {
    if text.is_ascii() {
        return text.to_ascii_lowercase();
    }
    let mut folded = String::with_capacity(text.len());
    for letter in text.chars().flat_map(char::to_lowercase) {
        match letter {
            'à' | 'á' | 'â' | 'ã' | 'ä' | 'å' | 'ā' | 'ă' | 'ą' => folded.push('a'),
            'æ' => folded.push_str("ae"),
            'ç' | 'ć' | 'č' => folded.push('c'),
            'ď' | 'đ' | 'ð' => folded.push('d'),
            'è' | 'é' | 'ê' | 'ë' | 'ē' | 'ė' | 'ę' | 'ě' => folded.push('e'),
            'ğ' => folded.push('g'),
            'ì' | 'í' | 'î' | 'ï' | 'ī' | 'į' | 'ı' => folded.push('i'),
            'ľ' | 'ĺ' | 'ł' => folded.push('l'),
            'ñ' | 'ń' | 'ň' => folded.push('n'),
            'ò' | 'ó' | 'ô' | 'õ' | 'ö' | 'ø' | 'ō' | 'ő' => folded.push('o'),
            'œ' => folded.push_str("oe"),
            'ŕ' | 'ř' => folded.push('r'),
            'ś' | 'š' | 'ş' | 'ș' => folded.push('s'),
            'ß' => folded.push_str("ss"),
            'ť' | 'ţ' | 'ț' => folded.push('t'),
            'ù' | 'ú' | 'û' | 'ü' | 'ū' | 'ů' | 'ű' | 'ų' => folded.push('u'),
            'ý' | 'ÿ' => folded.push('y'),
            'ź' | 'ż' | 'ž' => folded.push('z'),
            accent if is_accent(accent) => {}
            other => folded.push(other),
        }
    }
    folded
}

/// An accent that is written as a character of its own.
fn is_accent(letter: char) -> bool {
    ('\u{300}'..='\u{36f}').contains(&letter)
}

/// The words of a name: split at anything but letters and digits, at `aB`, at `ABc`, and between letters and digits.
///
/// `TreeID_2` gives `tree`, `id`, `2`; `Trunk_Diameter (in)` gives `trunk`, `diameter`, `in`.
pub fn name_words(name: &str) -> Vec<String> {
    let letters: Vec<char> = name.chars().collect();
    let mut words = Vec::new();
    let mut word = String::new();
    for (at, &letter) in letters.iter().enumerate() {
        if !(letter.is_alphanumeric() || is_accent(letter)) {
            finish(&mut word, &mut words);
            continue;
        }
        let before = if at == 0 { None } else { Some(letters[at - 1]) };
        if before.is_some_and(|before| breaks(before, letter, letters.get(at + 1).copied())) {
            finish(&mut word, &mut words);
        }
        word.push(letter);
    }
    finish(&mut word, &mut words);
    words
}

/// Whether a new word begins at `letter`.
fn breaks(before: char, letter: char, after: Option<char>) -> bool {
    if before.is_numeric() != letter.is_numeric() && before.is_alphanumeric() {
        return true;
    }
    let lower_then_upper = before.is_lowercase() && letter.is_uppercase();
    let last_of_capitals = before.is_uppercase() && letter.is_uppercase() && after.is_some_and(char::is_lowercase);
    lower_then_upper || last_of_capitals
}

fn finish(word: &mut String, words: &mut Vec<String>) {
    if !word.is_empty() {
        words.push(fold(word));
        word.clear();
    }
}

/// The words of a cell's text, joined with single spaces: `PLANTING SITE-SMALL` gives `planting site small`.
pub fn cell_words(text: &str) -> String {
    let folded = fold(text);
    joined_words(&folded)
}

/// The first of [`cell_words`], without the cost of the rest.
pub fn first_word(text: &str) -> Text {
    let word = text
        .split(|c: char| !(c.is_alphanumeric() || is_accent(c)))
        .find(|word| word.contains(|c: char| c.is_alphanumeric() && !is_accent(c)));
    let word = word.unwrap_or("");
    if word.is_ascii() {
        let mut lower = Text::from(word);
        lower.make_ascii_lowercase();
        return lower;
    }
    joined_words(&fold(word)).split(' ').next().unwrap_or("").into()
}

fn joined_words(folded: &str) -> String {
    let mut words = String::with_capacity(folded.len());
    for word in folded.split(|c: char| !c.is_alphanumeric()).filter(|word| !word.is_empty()) {
        if !words.is_empty() {
            words.push(' ');
        }
        words.push_str(word);
    }
    words
}

/// The text with runs of white space made one space and none at the ends; otherwise as written.
pub fn tidy(text: &str) -> Text {
    if is_tidy(text) {
        return Text::from(text);
    }
    let mut words = text.split_whitespace();
    let mut tidy = Text::from(words.next().unwrap_or(""));
    for word in words {
        tidy.push(' ');
        tidy.push_str(word);
    }
    tidy
}

/// Whether a text is in ASCII and tidy, as nearly all are.
fn is_tidy(text: &str) -> bool {
    let mut before = b' ';
    let tidy = text.bytes().all(|byte| {
        let fits = byte.is_ascii_graphic() || (byte == b' ' && before != b' ');
        before = byte;
        fits
    });
    tidy && before != b' '
}

/// Whether `phrase` stands in `text` as whole words (both made by [`cell_words`]).
pub fn has_phrase(text: &str, phrase: &str) -> bool {
    find_phrase(text, phrase).is_some()
}

/// Where `phrase` first stands in `text` as whole words, in bytes.
pub fn find_phrase(text: &str, phrase: &str) -> Option<usize> {
    let mut start = 0;
    loop {
        let rest = &text[start..];
        if rest.strip_prefix(phrase).is_some_and(|after| after.is_empty() || after.starts_with(' ')) {
            return Some(start);
        }
        start += rest.find(' ')? + 1;
    }
}

/// Names that are nearest to what was typed, best first, at most three.
pub fn nearest<'a>(typed: &str, names: impl IntoIterator<Item = &'a str>) -> Vec<&'a str> {
    let typed = fold(typed);
    let mut scored: Vec<(f64, &str)> =
        names.into_iter().map(|name| (strsim::jaro_winkler(&typed, &fold(name)), name)).collect();
    scored.sort_by(|a, b| b.0.total_cmp(&a.0).then(a.1.cmp(b.1)));
    scored.into_iter().filter(|(score, _)| *score > 0.6).take(3).map(|(_, name)| name).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn names_become_words() {
        let cases: &[(&str, &[&str])] = &[
            ("Trunk_Diameter (in)", &["trunk", "diameter", "in"]),
            ("trunkDiameterCM", &["trunk", "diameter", "cm"]),
            ("TreeID", &["tree", "id"]),
            ("DBHcm", &["db", "hcm"]),
            ("dbh1", &["dbh", "1"]),
            ("Höhe", &["hohe"]),
            ("circonférence en cm", &["circonference", "en", "cm"]),
            ("", &[]),
        ];
        for (name, words) in cases {
            assert_eq!(&name_words(name), words, "{name}");
        }
    }

    #[test]
    fn phrases_are_whole_words() {
        assert!(has_phrase("retaining wall", "wall"));
        assert!(!has_phrase("sidewalk wallaby", "wall"));
        assert!(has_phrase("wallaby wall", "wall"));
    }

    proptest! {
        /// The quick ways give what the long ones give.
        #[test]
        fn quick_ways_change_nothing(text in "([ a-zA-Z0-9.'\t\n\u{a0}éß(-]|\u{301}|\u{363}){0,12}") {
            let first = cell_words(&text).split(' ').next().unwrap_or("").to_string();
            prop_assert_eq!(first_word(&text), first);
            let long = text.split_whitespace().collect::<Vec<_>>().join(" ");
            prop_assert_eq!(tidy(&text).to_string(), long);
        }
    }
}
