//! What is mended and what is left alone.

use super::*;
use crate::model::crs::CrsKind;
use crate::read::crs::describe;

/// EPSG:2286 as GDAL 3.6.2 makes it from a table: axes in US survey feet, the false easting a number of feet called metres.
/// `offset` is the false easting with its unit.
fn washington_south(offset: &str) -> SpatialRef {
    let text = format!(
        r#"PROJCRS["unnamed",BASEGEOGCRS["unnamed",DATUM["North American Datum 1983",ELLIPSOID["GRS 80",6378137,298.257222101,LENGTHUNIT["metre",1]]],PRIMEM["Greenwich",0,ANGLEUNIT["degree",0.0174532925199433]]],CONVERSION["Lambert Conic Conformal (2SP)",METHOD["Lambert Conic Conformal (2SP)",ID["EPSG",9802]],PARAMETER["Latitude of false origin",45.3333333333333,ANGLEUNIT["degree",0.0174532925199433],ID["EPSG",8821]],PARAMETER["Longitude of false origin",-120.5,ANGLEUNIT["degree",0.0174532925199433],ID["EPSG",8822]],PARAMETER["Latitude of 1st standard parallel",47.3333333333333,ANGLEUNIT["degree",0.0174532925199433],ID["EPSG",8823]],PARAMETER["Latitude of 2nd standard parallel",45.8333333333333,ANGLEUNIT["degree",0.0174532925199433],ID["EPSG",8824]],PARAMETER["Easting at false origin",{offset},ID["EPSG",8826]],PARAMETER["Northing at false origin",0,LENGTHUNIT["metre",1],ID["EPSG",8827]]],CS[Cartesian,2],AXIS["(E)",east,ORDER[1],LENGTHUNIT["Foot_US",0.304800609601219]],AXIS["(N)",north,ORDER[2],LENGTHUNIT["Foot_US",0.304800609601219]]]"#
    );
    SpatialRef::from_definition(&text).unwrap()
}

#[test]
fn feet_called_metres_become_feet() {
    let read = washington_south(r#"1640416.667,LENGTHUNIT["metre",1]"#);
    let mended = with_offsets_in_its_unit(&read).expect("there is something to mend");
    let crs = describe(&mended, "test").unwrap();
    assert_eq!(crs.kind, CrsKind::Projected { unit_m: 1200.0 / 3937.0 });
    // EPSG:2286 has 1,640,416.667 US survey feet.
    let json = projjson(&mended).unwrap();
    let offset = json["conversion"]["parameters"].as_array().unwrap().iter().find(|p| p["id"]["code"] == 8826).unwrap();
    assert_eq!(offset["value"], 1_640_416.667);
    assert!((offset["unit"]["conversion_factor"].as_f64().unwrap() - 1200.0 / 3937.0).abs() < 1e-12, "{offset}");
    assert!(with_offsets_in_its_unit(&mended).is_none(), "once is enough");
}

#[test]
fn what_is_right_is_left_alone() {
    assert!(
        with_offsets_in_its_unit(&washington_south(r#"1640416.667,LENGTHUNIT["Foot_US",0.304800609601219]"#)).is_none()
    );
    for code in ["EPSG:2286", "EPSG:2222", "EPSG:32611", "EPSG:4326"] {
        assert!(with_offsets_in_its_unit(&SpatialRef::from_definition(code).unwrap()).is_none(), "{code}");
    }
}
