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

/// Ranges of heights, as (bottom, top), and the box that reaches furthest in each. They share no more than their ends.
type Spans = BTreeMap<(Height, Height), Span>;

/// The box that reaches furthest towards larger x, and how far.
#[derive(Debug, Clone, Copy)]
struct Span {
    reach: f64,
    member: usize,
}

/// Clusters of boxes that touch or overlap, directly or through others: indices ascending, clusters by their first index.
pub fn clusters(boxes: &[Rect<f64>]) -> Vec<Vec<usize>> {
    let mut parents: Vec<usize> = (0..boxes.len()).collect();
    let mut order: Vec<usize> = (0..boxes.len()).collect();
    order.sort_by(|&a, &b| boxes[a].min().x.total_cmp(&boxes[b].min().x).then(a.cmp(&b)));
    let mut spans = Spans::new();
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
fn meet(spans: &mut Spans, parents: &mut [usize], member: usize, bounds: &Rect<f64>) {
    let (bottom, top, reach) = (bounds.min().y, bounds.max().y, bounds.max().x);
    let below_top = spans.range(..=(Height(top), Height(f64::INFINITY))).rev();
    let touched: Vec<_> =
        below_top.take_while(|((_, end), _)| end.0 >= bottom).map(|(&key, &span)| (key, span)).collect();
    let mut free_from = bottom;
    for &(key, span) in touched.iter().rev() {
        spans.remove(&key);
        if span.reach < bounds.min().x {
            continue;
        }
        join(parents, member, span.member);
        let (start, end) = (key.0.0, key.1.0);
        let mut keep = |from: f64, to: f64, span: Span| spans.insert((Height(from), Height(to)), span);
        // What sticks out below and above stays; in between the one that reaches further stays.
        if start < bottom {
            keep(start, bottom, span);
        }
        if end > top {
            keep(top, end, span);
        }
        let (low, high) = (start.max(bottom), end.min(top));
        if span.reach > reach && (low < high || start == end) {
            if free_from < low {
                keep(free_from, low, Span { reach, member });
            }
            keep(low, high, span);
            free_from = high;
        }
    }
    if free_from < top || bottom == top {
        spans.entry((Height(free_from), Height(top))).or_insert(Span { reach, member });
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

#[cfg(test)]
#[path = "cluster_tests.rs"]
mod tests;
