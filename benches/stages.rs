//! How the cost of each stage grows with what it is given: `cargo bench --bench stages`.
//!
//! Ratios between sizes are what to look at: times differ from machine to machine. Everything here is made up on the spot.
#![allow(clippy::unwrap_used)]

use divan::counter::ItemsCount;
use divan::{Bencher, black_box};
use geo::{Coord, LineString, MultiPolygon, Polygon};
use rootward::geometry::{PreparedArea, Sight, area_outline, repair, union};
use rootward::index::WorkIndex;
use rootward::read::survey;
use rootward::settings::{InputName, ReadBounds};
use std::fmt::Write;

fn main() {
    divan::main();
}

/// A ring of `corners` corners that goes in and out between 20 and 30 m around a place.
fn star(corners: usize, centre: Coord<f64>) -> MultiPolygon<f64> {
    let corner = |at: usize| {
        let (sine, cosine) = (std::f64::consts::TAU * at as f64 / corners as f64).sin_cos();
        let radius_m = if at.is_multiple_of(2) { 20.0 } else { 30.0 };
        centre + Coord { x: radius_m * cosine, y: radius_m * sine }
    };
    Polygon::new(LineString((0..corners).map(corner).collect()), Vec::new()).into()
}

/// Boxes of 10 m in a row, each 8 m from the next.
fn row_of_boxes(count: usize) -> Vec<MultiPolygon<f64>> {
    let square = |at: usize| {
        let x = 8.0 * at as f64;
        geo::Rect::new(Coord { x, y: 0.0 }, Coord { x: x + 10.0, y: 10.0 }).to_polygon().into()
    };
    (0..count).map(square).collect()
}

const FAR_OUT: Coord<f64> = Coord { x: 491_520.0, y: 5_458_944.0 };

/// **read**: rows of a table of trees, both passes.
#[divan::bench(args = [1_000, 10_000, 100_000])]
fn read_rows(bencher: Bencher, rows: usize) {
    let mut text = String::from("id,species,dbh_in,longitude,latitude\n");
    for row in 0..rows {
        writeln!(text, "T{row},Quercus robur,{}.5,15.{row:07},50.{row:07}", row % 40).unwrap();
    }
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("t.csv");
    std::fs::write(&path, text).unwrap();
    let input = InputName::parse(path.to_str().unwrap());
    bencher.counter(ItemsCount::new(rows)).bench(|| {
        let survey = survey(&input, ReadBounds::default()).unwrap();
        let mut seen = 0;
        for chunk in survey.chunks().unwrap() {
            chunk.unwrap().for_each(&mut |record| seen += record.is_ok_and(|record| record.len() == 5) as usize);
        }
        assert_eq!(seen, rows);
    });
}

/// **normalise**: a shape looked into and prepared, by its corners.
#[divan::bench(args = [100, 1_000, 10_000, 100_000])]
fn repair_and_prepare(bencher: Bencher, corners: usize) {
    let shape = star(corners, FAR_OUT);
    bencher.counter(ItemsCount::new(corners)).bench(|| (repair(black_box(&shape)), PreparedArea::new(&shape)));
}

/// **index**: candidates of a root zone among so many works.
#[divan::bench(args = [1_000, 10_000, 100_000])]
fn index_near(bencher: Bencher, works: usize) {
    let boxes = row_of_boxes(works);
    let index = WorkIndex::new((0..).zip(&boxes));
    let (mut found, mut at) = (Vec::new(), 0);
    bencher.bench_local(|| {
        at = (at + 7_919) % works;
        index.near(Coord { x: 8.0 * at as f64, y: 15.0 }, 12.0, &mut found);
        found.len()
    });
}

/// **measure**: the works of one permit united.
#[divan::bench(args = [10, 100, 1_000, 10_000])]
fn unite(bencher: Bencher, works: usize) {
    let boxes = row_of_boxes(works);
    let shapes: Vec<&MultiPolygon<f64>> = boxes.iter().collect();
    bencher.counter(ItemsCount::new(works)).bench(|| union(black_box(&shapes)));
}

/// **measure**: the covered part of a small disc at the edge of a shape: grows with the edges near the disc and not with all.
#[divan::bench(args = [100, 10_000, 1_000_000])]
fn disc_area(bencher: Bencher, corners: usize) {
    let area = PreparedArea::new(&star(corners, FAR_OUT));
    let centre = FAR_OUT + Coord { x: 25.0, y: 0.0 };
    bencher.bench(|| area.disc_area_m2(black_box(centre), 2e2 / corners as f64));
}

/// **measure**: what a cut leaves behind it.
#[divan::bench(args = [10, 100, 1_000])]
fn severed(bencher: Bencher, corners: usize) {
    let area = PreparedArea::new(&star(corners, FAR_OUT + Coord { x: 35.0, y: 0.0 }));
    bencher.counter(ItemsCount::new(corners)).bench(|| Sight::new(&area, black_box(FAR_OUT), 40.0).severed_m2());
}

/// **write**: the drawn overlap of a disc.
#[divan::bench(args = [10, 100, 1_000])]
fn outline(bencher: Bencher, corners: usize) {
    let area = PreparedArea::new(&star(corners, FAR_OUT));
    let centre = FAR_OUT + Coord { x: 25.0, y: 0.0 };
    bencher.counter(ItemsCount::new(corners)).bench(|| area_outline(&area, black_box(centre), 15.0));
}
