//! Reads existing pavement and buildings, the way works are read: projected, repaired, lines drawn out to their width. They own no permit.

use super::extent::Extent;
use super::frame::Frame;
use super::open::{self, OpenWorks};
use super::spent::Spent;
use super::{FAR_APART_M, all_set_aside, file_number, works};
use crate::error::{Error, Result};
use crate::projection::Operation;
use crate::settings::Settings;
use geo::MultiPolygon;

/// The existing surfaces of all files on the measuring plane; nothing where none are given.
#[derive(Default)]
pub(super) struct Paved {
    pub opened: Vec<OpenWorks>,
    pub operations: Vec<Option<Operation>>,
    pub shapes: Vec<MultiPolygon<f64>>,
}

/// Reads all files of surfaces; what cannot be used is set aside in `spent`. `works` is the extent of the works.
pub(super) fn read_surfaces(settings: &Settings, frame: &Frame, works: Extent, spent: &mut Spent) -> Result<Paved> {
    let kinds = open::kinds(&settings.reading)?;
    let mut paved = Paved::default();
    let first = settings.trees.len() + settings.works.len();
    for (number, input) in settings.surfaces.iter().enumerate() {
        let open = open::open_surfaces(input, &settings.reading, &kinds, Some(frame.centre_lonlat))?;
        let (file, at) = (file_number(first + number), input.display());
        // No permit loses anything by a surface that is set aside.
        let raw = works::read_works(&open, file, spent, &mut Vec::new())?;
        let operation = works::operation(&raw, &at, &open.crs, frame)?;
        if let Some(operation) = &operation {
            let of_file = works::ground_works(raw, &at, operation, spent, &mut Vec::new())?;
            spent.counts[file as usize].used += of_file.len() as u64;
            paved.shapes.extend(of_file.into_iter().map(works::GroundedWork::into_shape));
        }
        paved.operations.push(operation);
        paved.opened.push(open);
    }
    check(settings, &paved, works, spent)?;
    Ok(paved)
}

/// Surfaces that were asked for and are not there must not pass for open ground.
fn check(settings: &Settings, paved: &Paved, works: Extent, spent: &Spent) -> Result<()> {
    let names = settings.surfaces.iter().map(|input| input.display()).collect::<Vec<_>>().join(", ");
    if paved.shapes.is_empty() {
        let first = file_number(settings.trees.len() + settings.works.len());
        let of_surfaces = Spent {
            counts: Vec::new(),
            issues: spent.issues.iter().filter(|issue| issue.source.file >= first).cloned().collect(),
        };
        let hint = "rootward inspect --as surfaces shows what is read from each column";
        return Err(Error::input(names, all_set_aside("surface", &of_surfaces), hint));
    }
    let apart_m = Extent::of(paved.shapes.iter()).gap(works).unwrap_or(0.0);
    if apart_m > FAR_APART_M {
        let what = format!(
            "the surfaces are nowhere near the works: {:.0} km apart; expected the same neighbourhood",
            apart_m / 1000.0
        );
        return Err(Error::input(
            names,
            what,
            "check --surfaces-crs and --works-crs: rootward inspect --as surfaces FILE",
        ));
    }
    Ok(())
}
