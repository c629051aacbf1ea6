//! New times written where the old ones stood; nothing else of the text is touched.

use super::moment::Moment;
use super::place::Placed;
use super::{Shift, Synced};
use crate::source::{Source, Span};
use crate::timeline::Timeline;
use crate::units::Time;
use std::time::Duration;
use toml_edit::Document;

/// A time that moves by less than this stays as it was written.
const LEAST: Duration = Duration::from_millis(10);

/// The text with the moments' new times, and what became of each.
pub(super) fn edited(source: &Source, moments: &[Moment], placed: &[Placed]) -> Synced {
    let text = source.text();
    let mut edits: Vec<(Span, String)> = Vec::new();
    let mut shifts = Vec::with_capacity(moments.len());
    for (moment, place) in moments.iter().zip(placed) {
        let apart = place.time.since(moment.time).max(moment.time.since(place.time));
        let to = if apart < LEAST { moment.time } else { place.time };
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

/// The text with another recording named in `[film]`; `None` if there is no table it could be put into.
pub fn with_narration(text: &str, timeline: &Timeline, path: &str) -> Option<String> {
    let value = toml_edit::Value::from(path).to_string();
    let value = value.trim();
    if let Some(narration) = &timeline.film.narration {
        let quotes = |side: &str| side.len() - side.trim_end_matches(['"', '\'']).len();
        let before = quotes(&text[..narration.span.start]);
        let span = Span::new(narration.span.start - before, narration.span.end + before);
        return Some(spliced(text, vec![(span, value.to_owned())]));
    }
    let document = Document::parse(text).ok()?;
    let header = document.as_table().get("film")?.span()?;
    let newline = if text.contains("\r\n") { "\r\n" } else { "\n" };
    // Behind the line with the header.
    let line = text[header.start..].find('\n').map_or(text.len(), |end| header.start + end + 1);
    let (head, tail) = text.split_at(line);
    let joint = if head.ends_with('\n') { "" } else { newline };
    Some(format!("{head}{joint}narration = {value}{newline}{tail}"))
}
