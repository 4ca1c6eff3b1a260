//! Flags on the pages for people; resolved into `PageChoices`.

use clap::{Args, ValueEnum};
use rootward::settings::{PageChoices, Paper, ShownUnits};
use std::path::PathBuf;

/// Flags of `screen` and `plan`.
#[derive(Debug, Args)]
#[command(next_help_heading = "Pages to read and print")]
pub struct PagesArgs {
    /// Pages for people in sheets/: an index of all permits and one sheet per permit, or none; `plan` always writes them
    #[arg(long, value_enum, default_value = "all")]
    pub sheets: SheetsArg,
    /// Texts of the pages in another language: a translated copy of src/write/pages/english.toml
    #[arg(long, value_name = "FILE")]
    pub language: Option<PathBuf>,
    /// Units of the pages [default: those that the rule set is written in]
    #[arg(long, value_enum, value_name = "metric|us")]
    pub units: Option<UnitsArg>,
    /// Paper that the pages are printed on [default: letter with US units, else a4]
    #[arg(long, value_enum, value_name = "a4|letter")]
    pub paper: Option<PaperArg>,
}

/// Which pages.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum SheetsArg {
    /// The index and a sheet for every permit with trees in reach
    All,
    /// No page
    None,
}

/// Units as typed.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum UnitsArg {
    /// Metres and centimetres
    Metric,
    /// Feet and inches
    Us,
}

/// Paper as typed.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum PaperArg {
    /// 210 x 297 mm
    A4,
    /// 8.5 x 11 in
    Letter,
}

impl PagesArgs {
    /// What is chosen, whether or not pages are asked for.
    pub fn choices(&self) -> PageChoices {
        PageChoices {
            language: self.language.clone(),
            units: self.units.map(|units| match units {
                UnitsArg::Metric => ShownUnits::Metric,
                UnitsArg::Us => ShownUnits::Us,
            }),
            paper: self.paper.map(|paper| match paper {
                PaperArg::A4 => Paper::A4,
                PaperArg::Letter => Paper::Letter,
            }),
        }
    }

    /// What is chosen; `None` with `--sheets none`.
    pub fn asked(&self) -> Option<PageChoices> {
        (self.sheets == SheetsArg::All).then(|| self.choices())
    }
}
