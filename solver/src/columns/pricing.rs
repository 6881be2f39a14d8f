//! The best history of each class at given prices: classes that differ only in how they stand share one pass.

use crate::history::{Leave, Leg, Outlook, Scratch, Standing, Tariff, Window};
use crate::problem::{Min, Problem};
use crate::room::Room;

/// By class, the greatest value of a history that ends by `until`, with the history; none where what the class holds at
/// the start cannot be harvested by then.
pub fn best_histories(
    problem: &Problem<'_>,
    room: &Room<'_>,
    tariff: &Tariff,
    until: Min,
    scratch: &mut Scratch,
) -> Vec<Option<(i64, Vec<Leg>)>> {
    let mut found = vec![None; problem.classes.len()];
    let followed = |terrain: &Vec<usize>| terrain.iter().any(|&c| !problem.classes[c].printers.is_empty());
    for terrain in problem.terrains().into_iter().filter(followed) {
        let class = &problem.classes[terrain[0]];
        let window = Window { from: 0, to: until, leave: Leave::Anything };
        let held = problem.held_on(&terrain);
        let memory = std::mem::take(scratch);
        let outlook = Outlook::new(room, class, tariff, window, &held, memory);
        for c in terrain {
            found[c] = outlook.best_history(Standing::at_start(&problem.classes[c]));
        }
        *scratch = outlook.into_scratch();
    }
    found
}
