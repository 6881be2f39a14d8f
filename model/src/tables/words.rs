//! Names and notes as planners write them, and the word they may have meant.

use super::findings::Wrong;
use super::limits;
use crate::fault::FaultCode;

/// Reads a name.
pub(crate) fn name(text: &str) -> Result<String, Wrong> {
    within(text, limits::NAME_CHARS)
}

/// Reads a note, a reason or a bay.
pub(crate) fn note(text: &str) -> Result<String, Wrong> {
    within(text, limits::NOTE_CHARS)
}

fn within(text: &str, most: usize) -> Result<String, Wrong> {
    let length = text.chars().count();
    if length <= most {
        return Ok(text.to_owned());
    }
    let message = format!("\"{}…\" has {length} characters; {most} is the most.", start_of(text));
    Err(Wrong::new(FaultCode::NameTooLong, message, "Shorten it."))
}

/// Enough of a long text to recognise it by.
fn start_of(text: &str) -> String {
    text.chars().take(24).collect()
}

/// The candidate that was probably meant: the same but for capitals, or few letters away. Ties go to the first.
pub(crate) fn closest<'c>(word: &str, candidates: impl IntoIterator<Item = &'c str>) -> Option<&'c str> {
    let word = word.to_lowercase();
    // A slip of one letter in a short word, of a few in a long one; a word of one letter has no near neighbours.
    let length = word.chars().count();
    let most = if length < 2 { 0 } else { 1 + length / 5 };
    let mut best: Option<(usize, &str)> = None;
    for candidate in candidates {
        let distance = distance(&word, &candidate.to_lowercase());
        if distance <= most && best.is_none_or(|(least, _)| distance < least) {
            best = Some((distance, candidate));
        }
    }
    best.map(|(_, candidate)| candidate)
}

/// `Did you mean "…"? ` with the candidate that was probably meant; empty where there is none or nobody asks.
pub(crate) fn did_you_mean<'c>(word: &str, candidates: impl IntoIterator<Item = &'c str>, suggest: bool) -> String {
    let meant = if suggest { closest(word, candidates) } else { None };
    meant.map(|meant| format!("Did you mean \"{meant}\"? ")).unwrap_or_default()
}

/// Slips of the finger between two words; one that only adds or leaves out an ending (`printer`, `printers_name`)
/// counts as one.
fn distance(word: &str, candidate: &str) -> usize {
    let (short, long) = if word.len() < candidate.len() { (word, candidate) } else { (candidate, word) };
    let ending = long.strip_prefix(short).is_some_and(|rest| rest == "s" || rest.starts_with('_'));
    if ending && !short.is_empty() { 1 } else { strsim::damerau_levenshtein(word, candidate) }
}

/// What may stand in a place, for the end of a help line: all of a few words, the first of many.
pub(crate) fn listed<'c, W>(words: W) -> String
where
    W: IntoIterator<Item = &'c str, IntoIter: ExactSizeIterator>,
{
    const SHOWN: usize = 8;
    let words = words.into_iter();
    let more = words.len().saturating_sub(SHOWN);
    let mut text = words.take(SHOWN).collect::<Vec<_>>().join(", ");
    if more > 0 {
        text.push_str(&format!(" and {more} more"));
    }
    text
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn slips_find_what_was_meant() {
        let columns = ["printer", "plate", "minutes", "load_minutes"];
        assert_eq!(closest("minuets", columns), Some("minutes"));
        assert_eq!(closest("Printer", columns), Some("printer"));
        assert_eq!(closest("plates", columns), Some("plate"));
        assert_eq!(closest("printer_name", columns), Some("printer"));
        assert_eq!(closest("colour", columns), None);
        assert_eq!(closest("x", ["y", "z"]), None);
    }

    #[test]
    fn long_lists_are_cut() {
        let words: Vec<String> = (1..=10).map(|n| n.to_string()).collect();
        assert_eq!(listed(words.iter().map(String::as_str)), "1, 2, 3, 4, 5, 6, 7, 8 and 2 more");
    }

    #[test]
    fn a_long_name_is_counted_in_characters() {
        assert!(name(&"é".repeat(200)).is_ok());
        assert_eq!(name(&"é".repeat(201)).unwrap_err().code, FaultCode::NameTooLong);
    }
}
