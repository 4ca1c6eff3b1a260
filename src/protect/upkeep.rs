//! The trees that stay under one permit, its fences and its cover -> water for each, the steps of the calendar, quantities and costs.
//!
//! What is the same for all permits (schedules, steps, prices) is made once, in [`UpkeepPlan`].

use super::Site;
use super::calendar::{Intervals, StepTreesOf, Steps};
use super::materials::{Counted, quantities, totals};
use super::open_ground::{OpenGround, Surfaces};
use super::sprinklers::{Ground, sprinkler_places};
use super::upkeep_values::{Soil, UpkeepValues};
use super::water::{Seasons, by_balance, by_calendar, undated};
use super::water_balance::SoilStore;
use crate::error::{Error, Result};
use crate::geometry::PreparedArea;
use crate::model::protection::Protection;
use crate::model::results::Row;
use crate::model::tree::Tree;
use crate::model::upkeep::{
    Price, TreeWater, TrunkWater, Upkeep, UpkeepRun, WaterAmount, WaterGround, WaterNeed, WaterStretch,
};
use crate::model::weather::Weather;
use crate::model::work::Permit;
use crate::model::zone::Zone;
use crate::settings::UpkeepChoices;
use geo::{Coord, MultiPolygon};

/// What was read for water, calendar and quantities before anything was measured.
#[derive(Debug, Clone)]
pub struct UpkeepInputs {
    /// The table of values.
    pub values: UpkeepValues,
    /// The weather, where given.
    pub weather: Option<Weather>,
    /// Prices; none where not given.
    pub prices: Vec<Price>,
}

/// What all permits share.
pub struct UpkeepPlan {
    values: UpkeepValues,
    surfaces: Surfaces,
    steps: Steps,
    /// The soil: its texture, how deep its roots go (metres), and what they take up at once.
    soil: (String, f64, SoilStore),
    /// What is written of it; its totals are empty until all permits are done.
    pub run: UpkeepRun,
}

impl UpkeepPlan {
    /// Makes the schedules and the steps for a latitude (degrees), and prepares the existing surfaces.
    ///
    /// # Errors
    /// `Usage` for a soil texture that the table does not have.
    pub fn new(
        inputs: UpkeepInputs,
        choices: &UpkeepChoices,
        latitude_deg: f64,
        surfaces: &[MultiPolygon<f64>],
    ) -> Result<UpkeepPlan> {
        let UpkeepInputs { values, weather, prices } = inputs;
        let mut run = UpkeepRun {
            job: choices.job,
            throw_m: choices.throw_m.unwrap_or(values.water.throw_m.is),
            flow_l_per_min: choices.flow_l_per_min.unwrap_or(values.water.flow_l_per_min.is),
            prices,
            ..UpkeepRun::default()
        };
        let (texture, soil) = soil(&values, choices)?;
        let root_m = choices.root_depth_m.unwrap_or(values.balance.root_depth_m.is);
        let store = SoilStore::new(
            soil.middle_mm_per_m(),
            root_m,
            values.balance.top_depth_m.is,
            values.balance.depletion_share.is,
            choices.crop_coefficient.unwrap_or(values.balance.crop_coefficient.is),
        );
        let seasons = Seasons::at(latitude_deg, &values.water);
        for need in [WaterNeed::Usual, WaterNeed::DrySummer] {
            let (schedule, account) = match (choices.job, &weather) {
                (None, _) => (undated(need, seasons, &values.water), Vec::new()),
                (Some(job), None) => {
                    (by_calendar((job.start, job.end), None, need, seasons, &values.water), Vec::new())
                }
                (Some(job), Some(weather)) => {
                    by_balance(job, weather, latitude_deg, &store, (need, seasons, &values.water))
                }
            };
            run.schedules[need as usize] = schedule;
            run.balance[need as usize] = account;
        }
        let intervals = intervals(&values, choices);
        let steps = Steps::new(&values, choices.job, intervals, &run.schedules);
        run.steps.clone_from(&steps.rules);
        run.notes = super::upkeep_notes::notes(&values, choices, weather.as_ref(), (texture, soil), &run);
        let soil = (texture.to_string(), root_m, store);
        Ok(UpkeepPlan { surfaces: Surfaces::new(surfaces), steps, soil, run, values })
    }

