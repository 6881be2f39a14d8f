//! The tables of one instance while they are put together, and the folder they are written into.

use std::collections::BTreeMap;
use std::fmt::Write as _;
use std::path::Path;

/// One row: columns and cells.
pub type Row = BTreeMap<&'static str, String>;

/// `farm.toml` and the tables beside it.
#[derive(Debug, Clone, Default)]
pub struct Tables {
    /// The text of `farm.toml`.
    pub farm: String,
    rows: BTreeMap<&'static str, Vec<Row>>,
}

impl Tables {
    /// A farm with a name, a zone, a start and a horizon.
    pub fn new(name: &str, zone: &str, start: &str, horizon_days: i64) -> Tables {
        let farm =
            format!("name = \"{name}\"\ntime_zone = \"{zone}\"\nstart = \"{start}\"\nhorizon_days = {horizon_days}\n");
        Tables { farm, rows: BTreeMap::new() }
    }

    /// Adds a section of `farm.toml`; one without keys is left out.
    pub fn section(&mut self, name: &str, keys: &[(&str, &dyn ToString)]) {
        if !keys.is_empty() {
            let _ = write!(self.farm, "\n[{name}]\n");
        }
        for (key, value) in keys {
            let _ = writeln!(self.farm, "{key} = {}", value.to_string());
        }
    }

    /// Adds a row to a table, named without its ending.
    pub fn row(&mut self, table: &'static str, cells: &[(&'static str, &dyn ToString)]) {
        let row = cells.iter().map(|(column, cell)| (*column, cell.to_string())).collect();
        self.rows.entry(table).or_default().push(row);
    }

    /// The rows of a table.
    pub fn rows(&self, table: &str) -> &[Row] {
        self.rows.get(table).map_or(&[], Vec::as_slice)
    }

    /// The rows of a table, to be changed.
    pub fn rows_mut(&mut self, table: &'static str) -> &mut Vec<Row> {
        self.rows.entry(table).or_default()
    }

    /// Writes the folder, which is made where it is missing.
    pub fn write(&self, folder: &Path) {
        std::fs::create_dir_all(folder).expect("the folder can be made");
        std::fs::write(folder.join("farm.toml"), &self.farm).expect("farm.toml can be written");
        for (table, rows) in self.rows.iter().filter(|(_, rows)| !rows.is_empty()) {
            let mut columns: Vec<&str> = Vec::new();
            for column in rows.iter().flat_map(Row::keys) {
                if !columns.contains(column) {
                    columns.push(column);
                }
            }
            let mut file = csv::Writer::from_path(folder.join(format!("{table}.csv"))).expect("a table can be made");
            file.write_record(&columns).expect("the header can be written");
            for row in rows {
                let cells = columns.iter().map(|column| row.get(column).map_or("", String::as_str));
                file.write_record(cells).expect("a row can be written");
            }
            file.flush().expect("the table can be finished");
        }
    }
}
