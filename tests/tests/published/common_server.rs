//! Two machines and one operator who loads and unloads them: the published rows.
//!
//! Source: A. Elidrissi, R. Benmansour, K. Hasani, F. Werner, Computers & Operations Research 2024, doi
//! 10.1016/j.cor.2024.106638, for the instances. The optima with a finished job waiting on its machine, as a plate does
//! here, are no published values: they were computed with the CP-SAT of OR-Tools 9.15.

use crate::solved::{Solved, solve};
use platewright_tests::published::common_server_cases;

/// Every case of eight jobs reaches the optimum and is proven; where only a best value is known, it is reached.
#[test]
fn one_operator_at_two_machines() {
    let Some(cases) = common_server_cases() else { return };
    assert!(cases.len() >= 15, "{} cases", cases.len());
    for case in &cases {
        let solved = solve(&case.name, case.machines, 1, &case.jobs);
        if case.proven {
            assert_eq!(solved, Solved::optimum(case.optimum), "{}", case.name);
        } else {
            assert!(solved.value <= case.optimum, "{}: {solved:?}, {} is known", case.name, case.optimum);
            println!("{}: best known {}, {solved:?}", case.name, case.optimum);
        }
    }
    println!("{} common-server cases reach the optimum", cases.len());
}
