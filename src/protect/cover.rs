//! Fences and root zones -> what lies on the ground: inside the fence, outside by traffic, on access and storage ground.
//!
//! Root zones that overlap count once. The ground is shared out, in this order: inside the fences (less pavement and trunks); under works; existing
//! surfaces; off the site; around trunks; access and storage ground; the rest. So the parts add up to the whole.

use super::ground::{Local, near};
use super::staying::Staying;
use super::values::{LayerValues, MATERIALS, Values};
use crate::geometry::{Pieces, clusters, draw_out_point};
use crate::model::protection::{Cover, CoverPlace, Fence, GroundBalance};
use crate::model::traffic::Traffic;
use geo::{Area, MultiPolygon, Polygon, Rect};
use std::collections::BTreeMap;

/// What decides where covers lie.
pub(super) struct OnTheGround<'a> {
    /// Works that leave no ground to cover.
    pub works: &'a Pieces,
    /// Temporary works that only bear traffic, by how heavy it is.
    pub routes: &'a [(Traffic, Pieces)],
    /// Existing pavement and buildings.
    pub surfaces: &'a Pieces,
    /// The site; `None` where it is not given.
    pub site: Option<&'a Pieces>,
    /// The heaviest traffic elsewhere.
    pub traffic: Traffic,
    /// The table of values.
    pub values: &'a Values,
}

/// Ground of one place and traffic.
type Stretches = BTreeMap<(CoverPlace, Option<Traffic>), MultiPolygon<f64>>;

/// Covers ordered by place, traffic and what lies lowest, and how the ground is shared out.
pub(super) fn covers(ground: &OnTheGround<'_>, trees: &[Staying], fences: &[Fence]) -> (Vec<Cover>, GroundBalance) {
    let boxes: Vec<Rect<f64>> = trees.iter().map(|tree| tree.window(0.0)).collect();
    let mut fence_of = BTreeMap::new();
    for (number, fence) in fences.iter().enumerate() {
        fence.trees.iter().for_each(|&tree| {
            fence_of.insert(tree, number);
        });
    }
    let (mut stretches, mut balance) = (Stretches::new(), GroundBalance::default());
    for cluster in clusters(&boxes) {
        let trees: Vec<&Staying> = cluster.iter().map(|&at| &trees[at]).collect();
        let mut numbers: Vec<usize> = trees.iter().filter_map(|tree| fence_of.get(&tree.tree).copied()).collect();
        numbers.sort_unstable();
        numbers.dedup();
        let fenced: Vec<&Polygon<f64>> = numbers.iter().map(|&number| &fences[number].shape).collect();
        share_out(ground, &trees, &fenced, &mut stretches, &mut balance);
    }
    let covers = stretches.into_iter().flat_map(|(key, shape)| laid(ground, key, &shape)).collect();
    (covers, balance)
}

/// Shares out the ground of root zones that hang together.
fn share_out(
    ground: &OnTheGround<'_>,
    trees: &[&Staying],
    fenced: &[&Polygon<f64>],
    stretches: &mut Stretches,
    balance: &mut GroundBalance,
) {
    let origin = trees[0].place;
    let zones: Vec<Polygon<f64>> = trees.iter().flat_map(|tree| tree.zone_ground()).collect();
    let kept_free_m = ground.values.kept_free.is.metres;
    let trunks: Vec<Polygon<f64>> =
        trees.iter().map(|tree| draw_out_point(tree.place, tree.trunk_m + kept_free_m)).collect();
    let local = |pieces: &Pieces| Local::union_of(origin, near(pieces, trees, 0.0));
    let (fences, trunks) = (Local::union_of(origin, fenced.iter().copied()), Local::union_of(origin, &trunks));
    let (works, surfaces) = (local(ground.works), local(ground.surfaces));

    let unsurfaced = fences.without(&surfaces);
    let inside = unsurfaced.without(&trunks);
    let beyond = Local::union_of(origin, &zones).without(&fences);
    let unbuilt = beyond.without(&works);
    let soil = unbuilt.without(&surfaces);
    let on_site = ground.site.map_or_else(|| soil.clone(), |site| soil.within(&local(site)));
    let mut rest = on_site.without(&trunks);

    balance.all_m2 += fences.area_m2() + beyond.area_m2();
    balance.inside_m2 += inside.area_m2();
    balance.works_m2 += beyond.area_m2() - unbuilt.area_m2();
    balance.surfaced_m2 += (fences.area_m2() - unsurfaced.area_m2()) + (unbuilt.area_m2() - soil.area_m2());
    balance.off_site_m2 += soil.area_m2() - on_site.area_m2();
    balance.trunks_m2 += (unsurfaced.area_m2() - inside.area_m2()) + (on_site.area_m2() - rest.area_m2());

    put(stretches, (CoverPlace::Inside, None), &inside);
    for (traffic, pieces) in ground.routes.iter().rev() {
        let route = local(pieces);
        let on_route = rest.within(&route);
        rest = rest.without(&route);
        balance.routes_m2 += on_route.area_m2();
        put(stretches, (CoverPlace::Routes, Some((*traffic).max(ground.traffic))), &on_route);
    }
    balance.outside_m2 += rest.area_m2();
    put(stretches, (CoverPlace::Outside, Some(ground.traffic)), &rest);
}

fn put(stretches: &mut Stretches, key: (CoverPlace, Option<Traffic>), ground: &Local) {
    if !ground.is_empty() {
        stretches.entry(key).or_insert_with(|| MultiPolygon(Vec::new())).0.extend(ground.placed().0);
    }
}

/// The layers on one stretch, lowest first.
fn laid(
    ground: &OnTheGround<'_>,
    (place, traffic): (CoverPlace, Option<Traffic>),
    shape: &MultiPolygon<f64>,
) -> Vec<Cover> {
    let outside = traffic.and_then(|traffic| ground.values.outside(traffic));
    let layers = outside.map_or(&ground.values.inside.layer, |cover| &cover.layer);
    let to_be_engineered = outside.is_some_and(|cover| cover.to_be_engineered);
    let area_m2 = shape.unsigned_area();
    let cover = |layer: &LayerValues| {
        let written = layer.material.get_ref().as_str();
        let depth = layer.least.as_ref().zip(layer.most.as_ref());
        Some(Cover {
            place,
            material: MATERIALS.into_iter().find(|material| *material == written)?,
            shape: shape.clone(),
            area_m2,
            depth_m: depth.map(|(least, most)| (least.metres, most.metres)),
            to_be_engineered,
            traffic,
            clause: layer.from.citation(&ground.values.sources),
        })
    };
    layers.iter().filter_map(cover).collect()
}
