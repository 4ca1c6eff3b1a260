//! Raw records of a tree inventory -> trees in metres, and issues.
//!
//! [`decide_trees`] looks at one file; [`TreePlan::tree`] then reads one record. Places come in already projected.

use super::column_names::TREE_ROLES;
use super::columns::{Columns, Decision, percent};
use super::dates::parse_date;
use super::diameter::DiameterCell;
use super::diameter_unit::{DiameterPlan, Unstated, decide_diameter};
use super::measure::{Measure, Size, measure};
use super::place::{PlacePlan, PlaceProblem, decide_place};
use super::species::match_species;
use super::status::{CellKind, not_a_tree, parse_disposition, parse_yes_no};
use super::tree_words::{Age, parse_age, parse_ground, parse_life_stage};
use super::words::{cell_words, tidy};
use crate::error::{Error, Result};
use crate::issue::{Issue, Outcome};
use crate::model::record::RawRecord;
use crate::model::source::SourceRef;
use crate::model::text::Text;
use crate::model::tree::{Stems, Tree};
use crate::settings::ReadingChoices;
use crate::units::LengthUnit;
use compact_str::format_compact;
use geo::Coord;

const FLAG: &str = "--tree-columns";
/// A single trunk thicker than this is remarked on, metres: a choice of the program, no source.
const UNUSUAL_M: f64 = 3.0;
/// Crown spreads and heights beyond these are taken for mistakes and left out, metres. Choices of the program, no source.
const LARGEST_CROWN_M: f64 = 80.0;
const TALLEST_M: f64 = 130.0;
/// A place known worse than this is taken for a mistake, metres. A choice of the program, no source.
const LARGEST_ACCURACY_M: f64 = 1000.0;

/// How the records of one file become trees.
#[derive(Debug, Clone)]
pub struct TreePlan {
    columns: Columns,
    text: TextColumns,
    file: String,
    place: PlacePlan,
    diameter: Option<DiameterPlan>,
    /// Read where the first gives nothing.
    second_diameter: Option<DiameterPlan>,
    root_crown: Option<DiameterPlan>,
    narrowest: Option<DiameterPlan>,
    crown: Option<Measure>,
    crown_sides: Vec<Measure>,
    height: Option<Measure>,
    accuracy: Option<Measure>,
    notes: Vec<String>,
}

/// Columns of words, looked up once.
#[derive(Debug, Clone, Copy)]
struct TextColumns {
    id: Option<usize>,
    species: Option<usize>,
    genus: Option<usize>,
    epithet: Option<usize>,
    cultivar: Option<usize>,
    common: Option<usize>,
    status: Option<usize>,
    condition: Option<usize>,
    owner: Option<usize>,
    age: Option<usize>,
    life_stage: Option<usize>,
    disposition: Option<usize>,
    designated: Option<usize>,
    date: Option<usize>,
}

impl TextColumns {
    fn of(columns: &Columns) -> TextColumns {
        TextColumns {
            id: columns.column("id"),
            species: columns.column("species"),
            genus: columns.column("genus"),
            epithet: columns.column("epithet"),
            cultivar: columns.column("cultivar"),
            common: columns.column("common"),
            status: columns.column("status"),
            condition: columns.column("condition"),
            owner: columns.column("owner"),
            age: columns.column("age"),
            life_stage: columns.column("life_stage"),
            disposition: columns.column("disposition"),
            designated: columns.column("designated"),
            date: columns.column("date"),
        }
    }
}

/// The text of a cell, tidied; empty where there is no such column.
fn text(record: &RawRecord, column: Option<usize>) -> Text {
    column.map_or(Text::default(), |column| tidy(record.cell(column)))
}

