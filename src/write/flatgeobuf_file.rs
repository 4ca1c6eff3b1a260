//! Features in longitude and latitude -> a FlatGeobuf file: a header, a packed Hilbert R-tree, the features in the tree's order.
//!
//! The tables of the format and the tree come from the crate `flatgeobuf`; its own writer is not used, because it gives features without a
//! geometry a broken one and an empty file an index that readers refuse. Features wait in a nameless temporary file until the order is
//! known, so that memory holds 48 bytes a feature. The order of the items, not of the threads, decides the bytes.
//!
//! # Source
//! FlatGeobuf specification 3 (<https://flatgeobuf.org>) and its schemas, as the crate holds them; the layout of a property (number of the
//! column in two bytes, then the value; texts with their length in four) from memory, checked by reading with GDAL.

use super::cells::{Cell, Kind, LayerColumn};
use super::feature::{Draft, Placed};
use super::position::{Position, Rings};
use super::staging::{StagedFile, Staging};
use crate::error::Result;
use crate::settings::{DrawnAs, Layer};
use flatbuffers::{FlatBufferBuilder, WIPOffset};
use flatgeobuf::packed_r_tree::{NodeItem, PackedRTree, calc_extent, hilbert_sort};
use flatgeobuf::{
    Column, ColumnArgs, ColumnType, Crs, CrsArgs, Feature, FeatureArgs, Geometry, GeometryArgs, GeometryType, Header,
    HeaderArgs,
};
use std::fs::File;
use std::io::{BufWriter, Write};
use std::os::unix::fs::FileExt;

/// What a file begins with: `fgb`, major version 3, `fgb`, patch 0.
const MAGIC: [u8; 8] = *b"fgb\x03fgb\x00";

/// A feature as it stands in the file, and the box around it.
pub struct Encoded {
    bytes: Vec<u8>,
    bounds: NodeItem,
}

#[cfg(test)]
impl Encoded {
    /// The bytes as they stand in the file.
    pub fn bytes(&self) -> &[u8] {
        &self.bytes
    }
}

/// A file in the making.
pub struct FlatGeobuf {
    file: StagedFile,
    waiting: BufWriter<File>,
    layer: Layer,
    columns: Vec<LayerColumn>,
    /// The box of each feature; its offset is the feature's number.
    boxes: Vec<NodeItem>,
    /// Where each feature begins in the waiting file; one more than there are features.
    starts: Vec<u64>,
}

/// Encodes features. Depends on them alone.
pub fn encode(drafts: &[Draft], placed: &[Placed], columns: &[LayerColumn]) -> Vec<Encoded> {
    let mut builder = FlatBufferBuilder::new();
    let mut one = |(draft, placed): (&Draft, &Placed)| {
        builder.reset();
        let geometry = geometry(&mut builder, placed);
        let properties = builder.create_vector(&properties(&draft.cells, columns));
        let feature =
            Feature::create(&mut builder, &FeatureArgs { geometry, properties: Some(properties), columns: None });
        builder.finish_size_prefixed(feature, None);
        Encoded { bytes: builder.finished_data().to_vec(), bounds: bounds(placed) }
    };
    drafts.iter().zip(placed).map(&mut one).collect()
}

/// The double next to the decimal that GeoJSON prints.
fn degrees(position: Position) -> [f64; 2] {
    #[expect(clippy::cast_precision_loss, reason = "at most 1.8e9")]
    position.map(|steps| steps as f64 / 1e7)
}

fn bounds(placed: &Placed) -> NodeItem {
    let mut bounds = NodeItem::create(0);
    let mut take = |position: &Position| {
        let [x, y] = degrees(*position);
        bounds.expand_xy(x, y);
    };
    match placed {
        Placed::Point(at) => take(at),
        Placed::Polygons(polygons) => polygons.iter().filter_map(|rings| rings.first()).flatten().for_each(take),
        Placed::Lines(lines) => lines.iter().flatten().for_each(take),
    }
    bounds
}

