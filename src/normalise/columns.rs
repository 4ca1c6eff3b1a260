//! Column names + a sample of rows -> which column plays which role, and why.
//!
//! A name proposes, the values confirm: a column whose values contradict its name is never taken. Whatever the user typed
//! comes first. Roles and names are in [`column_names`](super::column_names); what a cell means is decided elsewhere.

use super::column_names::{Check, EASTING, LATITUDE, LONGITUDE, NORTHING, RoleNames};
use super::column_units::{unit_of_name, unit_suffix, without_unit};
use super::diameter::{DiameterCell, DiameterReading, parse_diameter};
use super::geometry_cell::{parse_geometry_cell, parse_two_numbers};
use super::number::{column_uses_decimal_comma, parse_quantity, parse_unit};
use super::stated::lasting;
use super::status::{is_status_word, parse_disposition, parse_yes_no};
use super::tree_words::{Age, parse_age, parse_life_stage};
use super::words::{name_words, nearest, tidy};
use crate::error::{Error, Result};
use crate::model::record::RawRecord;
use crate::units::LengthUnit;
use std::collections::{BTreeMap, HashSet};

/// A column that could play a role.
#[derive(Debug, Clone, PartialEq)]
pub struct Candidate {
    /// Its name in the file.
    pub column: String,
    /// How good it is, 0 to 1, name and values together.
    pub score: f64,
    /// Share of the filled sample cells that read as the role demands, 0 to 1.
    pub parsed_share: f64,
    /// Up to three different filled cells.
    pub sample_values: Vec<String>,
    /// What speaks for or against it.
    pub why: String,
}

/// What was decided for one role.
#[derive(Debug, Clone, PartialEq)]
pub struct Decision {
    /// The word in `--tree-columns` or `--work-columns`.
    pub role: &'static str,
    /// The column that plays it, from 0; `None` where none does.
    pub column: Option<usize>,
    /// Its name; empty where none does.
    pub column_name: String,
    /// Why.
    pub why: String,
    /// What was looked at, best first.
    pub candidates: Vec<Candidate>,
}

/// The decisions of one file.
#[derive(Debug, Clone)]
pub struct Columns {
    decisions: Vec<Decision>,
    typed_units: BTreeMap<&'static str, LengthUnit>,
    typed: HashSet<&'static str>,
}

/// Shares below this contradict the name.
const LEAST_SHARE: f64 = 0.5;
/// A status column must have this share of known words, by which kinds of sites (`strip`, `median`) are told from it. A choice of the
/// program, no source.
const LEAST_STATUS_SHARE: f64 = 0.1;
/// Ids that repeat more than this are no ids.
const LEAST_UNIQUE: f64 = 0.5;

impl Columns {
    /// Decides every role of `roles`.
    ///
    /// # Errors
    /// `Usage` for a role that does not exist, for a column that is not in the file, for one column in two roles that
    /// exclude each other.
    pub fn decide(
        at: &str,
        flag: &'static str,
        roles: &[RoleNames],
        columns: &[String],
        sample: &[RawRecord],
        choices: &BTreeMap<String, String>,
    ) -> Result<Columns> {
        check_roles(flag, roles, choices)?;
        let mut decided = Columns { decisions: Vec::new(), typed_units: BTreeMap::new(), typed: HashSet::new() };
        let mut taken = HashSet::new();
        for rule in roles {
            if let Some(choice) = choices.get(rule.role) {
                let (column, unit) = typed_column(at, flag, rule.role, choice, columns)?;
                taken.extend(column);
                decided.typed.insert(rule.role);
                if let Some(unit) = unit {
                    decided.typed_units.insert(rule.role, unit);
                }
            }
        }
        for rule in roles {
            let decision = match choices.get(rule.role) {
                Some(choice) => {
                    let (column, _) = typed_column(at, flag, rule.role, choice, columns)?;
                    let candidates = column
                        .map(|column| candidate(rule.check, 1.0, column, columns, sample).0)
                        .into_iter()
                        .collect();
                    decision(rule.role, column, columns, format!("{flag} {}={choice}", rule.role), candidates)
                }
                None if rule.role == "x" || rule.role == "y" => continue,
                None => by_name(rule, columns, sample, &taken),
            };
            taken.extend(decision.column);
            decided.decisions.push(decision);
        }
        decided.add_axes(roles, columns, sample, &taken);
        let order = |role: &str| roles.iter().position(|rule| rule.role == role);
        decided.decisions.sort_by_key(|decision| order(decision.role));
        Ok(decided)
    }

    /// The column of a role.
    pub fn column(&self, role: &str) -> Option<usize> {
        self.decisions.iter().find(|decision| decision.role == role)?.column
    }

