//! A timeline written anew over the one its author wrote: read again before anything is touched, and what was there kept
//! beside it.

use super::args::Talk;
use super::failure::Failure;
use super::load::pgn_files;
use super::output::{Output, folder_of};
use super::{report, words};
use crate::diag::{Diagnostic, Severity};
use crate::film::Film;
use crate::source::Source;
use crate::{game, sync, timeline};
use std::fs;
use std::io::Write;
use std::path::{Component, Path, PathBuf};

/// Reads a text that is to take the place of a film's timeline. With a mistake in it that was not there before, nothing
/// is to be written. The files it names are looked for beside `old`, where they were found.
pub fn check(text: &str, old: &Source, talk: &Talk) -> Result<(), Failure> {
    let new = Source::new(old.path(), text);
    let found = mistakes(&new);
    if found.is_empty() || !mistakes(old).is_empty() {
        return Ok(());
    }
    report::say(talk, "note: nothing was written, for written anew the timeline would have these mistakes");
    words::tell(&found, &new, talk)
}

fn mistakes(source: &Source) -> Vec<Diagnostic> {
    let (timeline, mut found) = timeline::parse(source);
    let (game, of_game) = game::resolve(&timeline, &pgn_files(&timeline, folder_of(source.path())));
    found.extend(of_game);
    found.extend(Film::new(&timeline, &game, None).1);
    found.retain(|diagnostic| diagnostic.severity == Severity::Error);
    found
}

/// Writes `new` to `path`. Where that is the file the `old` text came from, it is kept under a name beside it; and where
/// nothing has changed, nothing is written.
pub fn write(path: &Path, from: &Path, old: &str, new: &str) -> Result<(), Failure> {
    if is_same_file(path, from) && path != Path::new("-") {
        if old == new {
            return Ok(());
        }
        put(&free_name(path), old)?;
    }
    put(path, new)
}

fn put(path: &Path, text: &str) -> Result<(), Failure> {
    let mut output = Output::create(path)?;
    output.write_all(text.as_bytes()).map_err(|error| Failure::write(path, error))?;
    output.keep()
}

/// Whether two names are those of one file.
pub fn is_same_file(one: &Path, other: &Path) -> bool {
    let whole = |path: &Path| fs::canonicalize(path).ok();
    one == other || whole(one).is_some_and(|one| whole(other) == Some(one))
}

/// `film.toml.bak`, or with the first number that is free.
fn free_name(path: &Path) -> PathBuf {
    let name = path.file_name().unwrap_or_default().to_string_lossy().into_owned();
    let numbered = |number: u32| match number {
        1 => path.with_file_name(format!("{name}.bak")),
        more => path.with_file_name(format!("{name}.bak{more}")),
    };
    (1..=u32::MAX).map(numbered).find(|path| !path.exists()).unwrap_or_else(|| numbered(1))
}

/// A timeline's text with another recording named, as seen from where the timeline will be.
pub fn with_narration(text: &str, narration: &Path, place: &Path, talk: &Talk) -> String {
    sync::with_narration(text, &beside(narration, place)).unwrap_or_else(|| {
        report::say(talk, "note: the timeline has no place to name the new recording in");
        text.to_owned()
    })
}

/// A file's path as seen from the folder of the timeline at `place`.
pub fn beside(path: &Path, place: &Path) -> String {
    let folder = if place == Path::new("-") { Path::new(".") } else { folder_of(place) };
    let whole = |path: &Path| fs::canonicalize(path).unwrap_or_else(|_| path.to_owned());
    let (path_whole, folder_whole) = (whole(path), whole(folder));
    let mut ours = path_whole.components().peekable();
    let mut theirs = folder_whole.components().peekable();
    while ours.peek().is_some() && ours.peek() == theirs.peek() {
        ours.next();
        theirs.next();
    }
    let up = theirs.map(|_| Component::ParentDir);
    up.chain(ours).collect::<PathBuf>().to_string_lossy().into_owned()
}