/// `None` for a feature without a geometry.
fn geometry<'a>(builder: &mut FlatBufferBuilder<'a>, placed: &Placed) -> Option<WIPOffset<Geometry<'a>>> {
    match placed {
        Placed::Point(at) => Some(simple(builder, GeometryType::Point, &[std::slice::from_ref(at)])),
        Placed::Polygons(polygons) if polygons.is_empty() => None,
        Placed::Polygons(polygons) => {
            let part = |rings: &Rings, builder: &mut FlatBufferBuilder<'a>| {
                let rings: Vec<&[Position]> = rings.iter().map(Vec::as_slice).collect();
                simple(builder, GeometryType::Polygon, &rings)
            };
            let parts: Vec<_> = polygons.iter().map(|rings| part(rings, builder)).collect();
            let parts = Some(builder.create_vector(&parts));
            let type_ = GeometryType::MultiPolygon;
            Some(Geometry::create(builder, &GeometryArgs { type_, parts, ..GeometryArgs::default() }))
        }
        Placed::Lines(lines) if lines.is_empty() => None,
        Placed::Lines(lines) => {
            let lines: Vec<&[Position]> = lines.iter().map(Vec::as_slice).collect();
            Some(simple(builder, GeometryType::MultiLineString, &lines))
        }
    }
}

/// A geometry of one or several runs of places; where there are several, the ends say where each stops.
fn simple<'a>(
    builder: &mut FlatBufferBuilder<'a>,
    type_: GeometryType,
    runs: &[&[Position]],
) -> WIPOffset<Geometry<'a>> {
    let xy: Vec<f64> = runs.iter().copied().flatten().flat_map(|&place| degrees(place)).collect();
    let mut end = 0u32;
    let ends: Vec<u32> = runs
        .iter()
        .map(|run| {
            end += u32::try_from(run.len()).expect("a ring has fewer than 2^32 places");
            end
        })
        .collect();
    let xy = Some(builder.create_vector(&xy));
    let ends = (ends.len() > 1).then(|| builder.create_vector(&ends));
    Geometry::create(builder, &GeometryArgs { type_, xy, ends, ..GeometryArgs::default() })
}

fn properties(cells: &[Cell], columns: &[LayerColumn]) -> Vec<u8> {
    let mut out = Vec::with_capacity(cells.len() * 16);
    for (number, (cell, column)) in (0u16..).zip(cells.iter().zip(columns)) {
        if *cell == Cell::Null {
            continue;
        }
        out.extend_from_slice(&number.to_le_bytes());
        match (cell, column.kind) {
            (Cell::Whole(value), Kind::Whole) => {
                out.extend_from_slice(&i64::try_from(*value).unwrap_or(i64::MAX).to_le_bytes())
            }
            (Cell::Text(text), _) => {
                out.extend_from_slice(
                    &u32::try_from(text.len()).expect("a text has fewer than 2^32 bytes").to_le_bytes(),
                );
                out.extend_from_slice(text.as_bytes());
            }
            _ => out.extend_from_slice(&cell.printed().unwrap_or(f64::NAN).to_le_bytes()),
        }
    }
    out
}

impl FlatGeobuf {
    /// Begins the file of a layer.
    pub fn create(staging: &mut Staging, layer: Layer, columns: &[LayerColumn]) -> Result<FlatGeobuf> {
        let file = staging.create(&format!("layers/{}.fgb", layer.word()))?;
        let waiting = BufWriter::with_capacity(1 << 16, staging.nameless_file()?);
        Ok(FlatGeobuf { file, waiting, layer, columns: columns.to_vec(), boxes: Vec::new(), starts: vec![0] })
    }

    /// Takes the next features.
    pub fn put(&mut self, features: Vec<Encoded>) -> Result<()> {
        for Encoded { bytes, mut bounds } in features {
            self.waiting.write_all(&bytes).map_err(|e| self.file.failed("write", e))?;
            bounds.offset = self.boxes.len() as u64;
            self.boxes.push(bounds);
            self.starts.push(self.starts[self.starts.len() - 1] + bytes.len() as u64);
        }
        Ok(())
    }