/// Decides how the records of one file are read.
///
/// `at` is the file as the user named it; `has_geometry` says that the records bring a geometry of their own.
///
/// # Errors
/// `Usage` for roles and columns that do not exist; `Input` where there is no diameter column, no place, no unit, or latitude and
/// longitude are swapped.
pub fn decide_trees(
    at: &str,
    columns: &[String],
    sample: &[RawRecord],
    has_geometry: bool,
    choices: &ReadingChoices,
) -> Result<TreePlan> {
    let mut decided = Columns::decide(at, FLAG, TREE_ROLES, columns, sample, &choices.tree_columns)?;
    let place = decide_place(at, FLAG, &mut decided, sample, has_geometry)?;
    if place.form == super::place::PlaceForm::None {
        return Err(Error::input(
            at,
            format!("no columns for the place of a tree, got {}", listed(columns)),
            "--tree-columns x=COLUMN,y=COLUMN or --tree-columns place=COLUMN",
        ));
    }
    let (first, second) = choose_diameter(at, &mut decided, columns, sample)?;
    let mut notes = Vec::new();
    let unstated = Unstated::of(choices);
    let diameter = match first {
        Some(role) => decide_diameter(at, role, &mut decided, sample, unstated, &mut notes)?,
        None => None,
    };
    let second_diameter =
        second.and_then(|role| optional_diameter(role, &mut decided, sample, Unstated::Refused, &mut notes));
    let flag_or_same = unstated.or_as(diameter.as_ref());
    let root_crown = optional_diameter("root_crown_diameter", &mut decided, sample, flag_or_same, &mut notes);
    let narrowest = optional_diameter("narrowest", &mut decided, sample, flag_or_same, &mut notes);
    decide_names(&mut decided, sample);
    let crown = measure(&mut decided, "crown", sample, choices.crown_unit, &mut notes)
        .map(|crown| Measure { factor: crown_factor(decided.name("crown")), ..crown });
    let crown_sides = ["crown_n", "crown_e", "crown_s", "crown_w"]
        .into_iter()
        .filter_map(|role| measure(&mut decided, role, sample, choices.crown_unit, &mut notes))
        .collect();
    let height = measure(&mut decided, "height", sample, None, &mut notes);
    let accuracy = measure(&mut decided, "accuracy", sample, Some(LengthUnit::Metre), &mut notes);
    let file = at.rsplit(['/', '\\']).next().unwrap_or(at).to_string();
    let text = TextColumns::of(&decided);
    Ok(TreePlan {
        columns: decided,
        text,
        file,
        place,
        diameter,
        second_diameter,
        root_crown,
        narrowest,
        crown,
        crown_sides,
        height,
        accuracy,
        notes,
    })
}

fn listed(columns: &[String]) -> String {
    let shown: Vec<String> = columns.iter().take(40).map(|name| format!("`{name}`")).collect();
    if shown.is_empty() { "no columns at all".to_string() } else { shown.join(", ") }
}

/// Which of diameter and girth is used, and which helps out.
fn choose_diameter(
    at: &str,
    columns: &mut Columns,
    all: &[String],
    sample: &[RawRecord],
) -> Result<(Option<&'static str>, Option<&'static str>)> {
    match (columns.column("diameter"), columns.column("girth")) {
        (Some(diameter), Some(girth)) => {
            let filled = |column: usize| sample.iter().filter(|record| !record.cell(column).trim().is_empty()).count();
            let typed_girth = columns.is_typed("girth") && !columns.is_typed("diameter");
            if typed_girth || (filled(diameter) * 2 < filled(girth) && !columns.is_typed("diameter")) {
                columns.add_why("diameter", "only where the girth is empty");
                Ok((Some("girth"), Some("diameter")))
            } else {
                columns.add_why("girth", "only where the diameter is empty");
                Ok((Some("diameter"), Some("girth")))
            }
        }
        (Some(_), None) => Ok((Some("diameter"), None)),
        (None, Some(_)) => Ok((Some("girth"), None)),
        (None, None) if columns.is_typed("diameter") || columns.is_typed("girth") => Ok((None, None)),
        (None, None) => Err(Error::input(
            at,
            format!("no column of trunk diameters or girths, got {}", listed(all)),
            "--tree-columns diameter=COLUMN (girth=COLUMN for circumferences; diameter=none to list every tree as not assessed)",
        )),
    }
}

