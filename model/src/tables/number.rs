//! Numbers as planners write them: digits, a point for decimals, nothing else.

use super::findings::Wrong;
use crate::fault::FaultCode;
use crate::units::Weight;

/// The range of a whole number.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Whole {
    /// What is counted, as it goes in the middle of a sentence.
    pub(crate) what: &'static str,
    pub(crate) least: u64,
    pub(crate) most: u64,
    /// What to do about a number outside the range.
    pub(crate) help: &'static str,
}

/// The range of a decimal number, from 0.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Amount {
    /// What is measured, as it goes in the middle of a sentence.
    pub(crate) what: &'static str,
    pub(crate) most: f64,
}

/// Reads a whole number.
pub(crate) fn whole(text: &str, range: Whole) -> Result<u64, Wrong> {
    if !is_digits(text) {
        return Err(no_whole_number(text, range));
    }
    match text.parse() {
        Ok(number) if (range.least..=range.most).contains(&number) => Ok(number),
        _ => {
            let (least, most) = (grouped(range.least), grouped(range.most));
            let message = format!("{text} is out of range: {} may be {least} to {most}.", range.what);
            Err(Wrong::new(FaultCode::OutOfRange, message, range.help))
        }
    }
}

/// Reads a decimal number of 0 or more.
pub(crate) fn decimal(text: &str, range: Amount) -> Result<f64, Wrong> {
    if !is_decimal(text) {
        return Err(no_decimal(text, range));
    }
    match text.parse() {
        Ok(number) if (0.0..=range.most).contains(&number) => Ok(number),
        _ => {
            let message = format!("{text} is out of range: {} may be 0 to {}.", range.what, range.most);
            Err(Wrong::new(FaultCode::OutOfRange, message, "Check the figure and its unit."))
        }
    }
}

/// Reads a share: 0 or more and below 1.
pub(crate) fn share(text: &str) -> Result<f64, Wrong> {
    if let Some(percent) = text.strip_suffix('%').map(str::trim).filter(|p| is_decimal(p)) {
        let share: f64 = percent.parse().unwrap_or_default();
        let help = format!("Write the share as a decimal without the sign: {}.", shortest(share / 100.0));
        return Err(Wrong::new(FaultCode::NotAShare, format!("\"{text}\" is written in percent."), help));
    }
    let share = decimal(text, Amount { what: "a share", most: f64::MAX })?;
    if share < 1.0 {
        return Ok(share);
    }
    let help = match share / 100.0 {
        percent if (0.0..1.0).contains(&percent) => {
            format!("Write a decimal of 0 or more and below 1; if percent was meant, {}.", shortest(percent))
        }
        _ => "Write a decimal of 0 or more and below 1, such as 0.02 for two in a hundred.".to_owned(),
    };
    Err(Wrong::new(FaultCode::NotAShare, format!("{text} is too large: a share of the whole is below 1."), help))
}

/// Reads a weight, kept in thousandths.
pub(crate) fn weight(text: &str, range: Amount) -> Result<Weight, Wrong> {
    decimal(text, range)?;
    let (units, decimals) = text.split_once('.').unwrap_or((text, ""));
    let decimals = decimals.trim_end_matches('0');
    if decimals.len() > 3 {
        let message = format!("{text} has more than three decimals.");
        return Err(Wrong::new(FaultCode::TooManyDecimals, message, "Round the weight to three decimals."));
    }
    // `decimal` has seen to it that both are digits and the whole is in range, so neither fallback is ever taken.
    let units: u64 = if units.is_empty() { 0 } else { units.parse().unwrap_or_default() };
    let thousandths: u64 = format!("{decimals:0<3}").parse().unwrap_or_default();
    Ok(Weight(units * 1000 + thousandths))
}

/// A number with commas between its thousands.
pub(crate) fn grouped(number: u64) -> String {
    let digits = number.to_string();
    let mut text = String::new();
    for (n, digit) in digits.chars().enumerate() {
        if n > 0 && (digits.len() - n).is_multiple_of(3) {
            text.push(',');
        }
        text.push(digit);
    }
    text
}

/// At most six decimals, so that 7 % reads 0.07 whatever binary makes of it.
fn shortest(number: f64) -> String {
    format!("{number:.6}").trim_end_matches('0').trim_end_matches('.').to_owned()
}

fn is_digits(text: &str) -> bool {
    !text.is_empty() && text.bytes().all(|b| b.is_ascii_digit())
}

fn is_decimal(text: &str) -> bool {
    match text.split_once('.') {
        Some((units, decimals)) => is_digits(decimals) && (units.is_empty() || is_digits(units)),
        None => is_digits(text),
    }
}

fn no_whole_number(text: &str, range: Whole) -> Wrong {
    if is_decimal(text) {
        let help = format!("Write {} as a whole number.", range.what);
        return Wrong::new(FaultCode::NotWhole, format!("{text} is not a whole number."), help);
    }
    not_a_number(text, range.what, range.least, "digits only, such as 12")
}

