//! The one page that names every stage: open, read, normalise, index, measure, judge, write.
//!
//! Works are held in memory; trees pass through in chunks. Rows, each with its tree, wait in a file without a name; what orders and counts
//! them is held. The same inputs and settings give the same bytes for any number of threads.

mod apart;
mod asked;
mod barriers;
mod extent;
mod facts;
mod frame;
mod gather;
mod ground;
mod inspect;
mod lines;
mod open;
pub mod progress;
mod protect;
mod replacement;
mod rows;
mod set_back;
mod spent;
mod standing;
mod trees;
mod unmatched_species;
mod upkeep;
mod works;

pub use facts::versions_text;
pub use inspect::{Inspected, InspectedAs, inspect};

use crate::error::{Error, Result};
use crate::geometry::clip::clip_to_ground;
use crate::geometry::outline::{disc_outline, overlap_outline};
use crate::geometry::severed_outline::severed_outline;
use crate::index::WorkIndex;
use crate::issue::{Issue, Outcome};
use crate::measure::{Ground, Surfaces};
use crate::model::results::Results;
use crate::model::rows::{RowFile, Rows};
use crate::model::run_facts::RunFacts;
use crate::model::work::Work;
use crate::projection::{Operation, Projector};
use crate::protect::service_values::ServiceValues;
use crate::protect::upkeep::UpkeepPlan;
use crate::protect::values::Values;
use crate::read::Survey;
use crate::rules::RuleSet;
use crate::settings::{GroundLayer, InputName, Settings};
use crate::write::{Drawing, POSITION_DECIMALS, Pages, Staging, Words};
use barriers::RootBarriers;
use extent::Extent;
use facts::Known;
use frame::{FileExtent, Frame};
use ground::Given;
use lines::{LineReach, Neighbourhood};
use open::{OpenTrees, OpenWorks};
use progress::{Progress, Timings};
use rows::{Bench, wanted_by};
use spent::Spent;
use std::borrow::Cow;
use std::sync::Arc;
use trees::{TreeFile, TreePass};
use works::Assembled;

/// A finished run: what was written, for the closing summary.
pub struct Screened {
    /// The results.
    pub results: Results,
    /// What `run.json` says.
    pub facts: RunFacts,
    /// Seconds by stage.
    pub timings: Timings,
}

