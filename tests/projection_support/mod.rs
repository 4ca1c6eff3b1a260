//! CRS descriptions for tests, as `projinfo -o PROJJSON` of PROJ 9.1.1 gives them, cut down to what is used.
#![allow(dead_code)]

use rootward::model::crs::{Crs, CrsKind};

fn ellipsoid(name: &str) -> &'static str {
    match name {
        "GRS 1980" => r#"{"name":"GRS 1980","semi_major_axis":6378137,"inverse_flattening":298.257222101}"#,
        "WGS 84" => r#"{"name":"WGS 84","semi_major_axis":6378137,"inverse_flattening":298.257223563}"#,
        "Clarke 1866" => r#"{"name":"Clarke 1866","semi_major_axis":6378206.4,"semi_minor_axis":6356583.8}"#,
        "Airy 1830" => r#"{"name":"Airy 1830","semi_major_axis":6377563.396,"inverse_flattening":299.3249646}"#,
        "International 1924" => r#"{"name":"International 1924","semi_major_axis":6378388,"inverse_flattening":297}"#,
        "Bessel 1841" => r#"{"name":"Bessel 1841","semi_major_axis":6377397.155,"inverse_flattening":299.1528128}"#,
        "Clarke 1880 (IGN)" => r#"{"name":"Clarke 1880 (IGN)","semi_major_axis":6378249.2,"semi_minor_axis":6356515}"#,
        "GRS 1967 Modified" => r#"{"name":"GRS 1967","semi_major_axis":6378160,"inverse_flattening":298.247167427}"#,
        other => panic!("no ellipsoid {other}"),
    }
}

