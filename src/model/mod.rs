//! The nouns that pass between stages. Plain data with units in the names; no stage's code.

pub mod crs;
pub mod effect;
pub mod finding;
pub mod overlap;
pub mod record;
pub mod results;
pub mod source;
pub mod tree;
pub mod work;
pub mod zone;
