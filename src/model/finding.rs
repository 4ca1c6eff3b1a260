//! The verdict on one tree under one permit, with what decided it.

/// From best to worst; `NotAssessed` stands apart and sorts between `Major` and the rest so that it is never overlooked.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, serde::Serialize, serde::Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Verdict {
    /// Nothing counted meets the zone.
    Untouched,
    /// Within the rules.
    Minor,
    /// Needs measures.
    Moderate,
    /// The tree has a place but no usable diameter.
    NotAssessed,
    /// Beyond the rules.
    Major,
    /// The trunk itself meets the work.
    TrunkInWork,
}

impl Verdict {
    /// All verdicts, best first.
    pub const ALL: [Verdict; 6] = [
        Verdict::Untouched,
        Verdict::Minor,
        Verdict::Moderate,
        Verdict::NotAssessed,
        Verdict::Major,
        Verdict::TrunkInWork,
    ];

    /// The word in files and columns.
    pub fn word(self) -> &'static str {
        match self {
            Verdict::Untouched => "untouched",
            Verdict::Minor => "minor",
            Verdict::Moderate => "moderate",
            Verdict::NotAssessed => "not_assessed",
            Verdict::Major => "major",
            Verdict::TrunkInWork => "trunk_in_work",
        }
    }

    /// `major` or `trunk_in_work`.
    pub fn puts_at_risk(self) -> bool {
        matches!(self, Verdict::Major | Verdict::TrunkInWork)
    }
}

/// A verdict and what decided it.
#[derive(Debug, Clone, PartialEq, serde::Serialize, serde::Deserialize)]
pub struct Finding {
    /// The verdict.
    pub verdict: Verdict,
    /// The clause's text, from the rule set; names the source and its status.
    pub clause: String,
    /// `overlap`, `severed`, `affected`, `distance`, `trunk`, with the effects where not all count: `overlap of cut`.
    pub measure: String,
    /// The measured value as judged: percent to 4 decimals, or metres to 3. `None` where nothing was measured.
    pub value: Option<f64>,
    /// The limit as printed, e.g. `> 25 %`.
    pub limit: String,
    /// Of what: `root zone`, `half ring`, `root zone (existing surfaces not given)`; empty for distances.
    pub denominator: String,
    /// Warning codes, e.g. `severed_exceeds`, `verify_on_site`, `qualified_arborist_before_cutting`. Sorted, unique.
    #[serde(with = "super::code::list")]
    pub warnings: Vec<&'static str>,
}
