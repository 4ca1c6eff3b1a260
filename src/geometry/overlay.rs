//! The one door to the overlay engine: what is inside one or both of two shapes, whatever the shapes.
//!
//! The engine works on a whole-numbered grid and, for rare tangles, ends in a panic: wrong rings of strangers' files must not end a run. It is then asked
//! again with both shapes turned a little, where the grid falls otherwise.

use geo::bool_ops::{BooleanOps, FillRule, OpType};
use geo::{Coord, LineString, MapCoords, MultiPolygon, Polygon};
use std::cell::Cell;
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::sync::Once;

/// Angles by which shapes are turned, one after the other, radians. Any will do that are no parts of a turn.
const TURNS: [f64; 4] = [0.37, 1.13, -0.71, 2.21];

/// The overlay of two shapes; those of overlapping rings count as the fill rule says. `None` where the engine fails however the shapes are turned.
pub(crate) fn try_overlay(
    subject: &impl BooleanOps<Scalar = f64>,
    other: &impl BooleanOps<Scalar = f64>,
    operation: OpType,
    rule: FillRule,
) -> Option<MultiPolygon<f64>> {
    let plain = quietly(|| subject.boolean_op_with_fill_rule(other, operation, rule));
    plain.or_else(|| {
        let turned_back = |turn: f64| {
            let (subject, other) = (turned(&ring_by_ring(subject), turn), turned(&ring_by_ring(other), turn));
            quietly(|| subject.boolean_op_with_fill_rule(&other, operation, rule)).map(|found| turned(&found, -turn))
        };
        TURNS.into_iter().find_map(turned_back)
    })
}

/// [`try_overlay`] of shapes that are valid, or drawn here of valid ones: for such the engine has never failed.
///
/// # Panics
/// Where it fails all the same, however the shapes are turned.
pub(crate) fn overlay(
    subject: &impl BooleanOps<Scalar = f64>,
    other: &impl BooleanOps<Scalar = f64>,
    operation: OpType,
    rule: FillRule,
) -> MultiPolygon<f64> {
    try_overlay(subject, other, operation, rule).expect("the overlay of valid shapes is known, turned or not")
}

/// The same rings, each a polygon by itself: what fills them is decided by their winding and the rule, not by which hole is whose.
fn ring_by_ring(shape: &impl BooleanOps<Scalar = f64>) -> MultiPolygon<f64> {
    MultiPolygon(shape.rings().map(|ring: &LineString<f64>| Polygon::new(ring.clone(), Vec::new())).collect())
}

fn turned(shape: &MultiPolygon<f64>, turn: f64) -> MultiPolygon<f64> {
    let (sine, cosine) = turn.sin_cos();
    shape.map_coords(|c| Coord { x: c.x * cosine - c.y * sine, y: c.x * sine + c.y * cosine })
}

thread_local! {
    /// Whether a panic of this thread is expected and not to be told.
    static QUIET: Cell<bool> = const { Cell::new(false) };
}

/// What a closure gives; `None` where it panics, which nobody is told.
fn quietly<T>(ask: impl FnOnce() -> T) -> Option<T> {
    static HOOK: Once = Once::new();
    HOOK.call_once(|| {
        let usual = std::panic::take_hook();
        std::panic::set_hook(Box::new(move |panic| {
            if !QUIET.get() {
                usual(panic);
            }
        }));
    });
    QUIET.set(true);
    let found = catch_unwind(AssertUnwindSafe(ask)).ok();
    QUIET.set(false);
    found
}

#[cfg(test)]
mod tests {
    use super::*;
    use geo::{Area, Rect};

    fn square(x: f64, y: f64) -> MultiPolygon<f64> {
        Rect::new(Coord { x, y }, Coord { x: x + 4.0, y: y + 4.0 }).to_polygon().into()
    }

    #[test]
    fn a_panic_is_no_answer_and_the_next_call_goes_on() {
        assert_eq!(quietly(|| -> i32 { panic!("expected") }), None);
        assert_eq!(quietly(|| 4), Some(4));
    }

    /// Two squares of 4 m, one moved by 2 m along both axes: 4 m2 in common, 28 m2 in all.
    #[test]
    fn turned_shapes_give_the_same_overlay() {
        for turn in TURNS {
            let (one, two) = (turned(&square(0.0, 0.0), turn), turned(&square(2.0, 2.0), turn));
            for (operation, m2) in [(OpType::Intersection, 4.0), (OpType::Union, 28.0), (OpType::Difference, 12.0)] {
                let found = turned(&overlay(&one, &two, operation, FillRule::Positive), -turn);
                assert!((found.unsigned_area() - m2).abs() < 1e-6, "{turn}: {}", found.unsigned_area());
            }
        }
    }
}
