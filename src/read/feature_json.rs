//! One GeoJSON feature or bare geometry (RFC 7946) into a record.

use super::RowProblem;
use crate::model::record::RawRecord;
use geo::{Coord, Geometry, GeometryCollection, LineString, MultiLineString, MultiPoint, MultiPolygon, Point, Polygon};
use serde::Deserialize;
use serde::de::{IgnoredAny, MapAccess, SeqAccess, Visitor};
use serde_json::value::RawValue;
use std::borrow::Cow;
use std::collections::HashMap;
use std::fmt;

/// Geometry types of RFC 7946, section 1.4.
pub(super) const GEOMETRY_TYPES: [&str; 7] =
    ["Point", "MultiPoint", "LineString", "MultiLineString", "Polygon", "MultiPolygon", "GeometryCollection"];

/// Collections within collections are read to this depth.
const MAX_COLLECTIONS: u32 = 8;

/// Where the cells of a feature go.
#[derive(Debug, Default)]
pub(super) struct FeatureColumns {
    index: HashMap<String, usize>,
    count: usize,
    /// The column of the feature's own `id`, where no property has that name.
    id: Option<usize>,
}

impl FeatureColumns {
    /// The columns of the file; `id` is the column that holds the feature's own id.
    pub(super) fn new(columns: &[String], id: Option<usize>) -> FeatureColumns {
        let index = columns.iter().enumerate().filter(|&(place, _)| Some(place) != id);
        FeatureColumns { index: index.map(|(place, name)| (name.clone(), place)).collect(), count: columns.len(), id }
    }
}

/// The members of a feature or geometry that matter; the rest is checked as JSON and left.
#[derive(Deserialize)]
struct ObjectMembers<'a> {
    #[serde(rename = "type", borrow)]
    kind: Option<Cow<'a, str>>,
    #[serde(borrow)]
    id: Option<&'a RawValue>,
    #[serde(borrow)]
    properties: Option<&'a RawValue>,
    #[serde(borrow)]
    geometry: Option<&'a RawValue>,
    #[serde(borrow)]
    coordinates: Option<&'a RawValue>,
    #[serde(borrow)]
    geometries: Option<Vec<&'a RawValue>>,
}

/// Fills the record from the text of one feature, or of one bare geometry where `bare` allows it.
pub(super) fn fill(
    text: &[u8],
    row: u64,
    bare: bool,
    columns: &FeatureColumns,
    record: &mut RawRecord,
) -> Result<(), RowProblem> {
    record.clear(row);
    let object: ObjectMembers<'_> = serde_json::from_slice(text).map_err(|e| bad(row, format!("bad JSON: {e}")))?;
    match object.kind.as_deref() {
        Some("Feature") => {
            let cells = match object.properties {
                Some(properties) => {
                    serde_json::from_str::<Properties<'_>>(properties.get())
                        .map_err(|e| bad(row, format!("bad properties: {e}")))?
                        .0
                }
                None => Vec::new(),
            };
            push_cells(&cells, object.id, columns, record).map_err(|detail| bad(row, detail))?;
            let geometry = object.geometry.map(|text| parse_members(text, row)).transpose()?;
            record.geometry = geometry.map(|members| geometry_of(&members, row, 0)).transpose()?.flatten();
        }
        Some(kind) if bare && GEOMETRY_TYPES.contains(&kind) => {
            push_cells(&[], None, columns, record).map_err(|detail| bad(row, detail))?;
            record.geometry = geometry_of(&object, row, 0)?;
        }
        kind => return Err(bad(row, format!("got type `{}`; expected `Feature`", kind.unwrap_or("(none)")))),
    }
    Ok(())
}

fn bad(row: u64, detail: String) -> RowProblem {
    RowProblem { row, code: "bad-row", detail }
}

fn parse_members(text: &RawValue, row: u64) -> Result<ObjectMembers<'_>, RowProblem> {
    serde_json::from_str(text.get()).map_err(|e| bad(row, format!("bad geometry: {e}")))
}

