//! `rootward rules`.

use crate::args::RulesArgs;
use crate::diagnose::{visible, visible_json};
use crate::exit::{self, Exit};
use crate::typed_tree;
use rootward::error::Result;
use rootward::normalise::species::unknown_taxon;
use rootward::rules::RuleSet;

/// Lists the rule sets, or prints one with its sources.
pub fn run(args: &RulesArgs) -> Result<Exit> {
    if args.schema {
        return exit::print(&RuleSet::schema());
    }
    if let Some(file) = &args.check {
        return check(file);
    }
    if let (Some(name), Some(tree)) = (&args.explain, &args.tree) {
        return exit::print(&RuleSet::load(name)?.explain(&typed_tree::parse(tree)?));
    }
    match &args.name {
        Some(name) if args.toml => exit::print(RuleSet::load(name)?.source_text()),
        Some(name) => one(name, args.json),
        None => all(args.json),
    }
}

/// Says that a file is a rule set, and what in it a person still has to verify.
fn check(file: &str) -> Result<Exit> {
    let rules = RuleSet::load(file)?;
    let counts = rules.status_counts();
    let listed: Vec<String> = counts.iter().map(|(status, count)| format!("{count} {}", status.word())).collect();
    let mut text = format!(
        "{file}: a rule set, `{}`: {} rings, {} limits, {} heritage and {} protected classes\n",
        rules.name,
        rules.rings.len(),
        rules.limits.len(),
        rules.heritage.classes.len(),
        rules.protected.classes.len()
    );
    text.push_str(&format!("values by status: {}\n", listed.join(", ")));
    for (taxon, nearest) in rules.taxa().into_iter().filter_map(|taxon| Some((taxon, unknown_taxon(taxon)?))) {
        let meant = nearest.map_or_else(String::new, |near| format!("; did you mean {near}?"));
        text.push_str(&format!(
            "warning: `{taxon}` is not in the botanical table: only trees whose inventory writes just that name can be meant{meant}\n"
        ));
    }
    text.push_str("verify every value whose status is not `seen` before you rely on it\n");
    exit::print(&visible(&text))
}

fn one(name: &str, json: bool) -> Result<Exit> {
    let rules = RuleSet::load(name)?;
    let mut text = if json { visible_json(&rules.json()) } else { visible(&rules.describe()) };
    if !json && rules.bores.is_none() {
        text.push_str(&format!("\nThis set says nothing of bores: {}\n", rootward::normalise::kinds::DEEP_BORE_TEXT));
    }
    exit::print(&text)
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
