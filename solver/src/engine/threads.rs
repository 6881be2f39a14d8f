//! How many searches of one call may run at the same time.
//!
//! It is about the machine and not about the plan: what a search finds does not depend on when the others run, so one
//! thread and two give the same plan, one after another or side by side. Therefore it is set once for the whole process
//! and is no part of a request.

use std::num::NonZero;
use std::sync::atomic::{AtomicUsize, Ordering};
use std::sync::{Mutex, MutexGuard, PoisonError};

static AT_ONCE: AtomicUsize = AtomicUsize::new(usize::MAX);

/// Lets no more than so many searches of a call run at the same time, from now on and in the whole process.
pub fn allow(threads: NonZero<usize>) {
    AT_ONCE.store(threads.get(), Ordering::Relaxed);
}

/// Whose turn it is, among searches that may have to run one after another.
#[derive(Default)]
pub(super) struct Turns(Mutex<()>);

impl Turns {
    /// Waits for its turn where only one search may run, and keeps it until the guard is dropped.
    pub(super) fn take(&self) -> Option<MutexGuard<'_, ()>> {
        // A search that panicked has had its turn.
        (AT_ONCE.load(Ordering::Relaxed) == 1).then(|| self.0.lock().unwrap_or_else(PoisonError::into_inner))
    }
}