/// The whole job: screens the works of all permits against all trees and writes the output folder.
///
/// # Errors
/// Whatever stops the run leaves the output folder as it was; see [`Error`].
pub fn screen(settings: &Settings, progress: &dyn Progress) -> Result<Screened> {
    let mut timings = Timings::default();
    let rules = load_rules(settings)?;
    check_inputs(settings)?;
    let values = match &settings.protect {
        Some(choices) => {
            let values = Values::load(choices.values.as_deref())?;
            protect::fence_of(choices, &rules[0], &values)?;
            Some((
                (values, ServiceValues::load(choices.services.values.as_deref())?),
                upkeep::read_upkeep(&choices.upkeep)?,
            ))
        }
        None => None,
    };
    let words = match &settings.pages {
        Some(choices) => Some(Words::load(choices.language.as_deref())?),
        None => None,
    };
    let mut staging = Staging::begin(&settings.out, settings.replace_files)?;

    let (opened, surveys) = timings.stage(progress, "read", "works and trees", None, || {
        rayon::join(|| open_works(settings), || survey_trees(settings))
    });
    let opened = opened?;
    let mut site = timings.stage(progress, "normalise", "works", None, || lay_out(settings, opened))?;
    let mut ground: [Given; 3] = Default::default();
    if !settings.ground.iter().all(Vec::is_empty) {
        ground = timings
            .stage(progress, "read", "surfaces, site and barriers", None, || read_ground(settings, &mut site))?;
    }
    let opened = timings
        .stage(progress, "read", "columns and CRS of the trees", None, || open_trees(settings, surveys?, &site))?;
    let paved = &ground[GroundLayer::Surfaces as usize];
    let surfaces = (!paved.opened.is_empty()).then(|| Arc::new(Surfaces::new(&paved.shapes)));
    let (index, grounds, seen) = timings.stage(progress, "index", "works, and the ground of the permits", None, || {
        let seen: Vec<Cow<'_, [Work]>> = rules.iter().map(|rules| seen_by(rules, &site.works)).collect();
        let in_question = || (0..).zip(&site.works).filter(|(_, work)| work.in_question());
        let ground = |(rules, works): (&RuleSet, &Cow<'_, [Work]>)| {
            Ground::prepare(works, &site.permits, wanted_by(rules), surfaces.clone())
        };
        let (index, grounds) = rayon::join(
            || WorkIndex::new(in_question().map(|(number, work)| (number, &work.shape))),
            || rules.iter().zip(&seen).map(ground).collect::<Vec<Ground>>(),
        );
        (index, grounds, seen)
    });
    let barriers = RootBarriers::new(&ground[GroundLayer::Barriers as usize], &settings.barriers);
    let benches: Vec<Bench<'_>> = (0u16..)
        .zip(&rules)
        .zip(grounds.iter().zip(&seen))
        .map(|((rule_set, rules), (ground, works))| Bench {
            rules,
            rule_set,
            index: &index,
            ground,
            works,
            position_error_m: settings.position_error_m,
            search_distance_m: settings.search_distance_m,
            works_from_m: 0.0,
            barriers: barriers.as_ref(),
        })
        .collect();

    let total = opened.iter().map(|(open, _)| open.survey.rows).sum();
    let lines = settings
        .protect
        .as_ref()
        .map(|choices| LineReach { bench: &benches[0], shift_m: choices.services.shift_within_m });
    let mut waiting = RowFile::new(staging.nameless_file()?);
    let pass = timings.stage(progress, "measure", "trees against works", Some(total), || {
        screen_trees(settings, &opened, &benches, lines.as_ref(), (&mut waiting, progress))
    })?;
    let apart = apart::check_reach(&pass, &site, settings, &opened)?;
    let (mut spent, names) = (site.spent.clone(), short_names(settings));
    let neighbours = pass.neighbours;
    spent.add(pass.spent);
    let gathered = gather::gather((pass.trees, &pass.heads), rules.len(), &names, &mut spent);
    drop(pass.heads);
    let rows = Rows::new(gathered.rows, gathered.renamed, waiting);
    let asks_species = rules.iter().any(RuleSet::asks_species);
    spent.note(unmatched_species::unmatched_species(&rows, asks_species)?);
    let together = timings
        .stage(progress, "judge", "permits together", None, || gather::together(&benches[0], &rows, &site.permits))?;

    let mut facts = Known { settings, rules: &rules, site: &site, trees: &opened, ground: &ground }.facts();
    facts.defaults.extend(apart);
    // What is drawn and listed is what was measured: the works as the deciding rule set sees them.
    let seen = match seen.into_iter().next() {
        Some(Cow::Owned(seen)) => Some(seen),
        _ => None,
    };
    let Site { works, permits, frame, opened: opened_works, .. } = site;
    let works = seen.unwrap_or(works);
    spent.settle();
    let mut results = Results {
        owed: replacement::by_permit(&rules[0], &rows, permits.len())?,
        trees: Vec::new(),
        permits,
        works,
        rows,
        together,
        compared: gathered.compared,
        issues: spent.issues,
        counts: spent.counts,
        protection: None,
        upkeep: None,
        set_backs: Vec::new(),
        asked: Vec::new(),
    };
    // The works are the same as before, but now they belong to the results.
    let bench = Bench {
        rules: &rules[0],
        rule_set: 0,
        index: &index,
        ground: &grounds[0],
        works: &results.works,
        position_error_m: settings.position_error_m,
        search_distance_m: settings.search_distance_m,
        works_from_m: 0.0,
        barriers: barriers.as_ref(),
    };
    if let Some((choices, (values, upkeep))) = settings.protect.as_ref().zip(values) {
        let (trees, protection, upkeep) =
            timings.stage(progress, "protect", "trees that stay", None, || -> Result<_> {
                let reach = LineReach { bench: &bench, shift_m: choices.services.shift_within_m };
                let measured = (surfaces.clone(), wanted_by(&rules[0]));
                let trees = results.rows.read_trees()?;
                let around = Neighbourhood::new(&reach, (&trees, &neighbours), &results.permits, measured);
                let surfaces = &ground[GroundLayer::Surfaces as usize].shapes;
                let plan = UpkeepPlan::new(upkeep, &choices.upkeep, frame.centre_lonlat.1, surfaces)?;
                let protection =
                    protect::protect_all(choices, &rules[0], (&results, &trees), &ground, (&around, &values, &plan))?;
                let upkeep = plan.finish(&protection, &results.permits);
                drop(around);
                Ok((trees, protection, upkeep))
            })?;
        facts.defaults.extend(upkeep.notes.iter().cloned());
        (results.trees, results.protection, results.upkeep) = (trees, Some(protection), Some(upkeep));
    }
    if settings.pages.is_some() {
        (results.set_backs, results.asked) = timings.stage(progress, "judge", "set-backs", None, || -> Result<_> {
            Ok((set_back::set_backs(&bench, &results)?, asked::asked(&rules[0], &results)?))
        })?;
    }
    let pages = settings.pages.as_ref().zip(words).map(|(choices, words)| Pages::new(choices, words, &facts));
    timings.stage(progress, "write", "layers, tables and pages", None, || {
        let to_wgs84 = |places: &[geo::Coord<f64>]| to_lonlat(&frame.to_wgs84, places);
        let works_outline = |permit, centre, radius_m| grounds[0].outline(permit, centre, radius_m);
        let drawing = drawing(settings, &to_wgs84, &works_outline);
        crate::write::write_all(&results, &facts, &settings.layers, &drawing, pages.as_ref(), &mut staging)?;
        let ground = ground.iter().flat_map(|given| &given.opened);
        let surveys = opened.iter().map(|(open, _)| &open.survey);
        surveys
            .chain(opened_works.iter().chain(ground).map(|open| &open.survey))
            .try_for_each(Survey::check_unchanged)?;
        staging.finish()
    })?;
    Ok(Screened { results, facts, timings })
}

