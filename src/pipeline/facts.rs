//! What `run.json` and the labels of the tables say of the run: from surveys, decisions, operations and the rule set.

use super::Site;
use super::ground::Given;
use super::open::{OpenTrees, OpenWorks};
use crate::model::barrier::BarrierClass;
use crate::model::crs::Crs;
use crate::model::run_facts::{
    ColumnFacts, CrsFacts, FileFacts, InputFacts, InputRole, OperationFacts, RulesFacts, RunFacts,
};
use crate::model::work::Work;
use crate::normalise::columns::Decision;
use crate::normalise::species::unknown_taxon;
use crate::projection::Operation;
use crate::read::Survey;
use crate::rules::RuleSet;
use crate::settings::{BarrierChoices, GroundLayer, LayerFormat, PageChoices, ProtectChoices, ReadBounds, Settings};
use crate::units::LengthUnit;
use sha2::{Digest, Sha256};
use std::collections::BTreeMap;

/// Said where `--permit` leaves others out.
const ONE_PERMIT: &str = "Only one permit of the files was asked for: what several permits take of one tree together is not looked at here, and can be worse. See cumulative.csv of rootward screen.";

/// Cautions that every run prints.
const CAUTIONS: [&str; 4] = [
    "Decision support for qualified people: not a tree risk assessment, permit or legal advice. Local codes, approved plans and the authority's arborist decide.",
    "Work near trees and roots can make them fail: have a qualified arborist judge stability before roots are cut.",
    "Locate buried services before digging. Protect workers at trenches, machines and power lines under the rules of the place.",
    "Severed area is a straight-line model from the trunk; real roots grow around things. Confirm by root investigation where it decides.",
];

/// All that is known of a run before it is written.
pub(super) struct Known<'a> {
    pub settings: &'a Settings,
    /// The deciding one first.
    pub rules: &'a [RuleSet],
    pub site: &'a Site,
    pub trees: &'a [(OpenTrees, Option<Operation>)],
    /// The layers of ground, in the order of [`GroundLayer::ALL`].
    pub ground: &'a [Given; 3],
}

impl Known<'_> {
    pub(super) fn facts(&self) -> RunFacts {
        RunFacts {
            program_version: env!("CARGO_PKG_VERSION").to_string(),
            gdal_version: crate::read::gdal_version(),
            proj_version: crate::projection::proj_version(),
            rules: Known::rules_of(&self.rules[0]),
            compared_rules: match self.rules {
                [_] => Vec::new(),
                several => several.iter().map(Known::rules_of).collect(),
            },
            inputs: self.inputs(),
            measuring_crs: crs_facts(&self.site.frame.measuring.crs),
            layers_operation: operation_facts(Some(&self.site.frame.to_wgs84)),
            settings: self.settings(),
            defaults: self.defaults(),
            cautions: self.cautions(),
        }
    }

    /// The same for every run, and what one permit alone cannot tell.
    fn cautions(&self) -> Vec<String> {
        let alone = (self.site.other_permits > 0).then_some(ONE_PERMIT);
        CAUTIONS.into_iter().chain(alone).map(str::to_string).collect()
    }

    fn rules_of(rules: &RuleSet) -> RulesFacts {
        RulesFacts {
            name: rules.name.clone(),
            title: rules.title.clone(),
            sha256: format!("{:x}", HexOf(&Sha256::digest(rules.source_text().as_bytes()))),
            rings: rules.rings.iter().map(|ring| ring.name.clone()).collect(),
            imperial: rules.imperial,
            cautions: vec![rules.caution.clone()],
            notes: rules.notes.clone(),
            heritage: rules.heritage_text(),
            replacement: rules.replacement_text(),
        }
    }

    fn inputs(&self) -> Vec<InputFacts> {
        let trees = self.trees.iter().map(|(open, operation)| Input {
            role: InputRole::Trees,
            survey: &open.survey,
            decisions: open.plan.decisions(),
            diameter_unit: open.plan.diameter_unit(),
            notes: open.plan.notes(),
            crs: &open.crs,
            operation: operation.as_ref(),
        });
        let works = shapes(InputRole::Works, &self.site.opened, &self.site.operations);
        let roles = [InputRole::Surfaces, InputRole::Site, InputRole::Barriers];
        let ground = roles.into_iter().zip(self.ground);
        let ground = ground.flat_map(|(role, given)| shapes(role, &given.opened, &given.operations));
        trees.chain(works).chain(ground).map(|input| input.facts(self.settings.reading.diameter_unit)).collect()
    }

    fn settings(&self) -> Vec<(String, String)> {
        let settings = self.settings;
        let mut typed = vec![
            ("position-error".to_string(), format!("{} m", settings.position_error_m)),
            ("search-distance".to_string(), format!("{} m", settings.search_distance_m)),
        ];
        let mut add = |flag: &str, value: Option<String>| typed.extend(value.map(|value| (flag.to_string(), value)));
        add("heritage-size", settings.heritage_size_m.map(|size_m| format!("{size_m} m")));
        let reading = &settings.reading;
        add("diameter-unit", reading.diameter_unit.map(|unit| unit.symbol().to_string()));
        add("crown-unit", reading.crown_unit.map(|unit| unit.symbol().to_string()));
        add("trees-crs", reading.trees_crs.clone());
        add("works-crs", reading.works_crs.clone());
        for layer in GroundLayer::ALL {
            add(layer.crs_flag().trim_start_matches('-'), reading.ground[layer as usize].crs.clone());
        }
        add("measure-crs", reading.measure_crs.clone());
        add("accept-datum-error", reading.accept_datum_error_m.map(|error_m| format!("{error_m} m")));
        let of_ground = GroundLayer::ALL
            .map(|layer| (layer.columns_flag().trim_start_matches('-'), &reading.ground[layer as usize].columns));
        let columns = [("tree-columns", &reading.tree_columns), ("work-columns", &reading.work_columns)];
        for (flag, pairs) in columns.into_iter().chain(of_ground) {
            let pairs: Vec<String> = pairs.iter().map(|(role, column)| format!("{role}={column}")).collect();
            add(flag, (!pairs.is_empty()).then(|| pairs.join(",")));
        }
        let kinds = reading.work_kinds.as_ref().and_then(|path| path.file_name());
        add("work-kinds", kinds.map(|name| name.to_string_lossy().into_owned()));
        let bounds = (reading.bounds, ReadBounds::default());
        add(
            "largest-record",
            (bounds.0.record_mib != bounds.1.record_mib).then(|| format!("{} MiB", bounds.0.record_mib)),
        );
        add("largest-unzipped", bounds.0.unzipped_gib.map(|gib| format!("{gib} GiB")));
        add("permit", settings.permit.clone());
        if !settings.ground_files(GroundLayer::Barriers).is_empty() {
            typed.extend(barrier_settings(&settings.barriers));
        }
        typed.extend(settings.protect.iter().flat_map(protect_settings));
        typed.extend(layer_settings(settings));
        typed.extend(settings.pages.iter().flat_map(page_settings));
        typed
    }

    fn defaults(&self) -> Vec<String> {
        let unknown = |taxon: &&str| unknown_taxon(taxon).is_some();
        let taxa: Vec<&str> = self.rules[0].taxa().into_iter().filter(unknown).collect();
        let unknown = (!taxa.is_empty()).then(|| {
            let taxa = taxa.join(", ");
            format!("names in the rule set that the botanical table lacks (misspelt? `rootward rules --check`): {taxa}")
        });
        let barriers = &self.ground[GroundLayer::Barriers as usize];
        let of_barriers = super::barriers::notes(barriers, &self.settings.barriers);
        let others = (self.site.other_permits > 0).then(|| ONE_PERMIT.to_string());
        let sizes = sizes_of_kinds(&self.site.works);
        let default = self.rules[0].heritage_default();
        default.into_iter().chain(unknown).chain(sizes).chain(of_barriers).chain(others).collect()
    }
}

