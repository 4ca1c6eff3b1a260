//! Facts, counts and the list of files -> `run.json`, written last: its presence says that the set is complete.
//!
//! No clock, host, number of threads or absolute path: two runs on the same inputs with the same flags give the same bytes.

use super::pages::SheetName;
use super::staging::{RUN_FILE, Staging};
use super::view::{View, with_verdict};
use crate::error::Result;
use crate::issue::Outcome;
use crate::model::finding::Verdict;
use crate::model::rows::RowHead;
use crate::model::run_facts::{CrsFacts, FileFacts, InputFacts, OperationFacts, RulesFacts};
use serde_json::{Map, Value, json};
use std::collections::BTreeMap;

/// Writes `run.json`, which lists all files closed so far.
pub fn write_run_file(view: &View, sheets: &[SheetName], notes: &[String], staging: &mut Staging) -> Result<()> {
    let facts = view.facts;
    let files: Vec<Value> = staging.files().iter().map(file).collect();
    let settings: Map<String, Value> =
        facts.settings.iter().map(|(flag, value)| (flag.clone(), json!(value))).collect();
    let inputs: Vec<Value> = (0u16..).zip(&facts.inputs).map(|(at, given)| input(view, at, given)).collect();
    let run = json!({
        "program": "rootward",
        "version": facts.program_version,
        "libraries": { "GDAL": facts.gdal_version, "PROJ": facts.proj_version },
        "rules": rules(&facts.rules),
        "compared_rules": facts.compared_rules.iter().map(rules).collect::<Vec<_>>(),
        "measuring_crs": crs(&facts.measuring_crs),
        "layers_operation": operation(&facts.layers_operation),
        "settings": settings,
        "defaults": facts.defaults,
        "cautions": facts.cautions,
        "results": results(view),
        "inputs": inputs,
        "sheets": sheets.iter().map(|one| json!({ "permit": one.permit, "file": one.file })).collect::<Vec<_>>(),
        "notes": notes,
        "files": files,
    });
    let mut text = serde_json::to_string_pretty(&run).expect("a JSON value in memory");
    text.push('\n');
    staging.write(RUN_FILE, text.as_bytes())
}

fn file(facts: &FileFacts) -> Value {
    json!({ "name": facts.name, "bytes": facts.bytes, "sha256": facts.sha256 })
}

fn rules(facts: &RulesFacts) -> Value {
    json!({
        "name": facts.name,
        "title": facts.title,
        "sha256": facts.sha256,
        "units": if facts.imperial { "feet and inches" } else { "metric" },
        "rings": facts.rings,
        "heritage_size": some_text(&facts.heritage),
        "replacement": some_text(&facts.replacement),
        "cautions": facts.cautions,
        "notes": facts.notes,
    })
}

fn crs(facts: &CrsFacts) -> Value {
    json!({
        "name": facts.name,
        "authority": facts.authority,
        "definition": facts.definition,
        "origin": facts.origin,
    })
}

fn operation(facts: &OperationFacts) -> Value {
    json!({
        "description": facts.description,
        "definition": facts.definition,
        "accuracy_m": facts.accuracy_m.filter(|accuracy| accuracy.is_finite()),
    })
}

fn some_text(text: &str) -> Option<&str> {
    Some(text).filter(|text| !text.is_empty())
}

fn input(view: &View, at: u16, facts: &InputFacts) -> Value {
    let columns: Vec<Value> = facts
        .columns
        .iter()
        .map(|c| json!({ "role": c.role, "column": c.column, "unit": some_text(&c.unit) }))
        .collect();
    let counts = &view.results.counts[at as usize];
    let problems = |outcome: Outcome| {
        let mut by_code: BTreeMap<&str, u64> = BTreeMap::new();
        for issue in view.results.issues.iter().filter(|i| i.source.file == at && i.outcome == outcome) {
            *by_code.entry(issue.code).or_default() += 1;
        }
        by_code
    };
    json!({
        "role": facts.role.to_string(),
        "name": facts.name,
        "format": facts.format,
        "layer": facts.layer,
        "encoding": some_text(&facts.encoding),
        "files": facts.files.iter().map(file).collect::<Vec<_>>(),
        "columns": columns,
        "crs": crs(&facts.crs),
        "operation": operation(&facts.operation),
        "notes": facts.notes,
        "dates": counts.dates.map(|dates| json!({ "first": dates.first.to_string(), "last": dates.last.to_string() })),
        "counts": {
            "read": counts.read,
            "used": counts.used,
            "out_of_reach": counts.out_of_reach,
            "set_aside": counts.set_aside,
            "without_diameter": counts.without_diameter,
            "dated": counts.dates.map_or(0, |dates| dates.records),
            "set_aside_by_problem": problems(Outcome::SetAside),
            "used_with_problem": problems(Outcome::Used),
        },
    })
}

fn results(view: &View) -> Value {
    let rows = view.rows;
    let findings: Map<String, Value> = Verdict::ALL
        .iter()
        .rev()
        .map(|&verdict| (verdict.word().to_string(), json!(with_verdict(rows, verdict))))
        .collect();
    let only_together = view.together.iter().filter(|t| t.at_risk_only_together).count();
    json!({
        "permits": view.permits.len(),
        "works": view.works.len(),
        "trees_in_reach": view.trees.len(),
        "rows": rows.len(),
        "findings": findings,
        "heritage_size_trees_in_reach": view.trees_with(|row| row.heritage_size),
        "heritage_size_trees_at_risk": view.trees_with(RowHead::at_risk),
        "heritage_size_trees_at_risk_only_together": only_together,
        "trees_not_assessed": view.trees_with(|row| row.verdict == Verdict::NotAssessed),
        "trees_under_several_permits": view.together.len(),
    })
}
