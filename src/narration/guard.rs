//! A wall around the readers of foreign formats. A damaged file can trip an assertion or an index inside them; here that
//! becomes an error about the file, as it should be, and never the end of the program.

use std::cell::Cell;
use std::panic::{self, AssertUnwindSafe};
use std::sync::Once;
use symphonia::core::errors::Error;

thread_local! {
    static GUARDED: Cell<bool> = const { Cell::new(false) };
}

/// Runs a reader's own code. A panic in it becomes [`Error::DecodeError`], and is not printed; the reader must not be
/// used after that.
pub(super) fn guarded<T>(read: impl FnOnce() -> Result<T, Error>) -> Result<T, Error> {
    static HOOK: Once = Once::new();
    HOOK.call_once(|| {
        let before = panic::take_hook();
        panic::set_hook(Box::new(move |info| {
            if !GUARDED.get() {
                before(info);
            }
        }));
    });
    let outer = GUARDED.replace(true);
    let result = panic::catch_unwind(AssertUnwindSafe(read));
    GUARDED.set(outer);
    result.unwrap_or(Err(Error::DecodeError("its contents make no sense")))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_panic_becomes_an_error() {
        let index = std::hint::black_box(3);
        assert!(matches!(guarded(|| Ok([1, 2, 3][index])), Err(Error::DecodeError(_))));
        assert!(matches!(guarded(|| Ok(7)), Ok(7)));
    }
}