    /// What is written of it, with the quantities of all permits added up that are in force; `protections` are in the order of permits.
    pub fn finish(mut self, protections: &[Protection], permits: &[Permit]) -> UpkeepRun {
        let in_force = || protections.iter().zip(permits).filter(|(_, permit)| permit.active).map(|(of, _)| of);
        let totals = totals(in_force().map(|of| of.upkeep.quantities.as_slice()));
        let asked = |(of, permit): &(&Protection, &Permit)| !permit.active && !of.upkeep.quantities.is_empty();
        let left_out = protections.iter().zip(permits).filter(asked).map(|(_, permit)| permit.id.as_str());
        let left_out = left_out.collect::<Vec<_>>().join(", ");
        if !left_out.is_empty() {
            self.run.notes.push(format!("materials of all permits leave out what is not in force: {left_out}"));
        }
        let shared = shared_trees(in_force());
        if shared > 0 {
            self.run.notes.push(format!(
                "trees that stay under several permits: {shared}. Fence, cover and water stand in the quantities of each, and so more than once in those of all permits: one fence and one watering serve the tree"
            ));
        }
        self.run.notes.extend(self.too_much_at_once(in_force()));
        UpkeepRun { totals, ..self.run }
    }

    /// What is said where a watering by the calendar is more than the soil takes up.
    fn too_much_at_once<'a>(&self, protections: impl Iterator<Item = &'a Protection>) -> Option<String> {
        let (texture, root_m, store) = &self.soil;
        let takes_mm = store.takes_mm();
        let too_much = |one: &&TreeWater| {
            let Some(ground) = &one.ground else { return false };
            let mut by_calendar = self.run.schedules[one.need as usize].iter().filter_map(|stretch| stretch.every);
            by_calendar.any(|(_, hours)| ground.depth_mm(WaterAmount::Hours(hours), self.run.flow_l_per_min) > takes_mm)
        };
        let mut trees: Vec<u32> =
            protections.flat_map(|of| &of.upkeep.water).filter(too_much).map(|one| one.tree).collect();
        trees.sort_unstable();
        trees.dedup();
        (!trees.is_empty()).then(|| {
            format!(
                "trees at which one watering by the calendar gives more than the {takes_mm:.0} mm that {texture} with roots {root_m} m deep takes up once water is due: {}. The rest runs below the roots or off: probe, give less at a time where the soil is moist, or keep the balance of a season (--weather)",
                trees.len()
            )
        })
    }
}

/// Trees that are watered under more than one permit.
fn shared_trees<'a>(protections: impl Iterator<Item = &'a Protection>) -> usize {
    let mut trees: Vec<u32> = protections.flat_map(|of| of.upkeep.watered()).collect();
    trees.sort_unstable();
    trees.chunk_by(|a, b| a == b).filter(|same| same.len() > 1).count()
}

/// The soil that was typed, or loam.
fn soil<'a>(values: &'a UpkeepValues, choices: &UpkeepChoices) -> Result<(&'a str, &'a Soil)> {
    let typed = choices.soil.as_deref().unwrap_or("loam");
    let plain = typed.trim().to_lowercase().replace(['_', '-'], " ");
    values.soil.get_key_value(plain.as_str()).map(|(name, soil)| (name.as_str(), soil)).ok_or_else(|| Error::Usage {
        what: format!("--soil: no texture `{typed}`"),
        hint: format!("one of {}", values.soil.keys().cloned().collect::<Vec<_>>().join(", ")),
    })
}

fn intervals(values: &UpkeepValues, choices: &UpkeepChoices) -> Intervals {
    #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "checked to be whole and small")]
    let whole = |value: f64| value as u32;
    Intervals {
        inspect_every_days: choices.inspect_every_days.unwrap_or(whole(values.calendar.inspect_every_days.is)),
        monitor_years: choices.monitor_years.unwrap_or(whole(values.calendar.monitor_years.is)),
    }
}

/// Water, steps and quantities of one permit; its trees, fences and covers are known already.
pub fn upkeep(
    site: &Site<'_>,
    plan: &UpkeepPlan,
    permit: &Permit,
    rows: &[(usize, &Row)],
    protection: &Protection,
) -> Upkeep {
    let staying: Vec<&Row> =
        protection.trees.iter().zip(rows).filter(|(fate, _)| fate.stays()).map(|(_, &(_, row))| row).collect();
    if staying.is_empty() {
        return Upkeep::default();
    }
    let water = water(site, plan, permit, &staying);
    let of_steps = step_trees(&staying, &water, protection);
    let steps = plan.steps.of_permit(&of_steps, protection);
    let counted = Counted {
        water_l: plan.run.job.map(|_| water.iter().map(|one| litres(one, &plan.run)).sum()),
        inspections: plan.steps.inspections(&steps),
        visits: plan.steps.visits(&steps),
        guards: u32::try_from(of_steps.unfenced.len()).unwrap_or(u32::MAX),
    };
    Upkeep { quantities: quantities(protection, counted, &plan.run.prices), water, steps }
}

