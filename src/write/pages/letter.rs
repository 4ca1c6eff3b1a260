//! A permit -> a draft of the comments to the applicant, as plain text for the reviewer to edit.

use super::advice;
use super::amounts::Amounts;
use super::plain_text::visible;
use super::site::{Site, SiteWork};
use super::tree_rows::{diameter, finding_word, share};
use super::words::Words;
use crate::model::finding::Verdict;
use crate::model::results::Row;
use crate::model::work::{UNKNOWN_KIND, Work};
use crate::write::measures::Measured;
use crate::write::sentence::sentence;

/// Letters in a line.
const LINE: usize = 78;
/// Works that are named one by one in one list.
const MOST_WORKS: usize = 12;

/// The draft: lines of at most 78 letters, ending in a line feed.
pub fn letter(site: &Site, amounts: Amounts, words: &Words) -> String {
    let say = |key: &str, values: &[(&str, &str)]| words.fill("letter", key, values);
    let (permit, facts) = (site.of.permit, site.view.facts);
    let mut draft = Draft::default();
    draft.paragraph(&say("heading", &[]), "");
    draft.line(&say("permit", &[("permit", &visible(&permit.id))]));
    if !permit.status.is_empty() {
        draft.line(&say("status", &[("status", &visible(&permit.status))]));
    }
    if !permit.date.is_empty() {
        draft.line(&say("date", &[("date", &visible(&permit.date))]));
    }
    if !permit.active {
        draft.line(&say("inactive", &[]));
    }
    draft.line(&say("rules", &[("rules", &visible(&words.said(&facts.rules.title)))]));
    draft.blank();
    let asked: Vec<(usize, &Row)> =
        (1..).zip(site.rows.iter().copied()).filter(|(_, row)| is_asked(row, site)).collect();
    draft.paragraph(&say(if asked.is_empty() { "nothing" } else { "opening" }, &[]), "");
    for (number, row) in asked {
        tree(&mut draft, site, (number, row), amounts, words);
    }
    let trees = kept(site).map(|(key, trees)| (key, "trees", trees));
    let works = assumed(site, words).map(|(key, works)| (key, "works", works));
    for (key, of, names) in trees.into_iter().chain(works).filter(|(.., names)| !names.is_empty()) {
        draft.paragraph(&say(key, &[(of, &names)]), "");
    }
    draft.line(&say("not_measured_heading", &[]));
    draft.paragraph(&say("not_measured", &[]), "");
    if permit.works_set_aside > 0 {
        draft.paragraph(&say("set_aside", &[("count", &permit.works_set_aside.to_string())]), "");
    }
    for caution in facts.rules.cautions.iter().filter(|caution| !caution.is_empty()) {
        draft.paragraph(&visible(&words.said(caution)), "");
    }
    draft.paragraph(&say("closing", &[]), "");
    draft.text.trim_end().to_string() + "\n"
}

