//! The `plyreel` program.

use std::process::ExitCode;

/// The system's memory; for rav1e's sake, with a shelf.
#[global_allocator]
static MEMORY: plyreel::encode::Shelf = plyreel::encode::Shelf;

fn main() -> ExitCode {
    ExitCode::from(plyreel::cli::run(std::env::args_os()))
}
