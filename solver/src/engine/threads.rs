//! How many searches of one call may run at the same time.
//!
//! It is about the machine and not about the plan: what a search finds does not depend on when the others run, so one
//! thread and two give the same plan, one after another or side by side. Therefore it is set once for the whole process
//! and is no part of a request.

use std::num::NonZero;
use std::sync::atomic::{AtomicUsize, Ordering};
use std::sync::{Mutex, MutexGuard, PoisonError};
use std::time::Duration;

/// How often somebody is told how searches stand.
const TELL_AFTER: Duration = Duration::from_millis(100);

static AT_ONCE: AtomicUsize = AtomicUsize::new(usize::MAX);

/// Lets no more than so many searches of a call run at the same time, from now on and in the whole process.
pub fn allow(threads: NonZero<usize>) {
    AT_ONCE.store(threads.get(), Ordering::Relaxed);
}

/// Two searches side by side, or one after the other where only one may run, and what they found; none of one that
/// panicked. `tell` is called now and then while they go on.
pub(super) fn side_by_side<A: Send, B: Send>(
    first: impl FnOnce() -> A + Send,
    second: impl FnOnce() -> B + Send,
    tell: &dyn Fn(),
) -> (Option<A>, Option<B>) {
    let turns = Turns::default();
    std::thread::scope(|scope| {
        let first = scope.spawn(|| {
            let _turn = turns.take();
            first()
        });
        let second = scope.spawn(|| {
            let _turn = turns.take();
            second()
        });
        while !(first.is_finished() && second.is_finished()) {
            std::thread::sleep(TELL_AFTER);
            tell();
        }
        (first.join().ok(), second.join().ok())
    })
}

/// Whose turn it is, among searches that may have to run one after another.
#[derive(Default)]
struct Turns(Mutex<()>);

impl Turns {
    /// Waits for its turn where only one search may run, and keeps it until the guard is dropped.
    fn take(&self) -> Option<MutexGuard<'_, ()>> {
        // A search that panicked has had its turn.
        (AT_ONCE.load(Ordering::Relaxed) == 1).then(|| self.0.lock().unwrap_or_else(PoisonError::into_inner))
    }
}