/// Pushes one cell per column: strings unescaped, null empty, all else as written.
fn push_cells(
    cells: &[(Cow<'_, str>, &RawValue)],
    id: Option<&RawValue>,
    columns: &FeatureColumns,
    record: &mut RawRecord,
) -> Result<(), String> {
    let mut places: Vec<Option<&RawValue>> = vec![None; columns.count];
    if let Some(column) = columns.id {
        places[column] = id;
    }
    for (name, value) in cells {
        let &column = columns
            .index
            .get(name.as_ref())
            .ok_or_else(|| format!("the property `{name}` was not there before: the file changed"))?;
        if places[column].replace(value).is_some() {
            return Err(format!("the property `{name}` is given twice"));
        }
    }
    for place in places {
        match place.map(RawValue::get) {
            None | Some("null") => record.push(""),
            Some(text) if text.starts_with('"') => {
                if text.contains('\\') {
                    record.push(&serde_json::from_str::<String>(text).map_err(|e| format!("bad text: {e}"))?);
                } else {
                    record.push(&text[1..text.len() - 1]);
                }
            }
            Some(text) => record.push(text),
        }
    }
    Ok(())
}

fn geometry_of(members: &ObjectMembers<'_>, row: u64, depth: u32) -> Result<Option<Geometry<f64>>, RowProblem> {
    let kind = members.kind.as_deref().unwrap_or("(none)");
    if kind == "GeometryCollection" {
        let Some(parts) = members.geometries.as_ref().filter(|_| depth < MAX_COLLECTIONS) else {
            return Err(bad(row, "bad geometry: a collection without geometries, or nested deeper than 8".to_string()));
        };
        let parts = parts.iter().map(|text| geometry_of(&parse_members(text, row)?, row, depth + 1));
        let parts: Vec<Option<Geometry<f64>>> = parts.collect::<Result<_, _>>()?;
        return Ok(Some(Geometry::GeometryCollection(GeometryCollection(parts.into_iter().flatten().collect()))));
    }
    if !GEOMETRY_TYPES.contains(&kind) {
        let detail = format!("geometry of type `{kind}`; expected one of {}", GEOMETRY_TYPES.join(", "));
        return Err(RowProblem { row, code: "wrong-geometry", detail });
    }
    let Some(coordinates) = members.coordinates else {
        return Err(bad(row, format!("bad geometry: {kind} without coordinates")));
    };
    shape(kind, coordinates.get()).map_err(|e| bad(row, format!("bad geometry: {kind}: {e}")))
}

fn shape(kind: &str, text: &str) -> serde_json::Result<Option<Geometry<f64>>> {
    // An empty array stands for an empty geometry of any type (RFC 7946, section 3.1).
    if text[1..].trim_start().starts_with(']') {
        return Ok(None);
    }
    Ok(Some(match kind {
        "Point" => Geometry::Point(Point(serde_json::from_str::<Position>(text)?.0)),
        "MultiPoint" => {
            let points: Vec<Position> = serde_json::from_str(text)?;
            Geometry::MultiPoint(MultiPoint(points.into_iter().map(|position| Point(position.0)).collect()))
        }
        "LineString" => Geometry::LineString(line(serde_json::from_str(text)?)),
        "MultiLineString" => {
            let lines: Vec<Vec<Position>> = serde_json::from_str(text)?;
            Geometry::MultiLineString(MultiLineString(lines.into_iter().map(line).collect()))
        }
        "Polygon" => Geometry::Polygon(polygon(serde_json::from_str(text)?)),
        _ => {
            let polygons: Vec<Vec<Vec<Position>>> = serde_json::from_str(text)?;
            Geometry::MultiPolygon(MultiPolygon(polygons.into_iter().map(polygon).collect()))
        }
    }))
}

fn line(positions: Vec<Position>) -> LineString<f64> {
    LineString(positions.into_iter().map(|position| position.0).collect())
}

fn polygon(rings: Vec<Vec<Position>>) -> Polygon<f64> {
    let mut rings = rings.into_iter().map(line);
    let exterior = rings.next().unwrap_or_else(|| LineString(Vec::new()));
    Polygon::new(exterior, rings.collect())
}

/// The first two numbers of a position; height and what follows it are left.
struct Position(Coord<f64>);

impl<'de> Deserialize<'de> for Position {
    fn deserialize<D: serde::Deserializer<'de>>(deserializer: D) -> Result<Position, D::Error> {
        struct Numbers;
        impl<'de> Visitor<'de> for Numbers {
            type Value = Position;

            fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
                f.write_str("a position of two or more numbers")
            }

            fn visit_seq<A: SeqAccess<'de>>(self, mut numbers: A) -> Result<Position, A::Error> {
                let too_few = |found| serde::de::Error::invalid_length(found, &"two or more numbers");
                let x: f64 = numbers.next_element()?.ok_or_else(|| too_few(0))?;
                let y: f64 = numbers.next_element()?.ok_or_else(|| too_few(1))?;
                while numbers.next_element::<IgnoredAny>()?.is_some() {}
                Ok(Position(Coord { x, y }))
            }
        }
        deserializer.deserialize_seq(Numbers)
    }
}

/// The members of `properties` in their order, values unparsed.
struct Properties<'a>(Vec<(Cow<'a, str>, &'a RawValue)>);

impl<'de: 'a, 'a> Deserialize<'de> for Properties<'a> {
    fn deserialize<D: serde::Deserializer<'de>>(deserializer: D) -> Result<Properties<'a>, D::Error> {
        struct Pairs<'a>(std::marker::PhantomData<&'a ()>);
        impl<'de: 'a, 'a> Visitor<'de> for Pairs<'a> {
            type Value = Properties<'a>;

            fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
                f.write_str("an object of properties")
            }

            fn visit_map<A: MapAccess<'de>>(self, mut map: A) -> Result<Properties<'a>, A::Error> {
                let mut pairs = Vec::new();
                while let Some((Name(name), value)) = map.next_entry::<Name<'a>, &'a RawValue>()? {
                    pairs.push((name, value));
                }
                Ok(Properties(pairs))
            }
        }
        deserializer.deserialize_map(Pairs(std::marker::PhantomData))
    }
}

/// A property's name, borrowed where it has no escapes.
#[derive(Deserialize)]
struct Name<'a>(#[serde(borrow)] Cow<'a, str>);
