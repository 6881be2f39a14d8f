//! Finds where the records of a CSV text begin and whether their quotes are in order.
//!
//! The `csv` crate splits records into cells, but it forgives stray quotes and does not count the lines of comments and
//! blanks; a planner needs to be told about the first and to find the row by the second. This pass reads the same
//! grammar as the crate does (RFC 4180, `\n` ends a line) and yields one entry per record that the crate will yield.

/// One record of the text.
#[derive(Debug, PartialEq, Eq)]
pub(crate) struct Record {
    /// The editor's number of its first line.
    pub(crate) line: u64,
    /// Where its quotes go wrong first.
    pub(crate) stray: Option<Stray>,
    /// Its first character is a `#` behind spaces: a comment that the crate takes for cells.
    pub(crate) indented_comment: bool,
}

/// A quote out of order.
#[derive(Debug, PartialEq, Eq)]
pub(crate) struct Stray {
    pub(crate) kind: StrayKind,
    /// The cell's position in the record, from 0.
    pub(crate) cell: usize,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum StrayKind {
    /// A quote inside a cell that does not begin with one.
    Inside,
    /// Text between a closing quote and the comma.
    AfterClosing,
    /// No closing quote up to the end of the file.
    NeverClosed,
}

#[derive(Clone, Copy, PartialEq, Eq)]
enum State {
    CellStart,
    Plain,
    Quoted,
    /// A quote inside a quoted cell: the end of it, or the first of a pair.
    QuoteSeen,
    PastQuoted,
}

/// The records of a text whose lines end in `\n`.
pub(crate) fn records(text: &str) -> Vec<Record> {
    let mut records = Vec::new();
    let mut line = 1;
    let mut rest = text;
    while !rest.is_empty() {
        let first_line = rest.split('\n').next().unwrap_or_default();
        if first_line.is_empty() || first_line.starts_with('#') {
            rest = rest.get(first_line.len() + 1..).unwrap_or_default();
            line += 1;
            continue;
        }
        let (length, stray) = record(rest);
        records.push(Record { line, stray, indented_comment: first_line.trim_start().starts_with('#') });
        let (this, next) = rest.split_at(length);
        line += this.matches('\n').count() as u64;
        rest = next;
    }
    records
}

/// The length in bytes of the record at the beginning of a text, its line end included, and its first stray quote.
fn record(text: &str) -> (usize, Option<Stray>) {
    let mut stray = None;
    let mut cell = 0;
    let mut state = State::CellStart;
    for (at, byte) in text.bytes().enumerate() {
        let mut found = |kind| {
            stray.get_or_insert(Stray { kind, cell });
        };
        state = match (state, byte) {
            (State::Quoted, b'"') => State::QuoteSeen,
            (State::Quoted, _) => State::Quoted,
            (_, b'\n') => return (at + 1, stray),
            (_, b',') => {
                cell += 1;
                State::CellStart
            }
            (State::CellStart, b'"') => State::Quoted,
            (State::CellStart, _) => State::Plain,
            (State::QuoteSeen, b'"') => State::Quoted,
            // Spaces behind a closing quote are trimmed like any others.
            (State::QuoteSeen | State::PastQuoted, b' ' | b'\t') => State::PastQuoted,
            (State::QuoteSeen | State::PastQuoted, _) => {
                found(StrayKind::AfterClosing);
                State::PastQuoted
            }
            (State::Plain, b'"') => {
                found(StrayKind::Inside);
                State::Plain
            }
            (State::Plain, _) => State::Plain,
        };
    }
    if state == State::Quoted {
        stray.get_or_insert(Stray { kind: StrayKind::NeverClosed, cell });
    }
    (text.len(), stray)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn lines(text: &str) -> Vec<u64> {
        records(text).iter().map(|r| r.line).collect()
    }

    fn stray(text: &str) -> Option<Stray> {
        records(text).remove(0).stray
    }

    #[test]
    fn lines_are_numbered_as_an_editor_does() {
        assert_eq!(lines("a,b\n\n# note\nc,d\n\"e\nf\",g\nh,i"), [1, 4, 5, 7]);
        assert_eq!(lines("\n\n"), [] as [u64; 0]);
        assert_eq!(lines("#only"), [] as [u64; 0]);
    }

    #[test]
    fn quotes_in_order_are_no_fault() {
        for text in ["\"a\",\"b\"\n", "\"a \"\"b\"\"\",c\n", "\"a\n,b\" ,c", "\"\",\"\""] {
            assert_eq!(stray(text), None, "{text:?}");
        }
    }

    #[test]
    fn stray_quotes_are_found_with_their_cell() {
        let found = |kind, cell| Some(Stray { kind, cell });
        assert_eq!(stray("a,b\"c,d\n"), found(StrayKind::Inside, 1));
        assert_eq!(stray("a, \"b\",d\n"), found(StrayKind::Inside, 1));
        assert_eq!(stray("a,b,\"c\"d\n"), found(StrayKind::AfterClosing, 2));
        assert_eq!(stray("a,\"b\nc,d\n"), found(StrayKind::NeverClosed, 1));
    }

    #[test]
    fn records_are_those_that_the_csv_crate_yields() {
        let texts = [
            "a,b\n\n#x\nc,d",
            "\"a\nb\",c\nd",
            "a\"b\nc\"\nd",
            "\"a\"b\"\nc",
            "\"a\" \"b\nc",
            " #x\n,\n\"",
            "\"\"\"\n\n\"",
            "a,\"b\nc",
        ];
        for text in texts {
            let reader = csv::ReaderBuilder::new()
                .has_headers(false)
                .flexible(true)
                .comment(Some(b'#'))
                .from_reader(text.as_bytes());
            assert_eq!(reader.into_records().count(), records(text).len(), "{text:?}");
        }
    }
}
