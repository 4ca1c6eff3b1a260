//! The words and signs of diameter cells: missing, dates, classes. Text in, text out; no unit and no number.

use super::words::{fold, name_words};

/// A class as written, its ends still text.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Class<'a> {
    /// `31+`, `> 60 cm`.
    AtLeast(&'a str),
    /// `<6`.
    Below(&'a str),
    /// `07-12`, `13 to 18`.
    Between(&'a str, &'a str),
}

#[rustfmt::skip]
const MISSING: &[&str] = &[
    "", "-", "--", "---", "_", ".", "?", "??", "n/a", "n.a.", "na", "n", "nil", "none", "null", "<null>", "nan", "unknown", "unk",
    "not measured", "not recorded", "not known", "no data", "nd", "n.d.", "tbd", "x", "#n/a", "missing", "unbekannt", "k.a.", "keine angabe",
    "inconnu", "inconnue", "non renseigne", "non mesure", "nr", "s/d", "sin dato", "desconocido", "sconosciuto", "desconhecido",
    "onbekend", "ukendt", "ukjent", "okand", "nieznany", "neznamy", "neznano", "brak", "brak danych",
];

/// Month names and their short forms, without accents, in the languages of the column names.
#[rustfmt::skip]
const MONTHS: &[&str] = &[
    "jan", "january", "januar", "januari", "janvier", "janv", "ene", "enero", "gen", "gennaio", "feb", "february", "februar", "februari",
    "fevrier", "fevr", "fev", "febrero", "febbraio", "mar", "march", "mars", "marz", "mrz", "maerz", "marzo", "mrt", "maart", "apr", "april",
    "avr", "avril", "abr", "abril", "aprile", "may", "mai", "mayo", "mag", "maggio", "mei", "maj", "jun", "june", "juni", "juin", "junio",
    "giu", "giugno", "jul", "july", "juli", "juil", "juillet", "julio", "lug", "luglio", "aug", "august", "augustus", "aout", "ago",
    "agosto", "avg", "sep", "sept", "september", "septembre", "septiembre", "set", "settembre", "oct", "october", "okt", "oktober", "octobre",
    "octubre", "ott", "ottobre", "out", "nov", "november", "novembre", "noviembre", "dec", "december", "dez", "dezember", "decembre",
    "dic", "diciembre", "dicembre", "des", "desember",
];

#[rustfmt::skip]
const AT_LEAST_BEFORE: &[&str] = &[
    ">=", "=>", "\u{2265}", ">", "over ", "above ", "more than ", "greater than ", "at least ", "ab ", "uber ", "ueber ", "mehr als ", "mindestens ",
    "plus de ", "au moins ", "mas de ", "mayor de ", "mayor a ", "oltre ", "piu di ", "mais de ", "acima de ", "meer dan ", "vanaf ",
    "mere end ", "mer enn ", "mer an ", "powyzej ", "ponad ", "nad ", "vec kot ",
];
#[rustfmt::skip]
const AT_LEAST_AFTER: &[&str] = &[
    " and over", " and above", " and up", " and more", " and greater", " or more", " or over", " or greater", " et plus", " ou plus",
    " und mehr", " y mas", " o mas", " e oltre", " ou mais", " e mais", " en meer", " of meer", " och mer", " og mer", " og mere", " i wiecej",
    " a vice", " in vec", " plus",
];
#[rustfmt::skip]
const BELOW_BEFORE: &[&str] = &[
    "<=", "=<", "\u{2264}", "<", "under ", "below ", "less than ", "up to ", "unter ", "bis ", "weniger als ", "moins de ", "jusqu'a ",
    "menos de ", "menor de ", "menor a ", "hasta ", "meno di ", "fino a ", "ate ", "minder dan ", "tot ", "mindre end ", "mindre enn ", "mindre an ",
    "ponizej ", "pod ", "do ", "manj kot ",
];
#[rustfmt::skip]
const BETWEEN: &[&str] = &[" to ", " bis ", " a ", " tot ", " do ", " til ", " till ", " - ", "..", "-"];
#[rustfmt::skip]
const ABOUT: &[&str] = &["~", "\u{2248}", "ca.", "ca ", "circa ", "c.", "approx.", "approx ", "about ", "est.", "est ", "env.", "environ ", "etwa "];

/// The cell in lower case without accents, with plain dashes and single spaces, without a leading "about".
pub fn tidied(text: &str) -> String {
    let folded = fold(text);
    let mut tidy = String::with_capacity(folded.len());
    for letter in folded.trim().chars() {
        match letter {
            '\u{2010}'..='\u{2015}' | '\u{2212}' => tidy.push('-'),
            '\n' | '\r' => tidy.push('\n'),
            space if space.is_whitespace() => {
                if !tidy.ends_with(' ') {
                    tidy.push(' ');
                }
            }
            other => tidy.push(other),
        }
    }
    let about = ABOUT.iter().find_map(|word| tidy.strip_prefix(word)).unwrap_or(&tidy);
    let about = about.strip_suffix(" est").or_else(|| about.strip_suffix(" est.")).unwrap_or(about);
    about.trim().to_string()
}

/// Empty, or one of the words for "nothing here".
pub fn says_missing(tidy: &str) -> bool {
    MISSING.contains(&tidy)
}

/// `12-jun`, `2012-07-01`, `7.12.2012`, `7/12/2012 00:00`.
pub fn looks_like_date(tidy: &str) -> bool {
    let words = name_words(tidy);
    let has_number = words.iter().any(|word| word.bytes().all(|b| b.is_ascii_digit()));
    if has_number && words.iter().any(|word| MONTHS.contains(&word.as_str())) {
        return true;
    }
    let day = tidy.split([' ', 't']).next().unwrap_or("");
    ['-', '/', '.'].iter().any(|&mark| three_parts_of_a_date(day, mark))
}

fn three_parts_of_a_date(text: &str, mark: char) -> bool {
    let parts: Vec<Option<u32>> = text.split(mark).map(|part| part.parse().ok()).collect();
    let [Some(first), Some(second), Some(third)] = parts[..] else { return false };
    let is_year = |n: u32| (1900..=2099).contains(&n);
    let is_day = |n: u32| (1..=31).contains(&n);
    // With dashes no list of stems is meant: 12-07-01 can only be a date.
    is_day(second) && ((is_year(first) && is_day(third)) || (is_day(first) && (is_year(third) || mark == '-')))
}

/// The class in a cell, if it is one. Numbers are not looked at beyond what tells a class from a sign or a list.
pub fn as_class(tidy: &str) -> Option<Class<'_>> {
    if let Some(low) = AT_LEAST_BEFORE.iter().find_map(|sign| tidy.strip_prefix(sign)) {
        return Some(Class::AtLeast(low.trim()));
    }
    if let Some(low) = AT_LEAST_AFTER.iter().find_map(|sign| tidy.strip_suffix(sign)) {
        return Some(Class::AtLeast(low.trim()));
    }
    if let Some(low) = tidy.strip_suffix('+').filter(|low| !low.contains('+')) {
        return Some(Class::AtLeast(low.trim()));
    }
    if let Some(high) = BELOW_BEFORE.iter().find_map(|sign| tidy.strip_prefix(sign)) {
        return Some(Class::Below(high.trim()));
    }
    // A dash in first place is a minus; `12-1/2` is a fraction; `a-b-c` is no class.
    for sign in BETWEEN {
        let Some((low, high)) = tidy.split_once(sign) else { continue };
        if low.is_empty() || high.contains(sign) || high.contains('/') || low.contains(['/', ';', '[', '(', '&']) {
            return None;
        }
        let numeric = |part: &str| part.trim().starts_with(|c: char| c.is_ascii_digit() || c == '.');
        // `2'-6"` is two feet six.
        if low.ends_with(['\'', '\u{2032}']) && high.ends_with(['"', '\u{2033}']) {
            return None;
        }
        return (numeric(low) && numeric(high)).then_some(Class::Between(low.trim(), high.trim()));
    }
    None
}
