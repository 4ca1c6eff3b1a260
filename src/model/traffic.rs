//! How heavy the traffic on root zones is.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// The heaviest traffic expected on root zones outside the fences.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "lowercase")]
pub enum Traffic {
    /// People with hand tools.
    Foot,
    /// Machines to about 2 t.
    Light,
    /// Anything heavier.
    Heavy,
}

impl Traffic {
    /// All, lightest first.
    pub const ALL: [Traffic; 3] = [Traffic::Foot, Traffic::Light, Traffic::Heavy];

    /// The word in options and columns.
    pub fn word(self) -> &'static str {
        match self {
            Traffic::Foot => "foot",
            Traffic::Light => "light",
            Traffic::Heavy => "heavy",
        }
    }
}
