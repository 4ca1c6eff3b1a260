//! The properties of one feature, in the order of its layer's columns, before any format has seen them.
//!
//! Every format of layers takes its properties from here, so that all say the same. Numbers keep the decimals with which tables print
//! them: a format that stores numbers stores the printed value.

use super::columns::Table;
use super::number::fixed;
use crate::model::run_facts::RunFacts;

/// What a column of a layer holds.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Kind {
    /// Text; `yes` and `no` too, as in the tables: programs differ in how a filter of a style names a true value.
    Text,
    /// Whole numbers.
    Whole,
    /// Numbers.
    Number,
}

/// A column of a layer.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct LayerColumn {
    /// Its name.
    pub name: String,
    /// What it holds.
    pub kind: Kind,
}

/// The columns of a layer in a run, in order: what they hold follows from the unit in the list of columns.
pub fn layer_columns(table: &Table, facts: &RunFacts) -> Vec<LayerColumn> {
    let kind = |name: &str| {
        let mut columns = table.groups.iter().flat_map(|group| group.columns);
        match columns.find(|column| stands_for(column.name, name)).map_or("text", |column| column.unit) {
            "text" | "yes/no" | "date" => Kind::Text,
            "count" => Kind::Whole,
            _ => Kind::Number,
        }
    };
    table.header(facts).into_iter().map(|name| LayerColumn { kind: kind(&name), name }).collect()
}

/// Whether a name in a header comes from a name in the list of columns, where `<ring>` and the like stand for a word.
fn stands_for(listed: &str, name: &str) -> bool {
    match (listed.find('<'), listed.rfind('>')) {
        (Some(from), Some(to)) => name.starts_with(&listed[..from]) && name.ends_with(&listed[to + 1..]),
        _ => listed == name,
    }
}

/// One property.
#[derive(Debug, Clone, PartialEq)]
pub enum Cell {
    /// None.
    Null,
    /// A text, never empty.
    Text(String),
    /// A finite number and the decimals with which it is printed.
    Number(f64, u32),
    /// A whole number.
    Whole(u64),
}

impl Cell {
    /// The number as printed; `None` for a text.
    pub fn printed(&self) -> Option<f64> {
        match *self {
            Cell::Number(value, decimals) => fixed(value, decimals).parse().ok(),
            #[expect(clippy::cast_precision_loss, reason = "counts and rows are far below 2^53")]
            Cell::Whole(value) => Some(value as f64),
            Cell::Null | Cell::Text(_) => None,
        }
    }
}

/// Takes the properties of one feature, in the order of its layer's columns.
pub struct Properties<'b> {
    columns: &'b [LayerColumn],
    cells: Vec<Cell>,
}

impl<'b> Properties<'b> {
    /// None yet.
    pub fn new(columns: &'b [LayerColumn]) -> Properties<'b> {
        Properties { columns, cells: Vec::with_capacity(columns.len()) }
    }

    /// All of them, one for each column.
    pub fn finish(self) -> Vec<Cell> {
        debug_assert_eq!(self.cells.len(), self.columns.len(), "every column of columns.rs has its property");
        self.cells
    }

    fn push(&mut self, name: &str, cell: Cell) {
        let column = &self.columns[self.cells.len()];
        debug_assert_eq!(column.name, name, "properties stand in the order of columns.rs");
        let fits = match cell {
            Cell::Null => true,
            Cell::Text(_) => column.kind == Kind::Text,
            Cell::Number(..) => column.kind == Kind::Number,
            Cell::Whole(_) => column.kind != Kind::Text,
        };
        debug_assert!(fits, "{name}: {cell:?} in a column of {:?}; the unit in columns.rs decides", column.kind);
        self.cells.push(cell);
    }

    /// A text; null where it is empty.
    pub fn text(&mut self, name: &str, text: &str) {
        self.push(name, if text.is_empty() { Cell::Null } else { Cell::Text(text.to_string()) });
    }

    /// A number; null where there is none or where it is not finite.
    pub fn number(&mut self, name: &str, value: Option<f64>, decimals: u32) {
        let finite = value.filter(|value| value.is_finite());
        self.push(name, finite.map_or(Cell::Null, |value| Cell::Number(value, decimals)));
    }

    /// A whole number.
    pub fn whole(&mut self, name: &str, value: u64) {
        self.push(name, Cell::Whole(value));
    }

    /// `yes` or `no`, as in the tables.
    pub fn yes_no(&mut self, name: &str, value: bool) {
        self.text(name, if value { "yes" } else { "no" });
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::write::columns::{TABLES, c, once};
    use crate::write::example;

    #[test]
    fn what_a_column_holds_follows_from_its_unit() {
        const LAYER: Table = Table {
            file: "layers/invented.geojson",
            rows: "",
            groups: &[once(&[c("a", "text", ""), c("b", "yes/no", ""), c("n", "count", ""), c("d", "m", "")])],
        };
        let kinds: Vec<Kind> =
            layer_columns(&LAYER, &example::facts(false)).into_iter().map(|column| column.kind).collect();
        assert_eq!(kinds, [Kind::Text, Kind::Text, Kind::Whole, Kind::Number]);
        assert!(stands_for("<ring>_overlap_m2", "half_overlap_m2") && !stands_for("<ring>_overlap_m2", "overlap_m"));
    }

    /// Names within SQLite and in a style's filter are the same whatever the case: no layer may have two that differ only in it,
    /// nor one that a GeoPackage keeps for itself.
    #[test]
    fn names_are_fit_for_every_format() {
        for table in TABLES.iter().filter(|table| table.file.starts_with("layers/")) {
            let mut names: Vec<String> = table.header(&example::facts(true)).iter().map(|n| n.to_lowercase()).collect();
            names.extend(["fid".to_string(), "geom".to_string()]);
            let all = names.len();
            names.sort();
            names.dedup();
            assert_eq!(names.len(), all, "{}", table.file);
        }
    }

    #[test]
    fn a_stored_number_is_the_printed_one() {
        assert_eq!(Cell::Number(1.234_56, 4).printed(), Some(1.2346));
        assert_eq!(Cell::Number(-0.000_01, 4).printed(), Some(0.0));
        assert_eq!((Cell::Whole(7).printed(), Cell::Text("7".into()).printed()), (Some(7.0), None));
    }
}