fn no_decimal(text: &str, range: Amount) -> Wrong {
    if let Some((units, decimals)) = text.split_once(',')
        && is_digits(units)
        && is_digits(decimals)
    {
        let help = format!("Write decimals with a point: {units}.{decimals}.");
        return Wrong::new(FaultCode::NotANumber, format!("\"{text}\" is written with a comma."), help);
    }
    not_a_number(text, range.what, 0, "digits and a point, such as 0.5")
}

fn not_a_number(text: &str, what: &str, least: u64, form: &str) -> Wrong {
    if text.strip_prefix(['-', '\u{2212}']).is_some_and(is_decimal) {
        let help = format!("Write {what} as {least} or more.");
        return Wrong::new(FaultCode::Negative, format!("{text} is below zero."), help);
    }
    let without_marks = text.replace([',', ' ', '\'', '_', '\u{a0}', '\u{202f}'], "");
    let help = if is_decimal(&without_marks) {
        format!("Leave out the marks between thousands: {without_marks}.")
    } else {
        format!("Write {what} in {form}.")
    };
    Wrong::new(FaultCode::NotANumber, format!("\"{text}\" is not a number."), help)
}

#[cfg(test)]
mod tests {
    use super::*;

    const RANGE: Whole = Whole { what: "the figure", least: 1, most: 1_000_000, help: "Check it." };
    const AMOUNT: Amount = Amount { what: "the figure", most: 1000.0 };

    fn told<T: std::fmt::Debug>(result: Result<T, Wrong>) -> (FaultCode, String) {
        let wrong = result.unwrap_err();
        (wrong.code, wrong.help)
    }

    #[test]
    fn whole_numbers_are_digits_in_range() {
        assert_eq!(whole("1000000", RANGE).unwrap(), 1_000_000);
        assert_eq!(whole("007", RANGE).unwrap(), 7);
        assert_eq!(told(whole("4000000000", RANGE)).0, FaultCode::OutOfRange);
        assert_eq!(told(whole("99999999999999999999999", RANGE)).0, FaultCode::OutOfRange);
        assert_eq!(told(whole("0", RANGE)).0, FaultCode::OutOfRange);
        assert_eq!(told(whole("-3", RANGE)).0, FaultCode::Negative);
        assert_eq!(told(whole("12.0", RANGE)).0, FaultCode::NotWhole);
        assert_eq!(told(whole("1e3", RANGE)).0, FaultCode::NotANumber);
        assert_eq!(
            told(whole("1,950", RANGE)),
            (FaultCode::NotANumber, "Leave out the marks between thousands: 1950.".into())
        );
        assert_eq!(told(whole("٣", RANGE)).0, FaultCode::NotANumber);
    }

    #[test]
    fn decimals_have_a_point() {
        assert_eq!(decimal("0.35", AMOUNT).unwrap(), 0.35);
        assert_eq!(decimal(".5", AMOUNT).unwrap(), 0.5);
        assert_eq!(told(decimal("0,35", AMOUNT)), (FaultCode::NotANumber, "Write decimals with a point: 0.35.".into()));
        assert_eq!(told(decimal("-0.1", AMOUNT)).0, FaultCode::Negative);
        assert_eq!(told(decimal("1000.1", AMOUNT)).0, FaultCode::OutOfRange);
        for text in ["inf", "NaN", "1e2", "1.", ".", "", "+1", "1.2.3"] {
            assert_eq!(told(decimal(text, AMOUNT)).0, FaultCode::NotANumber, "{text}");
        }
    }

    #[test]
    fn shares_are_below_one_and_not_in_percent() {
        assert_eq!(share("0.999").unwrap(), 0.999);
        assert_eq!(
            told(share("7%")),
            (FaultCode::NotAShare, "Write the share as a decimal without the sign: 0.07.".into())
        );
        assert_eq!(told(share("1.0")).0, FaultCode::NotAShare);
        assert!(told(share("7")).1.ends_with("if percent was meant, 0.07."));
    }

    #[test]
    fn weights_are_kept_in_thousandths() {
        assert_eq!(weight("1", AMOUNT).unwrap(), Weight(1000));
        assert_eq!(weight("0.05", AMOUNT).unwrap(), Weight(50));
        assert_eq!(weight("2.5000", AMOUNT).unwrap(), Weight(2500));
        assert_eq!(weight(".125", AMOUNT).unwrap(), Weight(125));
        assert_eq!(told(weight("0.0005", AMOUNT)).0, FaultCode::TooManyDecimals);
    }

    #[test]
    fn thousands_are_grouped() {
        assert_eq!([0, 999, 1000, 100_000_000].map(grouped), ["0", "999", "1,000", "100,000,000"]);
    }
}
