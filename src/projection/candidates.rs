//! Lists the CRSs that a file without one may be in, best first: the help that goes with the error.
//!
//! A short list of grids that city files commonly use is tried: where the file's coordinates, read in a grid, fall inside the grid's
//! area of use, it is a candidate. Where the other file's place is known, the nearer the better. It must not choose.
//!
//! # Source
//! Codes, names and areas of use: the EPSG data set in PROJ. Which codes are common in city files: common practice, no source.

use super::geographic::wrap_longitude;
use proj::Proj;

/// One CRS that the coordinates fit.
#[derive(Debug, Clone, PartialEq)]
pub struct Candidate {
    /// What to type after `--trees-crs` or `--works-crs`.
    pub definition: String,
    /// Its name in the EPSG data set.
    pub name: String,
    /// Why it is listed and how near it puts the file to the other one.
    pub why: String,
}

/// National and regional grids, in no order that matters.
const GRIDS: &[u32] = &[
    27700, 29902, 2157, 2154, 3812, 31370, 28992, 25831, 25832, 25833, 3006, 3007, 3008, 3011, 3067, 2056, 21781, 31287, 31256, 5514, 2180,
    2193, 3763, 7856, 28355, 28356, 3005, 3347, 2950, 26717, 2039, 3946, 31467, 31468, 23700, 3794, 3765, 3346, 3301, 3414, 2326, 5179,
];

/// NAD83 State Plane zones of large cities, in US survey feet, international feet (2222, 2223, 2913) and metres.
const STATE_PLANE: &[u32] = &[
    2263, 2260, 2225, 2226, 2227, 2228, 2229, 2230, 2222, 2223, 2231, 2232, 2234, 2235, 2236, 2237, 2238, 2239, 2240, 2246, 2248, 2249,
    2251, 2252, 2253, 2264, 2272, 2271, 2274, 2275, 2276, 2277, 2278, 2279, 2283, 2284, 2285, 2286, 2287, 2289, 2913, 2269, 3424, 3433,
    3435, 3436, 3451, 3734, 3735, 2965, 3560, 2893, 2926, 2263, 26986, 32118,
];

/// The farthest that two files of one job may be thought apart, in kilometres.
const NEAR_KM: f64 = 300.0;
/// As many candidates as a person reads.
const SHOWN: usize = 8;

/// CRSs whose area of use the points fall into, best first, at most eight.
///
/// `points` are a sample of the file's coordinates, x first. `near_lonlat` is where the other file lies, in degrees. Without it UTM,
/// which fits anywhere, is listed once, with ZZ for the zone. Empty where nothing fits.
pub fn candidates(points: &[(f64, f64)], near_lonlat: Option<(f64, f64)>) -> Vec<Candidate> {
    let Some(middle) = middle_of(points) else { return Vec::new() };
    let mut found: Vec<(f64, Candidate)> = angles(points, middle, near_lonlat);
    if found.is_empty() {
        for code in codes(near_lonlat) {
            found.extend(tried(code, points, middle, near_lonlat));
        }
        if near_lonlat.is_none() {
            found.extend(any_utm(middle));
        }
    }
    found.sort_by(|one, other| one.0.total_cmp(&other.0).then_with(|| one.1.definition.cmp(&other.1.definition)));
    found.dedup_by(|one, other| one.1.definition == other.1.definition);
    found.into_iter().map(|(_, candidate)| candidate).take(SHOWN).collect()
}

/// The median of each coordinate: a few absurd values do not move it.
fn middle_of(points: &[(f64, f64)]) -> Option<(f64, f64)> {
    let median = |mut values: Vec<f64>| {
        values.retain(|value| value.is_finite());
        values.sort_by(f64::total_cmp);
        values.get(values.len() / 2).copied()
    };
    Some((median(points.iter().map(|point| point.0).collect())?, median(points.iter().map(|point| point.1).collect())?))
}

/// Share of points for which `fits` holds.
fn share(points: &[(f64, f64)], fits: impl Fn(f64, f64) -> bool) -> f64 {
    let fitting = points.iter().filter(|(x, y)| fits(*x, *y)).count();
    fitting as f64 / points.len().max(1) as f64
}

/// Longitude and latitude, in either order.
fn angles(points: &[(f64, f64)], (x, y): (f64, f64), near: Option<(f64, f64)>) -> Vec<(f64, Candidate)> {
    let mut found = Vec::new();
    for (swapped, (lon, lat)) in [(false, (x, y)), (true, (y, x))] {
        let fitting = share(points, |x, y| {
            let (lon, lat) = if swapped { (y, x) } else { (x, y) };
            lon.abs() <= 180.0 && lat.abs() <= 90.0
        });
        // Metres from a local origin also fit a degree range near 0, 0: nobody plants street trees in the Gulf of Guinea.
        if fitting < 0.9 || (lon.abs() < 1.0 && lat.abs() < 1.0) {
            continue;
        }
        let Some((rank, place)) = ranked((lon, lat), near, if swapped { 2.0 } else { 1.0 }) else { continue };
        let why = if swapped {
            format!("only if latitude and longitude stand in each other's columns: then {place}")
        } else {
            format!("the values are in the range of degrees: {place}")
        };
        found.push((rank, Candidate { definition: "EPSG:4326".to_string(), name: "WGS 84 (longitude, latitude)".to_string(), why }));
    }
    found
}

