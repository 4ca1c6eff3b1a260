//! Findings -> what has to stand, lie and happen on site so that the trees that stay come through.
//!
//! Works on one permit at a time, on shapes and numbers in the measuring plane. It finds nothing out about the site that was not
//! given, and promises nothing that only a person on site can: outputs say what to confirm.

pub mod calendar;
mod cover;
pub mod evaporation;
mod fate;
mod fence;
mod fence_line;
mod fence_measure;
mod fence_neck;
mod fence_posts;
mod ground;
pub mod materials;
pub mod open_ground;
pub mod prices;
pub mod service_advice;
mod service_bore;
mod service_shift;
pub mod service_values;
pub mod services;
pub mod sprinklers;
mod staying;
pub mod upkeep;
mod upkeep_notes;
pub mod upkeep_values;
pub mod values;
pub mod water;
pub mod water_balance;

#[cfg(test)]
#[path = "protect_tests.rs"]
mod tests;

use crate::geometry::Pieces;
use crate::model::protection::{Protection, Unfenced};
use crate::model::results::Row;
use crate::model::traffic::Traffic;
use crate::model::tree::Tree;
use crate::model::work::{Lasting, Permit, Work};
use crate::rules::RuleSet;
use crate::settings::ProtectChoices;
use geo::MultiPolygon;
use values::{FenceValues, Values};

/// Added to the clearance so that the rounding of overlays never brings a fence nearer, metres.
const ROUNDING_M: f64 = 5e-5;

/// What all permits share.
pub struct Site<'a> {
    /// What was chosen.
    pub choices: &'a ProtectChoices,
    /// The deciding rule set.
    pub rules: &'a RuleSet,
    /// `Results::trees`.
    pub trees: &'a [Tree],
    /// `Results::works`.
    pub works: &'a [Work],
    /// The layers of ground, cut up for use.
    pub ground: SiteGround,
    /// The table of protection values.
    pub values: &'a Values,
    /// How fences are built.
    pub built: &'a FenceValues,
    /// The trees around the service lines, and how they are measured; `None` where not asked for.
    pub lines: Option<services::Lines<'a>>,
    /// Water, calendar and quantities: what all permits share.
    pub upkeep: &'a upkeep::UpkeepPlan,
}

/// The layers of ground in small pieces.
#[derive(Debug, Clone)]
pub struct SiteGround {
    allowed: Option<Pieces>,
    surfaces: Pieces,
    buildings: Pieces,
}

impl SiteGround {
    /// Cuts up the site (empty where not given) and the existing surfaces; `building_kinds` are those that no fence can cross.
    pub fn new(
        allowed: &[MultiPolygon<f64>],
        surfaces: &[MultiPolygon<f64>],
        kinds: &[String],
        building_kinds: &[String],
    ) -> SiteGround {
        let buildings = surfaces.iter().zip(kinds).filter(|(_, kind)| building_kinds.contains(kind));
        SiteGround {
            allowed: (!allowed.is_empty()).then(|| Pieces::new(&allowed.iter().collect::<Vec<_>>())),
            surfaces: Pieces::new(&surfaces.iter().collect::<Vec<_>>()),
            buildings: Pieces::new(&buildings.map(|(shape, _)| shape).collect::<Vec<_>>()),
        }
    }
}

/// What protects the trees of one permit; `rows` are its rows with their index in the results.
pub fn protect(site: &Site<'_>, permit: &Permit, rows: &[(usize, &Row)]) -> Protection {
    let fates: Vec<_> = rows.iter().map(|&(number, row)| fate::fate(site, number, row)).collect();
    let (trees, mut unfenced) = staying::staying(site, rows, &fates);
    let of_permit: Vec<&Work> = permit.works.iter().map(|&work| &site.works[work as usize]).collect();
    let in_the_way: Vec<&Work> = of_permit.into_iter().filter(|work| stands(work)).collect();
    let works = pieces(in_the_way.iter().copied());
    let clearance_m = site.choices.clearance_m + ROUNDING_M;
    let cleared = ground::grown(&works, &trees.iter().collect::<Vec<_>>(), clearance_m);
    let way = fence::InTheWay {
        works: &works,
        cleared: &cleared,
        buildings: &site.ground.buildings,
        site: site.ground.allowed.as_ref(),
        clearance_m: site.choices.clearance_m,
        narrowest_m: site.values.narrowest.is.metres,
        guard: &site.values.guard_height.is.written,
        built: site.built,
    };
    let (fences, without_room) = fence::fences(&way, &trees);
    unfenced.extend(without_room);
    unfenced.sort_by_key(|one| one.tree);
    let (covers, balance) = covers(site, &in_the_way, &trees, &fences);
    let services = services::services(site, permit, rows, &fates);
    let unfenced = told_once(unfenced);
    let mut protection =
        Protection { trees: fates, fences, covers, services, unfenced, balance, ..Protection::default() };
    // Last: the calendar and the quantities count what all others have found.
    protection.upkeep = upkeep::upkeep(site, site.upkeep, permit, rows, &protection);
    protection
}

fn covers(
    site: &Site<'_>,
    works: &[&Work],
    trees: &[staying::Staying],
    fences: &[crate::model::protection::Fence],
) -> (Vec<crate::model::protection::Cover>, crate::model::protection::GroundBalance) {
    let route_of = |work: &Work| site.values.route(&work.kind).filter(|_| work.lasting == Lasting::Temporary);
    let built_on = pieces(works.iter().copied().filter(|work| route_of(work).is_none()));
    let routes = Traffic::ALL.map(|traffic| {
        let bearing = works.iter().copied().filter(|work| route_of(work) == Some(traffic));
        (traffic, pieces(bearing))
    });
    let ground = cover::OnTheGround {
        works: &built_on,
        routes: &routes,
        surfaces: &site.ground.surfaces,
        site: site.ground.allowed.as_ref(),
        traffic: site.choices.traffic,
        values: site.values,
    };
    cover::covers(&ground, trees, fences)
}

/// Whether a work stands in the way of a fence: all that count, and those that count for less because roots are spared; no deep bore.
fn stands(work: &Work) -> bool {
    work.counted() || (!work.accepted.is_empty() && work.kind != "bore")
}

fn pieces<'a>(works: impl Iterator<Item = &'a Work>) -> Pieces {
    Pieces::new(&works.map(|work| &work.shape).collect::<Vec<_>>())
}

fn told_once(mut unfenced: Vec<Unfenced>) -> Vec<Unfenced> {
    unfenced.dedup_by_key(|one| one.tree);
    unfenced
}