    /// Writes the header, the tree and the features in its order.
    pub fn close(mut self, staging: &mut Staging) -> Result<()> {
        let extent = calc_extent(&self.boxes);
        // Without a place there is nothing to find by place, and readers refuse an index of nothing.
        let indexed = extent.width() >= 0.0;
        self.file.put(&MAGIC)?;
        self.file.put(&self.header(indexed.then_some(&extent)))?;
        if indexed {
            hilbert_sort(&mut self.boxes, &extent);
            let tree = PackedRTree::build(&self.leaves(), &extent, PackedRTree::DEFAULT_NODE_SIZE)
                .map_err(|e| self.file.failed("write the index of", std::io::Error::other(e.to_string())))?;
            tree.stream_write(&mut self.file).map_err(|e| self.file.failed("write", e))?;
        }
        let waiting = self.waiting.into_inner().map_err(|e| self.file.failed("write", e.into_error()))?;
        let mut bytes = Vec::new();
        for one in &self.boxes {
            let number = usize::try_from(one.offset).expect("the number of a feature in memory");
            let (from, to) = (self.starts[number], self.starts[number + 1]);
            bytes.resize(usize::try_from(to - from).expect("a feature that was in memory"), 0);
            waiting.read_exact_at(&mut bytes, from).map_err(|e| self.file.failed("write", e))?;
            self.file.put(&bytes)?;
        }
        staging.close(self.file)
    }

    /// The sorted boxes with where their features begin after the index.
    fn leaves(&self) -> Vec<NodeItem> {
        let mut offset = 0;
        let leaf = |one: &NodeItem| {
            let number = usize::try_from(one.offset).expect("the number of a feature in memory");
            let leaf = NodeItem { offset, ..one.clone() };
            offset += self.starts[number + 1] - self.starts[number];
            leaf
        };
        self.boxes.iter().map(leaf).collect()
    }

    fn header(&self, extent: Option<&NodeItem>) -> Vec<u8> {
        let mut builder = FlatBufferBuilder::new();
        let column = |column: &LayerColumn, builder: &mut FlatBufferBuilder<'static>| {
            let name = Some(builder.create_string(&column.name));
            let type_ = match column.kind {
                Kind::Text => ColumnType::String,
                Kind::Whole => ColumnType::Long,
                Kind::Number => ColumnType::Double,
            };
            Column::create(builder, &ColumnArgs { name, type_, ..ColumnArgs::default() })
        };
        let columns: Vec<_> = self.columns.iter().map(|one| column(one, &mut builder)).collect();
        let columns = Some(builder.create_vector(&columns));
        let crs_name = Some(builder.create_string("WGS 84"));
        let org = Some(builder.create_string("EPSG"));
        let crs = Crs::create(&mut builder, &CrsArgs { org, code: 4326, name: crs_name, ..CrsArgs::default() });
        let envelope = extent.map(|e| builder.create_vector(&[e.min_x, e.min_y, e.max_x, e.max_y]));
        let name = Some(builder.create_string(self.layer.word()));
        let header = Header::create(
            &mut builder,
            &HeaderArgs {
                name,
                envelope,
                geometry_type: match self.layer.drawn_as() {
                    DrawnAs::Points => GeometryType::Point,
                    DrawnAs::Polygons => GeometryType::MultiPolygon,
                    DrawnAs::Lines => GeometryType::MultiLineString,
                },
                columns,
                features_count: self.boxes.len() as u64,
                index_node_size: if extent.is_some() { PackedRTree::DEFAULT_NODE_SIZE } else { 0 },
                crs: Some(crs),
                ..HeaderArgs::default()
            },
        );
        builder.finish_size_prefixed(header, None);
        builder.finished_data().to_vec()
    }
}