/// A column that only adds to the diameter: without a unit it is left out, with a note.
fn optional_diameter(
    role: &'static str,
    columns: &mut Columns,
    sample: &[RawRecord],
    unstated: Unstated,
    notes: &mut Vec<String>,
) -> Option<DiameterPlan> {
    decide_diameter("", role, columns, sample, unstated, notes).unwrap_or_else(|_| {
        let name = columns.name(role).to_string();
        let note = format!("column `{name}` is not used for {role}: it states no unit ({FLAG} {role}={name}:cm)");
        columns.drop_column(role, &note);
        notes.push(note);
        None
    })
}

/// `species` beside `genus` may hold the epithet alone: seen from whether it repeats the genus.
fn decide_names(columns: &mut Columns, sample: &[RawRecord]) {
    let (Some(genus), Some(species)) = (columns.column("genus"), columns.column("species")) else { return };
    if columns.column("epithet").is_some() || columns.is_typed("species") {
        return;
    }
    let (mut rows, mut epithets) = (0usize, 0usize);
    for record in sample {
        let (genus, species) = (cell_words(record.cell(genus)), cell_words(record.cell(species)));
        if !genus.is_empty() && !species.is_empty() {
            rows += 1;
            epithets += usize::from(!species.starts_with(&genus));
        }
    }
    if rows > 0 && epithets * 2 > rows {
        let share = percent(epithets as f64 / rows as f64);
        columns.move_column(
            "species",
            "epithet",
            &format!("in {share} of the rows it does not begin with the genus: the epithet alone"),
        );
    }
}

/// 0.5 for a spread, 1 for a radius.
fn crown_factor(name: &str) -> f64 {
    let words = cell_words(&name.replace('_', " "));
    let radius =
        ["radius", "radio", "rayon", "raggio", "raio", "straal", "radie"].iter().any(|word| words.contains(word));
    if radius { 1.0 } else { 0.5 }
}

impl TreePlan {
    /// What was decided, role by role, for `inspect`.
    pub fn decisions(&self) -> &[Decision] {
        self.columns.decisions()
    }

    /// What a reader of the summary should know: columns left out for want of a unit, commas that may mean two things.
    pub fn notes(&self) -> &[String] {
        &self.notes
    }

    /// The place of a record in the file's CRS, x or longitude first.
    ///
    /// # Errors
    /// Says why there is none; [`PlaceProblem::issue`] makes it an issue.
    pub fn place(&self, record: &RawRecord) -> std::result::Result<Coord<f64>, PlaceProblem> {
        self.place.point(record)
    }

    /// Longitude and latitude by name and by range: WGS 84.
    pub fn lonlat_by_columns(&self) -> bool {
        self.place.lonlat
    }

    /// The EPSG number that the cells of the place state.
    pub fn embedded_srid(&self) -> Option<u32> {
        self.place.srid
    }

    /// The unit of the diameter column; `None` where the cells or another column state it, or there is no diameter.
    pub fn diameter_unit(&self) -> Option<LengthUnit> {
        self.diameter.as_ref()?.reading.unit
    }

    /// The record's own id, tidied; empty where it has none.
    pub fn id(&self, record: &RawRecord) -> Text {
        text(record, self.text.id)
    }

    /// The day on which the record was made or last changed, where the file says so.
    pub fn date(&self, record: &RawRecord) -> Option<jiff::civil::Date> {
        parse_date(record.cell(self.text.date?))
    }

