//! CRSs as files spell them.

use super::*;

fn described(text: &str) -> Crs {
    describe_crs(text, "test").unwrap_or_else(|e| panic!("{text}: {e}"))
}

fn unit_m(crs: &Crs) -> f64 {
    match crs.kind {
        CrsKind::Projected { unit_m } => unit_m,
        other => panic!("{}: {other:?}", crs.name),
    }
}

#[test]
fn codes_in_all_their_spellings() {
    for text in
        ["EPSG:26910", "epsg:26910", "urn:ogc:def:crs:EPSG::26910", "http://www.opengis.net/def/crs/EPSG/0/26910"]
    {
        let crs = described(text);
        assert_eq!(crs.authority.as_deref(), Some("EPSG:26910"), "{text}");
        assert_eq!((crs.name.as_str(), unit_m(&crs)), ("NAD83 / UTM zone 10N", 1.0));
        let area = crs.area_of_use.unwrap();
        assert!(area[0] < -123.0 && area[2] > -123.0 && area[1] < 49.0 && area[3] > 49.0, "{area:?}");
        let base: Value = serde_json::from_str(&crs.geographic_base).unwrap();
        assert_eq!(base["name"], "NAD83");
    }
    for text in ["OGC:CRS84", "urn:ogc:def:crs:OGC:1.3:CRS84", "http://www.opengis.net/def/crs/OGC/1.3/CRS84"] {
        let crs = described(text);
        assert_eq!((crs.authority.as_deref(), crs.kind), (Some("OGC:CRS84"), CrsKind::Geographic), "{text}");
    }
}

/// Units of the EPSG data set: 2263 is in US survey feet, 2222 in international feet, 27700 in metres.
#[test]
fn the_two_feet_are_kept_apart() {
    assert_eq!(unit_m(&described("EPSG:2263")), 1200.0 / 3937.0);
    assert_eq!(unit_m(&described("EPSG:2222")), 0.3048);
    assert_eq!(unit_m(&described("EPSG:27700")), 1.0);
}

/// The text that ArcGIS-made shapefiles carry for EPSG:2263 (ESRI dialect of WKT 1).
const LONG_ISLAND_PRJ: &str = r#"PROJCS["NAD_1983_StatePlane_New_York_Long_Island_FIPS_3104_Feet",GEOGCS["GCS_North_American_1983",DATUM["D_North_American_1983",SPHEROID["GRS_1980",6378137.0,298.257222101]],PRIMEM["Greenwich",0.0],UNIT["Degree",0.0174532925199433]],PROJECTION["Lambert_Conformal_Conic"],PARAMETER["False_Easting",984250.0],PARAMETER["False_Northing",0.0],PARAMETER["Central_Meridian",-74.0],PARAMETER["Standard_Parallel_1",40.66666666666666],PARAMETER["Standard_Parallel_2",41.03333333333333],PARAMETER["Latitude_Of_Origin",40.16666666666666],UNIT["Foot_US",0.3048006096012192]]"#;

#[test]
fn the_esri_dialect_of_a_prj_file() {
    let crs = described(LONG_ISLAND_PRJ);
    assert_eq!(unit_m(&crs), 1200.0 / 3937.0);
    assert_eq!(crs.name, "NAD83 / New York Long Island (ftUS)");
    let utm = r#"PROJCS["NAD_1983_UTM_Zone_10N",GEOGCS["GCS_North_American_1983",DATUM["D_North_American_1983",SPHEROID["GRS_1980",6378137.0,298.257222101]],PRIMEM["Greenwich",0.0],UNIT["Degree",0.0174532925199433]],PROJECTION["Transverse_Mercator"],PARAMETER["False_Easting",500000.0],PARAMETER["False_Northing",0.0],PARAMETER["Central_Meridian",-123.0],PARAMETER["Scale_Factor",0.9996],PARAMETER["Latitude_Of_Origin",0.0],UNIT["Meter",1.0]]"#;
    assert_eq!((described(utm).name.as_str(), unit_m(&described(utm))), ("NAD83 / UTM zone 10N", 1.0));
}

#[test]
fn a_code_is_not_believed_where_the_parameters_differ() {
    let moved = LONG_ISLAND_PRJ.replace("984250.0", "984251.0").replace(
        r#"UNIT["Foot_US",0.3048006096012192]]"#,
        r#"UNIT["Foot_US",0.3048006096012192],AUTHORITY["EPSG","2263"]]"#,
    );
    let crs = described(&moved);
    assert_eq!(crs.authority, None);
    assert!(crs.definition.starts_with('{') && crs.definition.contains("984251"), "{}", crs.definition);
}

#[test]
fn heights_are_dropped() {
    assert_eq!(described("EPSG:26910+5703").authority.as_deref(), Some("EPSG:26910"));
    assert_eq!(described("EPSG:4979").authority.as_deref(), Some("EPSG:4326"));
}

#[test]
fn definitions_describe_the_same_crs_again() {
    for text in [
        LONG_ISLAND_PRJ,
        "EPSG:4326",
        "EPSG:3857",
        "+proj=utm +zone=33 +datum=WGS84 +units=m +no_defs",
        "+proj=laea +lat_0=45 +lon_0=7 +ellps=GRS80 +units=m",
    ] {
        let crs = described(text);
        let again = described(&crs.definition);
        assert_eq!((&again.name, again.kind, &again.authority), (&crs.name, crs.kind, &crs.authority), "{text}");
        assert_eq!(described(&crs.geographic_base).kind, CrsKind::Geographic);
    }
}

#[test]
fn what_is_no_crs_is_refused_and_nothing_is_looked_up() {
    for text in [
        "",
        "EPSG:0",
        "EPSG:999999",
        "/etc/passwd",
        "http://example.com/epsg/26910",
        "https://spatialreference.org/ref/epsg/26910/",
        "Cargo.toml",
        "{}",
        "PROJCS[\"x\"]",
        "NAD83",
    ] {
        let error = describe_crs(text, "test").unwrap_err();
        assert!(error.hint().contains("EPSG:"), "{text}: {error}");
    }
    assert_eq!(described(r#"LOCAL_CS["site",UNIT["metre",1]]"#).kind, CrsKind::Other);
    assert_eq!(described("EPSG:4978").kind, CrsKind::Other);
}