    /// The name of the column of a role; empty where none.
    pub fn name(&self, role: &str) -> &str {
        self.decisions.iter().find(|decision| decision.role == role).map_or("", |decision| &decision.column_name)
    }

    /// Whether the user chose this role's column (or `none`).
    pub fn is_typed(&self, role: &str) -> bool {
        self.typed.contains(role)
    }

    /// The unit typed with the column (`crown=SPREAD:ft`), else the unit in the column's name.
    pub fn stated_unit(&self, role: &str) -> Option<LengthUnit> {
        self.typed_units.get(role).copied().or_else(|| unit_of_name(self.name(role)))
    }

    /// The unit typed with the column.
    pub fn typed_unit(&self, role: &str) -> Option<LengthUnit> {
        self.typed_units.get(role).copied()
    }

    /// Adds to the reason of a decision.
    pub fn add_why(&mut self, role: &str, more: &str) {
        if let Some(decision) = self.decisions.iter_mut().find(|decision| decision.role == role) {
            decision.why = if decision.why.is_empty() { more.to_string() } else { format!("{}; {more}", decision.why) };
        }
    }

    /// Takes a role's column away, with the reason.
    pub fn drop_column(&mut self, role: &str, why: &str) {
        if let Some(decision) = self.decisions.iter_mut().find(|decision| decision.role == role) {
            decision.column = None;
            decision.column_name.clear();
            decision.why = why.to_string();
        }
    }

    /// Gives the column of one role to another.
    pub fn move_column(&mut self, from: &str, to: &str, why: &str) {
        let Some(at) = self.decisions.iter().position(|decision| decision.role == from) else { return };
        let (column, name) = (self.decisions[at].column, self.decisions[at].column_name.clone());
        self.drop_column(from, &format!("`{name}` is used as {to}"));
        if let Some(decision) = self.decisions.iter_mut().find(|decision| decision.role == to) {
            decision.column = column;
            decision.column_name = name;
            decision.why = why.to_string();
        }
    }

    /// The decisions, in the order of the roles.
    pub fn decisions(&self) -> &[Decision] {
        &self.decisions
    }

    /// Longitude and latitude where both are there, else easting and northing: never one of each.
    fn add_axes(&mut self, roles: &[RoleNames], columns: &[String], sample: &[RawRecord], taken: &HashSet<usize>) {
        let mut pairs = Vec::new();
        for (x_names, y_names) in [(LONGITUDE, LATITUDE), (EASTING, NORTHING)] {
            let find = |role: &str, names: &'static [&'static str]| {
                let rule = roles.iter().find(|rule| rule.role == role)?;
                Some(by_name(&RoleNames { names, ..*rule }, columns, sample, taken))
            };
            if let (Some(x), Some(y)) = (find("x", x_names), find("y", y_names)) {
                pairs.push((x, y));
            }
        }
        let whole = pairs.iter().position(|(x, y)| x.column.is_some() && y.column.is_some() && x.column != y.column);
        let (mut x, mut y) = match whole {
            Some(at) => pairs.swap_remove(at),
            None => (
                decision("x", None, columns, "no pair of columns".into(), vec![]),
                decision("y", None, columns, "no pair of columns".into(), vec![]),
            ),
        };
        // A typed axis keeps its decision; the other one is still looked for.
        for axis in [&mut x, &mut y] {
            if !self.decisions.iter().any(|known| known.role == axis.role) {
                self.decisions.push(axis.clone());
            }
        }
    }
}

fn decision(
    role: &'static str,
    column: Option<usize>,
    columns: &[String],
    why: String,
    candidates: Vec<Candidate>,
) -> Decision {
    let column_name = column.and_then(|column| columns.get(column)).cloned().unwrap_or_default();
    Decision { role, column, column_name, why, candidates }
}

fn check_roles(flag: &str, roles: &[RoleNames], choices: &BTreeMap<String, String>) -> Result<()> {
    let words: Vec<&str> = roles.iter().map(|rule| rule.role).collect();
    for role in choices.keys() {
        if !words.contains(&role.as_str()) {
            // `lon` is no role, but the name of a column that plays one.
            let by_name = |rule: &&RoleNames| match rule.role {
                "x" => is_axis(role, rule, [LONGITUDE, EASTING]),
                "y" => is_axis(role, rule, [LATITUDE, NORTHING]),
                _ => match_name(role, rule).is_some(),
            };
            let mut near = nearest(role, words.iter().copied());
            near.splice(0..0, roles.iter().find(by_name).map(|rule| rule.role));
            let meant = near.first().map_or(String::new(), |near| format!("; did you mean `{near}`?"));
            return Err(Error::Usage {
                what: format!("{flag}: there is no role `{role}`{meant}"),
                hint: format!("the roles are {}", words.join(", ")),
            });
        }
    }
    Ok(())
}

