//! What is said, as `draft` and `sync` read it: the transcript, the language, and what is wrong with either.

use super::args::{Format, Talk};
use super::failure::Failure;
use super::load::read_text;
use super::report;
use crate::diag::{self, Diagnostic};
use crate::draft::Language;
use crate::narration::transcript::{self, Transcript};
use crate::source::Source;
use clap::builder::PossibleValuesParser;
use serde_json::json;
use std::fs;
use std::io::{self, IsTerminal, Write};
use std::path::Path;

/// The names of the languages, for the command line.
pub fn known() -> PossibleValuesParser {
    Language::names().collect::<Vec<_>>().into()
}

/// The language of this name.
pub fn language(name: &str) -> Result<Language, Failure> {
    Language::named(name).ok_or_else(|| {
        let known: Vec<&str> = Language::names().collect();
        Failure::Usage(format!("--language: no words are known of `{name}`; there are {}", known.join(", ")))
    })
}

/// A transcript, `-` being standard input, with what is wrong in it told.
pub fn read(path: &Path, talk: &Talk) -> Result<Transcript, Failure> {
    let text = if path == Path::new("-") {
        read_text(path)?
    } else {
        transcript::decode(&fs::read(path).map_err(|error| Failure::read(path, error))?)
    };
    let source = Source::new(path, text);
    let (transcript, found) = transcript::read(&source);
    tell(&found, &source, talk)?;
    Ok(transcript)
}

/// Prints diagnostics on standard error; mistakes end the command.
pub fn tell(found: &[Diagnostic], source: &Source, talk: &Talk) -> Result<(), Failure> {
    let colour = report::colour_on(io::stderr().is_terminal());
    // What cannot be told is no reason to stop.
    let _ = io::stderr().lock().write_all(report::diagnostics_text(talk, found, source, colour).as_bytes());
    if !diag::has_errors(found) {
        return Ok(());
    }
    if talk.format == Format::Json {
        report::print(&report::json_text(&json!({ "diagnostics": diag::json::values(found, source) })))?;
    }
    Err(Failure::Mistakes)
}
