//! `rootward rules`.

use crate::args::RulesArgs;
use crate::exit::{self, Exit};
use rootward::error::Result;
use rootward::rules::RuleSet;

/// Lists the rule sets, or prints one with its sources.
pub fn run(args: &RulesArgs) -> Result<Exit> {
    match &args.name {
        Some(name) => one(name, args.json),
        None => all(args.json),
    }
}

fn one(name: &str, json: bool) -> Result<Exit> {
    let rules = RuleSet::load(name)?;
    exit::print(&if json { rules.json() } else { rules.describe() })
}

fn all(json: bool) -> Result<Exit> {
    let sets = RuleSet::names().into_iter().map(RuleSet::load).collect::<Result<Vec<_>>>()?;
    if json {
        let list: Vec<_> = sets.iter().map(|set| serde_json::json!({ "name": set.name, "title": set.title })).collect();
        return exit::print(&serde_json::Value::Array(list).to_string());
    }
    let width = sets.iter().map(|set| set.name.len()).max().unwrap_or(0);
    let mut text = String::new();
    for set in &sets {
        text.push_str(&format!("{:width$}  {}\n", set.name, set.title));
    }
    text.push_str("\nrootward rules NAME prints one with the source and status of every value.\n");
    exit::print(&text)
}