    /// Makes a tree of a record, or sets it aside with an issue and returns `None`.
    ///
    /// `place` is in the measuring CRS. Trees without a usable diameter are kept, with an issue that says why.
    pub fn tree(
        &self,
        record: &RawRecord,
        source: SourceRef,
        place: Coord<f64>,
        issues: &mut Vec<Issue>,
    ) -> Option<Tree> {
        let own_id = self.id(record);
        let mut issue = |code, outcome, detail| issues.push(Issue::new(source, own_id.clone(), code, outcome, detail));
        if let Some((code, detail)) = self.no_tree(record) {
            issue(code, Outcome::SetAside, detail);
            return None;
        }
        let id = if own_id.is_empty() {
            let id = format_compact!("{}:{}", self.file, record.row);
            if self.text.id.is_some() {
                issue("id-missing", Outcome::Used, format!("named `{id}`"));
            }
            id
        } else {
            own_id.clone()
        };
        let (stems, rounding_m) = match self.stems(record) {
            Ok(stems) => stems,
            Err((code, detail)) => {
                issue(code, Outcome::Used, format!("{detail}; kept as not assessed"));
                (Stems::Unknown(code), 0.0)
            }
        };
        if let Some(thick_m) = thickest_m(&stems).filter(|&thick_m| thick_m > UNUSUAL_M) {
            let detail = format!(
                "a trunk of {thick_m:.2} m: few anywhere are thicker than {UNUSUAL_M} m; used as it is: measure it, or mend the digit or the unit, before it decides"
            );
            issue("diameter-unusual", Outcome::Used, detail);
        }
        let species = self.species(record);
        let mut unusable = |detail| issue("damaged-size", Outcome::Used, detail);
        Some(Tree {
            id,
            source,
            place,
            botanical: match_species(&species, &text(record, self.text.common)),
            species,
            stems,
            rounding_m,
            root_crown_diameter_m: one_diameter_m(self.root_crown.as_ref(), record, |why| {
                unusable(format!("diameter above the root crown: {why}; it is left out"));
            }),
            narrowest_diameter_m: one_diameter_m(self.narrowest.as_ref(), record, |why| {
                unusable(format!("diameter at the narrowest point: {why}; it is left out"));
            }),
            crown_radius_m: self.crown_radius_m(record, &mut unusable),
            height_m: sized(self.height, record, TALLEST_M, |found| {
                unusable(format!("height {found}; no height is used"));
            }),
            age_years: self.age_years(record, &mut unusable),
            life_stage: self.text.life_stage.and_then(|column| parse_life_stage(record.cell(column))),
            condition: text(record, self.text.condition),
            owner: text(record, self.text.owner),
            ground: self.text.owner.and_then(|column| parse_ground(record.cell(column))),
            disposition: self.text.disposition.and_then(|column| parse_disposition(record.cell(column))),
            designated: self.text.designated.is_some_and(|column| parse_yes_no(record.cell(column)) == Some(true)),
            position_error_m: sized(self.accuracy, record, LARGEST_ACCURACY_M, |found| {
                unusable(format!("accuracy {found}; the position error of the run is used"));
            }),
        })
    }

    /// Says why a record is no standing tree.
    fn no_tree(&self, record: &RawRecord) -> Option<(&'static str, String)> {
        let cells = [
            ("status", self.text.status, CellKind::Status),
            ("condition", self.text.condition, CellKind::Condition),
            ("species", self.text.species, CellKind::Name),
            ("genus", self.text.genus, CellKind::Name),
            ("common", self.text.common, CellKind::Name),
        ];
        cells.into_iter().find_map(|(role, column, kind)| {
            let cell = record.cell(column?);
            let code = not_a_tree(kind, cell)?;
            Some((code, format!("column `{}` says `{}`", self.columns.name(role), tidy(cell))))
        })
    }

    /// The stems with half their rounding step, or the code and the reason why there are none.
    fn stems(&self, record: &RawRecord) -> std::result::Result<(Stems, f64), (&'static str, String)> {
        let Some(first) = &self.diameter else {
            return Err(("diameter-missing", "the file has no diameter column".to_string()));
        };
        let mut plan = first;
        let mut cell = first.read(record);
        if matches!(cell, DiameterCell::Missing)
            && let Some(second) = &self.second_diameter
        {
            plan = second;
            cell = second.read(record);
        }
        match cell {
            DiameterCell::Stems(stems) => {
                let rounding_m = plan.rounding_m(record, stems[0]);
                Ok((Stems::Measured(stems), rounding_m))
            }
            DiameterCell::Range { low_m, high_m } => Ok((Stems::Range { low_m, high_m }, 0.0)),
            DiameterCell::AtLeast(low_m) => Ok((Stems::AtLeast { low_m }, 0.0)),
            DiameterCell::Missing => Err(("diameter-missing", plan.missing(record))),
            DiameterCell::Damaged { code, detail } => Err((code, detail)),
        }
    }