/// Trees that the applicant has not to answer for: those whose finding stands, and those that are borderline.
fn kept(site: &Site) -> [(&'static str, String); 2] {
    let kept = (1..).zip(&site.rows).filter(|(_, row)| !is_asked(row, site));
    let (stand, borderline): (Vec<_>, Vec<_>) = kept.partition(|(_, row)| site.decided(row).borderline.is_empty());
    let named = |trees: Vec<(usize, &&Row)>| {
        let name = |(number, row): &(usize, &&Row)| format!("{} ({number})", visible(&site.tree(row).id));
        trees.iter().map(name).collect::<Vec<_>>().join(", ")
    };
    [("also", named(stand)), ("also_borderline", named(borderline))]
}

/// Works of which something is assumed that the findings hang on: what they do, and that a deep bore keeps its depth.
fn assumed(site: &Site, words: &Words) -> [(&'static str, String); 2] {
    let named = |chosen: &dyn Fn(&Work) -> bool| {
        let name = |one: &SiteWork| match one.work.kind_written.as_str() {
            "" => one.label.clone(),
            written => format!("{} ({})", one.label, visible(&words.said(written))),
        };
        let mut names: Vec<String> = site.works.iter().filter(|one| chosen(one.work)).map(name).collect();
        let more = names.len().saturating_sub(MOST_WORKS);
        names.truncate(MOST_WORKS);
        match (names.join(", "), more) {
            (all, 0) => all,
            (first, more) => words.fill("letter", "more", &[("first", &first), ("count", &more.to_string())]),
        }
    };
    [
        ("unknown_kinds", named(&|work| work.kind.as_str() == UNKNOWN_KIND)),
        ("deep_bores", named(&|work| work.in_question() && !work.counted())),
    ]
}

/// Whether the applicant has to answer for a tree.
fn is_asked(row: &Row, site: &Site) -> bool {
    let tree = site.tree(row);
    !matches!(site.decided(row).finding.verdict, Verdict::Minor | Verdict::Untouched)
        || advice::severed_to_mend(site, row)
        || advice::goes(row, tree).is_some()
}

fn tree(draft: &mut Draft, site: &Site, (number, row): (usize, &Row), amounts: Amounts, words: &Words) {
    let say = |key: &str, values: &[(&str, &str)]| words.fill("letter", key, values);
    let (tree, decided) = (site.tree(row), site.decided(row));
    let species = if tree.species.is_empty() { String::new() } else { format!(" ({})", visible(&tree.species)) };
    let other = Amounts { units: amounts.units.other() };
    let both = match row.diameter.used_m() {
        Some(_) => format!("{} ({})", diameter(&row.diameter, amounts, words), diameter(&row.diameter, other, words)),
        None => diameter(&row.diameter, amounts, words),
    };
    let heading = say(
        "tree",
        &[
            ("number", &number.to_string()),
            ("tree", &visible(&tree.id)),
            ("species", &species),
            ("diameter", &both),
            ("finding", finding_word(decided.finding.verdict, words)),
        ],
    );
    draft.lines(&heading, "");
    if let Some(together) = site.view.worse_together(row) {
        let permits = site.view.other_permit_ids(together, site.permit);
        let alone = finding_word(row.finding.verdict, words);
        draft.lines(&say("together", &[("permits", &visible(&permits)), ("finding", alone)]), "   ");
    }
    draft.lines(
        &say("measured", &[("sentence", &amounts.with_feet(&visible(&words.said(&sentence(&decided.finding)))))]),
        "   ",
    );
    // Without a measure the sentence is the clause.
    if decided.finding.value.is_some() {
        draft.lines(&say("rule", &[("clause", &visible(&words.said(&decided.finding.clause)))]), "   ");
    }
    let measured = Measured::of(decided);
    if let Some(severed) = measured.pct(measured.severed_m2()).filter(|&severed| severed > 0.0) {
        draft.lines(&say("severed", &[("share", &share(severed))]), "   ");
    }
    let asked = advice::next(site, row, amounts, words).join(" ");
    draft.paragraph(&say("asked", &[("text", &asked)]), "   ");
}

/// Text in lines.
#[derive(Default)]
struct Draft {
    text: String,
}

impl Draft {
    fn blank(&mut self) {
        self.text.push('\n');
    }

    fn line(&mut self, text: &str) {
        self.lines(text, "");
    }

    fn paragraph(&mut self, text: &str, indent: &str) {
        self.lines(text, indent);
        self.blank();
    }

    /// Broken between words; a word longer than a line stays whole.
    fn lines(&mut self, text: &str, indent: &str) {
        let mut line = indent.to_string();
        for word in text.split_whitespace() {
            let begun = line.len() > indent.len();
            if begun && line.chars().count() + 1 + word.chars().count() > LINE {
                self.text.push_str(&line);
                self.blank();
                line = indent.to_string();
            }
            if line.len() > indent.len() {
                line.push(' ');
            }
            line.push_str(word);
        }
        self.text.push_str(&line);
        self.blank();
    }
}
