//! What is printed, and where: results on standard output, talk on standard error.

use super::args::{Format, Talk};
use super::failure::Failure;
use super::load::Loaded;
use crate::diag::{self, Diagnostic};
use crate::game::Ply;
use crate::proof::Verdict;
use crate::source::Source;
use crate::timeline::LineKind;
use crate::units::Time;
use serde_json::{Value, json};
use std::fmt::Write as _;
use std::io::{self, IsTerminal, Write};
use std::path::Path;

/// Whether standard error may be coloured: a terminal, and neither `NO_COLOR` nor `TERM=dumb` says no.
pub fn colour_on(stream_is_terminal: bool) -> bool {
    let set = |name: &str| std::env::var_os(name).is_some_and(|value| !value.is_empty());
    stream_is_terminal && !set("NO_COLOR") && std::env::var_os("TERM").is_none_or(|term| term != "dumb")
}

/// Writes to standard output; a closed pipe ends the program quietly.
pub fn print(text: &str) -> Result<(), Failure> {
    let mut out = io::stdout().lock();
    out.write_all(text.as_bytes()).and_then(|()| out.flush()).map_err(|error| Failure::write(Path::new("-"), error))
}

/// Says a line on standard error, unless told to be quiet.
pub fn say(talk: &Talk, line: &str) {
    if !talk.quiet {
        // Nothing sensible can be done when standard error is closed.
        let _ = writeln!(io::stderr().lock(), "{line}");
    }
}

/// The diagnostics as text in the chosen form; empty for JSON, which goes into one object.
pub fn diagnostics_text(talk: &Talk, diagnostics: &[Diagnostic], source: &Source, colour: bool) -> String {
    let shown: Vec<Diagnostic> = diagnostics
        .iter()
        .filter(|diagnostic| !talk.quiet || diagnostic.severity == diag::Severity::Error)
        .cloned()
        .collect();
    if shown.is_empty() {
        return String::new();
    }
    match talk.format {
        // A report that is a page has its talk on a terminal all the same.
        Format::Human | Format::Markdown | Format::Html => diag::human::render(&shown, source, colour),
        Format::Short => diag::short::render(&shown, source),
        Format::Json => String::new(),
    }
}

/// Tells what is wrong before something is made: on standard error, or, when mistakes end the command in JSON form,
/// as the object on standard output.
pub fn before_making(talk: &Talk, loaded: &Loaded) -> Result<(), Failure> {
    before_making_all(talk, std::slice::from_ref(loaded))
}

/// The same for several films: all are told, and mistakes in one of them end the command.
pub fn before_making_all(talk: &Talk, films: &[Loaded]) -> Result<(), Failure> {
    let colour = colour_on(io::stderr().is_terminal());
    for loaded in films {
        let text = diagnostics_text(talk, &loaded.diagnostics, &loaded.source, colour);
        let _ = io::stderr().lock().write_all(text.as_bytes());
    }
    if !films.iter().any(Loaded::has_mistakes) {
        return Ok(());
    }
    if talk.format == Format::Json {
        print(&json_text(&films_json(films.iter().map(film_json).collect())))?;
    }
    Err(Failure::Mistakes)
}

/// One film's object; several are put into one as `films`.
pub fn films_json(mut films: Vec<Value>) -> Value {
    if films.len() == 1 { films.remove(0) } else { json!({ "films": films }) }
}

/// One object, as text.
pub fn json_text(value: &Value) -> String {
    let mut text = serde_json::to_string_pretty(value).unwrap_or_default();
    text.push('\n');
    text
}

/// The whole report as one object.
pub fn film_json(loaded: &Loaded) -> Value {
    let claims: Vec<Value> = loaded.findings.iter().map(|finding| claim_json(loaded, finding)).collect();
    let film = &loaded.film;
    json!({
        "diagnostics": diag::json::values(&loaded.diagnostics, &loaded.source),
        "claims": claims,
        "film": {
            "frames": film.frames(),
            "fps": film.rate().to_string(),
            "seconds": film.length().as_secs_f64(),
            "width": film.look().size.width,
            "height": film.look().size.height,
            "scenes": film.chapters().iter().map(|chapter| json!({
                "name": chapter.name,
                "start": chapter.start.as_secs_f64(),
                "end": chapter.end.as_secs_f64(),
            })).collect::<Vec<_>>(),
        },
    })
}

fn claim_json(loaded: &Loaded, finding: &crate::proof::Finding) -> Value {
    let (line, column) = loaded.source.line_column(finding.span.start);
    let node = match &loaded.game.scenes[finding.scene].body {
        crate::game::Body::Board(board) => board.nodes.get(finding.made.0),
        crate::game::Body::Card(_) => None,
    };
    let played = node.and_then(|node| node.came.as_ref()).map(|(_, ply)| ply);
    json!({
        "scene": loaded.game.scenes[finding.scene].name,
        "line": node.map(|node| line_word(node.line)),
        "move": played.map(Ply::numbered),
        "claim": finding.claim,
        "verdict": finding.verdict.word(),
        "witness": finding.witness,
        "at": { "line": line, "column": column },
    })
}

fn line_word(line: LineKind) -> &'static str {
    match line {
        LineKind::Solution => "solution",
        LineKind::Try => "try",
        LineKind::Replay => "replay",
    }
}

/// A few lines about a film that can be made.
pub fn summary(loaded: &Loaded) -> String {
    let film = &loaded.film;
    let size = film.look().size;
    let count = |verdict| loaded.findings.iter().filter(|finding| finding.verdict == verdict).count();
    let scenes = film.chapters().len();
    let mut text = format!(
        "{} of film: {} frames at {} a second, {}x{}, {scenes} scene{}\n",
        Time::ZERO + film.length(),
        film.frames(),
        film.rate(),
        size.width,
        size.height,
        if scenes == 1 { "" } else { "s" },
    );
    if !loaded.findings.is_empty() {
        let (proven, refuted, open) = (count(Verdict::Proven), count(Verdict::Refuted), count(Verdict::Open));
        let _ = writeln!(text, "claims: {proven} proven, {refuted} refuted, {open} open");
    }
    text
}