fn geographic(name: &str, datum: &str, on: &str, code: u32) -> String {
    let kind = if datum.contains("ensemble") { "datum_ensemble" } else { "datum" };
    let (ellipsoid, extra) = (
        ellipsoid(on),
        if kind == "datum" {
            r#""type":"GeodeticReferenceFrame","#
        } else {
            r#""members":[{"name":"European Terrestrial Reference Frame 1989"},{"name":"European Terrestrial Reference Frame 1990"}],"accuracy":"0.1","#
        },
    );
    let axes = r#""coordinate_system":{"subtype":"ellipsoidal","axis":[{"name":"Geodetic latitude","abbreviation":"Lat","direction":"north","unit":"degree"},{"name":"Geodetic longitude","abbreviation":"Lon","direction":"east","unit":"degree"}]}"#;
    let id = if code == 0 { String::new() } else { format!(r#","id":{{"authority":"EPSG","code":{code}}}"#) };
    format!(
        r#"{{"type":"GeographicCRS","name":"{name}","{kind}":{{{extra}"name":"{datum}","ellipsoid":{ellipsoid}}},{axes}{id}}}"#
    )
}

/// The geographic CRS under each code used in the tests.
fn base(code: u32) -> String {
    match code {
        4326 => wgs84_base(),
        4269 => geographic("NAD83", "North American Datum 1983", "GRS 1980", 4269),
        4267 => geographic("NAD27", "North American Datum 1927", "Clarke 1866", 4267),
        4152 => geographic("NAD83(HARN)", "NAD83 (High Accuracy Reference Network)", "GRS 1980", 4152),
        4258 => geographic("ETRS89", "European Terrestrial Reference System 1989 ensemble", "GRS 1980", 4258),
        4277 => geographic("OSGB36", "Ordnance Survey of Great Britain 1936", "Airy 1830", 4277),
        4313 => geographic("BD72", "Reseau National Belge 1972", "International 1924", 4313),
        4289 => geographic("Amersfoort", "Amersfoort", "Bessel 1841", 4289),
        4230 => geographic("ED50", "European Datum 1950", "International 1924", 4230),
        4283 => geographic("GDA94", "Geocentric Datum of Australia 1994", "GRS 1980", 4283),
        4167 => geographic("NZGD2000", "New Zealand Geodetic Datum 2000", "GRS 1980", 4167),
        4807 => PARIS.to_string(),
        other => panic!("no base {other}"),
    }
}

/// Counts in grads from Paris.
const PARIS: &str = r#"{"type":"GeographicCRS","name":"NTF (Paris)","datum":{"type":"GeodeticReferenceFrame","name":"Nouvelle Triangulation Francaise (Paris)","ellipsoid":{"name":"Clarke 1880 (IGN)","semi_major_axis":6378249.2,"semi_minor_axis":6356515},"prime_meridian":{"name":"Paris","longitude":{"value":2.5969213,"unit":{"type":"AngularUnit","name":"grad","conversion_factor":0.0157079632679489}}}},"coordinate_system":{"subtype":"ellipsoidal","axis":[{"name":"Geodetic latitude","abbreviation":"Lat","direction":"north","unit":{"type":"AngularUnit","name":"grad","conversion_factor":0.0157079632679489}},{"name":"Geodetic longitude","abbreviation":"Lon","direction":"east","unit":{"type":"AngularUnit","name":"grad","conversion_factor":0.0157079632679489}}]},"id":{"authority":"EPSG","code":4807}}"#;

fn wgs84_base() -> String {
    rootward::projection::wgs84().geographic_base
}

const FOOT: f64 = 0.3048;
const US_SURVEY_FOOT: f64 = 1200.0 / 3937.0;

/// Code, name, base, metres per unit (0 for degrees), area of use west, south, east, north (EPSG data set in PROJ 9.1.1).
type Row = (u32, &'static str, u32, f64, [f64; 4]);
const ROWS: &[Row] = &[
    (4326, "WGS 84", 4326, 0.0, [-180.0, -90.0, 180.0, 90.0]),
    (4269, "NAD83", 4269, 0.0, [167.65, 14.92, -40.73, 86.45]),
    (4267, "NAD27", 4267, 0.0, [167.65, 7.15, -47.74, 83.17]),
    (26910, "NAD83 / UTM zone 10N", 4269, 1.0, [-126.0, 30.54, -119.99, 81.8]),
    (32610, "WGS 84 / UTM zone 10N", 4326, 1.0, [-126.0, 0.0, -120.0, 84.0]),
    (32631, "WGS 84 / UTM zone 31N", 4326, 1.0, [0.0, 0.0, 6.0, 84.0]),
    (3857, "WGS 84 / Pseudo-Mercator", 4326, 1.0, [-180.0, -85.06, 180.0, 85.06]),
    (2263, "NAD83 / New York Long Island (ftUS)", 4269, US_SURVEY_FOOT, [-74.26, 40.47, -71.8, 41.3]),
    (2222, "NAD83 / Arizona East (ft)", 4269, FOOT, [-111.71, 31.33, -109.04, 37.01]),
    (2921, "NAD83(HARN) / Utah North (ft)", 4152, FOOT, [-114.04, 40.55, -109.04, 42.01]),
    (3568, "NAD83(HARN) / Utah North (ftUS)", 4152, US_SURVEY_FOOT, [-114.04, 40.55, -109.04, 42.01]),
    (27700, "OSGB36 / British National Grid", 4277, 1.0, [-9.0, 49.75, 2.01, 61.01]),
    (3035, "ETRS89-extended / LAEA Europe", 4258, 1.0, [-35.58, 24.6, 44.83, 84.73]),
    (31370, "BD72 / Belgian Lambert 72", 4313, 1.0, [2.5, 49.5, 6.4, 51.51]),
    (28992, "Amersfoort / RD New", 4289, 1.0, [3.2, 50.75, 7.22, 53.7]),
    (28354, "GDA94 / MGA zone 54", 4283, 1.0, [138.0, -48.19, 144.01, -9.08]),
    (32040, "NAD27 / Texas South Central", 4267, US_SURVEY_FOOT, [-105.0, 27.78, -93.41, 30.67]),
    (2193, "NZGD2000 / New Zealand Transverse Mercator 2000", 4167, 1.0, [166.37, -47.33, 178.63, -34.1]),
    (6201, "NAD27 / Michigan Central", 4267, US_SURVEY_FOOT, [-87.06, 43.8, -82.27, 45.92]),
    (27572, "NTF (Paris) / Lambert zone II", 4807, 1.0, [-4.87, 42.3, 8.23, 51.14]),
    (25833, "ETRS89 / UTM zone 33N", 4258, 1.0, [12.0, 46.4, 18.01, 84.42]),
];

/// A CRS of the table above by its EPSG code.
pub fn crs(code: u32) -> Crs {
    let row = ROWS.iter().find(|row| row.0 == code).unwrap_or_else(|| panic!("no row EPSG:{code}"));
    Crs {
        definition: format!("EPSG:{code}"),
        name: row.1.to_string(),
        authority: Some(format!("EPSG:{code}")),
        kind: if row.3 == 0.0 { CrsKind::Geographic } else { CrsKind::Projected { unit_m: row.3 } },
        geographic_base: base(row.2),
        area_of_use: Some(row.4),
        origin: "a test".to_string(),
    }
}

/// UTM zone 10 on an ellipsoid whose datum nobody stated, as old files have it.
pub fn unknown_datum() -> Crs {
    Crs {
        definition: "+proj=utm +zone=10 +ellps=GRS80 +units=m +no_defs +type=crs".to_string(),
        name: "unknown".to_string(),
        authority: None,
        kind: CrsKind::Projected { unit_m: 1.0 },
        geographic_base: geographic("unknown", "Unknown based on GRS80 ellipsoid", "GRS 1980", 0),
        area_of_use: None,
        origin: "a test".to_string(),
    }
}

/// The geographic CRS that a CRS of the table is built on.
pub fn base_of(code: u32) -> Crs {
    let text = crs(code).geographic_base;
    Crs {
        definition: text.clone(),
        name: format!("base of EPSG:{code}"),
        authority: None,
        kind: CrsKind::Geographic,
        geographic_base: text,
        area_of_use: None,
        origin: "a test".to_string(),
    }
}
