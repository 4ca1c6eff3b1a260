//! Groups boxes into clusters that hang together, in near-linear time.
//!
//! A sweep towards larger x. All boxes that the sweep line meets at one height share the point where it meets them, so they belong to one
//! cluster, and it is enough to remember, for each height, the one that reaches furthest.

use geo::Rect;
use std::cmp::Ordering;
use std::collections::BTreeMap;

/// A height in the order of numbers.
#[derive(Debug, Clone, Copy)]
struct Height(f64);

impl PartialEq for Height {
    fn eq(&self, other: &Height) -> bool {
        self.cmp(other) == Ordering::Equal
    }
}
impl Eq for Height {}
impl PartialOrd for Height {
    fn partial_cmp(&self, other: &Height) -> Option<Ordering> {
        Some(self.cmp(other))
    }
}
impl Ord for Height {
    fn cmp(&self, other: &Height) -> Ordering {
        self.0.total_cmp(&other.0)
    }
}

/// A range of heights, from the key it is stored under up to `top`, and the box that reaches furthest there.
#[derive(Debug, Clone, Copy)]
struct Span {
    top: f64,
    reach: f64,
    member: usize,
}

/// Clusters of boxes that touch or overlap, directly or through others: indices ascending, clusters by their first index.
pub(super) fn clusters(boxes: &[Rect<f64>]) -> Vec<Vec<usize>> {
    let mut parents: Vec<usize> = (0..boxes.len()).collect();
    let mut order: Vec<usize> = (0..boxes.len()).collect();
    order.sort_by(|&a, &b| boxes[a].min().x.total_cmp(&boxes[b].min().x).then(a.cmp(&b)));
    let mut spans: BTreeMap<Height, Span> = BTreeMap::new();
    for member in order {
        meet(&mut spans, &mut parents, member, &boxes[member]);
    }
    let mut places: BTreeMap<usize, Vec<usize>> = BTreeMap::new();
    for index in 0..boxes.len() {
        let top = find(&mut parents, index);
        places.entry(top).or_default().push(index);
    }
    let mut clusters: Vec<Vec<usize>> = places.into_values().collect();
    clusters.sort_unstable_by_key(|members| members[0]);
    clusters
}

/// Joins a box to those that the sweep line meets at its heights, and remembers it where it reaches furthest.
fn meet(spans: &mut BTreeMap<Height, Span>, parents: &mut [usize], member: usize, bounds: &Rect<f64>) {
    let (bottom, top, reach) = (bounds.min().y, bounds.max().y, bounds.max().x);
    let touched: Vec<(Height, Span)> =
        spans.range(..=Height(top)).rev().take_while(|(_, span)| span.top >= bottom).map(|(&key, &span)| (key, span)).collect();
    let mut free_from = bottom;
    for &(Height(start), span) in touched.iter().rev() {
        spans.remove(&Height(start));
        if span.reach < bounds.min().x {
            continue;
        }
        join(parents, member, span.member);
        // What sticks out below and above stays; in between the one that reaches further stays.
        if start < bottom {
            spans.insert(Height(start), Span { top: bottom.min(span.top), ..span });
        }
        if span.top > top {
            spans.insert(Height(top), span);
        }
        let (low, high) = (start.max(bottom), span.top.min(top));
        if span.reach > reach && low < high {
            if free_from < low {
                spans.insert(Height(free_from), Span { top: low, reach, member });
            }
            spans.insert(Height(low), Span { top: high, ..span });
            free_from = high;
        }
    }
    if free_from < top || bottom == top {
        spans.insert(Height(free_from), Span { top, reach, member });
    }
}

fn find(parents: &mut [usize], mut index: usize) -> usize {
    while parents[index] != index {
        parents[index] = parents[parents[index]];
        index = parents[index];
    }
    index
}

fn join(parents: &mut [usize], a: usize, b: usize) {
    let (a, b) = (find(parents, a), find(parents, b));
    let (low, high) = (a.min(b), a.max(b));
    parents[high] = low;
}
