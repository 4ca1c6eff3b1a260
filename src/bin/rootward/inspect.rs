//! `rootward inspect`: what is in the files, what would be used, and why.

use crate::args::{InspectArgs, Role};
use crate::diagnose::{visible_json, visible_line};
use crate::exit::{self, Exit};
use rootward::error::Result;
use rootward::normalise::columns::Decision;
use rootward::pipeline::{self, Inspected, InspectedAs};
use rootward::settings::GroundLayer;
use rootward::settings::InputName;
use serde_json::{Value, json};

/// Roles without which a run goes on with an assumption that a reader must see.
const ALWAYS_SHOWN: [&str; 2] = ["permit", "kind"];
/// Candidates shown for each role besides the one that was taken.
const CANDIDATES_SHOWN: usize = 3;

/// Looks into each file and prints what was found. A file that a run would refuse makes it end with 1, after all are shown.
pub fn run(args: &InspectArgs) -> Result<Exit> {
    let choices = args.reading.choices()?;
    let role = args.role.map(|role| match role {
        Role::Trees => InspectedAs::Trees,
        Role::Works => InspectedAs::Works,
        Role::Surfaces => InspectedAs::Ground(GroundLayer::Surfaces),
        Role::Site => InspectedAs::Ground(GroundLayer::Site),
        Role::Barriers => InspectedAs::Ground(GroundLayer::Barriers),
    });
    let mut found = Vec::new();
    for file in &args.files {
        found.push(pipeline::inspect(&InputName::parse(file), role, &choices)?);
    }
    let text = if args.json {
        visible_json(&serde_json::to_string_pretty(&found.iter().map(as_json).collect::<Vec<_>>()).unwrap_or_default())
    } else {
        found.iter().map(as_text).collect::<Vec<_>>().join("\n")
    };
    exit::print(&text)?;
    Ok(if found.iter().all(|one| one.problems.is_empty()) { Exit::Done } else { Exit::Failed })
}

fn word(role: InspectedAs) -> &'static str {
    match role {
        InspectedAs::Trees => "trees",
        InspectedAs::Works => "works",
        InspectedAs::Ground(layer) => layer.word(),
    }
}

fn as_text(one: &Inspected) -> String {
    let survey = &one.survey;
    let mut lines = vec![format!("{}  ({}, read as {})", survey.input.display(), survey.format.name(), word(one.role))];
    if let Some(layer) = &survey.layer {
        lines.push(format!("  layer      {layer} of {}", survey.layers.join(", ")));
    }
    lines.push(format!("  records    {} ({} looked at to decide)", survey.rows, survey.sample.len()));
    for (kind, count) in &survey.geometry_types {
        lines.push(format!("  geometry   {kind} {count}"));
    }
    match &one.crs {
        Some(crs) => lines.push(format!("  CRS        {} ({})", crs.name, crs.origin)),
        None => lines.push("  CRS        not known: see below".to_string()),
    }
    lines.extend(survey.notes.iter().chain(&one.notes).map(|note| format!("  note       {note}")));
    for (id, rows) in &one.repeated_ids {
        lines.push(format!("  note       id `{id}` stands in {rows} rows"));
    }
    let more = one.repeated_ids_in_all - one.repeated_ids.len();
    if more > 0 {
        lines.push(format!("  note       and {more} more ids that stand in several rows"));
    }
    lines.push("  used for".to_string());
    for decision in &one.decisions {
        lines.extend(decision_lines(decision));
    }
    let unused = not_used(one);
    if !unused.is_empty() {
        lines.push(format!("  not used     {}", unused.join(", ")));
    }
    for problem in &one.problems {
        lines.push(format!("  a run would refuse this file: {problem}"));
        lines.extend(problem.hint().lines().map(|line| format!("    {line}")));
    }
    let shown: Vec<String> = lines.iter().map(|line| visible_line(line)).collect();
    shown.join("\n") + "\n"
}

/// The columns that nothing is read from, in the order of the file.
fn not_used(one: &Inspected) -> Vec<&str> {
    let used = |column: usize| one.decisions.iter().any(|decision| decision.column == Some(column));
    let columns = one.survey.columns.iter().enumerate();
    columns.filter(|(column, _)| !used(*column)).map(|(_, name)| name.as_str()).collect()
}

fn decision_lines(decision: &Decision) -> Vec<String> {
    let mut lines = Vec::new();
    match decision.column {
        Some(_) => lines.push(format!("    {:<20} <- {}   {}", decision.role, decision.column_name, decision.why)),
        None if decision.candidates.is_empty() && !ALWAYS_SHOWN.contains(&decision.role) => return lines,
        None => lines.push(format!("    {:<20} <- none   {}", decision.role, decision.why)),
    }
    let others = decision.candidates.iter().filter(|candidate| candidate.column != decision.column_name);
    for candidate in others.take(CANDIDATES_SHOWN) {
        lines.push(format!(
            "      candidate {}: {:.1} % of rows parsed, e.g. {}; {}",
            candidate.column,
            candidate.parsed_share * 100.0,
            candidate.sample_values.join(" | "),
            candidate.why
        ));
    }
    lines
}

fn as_json(one: &Inspected) -> Value {
    let survey = &one.survey;
    json!({
        "file": survey.input.display(),
        "read_as": word(one.role),
        "format": survey.format.name().to_string(),
        "layer": survey.layer,
        "layers": survey.layers,
        "records": survey.rows,
        "columns": survey.columns,
        "geometry_types": survey.geometry_types.iter().map(|(kind, count)| json!({"type": kind, "records": count})).collect::<Vec<_>>(),
        "crs": one.crs.as_ref().map(|crs| json!({"name": crs.name, "authority": crs.authority, "origin": crs.origin})),
        "notes": survey.notes.iter().chain(&one.notes).collect::<Vec<_>>(),
        "repeated_ids": one.repeated_ids.iter().map(|(id, rows)| json!({"id": id, "rows": rows})).collect::<Vec<_>>(),
        "repeated_ids_in_all": one.repeated_ids_in_all,
        "used_for": one.decisions.iter().map(decision_json).collect::<Vec<_>>(),
        "not_used": not_used(one),
        "problems": one.problems.iter().map(|error| json!({"what": error.to_string(), "hint": error.hint()})).collect::<Vec<_>>(),
    })
}

fn decision_json(decision: &Decision) -> Value {
    json!({
        "role": decision.role,
        "column": decision.column.map(|_| &decision.column_name),
        "why": decision.why,
        "candidates": decision.candidates.iter().map(|candidate| json!({
            "column": candidate.column,
            "parsed_share": candidate.parsed_share,
            "sample_values": candidate.sample_values,
            "why": candidate.why,
        })).collect::<Vec<_>>(),
    })
}
