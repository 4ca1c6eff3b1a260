//! What the user typed. The only place that knows flags; [`Args::settings`](ScreenArgs::settings) resolves them.

use crate::args_barriers::BarrierArgs;
use crate::args_layers::LayerArgs;
use crate::args_pages::PagesArgs;
use crate::args_protect::ProtectArgs;
use clap::{Args, Parser, Subcommand, ValueEnum};
use rootward::error::Error;
use rootward::settings::{GroundLayer, GroundReading, InputName, Layer, ReadBounds, ReadingChoices, Settings};
use rootward::units::{LengthUnit, parse_length_m};
use std::collections::{BTreeMap, BTreeSet};
use std::path::PathBuf;

const EXAMPLES: &str = "\
Examples:
  A reviewer screens all permits of the month against the city's inventory:
    rootward screen --trees street_trees.csv parks.gpkg#trees --diameter-unit in \\
        --works permits.geojson --rules one-foot-per-inch --out screening

  A consultant looks at a client's files first, then checks the design by a standard:
    rootward inspect survey.shp design.geojson
    rootward screen --trees survey.shp --works design.geojson --rules bs5837-2012 --out check

The results support a qualified person's judgement. They are no permit and no tree risk assessment;
local codes, approved plans and the authority's arborist decide.";

/// Decides, for a whole city at once, which trees a proposed construction puts at risk.
#[derive(Debug, Parser)]
#[command(name = "rootward", disable_version_flag = true, after_help = EXAMPLES, arg_required_else_help = true)]
pub struct CommandLine {
    /// Print the versions of the program, GDAL and PROJ
    #[arg(long, short = 'V')]
    pub version: bool,
    /// What to do
    #[command(subcommand)]
    pub verb: Option<Verb>,
}

/// The commands.
#[derive(Debug, Subcommand)]
pub enum Verb {
    /// The whole job: root zones, overlaps, findings, heritage-size trees at risk
    #[command(after_help = EXAMPLES)]
    Screen(Box<ScreenArgs>),
    /// One permit of the files: the whole job, and what protects its trees
    Plan(Box<PlanArgs>),
    /// What is in the files, what would be used, and why
    Inspect(Box<InspectArgs>),
    /// List the rule sets, or print one with its sources
    Rules(RulesArgs),
}

/// How the inputs are to be understood; shared by `screen` and `inspect`.
#[derive(Debug, Args)]
#[command(next_help_heading = "Reading the files")]
pub struct ReadingArgs {
    /// Say which column of the tree files is what: diameter=TRUNK_D,species=BOT_NAME
    #[arg(long, value_name = "ROLE=COLUMN,...", value_delimiter = ',')]
    pub tree_columns: Vec<String>,
    /// Say which column of the work files is what: permit=CASE_NO,kind=WORK_TYPE
    #[arg(long, value_name = "ROLE=COLUMN,...", value_delimiter = ',')]
    pub work_columns: Vec<String>,
    /// Say which column of the files of existing surfaces is what: width=W:m
    #[arg(long, value_name = "ROLE=COLUMN,...", value_delimiter = ',')]
    pub surface_columns: Vec<String>,
    /// Say which column of the files of the site is what: place=WKT
    #[arg(long, value_name = "ROLE=COLUMN,...", value_delimiter = ',')]
    pub site_columns: Vec<String>,
    /// Say which column of the files of barriers is what: kind=TYPE,width=W:m
    #[arg(long, value_name = "ROLE=COLUMN,...", value_delimiter = ',')]
    pub barrier_columns: Vec<String>,
    /// Unit of the diameters, where neither the column's name nor the cells say it
    #[arg(long, value_name = "in|cm|mm|m|ft", value_parser = length_unit)]
    pub diameter_unit: Option<LengthUnit>,
    /// Unit of crown spread and height, where neither the column's name nor the cells say it
    #[arg(long, value_name = "m|ft|...", value_parser = length_unit)]
    pub crown_unit: Option<LengthUnit>,
    /// CRS of the tree files that do not state one, e.g. EPSG:26910
    #[arg(long, value_name = "CRS")]
    pub trees_crs: Option<String>,
    /// CRS of the work files that do not state one
    #[arg(long, value_name = "CRS")]
    pub works_crs: Option<String>,
    /// CRS of the files of existing surfaces that do not state one
    #[arg(long, value_name = "CRS")]
    pub surfaces_crs: Option<String>,
    /// CRS of the files of the site that do not state one
    #[arg(long, value_name = "CRS")]
    pub site_crs: Option<String>,
    /// CRS of the files of barriers that do not state one
    #[arg(long, value_name = "CRS")]
    pub barriers_crs: Option<String>,
    /// A table of your own kinds of work (TOML) that extends the built-in one
    #[arg(long, value_name = "FILE")]
    pub work_kinds: Option<PathBuf>,
    /// The largest row of text or GeoJSON feature that is read; a larger one is taken for damage
    #[arg(long, value_name = "MIB", default_value_t = 64, value_parser = clap::value_parser!(u32).range(1..=i64::from(ReadBounds::MOST_RECORD_MIB)))]
    pub largest_record: u32,
    /// What a zip may unpack to [default: 4, and 200 times the zip]
    #[arg(long, value_name = "GIB", value_parser = clap::value_parser!(u32).range(1..=1024))]
    pub largest_unzipped: Option<u32>,
}

