//! What `run.json` and the labels of tables need to know of a run beyond its results: plain text and numbers.
//!
//! The pipeline fills it from the survey, the decisions on columns and CRSs, the projections and the rule set, so that
//! `write` needs none of those stages. Nothing in it may depend on the clock, the host, the number of threads or the
//! folder: names are short names, without a folder.

use std::fmt;

/// One file with its size and hash.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub struct FileFacts {
    /// Name without a folder for inputs; name within the output folder, with `/`, for outputs.
    pub name: String,
    /// Size.
    pub bytes: u64,
    /// SHA-256 as 64 lower-case hexadecimal digits.
    pub sha256: String,
}

/// What an input is read for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum InputRole {
    /// A tree inventory.
    Trees,
    /// Proposed works.
    Works,
    /// Existing pavement and buildings.
    Surfaces,
    /// Where fences may stand.
    Site,
    /// What roots do not pass.
    Barriers,
}

impl fmt::Display for InputRole {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            InputRole::Trees => "trees",
            InputRole::Works => "works",
            InputRole::Surfaces => "surfaces",
            InputRole::Site => "site",
            InputRole::Barriers => "barriers",
        })
    }
}

/// Which column plays a role.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ColumnFacts {
    /// The role: `id`, `diameter`, `kind` ...
    pub role: String,
    /// The column's name as written in the file.
    pub column: String,
    /// The unit in which it was read and what said so, e.g. `in (--diameter-unit)`; empty where it has none.
    pub unit: String,
}

/// A CRS as `run.json` names it.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct CrsFacts {
    /// Its name.
    pub name: String,
    /// What PROJ was given.
    pub definition: String,
    /// `EPSG:26910` where an authority code is known.
    pub authority: Option<String>,
    /// How the program came to it.
    pub origin: String,
}

/// A coordinate operation between two CRSs.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct OperationFacts {
    /// PROJ's description of it.
    pub description: String,
    /// PROJ's pipeline.
    pub definition: String,
    /// Stated accuracy, metres; `None` where PROJ states none.
    pub accuracy_m: Option<f64>,
}

/// One input.
#[derive(Debug, Clone, PartialEq)]
pub struct InputFacts {
    /// What the file was given as.
    pub role: InputRole,
    /// Short name (no folder), with `#layer` where typed. The label in tables.
    pub name: String,
    /// Format: `CSV`, `GeoPackage` ...
    pub format: String,
    /// The layer that was read, where the format has layers.
    pub layer: Option<String>,
    /// Text encoding and what said so; empty where the format states it.
    pub encoding: String,
    /// The file, or the files that make it up (a shapefile has several), in the order of their names.
    pub files: Vec<FileFacts>,
    /// Columns used.
    pub columns: Vec<ColumnFacts>,
    /// Its CRS.
    pub crs: CrsFacts,
    /// How it was brought into the measuring CRS.
    pub operation: OperationFacts,
    /// Anything else a person should know, e.g. `longitude and latitude taken as WGS 84`.
    pub notes: Vec<String>,
}

/// The rule set.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct RulesFacts {
    /// Built-in name, or the file's short name.
    pub name: String,
    /// Title.
    pub title: String,
    /// SHA-256 of its text, hexadecimal.
    pub sha256: String,
    /// Names of its rings in its order: `half`, `quarter` ...
    pub rings: Vec<String>,
    /// True where it is written in feet and inches: tables then carry `*_ft`, `*_sqft` and `*_in` as well.
    pub imperial: bool,
    /// What a reader must not overlook about it.
    pub cautions: Vec<String>,
    /// Other remarks: sources, status of values.
    pub notes: Vec<String>,
    /// The heritage size as used and where it came from, e.g. `30 in (76.2 cm), default of the program`; empty where none.
    pub heritage: String,
    /// What it says of replacement: `none: ...`, or how many rules.
    pub replacement: String,
}

/// Everything beyond the results themselves.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct RunFacts {
    /// Version of this program.
    pub program_version: String,
    /// Version of GDAL.
    pub gdal_version: String,
    /// Version of PROJ.
    pub proj_version: String,
    /// The rule set.
    pub rules: RulesFacts,
    /// All rule sets of the run, the deciding one first, where there are several; else empty.
    pub compared_rules: Vec<RulesFacts>,
    /// Inputs, trees first, then works, surfaces, site and barriers, each in the order typed: the numbering of `SourceRef::file` and of `Results::counts`.
    pub inputs: Vec<InputFacts>,
    /// The CRS in which everything was measured.
    pub measuring_crs: CrsFacts,
    /// How places were brought from the measuring CRS to WGS 84 for the layers.
    pub layers_operation: OperationFacts,
    /// Settings that shape results, flag without dashes and value: `("position-error", "1 m")`.
    pub settings: Vec<(String, String)>,
    /// Defaults that were applied and that a reader should know, e.g. the heritage size.
    pub defaults: Vec<String>,
    /// Cautions of the run.
    pub cautions: Vec<String>,
}

impl RunFacts {
    /// Whether barriers to roots are among the inputs.
    pub fn barriers_given(&self) -> bool {
        self.inputs.iter().any(|input| input.role == InputRole::Barriers)
    }
}
