//! Layers: one layer byte for byte, and the rules of RFC 7946 on all of them, read back with the `geojson` crate.

use super::*;
use crate::write::example;
use crate::write::tests::files;
use geo::winding_order::{Winding, WindingOrder};
use geo::{Area, Geometry};
use geojson::{Feature, FeatureCollection, GeoJson};

fn collection(text: &[u8]) -> FeatureCollection {
    match std::str::from_utf8(text).unwrap().parse::<GeoJson>().unwrap() {
        GeoJson::FeatureCollection(collection) => collection,
        other => panic!("{other:?}"),
    }
}

fn layer(name: &str) -> FeatureCollection {
    collection(&files(&example::results(), &example::facts(false), &Layer::ALL)[name])
}

fn polygons(feature: &Feature) -> MultiPolygon<f64> {
    match feature.geometry.clone().map(|g| Geometry::<f64>::try_from(g.value).unwrap()) {
        Some(Geometry::Polygon(polygon)) => polygon.into(),
        Some(Geometry::MultiPolygon(polygons)) => polygons,
        Some(Geometry::Point(_)) | None => MultiPolygon::new(vec![]),
        other => panic!("{other:?}"),
    }
}

#[test]
fn trees_byte_for_byte() {
    let text =
        files(&example::results(), &example::facts(false), &[Layer::Trees]).remove("layers/trees.geojson").unwrap();
    let feature = |properties: &str, longitude: &str| {
        format!(
            "{{\"type\":\"Feature\",\"properties\":{{{properties}}},\"geometry\":{{\"type\":\"Point\",\"coordinates\":[{longitude},49.0000000]}}}}"
        )
    };
    let expected = [
        feature(
            r#""tree_id":"=SUM(A1)","species":"Acer \"Crimson\", late","diameter_cm":50.00,"heritage_class":"heritage","finding":"major","permit_id":"P-1","permits":1,"at_risk":"yes","together_finding":null,"affected_pct":19.8944,"file":"trees.csv","row":2"#,
            "-123.0000000",
        ),
        feature(
            r#""tree_id":"T-10","species":"Quercus robur","diameter_cm":30.00,"heritage_class":null,"finding":"moderate","permit_id":"P-1","permits":1,"at_risk":"no","together_finding":null,"affected_pct":2.4561,"file":"trees.csv","row":4"#,
            "-122.9998000",
        ),
        // Moderate under both permits, the larger share under P-2.
        feature(
            r#""tree_id":"T-2","species":"Quercus robur","diameter_cm":90.00,"heritage_class":"heritage","finding":"moderate","permit_id":"P-2","permits":2,"at_risk":"no","together_finding":"major","affected_pct":16.3740,"file":"trees.csv","row":3"#,
            "-122.9996000",
        ),
        feature(
            r#""tree_id":"T-3","species":"Quercus robur","diameter_cm":null,"heritage_class":null,"finding":"not_assessed","permit_id":"P-1","permits":1,"at_risk":"no","together_finding":null,"affected_pct":null,"file":"trees.csv","row":6"#,
            "-122.9994000",
        ),
        feature(
            r#""tree_id":"T-4","species":"Quercus robur","diameter_cm":78.74,"heritage_class":null,"finding":"minor","permit_id":"P-1","permits":1,"at_risk":"no","together_finding":null,"affected_pct":1.0696,"file":"trees.csv","row":7"#,
            "-122.9992000",
        ),
    ];
    let expected = format!("{{\"type\":\"FeatureCollection\",\"features\":[\n{}\n]}}\n", expected.join(",\n"));
    assert_eq!(String::from_utf8(text).unwrap(), expected);
}

#[test]
fn layers_follow_rfc_7946() {
    let files = files(&example::results(), &example::facts(false), &Layer::ALL);
    let mut rings_seen = 0;
    for layer in Layer::ALL.into_iter().filter(|layer| !layer.needs_protection()) {
        let text = &files[&format!("layers/{}.geojson", layer.word())];
        let collection = collection(text);
        assert!(collection.foreign_members.is_none(), "no crs, nothing else");
        assert_eq!(
            text.iter().filter(|&&byte| byte == b'\n').count(),
            collection.features.len() + 2,
            "one feature a line"
        );
        for polygon in collection.features.iter().flat_map(polygons) {
            let rings = std::iter::once((polygon.exterior(), WindingOrder::CounterClockwise));
            for (ring, order) in rings.chain(polygon.interiors().iter().map(|hole| (hole, WindingOrder::Clockwise))) {
                rings_seen += 1;
                assert_eq!(ring.winding_order(), Some(order));
                assert!(ring.is_closed() && ring.0.len() >= 4);
                assert!(ring.0.windows(2).all(|pair| pair[0] != pair[1]), "no vertex twice");
                assert!(
                    ring.0.iter().all(|c| (-123.1..-122.9).contains(&c.x) && (48.9..49.1).contains(&c.y)),
                    "longitude first"
                );
            }
        }
    }
    // Four zones with a ring each, three works, and the overlaps of =SUM(A1), T-2 twice, and T-4 (nothing is near T-10).
    assert_eq!(rings_seen, 8 + 3 + 4);
}

#[test]
fn zones_and_rings_stand_one_after_the_other() {
    let zones = layer("layers/root_zones.geojson");
    let names: Vec<_> =
        zones.features.iter().map(|f| (f.property("tree_id").unwrap(), f.property("region").unwrap())).collect();
    let expected: Vec<_> =
        ["=SUM(A1)", "T-10", "T-2", "T-4"].iter().flat_map(|tree| [(*tree, "root zone"), (*tree, "half")]).collect();
    assert_eq!(names.len(), expected.len());
    for (got, expected) in names.iter().zip(expected) {
        assert_eq!((got.0.as_str().unwrap(), got.1.as_str().unwrap()), expected);
    }
}

