//! New times written where the old ones stood; nothing else of the text is touched.

use super::moment::{Kind, Moment};
use super::place::Placed;
use super::{Shift, Synced};
use crate::source::{Source, Span};
use crate::timeline;
use crate::units::Time;
use std::time::Duration;
use toml_edit::{Document, Table};

/// A time that moves by less than this stays as it was written.
const LEAST: Duration = Duration::from_millis(10);

/// The text with the moments' new times, and what became of each.
pub(super) fn edited(source: &Source, moments: &[Moment], placed: &[Placed]) -> Synced {
    let text = source.text();
    let mut edits: Vec<(Span, String)> = Vec::new();
    let mut shifts = Vec::with_capacity(moments.len());
    let mut floor = Time::ZERO;
    for (number, (moment, place)) in moments.iter().zip(placed).enumerate() {
        let apart = place.time.since(moment.time).max(moment.time.since(place.time));
        let is_ordered = |moment: &Moment| matches!(moment.kind, Kind::Scene | Kind::Cue);
        // What stays must not stay later than what follows it allows, nor earlier than what is before it.
        let fits = !is_ordered(moment) || {
            let after = moments.iter().zip(placed).skip(number + 1).find(|(next, _)| is_ordered(next));
            moment.time >= floor && after.is_none_or(|(_, next)| moment.time + moment.room <= next.time)
        };
        let to = if apart < LEAST && fits { moment.time } else { place.time };
        if is_ordered(moment) {
            floor = to + moment.room;
        }
        if to != moment.time {
            edits.push((moment.span, clock(to, text, moment.span)));
        }
        if let (Some(every), Some((_, span))) = (place.every, moment.every) {
            edits.push((span, length(every, text, span)));
        }
        shifts.push(Shift { span: moment.span, what: moment.what.clone(), from: moment.time, to, found: place.found });
    }
    Synced { text: spliced(text, edits), shifts }
}

/// The text with other pieces at these places.
fn spliced(text: &str, mut edits: Vec<(Span, String)>) -> String {
    edits.sort_by_key(|(span, _)| *span);
    let mut out = String::with_capacity(text.len() + 64);
    let mut at = 0;
    for (span, new) in edits {
        out.push_str(&text[at..span.start]);
        out.push_str(&new);
        at = span.end;
    }
    out.push_str(&text[at..]);
    out
}

/// Whether a value stands between quotes, so that any form will do.
fn is_quoted(text: &str, span: Span) -> bool {
    text[..span.start].ends_with(['"', '\''])
}

/// A time in the form that was there: a clock, or seconds; decimals as many as it needs.
fn clock(time: Time, text: &str, span: Span) -> String {
    let was = &text[span.start..span.end];
    if is_quoted(text, span) && was.contains(':') {
        return shortened(&time.to_string());
    }
    let millis = time.as_micros() / 1000;
    shortened(&format!("{}.{:03}", millis / 1000, millis % 1000))
}

/// A length in the form that was there: `1.1s`, `800ms`, seconds.
fn length(length: Duration, text: &str, span: Span) -> String {
    let was = &text[span.start..span.end];
    let millis = length.as_millis();
    if was.ends_with("ms") {
        return format!("{millis}ms");
    }
    let seconds = shortened(&format!("{}.{:03}", millis / 1000, millis % 1000));
    if was.ends_with('s') { format!("{seconds}s") } else { seconds }
}

/// Without zeros at the end, but with one decimal.
fn shortened(number: &str) -> String {
    let (whole, decimals) = number.split_once('.').unwrap_or((number, "0"));
    let decimals = decimals.trim_end_matches('0');
    format!("{whole}.{}", if decimals.is_empty() { "0" } else { decimals })
}

/// The text with another recording named in `[film]`, which is written if there is none; `None` if there is no telling
/// where.
pub fn with_narration(text: &str, path: &str) -> Option<String> {
    let value = toml_edit::Value::from(path).to_string();
    let value = value.trim();
    let new = with_value(text, value)?;
    // However `[film]` is written, the new text must say the recording's name and nothing else that is new.
    let read = |text: &str| timeline::parse(&Source::new("", text));
    let ((mut before, told_before), (mut after, told_after)) = (read(text), read(&new));
    let is_named = after.film.narration.take().is_some_and(|narration| narration.value == path);
    before.film.narration = None;
    (is_named && before == after && told_before.len() == told_after.len()).then_some(new)
}

fn with_value(text: &str, value: &str) -> Option<String> {
    let newline = if text.contains("\r\n") { "\r\n" } else { "\n" };
    let put = |at: usize, new: String| Some(spliced(text, vec![(Span::new(at, at), new)]));
    let document = Document::parse(text).ok()?;
    let root = document.as_table();
    let film = root.get("film");
    if let Some(narration) = film.and_then(|film| film.get("narration")) {
        let span = narration.span()?;
        return Some(spliced(text, vec![(Span::new(span.start, span.end), value.to_owned())]));
    }
    if let Some(inline) = film.and_then(|film| film.as_inline_table()) {
        let joint = if inline.is_empty() { " " } else { "," };
        return put(inline.span()?.start + 1, format!(" narration = {value}{joint}"));
    }
    let film = film.and_then(|film| film.as_table());
    // `[film]`: behind the line with the header.
    if let Some(header) = film.filter(|film| !film.is_dotted() && !film.is_implicit()).and_then(Table::span) {
        let line = text[header.start..].find('\n').map_or(text.len(), |end| header.start + end + 1);
        let joint = if text[..line].ends_with('\n') { "" } else { newline };
        return put(line, format!("{joint}narration = {value}{newline}"));
    }
    // `film.title = …`: another such line before the first.
    if film.is_some_and(Table::is_dotted) {
        let first = root.key("film").and_then(toml_edit::Key::span)?;
        return put(first.start, format!("film.narration = {value}{newline}"));
    }
    // None of it, or only `[film.…]`: a table of its own before the first there is.
    let lines = text.split_inclusive('\n').scan(0, |at, line| {
        let start = *at;
        *at += line.len();
        Some((start, line))
    });
    let at = lines.filter(|(_, line)| line.starts_with('[')).map(|(start, _)| start).next().unwrap_or(text.len());
    let joint = if at == 0 || text[..at].ends_with('\n') { "" } else { newline };
    put(at, format!("{joint}[film]{newline}narration = {value}{newline}{newline}"))
}
