//! Which trees a value of a rule set is for: by species, ground, condition, height and age.
//!
//! Every key that is given must hold. What the inventory does not say is told apart from what does not hold, so that a tree does
//! not disappear because its inventory is coarse.

use super::quantity::{Bound, Years};
use crate::model::species::{Certainty, Group, LeafHabit};
use crate::model::tree::{Tree, TreeGround};
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// Broadleaf, conifer or palm, as rule files write it.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "lowercase")]
pub enum GroupWord {
    /// Flowering trees but palms.
    Broadleaf,
    /// Cone-bearing trees.
    Conifer,
    /// Palms.
    Palm,
}

/// Deciduous or evergreen, as rule files write it.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "lowercase")]
pub enum HabitWord {
    /// Sheds its leaves once a year.
    Deciduous,
    /// Keeps leaves all year.
    Evergreen,
}

/// Whose ground, as rule files write it.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "lowercase")]
pub enum GroundWord {
    /// Public ground.
    Public,
    /// Private ground.
    Private,
    /// A neighbour's ground.
    Neighbour,
    /// On the line between two owners.
    Boundary,
}

/// A choice of trees. Without any key: all trees.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields, default)]
pub struct Who {
    /// Scientific names of species, one of which it is.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub species: Vec<String>,
    /// Genera, one of which it is of. With `species` too, one of either.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub genus: Vec<String>,
    /// Species and genera that it is not of.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub not: Vec<String>,
    /// Broadleaf, conifer or palm.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub group: Option<GroupWord>,
    /// Deciduous or evergreen.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub habit: Option<HabitWord>,
    /// On whose ground it stands.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub ground: Vec<GroundWord>,
    /// Words of the condition column, one of which must not be there.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub condition_not: Vec<String>,
    /// Height: `">= 60 ft"`.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub height: Option<Bound>,
    /// Age: `">= 75 years"`.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub age: Option<Years>,
}

/// Whether a tree is one of those meant.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Meant {
    /// It is.
    Yes,
    /// It may be: the inventory does not say enough.
    Perhaps,
    /// It is not.
    No,
}

impl Meant {
    fn from(holds: bool) -> Meant {
        if holds { Meant::Yes } else { Meant::No }
    }
}

impl Who {
    /// Whether the choice is for every tree.
    pub fn everyone(&self) -> bool {
        *self == Who::default()
    }

    /// Whether the choice asks about the species, so that unmatched names matter.
    pub fn asks_species(&self) -> bool {
        !self.species.is_empty()
            || !self.genus.is_empty()
            || !self.not.is_empty()
            || self.group.is_some()
            || self.habit.is_some()
    }

    /// Whether the tree is meant. An unknown height or age does not reach any; an unknown ground or condition holds.
    pub fn means(&self, tree: &Tree) -> Meant {
        self.kind(tree).max(self.named(tree)).max(self.excluded(tree)).max(self.standing(tree))
    }

    fn named(&self, tree: &Tree) -> Meant {
        if self.species.is_empty() && self.genus.is_empty() {
            return Meant::Yes;
        }
        let genera = self.genus.iter().map(|genus| of_taxon(tree, genus));
        self.species.iter().map(|species| of_taxon(tree, species)).chain(genera).min().unwrap_or(Meant::No)
    }

    fn excluded(&self, tree: &Tree) -> Meant {
        match self.not.iter().map(|taxon| of_taxon(tree, taxon)).min() {
            Some(Meant::Yes) => Meant::No,
            Some(Meant::Perhaps) => Meant::Perhaps,
            _ => Meant::Yes,
        }
    }

