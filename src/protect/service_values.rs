//! The table of depths and pits (`services.toml`, or the user's file over it) -> checked values with where each comes from.

use crate::error::{Error, Result};
use crate::rules::provenance::{Day, Status};
use crate::rules::quantity::Length;
use serde::Deserialize;
use std::path::Path;

/// The built-in table.
const BUILT_IN: &str = include_str!("services.toml");

/// A table larger than this is none, bytes.
const LARGEST_FILE: u64 = 1 << 20;

/// Depths of bores and the size of a pit.
#[derive(Debug, Clone, PartialEq)]
pub struct ServiceValues {
    /// Published depths; the first is advised where the rule set states none. Never empty.
    pub bore_depths: Vec<BoreDepth>,
    /// Where a bore begins and ends.
    pub pit: Pit,
}

/// How deep a bore passes by one published text.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct BoreDepth {
    /// Where it holds.
    #[serde(rename = "where")]
    pub place: String,
    /// The depth.
    pub depth: Length,
    /// What is measured.
    pub meaning: String,
    /// Where it was read.
    pub source: String,
    /// How well it is known.
    pub status: Status,
    /// When it was noted.
    pub date: Day,
}

/// The pit in which a bore begins or ends, on the line.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Pit {
    /// Along the line.
    pub length: Length,
    /// Across it.
    pub width: Length,
    /// Ground between the pit and any root zone.
    pub set_back: Length,
    /// Where it comes from.
    pub source: String,
    /// How well it is known.
    pub status: Status,
    /// When it was noted.
    pub date: Day,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct TableFile {
    #[serde(default)]
    bore_depth: Vec<BoreDepth>,
    pit: Option<Pit>,
}

impl ServiceValues {
    /// The built-in table, with the user's file over it where one is named.
    ///
    /// # Errors
    /// `Io` for a file that cannot be read; `Input` with line and column for one that is wrong.
    pub fn load(file: Option<&Path>) -> Result<ServiceValues> {
        let built_in = parse("built-in table of service values", BUILT_IN)?;
        let own = match file {
            None => TableFile { bore_depth: Vec::new(), pit: None },
            Some(path) => parse(&path.display().to_string(), &read(path)?)?,
        };
        let bore_depths = if own.bore_depth.is_empty() { built_in.bore_depth } else { own.bore_depth };
        let pit = own.pit.or(built_in.pit).expect("the built-in table has a pit");
        Ok(ServiceValues { bore_depths, pit })
    }
}

fn read(path: &Path) -> Result<String> {
    let length = std::fs::metadata(path).map_err(|error| Error::io(path, "read", error))?.len();
    if length > LARGEST_FILE {
        let what = format!("the file has {length} bytes; expected a table of service values under {LARGEST_FILE}");
        return Err(Error::input(path.display().to_string(), what, "--service-values FILE"));
    }
    std::fs::read_to_string(path).map_err(|error| Error::io(path, "read", error))
}

fn parse(at: &str, text: &str) -> Result<TableFile> {
    toml::from_str(text).map_err(|error| {
        let before = error.span().map_or("", |span| text.get(..span.start).unwrap_or(""));
        let (line, column) =
            (before.matches('\n').count() + 1, before.chars().rev().take_while(|&c| c != '\n').count());
        let what = format!(
            "{}; expected [[bore_depth]] with where, depth, meaning, source, status, date, and [pit]",
            error.message()
        );
        Error::input(format!("{at}:{line}:{}", column + 1), what, "--service-values FILE; docs/protection.md shows one")
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::io::Write;

    #[test]
    fn the_built_in_table_says_where_its_values_come_from() {
        let values = ServiceValues::load(None).unwrap();
        let first = &values.bore_depths[0];
        // Arlington County's page, seen: 4.5 ft = 1.3716 m.
        assert!((first.depth.metres - 1.3716).abs() < 1e-12 && first.status == Status::Seen, "{first:?}");
        assert!(values.bore_depths.iter().all(|one| !one.source.is_empty() && !one.meaning.is_empty()));
        assert_eq!(values.pit.status, Status::CommonPractice);
    }

    #[test]
    fn a_file_goes_over_it_and_mistakes_have_their_place() {
        let mut file = tempfile::NamedTempFile::new().unwrap();
        let pit = "[pit]\nlength = \"3 m\"\nwidth = \"2 m\"\nset_back = \"1 m\"\nsource = \"driller\"\nstatus = \"seen\"\ndate = 2026-01-02\n";
        write!(file, "{pit}").unwrap();
        let values = ServiceValues::load(Some(file.path())).unwrap();
        assert_eq!((values.pit.length.metres, values.bore_depths.len()), (3.0, 4));
        writeln!(file, "[[bore_depth]]\nwhere = \"here\"\ndepth = \"-3 ft\"").unwrap();
        let wrong = ServiceValues::load(Some(file.path())).unwrap_err().to_string();
        assert!(wrong.contains(":10:") && wrong.contains("-3 ft"), "{wrong}");
        assert!(ServiceValues::load(Some(Path::new("no such file"))).is_err());
    }
}