/// Flags of `screen`.
#[derive(Debug, Args)]
pub struct ScreenArgs {
    /// Tree inventory; several files are read as one. A layer: city.gpkg#trees
    #[arg(long, required = true, num_args = 1.., value_name = "FILE")]
    pub trees: Vec<String>,
    /// Proposed works: polygons, lines with a width, points with a radius
    #[arg(long, required = true, num_args = 1.., value_name = "FILE")]
    pub works: Vec<String>,
    /// Existing pavement and buildings: rules that speak of unsurfaced or new ground need them
    #[arg(long, num_args = 1.., value_name = "FILE")]
    pub surfaces: Vec<String>,
    /// Rule set: a built-in name (see `rootward rules`) or a file. Of several the first decides, the others are set beside it
    #[arg(long, required = true, num_args = 1.., value_name = "NAME|FILE")]
    pub rules: Vec<String>,
    /// Folder for the results; written only when complete, old results replaced in one step
    #[arg(long, value_name = "DIR")]
    pub out: PathBuf,
    #[command(flatten)]
    pub reading: ReadingArgs,
    #[command(flatten)]
    pub protect: ProtectArgs,
    #[command(flatten)]
    pub barriers: BarrierArgs,
    #[command(flatten)]
    pub pages: PagesArgs,
    /// CRS to measure in (projected); by default an equal-area plane centred on the works
    #[arg(long, value_name = "CRS", help_heading = "Measuring")]
    pub measure_crs: Option<String>,
    /// Accept a datum operation as coarse as this many metres [default: 5]
    #[arg(long, value_name = "METRES", allow_negative_numbers = true, value_parser = metres, help_heading = "Measuring")]
    pub accept_datum_error: Option<f64>,
    /// Error of the trees' places; decides only which findings are marked borderline
    #[arg(long, value_name = "METRES", default_value = "1", allow_negative_numbers = true, value_parser = metres, help_heading = "Measuring")]
    pub position_error: f64,
    /// A tree without a usable diameter is listed when a work comes this near
    #[arg(long, value_name = "METRES", default_value = "15", allow_negative_numbers = true, value_parser = metres, help_heading = "Measuring")]
    pub search_distance: f64,
    /// Heritage size where the rule set names none, e.g. 30in or 76cm [default: 30in]
    #[arg(long, value_name = "LENGTH", value_parser = length, help_heading = "Measuring")]
    pub heritage_size: Option<f64>,
    /// Layers to write: trees,root_zones,overlaps,works, with --protect also fences,ground_cover,service_lines; or none [default: all]
    #[arg(long, value_name = "LIST", value_delimiter = ',', help_heading = "Results")]
    pub layers: Option<Vec<String>>,
    #[command(flatten)]
    pub layer_files: LayerArgs,
    /// Put files in place one by one where the file system cannot exchange folders in one step
    #[arg(long, help_heading = "Results")]
    pub replace_files: bool,
    /// Exit with 3 where a heritage-size tree is at risk or a tree is not assessed
    #[arg(long, help_heading = "Results")]
    pub fail_at_risk: bool,
    /// Print the summary as JSON
    #[arg(long, help_heading = "Results")]
    pub json: bool,
    /// Write how long each stage took (JSON); never part of the results
    #[arg(long, value_name = "FILE", help_heading = "Results")]
    pub timings: Option<PathBuf>,
    /// No progress on stderr
    #[arg(long, short, help_heading = "Results")]
    pub quiet: bool,
    /// Worker threads; the results are the same for any number [default: all cores]
    #[arg(long, value_name = "N", help_heading = "Results")]
    pub threads: Option<usize>,
}