    fn kind(&self, tree: &Tree) -> Meant {
        let group = self.group.map(|word| match (word, tree.botanical.group) {
            (_, Group::Unknown) => Meant::Perhaps,
            (GroupWord::Broadleaf, group) => Meant::from(group == Group::Broadleaf),
            (GroupWord::Conifer, group) => Meant::from(group == Group::Conifer),
            (GroupWord::Palm, group) => Meant::from(group == Group::Palm),
        });
        let habit = self.habit.map(|word| match (word, tree.botanical.habit) {
            (_, LeafHabit::Unknown) => Meant::Perhaps,
            (HabitWord::Deciduous, habit) => Meant::from(habit == LeafHabit::Deciduous),
            (HabitWord::Evergreen, habit) => Meant::from(habit == LeafHabit::Evergreen),
        });
        group.into_iter().chain(habit).max().unwrap_or(Meant::Yes)
    }

    fn standing(&self, tree: &Tree) -> Meant {
        let ground = tree.ground.filter(|_| !self.ground.is_empty());
        let ground = ground.is_none_or(|ground| self.ground.iter().any(|word| word.ground() == ground));
        let excluded = |word: &str| self.condition_not.iter().any(|not| not.eq_ignore_ascii_case(word));
        let condition = self.condition_not.is_empty()
            || !tree.condition.to_lowercase().split(|c: char| !c.is_alphanumeric()).any(excluded);
        let height = self.height.as_ref().is_none_or(|bound| tree.height_m.is_some_and(|height| bound.holds(height)));
        let age = self.age.as_ref().is_none_or(|bound| tree.age_years.is_some_and(|age| bound.holds(age)));
        Meant::from(ground && condition && height && age)
    }

    /// As a person would say it; empty for every tree.
    pub fn words(&self) -> String {
        let mut words = Vec::new();
        let mut taxa = self.species.clone();
        taxa.extend(self.genus.iter().map(|genus| format!("genus {genus}")));
        if !taxa.is_empty() {
            words.push(taxa.join(" or "));
        }
        if !self.not.is_empty() {
            words.push(format!("not {}", self.not.join(", ")));
        }
        words.extend(self.group.map(|word| format!("{word:?}").to_lowercase()));
        words.extend(self.habit.map(|word| format!("{word:?}").to_lowercase()));
        if !self.ground.is_empty() {
            let grounds: Vec<&str> = self.ground.iter().map(|word| word.ground().word()).collect();
            words.push(format!("on {} ground", grounds.join(" or ")));
        }
        if !self.condition_not.is_empty() {
            words.push(format!("condition not {}", self.condition_not.join(" or ")));
        }
        words.extend(self.height.as_ref().map(|bound| format!("height {}", bound.written)));
        words.extend(self.age.as_ref().map(|bound| format!("age {}", bound.written)));
        words.join("; ")
    }
}

impl GroundWord {
    fn ground(self) -> TreeGround {
        match self {
            GroundWord::Public => TreeGround::Public,
            GroundWord::Private => TreeGround::Private,
            GroundWord::Neighbour => TreeGround::Neighbour,
            GroundWord::Boundary => TreeGround::Boundary,
        }
    }
}

/// Whether the tree is of a species (two words) or a genus (one word).
fn of_taxon(tree: &Tree, taxon: &str) -> Meant {
    let botanical = tree.botanical;
    let genus_of_taxon = taxon.split(' ').next().unwrap_or(taxon);
    if botanical.certainty == Certainty::Unmatched {
        // A taxon outside the table may still stand in the inventory as the rule file writes it.
        let written = tree.species.to_lowercase();
        let same = !written.is_empty() && written.starts_with(&taxon.to_lowercase());
        return if same { Meant::Yes } else { Meant::Perhaps };
    }
    if !botanical.genus.eq_ignore_ascii_case(genus_of_taxon) {
        return Meant::No;
    }
    let whole_genus = genus_of_taxon.len() == taxon.len();
    match botanical.certainty {
        _ if whole_genus || botanical.accepted.eq_ignore_ascii_case(taxon) => Meant::Yes,
        Certainty::Genus => Meant::Perhaps,
        _ => Meant::No,
    }
}
