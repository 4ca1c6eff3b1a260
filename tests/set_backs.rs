//! How far works would have to keep away, through the whole command: worked out by hand, and tried out by screening works that do keep away.

#![allow(clippy::unwrap_used)]

use crate::run::{Run, screen};
use geo::bool_ops::BooleanOps;
use geo::{BoundingRect, Coord, LineString, MultiPolygon, Polygon, Rect};

fn page(run: &Run) -> String {
    std::fs::read_to_string(run.out().join("sheets/P.html")).unwrap()
}

/// The cells of the table of design help, row by row.
fn design(page: &str) -> Vec<Vec<String>> {
    let Some((_, rest)) = page.split_once("<caption id=\"c-design\">") else { return Vec::new() };
    let body = rest.split_once("<tbody>").unwrap().1.split_once("</tbody>").unwrap().0;
    let cells = |row: &str| {
        let cells = row.split('<').filter_map(|tag| tag.strip_prefix("td>").or(tag.strip_prefix("th scope=\"row\">")));
        cells.map(str::to_string).collect()
    };
    body.split("<tr>").skip(1).map(cells).collect()
}

fn strip(work: &str, from_m: f64) -> String {
    format!("P,{work},trench,\"POLYGON(({from_m} 49.7,20 49.7,20 50.3,{from_m} 50.3,{from_m} 49.7))\"\n")
}

const TREE: &str = "id,x,y,dbh_in\nT,0,50,24\n";
const HEAD: &str = "permit_id,work_id,kind,wkt\n";

/// A trunk of 24 in: root zone 24 ft, half ring 12 ft = 3.6576 m. A trench of 0.6 m runs straight at it, from 2 m on: any cut within the half
/// ring is major, so the least set-back is 3.66 m, 12.1 ft when rounded up, 1.66 m (5.5 ft) further than as drawn.
#[test]
fn a_cut_has_to_end_at_the_half_ring() {
    let run = screen(TREE, &(HEAD.to_string() + &strip("W", 2.0)), "one-foot-per-inch", &[]).done();
    assert_eq!(run.row("P", "T")["finding"], "major");
    let page = page(&run);
    let row = ["T1 (W)", "T (1)", "6.6 ft (2.00 m)", "12.1 ft (3.66 m)", "5.5 ft (1.66 m)"];
    assert_eq!(design(&page), [row]);
    assert!(
        page.contains("class=\"set-back\"")
            && page.contains("Set-back: out of risk where all works of this permit keep 12.1 ft (3.66 m)")
    );
    // It is drawn true to scale, as a dashed line.
    let scale: f64 = page.split_once("data-scale=\"").unwrap().1.split('"').next().unwrap().parse().unwrap();
    let circle = page.split_once("class=\"set-back\"").unwrap().1.split('>').next().unwrap();
    let radius: f64 = circle.split_once(" r=\"").unwrap().1.split('"').next().unwrap().parse().unwrap();
    assert!((radius - 3.66 * 100_000.0 / scale).abs() <= 0.5 && circle.contains("stroke-dasharray"), "{circle}");
    // Tried out: at the set-back it is not major any more, a centimetre nearer it is.
    for (from_m, finding) in [(3.66, "minor"), (3.65, "major")] {
        let moved = screen(TREE, &(HEAD.to_string() + &strip("W", from_m)), "one-foot-per-inch", &[]).done();
        assert_eq!(moved.row("P", "T")["finding"], finding, "{from_m}");
    }
}

/// Each work that puts a tree at risk is named, with the trees; one that does not is not.
#[test]
fn every_work_that_has_to_keep_away_is_named() {
    let trees = "id,x,y,dbh_in\nA,0,50,24\nB,0,62,24\n";
    let works = HEAD.to_string()
        + &strip("W1", 2.0)
        + "P,W2,trench,\"POLYGON((1 59,1.6 59,1.6 60,1 60,1 59))\"\nP,W3,trench,\"POLYGON((40 90,41 90,41 91,40 91,40 90))\"\n";
    let run = screen(trees, &works, "one-foot-per-inch", &["--units", "metric"]).done();
    let rows = design(&page(&run));
    let named: Vec<(&str, &str)> = rows.iter().map(|row| (row[0].as_str(), row[1].as_str())).collect();
    assert_eq!(named, [("T1 (W1)", "A (2)"), ("T2 (W2)", "B (1)")], "{rows:?}");
    // The corner of W2 that is furthest from B is 3.4 m away, sqrt(1.6 * 1.6 + 3 * 3), nearer than the half ring: at 3.4 m nothing of it is left.
    assert_eq!(rows[1][2..4], ["2.24 m (7.3 ft)", "3.40 m (11.2 ft)"]);
    assert_eq!(rows[1][4], "lies wholly within: would have to stand elsewhere");
}

