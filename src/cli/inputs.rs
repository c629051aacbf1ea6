//! The files a film is made of, none of which may be written over by what is made of them.

use super::failure::Failure;
use super::load::Loaded;
use super::output::folder_of;
use super::render::Order;
use super::rewrite::is_same_file;
use crate::source::Source;
use crate::timeline::{SceneBody, Timeline};
use std::path::{Path, PathBuf};

/// What a recording is to the film.
pub const NARRATION: &str = "the narration";

/// What a file is to the film, in the author's words, and its name in the timeline.
pub struct Input<'a> {
    /// For messages: `the narration`.
    pub what: &'static str,
    /// The name, as seen from the timeline's folder.
    pub name: &'a str,
}

/// The files and folders that a film's pictures and sound are made of, but for the timeline itself; `theme` is the file
/// of colours given beside it.
pub fn named<'a>(timeline: &'a Timeline, theme: Option<&'a str>) -> Vec<Input<'a>> {
    let film = &timeline.film;
    let settings = [
        (NARRATION, &film.narration),
        ("the style", &film.style),
        ("the pieces", &film.pieces),
        ("the fonts", &film.fonts),
        ("the tables", &film.syzygy),
    ];
    let mut inputs: Vec<Input> =
        settings.into_iter().filter_map(|(what, name)| Some(Input { what, name: &name.as_ref()?.value })).collect();
    inputs.extend(theme.map(|name| Input { what: "the theme", name }));
    inputs.extend(timeline.scenes.iter().filter_map(|scene| match &scene.body {
        SceneBody::Pgn { file, .. } => Some(Input { what: "the game file", name: &file.value }),
        _ => None,
    }));
    inputs
}

/// Refuses to write a film over what any of the films is made of.
pub fn spare_all(orders: &[Order]) -> Result<(), Failure> {
    orders.iter().try_for_each(|order| orders.iter().try_for_each(|other| spare(&order.path, other.loaded)))
}

/// Refuses to write to a file that this film is made of.
pub fn spare(path: &Path, loaded: &Loaded) -> Result<(), Failure> {
    spare_film(path, &loaded.source, &loaded.timeline, loaded.theme_file.as_deref())
}

/// The same of a film that is read only in part: its text, what it says, the file of colours given beside it.
pub fn spare_film(path: &Path, source: &Source, timeline: &Timeline, theme: Option<&str>) -> Result<(), Failure> {
    spare_file(path, "the timeline", source.path())?;
    let folder = folder_of(source.path());
    let description = timeline.film.description.as_ref();
    let description = description.map(|name| Input { what: "the description's template", name: &name.value });
    let mut inputs = named(timeline, theme).into_iter().chain(description);
    inputs.try_for_each(|input| spare_file(path, input.what, &folder.join(input.name)))
}

/// Refuses to write to a file that was given for the same work.
pub fn spare_given(path: &Path, given: &[(&str, Option<&PathBuf>)]) -> Result<(), Failure> {
    given
        .iter()
        .filter_map(|(what, input)| Some((what, (*input)?)))
        .try_for_each(|(what, input)| spare_file(path, what, input))
}

/// Refuses to write to a file that is read for the same work.
pub fn spare_file(path: &Path, what: &str, input: &Path) -> Result<(), Failure> {
    if path == Path::new("-") || !is_same_file(path, input) {
        return Ok(());
    }
    let plain = |path: &Path| path.strip_prefix(".").unwrap_or(path).display().to_string();
    let (path, input) = (plain(path), plain(input));
    let is = if path == input { String::new() } else { format!(", `{input}`") };
    Err(Failure::Usage(format!(
        "`{path}` is {what}{is}, and would be written over; nothing was written. Give another name with -o"
    )))
}
