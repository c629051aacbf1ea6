//! `plyreel sync`: a timeline brought into step with a new take of its narration.

use super::args::{Format, Talk};
use super::failure::Failure;
use super::inputs;
use super::load::{self, read_text};
use super::output::folder_of;
use super::{report, rewrite, words};
use crate::diag;
use crate::encode::EncodeError;
use crate::game;
use crate::narration::{Recording, Speech};
use crate::source::Source;
use crate::sync::{self, Found, Synced, Take};
use crate::timeline;
use clap::{Args, ValueHint};
use serde_json::json;
use std::fmt::Write as _;
use std::io::{self, Write};
use std::path::{Path, PathBuf};

#[derive(Args, Debug)]
pub struct Sync {
    /// The timeline; `-` reads standard input and needs -o
    #[arg(value_name = "FILE", value_hint = ValueHint::FilePath)]
    pub file: PathBuf,
    /// The new take's transcript: SRT, WebVTT, JSON with timed words or segments, or text with `[m:ss]` stamps
    #[arg(long, value_name = "WORDS", value_hint = ValueHint::FilePath)]
    pub words: PathBuf,
    /// The transcript of the take that the timeline was made for: the surest way to find every word again
    #[arg(long, value_name = "WORDS", value_hint = ValueHint::FilePath)]
    pub old_words: Option<PathBuf>,
    /// The new recording; the timeline names it from then on [default: the recording the timeline names]
    #[arg(long, value_name = "RECORDING", value_hint = ValueHint::FilePath)]
    pub narration: Option<PathBuf>,
    /// Where to write; `-` is standard output [default: FILE itself, and what it was is kept as FILE.bak]
    #[arg(short, long, value_name = "OUT", value_hint = ValueHint::FilePath)]
    pub output: Option<PathBuf>,
    /// Replace the timeline already at OUT
    #[arg(long)]
    pub force: bool,
    /// Only say what would change
    #[arg(long)]
    pub dry_run: bool,
    /// The language spoken, where moves have to be heard
    #[arg(long, value_name = "NAME", default_value = "en", value_parser = words::known())]
    pub language: String,
}

/// Reads the timeline and the transcripts, writes the timeline anew, and tells what moved.
pub fn run(arguments: &Sync, talk: &Talk) -> Result<(), Failure> {
    if arguments.file == Path::new("-") && arguments.output.is_none() && !arguments.dry_run {
        return Err(Failure::Usage("a timeline from standard input needs -o, a place to be written to".to_owned()));
    }
    let place = arguments.output.clone().unwrap_or_else(|| arguments.file.clone());
    if !arguments.dry_run && !arguments.force && !rewrite::is_same_file(&place, &arguments.file) && place.exists() {
        let text = "is already there and was left as it is; `--force` replaces it";
        return Err(Failure::Usage(format!("`{}` {text}", place.display())));
    }
    let (recording_given, old) = (arguments.narration.as_ref(), arguments.old_words.as_ref());
    let takes =
        [("the transcript", Some(&arguments.words)), ("the recording", recording_given), ("the old transcript", old)];
    inputs::spare_given(&place, &takes)?;
    let language = words::language(&arguments.language)?;
    let source = Source::new(&arguments.file, read_text(&arguments.file)?);
    let folder = folder_of(&arguments.file).to_owned();
    let (timeline, mut diagnostics) = timeline::parse(&source);
    if !rewrite::is_same_file(&place, &arguments.file) {
        inputs::spare_film(&place, &source, &timeline, None)?;
    }
    let (game, of_game) = game::resolve(&timeline, &load::pgn_files(&timeline, &folder));
    diagnostics.extend(of_game);
    diagnostics.retain(|diagnostic| diagnostic.severity == diag::Severity::Error);
    words::tell(&diagnostics, &source, talk)?;
    let words = words::read(&arguments.words, talk)?;
    let old_words = arguments.old_words.as_deref().map(|path| words::read(path, talk)).transpose()?;

    let named = timeline.film.narration.as_ref().map(|narration| folder.join(&narration.value));
    let recording = recording(arguments.narration.as_deref(), named.as_deref(), talk)?;
    let speech = recording.as_ref().map(Speech::heard).transpose().map_err(EncodeError::from)?;
    let words = speech.as_ref().map_or_else(|| words.clone(), |speech| words.refined(speech));
    let old_words = old_words.map(|old| {
        // The old recording tells where the old words lie, if it is another and still there.
        let other = named.filter(|named| arguments.narration.as_ref().is_some_and(|new| new != named));
        let heard = other.and_then(|path| Recording::open(&path).ok()).and_then(|old| Speech::heard(&old).ok());
        heard.map_or_else(|| old.clone(), |heard| old.refined(&heard))
    });
    let take = Take {
        words: &words,
        old_words: old_words.as_ref(),
        speech: speech.as_ref(),
        language: &language,
        length: recording.as_ref().map(Recording::length),
    };
    let synced = sync::sync(&source, &timeline, &game, &take);
    let text = match &arguments.narration {
        Some(path) => rewrite::with_narration(&synced.text, path, &place, talk),
        None => synced.text.clone(),
    };
    rewrite::check(&text, &source, talk)?;
    if arguments.dry_run {
        return report_on(&synced, &source, None, talk);
    }
    rewrite::write(&place, &arguments.file, source.text(), &text)?;
    report_on(&synced, &source, Some(&place), talk)
}

