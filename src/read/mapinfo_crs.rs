//! A CRS from a MapInfo table with its false easting and northing in the unit that they are written in.
//!
//! A table states its offsets in the unit of its coordinates. GDAL 3.6.2 hands those of a grid in US survey feet on as metres
//! (1,640,416.667 m for the 500,000 m of EPSG:2286), 1,140 km beside the place. It must not touch a CRS that is right as it is.
//!
//! # Source
//! A table that GDAL itself wrote in EPSG:2286 and read back, see `tests/formats.rs`; what MapInfo means by the offsets: from memory.

use super::crs::{is_metre, projjson};
use gdal::spatial_ref::SpatialRef;

/// EPSG codes of the parameters that are offsets: false easting and northing, at the projection centre, at the false origin.
const OFFSETS: [u64; 6] = [8806, 8807, 8816, 8817, 8826, 8827];

/// The CRS with its offsets in the unit of its axes; `None` where nothing is to be mended: the axes are in metres, the offsets are
/// in another unit or zero, or the CRS is, as it stands, the one of the code that it carries.
pub(super) fn with_offsets_in_its_unit(reference: &SpatialRef) -> Option<SpatialRef> {
    let mut json = projjson(reference).ok()?;
    let unit = json["coordinate_system"]["axis"][0]["unit"].clone();
    if json["type"] != "ProjectedCRS" || is_metre(&unit) {
        return None;
    }
    let mut mended = false;
    for parameter in json.pointer_mut("/conversion/parameters")?.as_array_mut()? {
        let offset = parameter["id"]["code"].as_u64().is_some_and(|code| OFFSETS.contains(&code));
        if offset && is_metre(&parameter["unit"]) && parameter["value"].as_f64() != Some(0.0) {
            parameter["unit"] = unit.clone();
            mended = true;
        }
    }
    let right_already = || reference.authority().is_ok_and(|code| is_same(&code, reference));
    if !mended || right_already() {
        return None;
    }
    SpatialRef::from_definition(&json.to_string()).ok()
}

fn is_same(code: &str, reference: &SpatialRef) -> bool {
    SpatialRef::from_definition(code).is_ok_and(|known| known == *reference)
}

#[cfg(test)]
#[path = "mapinfo_crs_tests.rs"]
mod tests;
