//! Finds where the edges of rings meet other than at the point that neighbours share.
//!
//! Exact: orientations come from adaptive-precision predicates, so that two edges either meet or do not.

use super::chain::{ChainTree, Content};
use super::edge::dot;
use geo::Coord;
use geo::kernels::{Kernel, Orientation, RobustKernel};

/// Enough to name what is wrong; a shape with more is rebuilt anyway.
const MOST_CONTACTS: usize = 1_000;

/// How two edges meet.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(super) enum Meeting {
    /// At one point that ends at least one of them.
    Touch,
    /// At one point inside both.
    Cross,
    /// Along a common stretch.
    Along,
}

/// A place where two edges meet.
#[derive(Debug, Clone, Copy)]
pub(super) struct Contact {
    pub(super) meeting: Meeting,
    /// Rings of the two edges, as indices of the tree.
    pub(super) rings: (u32, u32),
    /// An end of one of the edges at or near the place.
    pub(super) at: Coord<f64>,
}

/// An edge with its ring and the index of its first point.
#[derive(Clone, Copy)]
struct Edge {
    ring: u32,
    index: u32,
    p: Coord<f64>,
    q: Coord<f64>,
}

/// The contacts between edges of a tree, at most a thousand, in the tree's order.
pub(super) fn contacts(tree: &ChainTree) -> Vec<Contact> {
    let mut found = Vec::new();
    for node in &tree.nodes {
        let Content::Leaf { first, last, ring } = node.content else { continue };
        for (index, (p, q)) in (first..last).zip(tree.edges(first, last)) {
            if let Some(root) = tree.root {
                search(tree, root, Edge { ring, index, p, q }, &mut found);
            }
            if found.len() >= MOST_CONTACTS {
                return found;
            }
        }
    }
    found
}

/// Compares an edge with the later edges whose boxes meet its own.
fn search(tree: &ChainTree, node: u32, edge: Edge, found: &mut Vec<Contact>) {
    let node = &tree.nodes[node as usize];
    let min = Coord { x: edge.p.x.min(edge.q.x), y: edge.p.y.min(edge.q.y) };
    let max = Coord { x: edge.p.x.max(edge.q.x), y: edge.p.y.max(edge.q.y) };
    if !node.meets(min, max) {
        return;
    }
    match node.content {
        Content::Chain { last, .. } if last <= edge.index => {}
        Content::Leaf { first, last, ring } => {
            for (index, (p, q)) in (first..last).zip(tree.edges(first, last)) {
                if index > edge.index {
                    let other = Edge { ring, index, p, q };
                    found.extend(compare(tree, edge, other));
                }
            }
        }
        Content::Chain { children, .. } | Content::Group { children } => {
            children.into_iter().for_each(|child| search(tree, child, edge, found));
        }
    }
}

fn compare(tree: &ChainTree, a: Edge, b: Edge) -> Option<Contact> {
    let contact = |meeting, at| Some(Contact { meeting, rings: (a.ring, b.ring), at });
    if a.ring == b.ring {
        if b.index == a.index + 1 {
            return fold(a.p, a.q, b.q).and_then(|()| contact(Meeting::Along, a.q));
        }
        // The last edge of a ring leads back to the first.
        let first = tree.rings[a.ring as usize].first;
        if a.index == first && b.q == a.p && is_last_edge(tree, b) {
            return fold(b.p, a.p, a.q).and_then(|()| contact(Meeting::Along, a.p));
        }
    }
    meeting(a.p, a.q, b.p, b.q).and_then(|(meeting, at)| contact(meeting, at))
}

fn is_last_edge(tree: &ChainTree, edge: Edge) -> bool {
    let next_ring = tree.rings.get(edge.ring as usize + 1).map_or(tree.points.len() as u32, |ring| ring.first);
    edge.index + 2 == next_ring
}

/// Whether the way from `p` through `q` to `r` turns straight back.
fn fold(p: Coord<f64>, q: Coord<f64>, r: Coord<f64>) -> Option<()> {
    (RobustKernel::orient2d(p, q, r) == Orientation::Collinear && dot(p - q, r - q) > 0.0).then_some(())
}

fn meeting(a: Coord<f64>, b: Coord<f64>, c: Coord<f64>, d: Coord<f64>) -> Option<(Meeting, Coord<f64>)> {
    use Orientation::Collinear;
    let sides = [
        RobustKernel::orient2d(a, b, c),
        RobustKernel::orient2d(a, b, d),
        RobustKernel::orient2d(c, d, a),
        RobustKernel::orient2d(c, d, b),
    ];
    let ends = [(c, a, b), (d, a, b), (a, c, d), (b, c, d)];
    let touching = |index: usize| sides[index] == Collinear && within_box(ends[index].0, ends[index].1, ends[index].2);
    if sides.iter().all(|&side| side == Collinear) {
        let places: Vec<Coord<f64>> = (0..4).filter(|&index| touching(index)).map(|index| ends[index].0).collect();
        let first = *places.first()?;
        let meeting = if places.iter().any(|&place| place != first) { Meeting::Along } else { Meeting::Touch };
        return Some((meeting, first));
    }
    if let Some(index) = (0..4).find(|&index| touching(index)) {
        return Some((Meeting::Touch, ends[index].0));
    }
    let crossing = !sides.contains(&Collinear) && sides[0] != sides[1] && sides[2] != sides[3];
    crossing.then_some((Meeting::Cross, a))
}

fn within_box(point: Coord<f64>, a: Coord<f64>, b: Coord<f64>) -> bool {
    let between = |value: f64, one: f64, other: f64| one.min(other) <= value && value <= one.max(other);
    between(point.x, a.x, b.x) && between(point.y, a.y, b.y)
}
