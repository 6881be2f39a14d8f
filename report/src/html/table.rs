//! A table on a page: a caption, headed columns, and cells that know what they hold.

use super::moment::{Figure, Moment};
use super::shown;
use crate::wall::clock_hours;
use askama::Template;
use platewright_model::{Instance, Instant, Minutes};

/// A table; one without rows leaves no trace. Show it in a template with `{{ table|safe }}`: what its cells hold is escaped
/// here.
#[derive(Debug, Clone, PartialEq, Eq, Template)]
#[template(path = "table.html")]
pub struct Table {
    /// The id of its element.
    pub id: Option<&'static str>,
    /// What it shows, as a heading above it.
    pub caption: String,
    /// Its columns.
    pub columns: Vec<Column>,
    /// Its rows, a cell per column.
    pub rows: Vec<Vec<Cell>>,
    /// What needs saying under it.
    pub note: Option<String>,
}

/// The head of a column.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Column {
    /// Its words.
    pub head: String,
    /// Whether it holds figures, which stand to the right.
    pub figure: bool,
}

/// A cell.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Cell {
    /// The name that the row is about.
    Head(String),
    /// Words of ours.
    Words(String),
    /// A name out of a table.
    Name(String),
    /// A figure as people say it.
    Figure(String),
    /// A figure of `plan.json`.
    Stated(Figure),
    /// An instant.
    Moment(Moment),
    /// Markup of ours, with nothing in it out of a table.
    Drawing(String),
}

impl Cell {
    /// The name that the row is about.
    pub fn head(name: &str) -> Cell {
        Cell::Head(shown(name))
    }

    /// A name out of a table.
    pub fn name(name: &str) -> Cell {
        Cell::Name(shown(name))
    }

    /// A figure.
    pub fn figure(figure: impl ToString) -> Cell {
        Cell::Figure(figure.to_string())
    }

    /// Hours and minutes that can be added up: `1234:05`.
    pub fn hours(minutes: Minutes) -> Cell {
        Cell::Figure(clock_hours(minutes))
    }

    /// An instant in the farm's zone.
    pub fn moment(instance: &Instance, instant: Instant) -> Cell {
        Cell::Moment(Moment::of(instance, instant))
    }
}

impl Table {
    /// A table without rows yet. Heads that begin with `#` are those of figures: `#runs`.
    pub fn new(caption: impl Into<String>, heads: &[&str]) -> Table {
        let column = |head: &&str| match head.strip_prefix('#') {
            Some(head) => Column { head: head.to_owned(), figure: true },
            None => Column { head: (*head).to_owned(), figure: false },
        };
        Table {
            id: None,
            caption: caption.into(),
            columns: heads.iter().map(column).collect(),
            rows: Vec::new(),
            note: None,
        }
    }

    /// Adds a row, a cell per column.
    pub fn row(&mut self, cells: impl Into<Vec<Cell>>) {
        let cells = cells.into();
        debug_assert_eq!(cells.len(), self.columns.len(), "a cell per column");
        self.rows.push(cells);
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_name_is_text_and_nothing_else() {
        let mut table = Table::new("Parts", &["part", "#needed"]);
        table.row([Cell::head("<script>alert(\"1\")</script>\u{202e}"), Cell::figure(7)]);
        let html = table.render().unwrap();
        assert!(!html.contains("<script") && !html.contains('\u{202e}'), "{html}");
        assert!(html.contains("&#60;script&#62;") && html.contains(">7</td>"), "{html}");
    }

    #[test]
    fn a_table_without_rows_leaves_no_trace() {
        assert_eq!(Table::new("Parts", &["part"]).render().unwrap(), "");
    }
}
