//! A page of plain text: headings, paragraphs and tables that fit eighty columns, in any script, without colour.

use comfy_table::{CellAlignment, ContentArrangement, Table, presets};
use unicode_segmentation::UnicodeSegmentation;
use unicode_width::UnicodeWidthStr;

/// Columns of a page.
pub const WIDTH: usize = 80;

const INDENT: &str = "  ";
const BETWEEN: u16 = 2;
const NARROWEST_NAME: usize = 8;

/// A page under construction.
#[derive(Debug, Clone)]
pub struct Page {
    text: String,
}

impl Page {
    /// A page with its title.
    pub fn new(title: &str) -> Page {
        Page { text: format!("{}\n{}\n", clip(title, WIDTH), "=".repeat(clip(title, WIDTH).width())) }
    }

    /// Opens a section.
    pub fn heading(&mut self, heading: &str) {
        let heading = clip(heading, WIDTH);
        self.text.push_str(&format!("\n{heading}\n{}\n", "-".repeat(heading.width())));
    }

    /// An empty line.
    pub fn blank(&mut self) {
        self.text.push('\n');
    }

    /// A paragraph, wrapped.
    pub fn say(&mut self, words: &str) {
        self.wrap(words, INDENT, INDENT);
    }

    /// One entry of a list, wrapped.
    pub fn item(&mut self, words: &str) {
        self.wrap(words, "  * ", "    ");
    }

    /// What belongs to the entry above, wrapped.
    pub fn under_item(&mut self, words: &str) {
        self.wrap(words, "    ", "    ");
    }

    /// Something to be ticked off, wrapped.
    pub fn tick(&mut self, words: &str) {
        self.wrap(words, "  [ ] ", "      ");
    }

    /// What belongs to the box above, wrapped.
    pub fn under_tick(&mut self, words: &str) {
        self.wrap(words, "      ", "        ");
    }

    /// A table; one without rows leaves no trace.
    pub fn table(&mut self, grid: &Grid) {
        for line in grid.lines() {
            self.text.push_str(format!("{INDENT}{line}").trim_end());
            self.text.push('\n');
        }
    }

    /// The finished page.
    pub fn text(self) -> String {
        self.text
    }

    fn wrap(&mut self, words: &str, first: &str, rest: &str) {
        let options = textwrap::Options::new(WIDTH).initial_indent(first).subsequent_indent(rest);
        // Names and numbers of lots have hyphens, and are looked for whole.
        let options = options.word_splitter(textwrap::WordSplitter::NoHyphenation);
        for line in textwrap::wrap(&plain(words), options) {
            self.text.push_str(line.trim_end());
            self.text.push('\n');
        }
    }
}

/// Which way a column leans.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Lean {
    /// Words.
    Left,
    /// Figures.
    Right,
}

/// A table whose first column holds names and gives way where the others need the room.
#[derive(Debug, Clone)]
pub struct Grid {
    columns: Vec<(String, Lean)>,
    rows: Vec<Vec<String>>,
}

impl Grid {
    /// A table with its columns' headings.
    pub fn new<const N: usize>(columns: [(&str, Lean); N]) -> Grid {
        Grid { columns: columns.into_iter().map(|(h, l)| (h.to_owned(), l)).collect(), rows: Vec::new() }
    }

    /// Adds a row, one cell per column.
    pub fn row<const N: usize>(&mut self, cells: [String; N]) {
        debug_assert_eq!(N, self.columns.len(), "a cell per column");
        self.rows.push(cells.into_iter().map(|c| plain(&c)).collect());
    }

    /// Leaves out the columns, other than the first, in which every cell is `blank`.
    pub fn without_columns_of(mut self, blank: &str) -> Grid {
        let keep: Vec<bool> = (0..self.columns.len())
            .map(|c| c == 0 || self.rows.iter().any(|r| r.get(c).is_some_and(|cell| cell != blank)))
            .collect();
        let kept = |index: usize| keep.get(index).copied().unwrap_or(true);
        let mut at = 0..;
        self.columns.retain(|_| at.next().is_some_and(kept));
        for row in &mut self.rows {
            let mut at = 0..;
            row.retain(|_| at.next().is_some_and(kept));
        }
        self
    }

