//! Results -> pages for people: an index of all permits, a sheet with maps for each, and a draft of the comments to the applicant.
//!
//! Pages measure and judge nothing. Whatever comes from files is shown as text; a page fetches nothing and sends nothing. The same
//! results give the same bytes, whatever the number of threads.

pub mod words;

mod advice;
mod amounts;
mod city_map;
pub mod file_names;
mod index_page;
mod letter;
mod map;
mod map_frame;
mod map_labels;
mod map_legend;
mod map_north;
mod map_paths;
mod map_protection;
mod marks;
mod near;
mod permit_page;
mod phrases;
pub mod plain_text;
mod security;
mod side_protection;
mod side_tables;
mod site;
mod templating;
mod tree_rows;

pub use words::Words;

use super::layers::Drawing;
use super::staging::Staging;
use super::view::View;
use crate::error::Result;
use crate::in_order::in_order;
use crate::model::run_facts::RunFacts;
use crate::settings::{PageChoices, Paper, ShownUnits};
use amounts::Amounts;
use near::SetAside;
use side_tables::Remarks;
use site::Site;
use std::collections::HashMap;
use templating::Templates;

const STYLE: &str = include_str!("templates/style.css");
const INDEX_SCRIPT: &str = include_str!("templates/index.js");

/// Sheets that are worked on at once, while as many wait to be written.
const SHEETS_AT_ONCE: usize = 128;

/// How the pages of a run are written.
#[derive(Debug)]
pub struct Pages {
    words: Words,
    amounts: Amounts,
    style: String,
    sheet_policy: String,
    index_policy: String,
    templates: Templates,
}

impl Pages {
    /// Resolves choices: units as typed, or those of the rule set; paper as typed, or what is usual with the units.
    pub fn new(choices: &PageChoices, words: Words, facts: &RunFacts) -> Pages {
        let usual = if facts.rules.imperial { ShownUnits::Us } else { ShownUnits::Metric };
        let units = choices.units.unwrap_or(usual);
        let paper = choices.paper.unwrap_or(match units {
            ShownUnits::Us => Paper::Letter,
            ShownUnits::Metric => Paper::A4,
        });
        let style = format!("@page{{size:{} portrait;margin:15mm 15mm 16mm}}\n{STYLE}", paper.word());
        Pages {
            words,
            amounts: Amounts { units },
            sheet_policy: security::policy(&style, None),
            index_policy: security::policy(&style, Some(INDEX_SCRIPT)),
            style,
            templates: Templates::new(),
        }
    }

    /// What `run.json` says of the pages: which texts the language file does not have.
    pub fn notes(&self) -> Vec<String> {
        let missing = self.words.missing();
        let note = || {
            format!("--language: {} texts are not in the file and stay English: {}", missing.len(), missing.join(", "))
        };
        if missing.is_empty() { Vec::new() } else { vec![note()] }
    }

    fn scale_text(&self, scale: u32) -> String {
        let shown = amounts::grouped(&scale.to_string());
        match self.amounts.units {
            ShownUnits::Metric => self.words.fill("sheet", "scale_metric", &[("scale", &shown)]),
            ShownUnits::Us => {
                let feet = amounts::trimmed(f64::from(scale) / 12.0, 1);
                self.words.fill("sheet", "scale_us", &[("scale", &shown), ("feet", &feet)])
            }
        }
    }
}

/// What is to be said of records.
struct Records<'a> {
    remarks: Remarks<'a>,
    set_aside: SetAside<'a>,
}

/// A permit and its sheet.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct SheetName {
    /// Id of the permit.
    pub permit: String,
    /// Its file within the output folder, with `/`.
    pub file: String,
}

/// Writes all pages; gives back which file is whose.
///
/// # Errors
/// As the system says.
pub fn write_pages(view: &View, pages: &Pages, drawing: &Drawing, staging: &mut Staging) -> Result<Vec<SheetName>> {
    let names = file_names::file_names(view.permits.iter().map(|of| of.permit.id.as_str()));
    let has_sheet = |at: usize| !view.permits[at].rows.is_empty();
    let files: Vec<String> =
        names.into_iter().enumerate().map(|(at, name)| if has_sheet(at) { name } else { String::new() }).collect();
    staging.write("sheets/index.html", index_page::index_page(view, &files, pages)?.as_bytes())?;
    let mut remarks: Remarks = HashMap::new();
    for issue in &view.results.issues {
        remarks.entry(issue.source).or_default().push(issue);
    }
    let records = Records { remarks, set_aside: SetAside::new(view) };
    let numbers: HashMap<&str, u32> = (0u32..).zip(&view.results.permits).map(|(n, p)| (p.id.as_str(), n)).collect();
    let with_sheet: Vec<usize> = (0..view.permits.len()).filter(|&at| has_sheet(at)).collect();
    let page = |at: usize| {
        let of = &view.permits[at];
        let rows = view.read_all(of.rows)?;
        let site = Site::new(view, (of, &rows), numbers.get(of.permit.id.as_str()).copied().unwrap_or_default());
        Ok((at, permit_page::permit_page(&site, &files[at], &records, drawing, pages)?))
    };
    in_order(with_sheet.iter().map(|&at| Ok(at)), SHEETS_AT_ONCE, page, |page: Result<_>| {
        let (at, (sheet, letter)) = page?;
        staging.write(&format!("sheets/{}.html", files[at]), sheet.as_bytes())?;
        staging.write(&format!("sheets/{}-comments.txt", files[at]), letter.as_bytes())
    })?;
    let name = |at: usize| SheetName {
        permit: view.permits[at].permit.id.to_string(),
        file: format!("sheets/{}.html", files[at]),
    };
    Ok(with_sheet.into_iter().map(name).collect())
}
