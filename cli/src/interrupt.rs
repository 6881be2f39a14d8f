//! Ctrl-C, and a request to end from the system: the search stops, what was found is still written.

use std::sync::atomic::{AtomicBool, Ordering};

static STOP: AtomicBool = AtomicBool::new(false);

/// The flag that is set when somebody asks the program to stop; watching begins with the first call.
pub fn watched() -> &'static AtomicBool {
    // Where no handler can be installed, Ctrl-C ends the program at once: files are whole all the same.
    let _ = ctrlc::set_handler(|| STOP.store(true, Ordering::SeqCst));
    &STOP
}
