//! Ground that may overlap, cut into small disjoint pieces: to be measured, and to be taken away from other ground.
//!
//! A city's pavement can be one polygon with a million points. So it is halved again and again, along its longer side, until the pieces
//! are small; each end of that is united by itself. Cutting a ring by a straight line costs no more than its length, so all of it costs
//! little more than sorting. The seams between pieces cancel out in areas. Rounding: see [`union`](super::union()).

use super::overlay::overlay;
use super::prepared::PreparedArea;
use super::union::{enclosing, local_origin, unite_cluster};
use geo::bool_ops::{FillRule, OpType};
use geo::orient::{Direction, Orient};
use geo::{BoundingRect, Coord, LineString, MapCoords, MultiPolygon, Polygon, Rect};

/// Pieces with fewer points than this, all together, are not halved any further.
const POINTS_WORTH_HALVING: usize = 256;
/// Nor are places smaller than this along their longer side, metres.
const SMALLEST_M: f64 = 4.0;
/// Halving must not make more points than this share of those it had: many shapes on one another do not get simpler.
const LARGEST_GROWTH: f64 = 1.5;

/// Disjoint pieces under a hierarchy of boxes.
#[derive(Debug, Clone)]
pub struct Pieces {
    root: Option<Node>,
}

#[derive(Debug, Clone)]
struct Node {
    bounds: Rect<f64>,
    content: Content,
}

#[derive(Debug, Clone)]
enum Content {
    Leaf(Vec<(Rect<f64>, Polygon<f64>)>),
    Halves(Box<[Node; 2]>),
}

/// A polygon that may be cut already.
struct Part {
    bounds: Rect<f64>,
    polygon: Polygon<f64>,
    cut: bool,
}

impl Pieces {
    /// Cuts up valid shapes, which may overlap one another.
    pub fn new(shapes: &[&MultiPolygon<f64>]) -> Pieces {
        let polygons = shapes.iter().flat_map(|shape| shape.iter());
        let parts = polygons.filter_map(|polygon| part(polygon.orient(Direction::Default), false)).collect();
        Pieces { root: node(parts) }
    }

    /// All pieces, ready for areas of discs.
    pub fn prepared(&self) -> PreparedArea {
        let mut all = Vec::new();
        if let Some(root) = &self.root {
            root.each(&|_| true, &mut |polygon| all.push(polygon.clone()));
        }
        PreparedArea::new(&MultiPolygon(all))
    }

    /// What of a valid shape with disjoint parts lies outside all pieces; `None` where that is the whole shape.
    pub fn outside(&self, shape: &MultiPolygon<f64>) -> Option<MultiPolygon<f64>> {
        let mut left = Vec::new();
        let mut met = false;
        for polygon in shape {
            let near = polygon.bounding_rect().map_or(Vec::new(), |bounds| self.near(bounds));
            if near.is_empty() {
                left.push(polygon.clone());
            } else {
                met = true;
                left.extend(without(polygon, &near));
            }
        }
        met.then_some(MultiPolygon(left))
    }

    /// The pieces whose boxes meet a box, in a fixed order; disjoint but for their seams.
    pub fn near(&self, window: Rect<f64>) -> Vec<&Polygon<f64>> {
        let mut found = Vec::new();
        if let Some(root) = &self.root {
            root.each(&|bounds| meet(bounds, &window), &mut |polygon| found.push(polygon));
        }
        found
    }
}

impl Node {
    fn each<'a>(&'a self, wanted: &impl Fn(&Rect<f64>) -> bool, found: &mut impl FnMut(&'a Polygon<f64>)) {
        if !wanted(&self.bounds) {
            return;
        }
        match &self.content {
            Content::Halves(halves) => halves.iter().for_each(|half| half.each(wanted, found)),
            Content::Leaf(pieces) => {
                pieces.iter().filter(|(bounds, _)| wanted(bounds)).for_each(|(_, polygon)| found(polygon));
            }
        }
    }
}

fn meet(a: &Rect<f64>, b: &Rect<f64>) -> bool {
    a.min().x < b.max().x && b.min().x < a.max().x && a.min().y < b.max().y && b.min().y < a.max().y
}

/// A polygon less pieces near it, around a local origin.
fn without(polygon: &Polygon<f64>, near: &[&Polygon<f64>]) -> Vec<Polygon<f64>> {
    let Some(bounds) = polygon.bounding_rect() else { return Vec::new() };
    let origin = local_origin(bounds);
    let local = |polygon: &Polygon<f64>| polygon.map_coords(|c| c - origin).orient(Direction::Default);
    let taken = MultiPolygon(near.iter().map(|piece| local(piece)).collect());
    let left = overlay(&MultiPolygon(vec![local(polygon)]), &taken, OpType::Difference, FillRule::Positive);
    left.map_coords(|c| c + origin).orient(Direction::Default).0
}

