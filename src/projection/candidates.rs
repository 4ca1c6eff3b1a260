//! Lists the CRSs that a file without one may be in, best first: the help that goes with the error.
//!
//! A short list of grids that city files commonly use is tried: where the file's coordinates, read in a grid, fall inside the grid's
//! area of use, it is a candidate. Where the other file's place is known, the nearer the better. It must not choose.
//!
//! # Source
//! Codes, names and areas of use in `grids.csv`: the EPSG data set, held against PROJ by a test. Which codes are common in city files:
//! common practice, no source.

use super::geographic::{distance_km, wrap_longitude};

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

/// The grids worth trying, one a line: code, base, west, south, east, north, min_x, min_y, max_x, max_y, name.
const GRIDS: &str = include_str!("grids.csv");

/// The farthest that two files of one job may be thought apart, in kilometres.
const NEAR_KM: f64 = 300.0;
/// The share of points that must fit.
const ENOUGH: f64 = 0.9;
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
        let fitting = grids(points, near_lonlat);
        let tried = fitting.iter().filter_map(|grid| tried(grid, points, middle, near_lonlat));
        // Without the other file the first that fit are the best; with it all have to be ranked by distance.
        found.extend(tried.take(if near_lonlat.is_none() { SHOWN } else { usize::MAX }));
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
        if fitting < ENOUGH || (lon.abs() < 1.0 && lat.abs() < 1.0) {
            continue;
        }
        let Some((rank, place)) = ranked((lon, lat), near, if swapped { 2.0 } else { 1.0 }) else { continue };
        let why = if swapped {
            format!("only if latitude and longitude stand in each other's columns: then {place}")
        } else {
            format!("the values are in the range of degrees: {place}")
        };
        let why = if may_be_local(points, (x, y)) { format!("{why}; {MAY_BE_LOCAL}") } else { why };
        found.push((
            rank,
            Candidate { definition: "EPSG:4326".to_string(), name: "WGS 84 (longitude, latitude)".to_string(), why },
        ));
    }
    found
}

/// What is said beside degrees that spread wider than a city.
pub const MAY_BE_LOCAL: &str = "but they spread over more than a degree (some 100 km), so they may be local coordinates, \
                                such as metres from the corner of a plot, which have no CRS";

/// Whether points that could be degrees spread wider than any city: fewer than nine in ten lie within half a degree of the middle.
fn may_be_local(points: &[(f64, f64)], middle: (f64, f64)) -> bool {
    share(points, |x, y| (x - middle.0).abs() <= 0.5 && (y - middle.1).abs() <= 0.5) < ENOUGH
}

/// A grid and the area in degrees where it may be used.
#[derive(Debug, Clone, PartialEq)]
struct Grid {
    code: u32,
    /// Code of the geographic CRS that it is built on: converting to that is a matter of the projection alone.
    base: u32,
    area: [f64; 4],
    /// Lowest easting and northing, highest easting and northing within the area, in the grid's own unit.
    range: [f64; 4],
    name: String,
}

impl Grid {
    fn read(line: &str) -> Option<Grid> {
        let cells: Vec<&str> = line.splitn(11, ',').collect();
        let [code, base, .., name] = cells[..] else { return None };
        let numbers: Vec<f64> = cells.get(2..10)?.iter().map(|cell| cell.parse().ok()).collect::<Option<_>>()?;
        let [west, south, east, north, min_x, min_y, max_x, max_y] = numbers[..] else { return None };
        let (area, range) = ([west, south, east, north], [min_x, min_y, max_x, max_y]);
        Some(Grid { code: code.parse().ok()?, base: base.parse().ok()?, area, range, name: name.to_string() })
    }

    /// Whether a place lies in the area of use or within `margin_km` of it.
    fn holds(&self, lon: f64, lat: f64, margin_km: f64) -> bool {
        let [west, south, _, north] = self.area;
        let latitude_margin = margin_km / 111.0;
        let longitude_margin = latitude_margin / lat.to_radians().cos().max(0.1);
        let half_width = self.width() / 2.0;
        let from_middle = wrap_longitude(lon - (west + half_width)).abs();
        from_middle <= half_width + longitude_margin && lat >= south - latitude_margin && lat <= north + latitude_margin
    }

