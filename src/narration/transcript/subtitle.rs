//! Subtitle files, SRT (no standard; the form Matroska's codec mapping describes) and WebVTT (W3C), read tolerantly:
//! whatever is to be understood is.
//!
//! What is looked for are lines with two times and an arrow. All else is told by where it stands: a number or name above
//! such a line is the cue's name, what stands under it is its text.

use super::clock::clock;
use super::payload;
use super::piece::Piece;
use super::remarks::Remarks;
use crate::source::Span;
use crate::units::Time;

/// The arrows that have been seen between two times.
const ARROWS: [&str; 7] = ["-->", "-- >", "--&gt;", "\u{2013}>", "\u{2014}>", "\u{2192}", "->"];

/// A line of the file and where it begins.
struct Line<'a> {
    text: &'a str,
    at: usize,
}

/// A cue in the making.
struct Cue<'a> {
    start: Time,
    end: Time,
    /// Its text, and behind the first empty line what may be its text or may belong to what follows.
    text: Vec<&'a str>,
    behind: Vec<&'a str>,
    closed: bool,
}

/// Whether any line has two times and an arrow.
pub(super) fn looks_like(text: &str) -> bool {
    lines(text).any(|line| matches!(timing(line.text), Timing::Times(..)))
}

/// Reads the cues of a file.
pub(super) fn read(text: &str, remarks: &mut Remarks) -> Vec<Piece> {
    let web = text.trim_start_matches('\u{feff}').starts_with("WEBVTT");
    let mut cues: Vec<Cue> = Vec::new();
    // Above the first cue stands the head; a block that begins with one of these words is not said.
    let mut silent = web;
    for line in lines(text) {
        match timing(line.text) {
            Timing::Times(start, end, said) => {
                if let Some(cue) = cues.last_mut() {
                    close(cue, web);
                }
                silent = false;
                let text = if said.is_empty() { Vec::new() } else { vec![said] };
                cues.push(Cue { start, end, text, behind: Vec::new(), closed: false });
            }
            Timing::Unreadable => {
                let span = Span::new(line.at, line.at + line.text.len());
                remarks.skipped(span, "the times of a cue cannot be read", "not two times with `-->` between them");
                silent = true;
            }
            Timing::None => {
                // Live captions hold a place with a space, which only WebVTT means.
                let blank = if web { line.text.is_empty() } else { line.text.trim().is_empty() };
                let Some(cue) = cues.last_mut() else { continue };
                if blank {
                    (cue.closed, silent) = (true, false);
                } else if web && cue.closed && ["NOTE", "STYLE", "REGION"].iter().any(|word| is_head(line.text, word)) {
                    silent = true;
                } else if silent {
                } else if cue.closed {
                    cue.behind.push(line.text);
                } else {
                    cue.text.push(line.text);
                }
            }
        }
    }
    if let Some(cue) = cues.last_mut() {
        // Nothing follows, so what stands behind the last cue of an SRT file is its own.
        let behind = std::mem::take(&mut cue.behind);
        if !web {
            cue.text.extend(behind);
        }
    }
    unrolled(cues)
}

fn lines(text: &str) -> impl Iterator<Item = Line<'_>> {
    let mut rest = text;
    std::iter::from_fn(move || {
        if rest.is_empty() {
            return None;
        }
        let at = text.len() - rest.len();
        let end = rest.find(['\n', '\r']).unwrap_or(rest.len());
        let line = &rest[..end];
        let after = &rest[end..];
        rest = after.strip_prefix("\r\n").or_else(|| after.get(1..)).unwrap_or_default();
        Some(Line { text: line, at })
    })
}

/// The last lines before a new cue are its name, if they look like one; the others are the old cue's.
fn close(cue: &mut Cue, web: bool) {
    let behind = std::mem::take(&mut cue.behind);
    let numbered = |line: &&str| line.trim().bytes().all(|byte| byte.is_ascii_digit());
    if cue.closed {
        // In WebVTT a block that holds no times is no text. SRT has no such rule, and texts with empty lines in them.
        let name = behind.last().is_some_and(numbered);
        if !web {
            let kept = behind.len() - usize::from(name);
            cue.text.extend(&behind[..kept]);
        }
    } else if cue.text.len() > 1 && cue.text.last().is_some_and(numbered) {
        // No empty line between two cues.
        cue.text.pop();
    }
}

/// Whether a block of WebVTT begins with this word.
fn is_head(line: &str, word: &str) -> bool {
    line.strip_prefix(word).is_some_and(|rest| rest.is_empty() || rest.starts_with([' ', '\t', ':']))
}

/// Cues → pieces. Live captions roll: each cue shows the line before once more, without times between its words, above
/// the line that is new. What is shown once more is said once.
fn unrolled(cues: Vec<Cue>) -> Vec<Piece> {
    let rolls = cues.iter().any(|cue| cue.text.iter().any(|line| payload::has_times(line)));
    let mut before: Vec<String> = Vec::new();
    let mut pieces = Vec::with_capacity(cues.len());
    for Cue { start, end, text, .. } in cues {
        let plain =
            |line: &str| payload::words(&[line]).into_iter().map(|token| token.text).collect::<Vec<_>>().join(" ");
        let mut new: Vec<&str> = text;
        if rolls {
            let shown: Vec<String> = new.iter().map(|line| plain(line)).collect();
            new.retain(|line| payload::has_times(line) || !before.contains(&plain(line)));
            before = shown;
        }
        pieces.push(Piece { start: Some(start), end: Some(end), tokens: payload::words(&new) });
    }
    pieces
}

enum Timing<'a> {
    /// Two times, and what is said on the same line, as some recognisers print it: `[0:01.0 --> 0:02.0] text`.
    Times(Time, Time, &'a str),
    /// An arrow of the standard form, but no two times.
    Unreadable,
    None,
}

fn timing(line: &str) -> Timing<'_> {
    for arrow in ARROWS {
        let Some((left, right)) = line.split_once(arrow) else { continue };
        let brackets = left.trim_start_matches(['\u{feff}', ' ', '\t']).starts_with('[');
        let (right, said) = match right.split_once(']') {
            Some((right, said)) if brackets => (right, said.trim()),
            _ => (right, ""),
        };
        let start = closed_up(left).split_whitespace().last().and_then(|text| clock(text.trim_start_matches('[')));
        let end = closed_up(right).split_whitespace().next().and_then(clock);
        return match (start, end) {
            (Some(start), Some(end)) => Timing::Times(start, end, said),
            _ if arrow == "-->" => Timing::Unreadable,
            _ => continue,
        };
    }
    Timing::None
}

/// A clock whose signs were parted by spaces, put together again: `00: 01: 02, 500`.
fn closed_up(text: &str) -> String {
    let mut closed = String::with_capacity(text.len());
    let mut spaces = 0;
    for c in text.trim_start_matches('\u{feff}').chars() {
        if c.is_whitespace() {
            spaces += 1;
            continue;
        }
        let joins = |c: char| matches!(c, ':' | ',' | '.');
        // A setting such as `line:0` or `X1:100` is no part of the clock: only digits are joined to.
        if spaces > 0 && !(joins(c) || c.is_ascii_digit() && closed.ends_with(joins)) {
            closed.push(' ');
        }
        spaces = 0;
        closed.push(c);
    }
    closed
}
