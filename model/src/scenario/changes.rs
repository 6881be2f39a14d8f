//! The changes in a scenario's file, each with the row it stands on.

use crate::fault::FaultCode;
use crate::overlay::{Cell, Change, FarmKeys, Overlay, Selection, Table, What, Which};
use crate::tables::farm::row_of;
use crate::tables::findings::{At, Findings, Wrong};
use crate::tables::words;
use toml::Spanned;
use toml::de::{DeTable, DeValue};

type Value<'d> = Spanned<DeValue<'d>>;

const ROW: &str = "Write each row in braces: { crew = \"late\", days = \"Sat\" }.";

/// Reads one file.
pub(super) struct Reader<'a> {
    pub(super) file: &'a str,
    pub(super) text: &'a str,
    pub(super) findings: &'a mut Findings,
}

impl Reader<'_> {
    /// What the scenario is about, and its changes.
    pub(super) fn read(mut self, root: &DeTable<'_>) -> (Option<String>, Overlay) {
        let mut overlay = Overlay::new(self.file);
        self.known(root, "", &known_at_root());
        let about = root.get("about").and_then(|value| self.about(value));
        if let Some(farm) = root.get("farm")
            && self.table(farm, "farm", "Write [farm] on a line of its own and keys of farm.toml below.").is_some()
        {
            overlay.farm.push(FarmKeys { text: self.text.to_owned(), in_section: true });
        }
        for table in Table::ALL {
            let Some(value) = root.get(table.word()) else { continue };
            let help = format!("Write [{}] on a line of its own, and add, drop or change below.", table.word());
            if let Some(section) = self.table(value, table.word(), &help) {
                overlay.changes.extend(self.changes(table, section));
            }
        }
        (about, overlay)
    }

    fn about(&mut self, value: &Value<'_>) -> Option<String> {
        let text = match value.get_ref() {
            DeValue::String(text) => text.trim(),
            _ => {
                self.wrong_type(value, "about", "text", "Put it in double quotes.");
                return None;
            }
        };
        let told = if text.contains(char::is_control) {
            Err(Wrong::new(FaultCode::ControlCharacter, "about holds a control character.", "Write it on one line."))
        } else {
            words::note(text)
        };
        told.map_err(|wrong| self.tell(value, "about", wrong)).ok().filter(|text| !text.is_empty())
    }

    /// The changes to one table, in the order in which they are made.
    fn changes(&mut self, table: Table, section: &DeTable<'_>) -> Vec<Change> {
        let word = table.word();
        let known: &[&str] = match table {
            Table::Printers => &["rows", "drop", "change", "fewer", "more", "add"],
            _ => &["rows", "drop", "change", "add"],
        };
        self.known(section, word, known);
        let mut changes = Vec::new();
        let change = |row: u64, what: What| Change { table, row: Some(row), what };
        if let Some(value) = section.get("rows") {
            let rows = self.rows(value, &format!("{word}.rows"));
            changes.push(change(self.row(value), What::Clear));
            changes.extend(rows.into_iter().map(|(row, cells)| change(row, What::Add(cells))));
        }
        if let Some(value) = section.get("drop") {
            let rows = self.rows(value, &format!("{word}.drop"));
            changes
                .extend(rows.into_iter().map(|(row, cells)| change(row, What::Drop(Which(Selection::Cells(cells))))));
        }
        if let Some(value) = section.get("change") {
            let rows = self.where_and_set(value, &format!("{word}.change"));
            changes.extend(rows.into_iter().map(|(row, which, cells)| change(row, What::Set(which, cells))));
        }
        for (key, what) in [("fewer", What::Fewer as fn(Cell) -> What), ("more", What::More)] {
            let Some(value) = section.get(key).filter(|_| table == Table::Printers) else { continue };
            let help = format!("Write how many of a group: {key}.small = 6.");
            let full = format!("{word}.{key}");
            if let Some(groups) = self.table(value, &full, &help) {
                let cells = self.cells(groups, &full);
                changes.extend(cells.into_iter().map(|cell| change(cell.row.unwrap_or_default(), what(cell))));
            }
        }
        if let Some(value) = section.get("add") {
            let rows = self.rows(value, &format!("{word}.add"));
            changes.extend(rows.into_iter().map(|(row, cells)| change(row, What::Add(cells))));
        }
        changes
    }

    /// A list of rows, each with the line it begins on.
    fn rows(&mut self, value: &Value<'_>, key: &str) -> Vec<(u64, Vec<Cell>)> {
        let mut rows = Vec::new();
        for (place, row) in self.list(value, key) {
            let cells = self.cells(row, key);
            if cells.is_empty() {
                self.tell_at(place, key, Wrong::new(FaultCode::BlankCell, "The row has no cells.", ROW));
            } else {
                rows.push((place, cells));
            }
        }
        rows
    }

    /// A list of rows to change: which, and the cells to write.
    fn where_and_set(&mut self, value: &Value<'_>, key: &str) -> Vec<(u64, Which, Vec<Cell>)> {
        const HELP: &str =
            "Write { where = { … }, set = { … } }: the cells that tell the rows, and the cells to write.";
        let mut rows = Vec::new();
        for (place, row) in self.list(value, key) {
            self.known(row, key, &["where", "set"]);
            let mut part = |word: &str| {
                let key = format!("{key}.{word}");
                match row.get(word) {
                    Some(value) => self.table(value, &key, HELP).map(|cells| self.cells(cells, &key)),
                    None => {
                        self.tell_at(place, &key, Wrong::new(FaultCode::MissingKey, "The key is missing.", HELP));
                        None
                    }
                }
            };
            if let (Some(which), Some(set)) = (part("where"), part("set")) {
                rows.push((place, Which(Selection::Cells(which)), set));
            }
        }
        rows
    }

    /// The tables of a list, each with the line it begins on.
    fn list<'d>(&mut self, value: &'d Value<'d>, key: &str) -> Vec<(u64, &'d DeTable<'d>)> {
        let DeValue::Array(list) = value.get_ref() else {
            self.wrong_type(value, key, "a list of rows", "Put the rows in brackets, one in braces on each line.");
            return Vec::new();
        };
        list.iter().filter_map(|row| Some((self.row(row), self.braces(row, key)?))).collect()
    }

    /// The cells that a row says, as a table would hold them.
    fn cells(&mut self, row: &DeTable<'_>, key: &str) -> Vec<Cell> {
        let mut cells = Vec::new();
        for (column, value) in row {
            let text = match value.get_ref() {
                DeValue::String(text) => text.trim().to_owned(),
                DeValue::Integer(_) | DeValue::Float(_) => self.written(value).replace('_', ""),
                DeValue::Datetime(_) => self.written(value).to_owned(),
                _ => {
                    let key = format!("{key}.{}", column.get_ref());
                    self.wrong_type(value, &key, "a cell", "Write a number, or text in double quotes.");
                    continue;
                }
            };
            cells.push(Cell { column: column.get_ref().clone().into_owned(), text, row: Some(self.row(value)) });
        }
        cells
    }

    fn braces<'d>(&mut self, value: &'d Value<'d>, key: &str) -> Option<&'d DeTable<'d>> {
        if let DeValue::Table(row) = value.get_ref() {
            return Some(row);
        }
        self.wrong_type(value, key, "a row", ROW);
        None
    }

    fn table<'d>(&mut self, value: &'d Value<'d>, key: &str, help: &str) -> Option<&'d DeTable<'d>> {
        match value.get_ref() {
            DeValue::Table(table) => Some(table),
            _ => {
                self.wrong_type(value, key, "a section", help);
                None
            }
        }
    }

    /// Tells of keys that a section does not have.
    fn known(&mut self, section: &DeTable<'_>, name: &str, known: &[&str]) {
        for (key, value) in section {
            let word: String = key.get_ref().chars().take(100).filter(|c| !c.is_control()).collect();
            if known.contains(&key.get_ref().as_ref()) {
                continue;
            }
            let table_file = word.strip_suffix(".csv").filter(|table| known.contains(table));
            let help = match (table_file, words::closest(&word, known.iter().copied())) {
                (Some(table), _) => format!("Write [{table}], without .csv."),
                (None, Some(meant)) => format!("Did you mean {meant}? Known are {}.", known.join(", ")),
                (None, None) => format!("Delete it. Known are {}.", known.join(", ")),
            };
            let place = if name.is_empty() { "a scenario" } else { name };
            let full = if name.is_empty() { word.clone() } else { format!("{name}.{word}") };
            let wrong =
                Wrong::new(FaultCode::UnknownKey, format!("\"{word}\" is not one of the keys of {place}."), help);
            let row = row_of(self.text, key.span().start.min(value.span().start));
            self.tell_at(row, &full, wrong);
        }
    }

    fn wrong_type(&mut self, value: &Value<'_>, key: &str, wanted: &str, help: &str) {
        let written: String = self.written(value).chars().take(40).filter(|c| !c.is_control()).collect();
        self.tell(value, key, Wrong::new(FaultCode::WrongType, format!("{written} is not {wanted}."), help));
    }

    fn tell(&mut self, value: &Value<'_>, key: &str, wrong: Wrong) {
        self.tell_at(self.row(value), key, wrong);
    }

    fn tell_at(&mut self, row: u64, key: &str, wrong: Wrong) {
        self.findings.add(At { file: self.file, row: Some(row), column: Some(key) }, wrong);
    }

    fn row(&self, value: &Value<'_>) -> u64 {
        row_of(self.text, value.span().start)
    }

    fn written(&self, value: &Value<'_>) -> &str {
        self.text.get(value.span()).unwrap_or_default()
    }
}

fn known_at_root() -> Vec<&'static str> {
    ["about", "farm"].into_iter().chain(Table::ALL.map(Table::word)).collect()
}
