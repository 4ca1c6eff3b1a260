use super::super::between;
use proj::Proj;

/// Geographic CRS, map CRS on its datum, a place on the map.
const MAPS: &[(&str, &str, (f64, f64))] = &[
    ("EPSG:4326", "EPSG:32633", (15.1, 50.06)),
    ("EPSG:4326", "EPSG:32733", (15.1, -33.9)),
    ("EPSG:4326", "EPSG:3857", (15.1, 50.06)),
    ("EPSG:4269", "EPSG:2263", (-73.98, 40.75)),
    ("EPSG:4269", "EPSG:26910", (-122.68, 45.52)),
    ("EPSG:4269", "EPSG:2248", (-76.6, 39.3)),
    ("EPSG:4258", "EPSG:25832", (9.18, 48.78)),
    ("EPSG:4258", "EPSG:3035", (9.18, 48.78)),
    ("EPSG:4171", "EPSG:2154", (2.35, 48.86)),
    ("EPSG:4277", "EPSG:27700", (-0.12, 51.5)),
    ("EPSG:4283", "EPSG:28355", (144.96, -37.81)),
    ("EPSG:4289", "EPSG:28992", (4.9, 52.37)),
    ("EPSG:4807", "EPSG:27572", (0.0, 54.3)),
    ("EPSG:4326", "+proj=laea +lat_0=50.0621385 +lon_0=15.123497 +datum=WGS84 +units=m +type=crs", (15.1, 50.06)),
    (
        "EPSG:4326",
        "+proj=tmerc +lat_0=0 +lon_0=15.1234567890123 +k=0.9996 +datum=WGS84 +units=m +type=crs",
        (15.1, 50.06),
    ),
];

fn bits((x, y): (f64, f64)) -> [u64; 2] {
    [x.to_bits(), y.to_bits()]
}

/// What PROJ chose stands for its text on the thread that asked for it, while other threads build theirs of the text.
#[test]
fn the_choice_and_its_text_convert_to_the_same_last_digit() {
    for &(geographic, map, place) in MAPS {
        for (from, to, start) in [
            (geographic, map, place),
            (map, geographic, { between("test", geographic, map, None).unwrap().convert(place).unwrap() }),
        ] {
            let chosen = between("test", from, to, None).unwrap();
            let text = chosen.proj_info().definition.unwrap();
            let by_text = Proj::new(&text).unwrap();
            let step = start.0.abs().max(start.1.abs()) * 1e-6;
            let places: Vec<(f64, f64)> = (0..200)
                .map(|n| (start.0 + step * f64::from(n % 14) * 1.37, start.1 - step * f64::from(n / 14) * 0.73))
                .collect();
            let (mut one, mut other) = (places.clone(), places.clone());
            chosen.convert_array(&mut one).unwrap();
            by_text.convert_array(&mut other).unwrap();
            for ((&place, one), other) in places.iter().zip(one).zip(other) {
                assert_eq!(bits(one), bits(other), "{from} to {to} at {place:?}");
                assert_eq!(bits(chosen.convert(place).unwrap()), bits(other), "{from} to {to} at {place:?}");
                let back = |proj: &Proj| bits(proj.project(one, true).unwrap());
                assert_eq!(back(&chosen), back(&by_text), "{to} back to {from} at {one:?}");
            }
        }
    }
}
