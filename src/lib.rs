//! # Rootward
//!
//! Decides, for a whole city at once, which trees a set of proposed construction permits puts at risk.
//!
//! **Inputs**: tree inventories (points) and proposed works (polygons, lines, points), in open geospatial formats.
//! **Outputs**: GeoJSON layers, CSV tables and a `run.json` in one folder, put in place only when complete.
//! **Units**: metres and square metres inside; a name carries its unit.
//!
//! Seven verbs, the same everywhere: **read, normalise, index, measure, judge, protect, write**. The nouns that pass between
//! them live in [`model`]; no stage imports another stage; [`pipeline`] names every stage on one page.

pub mod units;

pub mod model;

pub mod error;
mod gdal_messages;
pub mod geometry;
mod in_order;
pub mod issue;
pub mod rules;
pub mod settings;

pub mod projection;

pub mod read;

pub mod normalise;

pub mod index;

pub mod measure;

pub mod judge;

pub mod protect;

pub mod write;

pub mod pipeline;
