//! What `--json` prints: one object per call, integers where whole, times in RFC 3339 with the offset in force.

pub mod checked;
pub mod compared;
pub mod explained;
pub mod layouts;
pub mod ledger;
pub mod logged;
pub mod planned;
pub mod quoted;
pub mod regressed;
pub mod rehearsed;
pub mod replanned;
pub mod sheets;
pub mod unusable;

use platewright_model::{Instance, Instant, WeightedMinutes};
use serde_json::Number;

/// An instant as the files write it: `2026-03-02T07:00:00+00:00`.
pub fn stamp(instance: &Instance, instant: Instant) -> String {
    instance.farm.clock.stamp(instant).to_rfc3339()
}

/// Weighted minutes, whole where they are.
pub fn weighted(late: WeightedMinutes) -> Number {
    match late.0 % 1000 {
        0 => Number::from(late.0 / 1000),
        _ => Number::from_f64(late.in_minutes()).unwrap_or_else(|| Number::from(late.0 / 1000)),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn weighted_minutes_are_whole_where_they_can_be() {
        let said: Vec<String> = [0, 3000, 1500, 1].iter().map(|&l| weighted(WeightedMinutes(l)).to_string()).collect();
        assert_eq!(said, ["0", "3", "1.5", "0.001"]);
    }
}
