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
    report::say(talk, &format!("next: plyreel clip {}", for_a_shell(&path.display().to_string())));
    report::print(&format!("{}\n", path.display()))
}

/// A word as a POSIX shell takes it for one: in quotes if it needs them (POSIX.1-2017, Shell Command Language §2.2.2).
fn for_a_shell(word: &str) -> String {
    let plain = |c: char| c.is_alphanumeric() || "/._-+,@%:=".contains(c);
    // What begins with a dash would be taken for an option.
    let word = if word.starts_with('-') { format!("./{word}") } else { word.to_owned() };
    if word.chars().all(plain) { word } else { format!("'{}'", word.replace('\'', r"'\''")) }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_to_be_typed_next_is_one_word() {
        for (path, typed) in [
            ("lantern-01/film.toml", "lantern-01/film.toml"),
            ("fünf/film.toml", "fünf/film.toml"),
            ("-x/film.toml", "./-x/film.toml"),
            ("my film/film.toml", "'my film/film.toml'"),
            ("keeper's/$1/film.toml", r"'keeper'\''s/$1/film.toml'"),
        ] {
            assert_eq!(for_a_shell(path), typed);
        }
    }
}
