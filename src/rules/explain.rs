//! What a rule set makes of one tree, in words: diameter, root zone, rings, classes, and what had to be assumed.

use super::RuleSet;
use crate::model::results::RowDiameter;
use crate::model::tree::{Stems, Tree};
use crate::model::warning::meaning;
use crate::units::{METRES_PER_FOOT, METRES_PER_INCH};
use std::fmt::Write as _;

impl RuleSet {
    /// What `rootward rules --explain NAME --tree "..."` prints.
    pub fn explain(&self, tree: &Tree) -> String {
        let mut text = format!("{}: {}\n", self.name, self.title);
        let _ = writeln!(text, "Caution: {}\n", self.caution);
        self.explain_species(tree, &mut text);
        match &tree.stems {
            Stems::Measured(stems) => {
                let diameter_m = self.diameter_m(tree, stems);
                let how = if stems.len() > 1 { format!(" ({})", self.stem_words(tree, stems)) } else { String::new() };
                let _ = writeln!(text, "Diameter        {}{how}", self.length(diameter_m));
                self.explain_zone(tree, diameter_m, &mut text);
            }
            Stems::Range { low_m, high_m } => {
                for (end, diameter_m) in [("lower", *low_m), ("upper", *high_m)] {
                    let _ = writeln!(text, "At the {end} end of the class, diameter {}", self.length(diameter_m));
                    self.explain_zone(tree, diameter_m, &mut text);
                }
            }
            Stems::AtLeast { low_m } => {
                let _ = writeln!(text, "Diameter        at least {}", self.length(*low_m));
                self.explain_zone(tree, *low_m, &mut text);
            }
            Stems::Unknown(_) => text.push_str("Diameter        not known: no zone, not assessed\n"),
        }
        text
    }

    fn explain_species(&self, tree: &Tree, text: &mut String) {
        if tree.species.is_empty() {
            return;
        }
        let botanical = tree.botanical;
        let accepted = if botanical.accepted.is_empty() { "not in the botanical table" } else { botanical.accepted };
        let tolerance = botanical.tolerance.map_or("not known", |tolerance| tolerance.word());
        let _ = writeln!(
            text,
            "Species         {} -> {accepted} ({}; {}, {}; tolerance of root loss: {tolerance})",
            tree.species,
            botanical.certainty.word(),
            botanical.group.word(),
            botanical.habit.word()
        );
    }

    /// Which rule for stems was used.
    fn stem_words(&self, tree: &Tree, stems: &[f64]) -> &'static str {
        match (&self.stems.narrowest, &self.stems.many) {
            (Some(rule), _) if tree.narrowest_diameter_m.is_some() => rule.counts.words(),
            (_, Some(many)) if stems.len() > many.more_than => many.combine.words(),
            _ => self.stems.combine.words(),
        }
    }

    fn explain_zone(&self, tree: &Tree, diameter_m: f64, text: &mut String) {
        let zone = self.zone(tree, diameter_m);
        let _ =
            writeln!(text, "Root zone       radius {}, area {}", self.reach(zone.radius_m), self.area(zone.area_m2()));
        for (ring, rule) in zone.rings.iter().zip(&self.rings) {
            let _ = writeln!(text, "  ring {:<10} radius {}", rule.name, self.reach(ring.radius_m));
        }
        let class = |class: Option<String>| class.unwrap_or_else(|| "none".to_string());
        let _ = writeln!(text, "Heritage class  {}", class(self.heritage_class(tree, diameter_m, false)));
        if !self.protected.classes.is_empty() {
            let _ = writeln!(text, "Protected       {}", class(self.protected_class(tree, diameter_m, false)));
        }
        self.explain_replacement(tree, diameter_m, text);
        for code in &zone.warnings {
            let _ = writeln!(text, "Warning         {code}: {}", meaning(code).unwrap_or_default());
        }
    }

    /// What is owed if the tree goes.
    fn explain_replacement(&self, tree: &Tree, diameter_m: f64, text: &mut String) {
        if self.replacement.is_empty() {
            return;
        }
        let heritage = self.heritage_class(tree, diameter_m, false).unwrap_or_default();
        let protected = self.protected_class(tree, diameter_m, false).unwrap_or_default();
        let owed = self.owed(tree, &RowDiameter::Known(diameter_m), &protected, &heritage);
        let words = owed.map_or("nothing asked".to_string(), |owed| format!("{} [{}]", owed.arithmetic, owed.clause));
        let _ = writeln!(text, "If it goes      {words}");
    }

    fn length(&self, metres: f64) -> String {
        let cm = metres * 100.0;
        if self.imperial { format!("{:.2} in ({cm:.2} cm)", metres / METRES_PER_INCH) } else { format!("{cm:.2} cm") }
    }

    fn reach(&self, metres: f64) -> String {
        if self.imperial {
            format!("{:.3} ft ({metres:.3} m)", metres / METRES_PER_FOOT)
        } else {
            format!("{metres:.3} m")
        }
    }

    fn area(&self, square_metres: f64) -> String {
        if self.imperial {
            let square_feet = square_metres / (METRES_PER_FOOT * METRES_PER_FOOT);
            format!("{square_feet:.1} sq ft ({square_metres:.2} m2)")
        } else {
            format!("{square_metres:.2} m2")
        }
    }
}
