//! `--tree "diameter=24in species=Quercus robur"` -> a tree for `rules --explain`.

use rootward::error::Error;
use rootward::model::source::SourceRef;
use rootward::model::tree::{Stems, Tree};
use rootward::normalise::species::match_species;
use rootward::normalise::tree_words::{parse_ground, parse_life_stage};
use rootward::units::parse_length_m;

/// The keys that may be typed.
const KEYS: [&str; 13] = [
    "diameter",
    "girth",
    "stems",
    "species",
    "crown_radius",
    "height",
    "age",
    "life_stage",
    "ground",
    "condition",
    "root_crown",
    "narrowest",
    "designated",
];

/// Reads the text.
///
/// # Errors
/// `Usage` for a key or a value that is not understood.
pub fn parse(text: &str) -> Result<Tree, Error> {
    let mut tree = blank();
    let pairs = pairs(text)?;
    for (number, (key, value)) in pairs.iter().enumerate() {
        if pairs[..number].iter().any(|(earlier, _)| earlier == key) {
            return Err(wrong(value, &format!("expected `{key}` once")));
        }
        put(&mut tree, key, value)?;
    }
    if matches!(tree.stems, Stems::Unknown(_)) {
        return Err(wrong(text, "no diameter; expected diameter=24in or stems=10in+8in"));
    }
    Ok(tree)
}

/// Values may hold spaces: a value ends where the next `key=` begins.
fn pairs(text: &str) -> Result<Vec<(String, String)>, Error> {
    let mut pairs: Vec<(String, String)> = Vec::new();
    for word in text.split_whitespace() {
        match (word.split_once('='), pairs.last_mut()) {
            (Some((key, value)), _) => pairs.push((key.to_lowercase(), value.to_string())),
            (None, Some((_, value))) => {
                value.push(' ');
                value.push_str(word);
            }
            (None, None) => return Err(wrong(word, "expected key=value")),
        }
    }
    Ok(pairs)
}

fn put(tree: &mut Tree, key: &str, value: &str) -> Result<(), Error> {
    let length = || {
        let length = parse_length_m(value).filter(|&length_m| length_m > 0.0);
        length.ok_or_else(|| wrong(value, "expected a length with its unit, such as 24in or 60cm"))
    };
    match key {
        "diameter" => tree.stems = Stems::Measured(vec![length()?]),
        "stems" => tree.stems = Stems::Measured(stems(value)?),
        "species" => {
            tree.species = value.into();
            tree.botanical = match_species(value, "");
        }
        "crown_radius" => tree.crown_radius_m = Some(length()?),
        "height" => tree.height_m = Some(length()?),
        "root_crown" => tree.root_crown_diameter_m = Some(length()?),
        "narrowest" => tree.narrowest_diameter_m = Some(length()?),
        "age" => tree.age_years = Some(value.parse().map_err(|_| wrong(value, "expected years, such as age=80"))?),
        "life_stage" => {
            let stage = parse_life_stage(value);
            tree.life_stage = Some(stage.ok_or_else(|| wrong(value, "expected young, mature or overmature"))?);
        }
        "ground" => {
            let ground = parse_ground(value);
            tree.ground = Some(ground.ok_or_else(|| wrong(value, "expected public, private, neighbour or boundary"))?);
        }
        "condition" => tree.condition = value.into(),
        "designated" => {
            tree.designated = match value {
                "yes" | "true" | "1" => true,
                "no" | "false" | "0" => false,
                _ => return Err(wrong(value, "expected designated=yes or designated=no")),
            }
        }
        "girth" | "circumference" => tree.stems = Stems::Measured(vec![length()? / std::f64::consts::PI]),
        _ => return Err(wrong(key, &unknown_key(key))),
    }
    Ok(())
}

/// What was expected instead of a key, the nearest one first.
fn unknown_key(key: &str) -> String {
    let likeness = |known: &&&str| (strsim::jaro_winkler(key, known) * 1e9) as u64;
    let near = KEYS.iter().max_by_key(likeness).filter(|known| strsim::jaro_winkler(key, known) > 0.8);
    let meant = near.map_or_else(String::new, |near| format!("did you mean `{near}`? "));
    format!("{meant}expected one of {}", KEYS.join(", "))
}

fn stems(text: &str) -> Result<Vec<f64>, Error> {
    let stem = |part: &str| parse_length_m(part).filter(|&stem_m| stem_m > 0.0);
    let stems: Option<Vec<f64>> = text.split('+').map(stem).collect();
    let mut stems = stems.ok_or_else(|| wrong(text, "expected stems with their units, such as 10in+8in+6in"))?;
    stems.sort_by(|a, b| b.total_cmp(a));
    Ok(stems)
}

fn wrong(got: &str, expected: &str) -> Error {
    Error::Usage {
        what: format!("--tree: got `{got}`; {expected}"),
        hint: "--tree \"diameter=24in species=Quercus robur life_stage=mature\"".to_string(),
    }
}

fn blank() -> Tree {
    Tree::only_placed("typed", SourceRef { file: 0, row: 0 }, geo::Coord { x: 0.0, y: 0.0 })
}
