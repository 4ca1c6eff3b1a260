//! The geographic CRS under a projected one: its meridian, its unit, and degrees from Greenwich for any point.
//!
//! Areas of use, extents and centres are in degrees east of Greenwich, while a base CRS may count from Paris and in grads. This is the
//! one place that knows the difference. It must not change a datum.

use super::crs_error;
use super::operation::resolve_unchecked;
use super::projector::{Projector, finite};
use crate::error::Result;
use crate::model::crs::{Crs, CrsKind};
use geo::Coord;
use serde_json::Value;

/// PROJJSON of EPSG:4326, in short.
const WGS84_PROJJSON: &str = r#"{"type":"GeographicCRS","name":"WGS 84","datum_ensemble":{"name":"World Geodetic System 1984 ensemble","members":[{"name":"World Geodetic System 1984 (Transit)"},{"name":"World Geodetic System 1984 (G730)"},{"name":"World Geodetic System 1984 (G873)"},{"name":"World Geodetic System 1984 (G1150)"},{"name":"World Geodetic System 1984 (G1674)"},{"name":"World Geodetic System 1984 (G1762)"},{"name":"World Geodetic System 1984 (G2139)"}],"ellipsoid":{"name":"WGS 84","semi_major_axis":6378137,"inverse_flattening":298.257223563},"accuracy":"2.0"},"coordinate_system":{"subtype":"ellipsoidal","axis":[{"name":"Geodetic latitude","abbreviation":"Lat","direction":"north","unit":"degree"},{"name":"Geodetic longitude","abbreviation":"Lon","direction":"east","unit":"degree"}]},"id":{"authority":"EPSG","code":4326}}"#;

/// Longitude and latitude on WGS 84 (EPSG:4326), as RFC 7946 asks for.
pub fn wgs84() -> Crs {
    Crs {
        definition: "EPSG:4326".to_string(),
        name: "WGS 84".to_string(),
        authority: Some("EPSG:4326".to_string()),
        kind: CrsKind::Geographic,
        geographic_base: WGS84_PROJJSON.to_string(),
        area_of_use: Some([-180.0, -90.0, 180.0, 90.0]),
        origin: "RFC 7946".to_string(),
    }
}

/// What decisions need to know of a geographic CRS.
#[derive(Debug, Clone)]
pub(super) struct GeographicBase {
    /// Its PROJJSON, with the height axis dropped where there was one.
    pub json: Value,
    /// Its name, e.g. `NAD83`.
    pub name: String,
    /// Degrees in one unit of its axes: 1, or 0.9 for grads.
    pub degrees_per_unit: f64,
    /// Degrees from Greenwich to its prime meridian.
    pub meridian_deg: f64,
    /// A text that is equal for equal datums: datum name, ellipsoid, meridian.
    pub datum_key: String,
}

impl GeographicBase {
    /// Reads `crs.geographic_base`.
    ///
    /// # Errors
    /// `Error::Crs` where it is not the PROJJSON of a geographic CRS.
    pub fn of(at: &str, crs: &Crs) -> Result<GeographicBase> {
        let wrong = |what: String| {
            crs_error(
                at,
                format!("the CRS {} {what}; expected a map CRS on a known datum", crs.name),
                "give the CRS by its code, e.g. EPSG:26910",
            )
        };
        let mut json: Value = serde_json::from_str(&crs.geographic_base)
            .map_err(|error| wrong(format!("has no geographic base ({error})")))?;
        if json["type"] == "BoundCRS" {
            json = json["source_crs"].take();
        }
        // Within a projected CRS PROJJSON leaves the type of the base out.
        let untyped = json["type"].is_null() && json["coordinate_system"]["subtype"] == "ellipsoidal";
        if let Some(members) = json.as_object_mut().filter(|_| untyped) {
            members.insert("type".to_string(), "GeographicCRS".into());
        }
        let kind = json["type"].as_str().unwrap_or("nothing").to_string();
        if kind != "GeographicCRS" {
            return Err(wrong(format!("rests on {kind}")));
        }
        if let Some(axes) = json["coordinate_system"]["axis"].as_array_mut()
            && axes.len() > 2
        {
            axes.truncate(2);
            // The code belongs to the three-dimensional CRS and would now be wrong.
            if let Some(members) = json.as_object_mut() {
                members.remove("id");
            }
        }
        let degrees_per_unit = degrees_per(&json["coordinate_system"]["axis"][0]["unit"]);
        let datum = if json["datum"].is_object() { &json["datum"] } else { &json["datum_ensemble"] };
        let meridian_deg = meridian_deg(datum);
        let datum_key = datum_key(datum, meridian_deg);
        let name = json["name"].as_str().unwrap_or("an unnamed datum").to_string();
        Ok(GeographicBase { name, degrees_per_unit, meridian_deg, datum_key, json })
    }

