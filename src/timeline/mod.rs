//! Text → [`Timeline`]: syntax and spans; knows no chess.
//!
//! Comes in: the text of a timeline file ([`Source`]). Goes out: a [`Timeline`] as far as it could be read, and
//! every mistake found. Must not know: the rules of chess, the file system, anything drawn.
//!
//! The file is TOML 1.1. Every key stands in one table (`keys`), from which the reader, its messages and the JSON
//! Schema are made. Squares are checked here, as they are a matter of spelling; moves and claims stay words.

mod colours;
mod cue;
mod film;
mod forms;
mod keys;
mod model;
mod names;
mod order;
mod print;
mod reader;
mod scene;
mod schema;
mod settings;
mod shown;
mod syntax;
mod text;
mod words;

pub use colours::{Colour, OwnColours, OwnTheme, Rgb, ThemeSetting};
pub use forms::{FormError, at, frame_rate, length, time};
pub use model::{
    Arrow, At, Back, CardKind, Cue, Ghost, LineKind, Mark, MarkRole, Replay, Scene, SceneBody, Thumbnail,
    ThumbnailDesign, Timeline,
};
pub use print::{print, print_cue};
pub use schema::schema;
pub use settings::{CaptionProfile, CardWords, FilmSettings, FrameShape, Layout, Motion, Notation, ThemeName};
#[cfg(test)]
pub(crate) use words::words_of;

use crate::diag::Diagnostic;
use crate::source::{Source, Span};
use reader::Reader;
use std::sync::Arc;
use syntax::Document;
use toml::de::DeTable;

/// Reads a timeline. The value holds all that could be understood, so that later rooms can look for more mistakes.
///
/// The mistakes come sorted by their place.
pub fn parse(source: &Source) -> (Timeline, Vec<Diagnostic>) {
    let Document { root, broken, diagnostics } = syntax::read(source.text());
    let mut reader = Reader::new(source.text(), &broken);
    let timeline = timeline(&mut reader, &root);
    order::check(&mut reader, &timeline);
    names::check(&mut reader, &timeline);
    (timeline, sorted(diagnostics, reader.diagnostics))
}

/// Reads a style file: a series' own defaults for `[film]`, to be put under a film's own settings with
/// [`FilmSettings::or`]. The diagnostics carry the style file as their source.
pub fn parse_style(source: &Source) -> (FilmSettings, Vec<Diagnostic>) {
    let Document { root, broken, diagnostics } = syntax::read(source.text());
    let mut reader = Reader::new(source.text(), &broken);
    let mut file = reader.open(&keys::STYLE, &root, end_of(source.text()));
    let entry = file.take("film");
    let settings = reader.table(entry).map(|fields| film::style_settings(&mut reader, fields)).unwrap_or_default();
    file.close();
    let own = Arc::new(source.clone());
    let diagnostics = sorted(diagnostics, reader.diagnostics);
    (settings, diagnostics.into_iter().map(|diagnostic| diagnostic.in_source(Arc::clone(&own))).collect())
}

/// Reads a theme file: a base and the colours laid over it. The diagnostics carry the file as their source.
pub fn parse_theme(source: &Source) -> (OwnTheme, Vec<Diagnostic>) {
    let Document { root, broken, diagnostics } = syntax::read(source.text());
    let mut reader = Reader::new(source.text(), &broken);
    let fields = reader.open(&colours::THEME, &root, end_of(source.text()));
    let theme = colours::own_theme(&mut reader, fields);
    let own = Arc::new(source.clone());
    let diagnostics = sorted(diagnostics, reader.diagnostics);
    (theme, diagnostics.into_iter().map(|diagnostic| diagnostic.in_source(Arc::clone(&own))).collect())
}

fn timeline<'a>(reader: &mut Reader<'a>, root: &'a DeTable<'a>) -> Timeline {
    let mut file = reader.open(&keys::FILE, root, end_of(reader.source()));
    let film = file.take("film");
    let film = reader.table(film).map(|fields| film::settings(reader, fields)).unwrap_or_default();
    let scenes = file.take("scene");
    let scenes = reader.tables(scenes).into_iter().map(|fields| scene::scene(reader, fields)).collect();
    let thumbnails = file.take("thumbnail");
    let thumbnails = reader.tables(thumbnails).into_iter().map(|fields| scene::thumbnail(reader, fields)).collect();
    file.close();
    Timeline { film, scenes, thumbnails }
}

/// The place of what a file lacks: after its last character that shows.
fn end_of(text: &str) -> Span {
    let end = text.trim_end().len();
    Span::new(end, end)
}

fn sorted(first: Vec<Diagnostic>, second: Vec<Diagnostic>) -> Vec<Diagnostic> {
    let mut all: Vec<Diagnostic> = first.into_iter().chain(second).collect();
    all.sort_by_key(|diagnostic| diagnostic.primary.span);
    all
}

#[cfg(test)]
mod laws;
#[cfg(test)]
mod tests;
