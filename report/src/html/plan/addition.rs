//! What other commands found, for the reader it is for: costs, a comparison of scenarios, a rehearsal.

use crate::html::table::Table;

/// Where on the page an addition belongs.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Place {
    /// For the owner: what it costs.
    Costs,
    /// For the owner: how sure the dates are.
    Rehearsal,
    /// For the owner: what else could be done.
    Comparison,
    /// For the planner: what binds.
    Planner,
}

/// A piece of the page: a heading, sentences, tables. A chart is a table whose cells hold a [`bar`].
#[derive(Debug, Clone, PartialEq)]
pub struct Addition {
    /// Where it belongs.
    pub place: Place,
    /// Its heading.
    pub heading: String,
    /// Sentences, each a paragraph.
    pub words: Vec<String>,
    /// What it shows in rows.
    pub tables: Vec<Table>,
}

/// A bar for a [`crate::html::table::Cell::Drawing`]: filled to a share of its width, with an upright mark at another.
/// Shares run from 0 to 1; the figure itself belongs into a cell beside it.
pub fn bar(share: f64, mark: Option<f64>) -> String {
    let per_cent = |share: f64| (share.clamp(0.0, 1.0) * 10_000.0).round() / 100.0;
    let mark = mark.map_or_else(String::new, |at| format!("<b style=\"left:{}%\"></b>", per_cent(at)));
    format!("<span class=\"bar\" aria-hidden=\"true\"><i style=\"width:{}%\"></i>{mark}</span>", per_cent(share))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_bar_stays_in_its_box() {
        assert_eq!(
            bar(1.7, Some(0.25)),
            "<span class=\"bar\" aria-hidden=\"true\"><i style=\"width:100%\"></i><b style=\"left:25%\"></b></span>"
        );
    }
}
