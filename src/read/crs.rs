//! The text of a CRS (`EPSG:26910`, `OGC:CRS84`, WKT 1 and 2 with their dialects, PROJJSON, a `+proj=` string) into a described CRS.
//!
//! It must not look anything up outside PROJ's own database: web addresses and file names are refused. Metres per unit and the
//! authority code come from PROJ's description of the CRS, not from names.

use crate::error::{Error, Result};
use crate::model::crs::{Crs, CrsKind};
use crate::units::{METRES_PER_FOOT, METRES_PER_US_SURVEY_FOOT};
use gdal::spatial_ref::{AxisMappingStrategy, SpatialRef};
use serde_json::Value;
use std::collections::BTreeMap;
use std::sync::Mutex;

/// Describes a CRS; a height part is dropped. `origin` says how the program came to it.
///
/// What was described is remembered: it takes PROJ 20 ms, and the files of a run mostly share one CRS.
///
/// # Errors
/// The text is no CRS that PROJ knows, or it names a file or a web address.
pub fn describe_crs(text: &str, origin: &str) -> Result<Crs> {
    static KNOWN: Mutex<BTreeMap<String, Crs>> = Mutex::new(BTreeMap::new());
    let wanted = canonical(text)
        .ok_or_else(|| unknown(origin, text, "it is neither a code, WKT, PROJJSON nor a +proj string"))?;
    if let Some(known) = KNOWN.lock().ok().and_then(|known| known.get(&wanted).cloned()) {
        return Ok(Crs { origin: origin.to_string(), ..known });
    }
    let crs = looked_up(&wanted, origin).map_err(|why| unknown(origin, text, &why))?;
    if let Ok(mut known) = KNOWN.lock() {
        known.insert(wanted, crs.clone());
    }
    Ok(crs)
}

/// What PROJ knows of the CRS of a text, or why it knows nothing.
fn looked_up(wanted: &str, origin: &str) -> std::result::Result<Crs, String> {
    crate::gdal_messages::listen();
    let reference = SpatialRef::from_definition(wanted).map_err(|_| crate::gdal_messages::take_first())?;
    let mut crs = describe(&reference, origin)?;
    // GDAL loses the code of this one on the way.
    if wanted == LONGITUDE_FIRST_WGS84 {
        crs.definition = wanted.to_string();
        crs.authority = Some(wanted.to_string());
        crs.area_of_use = Some([-180.0, -90.0, 180.0, 90.0]);
    }
    Ok(crs)
}

/// WGS 84 with longitude first, the CRS of GeoJSON.
const LONGITUDE_FIRST_WGS84: &str = "OGC:CRS84";

/// Describes a CRS that GDAL found in a file.
pub(super) fn describe(reference: &SpatialRef, origin: &str) -> std::result::Result<Crs, String> {
    crate::gdal_messages::listen();
    let (reference, mut json) = horizontal(reference)?;
    let authority = authority(&reference, &json);
    let name = json["name"].as_str().unwrap_or("unnamed").to_string();
    let kind = kind(&json);
    let base = match kind {
        CrsKind::Other => String::new(),
        _ => bare(projjson(&reference.geog_cs().map_err(|e| e.to_string())?)?).to_string(),
    };
    let area =
        authority.as_deref().and_then(|code| SpatialRef::from_definition(code).ok()).unwrap_or(reference).area_of_use();
    if let Some(object) = json.as_object_mut() {
        object.remove("$schema");
    }
    Ok(Crs {
        definition: authority.clone().unwrap_or_else(|| json.to_string()),
        name,
        authority,
        kind,
        geographic_base: base,
        area_of_use: area.map(|a| [a.west_lon_degree, a.south_lat_degree, a.east_lon_degree, a.north_lat_degree]),
        origin: origin.to_string(),
    })
}

/// PROJJSON without what it says of where and what for the CRS is used.
fn bare(mut json: Value) -> Value {
    if let Some(members) = json.as_object_mut() {
        ["scope", "area", "bbox", "usages", "remarks"]
            .into_iter()
            .for_each(|member| drop(members.shift_remove(member)));
    }
    json
}

fn unknown(origin: &str, text: &str, why: &str) -> Error {
    let short: String = text.trim().chars().take(80).collect();
    Error::Crs {
        at: origin.to_string(),
        what: format!(
            "not a CRS that can be used, got `{short}`{}; expected a code such as EPSG:26910, WKT or PROJJSON",
            if why.is_empty() { String::new() } else { format!(" ({why})") }
        ),
        hint: "look the code up in the documentation of the data and type it as EPSG:<number>".to_string(),
    }
}