/// A zone that works of another kind cover by more than a quarter: the share decides, not the ring. The ground within the zone beyond a
/// distance `d` of the trunk, right of the line at `d`, is the segment R2 acos(d/R) - d sqrt(R2 - d2); cut by the disc alone it is the zone's
/// right half less the half disc: pi (R2 - d2) / 2 = pi R2 / 4 at d = R / sqrt 2 = 5.1726 m.
#[test]
fn where_a_share_decides_the_share_is_met() {
    // Compacted only: nothing is cut, so that no ring decides.
    let works = HEAD.to_string() + "P,W,haul route,\"POLYGON((0 30,20 30,20 70,0 70,0 30))\"\n";
    let run = screen(TREE, &works, "one-foot-per-inch", &["--units", "metric"]).done();
    assert_eq!(run.row("P", "T")["finding"], "major");
    let rows = design(&page(&run));
    let asked: f64 = rows[0][3].split(' ').next().unwrap().parse().unwrap();
    let exact = 24.0 * 0.3048 / 2f64.sqrt();
    assert!((exact..exact + 0.0101).contains(&asked), "{asked} against {exact}");
}

/// A tree that goes needs no set-back; one that stays without a finding at risk has none.
#[test]
fn no_design_help_where_there_is_nothing_to_help() {
    let goes = "id,x,y,dbh_in,disposition\nT,0,50,24,remove\n";
    let run = screen(goes, &(HEAD.to_string() + &strip("W", 2.0)), "one-foot-per-inch", &[]).done();
    assert!(!page(&run).contains("id=\"h-design\""));
    let run = screen(TREE, &(HEAD.to_string() + &strip("W", 5.0)), "one-foot-per-inch", &[]).done();
    assert!(!page(&run).contains("id=\"h-design\""));
}

