//! The words of a cell -> how far a tree is in its life, its age in years, and whose ground it stands on.
//!
//! Strict on purpose: words that may mean something else give nothing. Translations, and the letters that British surveys write
//! for life stages, are from memory.

use super::diameter_text::{says_missing, tidied};
use super::words::{cell_words, has_phrase};
use crate::model::tree::{LifeStage, TreeGround};

/// No tree is older, years; a choice of the program above the oldest dated trees (about 5,000, from memory).
const OLDEST_YEARS: f64 = 6000.0;
/// Whole numbers in this range are calendar years (a planting year) and no ages.
const CALENDAR_YEARS: std::ops::RangeInclusive<f64> = 1500.0..=2200.0;

/// Looked through in this order, so that `semi-mature` and `over-mature` are not taken for `mature`.
#[rustfmt::skip]
const LIFE_STAGES: &[(LifeStage, &[&str])] = &[
    (LifeStage::Overmature, &[
        "over mature", "overmature", "post mature", "senescent", "veteran", "ancient", "old", "very old", "om", "v", "uberaltert", "altersphase", "altbaum", "alt", "senescente",
        "senescent", "vieux", "vieil", "age avance", "viejo", "veterano", "vecchio", "senescente", "oud", "aftakelingsfase", "gammel", "gammal", "stary", "senilni",
    ]),
    (LifeStage::Mature, &["early mature", "young mature", "em"]),
    (LifeStage::Young, &[
        "young", "juvenile", "immature", "semi mature", "semimature", "newly planted", "new planting", "recently planted", "sapling", "y", "sm", "np", "jung", "jungbaum", "jugendphase",
        "jungphase", "juvenil", "jeune", "joven", "giovane", "jovem", "jong", "jeugdfase", "jeugd", "ung", "ungt", "ungtrae", "mlody", "mlady", "mlad", "halfwas", "plantation recente",
    ]),
    (LifeStage::Mature, &[
        "mature", "fully mature", "late mature", "middle aged", "m", "adult", "reif", "reifephase", "reifebaum", "ausgewachsen", "adulte", "adulto", "maduro", "maturo", "volwassen", "fuldvoksen",
        "voksen", "vuxen", "moden", "dojrzaly", "dospely", "odrasel",
    ]),
];

/// How far a tree is in its life; `None` for words that do not say.
pub fn parse_life_stage(cell: &str) -> Option<LifeStage> {
    let words = cell_words(cell);
    // Letters count only alone.
    let says = |phrase: &&str| if phrase.len() <= 2 { words == **phrase } else { has_phrase(&words, phrase) };
    LIFE_STAGES.iter().find(|(_, phrases)| phrases.iter().any(says)).map(|(stage, _)| *stage)
}

/// What a cell of an age column says.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Age {
    /// Nothing.
    Empty,
    /// Years, more than 0.
    Years(f64),
    /// A calendar year.
    CalendarYear,
    /// Anything else.
    Unreadable,
}

/// Reads `45`, `45 years`, `ca. 45 Jahre`, `12,5`.
pub fn parse_age(cell: &str) -> Age {
    let text = tidied(cell);
    if says_missing(&text) || text == "0" {
        return Age::Empty;
    }
    let end = text.find(|c: char| !(c.is_ascii_digit() || c == '.' || c == ',')).unwrap_or(text.len());
    let unit = cell_words(&text[end..]);
    let in_years = [
        "",
        "y",
        "yr",
        "yrs",
        "year",
        "years",
        "jahre",
        "jahr",
        "ans",
        "an",
        "anos",
        "ano",
        "anni",
        "jaar",
        "ar",
        "let",
        "lat",
        "years old",
    ];
    let Ok(years) = text[..end].replace(',', ".").parse::<f64>() else { return Age::Unreadable };
    if !in_years.contains(&unit.as_str()) || years > OLDEST_YEARS {
        return Age::Unreadable;
    }
    if unit.is_empty() && years.fract() == 0.0 && CALENDAR_YEARS.contains(&years) {
        return Age::CalendarYear;
    }
    if years > 0.0 { Age::Years(years) } else { Age::Empty }
}

#[rustfmt::skip]
const BOUNDARY: &[&str] = &[
    "boundary", "shared", "co owned", "jointly owned", "joint", "joint ownership", "property line", "lot line", "party line", "grenzbaum", "grenze", "gemeinsam", "mitoyen", "mitoyenne",
    "limite de propriete", "copropriete", "lindero", "compartido", "medianero", "confine", "condiviso", "divisa", "erfgrens", "gedeeld", "skel", "tomtgrans", "nabogrense", "delad", "granica",
    "hranice",
];
#[rustfmt::skip]
const NEIGHBOUR: &[&str] = &[
    "neighbour", "neighbor", "neighbours", "neighbors", "neighbouring", "neighboring", "adjacent", "adjoining", "off site", "offsite", "nachbar", "nachbargrundstuck", "voisin", "voisine", "vecino", "colindante",
    "vicino", "vizinho", "buren", "buurman", "nabo", "granne", "sasiad", "soused",
];
#[rustfmt::skip]
const PUBLIC: &[&str] = &[
    "public", "city", "municipal", "municipality", "street", "street tree", "right of way", "row", "public right of way", "road reserve", "park", "parks", "council", "county", "town", "township", "borough",
    "state", "federal", "government", "verge", "stadt", "stadtisch", "staedtisch", "gemeinde", "kommune", "kommunal", "kommunen", "offentlich", "oeffentlich", "strasse", "strassenbaum", "ville", "commune",
    "mairie", "publique", "domaine public", "voirie", "ayuntamiento", "publico", "publica", "municipio", "comune", "comunale", "pubblico", "pubblica", "camara municipal", "gemeente", "openbaar", "offentlig",
    "offentligt", "stad", "gmina", "publiczny", "obec", "mesto", "verejny",
];
#[rustfmt::skip]
const PRIVATE: &[&str] = &[
    "private", "privately owned", "homeowner", "home owner", "resident", "residential", "applicant", "privat", "prive", "privee", "particulier", "privado", "privada", "particular", "privato", "privata",
    "prywatny", "soukromy", "zasebno",
];
/// Words beside the above that change nothing.
#[rustfmt::skip]
const FILLERS: &[&str] = &[
    "tree", "trees", "owned", "owner", "ownership", "property", "land", "lot", "by", "the", "of", "and", "on", "department", "dept", "parcel", "line", "s", "baum", "grundstuck", "arbre", "arbol", "terrain", "terreno",
    "maintained", "managed", "grund", "mark",
];
/// Beginnings of the names of public owners: what follows is the name of a place.
#[rustfmt::skip]
const PUBLIC_BEGINNINGS: &[&str] = &[
    "city of ", "town of ", "county of ", "state of ", "village of ", "borough of ", "township of ", "ville de ", "commune de ", "mairie de ", "ayuntamiento de ", "comune di ", "camara municipal de ", "gemeente ",
    "stadt ", "gemeinde ", "city and county of ",
];

