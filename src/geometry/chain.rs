//! The chain tree: the rings of an area as points, under a hierarchy of bounding boxes.
//!
//! A leaf holds up to [`LEAF_EDGES`] consecutive edges of one ring, a chain node joins two neighbouring chains of one ring, a group
//! node joins whole rings that lie near each other. Whoever asks about a small disc visits the boxes that meet it and no others.

use super::edge::{cross, edge_distance_squared};
use geo::{Coord, CoordsIter, LineString, MultiPolygon};

/// The most edges in one leaf: few enough that a visit is cheap, enough that boxes do not outweigh points.
const LEAF_EDGES: usize = 8;

/// What lies under one box.
#[derive(Debug, Clone)]
pub(super) enum Content {
    /// Consecutive edges of one ring, from point `first` to point `last`.
    Leaf { first: u32, last: u32, ring: u32 },
    /// Two neighbouring chains of one ring, together from point `first` to point `last`.
    Chain { first: u32, last: u32, ring: u32, children: [u32; 2] },
    /// Two sets of whole (closed) rings.
    Group { children: [u32; 2] },
}

/// A box and what lies under it.
#[derive(Debug, Clone)]
pub(super) struct Node {
    pub(super) min: Coord<f64>,
    pub(super) max: Coord<f64>,
    pub(super) content: Content,
}

impl Node {
    /// The squared distance from a point to this box, 0 inside, square metres.
    pub(super) fn distance_squared(&self, from: Coord<f64>) -> f64 {
        let x = (self.min.x - from.x).max(from.x - self.max.x).max(0.0);
        let y = (self.min.y - from.y).max(from.y - self.max.y).max(0.0);
        x * x + y * y
    }

    /// The squared distance from a point to the corner of this box that is furthest away, square metres.
    pub(super) fn furthest_squared(&self, from: Coord<f64>) -> f64 {
        let x = (from.x - self.min.x).max(self.max.x - from.x);
        let y = (from.y - self.min.y).max(self.max.y - from.y);
        x * x + y * y
    }

    /// Whether this box and another share a point.
    pub(super) fn meets(&self, min: Coord<f64>, max: Coord<f64>) -> bool {
        self.min.x <= max.x && min.x <= self.max.x && self.min.y <= max.y && min.y <= self.max.y
    }
}

/// Where a ring of the tree came from.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct RingOrigin {
    /// Index of its polygon in the multipolygon.
    pub(super) part: u32,
    /// Whether it is a hole of that polygon.
    pub(super) hole: bool,
    /// Index of its first point in the tree; its last point, equal to the first, stands before the next ring.
    pub(super) first: u32,
}

/// Both ends of an edge.
pub(super) type Edge = (Coord<f64>, Coord<f64>);

/// Rings as points under a hierarchy of boxes; shells run anticlockwise, holes clockwise.
#[derive(Debug, Clone, Default)]
pub(super) struct ChainTree {
    pub(super) points: Vec<Coord<f64>>,
    pub(super) nodes: Vec<Node>,
    pub(super) rings: Vec<RingOrigin>,
    pub(super) root: Option<u32>,
}

impl ChainTree {
    /// Builds the tree; repeated points are left out, and rings with fewer than three different points or without area.
    pub(super) fn new(area: &MultiPolygon<f64>) -> ChainTree {
        ChainTree::build(area, false)
    }

    /// Builds the tree as [`ChainTree::new`] does, but keeps rings whose signed area is 0, such as an even bow-tie.
    pub(super) fn with_flat_rings(area: &MultiPolygon<f64>) -> ChainTree {
        ChainTree::build(area, true)
    }

    fn build(area: &MultiPolygon<f64>, keep_flat: bool) -> ChainTree {
        let mut tree = ChainTree { points: Vec::with_capacity(area.coords_count()), ..ChainTree::default() };
        let mut roots = Vec::new();
        for (part, polygon) in area.0.iter().enumerate() {
            let part = part as u32;
            roots.extend(tree.add_ring(polygon.exterior(), part, false, keep_flat));
            for hole in polygon.interiors() {
                roots.extend(tree.add_ring(hole, part, true, keep_flat));
            }
        }
        tree.root = tree.group(&mut roots);
        // There is a tree for every work and every union: what vectors keep in reserve would be most of the memory.
        tree.points.shrink_to_fit();
        tree.nodes.shrink_to_fit();
        tree.rings.shrink_to_fit();
        tree
    }