/// All water of one tree over the job, litres.
fn litres(water: &TreeWater, run: &UpkeepRun) -> f64 {
    let Some(ground) = &water.ground else { return 0.0 };
    let stretches: &[WaterStretch] = &run.schedules[water.need as usize];
    let waterings = stretches.iter().flat_map(|stretch| &stretch.waterings);
    waterings.map(|watering| ground.litres_and_hours(watering.amount, run.flow_l_per_min).0).sum()
}

fn water(site: &Site<'_>, plan: &UpkeepPlan, permit: &Permit, staying: &[&Row]) -> Vec<TreeWater> {
    let open = OpenGround::new(&plan.surfaces, permit, site.works);
    let need = |row: &&Row| need(tree(site, row), &plan.values);
    let neighbours = Neighbours::new(site, staying, staying.iter().map(need).collect());
    staying
        .iter()
        .enumerate()
        .map(|(index, row)| {
            let tree = &site.trees[row.tree as usize];
            let values = &plan.values;
            let by_trunk = row.diameter.used_m().map(|diameter_m| TrunkWater {
                litres_per_day: values.water.trunk_litres_per_cm_day.is * diameter_m * 100.0,
                litres_each: values.water.trunk_litres_per_cm_each.is * diameter_m * 100.0,
            });
            TreeWater {
                tree: row.tree,
                need: neighbours.needs[index],
                ground: row.zone.as_ref().map(|zone| {
                    let disc = (tree.place, zone.radius_m);
                    let shape = zone.ground().map(|ground| open.of_shape(ground));
                    let dry_m = row.diameter.used_m().unwrap_or(0.0) / 2.0 + values.water.trunk_dry_m.is;
                    let nearer = (neighbours.needs[index], &neighbours.near(index)[..]);
                    water_ground(&open, disc, shape.as_ref(), dry_m, nearer, plan.run.throw_m)
                }),
                by_trunk,
            }
        })
        .collect()
}

fn need(tree: &Tree, values: &UpkeepValues) -> WaterNeed {
    let dry = values.dry_summer(tree.botanical.accepted, tree.botanical.genus, &tree.species).is_some();
    if dry { WaterNeed::DrySummer } else { WaterNeed::Usual }
}

/// The open ground of one zone and the places that water it; `shape` is the open part of what shapes it. Ground in several zones goes with a
/// tree that has to stay dry in summer, then with the nearest trunk, the earlier tree where they are equally near.
fn water_ground(
    open: &OpenGround<'_>,
    (centre, radius_m): (Coord<f64>, f64),
    shape: Option<&PreparedArea>,
    dry_m: f64,
    (need, nearer): (WaterNeed, &[Neighbour<'_>]),
    throw_m: f64,
) -> WaterGround {
    let open_m2 = shape.map_or_else(|| open.open_m2(centre, radius_m), |shape| shape.disc_area_m2(centre, radius_m));
    let own = |point: Coord<f64>| {
        let distance = squared(point - centre);
        nearer.iter().all(|other| {
            let to_other = squared(point - other.place);
            let is_nearer = to_other < distance || (to_other == distance && other.earlier);
            let takes = if other.need == need { is_nearer } else { other.need == WaterNeed::DrySummer };
            !takes || !other.holds(point, to_other)
        })
    };
    let is_open = |point: Coord<f64>| shape.map_or_else(|| open.is_open(point), |shape| shape.contains(point));
    let ground = Ground { centre, radius_m, dry_m: dry_m.min(radius_m / 2.0), open: &is_open, own: &own };
    let places = sprinkler_places(&ground, throw_m);
    let own_m2 = open_m2 * places.own;
    WaterGround {
        open_m2,
        own_m2,
        places: u32::try_from(places.places.len()).unwrap_or(u32::MAX),
        covered: places.covered,
    }
}

fn squared(offset: Coord<f64>) -> f64 {
    offset.x * offset.x + offset.y * offset.y
}

/// A zone that meets another one.
struct Neighbour<'a> {
    place: Coord<f64>,
    radius_m: f64,
    shape: Option<&'a PreparedArea>,
    /// Whether its tree comes before the other one in the order of rows.
    earlier: bool,
    need: WaterNeed,
}

impl Neighbour<'_> {
    fn holds(&self, point: Coord<f64>, squared_distance: f64) -> bool {
        squared_distance <= self.radius_m * self.radius_m && self.shape.is_none_or(|shape| shape.contains(point))
    }
}