    /// The age in years; a calendar year is none.
    fn age_years(&self, record: &RawRecord, unusable: &mut impl FnMut(String)) -> Option<f64> {
        let cell = record.cell(self.text.age?);
        match parse_age(cell) {
            Age::Years(years) => return Some(years),
            Age::Empty => {}
            Age::CalendarYear => unusable(format!("age `{}` is a calendar year; no age is used", tidy(cell))),
            Age::Unreadable => unusable(format!("age `{}` is no number of years; no age is used", tidy(cell))),
        }
        None
    }

    /// The longest of north, east, south and west, else half the spread.
    fn crown_radius_m(&self, record: &RawRecord, unusable: &mut impl FnMut(String)) -> Option<f64> {
        let mut radius_m = |measure: Measure, what: &str| {
            sized(Some(measure), record, LARGEST_CROWN_M / 2.0, |found| {
                unusable(format!("{what} {found}; it is left out"));
            })
        };
        let sides = self.crown_sides.iter().filter_map(|side| radius_m(*side, "side of the crown"));
        let longest = sides.max_by(f64::total_cmp);
        longest.or_else(|| radius_m(self.crown?, "crown"))
    }

    /// The scientific name, else genus, epithet and cultivar joined, else the common name; as written but for white space.
    fn species(&self, record: &RawRecord) -> Text {
        let cultivar = text(record, self.text.cultivar);
        let with_cultivar = |name: Text| {
            if name.is_empty() || cultivar.is_empty() || cell_words(&name).contains(&cell_words(&cultivar)) {
                name
            } else if cultivar.contains(['\'', '\u{2018}', '"']) {
                format_compact!("{name} {cultivar}")
            } else {
                format_compact!("{name} '{cultivar}'")
            }
        };
        let species = text(record, self.text.species);
        if !species.is_empty() {
            return with_cultivar(species);
        }
        let genus = text(record, self.text.genus);
        if !genus.is_empty() {
            return with_cultivar(tidy(&format!("{genus} {}", text(record, self.text.epithet))));
        }
        text(record, self.text.common)
    }
}

/// One stem; of several, the equivalent one (square root of the sum of squares). `damaged` is told why a cell that is not empty is none.
fn one_diameter_m(plan: Option<&DiameterPlan>, record: &RawRecord, damaged: impl FnOnce(String)) -> Option<f64> {
    match plan?.read(record) {
        DiameterCell::Stems(stems) => return Some(stems.iter().map(|d| d * d).sum::<f64>().sqrt()),
        DiameterCell::Missing => {}
        DiameterCell::Range { .. } | DiameterCell::AtLeast(_) => damaged("a class is no single diameter".to_string()),
        DiameterCell::Damaged { detail, .. } => damaged(detail),
    }
    None
}

/// The metres of a cell up to a largest; anything else that is not empty goes to `damaged`, which is told what was found.
fn sized(measure: Option<Measure>, record: &RawRecord, largest_m: f64, damaged: impl FnOnce(String)) -> Option<f64> {
    let measure = measure?;
    match measure.read(record) {
        Size::Metres(metres) if metres <= largest_m => return Some(metres),
        Size::Empty => {}
        Size::Metres(_) => damaged(format!("{} is more than {largest_m} m", measure.shown(record))),
        Size::Negative(_) => damaged(format!("{} is negative", measure.shown(record))),
        Size::Unreadable => damaged(format!("{} is no length", measure.shown(record))),
    }
    None
}

/// The thickest single trunk that is stated.
fn thickest_m(stems: &Stems) -> Option<f64> {
    match stems {
        Stems::Measured(stems) => stems.iter().copied().reduce(f64::max),
        Stems::Range { high_m, .. } => Some(*high_m),
        Stems::AtLeast { low_m } => Some(*low_m),
        Stems::Unknown(_) => None,
    }
}

#[cfg(test)]
#[path = "trees_tests.rs"]
mod tests;