    /// Appends one ring and its boxes; gives the index of its node.
    fn add_ring(&mut self, ring: &LineString<f64>, part: u32, hole: bool, keep_flat: bool) -> Option<u32> {
        let first = self.points.len();
        let points = distinct_points(ring);
        let twice_area = twice_signed_area_m2(&points);
        if points.len() < 3 || (twice_area == 0.0 && !keep_flat) {
            return None;
        }
        if (twice_area > 0.0) != hole {
            self.points.extend(points.iter());
        } else {
            self.points.extend(points.iter().rev());
        }
        self.points.push(self.points[first]);
        let ring = self.rings.len() as u32;
        self.rings.push(RingOrigin { part, hole, first: first as u32 });
        Some(self.chain(first, self.points.len() - 1, ring))
    }

    /// Builds the boxes over the points `first..=last` of one ring.
    fn chain(&mut self, first: usize, last: usize, ring: u32) -> u32 {
        let (first_index, last_index) = (first as u32, last as u32);
        if last - first <= LEAF_EDGES {
            let (mut min, mut max) = (self.points[first], self.points[first]);
            for point in &self.points[first..=last] {
                (min, max) = (lower(min, *point), upper(max, *point));
            }
            return self.push(min, max, Content::Leaf { first: first_index, last: last_index, ring });
        }
        let middle = first + (last - first) / 2;
        let children = [self.chain(first, middle, ring), self.chain(middle, last, ring)];
        self.join(children, |children| Content::Chain { first: first_index, last: last_index, ring, children })
    }

    /// Builds the boxes over whole rings by halving them along the longer side of their common box.
    fn group(&mut self, rings: &mut [u32]) -> Option<u32> {
        match rings {
            [] => None,
            [only] => Some(*only),
            _ => {
                let (mut min, mut max) = (self.middle(rings[0]), self.middle(rings[0]));
                for &ring in rings.iter() {
                    let middle = self.middle(ring);
                    (min, max) = (lower(min, middle), upper(max, middle));
                }
                let by_x = max.x - min.x >= max.y - min.y;
                let key = |ring: &u32| if by_x { self.middle(*ring).x } else { self.middle(*ring).y };
                let half = rings.len() / 2;
                rings.select_nth_unstable_by(half, |a, b| key(a).total_cmp(&key(b)).then(a.cmp(b)));
                let (left, right) = rings.split_at_mut(half);
                let children = [self.group(left)?, self.group(right)?];
                Some(self.join(children, |children| Content::Group { children }))
            }
        }
    }

    fn middle(&self, node: u32) -> Coord<f64> {
        let node = &self.nodes[node as usize];
        (node.min + node.max) / 2.0
    }

    fn join(&mut self, children: [u32; 2], content: impl Fn([u32; 2]) -> Content) -> u32 {
        let [left, right] = children.map(|child| &self.nodes[child as usize]);
        let (min, max) = (lower(left.min, right.min), upper(left.max, right.max));
        self.push(min, max, content(children))
    }

    fn push(&mut self, min: Coord<f64>, max: Coord<f64>, content: Content) -> u32 {
        self.nodes.push(Node { min, max, content });
        (self.nodes.len() - 1) as u32
    }

    /// How often the rings accepted by `accept` wind anticlockwise around `point`, 0 outside; any answer for a point on a ring.
    pub(super) fn winding(&self, point: Coord<f64>, accept: &impl Fn(u32) -> bool) -> i32 {
        self.root.map_or(0, |root| self.winding_under(root, point, accept))
    }