/// Flags of `plan`.
#[derive(Debug, Args)]
pub struct PlanArgs {
    /// Id of the permit
    #[arg(long, value_name = "ID")]
    pub permit: String,
    #[command(flatten)]
    pub screen: ScreenArgs,
}

/// What a file is to be inspected as.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum Role {
    /// A tree inventory
    Trees,
    /// Proposed works
    Works,
    /// Existing pavement and buildings
    Surfaces,
    /// Ground on which fences may stand
    Site,
    /// What roots do not pass
    Barriers,
}

/// Flags of `inspect`.
#[derive(Debug, Args)]
pub struct InspectArgs {
    /// Files to look into
    #[arg(required = true, value_name = "FILE")]
    pub files: Vec<String>,
    /// Read the files as trees, works, existing surfaces, site or barriers [default: lines and polygons as works, all else as trees]
    #[arg(long = "as", value_name = "ROLE")]
    pub role: Option<Role>,
    #[command(flatten)]
    pub reading: ReadingArgs,
    /// Print JSON
    #[arg(long)]
    pub json: bool,
}

/// Flags of `rules`.
#[derive(Debug, Args)]
pub struct RulesArgs {
    /// A built-in rule set or a file
    pub name: Option<String>,
    /// Check a rule file: a mistake has its line and column, the first one stops
    #[arg(long, value_name = "FILE", conflicts_with_all = ["name", "explain", "schema"])]
    pub check: Option<String>,
    /// Show what a rule set makes of one tree: diameter, root zone, rings, classes
    #[arg(long, value_name = "NAME|FILE", requires = "tree", conflicts_with_all = ["name", "schema"])]
    pub explain: Option<String>,
    /// The tree: "diameter=24in species=Quercus robur life_stage=mature" (or stems=10in+8in, crown_radius, height, ...)
    #[arg(long, value_name = "KEY=VALUE ...", requires = "explain")]
    pub tree: Option<String>,
    /// Print the JSON Schema of a rule file, for completion in an editor
    #[arg(long, conflicts_with = "name")]
    pub schema: bool,
    /// Print the set as a rule file, to begin one of your own with
    #[arg(long, requires = "name", conflicts_with = "json")]
    pub toml: bool,
    /// Print JSON
    #[arg(long, conflicts_with_all = ["check", "explain", "schema"])]
    pub json: bool,
}

fn length_unit(text: &str) -> Result<LengthUnit, String> {
    LengthUnit::parse(text).ok_or_else(|| "expected in, cm, mm, m or ft".to_string())
}

pub fn metres(text: &str) -> Result<f64, String> {
    let number: f64 = text.parse().map_err(|_| "expected a number of metres".to_string())?;
    if number.is_finite() && (0.0..=1000.0).contains(&number) {
        Ok(number)
    } else {
        Err("expected metres between 0 and 1,000".to_string())
    }
}

fn length(text: &str) -> Result<f64, String> {
    parse_length_m(text)
        .filter(|&m| m > 0.0)
        .ok_or_else(|| "expected a length with its unit, such as 30in or 76cm".to_string())
}

/// Splits `role=COLUMN` pairs.
pub(crate) fn pairs(flag: &str, typed: &[String]) -> Result<BTreeMap<String, String>, Error> {
    let mut found = BTreeMap::new();
    for pair in typed {
        let Some((role, column)) = pair.split_once('=') else {
            return Err(Error::Usage {
                what: format!("{flag}: got `{pair}`; expected role=COLUMN"),
                hint: format!("{flag} diameter=TRUNK_D,species=BOT_NAME"),
            });
        };
        found.insert(role.trim().to_string(), column.trim().to_string());
    }
    Ok(found)
}

impl ReadingArgs {
    /// Resolves what was typed about the inputs.
    pub fn choices(&self) -> Result<ReadingChoices, Error> {
        Ok(ReadingChoices {
            tree_columns: pairs("--tree-columns", &self.tree_columns)?,
            work_columns: pairs("--work-columns", &self.work_columns)?,
            diameter_unit: self.diameter_unit,
            crown_unit: self.crown_unit,
            trees_crs: self.trees_crs.clone(),
            works_crs: self.works_crs.clone(),
            ground: self.ground()?,
            work_kinds: self.work_kinds.clone(),
            bounds: ReadBounds { record_mib: self.largest_record, unzipped_gib: self.largest_unzipped },
            ..ReadingChoices::default()
        })
    }
}