    /// The base as a CRS of its own, to convert to and from.
    pub fn crs(&self) -> Crs {
        let text = self.json.to_string();
        Crs {
            definition: text.clone(),
            name: self.name.clone(),
            authority: None,
            kind: CrsKind::Geographic,
            geographic_base: text,
            area_of_use: None,
            origin: "geographic base".to_string(),
        }
    }

    /// Degrees east of Greenwich and north, from the base's own values.
    pub fn to_degrees(&self, place: Coord<f64>) -> Coord<f64> {
        Coord {
            x: wrap_longitude(place.x * self.degrees_per_unit + self.meridian_deg),
            y: place.y * self.degrees_per_unit,
        }
    }

    /// The base's own values, from degrees east of Greenwich and north.
    pub fn of_degrees(&self, lon_deg: f64, lat_deg: f64) -> Coord<f64> {
        Coord { x: (lon_deg - self.meridian_deg) / self.degrees_per_unit, y: lat_deg / self.degrees_per_unit }
    }
}

/// Degrees in an angular unit as PROJJSON writes it: a name, or an object with a factor to radians.
fn degrees_per(unit: &Value) -> f64 {
    match unit {
        Value::Object(_) => {
            let degrees = unit["conversion_factor"].as_f64().unwrap_or(std::f64::consts::PI / 180.0).to_degrees();
            // 0.9000000000000001 and the like come from the factor to radians and back.
            (degrees * 1e12).round() / 1e12
        }
        _ => 1.0,
    }
}

fn meridian_deg(datum: &Value) -> f64 {
    let longitude = &datum["prime_meridian"]["longitude"];
    match longitude {
        Value::Object(_) => longitude["value"].as_f64().unwrap_or(0.0) * degrees_per(&longitude["unit"]),
        _ => longitude.as_f64().unwrap_or(0.0),
    }
}

fn datum_key(datum: &Value, meridian_deg: f64) -> String {
    let ellipsoid = &datum["ellipsoid"];
    let letters = |value: &Value| -> String {
        value.as_str().unwrap_or("").chars().filter(char::is_ascii_alphanumeric).collect::<String>().to_lowercase()
    };
    format!(
        "{} {} {} {meridian_deg}",
        // EPSG has made an ensemble of a few datums since; files still carry the old name.
        letters(&datum["name"]).trim_end_matches("ensemble"),
        ellipsoid["semi_major_axis"],
        if ellipsoid["inverse_flattening"].is_null() {
            &ellipsoid["semi_minor_axis"]
        } else {
            &ellipsoid["inverse_flattening"]
        }
    )
}

/// Brings a longitude into (-180, 180].
pub(super) fn wrap_longitude(lon_deg: f64) -> f64 {
    if lon_deg > -180.0 && lon_deg <= 180.0 {
        return lon_deg;
    }
    let wrapped = (lon_deg + 180.0).rem_euclid(360.0) - 180.0;
    if wrapped == -180.0 { 180.0 } else { wrapped }
}

