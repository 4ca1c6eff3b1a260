//! The nouns that pass between stages. Plain data with units in the names; no stage's code.

pub mod asked;
pub mod barrier;
pub mod code;
pub mod crs;
pub mod effect;
pub mod finding;
pub mod overlap;
pub mod owed;
pub mod protection;
pub mod record;
pub mod results;
pub mod rows;
pub mod run_facts;
pub mod service;
pub mod set_back;
pub mod source;
pub mod species;
pub mod text;
pub mod traffic;
pub mod tree;
pub mod upkeep;
pub mod warning;
pub mod weather;
pub mod work;
pub mod zone;
