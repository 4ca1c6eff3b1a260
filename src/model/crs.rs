//! A coordinate reference system as text plus the few facts that decisions need. No PROJ, no GDAL.

/// What kind of coordinates a CRS has.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum CrsKind {
    /// Longitude and latitude in degrees.
    Geographic,
    /// Easting and northing; the length of one unit in metres (0.3048 and 1200/3937 are different feet).
    Projected {
        /// Metres per unit.
        unit_m: f64,
    },
    /// Anything else (local, engineering, geocentric): cannot be used for the job.
    Other,
}

/// A horizontal CRS. A height part is dropped when it is described.
#[derive(Debug, Clone, PartialEq)]
pub struct Crs {
    /// What PROJ is given: `EPSG:26910`, WKT or PROJJSON.
    pub definition: String,
    /// Its name, e.g. `NAD83 / UTM zone 10N`.
    pub name: String,
    /// `EPSG:26910` where an authority code is known for sure.
    pub authority: Option<String>,
    /// Geographic, projected or neither.
    pub kind: CrsKind,
    /// PROJJSON of the geographic CRS it is built on (itself where geographic), on which a measuring CRS can be built.
    pub geographic_base: String,
    /// West, south, east, north in degrees, where the CRS states it.
    pub area_of_use: Option<[f64; 4]>,
    /// How the program came to it: `in the file`, `--trees-crs`, `columns longitude and latitude by name and range` ...
    pub origin: String,
}
