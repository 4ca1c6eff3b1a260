//! Runs the built command on small inputs and reads its tables; shared by the tests of whole runs.
#![allow(dead_code, clippy::unwrap_used)]

use std::collections::BTreeMap;
use std::path::{Path, PathBuf};
use std::process::{Command, Output};

/// A plane whose metres are those of the default measuring plane around 15 E 50 N: inputs written in it are measured as written.
pub const PLANE: &str = "+proj=laea +lat_0=50 +lon_0=15 +datum=WGS84 +units=m +no_defs";

/// One run with its folder of inputs and results.
pub struct Run {
    pub folder: tempfile::TempDir,
    pub output: Output,
}

/// The command, with nothing of the caller's environment that could colour its words.
pub fn command(args: &[&str], folder: &Path) -> Output {
    Command::new(env!("CARGO_BIN_EXE_rootward"))
        .args(args)
        .current_dir(folder)
        .env("NO_COLOR", "1")
        .output()
        .expect("the built command starts")
}

/// Writes the inputs into a new folder and screens them into `out` with more flags.
pub fn screen(trees_csv: &str, works_csv: &str, rules: &str, more: &[&str]) -> Run {
    let folder = tempfile::tempdir().unwrap();
    std::fs::write(folder.path().join("trees.csv"), trees_csv).unwrap();
    std::fs::write(folder.path().join("works.csv"), works_csv).unwrap();
    let mut args = vec!["screen", "--trees", "trees.csv", "--works", "works.csv", "--rules", rules, "--out", "out"];
    args.extend(["--trees-crs", PLANE, "--works-crs", PLANE]);
    args.extend(more);
    let output = command(&args, folder.path());
    Run { folder, output }
}

impl Run {
    pub fn out(&self) -> PathBuf {
        self.folder.path().join("out")
    }

    pub fn stderr(&self) -> String {
        String::from_utf8_lossy(&self.output.stderr).into_owned()
    }

    pub fn stdout(&self) -> String {
        String::from_utf8_lossy(&self.output.stdout).into_owned()
    }

    /// Fails with the command's own words unless it ended with 0.
    pub fn done(self) -> Run {
        assert_eq!(self.output.status.code(), Some(0), "{}{}", self.stdout(), self.stderr());
        self
    }

    pub fn table(&self, name: &str) -> Vec<BTreeMap<String, String>> {
        table(&self.out().join("tables").join(name))
    }

    /// The only row of a permit and tree.
    pub fn row(&self, permit: &str, tree: &str) -> BTreeMap<String, String> {
        let rows = self.table("overlaps.csv");
        let mut found = rows.into_iter().filter(|row| row["permit_id"] == permit && row["tree_id"] == tree);
        let row = found.next().unwrap_or_else(|| panic!("no row of {permit} and {tree}"));
        assert!(found.next().is_none(), "two rows of {permit} and {tree}");
        row
    }
}

/// A CSV table by column name.
pub fn table(path: &Path) -> Vec<BTreeMap<String, String>> {
    let mut reader = csv::Reader::from_path(path).unwrap_or_else(|error| panic!("{}: {error}", path.display()));
    reader.deserialize().map(|row| row.unwrap()).collect()
}

/// A cell as a number.
pub fn number(row: &BTreeMap<String, String>, column: &str) -> f64 {
    row[column].parse().unwrap_or_else(|_| panic!("{column}: `{}` is no number", row[column]))
}