/// The zones of a permit's trees that meet one another, found by sweeping along x.
struct Neighbours {
    discs: Vec<Option<(Coord<f64>, f64)>>,
    needs: Vec<WaterNeed>,
    /// What shapes the zones.
    shapes: Vec<Option<PreparedArea>>,
    /// Trees with a zone, by the west end of their zones.
    by_west: Vec<usize>,
    widest_m: f64,
}

impl Neighbours {
    fn new(site: &Site<'_>, staying: &[&Row], needs: Vec<WaterNeed>) -> Neighbours {
        let disc = |row: &&Row| row.zone.as_ref().map(|zone| (tree(site, row).place, zone.radius_m));
        let discs: Vec<Option<(Coord<f64>, f64)>> = staying.iter().map(disc).collect();
        let shape = |row: &&Row| row.zone.as_ref().and_then(Zone::ground).map(PreparedArea::new);
        let shapes = staying.iter().map(shape).collect();
        let mut by_west: Vec<usize> = (0..discs.len()).filter(|&one| discs[one].is_some()).collect();
        by_west.sort_by(|&a, &b| west(&discs, a).total_cmp(&west(&discs, b)).then(a.cmp(&b)));
        let widest_m = discs.iter().flatten().map(|disc| 2.0 * disc.1).fold(0.0, f64::max);
        Neighbours { discs, needs, shapes, by_west, widest_m }
    }

    /// Zones of others whose discs meet this one's.
    fn near(&self, one: usize) -> Vec<Neighbour<'_>> {
        let Some((centre, radius_m)) = self.discs[one] else { return Vec::new() };
        let from =
            self.by_west.partition_point(|&other| west(&self.discs, other) < centre.x - radius_m - self.widest_m);
        let candidates =
            self.by_west[from..].iter().take_while(|&&other| west(&self.discs, other) < centre.x + radius_m);
        let met = candidates.filter(|&&other| other != one).filter_map(|&other| {
            let (place, other_radius_m) = self.discs[other]?;
            let reach_m = radius_m + other_radius_m;
            let shape = self.shapes[other].as_ref();
            (squared(place - centre) < reach_m * reach_m).then_some(Neighbour {
                place,
                radius_m: other_radius_m,
                shape,
                earlier: other < one,
                need: self.needs[other],
            })
        });
        met.collect()
    }
}

fn west(discs: &[Option<(Coord<f64>, f64)>], one: usize) -> f64 {
    discs[one].map_or(f64::INFINITY, |(centre, radius_m)| centre.x - radius_m)
}

fn tree<'a>(site: &Site<'a>, row: &Row) -> &'a Tree {
    &site.trees[row.tree as usize]
}

/// Which trees each kind of step is about.
fn step_trees(staying: &[&Row], water: &[TreeWater], protection: &Protection) -> StepTreesOf {
    let mut trees = StepTreesOf {
        fenced: protection.fences.iter().flat_map(|fence| fence.trees.iter().copied()).collect(),
        ..StepTreesOf::default()
    };
    for row in staying {
        trees.stay.push(row.tree);
        if row.zone.is_none() {
            trees.unmeasured.push(row.tree);
        } else if protection.unfenced.iter().any(|one| one.tree == row.tree) {
            trees.unfenced.push(row.tree);
        }
        // A shallow bore and its pits count as a cut; a tree without a diameter may be cut close.
        let reach_m = row.zone.as_ref().map_or(0.0, |zone| zone.radius_m);
        let warned = |code: &str| row.finding.warnings.contains(&code);
        if warned("qualified_arborist_before_cutting") || warned("cut_may_be_close") {
            trees.cut_close.push(row.tree);
        }
        if row.overlap.severing_distance_m < reach_m {
            trees.cut.push(row.tree);
        }
    }
    water.iter().for_each(|one| trees.add_water(one.tree, one.need));
    trees.sort();
    trees
}

#[cfg(test)]
#[path = "upkeep_tests.rs"]
mod tests;