/// A kind of work and its ground.
type KindAndShape = (&'static str, MultiPolygon<f64>);
/// Id, x, y and diameter in inches.
type TreeRow = (&'static str, f64, f64, f64);

/// Three works that lie over each other and eight trees around and among them, one of them inside.
fn crowded() -> (Vec<KindAndShape>, Vec<TreeRow>) {
    let rectangle = |x: f64, y: f64, to_x: f64, to_y: f64| {
        MultiPolygon::from(Rect::new(Coord { x, y }, Coord { x: to_x, y: to_y }).to_polygon())
    };
    let house = rectangle(0.0, 0.0, 18.0, 9.0).union(&rectangle(0.0, 0.0, 7.0, 21.0));
    let works = vec![
        ("building", house),
        ("trench", rectangle(12.0, -14.0, 12.8, 30.0)),
        ("haul route", rectangle(7.0, 12.0, 40.0, 17.0)),
    ];
    let trees = vec![
        ("A", -2.5, 4.0, 24.0),
        ("B", 9.5, 12.5, 30.0),
        ("C", 14.0, -5.0, 18.0),
        ("D", 3.0, 15.0, 26.0),
        ("E", 20.5, 10.5, 32.0),
        ("F", 11.2, 24.0, 14.0),
        ("G", 16.0, 18.5, 36.0),
        ("H", 30.0, 14.5, 20.0),
    ];
    (works, trees)
}

fn screened(works: &[KindAndShape], trees: &[TreeRow]) -> Run {
    let rows = trees.iter().map(|(id, x, y, inches)| format!("{id},{x},{y},{inches}\n"));
    let works = works.iter().zip(1..).filter(|((_, shape), _)| !shape.0.is_empty());
    let works = works.map(|((kind, shape), number)| format!("P,W{number},{kind},\"{}\"\n", wkt(shape)));
    let tables =
        ["id,x,y,dbh_in\n".to_string() + &rows.collect::<String>(), HEAD.to_string() + &works.collect::<String>()];
    screen(&tables[0], &tables[1], "one-foot-per-inch", &["--units", "metric", "--layers", "none"]).done()
}

fn wkt(shape: &MultiPolygon<f64>) -> String {
    let ring = |ring: &LineString<f64>| {
        let points: Vec<String> = ring.0.iter().map(|point| format!("{} {}", point.x, point.y)).collect();
        format!("({})", points.join(","))
    };
    let polygon = |polygon: &Polygon<f64>| {
        let rings: Vec<String> = std::iter::once(polygon.exterior()).chain(polygon.interiors()).map(ring).collect();
        format!("({})", rings.join(","))
    };
    format!("MULTIPOLYGON({})", shape.0.iter().map(polygon).collect::<Vec<_>>().join(","))
}

/// What the letter asks works to keep from each tree, metres.
fn asked(run: &Run) -> Vec<(String, f64)> {
    let letter = std::fs::read_to_string(run.out().join("sheets/P-comments.txt")).unwrap();
    let letter = letter.split_whitespace().collect::<Vec<_>>().join(" ");
    let of_tree = |part: &str| {
        let distance = part.split_once("all works of this permit keep ")?.1.split_once(" m")?.0.parse().unwrap();
        Some((part.split([' ', ',']).next().unwrap().to_string(), distance))
    };
    letter.split(". Tree ").skip(1).filter_map(of_tree).collect()
}

/// A disc drawn around (`reach` above 1) or within a circle.
fn disc(at: Coord<f64>, radius_m: f64, reach: f64) -> MultiPolygon<f64> {
    let corner = |side: u32| {
        let (sine, cosine) = (std::f64::consts::TAU * f64::from(side) / 1024.0).sin_cos();
        at + Coord { x: cosine, y: sine } * radius_m * reach
    };
    MultiPolygon(vec![Polygon::new(LineString((0..1024).map(corner).collect()), Vec::new())])
}

fn at_risk(run: &Run) -> Vec<String> {
    let rows = run.table("overlaps.csv").into_iter();
    rows.filter(|row| ["major", "trunk_in_work"].contains(&row["finding"].as_str()))
        .map(|row| row["tree_id"].clone())
        .collect()
}

/// The set-backs are found without cutting anything. Here the works are cut, by the overlay of the crate `geo`, and screened again: with all
/// set-backs kept at once no tree is at risk, and with any one of them 2 cm shorter its tree still is.
#[test]
fn works_cut_to_the_set_backs_put_no_tree_at_risk() {
    let (works, trees) = crowded();
    let run = screened(&works, &trees);
    let asked = asked(&run);
    let mut named: Vec<&str> = asked.iter().map(|(tree, _)| tree.as_str()).collect();
    named.sort_unstable();
    let mut risk = at_risk(&run);
    risk.sort_unstable();
    assert!(asked.len() >= 6 && named == risk, "{asked:?} {risk:?}");
    let place = |tree: &str| trees.iter().find(|(id, ..)| *id == tree).map(|&(_, x, y, _)| Coord { x, y }).unwrap();
    let cut = |discs: &[MultiPolygon<f64>]| -> Vec<KindAndShape> {
        works
            .iter()
            .map(|(kind, shape)| (*kind, discs.iter().fold(shape.clone(), |rest, disc| rest.difference(disc))))
            .collect()
    };
    let all: Vec<_> = asked.iter().map(|(tree, keep_m)| disc(place(tree), *keep_m, 1.0 + 1e-5)).collect();
    let kept = cut(&all);
    assert!(kept.iter().any(|(_, shape)| shape.bounding_rect().is_some()), "something has to be left");
    assert_eq!(at_risk(&screened(&kept, &trees)), Vec::<String>::new());
    for (tree, keep_m) in &asked {
        let short = cut(&[disc(place(tree), keep_m - 0.02, 1.0)]);
        assert!(at_risk(&screened(&short, &trees)).contains(tree), "{tree} at {keep_m} m less 2 cm");
    }
}
