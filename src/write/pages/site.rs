//! One permit as its sheet needs it: rows worst first with their numbers, works with their labels, shapes of overlaps.

use super::map_frame::Window;
use super::marks::{self, Drawn};
use crate::model::asked::Asked;
use crate::model::protection::Protection;
use crate::model::results::Row;
use crate::model::set_back::SetBack;
use crate::model::tree::Tree;
use crate::model::work::Work;
use crate::write::layers::{Drawing, overlap_shape};
use crate::write::view::{PermitView, View};
use geo::{BoundingRect, MultiPolygon};
use std::collections::{BTreeMap, HashMap};

/// Ground shown around a tree without a zone, metres.
const AROUND_TRUNK_M: f64 = 3.0;

/// The permit.
pub struct Site<'a> {
    /// Everything.
    pub view: &'a View<'a>,
    /// The permit and its rows.
    pub of: &'a PermitView<'a>,
    /// Index into `Results::permits`.
    pub permit: u32,
    /// Rows, worst first; the first is number 1.
    pub rows: Vec<&'a Row>,
    /// Works with their labels, in the order of the results.
    pub works: Vec<SiteWork<'a>>,
    /// The letter of each kind.
    pub letters: Vec<(String, String)>,
    /// What protects the trees that stay.
    pub protection: Option<&'a Protection>,
    /// The place in `works` of a work of the results.
    work_places: HashMap<u32, usize>,
    /// The number of a tree of the results.
    numbers: HashMap<u32, usize>,
}

/// A work and its label.
pub struct SiteWork<'a> {
    /// The work.
    pub work: &'a Work,
    /// Letter of its kind and number within it: `B1`.
    pub label: String,
    /// Its bounding box.
    pub window: Window,
    /// How it is drawn.
    pub drawn: Drawn,
}

impl<'a> Site<'a> {
    /// Puts the permit in order.
    pub fn new(view: &'a View<'a>, (of, rows): (&'a PermitView<'a>, &'a [Row]), permit: u32) -> Site<'a> {
        let mut rows: Vec<&Row> = rows.iter().collect();
        // Stable: rows that are equally bad stay in the order of their ids.
        rows.sort_by(|a, b| view.decided(a).worse_first(view.decided(b)).then_with(|| a.worse_first(b)));
        let owned =
            || of.permit.works.iter().filter_map(|&index| Some((index, view.results.works.get(index as usize)?)));
        let letters = marks::letters(owned().map(|(_, work)| work.kind.as_str()));
        let mut counts: BTreeMap<&str, u32> = BTreeMap::new();
        let labelled = owned().filter_map(|(index, work)| {
            let count = counts.entry(&work.kind).or_default();
            *count += 1;
            let letter = letters.iter().find(|(kind, _)| *kind == work.kind).map_or("", |(_, letter)| letter);
            let bounds = work.shape.bounding_rect()?;
            let window = Window { low: bounds.min(), high: bounds.max() };
            Some((index, SiteWork { work, label: format!("{letter}{count}"), window, drawn: Drawn::of(work) }))
        });
        let (indices, works): (Vec<u32>, Vec<_>) = labelled.unzip();
        let work_places = indices.into_iter().zip(0..).collect();
        let numbers = rows.iter().map(|row| row.tree).zip(1..).collect();
        let protection = view.results.protection.as_ref().and_then(|all| all.get(permit as usize));
        Site { view, of, permit, rows, works, letters, protection, work_places, numbers }
    }

    /// How far works would have to keep away from the tree of a row; `None` where it is not at risk, or goes.
    pub fn set_back(&self, row: &Row) -> Option<&'a SetBack> {
        let all = &self.view.results.set_backs;
        let at = all.binary_search_by_key(&(self.permit, row.tree), |one| (one.permit, one.tree)).ok()?;
        all.get(at)
    }

    /// What an answer to a row has to bring within the rules besides what decided; `None` where there is nothing more.
    pub fn asked(&self, row: &Row) -> Option<&'a Asked> {
        let all = &self.view.results.asked;
        let at = all.binary_search_by_key(&(self.permit, row.tree), |one| (one.permit, one.tree)).ok()?;
        all.get(at)
    }

    /// The label of a work (by its index in the results); `None` where it is another permit's.
    pub fn label(&self, work: u32) -> Option<&str> {
        self.work_places.get(&work).map(|&at| self.works[at].label.as_str())
    }

    /// The tree of a row.
    pub fn tree<'r>(&self, row: &'r Row) -> &'r Tree {
        self.view.tree(row)
    }

    /// The row that decides on the tree of a row of this permit, that of several permits together where it is worse.
    pub fn decided<'r>(&self, row: &'r Row) -> &'r Row
    where
        'a: 'r,
    {
        self.view.decided(row)
    }

    /// The number of a tree (by its index in the results) on the map; `None` where it has no row here.
    pub fn number(&self, tree: u32) -> Option<usize> {
        self.numbers.get(&tree).copied()
    }

    /// The ground that a row needs on a map.
    pub fn window_of(&self, row: &Row) -> Window {
        let reach_m = row.zone.as_ref().map_or(AROUND_TRUNK_M, |zone| zone.radius_m);
        Window::around(self.tree(row).place, reach_m + 0.5)
    }

    /// The works that meet a window and pass a test.
    pub fn shapes_in(&self, window: Window, wanted: impl Fn(&Work) -> bool) -> Vec<&'a MultiPolygon<f64>> {
        let near = self.works.iter().filter(|one| wanted(one.work) && one.window.common(window).is_some());
        near.map(|one| &one.work.shape).collect()
    }

    /// The drawn overlap of a row; empty where it has no zone.
    pub fn overlap(&self, row: &Row, drawing: &Drawing) -> MultiPolygon<f64> {
        overlap_shape(self.view, drawing, row)
    }

    /// The drawn severed ground of a row.
    pub fn severed(&self, row: &Row, drawing: &Drawing) -> MultiPolygon<f64> {
        let Some(zone) = &row.zone else { return MultiPolygon(Vec::new()) };
        let centre = self.tree(row).place;
        let shapes = self.shapes_in(Window::around(centre, zone.radius_m), |work| work.severs);
        if shapes.is_empty() {
            return MultiPolygon(Vec::new());
        }
        let drawn = (drawing.severed_outline)(&shapes, centre, zone.radius_m);
        match zone.ground() {
            None => drawn,
            Some(ground) => (drawing.on_ground)(&drawn, ground, centre),
        }
    }
}
