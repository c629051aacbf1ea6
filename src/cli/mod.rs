//! What was typed → what is done. The only room that knows the terminal, the environment, the clock and the file
//! system's names. Called by none but `main`.

mod args;
mod cache;
mod check;
mod clip;
mod draft;
mod failure;
mod frames;
mod help;
mod inputs;
mod join;
mod kept;
mod kit;
mod levels;
mod load;
mod new;
mod offered;
mod options;
mod output;
mod part_file;
mod png_file;
mod progress;
mod prove;
mod proving;
mod render;
mod replay;
mod report;
mod rewrite;
mod signal;
mod still;
mod sync;
mod thumb;
mod watch;
mod words;

use args::{Arguments, Command, Format, Talk};
use clap::{CommandFactory, Parser};
use failure::Failure;
use std::ffi::OsString;

/// Runs the program with the given arguments and returns its exit code: 0 made, 1 the input has mistakes,
/// 2 bad usage, 3 the world failed, 130 stopped.
pub fn run(arguments: impl IntoIterator<Item = OsString>) -> u8 {
    let arguments = match Arguments::try_parse_from(arguments) {
        Ok(arguments) => arguments,
        Err(error) => {
            // Help and version are results: clap prints them to standard output and gives exit code 0.
            let _ = error.print();
            return u8::try_from(error.exit_code()).unwrap_or(2);
        }
    };
    match carry_out(&arguments.command, &arguments.talk) {
        Ok(()) => 0,
        Err(failure) => {
            if !matches!(failure, Failure::Mistakes | Failure::Closed) {
                eprintln!("plyreel: {failure}");
            }
            failure.exit_code()
        }
    }
}

fn carry_out(command: &Command, talk: &Talk) -> Result<(), Failure> {
    if matches!(talk.format, Format::Markdown | Format::Html) && !matches!(command, Command::Prove(_)) {
        return Err(Failure::Usage("--format: `markdown` and `html` are forms of `plyreel prove` only".into()));
    }
    match command {
        Command::New(arguments) => new::run(arguments, talk),
        Command::Check(arguments) => check::run(arguments, talk),
        Command::Clip(arguments) => clip::run(arguments, talk),
        Command::Join(arguments) => join::run(arguments, talk),
        Command::Frames(arguments) => frames::run(arguments, talk),
        Command::Still(arguments) => still::run(arguments, talk),
        Command::Replay(arguments) => replay::run(arguments, talk),
        Command::Sync(arguments) => sync::run(arguments, talk),
        Command::Thumb(arguments) => thumb::run(arguments, talk),
        Command::Draft(arguments) => draft::run(arguments, talk),
        Command::Kit(arguments) => kit::run(arguments, talk),
        Command::Prove(arguments) => prove::run(arguments, talk),
        Command::Schema => report::print(&report::json_text(&crate::timeline::schema())),
        Command::Completions { shell } => completions(*shell),
    }
}

fn completions(shell: clap_complete::Shell) -> Result<(), Failure> {
    let mut script = Vec::new();
    clap_complete::generate(shell, &mut Arguments::command(), "plyreel", &mut script);
    report::print(&String::from_utf8_lossy(&script))
}
