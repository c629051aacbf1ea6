//! A timeline's name → everything known of its film: read, replayed, judged, put on the clock.

use super::failure::Failure;
use super::output::folder_of;
use super::proving::Proving;
use crate::diag::{Code, Diagnostic, Severity, has_errors};
use crate::film::Film;
use crate::game::{self, Game, PgnFiles};
use crate::narration::{NarrationError, Recording};
use crate::paint::{self, Poster};
use crate::proof::{self, Budget, Finding};
use crate::source::{Source, Span, Spanned};
use crate::thumbnail;
use crate::timeline::{self, FilmSettings, FrameShape, SceneBody, ThemeSetting, Timeline};
use crate::units::Time;
use std::fs;
use std::io::{self, Read};
use std::path::{Path, PathBuf};
use std::sync::Arc;

/// A film, as far as its timeline could be understood.
pub struct Loaded {
    /// The timeline's text.
    pub source: Source,
    /// What it says, the series' defaults and the command line's overrides filled in.
    pub timeline: Timeline,
    /// Its chess.
    pub game: Game,
    /// Its claims with their verdicts.
    pub findings: Vec<Finding>,
    /// What is on screen when.
    pub film: Film,
    /// The narration, if there is one and it can be read.
    pub recording: Option<Recording>,
    /// The thumbnails, ready to paint.
    pub posters: Vec<Poster>,
    /// The file its colours are in, as the timeline names it.
    pub theme_file: Option<String>,
    /// Every mistake and doubt.
    pub diagnostics: Vec<Diagnostic>,
}

impl Loaded {
    /// Whether anything stops the render.
    pub fn has_mistakes(&self) -> bool {
        has_errors(&self.diagnostics)
    }

    /// Looks for stretches that would flash, unless the film cannot be made anyway.
    pub fn look_for_flashes(&mut self) {
        if !self.has_mistakes() {
            self.diagnostics.extend(paint::flashes(&self.film));
        }
    }

    /// Turns every doubt into a mistake.
    pub fn be_strict(&mut self) {
        for diagnostic in self.diagnostics.iter_mut().filter(|found| found.severity == Severity::Warning) {
            diagnostic.severity = Severity::Error;
        }
    }
}

/// Reads and resolves the timeline at `path` (`-` is standard input), with `overrides` above what it says, and proves
/// its claims as asked for.
///
/// A draft has half the width and half the height. Only a timeline that cannot be read at all is a [`Failure`]; files
/// that it names are mistakes of the timeline.
pub fn load(path: &Path, overrides: &FilmSettings, draft: bool, proving: &Proving) -> Result<Loaded, Failure> {
    let source = Source::new(path, read_text(path)?);
    let folder = if path == Path::new("-") { PathBuf::from(".") } else { folder_of(path).to_owned() };

    let (mut timeline, mut diagnostics) = timeline::parse(&source);
    let (style, style_source) = style_settings(&timeline, &folder, &mut diagnostics);
    let colours_of_style = timeline.film.theme.is_none();
    diagnostics.extend(timeline.film.idle_height(&style));
    timeline.film = timeline.film.or(style);
    if let Some(idle) = overrides.idle_height(&timeline.film) {
        let hint = "leave it out, or name a shape with --frame: wide, tall, square";
        return Err(Failure::Usage(format!("--height: {} ({hint})", idle.message)));
    }
    timeline.film = timeline.film.overridden_by(overrides.clone());
    let colours_source = style_source.filter(|_| colours_of_style);
    let theme_file = own_theme(&mut timeline.film, &folder, colours_source, &mut diagnostics);
    if draft {
        halve(&mut timeline.film);
    }
    let files = pgn_files(&timeline, &folder);
    let (game, of_game) = game::resolve(&timeline, &files);
    diagnostics.extend(of_game);
    let budget = proving.budget(Budget::default(), &timeline.film, &folder, &mut diagnostics)?;
    let findings = proving.judge(&game, budget);
    diagnostics.extend(proof::diagnostics(&findings));
    diagnostics.extend(proving.tasks(&game, budget));
    let recording = open_narration(&timeline, &folder, &mut diagnostics);
    let (mut film, of_film) = Film::new(&timeline, &game, recording.as_ref().map(Recording::length));
    diagnostics.extend(of_film);
    let (pieces, fonts) =
        (own_pieces(&timeline, &folder, &mut diagnostics), own_fonts(&timeline, &folder, &mut diagnostics));
    film.wear(pieces, fonts);
    diagnostics.extend(paint::legibility(&film));
    let (posters, of_posters) = thumbnail::posters(&timeline, &film);
    diagnostics.extend(of_posters);
    template_is_there(&timeline, &folder, &mut diagnostics);
    Ok(Loaded { source, timeline, game, findings, film, recording, posters, theme_file, diagnostics })
}