fn is_axis(name: &str, rule: &RoleNames, lists: [&'static [&'static str]; 2]) -> bool {
    lists.into_iter().any(|names| match_name(name, &RoleNames { names, ..*rule }).is_some())
}

/// `COLUMN`, `COLUMN:unit`, `COLUMN|OTHER` (the first that the file has), or `none`.
fn typed_column(
    at: &str,
    flag: &str,
    role: &str,
    choice: &str,
    columns: &[String],
) -> Result<(Option<usize>, Option<LengthUnit>)> {
    let find = |name: &str| {
        let same_case = columns.iter().position(|column| column == name);
        same_case.or_else(|| columns.iter().position(|column| column.trim().eq_ignore_ascii_case(name.trim())))
    };
    for name in std::iter::once(choice).chain(choice.split('|')) {
        if let Some(column) = find(name) {
            return Ok((Some(column), None));
        }
        if let Some((name, unit)) = name.rsplit_once(':')
            && let (Some(column), Some(unit)) = (find(name), LengthUnit::parse(unit))
        {
            return Ok((Some(column), Some(unit)));
        }
    }
    if choice == "none" {
        return Ok((None, None));
    }
    let wanted = choice.rsplit_once(':').map_or(choice, |(name, _)| name);
    let near = nearest(wanted, columns.iter().map(String::as_str));
    let listed = if near.is_empty() { columns.iter().map(String::as_str).collect() } else { near.clone() };
    let known = if near.is_empty() { "its columns are" } else { "the nearest names are" };
    let shown = listed.iter().take(30).map(|name| format!("`{name}`")).collect::<Vec<_>>().join(", ");
    Err(Error::Usage {
        what: format!("{at}: there is no column `{wanted}` for {role}; {known} {shown}"),
        hint: format!(
            "{flag} {role}=COLUMN (several names parted by `|`: the first that a file has; `none`: no column)"
        ),
    })
}

fn by_name(rule: &RoleNames, columns: &[String], sample: &[RawRecord], taken: &HashSet<usize>) -> Decision {
    let mut candidates: Vec<(Candidate, bool, usize)> = Vec::new();
    for (column, name) in columns.iter().enumerate() {
        if taken.contains(&column) {
            continue;
        }
        if let Some(name_score) = match_name(name, rule) {
            let (candidate, fits) = candidate(rule.check, name_score, column, columns, sample);
            candidates.push((candidate, fits, column));
        }
    }
    candidates.sort_by(|a, b| b.1.cmp(&a.1).then(b.0.score.total_cmp(&a.0.score)).then(a.2.cmp(&b.2)));
    let best = candidates.first().filter(|(_, fits, _)| *fits);
    let column = best.map(|(_, _, column)| *column);
    let why = match (best, candidates.get(1)) {
        (Some((best, ..)), Some((second, true, _))) if best.score - second.score < 0.01 => {
            format!(
                "{}; as good as `{}`, taken because its name stands earlier in the list of names or in the file",
                best.why, second.column
            )
        }
        (Some((best, ..)), _) => best.why.clone(),
        (None, _) if candidates.is_empty() => "no column has such a name".to_string(),
        (None, _) => "the values of the columns with such a name contradict it".to_string(),
    };
    decision(rule.role, column, columns, why, candidates.into_iter().map(|(candidate, ..)| candidate).collect())
}

/// Looks at the values of a column: the candidate, and whether its values allow the role.
fn candidate(
    check: Check,
    name_score: f64,
    column: usize,
    columns: &[String],
    sample: &[RawRecord],
) -> (Candidate, bool) {
    let filled: Vec<&str> =
        sample.iter().map(|record| record.cell(column).trim()).filter(|cell| !cell.is_empty()).collect();
    let mut sample_values: Vec<String> = Vec::new();
    for cell in &filled {
        if sample_values.len() < 3 && !sample_values.iter().any(|known| known == cell) {
            sample_values.push(cell.chars().take(60).collect());
        }
    }
    let parsed_share = share_that_reads(check, &filled);
    let contradicts = !filled.is_empty() && parsed_share < least_share(check);
    let why = if filled.is_empty() {
        "the name fits; every cell of the sample is empty".to_string()
    } else {
        let verb = if contradicts { "the name fits, but only" } else { "the name fits and" };
        format!("{verb} {} of {} filled sample cells {}", percent(parsed_share), filled.len(), reads_as(check))
    };
    // An empty column is the last resort.
    let weight = if filled.is_empty() { 0.3 } else { 0.5 + 0.5 * parsed_share };
    let score = if contradicts { 0.0 } else { name_score * weight };
    (Candidate { column: columns[column].clone(), score, parsed_share, sample_values, why }, !contradicts)
}