/// The rule sets of the run, the deciding one first; each once.
fn load_rules(settings: &Settings) -> Result<Vec<RuleSet>> {
    let mut sets: Vec<RuleSet> = Vec::new();
    for typed in &settings.rules {
        let set = RuleSet::load(typed)?.with_heritage_size(settings.heritage_size_m);
        if sets.iter().any(|known| known.name == set.name) {
            let what = format!("--rules: two rule sets are named `{}`; expected each name once", set.name);
            return Err(Error::Usage { what, hint: "give one of the files another `name`".to_string() });
        }
        sets.push(set);
    }
    Ok(sets)
}

/// The works as a rule set sees them.
fn seen_by<'a>(rules: &RuleSet, works: &'a [Work]) -> Cow<'a, [Work]> {
    match rules.changes_works() {
        true => works.iter().map(|work| rules.seen(work)).collect(),
        false => Cow::Borrowed(works),
    }
}

/// The layers of ground, in their order.
fn read_ground(settings: &Settings, site: &mut Site) -> Result<[Given; 3]> {
    let works = Extent::of(site.works.iter().map(|work| &work.shape));
    let mut read = |layer| ground::read_ground(layer, settings, &site.frame, works, &mut site.spent);
    Ok([read(GroundLayer::Surfaces)?, read(GroundLayer::Site)?, read(GroundLayer::Barriers)?])
}

/// Every input is there, before anything is read: a mistyped name costs no waiting.
fn check_inputs(settings: &Settings) -> Result<()> {
    for input in settings.inputs() {
        std::fs::metadata(&input.path).map_err(|error| Error::io(&input.path, "read", error))?;
    }
    Ok(())
}

/// The works of all files on one plane.
struct Site {
    frame: Frame,
    works: Vec<crate::model::work::Work>,
    permits: Vec<crate::model::work::Permit>,
    spent: Spent,
    opened: Vec<OpenWorks>,
    operations: Vec<Option<Operation>>,
    /// Permits of the files that are left out, because one was asked for.
    other_permits: usize,
}

fn open_works(settings: &Settings) -> Result<Vec<OpenWorks>> {
    let kinds = open::kinds(&settings.reading)?;
    settings.works.iter().map(|input| open::open_works(input, &settings.reading, &kinds, None)).collect()
}

/// Reads all works, chooses the measuring plane from their extent, and brings them onto it.
fn lay_out(settings: &Settings, opened: Vec<OpenWorks>) -> Result<Site> {
    let mut spent = Spent::new(settings.inputs().count());
    let (mut raw, mut lost) = (Vec::new(), Vec::new());
    for (number, open) in opened.iter().enumerate() {
        raw.push(works::read_works(open, file_number(settings.trees.len() + number), &mut spent, &mut lost)?);
    }
    let extents: Vec<_> = opened
        .iter()
        .zip(&raw)
        .filter_map(|(open, raw)| {
            let rect = works::extent(raw, &open.crs)?;
            Some(FileExtent { at: open.survey.input.display(), crs: &open.crs, rect })
        })
        .collect();
    if extents.is_empty() {
        return Err(no_works(settings, &spent));
    }
    let frame = Frame::choose(&extents, &settings.reading).map_err(|error| {
        let furthest =
            opened.iter().zip(&raw).filter_map(|(open, raw)| works::furthest(raw, &open.survey.input.display()));
        with_hint(error, &furthest.collect::<Vec<_>>())
    })?;
    let mut grounded = Vec::new();
    let mut operations = Vec::new();
    for (open, raw) in opened.iter().zip(raw) {
        let at = open.survey.input.display();
        let operation = works::operation(&raw, &at, &open.crs, &frame)?;
        if let Some(operation) = &operation {
            let of_file = works::ground_works(raw, &at, operation, &mut spent, &mut lost)?;
            spent.note(works::without_columns(open, &of_file));
            grounded.extend(of_file);
        }
        operations.push(operation);
    }
    if grounded.is_empty() {
        return Err(no_works(settings, &spent));
    }
    let mut assembled = works::assemble(grounded, &lost);
    let mut other_permits = 0;
    if let Some(permit) = &settings.permit {
        other_permits = assembled.permits.len().saturating_sub(1);
        for source in works::keep_permit(&mut assembled, permit)? {
            spent.counts[source.file as usize].out_of_reach += 1;
        }
    }
    let Assembled { works, permits, remarks } = assembled;
    spent.note(remarks);
    for work in &works {
        spent.counts[work.source.file as usize].used += 1;
    }
    Ok(Site { frame, works, permits, spent, opened, operations, other_permits })
}

