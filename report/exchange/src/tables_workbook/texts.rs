//! The texts of a folder that has been read without fault, taken apart into cells and comments.

use csv::{ReaderBuilder, Trim};
use toml::de::{DeTable, DeValue};

/// A table's cells.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Grid {
    /// Comment lines, without their mark.
    pub comments: Vec<String>,
    /// The names of the columns.
    pub header: Vec<String>,
    /// The rows, without blank ones.
    pub rows: Vec<Vec<String>>,
}

impl Grid {
    /// Where a column stands.
    pub fn place(&self, column: &str) -> Option<usize> {
        self.header.iter().position(|name| name == column)
    }
}

/// Takes a CSV text apart. In a table without faults no cell holds a line break, so that a line is a record, a comment or
/// blank.
pub fn grid(text: &str) -> Grid {
    let text = text.strip_prefix('\u{feff}').unwrap_or(text).replace("\r\n", "\n").replace('\r', "\n");
    let (comments, records): (Vec<&str>, Vec<&str>) = text.lines().partition(|line| line.trim_start().starts_with('#'));
    let records = records.join("\n");
    let reader = ReaderBuilder::new().has_headers(false).flexible(true).trim(Trim::All).from_reader(records.as_bytes());
    let mut rows = reader
        .into_records()
        .filter_map(Result::ok)
        .filter(|record| record.iter().any(|cell| !cell.is_empty()))
        .map(|record| record.iter().map(str::to_owned).collect::<Vec<_>>());
    let header = rows.next().unwrap_or_default();
    let comments = comments.into_iter().map(comment).collect();
    Grid { comments, header, rows: rows.collect() }
}

/// A key of `farm.toml` with its value.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Entry {
    /// With its section: `handling.load`.
    pub key: String,
    /// The value: text without its quotes, anything else as it is written.
    pub value: String,
    /// What stands behind it.
    pub comment: String,
}

/// `farm.toml` taken apart.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Farm {
    /// Comment lines, and what stands behind the names of sections.
    pub comments: Vec<String>,
    /// Keys, section by section.
    pub entries: Vec<Entry>,
}

/// Takes `farm.toml` apart.
pub fn farm(text: &str) -> Farm {
    let text = text.strip_prefix('\u{feff}').unwrap_or(text);
    let (document, _) = DeTable::parse_recoverable(text);
    let mut entries = Vec::new();
    flatten(text, "", document.get_ref(), &mut entries);
    Farm { comments: text.lines().filter_map(line_comment).collect(), entries }
}

fn flatten(text: &str, section: &str, table: &DeTable<'_>, entries: &mut Vec<Entry>) {
    // Keys of the section itself come before those of sections within it, as they must in the file.
    let (inner, own): (Vec<_>, Vec<_>) =
        table.iter().partition(|(_, value)| matches!(value.get_ref(), DeValue::Table(_)));
    for (key, value) in own {
        let written = text.get(value.span()).unwrap_or_default();
        let rest = text.get(value.span().end..).unwrap_or_default().lines().next().unwrap_or_default().trim();
        let comment = if rest.starts_with('#') { comment(rest) } else { String::new() };
        let value = match value.get_ref() {
            DeValue::String(words) => words.trim().to_owned(),
            DeValue::Integer(_) | DeValue::Float(_) => written.replace(['_', '+'], ""),
            _ => written.to_owned(),
        };
        entries.push(Entry { key: format!("{section}{}", key.get_ref()), value, comment });
    }
    for (key, value) in inner {
        let DeValue::Table(table) = value.get_ref() else { continue };
        let name = format!("{section}{}.", key.get_ref());
        if table.is_empty() && name == "costs." {
            // The section says by itself that there are costs: name them, so that a list of keys says it too.
            entries.push(Entry { key: "costs.currency".to_owned(), value: "money".to_owned(), comment: String::new() });
        }
        flatten(text, &name, table, entries);
    }
}

/// The comment of a line that is nothing else, or opens a section.
fn line_comment(line: &str) -> Option<String> {
    let line = line.trim();
    if line.starts_with('#') {
        return Some(comment(line));
    }
    let (section, said) = line.strip_prefix('[')?.split_once('#')?;
    Some(format!("[{} {}", section.trim(), said.trim()))
}

fn comment(line: &str) -> String {
    line.trim().trim_start_matches('#').trim().to_owned()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn comments_blank_lines_and_quotes_are_told_apart() {
        let text = "\u{feff}# one\r\n\r\nprinter,group\r\n\"#1\" ,\"a,b\"\r\n  # two\r\n,\r\nP2,=c\r\n";
        let found = grid(text);
        assert_eq!(found.comments, ["one", "two"]);
        assert_eq!(found.header, ["printer", "group"]);
        assert_eq!(found.rows, [["#1", "a,b"], ["P2", "=c"]]);
    }

    #[test]
    fn keys_carry_their_sections_and_comments() {
        let text = "# room\nname = \" A # B \" # called so\n[handling]  # minutes\nload = 1_0\nharvest = +4\n[costs]\n";
        let found = farm(text);
        let entry = |key: &str, value: &str, comment: &str| Entry {
            key: key.into(),
            value: value.into(),
            comment: comment.into(),
        };
        assert_eq!(found.comments, ["room", "[handling] minutes"]);
        let costs = entry("costs.currency", "money", "");
        let entries = [
            entry("name", "A # B", "called so"),
            costs,
            entry("handling.load", "10", ""),
            entry("handling.harvest", "4", ""),
        ];
        assert!(entries.iter().all(|entry| found.entries.contains(entry)), "{:?}", found.entries);
    }
}
