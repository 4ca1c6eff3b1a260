//! Finds the works of one permit that can reach a disc: a tree of bounding boxes per permit, for drawing only.

use crate::model::work::Work;
use geo::{BoundingRect, Coord, Rect};

/// Works in a leaf.
const LEAF: usize = 8;

/// The counted works of one permit.
#[derive(Default)]
pub struct Nearby {
    boxes: Vec<(Rect<f64>, u32)>,
    root: Option<Box<Node>>,
}

struct Node {
    bounds: Rect<f64>,
    kind: Kind,
}

enum Kind {
    Leaf { from: usize, to: usize },
    Fork(Box<Node>, Box<Node>),
}

impl Nearby {
    /// Of the works named by their indices, those that count as overlap.
    pub fn new(works: &[Work], of_permit: impl Iterator<Item = u32>) -> Nearby {
        let mut boxes: Vec<(Rect<f64>, u32)> = of_permit
            .filter(|&index| works[index as usize].counted())
            .filter_map(|index| Some((works[index as usize].shape.bounding_rect()?, index)))
            .collect();
        let root = build(&mut boxes, 0);
        Nearby { boxes, root }
    }

    /// Indices, ascending, of the works whose bounding box comes nearer to the centre than the radius.
    pub fn within(&self, centre: Coord<f64>, radius_m: f64) -> Vec<u32> {
        let mut found = Vec::new();
        let mut open: Vec<&Node> = self.root.as_deref().into_iter().collect();
        while let Some(node) = open.pop() {
            if distance_m(&node.bounds, centre) >= radius_m {
                continue;
            }
            match &node.kind {
                Kind::Fork(one, other) => open.extend([&**one, &**other]),
                Kind::Leaf { from, to } => {
                    let near =
                        self.boxes[*from..*to].iter().filter(|(bounds, _)| distance_m(bounds, centre) < radius_m);
                    found.extend(near.map(|(_, index)| *index));
                }
            }
        }
        found.sort_unstable();
        found
    }
}

fn build(boxes: &mut [(Rect<f64>, u32)], offset: usize) -> Option<Box<Node>> {
    let bounds = boxes.iter().map(|(bounds, _)| *bounds).reduce(joined)?;
    if boxes.len() <= LEAF {
        return Some(Box::new(Node { bounds, kind: Kind::Leaf { from: offset, to: offset + boxes.len() } }));
    }
    let wide = bounds.width() >= bounds.height();
    let key = |bounds: &Rect<f64>| if wide { bounds.center().x } else { bounds.center().y };
    let middle = boxes.len() / 2;
    boxes.select_nth_unstable_by(middle, |a, b| key(&a.0).total_cmp(&key(&b.0)).then(a.1.cmp(&b.1)));
    let (left, right) = boxes.split_at_mut(middle);
    let kind = Kind::Fork(build(left, offset)?, build(right, offset + middle)?);
    Some(Box::new(Node { bounds, kind }))
}

fn joined(a: Rect<f64>, b: Rect<f64>) -> Rect<f64> {
    Rect::new(
        Coord { x: a.min().x.min(b.min().x), y: a.min().y.min(b.min().y) },
        Coord { x: a.max().x.max(b.max().x), y: a.max().y.max(b.max().y) },
    )
}

/// From a point to a box, 0 inside.
fn distance_m(bounds: &Rect<f64>, centre: Coord<f64>) -> f64 {
    let beyond = |low: f64, at: f64, high: f64| (low - at).max(at - high).max(0.0);
    beyond(bounds.min().x, centre.x, bounds.max().x).hypot(beyond(bounds.min().y, centre.y, bounds.max().y))
}
