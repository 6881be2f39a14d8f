//! What a scenario buys and what it costs, in a sentence.

use super::{Entry, Figures, same_orders};
use crate::costs::{Decimal, money};
use crate::wall::clock_hours;
use platewright_model::{Minutes, WeightedMinutes};
use std::cmp::Ordering;

/// The trade of one scenario against another: `night-crew ships 2 d 4 h sooner than as-it-stands for 1,912 EUR more; 31
/// of its 40 night hours are idle.`
pub fn trade((base, is): (&Entry, &Figures), (other, would): (&Entry, &Figures)) -> String {
    let sooner = is.makespan - would.makespan;
    let time = match sooner.cmp(&Minutes::ZERO) {
        Ordering::Greater => format!("ships {sooner} sooner than {}", base.name),
        Ordering::Less => format!("ships {} later than {}", Minutes(-sooner.0), base.name),
        Ordering::Equal => format!("ships at the same time as {}", base.name),
    };
    let mut sentence = format!("{} {time}{}", other.name, price(is, would, sooner));
    if let Some(lateness) = lateness(is.late, would.late) {
        sentence.push_str(&format!(", and {lateness}"));
    }
    if !same_orders(&base.instance, &other.instance) {
        sentence.push_str("; it does not ship the same, so the two cannot be held against each other");
    }
    let (night, busy) = (would.crew.paid.night, would.crew.busy.night);
    if night > Minutes::ZERO {
        // Few hours are told to the minute, so that a rounded figure does not call a night idle that is not.
        let said = if night < Minutes(600) { clock_hours } else { hours };
        sentence.push_str(&format!("; {} of its {} night hours are idle", said(night - busy), said(night)));
    }
    sentence.push('.');
    sentence
}

fn price(is: &Figures, would: &Figures, sooner: Minutes) -> String {
    match (&is.costs, &would.costs) {
        (Some(before), Some(after)) if before.currency == after.currency => {
            let more = after.total() - before.total();
            let amount = format!("{} {}", rounded(more.abs()), after.currency);
            match more.cmp(&Decimal::ZERO) {
                // What is gained is paid for; what is lost or nothing is not.
                Ordering::Greater if sooner > Minutes::ZERO => format!(" for {amount} more"),
                Ordering::Greater => format!(" and costs {amount} more"),
                Ordering::Less => format!(" and costs {amount} less"),
                Ordering::Equal => " and costs the same".to_owned(),
            }
        }
        (None, None) => {
            let more = would.crew.paid.all - is.crew.paid.all;
            match more.cmp(&Minutes::ZERO) {
                Ordering::Greater => format!(" with {} crew hours more", hours(more)),
                Ordering::Less => format!(" with {} crew hours less", hours(Minutes(-more.0))),
                Ordering::Equal => " with as many crew hours".to_owned(),
            }
        }
        _ => String::new(),
    }
}

fn lateness(is: WeightedMinutes, would: WeightedMinutes) -> Option<String> {
    let said = |late: i64| Minutes((late as f64 / 1000.0).round() as i64);
    match (is.0, would.0) {
        (before, after) if before == after => None,
        (_, 0) => Some("is no longer late".to_owned()),
        (0, late) => Some(format!("is late by {} in all, weighted", said(late))),
        (before, after) if after < before => Some(format!("is late by {} less, weighted", said(before - after))),
        (before, after) => Some(format!("is late by {} more, weighted", said(after - before))),
    }
}

/// Whole hours; one that is not quite nothing is not told as nothing.
fn hours(minutes: Minutes) -> String {
    match (minutes.0 as f64 / 60.0).round() as i64 {
        0 if minutes.0 > 0 => "<1".to_owned(),
        hours => hours.to_string(),
    }
}

/// Whole units from a hundred on, where cents only distract.
fn rounded(amount: Decimal) -> String {
    let text = money(amount);
    if amount < Decimal::from(100) {
        return text;
    }
    let whole = money(amount.round());
    whole.strip_suffix(".00").map(str::to_owned).unwrap_or(whole)
}