fn survey_trees(settings: &Settings) -> Result<Vec<Survey>> {
    settings.trees.iter().map(|input| open::survey_trees(input, &settings.reading)).collect()
}

fn open_trees(settings: &Settings, surveys: Vec<Survey>, site: &Site) -> Result<Vec<(OpenTrees, Option<Operation>)>> {
    let near = Some(site.frame.centre_lonlat);
    let opened = surveys.into_iter().map(|survey| {
        let open = open::open_trees(survey, &settings.reading, near)?;
        let places = open.survey.sample.iter().filter_map(|record| open.plan.place(record).ok()).collect();
        let operation = site.frame.operation(&open.survey.input.display(), &open.crs, places)?;
        Ok((open, operation))
    });
    opened.collect()
}

fn screen_trees(
    settings: &Settings,
    opened: &[(OpenTrees, Option<Operation>)],
    benches: &[Bench<'_>],
    lines: Option<&LineReach<'_>>,
    (waiting, progress): (&mut RowFile, &dyn Progress),
) -> Result<TreePass> {
    let files = settings.inputs().count();
    let mut all = TreePass::new(files);
    for (number, (open, operation)) in opened.iter().enumerate() {
        let file = TreeFile { open, file: file_number(number), files, operation: operation.as_ref(), benches, lines };
        file.screen(&mut all, waiting, progress)?;
    }
    Ok(all)
}

/// How layers and pages are drawn.
fn drawing<'a>(
    settings: &Settings,
    to_wgs84: crate::write::layers::ToWgs84<'a>,
    works_outline: crate::write::layers::WorksOutline<'a>,
) -> Drawing<'a> {
    Drawing {
        to_wgs84,
        disc_outline: &disc_outline,
        works_outline,
        overlap_outline: &overlap_outline,
        severed_outline: &severed_outline,
        format: settings.layer_format,
        geopackage: settings.geopackage,
        on_ground: &clip_to_ground,
    }
}

/// Longitude and latitude of places in the measuring plane; NaN, which `write` refuses, where there is none.
fn to_lonlat(operation: &Operation, places: &[geo::Coord<f64>]) -> Vec<geo::Coord<f64>> {
    let mut places = places.to_vec();
    match Projector::new(operation) {
        Ok(projector) => {
            projector.forward_rounded(&mut places, POSITION_DECIMALS);
        }
        Err(_) => places.fill(geo::Coord { x: f64::NAN, y: f64::NAN }),
    }
    places
}

/// The error with more to look at.
fn with_hint(error: Error, more: &[String]) -> Error {
    match error {
        Error::Crs { at, what, hint } => Error::Crs { at, what, hint: format!("{hint}\n{}", more.join("\n")) },
        other => other,
    }
}

fn no_works(settings: &Settings, spent: &Spent) -> Error {
    let names = settings.works.iter().map(|input| input.display()).collect::<Vec<_>>().join(", ");
    Error::input(
        names,
        all_set_aside("work", spent),
        "rootward inspect --as works shows what is read from each column; were --trees and --works exchanged?",
    )
}

/// Says that every record was set aside, and the commonest reason with the first row it met.
fn all_set_aside(what: &str, spent: &Spent) -> String {
    let set_aside: Vec<&Issue> = spent.issues.iter().filter(|issue| issue.outcome == Outcome::SetAside).collect();
    let Some(first) = set_aside.first() else { return format!("no {what} in the files; expected at least one") };
    let same = set_aside.iter().filter(|issue| issue.code == first.code).count();
    format!(
        "no usable {what}: every record was set aside, {same} of {} as `{}` (first: row {}, {})",
        set_aside.len(),
        first.code,
        first.source.row,
        first.detail
    )
}

fn short_names(settings: &Settings) -> Vec<String> {
    settings.inputs().map(InputName::short).collect()
}

fn file_number(number: usize) -> u16 {
    u16::try_from(number).expect("a command line names fewer than 65,536 files")
}