/// Half the lines and columns, to the next even number.
fn halve(film: &mut FilmSettings) {
    let half = |pixels: u32| (pixels / 2).next_multiple_of(2);
    if let Some(Spanned { value: FrameShape::Free { width, height }, .. }) = &mut film.frame {
        (*width, *height) = (half(*width), half(*height));
    } else {
        let height = film.height.map_or(1080, |height| height.value);
        film.height = Some(Spanned::new(half(height), 0..0));
    }
}

pub(super) fn read_text(path: &Path) -> Result<String, Failure> {
    let read = || -> io::Result<String> {
        let bytes = if path == Path::new("-") {
            let mut bytes = Vec::new();
            io::stdin().lock().read_to_end(&mut bytes)?;
            bytes
        } else {
            fs::read(path)?
        };
        String::from_utf8(bytes).map_err(|error| io::Error::new(io::ErrorKind::InvalidData, not_utf8(error.as_bytes())))
    };
    read().map_err(|error| Failure::read(path, error))
}

/// Why bytes are no text in UTF-8, and how to make them one.
fn not_utf8(bytes: &[u8]) -> String {
    let what = if bytes.starts_with(b"\xFF\xFE") || bytes.starts_with(b"\xFE\xFF") || bytes.contains(&0) {
        "UTF-16, or no text at all".to_owned()
    } else {
        let valid = str::from_utf8(bytes).map_or_else(|error| error.valid_up_to(), str::len);
        let line = String::from_utf8_lossy(&bytes[..valid]).split('\n').count();
        format!("not UTF-8 from line {line} on")
    };
    format!("it is {what}; let the editor save it as UTF-8")
}

/// Reads the film's own colours if they are in a file, and holds them against the limits of contrast; the file, if they
/// are in one. `source` is the text their places point into, if that is not the timeline.
fn own_theme(
    film: &mut FilmSettings,
    folder: &Path,
    mut source: Option<Arc<Source>>,
    diagnostics: &mut Vec<Diagnostic>,
) -> Option<String> {
    let theme = film.theme.as_mut()?;
    let mut file = None;
    let mut whole = theme.span;
    if let ThemeSetting::File(name) = &theme.value {
        let path = folder.join(name);
        file = Some(name.clone());
        match read_text(&path) {
            Ok(text) => {
                let text = Arc::new(Source::new(&path, text));
                let (own, of_theme) = timeline::parse_theme(&text);
                diagnostics.extend(of_theme);
                theme.value = ThemeSetting::Own(own);
                (source, whole) = (Some(text), Span::default());
            }
            Err(failure) => diagnostics.push(unreadable(&Spanned::new(name.clone(), theme.span), &failure)),
        }
    }
    if let ThemeSetting::Own(own) = &theme.value {
        diagnostics.extend(paint::theme_faults(own, whole).into_iter().map(|fault| match &source {
            Some(source) => fault.in_source(Arc::clone(source)),
            None => fault,
        }));
    }
    file
}

/// The pieces of the film's own.
fn own_pieces(timeline: &Timeline, folder: &Path, diagnostics: &mut Vec<Diagnostic>) -> Option<u128> {
    let name = timeline.film.pieces.as_ref()?;
    let path = folder.join(&name.value);
    let text = read_text(&path).map_err(|failure| diagnostics.push(unreadable(name, &failure))).ok()?;
    match paint::learn_pieces(&text) {
        Ok(digest) => Some(digest),
        Err(error) => {
            let source = Source::new(&path, text);
            let start: usize =
                source.text().split_inclusive('\n').take(error.line.saturating_sub(1)).map(str::len).sum();
            let span = Span::new(start, start + source.line(error.line).len());
            diagnostics.push(
                Diagnostic::error(Code::BadValue, span, format!("the pieces `{}` cannot be read", name.value))
                    .label(error.what)
                    .in_source(Arc::new(source)),
            );
            None
        }
    }
}

/// The fonts of the film's own.
fn own_fonts(timeline: &Timeline, folder: &Path, diagnostics: &mut Vec<Diagnostic>) -> Option<u128> {
    let name = timeline.film.fonts.as_ref()?;
    let path = folder.join(&name.value);
    let files = || -> io::Result<Vec<(String, Vec<u8>)>> {
        let mut files = Vec::new();
        for entry in fs::read_dir(&path)? {
            let entry = entry?;
            let file = entry.file_name().to_string_lossy().into_owned();
            let stem = Path::new(&file).file_stem().unwrap_or_default().to_string_lossy().into_owned();
            if paint::font_names().contains(&stem.as_str()) {
                files.push((file, fs::read(entry.path())?));
            }
        }
        Ok(files)
    };
    let refused = |fact: String| {
        Diagnostic::error(Code::Media, name.span, format!("the fonts `{}` cannot be used", name.value))
            .label(fact)
            .hint(format!("a folder with TrueType or OpenType files named {}", paint::font_names().join(", ")))
    };
    match files() {
        Ok(files) => paint::learn_fonts(files).map_err(|error| diagnostics.push(refused(error.to_string()))).ok(),
        Err(error) => {
            diagnostics.push(refused(Failure::read(&path, error).to_string()));
            None
        }
    }
}

