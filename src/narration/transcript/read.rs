//! The text of a transcript, of whatever form → [`Transcript`].

use super::json_text::NoJson;
use super::piece::assemble;
use super::remarks::Remarks;
use super::{Transcript, json, json_text, plain, subtitle};
use crate::diag::Diagnostic;
use crate::source::{Source, Span};
use std::sync::Arc;

/// Bytes → text. UTF-8 with or without byte order mark, UTF-16 with one; anything else is taken for ISO 8859-1, in which
/// every byte is a letter.
pub fn decode(bytes: &[u8]) -> String {
    let wide = |rest: &[u8], unit: fn([u8; 2]) -> u16| {
        String::from_utf16_lossy(&rest.chunks_exact(2).map(|pair| unit([pair[0], pair[1]])).collect::<Vec<_>>())
    };
    match bytes {
        [0xff, 0xfe, rest @ ..] => wide(rest, u16::from_le_bytes),
        [0xfe, 0xff, rest @ ..] => wide(rest, u16::from_be_bytes),
        _ => match std::str::from_utf8(bytes) {
            Ok(text) => text.to_owned(),
            Err(_) => bytes.iter().copied().map(char::from).collect(),
        },
    }
}

/// Reads a transcript: SRT, WebVTT, JSON with timed segments or words, or bare text with `[m:ss]` stamps. The form is
/// told by the text itself.
///
/// All that can be understood is; what is left out is a warning at its place, and a text without a single timed word is
/// an error. The diagnostics carry the transcript as their source.
pub fn read(source: &Source) -> (Transcript, Vec<Diagnostic>) {
    let text = source.text();
    let mut remarks = Remarks::default();
    let pieces = if looks_like_json(text) {
        let (values, broken) = json_text::parse(text);
        let pieces = json::read(&values, &mut remarks);
        if let Some(NoJson { at, fact }) = broken {
            let end = text[at..].chars().next().map_or(at, |c| at + c.len_utf8());
            if pieces.is_empty() {
                let hint = "complete JSON; SRT, WebVTT and text with `[m:ss]` stamps are read too";
                remarks.refused(Span::new(at, end), "the transcript begins as JSON and is none", fact, hint);
            } else {
                remarks.skipped(Span::new(at, end), "the transcript is cut short or damaged from here on", fact);
            }
        }
        pieces
    } else if text.trim_start_matches('\u{feff}').starts_with("WEBVTT") || subtitle::looks_like(text) {
        subtitle::read(text, &mut remarks)
    } else {
        plain::read(text)
    };
    let transcript = assemble(pieces);
    if transcript.words.is_empty() && !remarks.has_refused() {
        let (headline, fact) = if text.trim().is_empty() {
            ("the transcript is empty", "nothing is here")
        } else {
            ("the transcript has no word with a time", "no time is found in this text")
        };
        let hint = "SRT, WebVTT, JSON with timed segments or words, or text with `[m:ss]` stamps";
        remarks.refused(first_line(text), headline, fact, hint);
    }
    let own = Arc::new(source.clone());
    let told = remarks.into_diagnostics().into_iter().map(|diagnostic| diagnostic.in_source(Arc::clone(&own)));
    (transcript, told.collect())
}

/// A bracket and then what JSON may have there: `[0:05]` is a stamp.
fn looks_like_json(text: &str) -> bool {
    let mut signs = text.chars().filter(|c| !c.is_whitespace() && *c != '\u{feff}');
    match signs.next() {
        Some('{') => matches!(signs.next(), None | Some('"' | '}')),
        Some('[') => matches!(signs.next(), None | Some('{' | '[' | '"' | ']')),
        _ => false,
    }
}

/// The first line that says something.
fn first_line(text: &str) -> Span {
    let start = text.len() - text.trim_start_matches(|c: char| c.is_whitespace() || c == '\u{feff}').len();
    let end = text[start..].find(['\n', '\r']).map_or(text.len(), |length| start + length);
    Span::new(start, end)
}