/// The text in a form that PROJ reads, or `None` where it is of no known kind (a file name, for one).
fn canonical(text: &str) -> Option<String> {
    let text = text.trim();
    let lower = text.to_ascii_lowercase();
    if text.starts_with('{') || lower.starts_with("+proj") || lower.starts_with("+init=epsg:") {
        return Some(text.to_string());
    }
    const KEYWORDS: [&str; 16] = [
        "projcs",
        "geogcs",
        "compd_cs",
        "local_cs",
        "geoccs",
        "vert_cs",
        "projcrs",
        "projectedcrs",
        "geogcrs",
        "geographiccrs",
        "geodcrs",
        "geodeticcrs",
        "compoundcrs",
        "boundcrs",
        "engcrs",
        "derivedprojcrs",
    ];
    if KEYWORDS
        .iter()
        .any(|keyword| lower.strip_prefix(keyword).is_some_and(|rest| rest.trim_start().starts_with(['[', '('])))
    {
        return Some(text.to_string());
    }
    // The two spellings of the same thing in OGC's name space, told apart from any other web address.
    let parts: Vec<&str> = if lower.starts_with("urn:ogc:def:crs:") || lower.starts_with("urn:x-ogc:def:crs:") {
        text.split(':').skip(4).collect()
    } else if let Some(at) = lower.find("opengis.net/def/crs/").filter(|_| lower.starts_with("http")) {
        text[at + "opengis.net/def/crs/".len()..].split('/').collect()
    } else {
        text.split(':').collect()
    };
    let (authority, code) = match parts[..] {
        [authority, code] | [authority, _, code] => (authority.trim().to_ascii_uppercase(), code.trim()),
        _ => return None,
    };
    let plain = |word: &str| !word.is_empty() && word.chars().all(|c| c.is_ascii_alphanumeric() || "_+".contains(c));
    (plain(&authority) && plain(code)).then(|| match (authority.as_str(), code) {
        ("OGC", "84" | "CRS84") => LONGITUDE_FIRST_WGS84.to_string(),
        _ => format!("{authority}:{code}"),
    })
}

/// The CRS as PROJJSON.
pub(super) fn projjson(reference: &SpatialRef) -> std::result::Result<Value, String> {
    let text = reference.to_projjson().map_err(|e| e.to_string())?;
    serde_json::from_str(&text).map_err(|e| e.to_string())
}

/// Strips heights and transformations to another datum: what is left is the plane or the ellipsoid's surface.
fn horizontal(reference: &SpatialRef) -> std::result::Result<(SpatialRef, Value), String> {
    let mut json = projjson(reference)?;
    let mut stripped = false;
    loop {
        let inner = match json["type"].as_str() {
            Some("CompoundCRS") => json["components"][0].take(),
            Some("BoundCRS") => json["source_crs"].take(),
            _ => break,
        };
        json = inner;
        stripped = true;
    }
    stripped |= drop_height_axis(&mut json);
    if stripped {
        let reference =
            SpatialRef::from_definition(&json.to_string()).map_err(|_| crate::gdal_messages::take_first())?;
        return Ok((reference, json));
    }
    // A CRS from a layer carries an order of axes of its own, which comparisons would trip over. PROJ takes 10 ms to read its JSON again.
    let mut reference = reference.clone();
    reference.set_axis_mapping_strategy(AxisMappingStrategy::AuthorityCompliant);
    Ok((reference, json))
}

/// Makes a three-dimensional CRS two-dimensional; its code no longer applies then.
fn drop_height_axis(json: &mut Value) -> bool {
    let on_a_surface = json["coordinate_system"]["subtype"] == "ellipsoidal" || json["type"] == "ProjectedCRS";
    let mut dropped = false;
    if let Some(axes) = json.pointer_mut("/coordinate_system/axis").and_then(Value::as_array_mut)
        && axes.len() == 3
        && on_a_surface
    {
        axes.truncate(2);
        dropped = true;
    }
    if let Some(base) = json.get_mut("base_crs") {
        dropped |= drop_height_axis(base);
    }
    if dropped && let Some(object) = json.as_object_mut() {
        object.remove("id");
    }
    dropped
}

/// The code that the CRS carries, or that GDAL makes out from its parameters; only where PROJ's CRS of that code is the same.
fn authority(reference: &SpatialRef, json: &Value) -> Option<String> {
    let is_same = |code: &str| SpatialRef::from_definition(code).is_ok_and(|known| known == *reference);
    if let Some(authority) = json["id"]["authority"].as_str() {
        let code = &json["id"]["code"];
        let code = format!("{authority}:{}", code.as_str().map_or_else(|| code.to_string(), str::to_string));
        if is_same(&code) {
            return Some(code);
        }
    }
    let mut identified = reference.clone();
    identified.auto_identify_epsg().ok()?;
    identified.authority().ok().filter(|code| is_same(code))
}

/// Kind and length of the unit.
fn kind(json: &Value) -> CrsKind {
    let unit = &json["coordinate_system"]["axis"][0]["unit"];
    let subtype = json["coordinate_system"]["subtype"].as_str();
    match json["type"].as_str() {
        Some("GeographicCRS" | "GeodeticCRS") if subtype == Some("ellipsoidal") && is_degree(unit) => {
            CrsKind::Geographic
        }
        Some("ProjectedCRS") => metres_per_unit(unit).map_or(CrsKind::Other, |unit_m| CrsKind::Projected { unit_m }),
        _ => CrsKind::Other,
    }
}

fn is_degree(unit: &Value) -> bool {
    unit == "degree"
        || unit["conversion_factor"]
            .as_f64()
            .is_some_and(|factor| (factor - std::f64::consts::PI / 180.0).abs() < 1e-14)
}

/// Whether a unit of PROJJSON is the metre.
pub(super) fn is_metre(unit: &Value) -> bool {
    unit == "metre" || unit["conversion_factor"] == 1.0
}

/// Metres per unit. The two feet are given their exact lengths: files carry them with 10 to 15 digits.
fn metres_per_unit(unit: &Value) -> Option<f64> {
    let written = if unit == "metre" { 1.0 } else { unit["conversion_factor"].as_f64()? };
    let exact = [1.0, METRES_PER_FOOT, METRES_PER_US_SURVEY_FOOT]
        .into_iter()
        .find(|exact| (written / exact - 1.0).abs() < 1e-8);
    let metres = exact.unwrap_or(written);
    (metres.is_finite() && metres > 0.0).then_some(metres)
}

#[cfg(test)]
#[path = "crs_tests.rs"]
mod tests;