/// `97 %`; never rounds up to 100 or down to 0.
pub fn percent(share: f64) -> String {
    let rounded = (share * 100.0).round();
    let shown = if share < 1.0 && rounded >= 100.0 {
        99.0
    } else if share > 0.0 && rounded < 1.0 {
        1.0
    } else {
        rounded
    };
    format!("{shown:.0} %")
}

/// Words of languages that the tables do not know must not hide a status column.
fn least_share(check: Check) -> f64 {
    if check == Check::Status { LEAST_STATUS_SHARE } else { LEAST_SHARE }
}

fn reads_as(check: Check) -> &'static str {
    match check {
        Check::Id => "are different",
        Check::Number => "are numbers",
        Check::Text => "are words",
        Check::Any => "can be used",
        Check::Diameter => "read as diameters",
        Check::Unit => "are units",
        Check::YesNo => "are yes or no",
        Check::Disposition => "say retain, remove, relocate or off site",
        Check::Lasting => "say temporary or permanent",
        Check::Status => "are known words for the status of a tree",
        Check::Place => "read as a place or geometry",
        Check::LifeStage => "say how old a tree is in words",
        Check::Years => "are ages in years",
    }
}

fn share_that_reads(check: Check, filled: &[&str]) -> f64 {
    if filled.is_empty() {
        return 0.0;
    }
    let comma = check == Check::Number && column_uses_decimal_comma(filled.iter().copied());
    let share =
        |reads: &dyn Fn(&str) -> bool| filled.iter().filter(|cell| reads(cell)).count() as f64 / filled.len() as f64;
    match check {
        Check::Id => {
            let unique = filled.iter().collect::<HashSet<_>>().len() as f64 / filled.len() as f64;
            if unique < LEAST_UNIQUE { unique.min(LEAST_SHARE / 2.0) } else { unique }
        }
        Check::Number => share(&|cell| parse_quantity(cell, comma).is_some()),
        Check::Text => share(&|cell| cell.chars().any(char::is_alphabetic)),
        Check::Any => 1.0,
        Check::Diameter => share(&|cell| {
            let any = DiameterReading { unit: Some(LengthUnit::Centimetre), girth: false, decimal_comma: false };
            !matches!(parse_diameter(cell, &any), DiameterCell::Damaged { code: "damaged-diameter", .. })
        }),
        Check::Unit => share(&|cell| parse_unit(cell).is_some()),
        Check::YesNo => share(&|cell| parse_yes_no(cell).is_some()),
        Check::Status => share(&|cell| is_status_word(cell)),
        Check::Lasting => share(&|cell| lasting(cell).is_some()),
        Check::Disposition => share(&|cell| parse_disposition(cell).is_some()),
        Check::LifeStage => share(&|cell| parse_life_stage(cell).is_some()),
        Check::Years => share(&|cell| matches!(parse_age(cell), Age::Years(_) | Age::Empty)),
        Check::Place => share(&|cell| parse_geometry_cell(cell).is_some() || parse_two_numbers(cell).is_some()),
    }
}

/// How well a column's name fits a role, 0 to 1; `None` where it does not.
pub fn match_name(column: &str, rule: &RoleNames) -> Option<f64> {
    let words = name_words(column);
    if words.iter().any(|word| rule.not.contains(&word.as_str())) {
        return None;
    }
    let bare = without_unit(&words).0;
    let joined = bare.concat();
    let scores = rule.names.iter().enumerate().filter_map(|(rank, name)| {
        let rank_loss = 0.001 * rank as f64;
        let whole_only = name.starts_with('=');
        let name = name.trim_start_matches('=');
        let name_joined = name.replace(' ', "");
        if joined == name_joined || words.concat() == name_joined {
            return Some(1.0 - rank_loss);
        }
        if unit_suffix(&joined).is_some_and(|(stem, _)| stem == name_joined) {
            return Some(0.95 - rank_loss);
        }
        if whole_only {
            return None;
        }
        // Shapefiles cut names after ten characters.
        let cut = column.to_lowercase();
        if column.chars().count() == 10 && (name.replace(' ', "_").starts_with(&cut) || name_joined.starts_with(&cut)) {
            return Some(0.85 - rank_loss);
        }
        let name_words: Vec<&str> = name.split(' ').collect();
        let inside = bare.windows(name_words.len()).any(|window| window.iter().eq(name_words.iter()));
        inside.then(|| 0.6 + 0.2 * name_words.len() as f64 / bare.len() as f64 - rank_loss)
    });
    scores.max_by(f64::total_cmp)
}

/// A cell for a reader: white space tidied.
pub fn shown(cell: &str) -> String {
    tidy(cell).into_string()
}

#[cfg(test)]
#[path = "columns_tests.rs"]
pub(super) mod tests;