/// Whose ground the words of an owner cell mean. A cell must be made of known words alone: `State Street Holdings` says nothing.
pub fn parse_ground(cell: &str) -> Option<TreeGround> {
    let words = cell_words(cell);
    if words.is_empty() {
        return None;
    }
    if PUBLIC_BEGINNINGS.iter().any(|beginning| words.starts_with(beginning)) {
        return Some(TreeGround::Public);
    }
    let lists = [BOUNDARY, NEIGHBOUR, PUBLIC, PRIVATE];
    let mut found = [false; 4];
    let mut rest = words.as_str();
    while !rest.is_empty() {
        let longest = |list: &[&str]| list.iter().filter(|phrase| begins(rest, phrase)).map(|p| p.len()).max();
        let length = match (0..4).filter_map(|at| Some((longest(lists[at])?, at))).max_by_key(|(length, _)| *length) {
            Some((length, at)) => {
                found[at] = true;
                length
            }
            None => longest(FILLERS)?,
        };
        rest = rest[length..].trim_start();
    }
    match found {
        [true, ..] => Some(TreeGround::Boundary),
        [_, true, false, _] => Some(TreeGround::Neighbour),
        [_, false, true, false] => Some(TreeGround::Public),
        [_, false, false, true] => Some(TreeGround::Private),
        _ => None,
    }
}

fn begins(text: &str, phrase: &str) -> bool {
    text.strip_prefix(phrase).is_some_and(|rest| rest.is_empty() || rest.starts_with(' '))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn life_stages() {
        use LifeStage::*;
        let cases = [
            ("Young", Some(Young)),
            ("Semi-mature", Some(Young)),
            ("SM", Some(Young)),
            ("immature", Some(Young)),
            ("Early mature", Some(Mature)),
            ("MATURE", Some(Mature)),
            ("M", Some(Mature)),
            ("Over-mature", Some(Overmature)),
            ("Overmature", Some(Overmature)),
            ("veteran tree", Some(Overmature)),
            ("Jung", Some(Young)),
            ("Adulte", Some(Mature)),
            ("Vieux", Some(Overmature)),
            ("volwassen", Some(Mature)),
            ("goldfinch", None),
            ("1985", None),
            ("", None),
        ];
        for (cell, expected) in cases {
            assert_eq!(parse_life_stage(cell), expected, "{cell}");
        }
    }

    #[test]
    fn ages() {
        let cases = [
            ("45", Age::Years(45.0)),
            ("45 years", Age::Years(45.0)),
            ("ca. 120 Jahre", Age::Years(120.0)),
            ("12,5", Age::Years(12.5)),
            ("1985", Age::CalendarYear),
            ("1985 years", Age::Years(1985.0)),
            ("", Age::Empty),
            ("unknown", Age::Empty),
            ("0", Age::Empty),
            ("-3", Age::Unreadable),
            ("20-40", Age::Unreadable),
            ("45 m", Age::Unreadable),
            ("90000", Age::Unreadable),
            ("Mature", Age::Unreadable),
        ];
        for (cell, expected) in cases {
            assert_eq!(parse_age(cell), expected, "{cell}");
        }
    }

    #[test]
    fn grounds() {
        use TreeGround::*;
        let cases = [
            ("City", Some(Public)),
            ("City of Alderwick", Some(Public)),
            ("Public Right-of-Way", Some(Public)),
            ("Street tree", Some(Public)),
            ("Stadt Alderwick", Some(Public)),
            ("Domaine public", Some(Public)),
            ("Private", Some(Private)),
            ("Private property", Some(Private)),
            ("privé", Some(Private)),
            ("Neighbor's tree", Some(Neighbour)),
            ("Adjacent private property", Some(Neighbour)),
            ("Nachbar", Some(Neighbour)),
            ("Boundary tree", Some(Boundary)),
            ("Shared with neighbour", None),
            ("shared (neighbour)", Some(Boundary)),
            ("Public/Private", None),
            ("not a city tree", None),
            ("State Street Holdings", None),
            ("A. Parker", None),
            ("", None),
        ];
        for (cell, expected) in cases {
            assert_eq!(parse_ground(cell), expected, "{cell}");
        }
    }
}