impl ReadingArgs {
    fn ground(&self) -> Result<[GroundReading; 3], Error> {
        let read = |layer: GroundLayer, columns: &[String], crs: &Option<String>| -> Result<_, Error> {
            Ok(GroundReading { columns: pairs(layer.columns_flag(), columns)?, crs: crs.clone() })
        };
        Ok([
            read(GroundLayer::Surfaces, &self.surface_columns, &self.surfaces_crs)?,
            read(GroundLayer::Site, &self.site_columns, &self.site_crs)?,
            read(GroundLayer::Barriers, &self.barrier_columns, &self.barriers_crs)?,
        ])
    }
}

impl ScreenArgs {
    /// Resolves what was typed into the choices of a run.
    pub fn settings(&self) -> Result<Settings, Error> {
        if let (false, Some(flag)) = (self.protect.protect, self.protect.first_typed()) {
            return Err(Error::Usage {
                what: format!("{flag}: says how trees are protected, which is worked out only with --protect"),
                hint: format!("add --protect, or leave {flag} out"),
            });
        }
        self.no_reading_without_file()?;
        let inputs = |typed: &[String]| typed.iter().map(|name| InputName::parse(name)).collect();
        let reading = ReadingChoices {
            measure_crs: self.measure_crs.clone(),
            accept_datum_error_m: self.accept_datum_error,
            ..self.reading.choices()?
        };
        Ok(Settings {
            trees: inputs(&self.trees),
            works: inputs(&self.works),
            ground: [inputs(&self.surfaces), inputs(&self.protect.site), inputs(&self.barriers.barriers)],
            permit: None,
            protect: self.protect.protect.then(|| self.protect.choices()).transpose()?,
            rules: self.rules.clone(),
            reading,
            position_error_m: self.position_error,
            search_distance_m: self.search_distance,
            heritage_size_m: self.heritage_size,
            out: self.out.clone(),
            layers: self.layer_files.of(self.chosen_layers()?)?,
            replace_files: self.replace_files,
            layer_format: self.layer_files.format(),
            geopackage: self.layer_files.geopackage,
            barriers: self.barriers.choices()?,
            pages: self.pages.asked(),
        })
    }

    /// Refuses what is said about files of ground that are not given.
    fn no_reading_without_file(&self) -> Result<(), Error> {
        let given = [&self.surfaces, &self.protect.site, &self.barriers.barriers];
        let read = &self.reading;
        let columns = [&read.surface_columns, &read.site_columns, &read.barrier_columns];
        let crs = [&read.surfaces_crs, &read.site_crs, &read.barriers_crs];
        for (at, layer) in GroundLayer::ALL.into_iter().enumerate().filter(|(at, _)| given[*at].is_empty()) {
            let typed = [(layer.columns_flag(), !columns[at].is_empty()), (layer.crs_flag(), crs[at].is_some())];
            if let Some((flag, _)) = typed.into_iter().find(|(_, typed)| *typed) {
                let what = format!("{flag}: says how the files of --{} are read, and there are none", layer.word());
                return Err(Error::Usage { what, hint: format!("add --{} FILE, or leave {flag} out", layer.word()) });
            }
        }
        Ok(())
    }

    fn chosen_layers(&self) -> Result<BTreeSet<Layer>, Error> {
        let Some(typed) = &self.layers else {
            let made = |layer: &Layer| self.protect.protect || !layer.needs_protection();
            return Ok(Layer::ALL.into_iter().filter(made).collect());
        };
        if typed.len() == 1 && typed[0] == "none" {
            return Ok(BTreeSet::new());
        }
        typed
            .iter()
            .map(|word| {
                let needs_protection = Layer::ALL.iter().any(|layer| layer.word() == word && layer.needs_protection());
                if needs_protection && !self.protect.protect {
                    return Err(Error::Usage {
                        what: format!("--layers: the layer `{word}` is made with --protect only"),
                        hint: format!("add --protect, or leave {word} out"),
                    });
                }
                Layer::ALL.into_iter().find(|layer| layer.word() == word).ok_or_else(|| Error::Usage {
                    what: format!("--layers: no layer `{word}`"),
                    hint: "--layers trees,root_zones,overlaps,works (with --protect also fences,ground_cover,service_lines) or \
                           --layers none"
                        .to_string(),
                })
            })
            .collect()
    }
}