/// The series' defaults, if the timeline names a style file, and its text. Files it names are relative to itself.
fn style_settings(
    timeline: &Timeline,
    folder: &Path,
    diagnostics: &mut Vec<Diagnostic>,
) -> (FilmSettings, Option<Arc<Source>>) {
    let Some(name) = &timeline.film.style else { return (FilmSettings::default(), None) };
    let path = folder.join(&name.value);
    match read_text(&path) {
        Ok(text) => {
            let source = Source::new(&path, text);
            let (mut settings, of_style) = timeline::parse_style(&source);
            diagnostics.extend(of_style);
            let style = Path::new(&name.value);
            let beside = |name: &mut String| {
                style.parent().unwrap_or(style).join(&*name).to_string_lossy().as_ref().clone_into(name);
            };
            if let Some(Spanned { value: ThemeSetting::File(name), .. }) = &mut settings.theme {
                beside(name);
            }
            for name in [&mut settings.pieces, &mut settings.fonts, &mut settings.description].into_iter().flatten() {
                beside(&mut name.value);
            }
            (settings, Some(Arc::new(source)))
        }
        Err(failure) => {
            diagnostics.push(unreadable(name, &failure));
            (FilmSettings::default(), None)
        }
    }
}

/// The texts of the PGN files that the timeline names, once each.
pub(super) fn pgn_files(timeline: &Timeline, folder: &Path) -> PgnFiles {
    let mut files = PgnFiles::new();
    for scene in &timeline.scenes {
        if let SceneBody::Pgn { file, .. } = &scene.body {
            files.entry(file.value.clone()).or_insert_with(|| {
                let path = folder.join(&file.value);
                // PGN is ISO 8859-1 by the standard (1994, §4.1), UTF-8 in practice.
                let bytes = fs::read(&path).map_err(|error| Failure::read(&path, error).to_string())?;
                let text = String::from_utf8(bytes)
                    .unwrap_or_else(|error| error.into_bytes().into_iter().map(char::from).collect());
                Ok(Arc::new(Source::new(path, text)))
            });
        }
    }
    files
}

/// Says so when the template of the description is not there. Only `kit` reads it, and that comes last of all: a doubt
/// here, a mistake there.
fn template_is_there(timeline: &Timeline, folder: &Path, diagnostics: &mut Vec<Diagnostic>) {
    let Some(name) = &timeline.film.description else { return };
    let path = folder.join(&name.value);
    if let Err(error) = fs::metadata(&path) {
        let doubt = no_template(name, &Failure::read(&path, error));
        diagnostics.push(Diagnostic { severity: Severity::Warning, ..doubt });
    }
}

/// That the template of the description cannot be read.
pub(super) fn no_template(name: &Spanned<String>, failure: &Failure) -> Diagnostic {
    let message = format!("the description's template `{}` cannot be used", name.value);
    let error = Diagnostic::error(Code::Media, name.span, message).label(failure.to_string());
    let is_missing = matches!(failure, Failure::Read { source, .. } if source.kind() == io::ErrorKind::NotFound);
    if is_missing { error.hint("the path is taken from the timeline's own folder") } else { error }
}

fn open_narration(timeline: &Timeline, folder: &Path, diagnostics: &mut Vec<Diagnostic>) -> Option<Recording> {
    let name = timeline.film.narration.as_ref()?;
    match Recording::open(&folder.join(&name.value)) {
        Ok(recording) => {
            if recording.is_cut_short() {
                let message = format!("the narration `{}` is not whole", name.value);
                let read = Time::ZERO + recording.length();
                diagnostics.push(
                    Diagnostic::warning(Code::Media, name.span, message)
                        .label(format!("{read} of it can be read, and there was once more: it is cut or damaged"))
                        .hint("copy or export it again"),
                );
            }
            Some(recording)
        }
        Err(error) => {
            let refused =
                Diagnostic::error(Code::Media, name.span, format!("the narration `{}` cannot be used", name.value));
            diagnostics.push(match error {
                NarrationError::Open { path, source } => unreadable(name, &Failure::read(&path, source)),
                NarrationError::Unsupported { .. } => {
                    refused.label(error.to_string()).hint("save it as WAV or FLAC, which lose nothing")
                }
                _ => refused.label(error.to_string()),
            });
            None
        }
    }
}

fn unreadable(name: &Spanned<String>, failure: &Failure) -> Diagnostic {
    Diagnostic::error(Code::Media, name.span, format!("the file `{}` cannot be used", name.value))
        .label(failure.to_string())
        .hint("the path is taken from the timeline's own folder")
}
