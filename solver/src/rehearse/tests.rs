//! What rehearsals must agree with, whatever the plan.

use super::*;

#[test]
fn a_date_at_a_share_is_the_smallest_order_statistic_that_covers_it() {
    let dates = Dates { ready: (1..=10).collect(), ..Dates::default() };
    assert_eq!(dates.at(0.5, 10), Some(5));
    assert_eq!(dates.at(0.51, 10), Some(6));
    assert_eq!(dates.at(1.0, 10), Some(10));
    // Two rehearsals never had it ready.
    assert_eq!(dates.at(0.95, 12), None);
    assert_eq!(dates.at(0.0, 10), Some(1));
}
