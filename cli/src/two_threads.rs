//! Pieces of work that do not know of each other, on two threads.

use std::sync::atomic::{AtomicUsize, Ordering};

const THREADS: usize = 2;

/// What comes of each thing, in the order of the things, whichever thread took which.
pub fn each<T: Sync, R: Send>(things: &[T], work: impl Fn(&T) -> R + Sync) -> Vec<R> {
    let next = AtomicUsize::new(0);
    let worker = || {
        let mut done = Vec::new();
        loop {
            let at = next.fetch_add(1, Ordering::Relaxed);
            match things.get(at) {
                Some(thing) => done.push((at, work(thing))),
                None => return done,
            }
        }
    };
    let mut done: Vec<(usize, R)> = std::thread::scope(|scope| {
        let threads: Vec<_> = (0..THREADS.min(things.len())).map(|_| scope.spawn(worker)).collect();
        let joined = threads.into_iter().map(|thread| thread.join());
        joined.flat_map(|done| done.unwrap_or_else(|panic| std::panic::resume_unwind(panic))).collect()
    });
    done.sort_by_key(|done| done.0);
    done.into_iter().map(|done| done.1).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn results_keep_the_order_of_the_things() {
        let things: Vec<u64> = (0..50).collect();
        let squares = each(&things, |thing| {
            std::thread::yield_now();
            thing * thing
        });
        assert_eq!(squares, things.iter().map(|thing| thing * thing).collect::<Vec<_>>());
        assert!(each(&[0u8; 0], |thing| *thing).is_empty());
    }
}
