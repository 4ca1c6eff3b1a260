//! The table of radii by how well a species bears the loss of roots, and by life stage.

use super::quantity::Growth;
use crate::model::species::Tolerance;
use crate::model::tree::{LifeStage, Tree};
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// Three rows of tolerance, three columns of life stage.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct ToleranceTable {
    /// Species that bear it well.
    pub good: StageRow,
    /// Species in between.
    pub moderate: StageRow,
    /// Sensitive species, and those of which it is not known.
    pub poor: StageRow,
}

/// One row: a length of radius per length of diameter.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct StageRow {
    /// Under a quarter of the life expectancy.
    pub young: Growth,
    /// A quarter to three quarters.
    pub mature: Growth,
    /// Over three quarters.
    pub overmature: Growth,
}

impl ToleranceTable {
    /// The cell of a tree. An unknown tolerance falls to the poor row; an unknown life stage to the poor row's last column, the
    /// widest of the table.
    pub fn growth(&self, tree: &Tree, warnings: &mut Vec<&'static str>) -> &Growth {
        let Some(stage) = tree.life_stage else {
            warnings.push("life_stage_unknown");
            return &self.poor.overmature;
        };
        let row = match tree.botanical.tolerance {
            Some(Tolerance::Good) => &self.good,
            Some(Tolerance::Moderate) => &self.moderate,
            Some(Tolerance::Poor) => &self.poor,
            None => {
                warnings.push("tolerance_unknown");
                &self.poor
            }
        };
        match stage {
            LifeStage::Young => &row.young,
            LifeStage::Mature => &row.mature,
            LifeStage::Overmature => &row.overmature,
        }
    }

    /// The rows with their names, for print-outs.
    pub fn rows(&self) -> [(&'static str, &StageRow); 3] {
        [("good", &self.good), ("moderate", &self.moderate), ("poor", &self.poor)]
    }
}
