//! The resolved choices of one run: plain data, no clap. Made by the binary from what the user typed.

use crate::model::barrier::BarrierClass;
pub use crate::model::traffic::Traffic;
use crate::model::upkeep::Job;
use crate::units::LengthUnit;
use std::collections::{BTreeMap, BTreeSet};
use std::path::PathBuf;

/// An input as typed: `city.gpkg#trees` is a file and a layer in it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct InputName {
    /// The file or folder.
    pub path: PathBuf,
    /// The layer within it, where named.
    pub layer: Option<String>,
}

impl InputName {
    /// Splits `file#layer`. A `#` counts as a separator only where no file of the whole name exists.
    pub fn parse(typed: &str) -> InputName {
        let whole = PathBuf::from(typed);
        match typed.rsplit_once('#') {
            Some((file, layer)) if !layer.is_empty() && !whole.exists() => {
                InputName { path: PathBuf::from(file), layer: Some(layer.to_string()) }
            }
            _ => InputName { path: whole, layer: None },
        }
    }

    /// As a person names it: the path as typed, with the layer.
    pub fn display(&self) -> String {
        match &self.layer {
            Some(layer) => format!("{}#{layer}", self.path.display()),
            None => self.path.display().to_string(),
        }
    }

    /// The name without its folder, with the layer: what files of results print, so that they do not depend on the folder.
    pub fn short(&self) -> String {
        let file = self.path.file_name().map_or_else(String::new, |name| name.to_string_lossy().into_owned());
        match &self.layer {
            Some(layer) => format!("{file}#{layer}"),
            None => file,
        }
    }
}

/// A layer that can be written.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Layer {
    /// `layers/trees.geojson`
    Trees,
    /// `layers/root_zones.geojson`
    RootZones,
    /// `layers/overlaps.geojson`
    Overlaps,
    /// `layers/works.geojson`
    Works,
    /// `layers/fences.geojson`, where protection is asked for
    Fences,
    /// `layers/ground_cover.geojson`, where protection is asked for
    GroundCover,
    /// `layers/service_lines.geojson`, where protection is asked for
    ServiceLines,
}

impl Layer {
    /// All layers, in the order of the contract.
    pub const ALL: [Layer; 7] = [
        Layer::Trees,
        Layer::RootZones,
        Layer::Overlaps,
        Layer::Works,
        Layer::Fences,
        Layer::GroundCover,
        Layer::ServiceLines,
    ];

    /// The word in `--layers` and the file's name.
    pub fn word(self) -> &'static str {
        match self {
            Layer::Trees => "trees",
            Layer::RootZones => "root_zones",
            Layer::Overlaps => "overlaps",
            Layer::Works => "works",
            Layer::Fences => "fences",
            Layer::GroundCover => "ground_cover",
            Layer::ServiceLines => "service_lines",
        }
    }

    /// What its features are.
    pub fn drawn_as(self) -> DrawnAs {
        match self {
            Layer::Trees => DrawnAs::Points,
            Layer::RootZones | Layer::Overlaps | Layer::Works | Layer::Fences | Layer::GroundCover => DrawnAs::Polygons,
            Layer::ServiceLines => DrawnAs::Lines,
        }
    }

    /// Whether it is written only where protection is asked for.
    pub fn needs_protection(self) -> bool {
        matches!(self, Layer::Fences | Layer::GroundCover | Layer::ServiceLines)
    }
}

/// What the features of a layer are.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum DrawnAs {
    /// One point each.
    Points,
    /// Polygons.
    Polygons,
    /// Lines.
    Lines,
}

/// The format of the layers' own files.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum LayerFormat {
    /// `layers/*.geojson`
    #[default]
    GeoJson,
    /// `layers/*.fgb`
    FlatGeobuf,
}

impl LayerFormat {
    /// The word in `--layer-format`.
    pub fn word(self) -> &'static str {
        match self {
            LayerFormat::GeoJson => "geojson",
            LayerFormat::FlatGeobuf => "flatgeobuf",
        }
    }
}

/// Ground that exists, or within which something is allowed: read as works are, owned by no permit.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum GroundLayer {
    /// `--surfaces`: existing pavement and buildings.
    Surfaces,
    /// `--site`: the ground on which fences may stand: the site, and the public right of way where the city allows it.
    Site,
    /// `--barriers`: what roots do not pass: existing foundations, walls, roads.
    Barriers,
}

impl GroundLayer {
    /// All, in the order in which their files are numbered.
    pub const ALL: [GroundLayer; 3] = [GroundLayer::Surfaces, GroundLayer::Site, GroundLayer::Barriers];