/// The new recording: the one given must be readable, the one named in the timeline may be gone.
fn recording(given: Option<&Path>, named: Option<&Path>, talk: &Talk) -> Result<Option<Recording>, Failure> {
    if let Some(path) = given {
        return Ok(Some(Recording::open(path).map_err(EncodeError::from)?));
    }
    let Some(path) = named else { return Ok(None) };
    match Recording::open(path) {
        Ok(recording) => Ok(Some(recording)),
        Err(error) => {
            report::say(talk, &format!("note: {error}; cues go to their words, not to the beginnings of speech"));
            Ok(None)
        }
    }
}

fn report_on(synced: &Synced, source: &Source, written: Option<&Path>, talk: &Talk) -> Result<(), Failure> {
    let line = |shift: &sync::Shift| source.line_column(shift.span.start).0;
    // What goes to standard output is the timeline, and nothing else.
    let is_piped = written == Some(Path::new("-"));
    if !is_piped && talk.format == Format::Json {
        let shifts: Vec<_> = synced
            .shifts
            .iter()
            .map(|shift| {
                let (line, column) = source.line_column(shift.span.start);
                json!({
                    "line": line,
                    "column": column,
                    "what": shift.what,
                    "from": shift.from.as_secs_f64(),
                    "to": shift.to.as_secs_f64(),
                    "found": word(shift.found),
                })
            })
            .collect();
        let path = written.map(|path| path.to_string_lossy());
        return report::print(&report::json_text(&json!({ "written": path, "shifts": shifts })));
    }
    let mut text = String::new();
    for shift in synced.shifts.iter().filter(|shift| talk.verbose || shift.found == Found::Lost) {
        let by = (shift.to.as_micros() - shift.from.as_micros()) as f64 / 1e6;
        let lost = if shift.found == Found::Lost { "not found: " } else { "" };
        let place = format!("{}:{}", source.path().display(), line(shift));
        let _ = writeln!(text, "{place}: {lost}`{}` {} -> {} ({by:+.2} s)", shift.what, shift.from, shift.to);
    }
    if !talk.quiet {
        text.push_str(&summary(synced));
    }
    let _ = io::stderr().lock().write_all(text.as_bytes());
    written.filter(|_| !is_piped).map_or(Ok(()), |path| report::print(&format!("{}\n", path.display())))
}

/// `31 times: 28 at their words, 2 by what is around them, 1 not found; moved by -0.42 to +3.10 s`
fn summary(synced: &Synced) -> String {
    let count = |found| synced.shifts.iter().filter(|shift| shift.found == found).count();
    let moved = synced.shifts.iter().map(|shift| (shift.to.as_micros() - shift.from.as_micros()) as f64 / 1e6);
    let (least, most) = moved.fold((0.0_f64, 0.0_f64), |(least, most), by| (least.min(by), most.max(by)));
    format!(
        "{} times: {} at their words, {} by what is around them, {} not found; moved by {least:+.2} to {most:+.2} s\n",
        synced.shifts.len(),
        count(Found::Word),
        count(Found::Between),
        count(Found::Lost),
    )
}

fn word(found: Found) -> &'static str {
    match found {
        Found::Word => "word",
        Found::Between => "between",
        Found::Lost => "lost",
    }
}
