//! What the closing summary says of zones that barriers shape.

use crate::summary::tree_count;
use rootward::model::results::Results;
use rootward::model::rows::RowHead;
use std::collections::BTreeSet;

/// Trees whose zone barriers shape, and those of which a finding is milder for it (each tree once).
pub struct ShapedTrees {
    shaped: usize,
    milder: usize,
    over_trunk: usize,
}

impl ShapedTrees {
    /// Counts them.
    pub fn of(results: &Results) -> ShapedTrees {
        let trees = |matches: &dyn Fn(&RowHead) -> bool| {
            results.rows.heads().iter().filter(|row| matches(row)).map(|row| row.tree).collect::<BTreeSet<u32>>().len()
        };
        ShapedTrees {
            shaped: trees(&|row| row.shaped),
            milder: trees(&|row| row.milder_for_shape),
            over_trunk: trees(&|row| row.over_trunk),
        }
    }

    /// The line of the summary; `None` where there are none.
    pub fn line(&self) -> Option<String> {
        let ShapedTrees { shaped, milder, over_trunk } = self;
        if *shaped == 0 && *over_trunk == 0 {
            return None;
        }
        let over = match over_trunk {
            0 => String::new(),
            1 => "; 1 tree stands on a barrier, which was passed over for it".to_string(),
            many => format!("; {many} trees stand on a barrier, which was passed over for them"),
        };
        let has = if *milder == 1 { "has" } else { "have" };
        Some(format!(
            "Root zones shaped    {} by barriers, of which {milder} {has} a milder finding than the whole disc would give: confirm by root investigation (columns disc_*){over}",
            tree_count(*shaped)
        ))
    }

    /// For machines.
    pub fn json(&self) -> serde_json::Value {
        serde_json::json!({ "trees": self.shaped, "milder_findings": self.milder, "barrier_over_trunk": self.over_trunk })
    }
}
