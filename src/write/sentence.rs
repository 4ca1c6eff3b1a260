//! A finding as one plain sentence: what was measured, and the limit that it was held against.
//!
//! Numbers are rounded to one decimal for reading; the exact ones stand in the columns beside it. Where one decimal would make the
//! measured value equal to the limit, as many as it takes are shown.

use crate::model::finding::{Finding, Verdict};

/// The sentence.
pub fn sentence(finding: &Finding) -> String {
    let Some(value) = finding.value else { return capital(&finding.clause) };
    match finding.verdict {
        Verdict::NotAssessed | Verdict::Untouched => return capital(&finding.clause),
        Verdict::TrunkInWork => return "The trunk stands in one of the works, or touches it.".to_string(),
        _ => {}
    }
    let (measure, rest) = finding.measure.split_once(' ').unwrap_or((&finding.measure, ""));
    let limit = limit_words(finding);
    let works = rest.strip_prefix("of ").unwrap_or_default();
    match measure {
        "distance" => {
            format!("The nearest counted work is {} m from the trunk; {limit}.", short(value, &finding.limit))
        }
        "depth" => format!("Works in reach go {} m up or down; {limit}.", short(value, &finding.limit)),
        _ => {
            let whole = if finding.denominator.is_empty() { "root zone" } else { &finding.denominator };
            let whole = whole.replace('_', " ");
            format!("{} % of the {whole} is {}; {limit}.", short(value, &finding.limit), done(measure, works))
        }
    }
}

/// `> 25 %` -> `the limit is 25 %`; of a rule that speaks of any overlap, what it asks.
fn limit_words(finding: &Finding) -> String {
    match (finding.limit.split_once(' '), finding.verdict) {
        (Some((">", "0 %")), Verdict::Minor) => "every limit is kept".to_string(),
        (Some((">", "0 %")), Verdict::Moderate) => "any work there needs measures".to_string(),
        (Some((">", "0 %")), _) => "any is beyond the rule".to_string(),
        (Some((">" | "<", value)), _) => format!("the limit is {value}"),
        (Some((">=", value)), _) => format!("the rule asks for less than {value}"),
        (Some(("<=", value)), _) => format!("the rule asks for more than {value}"),
        (None, _) | (Some(_), _) => format!("the limit is {}", finding.limit),
    }
}

/// What happens to the ground: `cut`, `under works`, `severed` ...
fn done(measure: &str, works: &str) -> String {
    let (of, place) = works.split_once(" in ").map_or((works, ""), |(of, place)| (of, place));
    let what = match (measure, of) {
        ("severed", _) => "cut off from the trunk".to_string(),
        ("affected", _) => "under works or cut off from the trunk".to_string(),
        (_, "cut") => "cut".to_string(),
        (_, "seal") => "sealed".to_string(),
        (_, "fill") => "filled over".to_string(),
        (_, "compact") => "compacted".to_string(),
        (_, "occupy") => "built on".to_string(),
        (_, "") => "under works".to_string(),
        (_, of) => format!("under works ({of})"),
    };
    if place.is_empty() { what } else { format!("{what} within the {place}") }
}

/// The value with one decimal, or with as many as set it apart from the limit.
fn short(value: f64, limit: &str) -> String {
    let bound: Option<f64> = limit.split_whitespace().nth(1).and_then(|word| word.parse().ok());
    let apart = |text: &String| {
        let shown: Option<f64> = text.parse().ok();
        shown != bound || bound.is_some_and(|bound| bound == value)
    };
    let with = |decimals: usize| format!("{value:.decimals$}");
    (1..4).map(with).find(apart).unwrap_or_else(|| with(4))
}

fn capital(text: &str) -> String {
    let mut letters = text.chars();
    letters.next().map_or_else(String::new, |first| first.to_uppercase().chain(letters).collect())
}

#[cfg(test)]
mod tests {
    use super::*;

    fn finding(measure: &str, value: f64, limit: &str, denominator: &str) -> Finding {
        Finding {
            verdict: Verdict::Major,
            clause: "a clause".to_string(),
            measure: measure.to_string(),
            value: Some(value),
            limit: limit.to_string(),
            denominator: denominator.to_string(),
            warnings: Vec::new(),
        }
    }

    #[test]
    fn findings_read_as_sentences() {
        let cases = [
            (
                finding("overlap of cut", 27.4321, "> 25 %", "root zone"),
                "27.4 % of the root zone is cut; the limit is 25 %.",
            ),
            (
                finding("overlap", 25.0004, "> 25 %", "root zone"),
                "25.0004 % of the root zone is under works; the limit is 25 %.",
            ),
            (
                finding("severed", 25.0, ">= 25 %", "root zone"),
                "25.0 % of the root zone is cut off from the trunk; the rule asks for less than 25 %.",
            ),
            (
                finding("overlap of cut+fill in half ring", 5.5, "> 0 %", "root zone"),
                "5.5 % of the root zone is under works (cut+fill) within the half ring; any is beyond the rule.",
            ),
            (
                finding("distance", 1.25, "< 6 ft", ""),
                "The nearest counted work is 1.2 m from the trunk; the limit is 6 ft.",
            ),
        ];
        for (finding, expected) in cases {
            assert_eq!(sentence(&finding), expected);
        }
    }
}
