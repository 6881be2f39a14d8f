//! What stands on a printer from the start stays one run, whatever a search aims at.

use crate::instance;
use platewright_solver::floor::{Floor, Machine};
use platewright_solver::improve::{Gait, Search};
use platewright_solver::mix;
use platewright_solver::problem::Problem;

#[test]
fn what_stands_on_a_printer_is_harvested_once_however_early_the_aim() {
    for name in ["harbour-week", "tiny-stock-running", "tiny-held-plate"] {
        let instance = instance(name);
        let problem = Problem::new(&instance);
        let on_printers: Vec<bool> =
            problem.classes.iter().flat_map(|c| vec![c.running.is_some(); c.printers.len()]).collect();
        assert!(on_printers.iter().any(|&on| on), "{name} begins with plates on printers");
        let held = |m: &Machine| m.runs.iter().filter(|r| r.leg.load_from.is_none()).count();
        for seed in 0..6u64 {
            let open = vec![problem.horizon; problem.orders.len()];
            let search = Search::new(Floor::new(&problem, &open), mix::prices(&problem), seed);
            let mut search = search.in_gait([Gait::Wandering, Gait::Downhill, Gait::Rolling][(seed % 3) as usize]);
            for aim in [problem.horizon.min(4000), 60, 900, 1500, problem.horizon.min(3000)] {
                search.aim(&vec![aim; problem.orders.len()]);
                search.meet(aim, 2_000_000, &|| false);
                for (at, (machine, &on)) in search.floor.machines.iter().zip(&on_printers).enumerate() {
                    assert_eq!(held(machine), usize::from(on), "{name}, seed {seed}, aim {aim}, printer {at}");
                    let apart = machine.runs.windows(2).all(|w| w[1].leg.load_from >= Some(w[0].leg.harvest_to));
                    assert!(apart, "{name}, seed {seed}, aim {aim}, printer {at}: runs overlap");
                }
            }
        }
    }
}
