//! Scenarios that only add to a room never make its best plan later: one more printer, one more operator, one more
//! stretch of shift, laid over the tables as a scenario is.

use platewright_model::overlay::{Overlay, Table, Which};
use platewright_model::{Instance, Minutes, WeightedMinutes, tables};
use platewright_solver::EngineChoice::Auto;
use platewright_tests::benches::bench;
use platewright_tests::trial::{Ask, Trial};
use platewright_tests::weeks::{Size, week};
use std::sync::OnceLock;

/// Lateness and makespan of a proven best plan.
type Best = (WeightedMinutes, Minutes);

fn best(trial: &Trial) -> Option<Best> {
    let claims = trial.plan(Ask::soonest(Auto)).plan()?.claims;
    (claims.bound == claims.value && claims.late_bound == claims.late).then_some((claims.late, claims.value))
}

/// Small rooms whose best plan is proven.
fn rooms() -> &'static [(Trial, Best)] {
    static ROOMS: OnceLock<Vec<(Trial, Best)>> = OnceLock::new();
    ROOMS.get_or_init(|| {
        let weeks = (500..540).map(|seed| (format!("Tiny week, seed {seed}"), week(seed, Size::Tiny)));
        let benches = (500..530).map(|seed| (format!("bench, seed {seed}"), bench(seed)));
        let trials = weeks.chain(benches).map(|(name, tables)| Trial::new(name, &tables));
        trials.filter_map(|trial| best(&trial).map(|best| (trial, best))).collect()
    })
}

/// Plans every room with the changes too.
fn never_later(what: &str, change: impl Fn(&Instance, &mut Overlay)) {
    let mut compared = 0;
    for (poor, least) in rooms() {
        let mut overlay = Overlay::new(what);
        change(&poor.instance, &mut overlay);
        let instance = tables::read_with(poor.folder(), &[overlay]).unwrap_or_else(|faults| panic!("{faults}"));
        let rich = Trial::of(format!("{} {what}", poor.name), instance);
        if let Some(best) = best(&rich) {
            compared += 1;
            assert!(best <= *least, "{}: {least:?} without, {best:?} {what}", poor.name);
        }
    }
    assert!(compared >= 50, "only {compared} were proven");
}

#[test]
fn one_more_printer() {
    never_later("with one more printer", |instance, overlay| {
        let group = instance.printers[0].group;
        overlay.more_printers(&instance.groups[group.index()], 1);
    });
}

#[test]
fn one_more_operator() {
    never_later("with one more operator on the first shift", |instance, overlay| {
        let operators = (instance.shifts[0].operators.0 + 1).to_string();
        overlay.change(Table::Shifts, Which::nth(0), [("operators", operators.as_str())]);
    });
}

#[test]
fn one_more_stretch_of_shift() {
    never_later("with somebody there every evening", |_, overlay| {
        let evening = [("crew", "helper"), ("days", "daily"), ("from", "19:00"), ("to", "23:00"), ("operators", "1")];
        overlay.add(Table::Shifts, evening);
    });
}