/// Lines and points whose size the file does not state, one text for each kind and size.
fn sizes_of_kinds(works: &[Work]) -> Vec<String> {
    let mut counts: BTreeMap<(&str, bool, String), u64> = BTreeMap::new();
    for work in works.iter().filter(|work| work.counted()) {
        if let Some(size_m) = work.size_of_kind_m {
            *counts.entry((&work.kind, work.line.is_some(), format!("{size_m} m"))).or_default() += 1;
        }
    }
    let told = |((kind, is_line, size), count): ((&str, bool, String), u64)| {
        let (shape, what) = if is_line { ("line", "width") } else { ("point", "radius") };
        format!(
            "kind `{kind}`: {count} of its works {} a {shape} without a {what} in the file; {size} is taken, as is usual for the kind \
             (--work-columns {what}=COLUMN, or --work-kinds)",
            if count == 1 { "is" } else { "are each" }
        )
    };
    counts.into_iter().map(told).collect()
}

/// What was chosen on the files of the layers, where it is not what they are without a word.
fn layer_settings(settings: &Settings) -> Vec<(String, String)> {
    let format = settings.layer_format;
    let format = (format != LayerFormat::default()).then(|| ("layer-format".to_string(), format.word().to_string()));
    let geopackage = settings.geopackage.then(|| ("geopackage".to_string(), "yes".to_string()));
    format.into_iter().chain(geopackage).collect()
}

/// What was chosen on barriers.
fn barrier_settings(choices: &BarrierChoices) -> [(String, String); 2] {
    let switches = BarrierClass::ALL.map(|class| format!("{}={}", class.word(), choices.word(class)));
    let made_up = if choices.make_up_area { "yes" } else { "no" };
    [("barrier-roots".to_string(), switches.join(",")), ("make-up-area".to_string(), made_up.to_string())]
}