/// Kilometres between two places in degrees, longitude first, on a sphere of 6371 km: good to 0.6 %, enough to rank and to warn.
pub(super) fn distance_km((lon_a, lat_a): (f64, f64), (lon_b, lat_b): (f64, f64)) -> f64 {
    let (dlat, dlon) = ((lat_b - lat_a).to_radians() / 2.0, (lon_b - lon_a).to_radians() / 2.0);
    let chord = dlat.sin().powi(2) + lat_a.to_radians().cos() * lat_b.to_radians().cos() * dlon.sin().powi(2);
    2.0 * 6371.0 * chord.sqrt().min(1.0).asin()
}

/// Converts between a CRS's own coordinates and degrees east of Greenwich on the same datum.
pub(super) struct DegreesOf {
    base: GeographicBase,
    /// Into the base; `None` where the CRS is its own.
    projector: Option<Projector>,
}

impl DegreesOf {
    pub fn new(at: &str, crs: &Crs) -> Result<DegreesOf> {
        let base = GeographicBase::of(at, crs)?;
        let into_base = || Projector::new(&resolve_unchecked(at, crs, &base.crs(), None, None)?);
        let projector = match crs.kind {
            CrsKind::Geographic => None,
            _ => Some(into_base()?),
        };
        Ok(DegreesOf { base, projector })
    }

    /// Degrees east of Greenwich and north; `None` where PROJ gives no finite answer.
    pub fn degrees(&self, x: f64, y: f64) -> Option<Coord<f64>> {
        let place = match &self.projector {
            Some(projector) => projector.forward(x, y).ok()?,
            None => finite(x, y).ok()?,
        };
        Some(self.base.to_degrees(place))
    }

    /// The CRS's own coordinates; `None` where PROJ gives no finite answer.
    pub fn coordinates(&self, lon_deg: f64, lat_deg: f64) -> Option<Coord<f64>> {
        let place = self.base.of_degrees(lon_deg, lat_deg);
        match &self.projector {
            Some(projector) => projector.inverse(place.x, place.y).ok(),
            None => finite(place.x, place.y).ok(),
        }
    }
}

/// West, south, east, north in degrees around points given in the CRS's own coordinates; west exceeds east across the antimeridian.
///
/// The box is on the CRS's own datum. Of all boxes that hold the points it is the narrowest.
///
/// # Errors
/// `Error::Crs` where the CRS has no usable base or no point can be converted.
pub fn extent_lonlat(at: &str, crs: &Crs, points: impl IntoIterator<Item = Coord<f64>>) -> Result<[f64; 4]> {
    let degrees = DegreesOf::new(at, crs)?;
    let places: Vec<Coord<f64>> = points.into_iter().filter_map(|point| degrees.degrees(point.x, point.y)).collect();
    narrowest_box(&places).ok_or_else(|| {
        crs_error(
            at,
            format!("no point can be converted from {} to longitude and latitude", crs.name),
            "check the CRS: --trees-crs, --works-crs",
        )
    })
}

/// The narrowest box around places in degrees, found by leaving out the widest gap between neighbouring longitudes.
pub(super) fn narrowest_box(places: &[Coord<f64>]) -> Option<[f64; 4]> {
    let mut longitudes: Vec<f64> = places.iter().map(|place| place.x).collect();
    longitudes.sort_by(f64::total_cmp);
    let (first, last) = (*longitudes.first()?, *longitudes.last()?);
    let mut widest_gap = (first + 360.0 - last, last, first);
    for pair in longitudes.windows(2) {
        if pair[1] - pair[0] > widest_gap.0 {
            widest_gap = (pair[1] - pair[0], pair[0], pair[1]);
        }
    }
    let south = places.iter().map(|place| place.y).fold(f64::INFINITY, f64::min);
    let north = places.iter().map(|place| place.y).fold(f64::NEG_INFINITY, f64::max);
    Some([widest_gap.2, south, widest_gap.1, north])
}