    fn lines(&self) -> Vec<String> {
        if self.rows.is_empty() {
            return Vec::new();
        }
        let names = self.room_for_names();
        let mut table = Table::new();
        table.load_preset(presets::NOTHING).set_content_arrangement(ContentArrangement::Disabled);
        table.set_header(self.columns.iter().map(|(heading, _)| heading.as_str()));
        for row in &self.rows {
            let mut cells = row.clone();
            if let Some(name) = cells.first_mut() {
                *name = clip(name, names);
            }
            table.add_row(cells);
        }
        let last = self.columns.len() - 1;
        for (index, column) in table.column_iter_mut().enumerate() {
            column.set_padding((0, if index == last { 0 } else { BETWEEN }));
            column.set_cell_alignment(match self.columns.get(index) {
                Some((_, Lean::Right)) => CellAlignment::Right,
                _ => CellAlignment::Left,
            });
        }
        table.lines().collect()
    }

    fn room_for_names(&self) -> usize {
        let column_width = |c: usize, heading: &str| {
            self.rows.iter().filter_map(|r| r.get(c)).map(|cell| cell.width()).max().unwrap_or(0).max(heading.width())
        };
        let others: usize = self
            .columns
            .iter()
            .enumerate()
            .skip(1)
            .map(|(c, (heading, _))| column_width(c, heading) + usize::from(BETWEEN))
            .sum();
        WIDTH.saturating_sub(INDENT.len() + others).max(NARROWEST_NAME)
    }
}

/// The text on one line, with nothing in it that would move the cursor or turn the writing round: a name read from a
/// table may hold anything.
pub fn plain(text: &str) -> String {
    let unsafe_to_show = |c: char| c.is_control() || matches!(c, '\u{202a}'..='\u{202e}' | '\u{2066}'..='\u{2069}');
    text.chars().map(|c| if unsafe_to_show(c) { '\u{fffd}' } else { c }).collect()
}

/// The text in at most `width` columns, a dot trio standing for what is cut off.
pub fn clip(text: &str, width: usize) -> String {
    let text = plain(text);
    if text.width() <= width {
        return text;
    }
    let mut kept = String::new();
    for cluster in text.graphemes(true) {
        if kept.width() + cluster.width() + 2 > width {
            break;
        }
        kept.push_str(cluster);
    }
    kept.push_str("..");
    kept
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn names_in_any_script_keep_the_columns_aligned() {
        let mut grid = Grid::new([("name", Lean::Left), ("count", Lean::Right)]);
        for name in ["plain", "früh", "風速計", "e\u{301}tage", "👩‍🔧"] {
            grid.row([name.to_owned(), "7".to_owned()]);
        }
        let mut page = Page::new("t");
        page.table(&grid);
        let text = page.text();
        let widths: Vec<usize> = text.lines().skip(2).map(|l| l.width()).collect();
        assert_eq!(widths.len(), 6);
        assert!(widths.iter().all(|w| *w == widths[0]), "{text}");
    }

    #[test]
    fn a_long_name_gives_way_to_the_figures() {
        let mut grid = Grid::new([("name", Lean::Left), ("figure", Lean::Right)]);
        grid.row(["風".repeat(60), "123".to_owned()]);
        let mut page = Page::new("t");
        page.table(&grid);
        let text = page.text();
        let row = text.lines().last().unwrap();
        assert!(row.width() <= WIDTH && row.ends_with("123") && row.contains(".."), "{row}");
    }

    #[test]
    fn nothing_in_a_name_reaches_the_terminal_as_a_command() {
        assert_eq!(plain("a\u{1b}[31m\nb\u{202e}c"), "a\u{fffd}[31m\u{fffd}b\u{fffd}c");
    }

    #[test]
    fn paragraphs_stay_within_the_page() {
        let mut page = Page::new(&"title ".repeat(40));
        page.heading(&"heading ".repeat(40));
        page.say(&"words and more words ".repeat(20));
        page.item(&"words and more words ".repeat(20));
        page.under_item(&"words and more words ".repeat(20));
        assert!(page.text().lines().all(|l| l.width() <= WIDTH));
    }

    #[test]
    fn blank_columns_are_left_out() {
        let mut grid = Grid::new([("name", Lean::Left), ("none", Lean::Right), ("some", Lean::Right)]);
        grid.row(["a".into(), "-".into(), "-".into()]);
        grid.row(["b".into(), "-".into(), "2".into()]);
        assert_eq!(grid.without_columns_of("-").lines(), ["name  some", "a        -", "b        2"]);
    }
}