#[test]
fn an_overlap_is_the_part_of_the_zone_under_the_permits_own_counted_works() {
    let overlaps = layer("layers/overlaps.geojson");
    let of = |permit: &str, tree: &str| {
        let is = |f: &&Feature| f.property("permit_id").unwrap() == permit && f.property("tree_id").unwrap() == tree;
        overlaps.features.iter().find(is).unwrap()
    };
    assert_eq!(overlaps.features.len(), 6);
    // 1e-5 degree a metre: areas in square degrees times 1e10 are square metres. The coarse disc takes a little.
    let area_m2 = |feature| polygons(feature).unsigned_area() * 1e10;
    // The trench of P-2, 0.6 m wide, 2.8 m from the centre of a disc of 10.8 m: its chord is 2 sqrt(10.8^2 - 2.8^2) = 20.86 m.
    let trench_m2 = area_m2(of("P-2", "T-2"));
    assert!((trench_m2 / (0.6 * 20.86) - 1.0).abs() < 0.02, "{trench_m2}");
    // The haul route of P-1, 6 m wide from x = -5 on, for the same tree: not the trench of P-2.
    let route_m2 = area_m2(of("P-1", "T-2"));
    assert!((route_m2 / (6.0 * 15.6) - 1.0).abs() < 0.02, "{route_m2}");
    assert!(of("P-1", "T-3").geometry.is_none(), "not assessed");
}

#[test]
fn works_are_drawn_as_used() {
    let works = layer("layers/works.geojson");
    let first = &works.features[0];
    assert_eq!(first.property("effects").unwrap(), "cut");
    assert_eq!(first.property("severs").unwrap(), "yes");
    assert_eq!(first.property("permit_finding").unwrap(), "major");
    assert!((polygons(first).unsigned_area() * 1e10 - 36.0).abs() < 0.01);
}

#[test]
fn a_shape_smaller_than_a_centimetre_has_no_geometry_and_vertices_closer_than_that_are_one() {
    let mut results = example::results();
    let square = |size: f64| geo::Rect::new((0.0, 0.0), (size, size)).to_polygon();
    results.works[0].shape = square(1e-4).into();
    let mut with_close_vertices = square(1.0).exterior().clone().into_inner();
    let origin = with_close_vertices.iter().position(|at| *at == Coord::zero()).unwrap();
    with_close_vertices.insert(origin + 1, Coord { x: 1e-4, y: 1e-4 });
    results.works[1].shape = Polygon::new(with_close_vertices.into(), vec![square(1e-4).exterior().clone()]).into();
    // A clockwise shell is turned.
    let mut clockwise = square(1.0).exterior().clone();
    clockwise.make_cw_winding();
    results.works[2].shape = MultiPolygon::new(vec![Polygon::new(clockwise, vec![])]);
    let files = files(&results, &example::facts(false), &[Layer::Works]);
    let works = collection(&files["layers/works.geojson"]);
    assert!(works.features[0].geometry.is_none());
    let second = polygons(&works.features[1]);
    assert_eq!((second.0[0].exterior().0.len(), second.0[0].interiors().len()), (5, 0));
    assert!(polygons(&works.features[2]).0[0].exterior().is_ccw());
}

#[test]
fn a_place_that_is_no_longitude_and_latitude_stops_the_run() {
    let (results, facts) = (example::results(), example::facts(false));
    let bad: [ToWgs84; 3] = [
        &|places| vec![Coord { x: f64::NAN, y: 0.0 }; places.len()],
        &|places| vec![Coord { x: 0.0, y: 91.0 }; places.len()],
        &|_| Vec::new(),
    ];
    for to_wgs84 in bad {
        let home = tempfile::tempdir().unwrap();
        let mut staging = Staging::begin(&home.path().join("out"), false).unwrap();
        let drawing = Drawing { to_wgs84, ..example::DRAWING };
        for layer in Layer::ALL.into_iter().filter(|layer| !layer.needs_protection()) {
            let layers = BTreeSet::from([layer]);
            let error = crate::write::write_all(&results, &facts, &layers, &drawing, None, &mut staging);
            assert!(error.is_err(), "{layer:?}");
        }
    }
}

/// GDAL reads what the program writes; skipped visibly where `ogrinfo` is not installed.
#[test]
fn gdal_reads_the_layers() {
    let home = tempfile::tempdir().unwrap();
    for (name, text) in files(&example::results(), &example::facts(false), &Layer::ALL) {
        if name.ends_with(".geojson") {
            let path = home.path().join(name.replace('/', "_"));
            std::fs::write(&path, &text).unwrap();
            match std::process::Command::new("ogrinfo").args(["-al", "-so"]).arg(&path).output() {
                Ok(output) => {
                    let said = String::from_utf8_lossy(&output.stdout);
                    let count = format!("Feature Count: {}", collection(&text).features.len());
                    assert!(
                        output.status.success() && output.stderr.is_empty(),
                        "{name}: {}",
                        String::from_utf8_lossy(&output.stderr)
                    );
                    assert!(said.contains(&count) && said.contains("WGS 84"), "{name}: {said}");
                }
                Err(e) => eprintln!("skipped: ogrinfo: {e}"),
            }
        }
    }
}
