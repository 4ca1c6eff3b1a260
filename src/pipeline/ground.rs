//! Reads a layer of ground (existing surfaces, the site, barriers) the way works are read: projected, repaired, lines drawn out to
//! their width. It owns no permit.

use super::apart::FAR_APART_M;
use super::extent::Extent;
use super::frame::Frame;
use super::open::{self, OpenWorks};
use super::spent::Spent;
use super::{all_set_aside, file_number, works};
use crate::error::{Error, Result};
use crate::projection::Operation;
use crate::settings::{GroundLayer, Settings};
use geo::MultiPolygon;

/// One layer of ground of all its files on the measuring plane; nothing where none are given.
#[derive(Default)]
pub(super) struct Given {
    pub opened: Vec<OpenWorks>,
    pub operations: Vec<Option<Operation>>,
    pub shapes: Vec<MultiPolygon<f64>>,
    /// Kind of each shape, as the table of kinds names it; `unknown` where it does not.
    pub kinds: Vec<String>,
}

/// Reads all files of a layer; what cannot be used is set aside in `spent`. `works` is the extent of the works.
pub(super) fn read_ground(
    layer: GroundLayer,
    settings: &Settings,
    frame: &Frame,
    works: Extent,
    spent: &mut Spent,
) -> Result<Given> {
    let mut given = Given::default();
    if settings.ground_files(layer).is_empty() {
        return Ok(given);
    }
    let kinds = open::kinds(&settings.reading)?;
    let first = settings.first_ground_file(layer);
    for (number, input) in settings.ground_files(layer).iter().enumerate() {
        let open = open::open_ground(layer, input, &settings.reading, &kinds, Some(frame.centre_lonlat))?;
        let (file, at) = (file_number(first + number), input.display());
        // No permit loses anything by ground that is set aside.
        let raw = works::read_works(&open, file, spent, &mut Vec::new())?;
        let operation = works::operation(&raw, &at, &open.crs, frame)?;
        if let Some(operation) = &operation {
            let of_file = works::ground_works(raw, &at, operation, spent, &mut Vec::new())?;
            spent.counts[file as usize].used += of_file.len() as u64;
            for one in of_file {
                let (kind, shape) = one.into_kind_and_shape();
                given.kinds.push(kind.into_string());
                given.shapes.push(shape);
            }
        }
        given.operations.push(operation);
        given.opened.push(open);
    }
    check(layer, settings, &given, works, spent)?;
    Ok(given)
}

/// Ground that was asked for and is not there must not pass for none.
fn check(layer: GroundLayer, settings: &Settings, given: &Given, works: Extent, spent: &Spent) -> Result<()> {
    let (noun, word) = (layer.noun(), layer.word());
    let names = settings.ground_files(layer).iter().map(|input| input.display()).collect::<Vec<_>>().join(", ");
    if given.shapes.is_empty() {
        let first = settings.first_ground_file(layer);
        let files = file_number(first)..file_number(first + settings.ground_files(layer).len());
        let of_layer = Spent {
            counts: Vec::new(),
            issues: spent.issues.iter().filter(|issue| files.contains(&issue.source.file)).cloned().collect(),
        };
        let hint = format!("rootward inspect --as {word} shows what is read from each column");
        return Err(Error::input(names, all_set_aside(noun, &of_layer), hint));
    }
    let apart_m = Extent::of(given.shapes.iter()).gap(works).unwrap_or(0.0);
    if apart_m > FAR_APART_M {
        let what = format!(
            "the ground of --{word} is nowhere near the works: {:.0} km apart; expected the same neighbourhood",
            apart_m / 1000.0
        );
        let hint = format!("check {} and --works-crs: rootward inspect --as {word} FILE", layer.crs_flag());
        return Err(Error::input(names, what, hint));
    }
    Ok(())
}