    /// The word of the option, and of the input in `run.json`.
    pub fn word(self) -> &'static str {
        match self {
            GroundLayer::Surfaces => "surfaces",
            GroundLayer::Site => "site",
            GroundLayer::Barriers => "barriers",
        }
    }

    /// One of its records, in a message.
    pub fn noun(self) -> &'static str {
        match self {
            GroundLayer::Surfaces => "surface",
            GroundLayer::Site => "site",
            GroundLayer::Barriers => "barrier",
        }
    }

    /// The option that says which column is what.
    pub fn columns_flag(self) -> &'static str {
        match self {
            GroundLayer::Surfaces => "--surface-columns",
            GroundLayer::Site => "--site-columns",
            GroundLayer::Barriers => "--barrier-columns",
        }
    }

    /// The option that states the CRS.
    pub fn crs_flag(self) -> &'static str {
        match self {
            GroundLayer::Surfaces => "--surfaces-crs",
            GroundLayer::Site => "--site-crs",
            GroundLayer::Barriers => "--barriers-crs",
        }
    }
}

/// How the files of one layer of ground are to be understood.
#[derive(Debug, Clone, Default)]
pub struct GroundReading {
    /// `role=COLUMN`.
    pub columns: BTreeMap<String, String>,
    /// CRS where the file states none.
    pub crs: Option<String>,
}

/// What decides how columns and cells of the inputs are understood.
#[derive(Debug, Clone, Default)]
pub struct ReadingChoices {
    /// `--tree-columns role=COLUMN`.
    pub tree_columns: BTreeMap<String, String>,
    /// `--work-columns role=COLUMN`.
    pub work_columns: BTreeMap<String, String>,
    /// `--diameter-unit`.
    pub diameter_unit: Option<LengthUnit>,
    /// Only for a look into a file that a run would refuse: the unit to go on with where none is stated. Never set for a run.
    pub stand_in_unit: Option<LengthUnit>,
    /// `--crown-unit`.
    pub crown_unit: Option<LengthUnit>,
    /// `--trees-crs`.
    pub trees_crs: Option<String>,
    /// `--works-crs`.
    pub works_crs: Option<String>,
    /// Columns and CRS of the layers of ground, in the order of [`GroundLayer::ALL`].
    pub ground: [GroundReading; 3],
    /// `--measure-crs`.
    pub measure_crs: Option<String>,
    /// `--accept-datum-error`, metres; 5 by default.
    pub accept_datum_error_m: Option<f64>,
    /// `--work-kinds FILE`.
    pub work_kinds: Option<PathBuf>,
    /// How much of one thing is read.
    pub bounds: ReadBounds,
}

/// How much of one thing is read before it is taken for damage or an attack.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct ReadBounds {
    /// `--largest-record`: a row of text or a GeoJSON feature, MiB; 64 by default, at most [`ReadBounds::MOST_RECORD_MIB`].
    pub record_mib: u32,
    /// `--largest-unzipped`: what a zip unpacks to in all, GiB, whatever its own size; by default 4, and 200 times the zip.
    pub unzipped_gib: Option<u32>,
}

impl ReadBounds {
    /// Cells are counted in 32 bits.
    pub const MOST_RECORD_MIB: u32 = 2048;

    /// The largest record, bytes.
    pub fn record_bytes(self) -> usize {
        self.record_mib as usize * (1 << 20)
    }
}

impl Default for ReadBounds {
    fn default() -> ReadBounds {
        ReadBounds { record_mib: 64, unzipped_gib: None }
    }
}

/// What decides how trees that stay are protected.
#[derive(Debug, Clone)]
pub struct ProtectChoices {
    /// `--clearance`: room for work between a work and a fence, metres; 1 by default.
    pub clearance_m: f64,
    /// `--fence NAME`: the specification of the fence, where typed.
    pub fence: Option<String>,
    /// `--traffic`: the heaviest expected on root zones outside the fences.
    pub traffic: Traffic,
    /// `--protection-values FILE`: a table of your own values that goes over the built-in one.
    pub values: Option<PathBuf>,
    /// Service lines.
    pub services: ServiceChoices,
    /// Water, calendar and quantities.
    pub upkeep: UpkeepChoices,
}

/// What decides how service lines are judged.
#[derive(Debug, Clone, PartialEq)]
pub struct ServiceChoices {
    /// `--shift-within`: how far a line may be moved, metres; 5 by default.
    pub shift_within_m: f64,
    /// `--service-values FILE`: depths of bores and the size of pits in place of the built-in ones.
    pub values: Option<PathBuf>,
}

/// Which barriers stop roots, and whether lost area is made up.
#[derive(Debug, Clone)]
pub struct BarrierChoices {
    /// `--barrier-roots`: whether roots stop at each class, in the order of [`BarrierClass::ALL`].
    pub stops: [bool; 4],
    /// `--make-up-area`.
    pub make_up_area: bool,
}

impl Default for BarrierChoices {
    fn default() -> BarrierChoices {
        BarrierChoices { stops: BarrierClass::ALL.map(BarrierClass::stops_by_default), make_up_area: false }
    }
}

impl BarrierChoices {
    /// Whether roots stop at a class.
    pub fn stop(&self, class: BarrierClass) -> bool {
        self.stops[class as usize]
    }

    /// The word for it.
    pub fn word(&self, class: BarrierClass) -> &'static str {
        if self.stop(class) { "stop" } else { "pass" }
    }
}