    /// Whether most points can be coordinates of this grid: a look at numbers, before PROJ has to work.
    fn may_hold(&self, points: &[(f64, f64)]) -> bool {
        let [min_x, min_y, max_x, max_y] = self.range;
        share(points, |x, y| x >= min_x && x <= max_x && y >= min_y && y <= max_y) >= ENOUGH
    }

    /// Square degrees.
    fn size(&self) -> f64 {
        self.width() * (self.area[3] - self.area[1])
    }

    fn width(&self) -> f64 {
        let [west, _, east, _] = self.area;
        if west <= east { east - west } else { east + 360.0 - west }
    }
}

/// The grids of the list that may hold the points, smallest area first, and the UTM zones around the other file where it is known.
fn grids(points: &[(f64, f64)], near: Option<(f64, f64)>) -> Vec<Grid> {
    let mut grids: Vec<Grid> = GRIDS.lines().filter(|line| !line.starts_with('#')).filter_map(Grid::read).collect();
    if let Some((lon, lat)) = near {
        let here = ((wrap_longitude(lon) + 180.0) / 6.0).floor() as i64;
        grids.extend([here - 1, here, here + 1].into_iter().flat_map(|zone| utm(zone.rem_euclid(60) as u32 + 1, lat)));
        grids.retain(|grid| grid.holds(lon, lat, NEAR_KM));
    }
    grids.retain(|grid| grid.may_hold(points));
    grids.sort_by(|one, other| one.size().total_cmp(&other.size()));
    grids
}

/// A UTM zone (1 to 60) on the datums that have codes for it.
fn utm(zone: u32, lat: f64) -> Vec<Grid> {
    let west = f64::from(zone) * 6.0 - 186.0;
    let row = |code, base, south, north, name: String| {
        // A zone is 6 degrees wide: 334 km to either side at the equator.
        let range = [160_000.0, 0.0, 840_000.0, 10_000_000.0];
        Grid { code, base, area: [west, south, west + 6.0, north], range, name }
    };
    if lat < 0.0 {
        return vec![row(32700 + zone, 4326, -80.0, 0.0, format!("WGS 84 / UTM zone {zone}S"))];
    }
    let mut found = vec![row(32600 + zone, 4326, 0.0, 84.0, format!("WGS 84 / UTM zone {zone}N"))];
    if zone <= 23 {
        found.push(row(26900 + zone, 4269, 14.0, 84.0, format!("NAD83 / UTM zone {zone}N")));
    }
    if (28..=38).contains(&zone) {
        found.push(row(25800 + zone, 4258, 34.0, 84.0, format!("ETRS89 / UTM zone {zone}N")));
    }
    found
}

/// A grid, where at least nine points in ten read in it fall into its area of use.
fn tried(grid: &Grid, points: &[(f64, f64)], middle: (f64, f64), near: Option<(f64, f64)>) -> Option<(f64, Candidate)> {
    let definition = format!("EPSG:{}", grid.code);
    let to_degrees = super::between("candidates", &definition, &format!("EPSG:{}", grid.base), None).ok()?;
    // PROJ takes absurd values too; those do not come back to themselves.
    let degrees = |x: f64, y: f64| {
        let (lon, lat) = to_degrees.convert((x, y)).ok()?;
        let (back_x, back_y): (f64, f64) = to_degrees.project((lon, lat), true).ok()?;
        ((back_x - x).hypot(back_y - y) < 0.01).then_some((lon, lat))
    };
    if share(points, |x, y| degrees(x, y).is_some_and(|(lon, lat)| grid.holds(lon, lat, 0.0))) < ENOUGH {
        return None;
    }
    // Without the other file a small area that fits says more than a large one.
    let (rank, place) = ranked(degrees(middle.0, middle.1)?, near, grid.size())?;
    Some((
        rank,
        Candidate {
            definition,
            name: grid.name.clone(),
            why: format!("the coordinates fall into its area of use: {place}"),
        },
    ))
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
    // Ranked by 0.1 km, so that two datums a metre apart do not take turns.
    (km <= NEAR_KM).then(|| ((km * 10.0).round(), format!("{place}, {km:.1} km from the other file")))
}

#[cfg(test)]
#[path = "candidates_tests.rs"]
mod tests;
