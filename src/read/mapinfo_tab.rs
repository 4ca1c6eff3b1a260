//! A look at the text of a MapInfo table before GDAL sees it: a `.tab` can name other files anywhere on the machine.
//!
//! Only a native table is read, whose data lie beside it under its own name. Tables that stand for other tables (seamless ones, views, linked
//! and raster tables) are refused.
//!
//! # Source
//! The words: `!table`, `Definition Table`, `Type NATIVE`, `File`, `create view`, `open table`, `IsSeamless` as GDAL's MapInfo driver reads
//! them (its source, from memory).

use super::text;
use crate::error::{Error, Result};
use std::path::Path;

/// The text of a table is a page at most; more than this is none.
const MOST_BYTES: u64 = 1 << 20;

/// Refuses a `.tab` that is not the head of a native table.
pub(super) fn refuse_references(path: &Path) -> Result<()> {
    let at = path.display().to_string();
    let refuse =
        |what: &str| Err(Error::input(&at, what, "export it as a native table, or give the table that it stands for"));
    if std::fs::metadata(path).map_err(|e| Error::io(path, "read", e))?.len() > MOST_BYTES {
        return refuse("the text of the table is longer than 1 MiB; expected a page");
    }
    let bytes = text::head(path, MOST_BYTES as usize)?;
    let lines: Vec<String> = String::from_utf8_lossy(&bytes).lines().map(words).collect();
    let native = lines.iter().filter(|line| line.starts_with("type ")).collect::<Vec<_>>();
    if native.len() != 1 || !native[0].starts_with("type native") {
        let got = native.first().map_or("none", |line| line.as_str());
        return refuse(&format!("only native MapInfo tables are read, got `{got}`; expected `Type NATIVE`"));
    }
    if lines.iter().any(|line| line.starts_with("create view") || line.starts_with("open table") || seamless(line)) {
        return refuse("the table stands for other tables, which are not read; expected a table with data of its own");
    }
    Ok(())
}

fn seamless(line: &str) -> bool {
    line.contains("isseamless") && line.contains("true")
}

/// A line in lower case with single spaces.
fn words(line: &str) -> String {
    line.split_whitespace().collect::<Vec<_>>().join(" ").to_lowercase()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn tables_that_point_elsewhere_are_refused() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("t.tab");
        let head = "!table\n!version 300\n!charset WindowsLatin1\n\nDefinition Table\n";
        let allowed = |rest: &str| {
            std::fs::write(&path, format!("{head}{rest}")).unwrap();
            refuse_references(&path).is_ok()
        };
        assert!(allowed("  Type NATIVE Charset \"WindowsLatin1\"\n  Fields 1\n    id Integer ;\n"));
        assert!(!allowed("  File \"/etc/passwd\"\n  Type LINKED\n"));
        assert!(!allowed("  File \"photo.tif\"\n  Type \"RASTER\"\n"));
        assert!(!allowed("  Fields 1\n    id Integer ;\n"));
        assert!(!allowed("  Type NATIVE\n  Fields 1\nbegin_metadata\n\"\\IsSeamless\" = \"TRUE\"\nend_metadata\n"));
        assert!(!allowed("  Type NATIVE\ncreate view v as\nOpen Table \"/etc/x.tab\" Hide\n"));
    }
}
