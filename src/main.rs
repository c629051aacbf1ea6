//! The `plyreel` program.

use std::process::ExitCode;

fn main() -> ExitCode {
    ExitCode::from(plyreel::cli::run(std::env::args_os()))
}
