//! Ctrl-C, SIGTERM and SIGHUP ask for a stop; a second one ends at once.

use std::process;
use std::sync::atomic::{AtomicBool, Ordering};

static STOP: AtomicBool = AtomicBool::new(false);

/// Begins to listen, and gives the flag that says whether a stop was asked for.
///
/// Temporary files are removed as the command unwinds. A second signal means that this takes too long: the program
/// ends, leaving at worst a file ending in `.part`.
pub fn listen() -> &'static AtomicBool {
    // Only a second handler in the same process can fail here, as in tests; the flag still works.
    let _ = ctrlc::set_handler(|| {
        if STOP.swap(true, Ordering::SeqCst) {
            process::exit(130);
        }
    });
    &STOP
}

/// Whether a stop was asked for.
pub fn stopped() -> bool {
    STOP.load(Ordering::Relaxed)
}
