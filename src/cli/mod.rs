//! What was typed → what is done. The only room that knows the terminal, the environment, the clock and the file
//! system's names. Called by none but `main`.

/// Runs the program with the given arguments and returns its exit code: 0 made, 1 the input has mistakes,
/// 2 bad usage, 3 the world failed.
pub fn run(_arguments: impl IntoIterator<Item = std::ffi::OsString>) -> u8 {
    0
}