fn part(polygon: Polygon<f64>, cut: bool) -> Option<Part> {
    polygon.bounding_rect().map(|bounds| Part { bounds, polygon, cut })
}

fn points(parts: &[Part]) -> usize {
    let of = |polygon: &Polygon<f64>| {
        polygon.exterior().0.len() + polygon.interiors().iter().map(|ring| ring.0.len()).sum::<usize>()
    };
    parts.iter().map(|part| of(&part.polygon)).sum()
}

fn node(parts: Vec<Part>) -> Option<Node> {
    let bounds = parts.iter().map(|part| part.bounds).reduce(enclosing)?;
    let before = points(&parts);
    if before < POINTS_WORTH_HALVING || bounds.width().max(bounds.height()) < SMALLEST_M {
        return leaf(parts);
    }
    let along_x = bounds.width() >= bounds.height();
    let middle = bounds.center();
    let at = if along_x { middle.x } else { middle.y };
    let (low, high) = halved(&parts, along_x, at);
    if (points(&low) + points(&high)) as f64 > LARGEST_GROWTH * before as f64 {
        return leaf(parts);
    }
    drop(parts);
    match rayon::join(|| node(low), || node(high)) {
        (Some(low), Some(high)) => {
            let bounds = enclosing(low.bounds, high.bounds);
            Some(Node { bounds, content: Content::Halves(Box::new([low, high])) })
        }
        (one, other) => one.or(other),
    }
}

/// The parts of one place, united where they may overlap or where cutting has left edges along a seam.
fn leaf(parts: Vec<Part>) -> Option<Node> {
    let bounds = parts.iter().map(|part| part.bounds).reduce(enclosing)?;
    let alone = parts.len() == 1 && !parts[0].cut;
    let pieces = if alone {
        parts.into_iter().map(|part| part.polygon).collect()
    } else {
        let polygons: Vec<&Polygon<f64>> = parts.iter().map(|part| &part.polygon).collect();
        unite_cluster(bounds, &polygons).0
    };
    let pieces = pieces.into_iter().filter_map(|piece| Some((piece.bounding_rect()?, piece))).collect();
    Some(Node { bounds, content: Content::Leaf(pieces) })
}

/// The parts on either side of a line across one axis.
fn halved(parts: &[Part], along_x: bool, at: f64) -> (Vec<Part>, Vec<Part>) {
    let (mut low, mut high) = (Vec::new(), Vec::new());
    for one in parts {
        let (least, most) = match along_x {
            true => (one.bounds.min().x, one.bounds.max().x),
            false => (one.bounds.min().y, one.bounds.max().y),
        };
        let whole = || Part { bounds: one.bounds, polygon: one.polygon.clone(), cut: one.cut };
        if most <= at {
            low.push(whole());
        } else if least >= at {
            high.push(whole());
        } else {
            low.extend(side(&one.polygon, along_x, at, 1.0).and_then(|polygon| part(polygon, true)));
            high.extend(side(&one.polygon, along_x, at, -1.0).and_then(|polygon| part(polygon, true)));
        }
    }
    (low, high)
}

/// A polygon cut to one side of a line: what lies beyond it is pressed onto the line, ring by ring.
///
/// Every place off the line keeps the number of times that the rings go around it, so that a union by winding mends the edges that now lie
/// on one another along the line (Sutherland and Hodgman's cut against one half-plane).
pub(super) fn side(polygon: &Polygon<f64>, along_x: bool, at: f64, sign: f64) -> Option<Polygon<f64>> {
    let exterior = ring_side(polygon.exterior(), along_x, at, sign)?;
    let interiors = polygon.interiors().iter().filter_map(|ring| ring_side(ring, along_x, at, sign)).collect();
    Some(Polygon::new(exterior, interiors))
}

fn ring_side(ring: &LineString<f64>, along_x: bool, at: f64, sign: f64) -> Option<LineString<f64>> {
    let beyond = |c: Coord<f64>| sign * (if along_x { c.x } else { c.y } - at);
    let crossing = |a: Coord<f64>, b: Coord<f64>| {
        let share = beyond(a) / (beyond(a) - beyond(b));
        match along_x {
            true => Coord { x: at, y: a.y + share * (b.y - a.y) },
            false => Coord { x: a.x + share * (b.x - a.x), y: at },
        }
    };
    let mut kept: Vec<Coord<f64>> = Vec::new();
    for edge in ring.lines() {
        let (start, end) = (beyond(edge.start) <= 0.0, beyond(edge.end) <= 0.0);
        if start {
            kept.push(edge.start);
        }
        if start != end {
            kept.push(crossing(edge.start, edge.end));
        }
    }
    kept.dedup();
    (kept.len() >= 3).then(|| LineString::from(kept))
}

#[cfg(test)]
#[path = "pieces_tests.rs"]
mod tests;
