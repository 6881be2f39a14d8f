//! Names that every solver can read and a person can recognise.

use std::collections::HashSet;

/// Longest part of a name that comes from the tables.
const LONGEST: usize = 28;

/// For each name of the tables one of plain letters, digits, `.`, `_` and `-`, different from all others.
pub(super) fn plain<'n>(names: impl IntoIterator<Item = &'n str>) -> Vec<String> {
    let mut taken: HashSet<String> = HashSet::new();
    let mut unique = |name: &str| {
        let letter = |c: char| if c.is_ascii_alphanumeric() || ".-".contains(c) { c } else { '_' };
        let plain: String = name.chars().take(LONGEST).map(letter).collect();
        let numbered = (2..).map(|n| format!("{plain}~{n}"));
        // The numbers never end, so one of the names is free.
        let free = std::iter::once(plain.clone()).chain(numbered).find(|name| !taken.contains(name)).unwrap_or(plain);
        taken.insert(free.clone());
        free
    };
    names.into_iter().map(&mut unique).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn names_are_plain_and_unlike() {
        let long = "x".repeat(200);
        let names = ["base 1", "base,1", "=1+1", "🦊", &long, &format!("{long}y")];
        let short = "x".repeat(28);
        assert_eq!(plain(names), ["base_1", "base_1~2", "_1_1", "_", &short, &format!("{short}~2")]);
    }
}