/// Every code worth trying; UTM zones only where the other file says which.
fn codes(near: Option<(f64, f64)>) -> Vec<u32> {
    let mut codes = [GRIDS, STATE_PLANE].concat();
    codes.push(3857);
    if let Some((lon, lat)) = near {
        let zone = (((wrap_longitude(lon) + 180.0) / 6.0).floor() as i64).clamp(0, 59) + 1;
        for zone in [zone - 1, zone, zone + 1] {
            let zone = u32::try_from((zone - 1).rem_euclid(60) + 1).unwrap_or(1);
            codes.push(if lat < 0.0 { 32700 } else { 32600 } + zone);
            if lat > 14.0 && zone <= 23 {
                codes.push(26900 + zone);
            }
            if lat > 34.0 && (28..=38).contains(&zone) {
                codes.push(25800 + zone);
            }
        }
    }
    codes.sort_unstable();
    codes.dedup();
    codes
}

/// A grid, where at least nine points in ten read in it fall into its area of use.
fn tried(code: u32, points: &[(f64, f64)], middle: (f64, f64), near: Option<(f64, f64)>) -> Option<(f64, Candidate)> {
    let definition = format!("EPSG:{code}");
    let grid = Proj::new(&definition).ok()?;
    let area = grid.area_of_use().ok()?.0?;
    let within = |lon: f64, lat: f64| {
        let in_longitude = if area.west <= area.east { lon >= area.west && lon <= area.east } else { lon >= area.west || lon <= area.east };
        in_longitude && lat >= area.south && lat <= area.north
    };
    // The other file's place rules most grids out before PROJ has to work.
    if near.is_some_and(|(lon, lat)| !within_about(&area, lon, lat)) {
        return None;
    }
    let to_degrees = super::between("candidates", &definition, "EPSG:4326", None).ok()?;
    let degrees = |x: f64, y: f64| to_degrees.convert((x, y)).ok().filter(|(lon, lat)| lon.is_finite() && lat.is_finite());
    if share(points, |x, y| degrees(x, y).is_some_and(|(lon, lat)| within(lon, lat))) < 0.9 {
        return None;
    }
    let width = if area.west <= area.east { area.east - area.west } else { area.east + 360.0 - area.west };
    // Without the other file a small area that fits says more than a large one.
    let (rank, place) = ranked(degrees(middle.0, middle.1)?, near, width * (area.north - area.south))?;
    let name = grid.proj_info().description.unwrap_or_default();
    Some((rank, Candidate { definition, name, why: format!("the coordinates fall into its area of use: {place}") }))
}

/// Whether a place lies in an area or within [`NEAR_KM`] or so of it.
fn within_about(area: &proj::Area, lon: f64, lat: f64) -> bool {
    let latitude_margin = NEAR_KM / 111.0;
    let longitude_margin = latitude_margin / lat.to_radians().cos().max(0.1);
    let half_width = wrap_width(area.west, area.east) / 2.0;
    let from_middle = wrap_longitude(lon - (area.west + half_width)).abs();
    from_middle <= half_width + longitude_margin && lat >= area.south - latitude_margin && lat <= area.north + latitude_margin
}

fn wrap_width(west: f64, east: f64) -> f64 {
    if west <= east { east - west } else { east + 360.0 - west }
}

/// UTM of any zone, where the coordinates can be one: easting within a zone's width, northing within the globe.
fn any_utm((x, y): (f64, f64)) -> Option<(f64, Candidate)> {
    let fits = (160_000.0..=840_000.0).contains(&x) && (0.0..=10_000_000.0).contains(&y);
    fits.then(|| {
        let candidate = Candidate {
            definition: "EPSG:326ZZ".to_string(),
            name: "WGS 84 / UTM zone ZZ".to_string(),
            why: "the values are in the range of UTM; ZZ is the zone, 01 to 60 (EPSG:327ZZ south of the equator, 269ZZ for NAD83)".to_string(),
        };
        // After the national grids, whose areas are smaller than a zone over both hemispheres.
        (f64::MAX, candidate)
    })
}

/// The rank (lower is better) and the place in words; `None` where the other file is too far off.
fn ranked((lon, lat): (f64, f64), near: Option<(f64, f64)>, otherwise: f64) -> Option<(f64, String)> {
    let place = format!("longitude {lon:.3}, latitude {lat:.3}");
    let Some(near) = near else { return Some((otherwise, place)) };
    let km = distance_km((lon, lat), near);
    (km <= NEAR_KM).then(|| (km, format!("{place}, {km:.1} km from the other file")))
}

/// On a sphere of 6371 km: good enough to rank.
fn distance_km((lon_a, lat_a): (f64, f64), (lon_b, lat_b): (f64, f64)) -> f64 {
    let (dlat, dlon) = ((lat_b - lat_a).to_radians() / 2.0, (lon_b - lon_a).to_radians() / 2.0);
    let chord = dlat.sin().powi(2) + lat_a.to_radians().cos() * lat_b.to_radians().cos() * dlon.sin().powi(2);
    2.0 * 6371.0 * chord.sqrt().min(1.0).asin()
}