/// What decides about water, the calendar and quantities; what is not typed comes from the table of values.
#[derive(Debug, Clone, Default)]
pub struct UpkeepChoices {
    /// `--start` and `--end`.
    pub job: Option<Job>,
    /// `--weather FILE`.
    pub weather: Option<PathBuf>,
    /// `--weather-columns role=COLUMN[:UNIT]`.
    pub weather_columns: BTreeMap<String, String>,
    /// `--soil TEXTURE`.
    pub soil: Option<String>,
    /// `--crop-coefficient`.
    pub crop_coefficient: Option<f64>,
    /// `--root-depth`, metres.
    pub root_depth_m: Option<f64>,
    /// `--throw`, metres.
    pub throw_m: Option<f64>,
    /// `--sprinkler-flow`, litres a minute.
    pub flow_l_per_min: Option<f64>,
    /// `--inspect-every`, days.
    pub inspect_every_days: Option<u32>,
    /// `--monitor-years`.
    pub monitor_years: Option<u32>,
    /// `--prices FILE`.
    pub prices: Option<PathBuf>,
    /// `--upkeep-values FILE`: a table of your own values that goes over the built-in one.
    pub values: Option<PathBuf>,
}

/// The units that pages are written in.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum ShownUnits {
    /// Metres and centimetres.
    Metric,
    /// Feet and inches.
    Us,
}

impl ShownUnits {
    /// The word of the option.
    pub fn word(self) -> &'static str {
        match self {
            ShownUnits::Metric => "metric",
            ShownUnits::Us => "us",
        }
    }

    /// The one that is not this.
    #[must_use]
    pub fn other(self) -> ShownUnits {
        match self {
            ShownUnits::Metric => ShownUnits::Us,
            ShownUnits::Us => ShownUnits::Metric,
        }
    }
}

/// The paper that pages are printed on.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Paper {
    /// 210 x 297 mm.
    A4,
    /// 8.5 x 11 in.
    Letter,
}

impl Paper {
    /// The word of the option, and of CSS.
    pub fn word(self) -> &'static str {
        match self {
            Paper::A4 => "A4",
            Paper::Letter => "letter",
        }
    }
}

/// What decides how the pages for people are written.
#[derive(Debug, Clone)]
pub struct PageChoices {
    /// `--language FILE`: texts in another language.
    pub language: Option<PathBuf>,
    /// `--units`: where typed; else those of the rule set.
    pub units: Option<ShownUnits>,
    /// `--paper`: where typed; else letter with US units, A4 with metric ones.
    pub paper: Option<Paper>,
}

/// Everything one screening needs to know.
#[derive(Debug, Clone)]
pub struct Settings {
    /// Tree files, in the order typed.
    pub trees: Vec<InputName>,
    /// Work files, in the order typed.
    pub works: Vec<InputName>,
    /// Files of the layers of ground, in the order of [`GroundLayer::ALL`], each in the order typed; may be none.
    pub ground: [Vec<InputName>; 3],
    /// Only this permit, where one is named.
    pub permit: Option<String>,
    /// What has to protect the trees that stay, where asked for.
    pub protect: Option<ProtectChoices>,
    /// Rule sets: built-in names or files. The first decides; the others are set beside it.
    pub rules: Vec<String>,
    /// Columns, units, CRSs, kinds.
    pub reading: ReadingChoices,
    /// `--position-error`, metres; 1 by default.
    pub position_error_m: f64,
    /// `--search-distance`, metres; 15 by default.
    pub search_distance_m: f64,
    /// `--heritage-size`, metres of diameter, where typed.
    pub heritage_size_m: Option<f64>,
    /// Output folder.
    pub out: PathBuf,
    /// Layers to write.
    pub layers: BTreeSet<Layer>,
    /// `--replace-files`: put files in place one by one where the file system cannot exchange folders.
    pub replace_files: bool,
    /// `--layer-format`.
    pub layer_format: LayerFormat,
    /// `--geopackage`: all layers in one file as well.
    pub geopackage: bool,
    /// Which of the barriers of `--barriers` stop roots.
    pub barriers: BarrierChoices,
    /// The pages for people; none with `--sheets none`.
    pub pages: Option<PageChoices>,
}

impl Settings {
    /// All inputs: trees, works, surfaces, site, barriers; the numbering of files everywhere.
    pub fn inputs(&self) -> impl Iterator<Item = &InputName> {
        self.trees.iter().chain(&self.works).chain(self.ground.iter().flatten())
    }

    /// The files of a layer of ground.
    pub fn ground_files(&self, layer: GroundLayer) -> &[InputName] {
        &self.ground[layer as usize]
    }

    /// The number of the first file of a layer of ground among [`Settings::inputs`].
    pub fn first_ground_file(&self, layer: GroundLayer) -> usize {
        let before: usize = self.ground[..layer as usize].iter().map(Vec::len).sum();
        self.trees.len() + self.works.len() + before
    }
}