/// What was chosen on protection.
fn protect_settings(choices: &ProtectChoices) -> Vec<(String, String)> {
    let mut typed = vec![
        ("clearance".to_string(), format!("{} m", choices.clearance_m)),
        ("traffic".to_string(), choices.traffic.word().to_string()),
    ];
    typed.extend(choices.fence.iter().map(|name| ("fence".to_string(), name.clone())));
    let values = choices.values.as_ref().and_then(|path| path.file_name());
    typed.extend(values.map(|name| ("protection-values".to_string(), name.to_string_lossy().into_owned())));
    typed.push(("shift-within".to_string(), format!("{} m", choices.services.shift_within_m)));
    let values = choices.services.values.as_ref().and_then(|path| path.file_name());
    typed.extend(values.map(|name| ("service-values".to_string(), name.to_string_lossy().into_owned())));
    typed.extend(super::upkeep::upkeep_settings(&choices.upkeep));
    typed
}

/// What was typed on the pages.
fn page_settings(choices: &PageChoices) -> Vec<(String, String)> {
    let language = choices.language.as_ref().and_then(|path| path.file_name());
    let typed = [
        ("language", language.map(|name| name.to_string_lossy().into_owned())),
        ("units", choices.units.map(|units| units.word().to_string())),
        ("paper", choices.paper.map(|paper| paper.word().to_string())),
    ];
    typed.into_iter().filter_map(|(flag, value)| Some((flag.to_string(), value?))).collect()
}

/// The inputs that are read as works are.
fn shapes<'a>(
    role: InputRole,
    opened: &'a [OpenWorks],
    operations: &'a [Option<Operation>],
) -> impl Iterator<Item = Input<'a>> {
    opened.iter().zip(operations).map(move |(open, operation)| Input {
        role,
        survey: &open.survey,
        decisions: open.plan.decisions(),
        diameter_unit: None,
        notes: &[],
        crs: &open.crs,
        operation: operation.as_ref(),
    })
}

struct Input<'a> {
    role: InputRole,
    survey: &'a Survey,
    decisions: &'a [Decision],
    diameter_unit: Option<LengthUnit>,
    notes: &'a [String],
    crs: &'a Crs,
    operation: Option<&'a Operation>,
}

impl Input<'_> {
    fn facts(&self, typed_unit: Option<LengthUnit>) -> InputFacts {
        let survey = self.survey;
        let files = survey.files.iter().map(|file| FileFacts {
            name: file.name.clone(),
            bytes: file.bytes,
            sha256: file.sha256.clone(),
        });
        let columns = self.decisions.iter().filter(|decision| decision.column.is_some()).map(|decision| ColumnFacts {
            role: decision.role.to_string(),
            column: decision.column_name.clone(),
            unit: self.unit(decision),
        });
        let (encoding, mut notes): (Vec<String>, Vec<String>) =
            survey.notes.iter().cloned().partition(|note| note.starts_with("encoding"));
        // The format stands on its own, and a comma is what everyone expects.
        notes.retain(|note| note != survey.format.name() && note != "delimiter ,");
        notes.extend(self.notes.iter().cloned());
        notes.extend(self.unused_unit(typed_unit));
        if self.crs.origin.contains("taken") || self.crs.origin.contains("not used") {
            notes.push(format!("CRS {}: {}", self.crs.name, self.crs.origin));
        }
        InputFacts {
            role: self.role,
            name: survey.input.short(),
            format: survey.format.name().to_string(),
            layer: survey.layer.clone(),
            encoding: encoding.join("; ").replace("encoding ", ""),
            files: files.collect(),
            columns: columns.collect(),
            crs: crs_facts(self.crs),
            operation: operation_facts(self.operation),
            notes,
        }
    }
}

impl Input<'_> {
    /// Says where a typed unit was not needed: a column that states its own goes before it.
    fn unused_unit(&self, typed: Option<LengthUnit>) -> Option<String> {
        let (typed, used) = (typed?, self.diameter_unit?);
        (typed != used).then(|| format!("--diameter-unit {typed} is not used: the diameters are stated in {used}"))
    }

    fn unit(&self, decision: &Decision) -> String {
        let measures_trunk = matches!(decision.role, "diameter" | "girth");
        self.diameter_unit.filter(|_| measures_trunk).map_or_else(String::new, |unit| unit.symbol().to_string())
    }
}

fn crs_facts(crs: &Crs) -> CrsFacts {
    CrsFacts {
        name: crs.name.clone(),
        definition: crs.definition.clone(),
        authority: crs.authority.clone(),
        origin: crs.origin.clone(),
    }
}

fn operation_facts(operation: Option<&Operation>) -> OperationFacts {
    operation.map_or_else(OperationFacts::default, |operation| OperationFacts {
        description: operation.name.clone(),
        definition: operation.pipeline.clone(),
        accuracy_m: operation.accuracy_m,
    })
}

/// The versions of the program and of the libraries that decide results.
pub fn versions_text() -> String {
    format!(
        "rootward {}\nGDAL {}\nPROJ {}",
        env!("CARGO_PKG_VERSION"),
        crate::read::gdal_version(),
        crate::projection::proj_version()
    )
}

/// Bytes as hexadecimal digits.
struct HexOf<'a>(&'a [u8]);

impl std::fmt::LowerHex for HexOf<'_> {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        self.0.iter().try_for_each(|byte| write!(f, "{byte:02x}"))
    }
}