    /// Counts the crossings of the ray from `point` towards larger x, upward ones positive. A chain wholly to the right needs
    /// no visit to its edges: its crossings cancel but for what its two ends say.
    fn winding_under(&self, node: u32, point: Coord<f64>, accept: &impl Fn(u32) -> bool) -> i32 {
        let node = &self.nodes[node as usize];
        if node.max.y < point.y || node.min.y > point.y || node.max.x < point.x {
            return 0;
        }
        let above = |index: u32| i32::from(self.points[index as usize].y > point.y);
        match node.content {
            Content::Leaf { ring, .. } | Content::Chain { ring, .. } if !accept(ring) => 0,
            Content::Leaf { first, last, .. } | Content::Chain { first, last, .. } if node.min.x > point.x => {
                above(last) - above(first)
            }
            Content::Leaf { first, last, .. } => {
                self.edges(first, last).map(|(p, q)| crossing(p - point, q - point)).sum()
            }
            Content::Chain { children, .. } | Content::Group { children } => {
                children.into_iter().map(|child| self.winding_under(child, point, accept)).sum()
            }
        }
    }

    /// The edge nearest to `from` and its squared distance, where that is at most `bound`.
    pub(super) fn nearest_edge(&self, from: Coord<f64>, bound: f64) -> Option<(Edge, f64)> {
        self.nearest_edge_beyond(from, 0.0, bound)
    }

    /// The nearest of the edges whose squared distance from `from` is at least `least` and at most `bound`, and that distance.
    pub(super) fn nearest_edge_beyond(&self, from: Coord<f64>, least: f64, bound: f64) -> Option<(Edge, f64)> {
        let mut best = bound;
        let mut found = None;
        if let Some(root) = self.root {
            self.approach(root, from, least, &mut best, &mut found);
        }
        found.map(|edge| (edge, best))
    }

    /// Branch and bound: the nearer child first, and no box further away than the best so far.
    fn approach(&self, node: u32, from: Coord<f64>, least: f64, best: &mut f64, found: &mut Option<Edge>) {
        let node = &self.nodes[node as usize];
        if node.distance_squared(from) > *best {
            return;
        }
        match node.content {
            Content::Leaf { first, last, .. } => {
                for (p, q) in self.edges(first, last) {
                    let squared = edge_distance_squared(p - from, q - from);
                    if (least..=*best).contains(&squared) {
                        (*best, *found) = (squared, Some((p, q)));
                    }
                }
            }
            Content::Chain { children, .. } | Content::Group { children } => {
                let [left, right] = children.map(|child| self.nodes[child as usize].distance_squared(from));
                let order = if left <= right { children } else { [children[1], children[0]] };
                order.into_iter().for_each(|child| self.approach(child, from, least, best, found));
            }
        }
    }

    /// The edges from point `first` to point `last`, in order.
    pub(super) fn edges(&self, first: u32, last: u32) -> impl Iterator<Item = (Coord<f64>, Coord<f64>)> + '_ {
        self.chain_points(first, last).windows(2).map(|pair| (pair[0], pair[1]))
    }

    /// The points from `first` to `last`, in order.
    pub(super) fn chain_points(&self, first: u32, last: u32) -> &[Coord<f64>] {
        &self.points[first as usize..=last as usize]
    }
}

/// +1 where the edge crosses the ray from the origin towards larger x upwards, -1 downwards; an end on the ray counts as below.
fn crossing(p: Coord<f64>, q: Coord<f64>) -> i32 {
    match (p.y > 0.0, q.y > 0.0) {
        (false, true) if cross(p, q) > 0.0 => 1,
        (true, false) if cross(p, q) < 0.0 => -1,
        _ => 0,
    }
}

/// The points of a ring without repeats and without the closing one.
pub(super) fn distinct_points(ring: &LineString<f64>) -> Vec<Coord<f64>> {
    let mut points = ring.0.clone();
    points.dedup();
    while points.len() > 1 && points.first() == points.last() {
        points.pop();
    }
    points
}

/// Twice the signed area of a ring given without its closing point, anticlockwise positive, square metres.
pub(super) fn twice_signed_area_m2(points: &[Coord<f64>]) -> f64 {
    let Some(&origin) = points.first() else { return 0.0 };
    points.windows(2).map(|pair| cross(pair[0] - origin, pair[1] - origin)).sum()
}

fn lower(a: Coord<f64>, b: Coord<f64>) -> Coord<f64> {
    Coord { x: a.x.min(b.x), y: a.y.min(b.y) }
}

fn upper(a: Coord<f64>, b: Coord<f64>) -> Coord<f64> {
    Coord { x: a.x.max(b.x), y: a.y.max(b.y) }
}
