//! `plyreel new`: a starter film.

use super::args::{New, Talk};
use super::failure::Failure;
use super::output::Output;
use super::report;
use std::fs;
use std::io::Write;

/// The commented timeline; its position and words are invented for it.
pub const STARTER: &str = include_str!("starter.toml");

/// Makes the folder and writes the starter into it, never over an existing film.
pub fn run(arguments: &New, talk: &Talk) -> Result<(), Failure> {
    let folder = &arguments.folder;
    let path = folder.join("film.toml");
    if path.exists() {
        return Err(Failure::Usage(format!("`{}` is already there and was left as it is", path.display())));
    }
    fs::create_dir_all(folder).map_err(|error| Failure::write(folder, error))?;
    let mut output = Output::create(&path)?;
    output.write_all(STARTER.as_bytes()).map_err(|error| Failure::write(&path, error))?;
    output.keep()?;
    report::say(talk, &format!("next: plyreel clip {}", path.display()));
    report::print(&format!("{}\n", path.display()))
}
