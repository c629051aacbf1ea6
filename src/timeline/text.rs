//! Strings of the file with the way back: which bytes of the source gave which bytes of the decoded text.
//!
//! TOML's escapes, its literal and its multi-line strings (TOML 1.1, "String") make the decoded text differ from the
//! bytes between the quotes; a diagnostic must still point at the one wrong word.

use crate::source::{Span, Spanned};
use std::ops::Range;

/// A decoded string at its place.
pub(super) struct Quoted<'a> {
    /// What it says.
    pub(super) text: &'a str,
    /// The bytes between the quotes; the quotes as well when nothing is between them.
    pub(super) span: Span,
    places: Places,
}

/// How decoded offsets become offsets of the source.
enum Places {
    /// The decoded text is the source's, from this byte on.
    Plain(usize),
    /// One entry for every decoded character: its decoded offset, and the bytes that gave it.
    Escaped(Vec<(usize, Span)>),
    /// No way back: the whole string stands for each of its parts.
    Lost,
}

impl<'a> Quoted<'a> {
    /// Finds the way back from `text` to the raw string at `outer` (quotes included) in `source`.
    pub(super) fn new(text: &'a str, source: &str, outer: Span) -> Quoted<'a> {
        let inner = inside(&source[outer.start..outer.end])
            .map(|Range { start, end }| Span { start: outer.start + start, end: outer.start + end });
        let Some(inner) = inner else { return Quoted { text, span: outer, places: Places::Lost } };
        let places = if &source[inner.start..inner.end] == text {
            Places::Plain(inner.start)
        } else {
            match decode(source, inner, source[outer.start..].starts_with('"')) {
                Some((decoded, places)) if decoded == text => Places::Escaped(places),
                _ => Places::Lost,
            }
        };
        let span = if inner.start == inner.end { outer } else { inner };
        Quoted { text, span, places }
    }

    /// The place of a part of the text, given by byte offsets into it.
    pub(super) fn place(&self, part: Range<usize>) -> Span {
        match &self.places {
            Places::Plain(start) => Span::new(start + part.start, start + part.end),
            Places::Escaped(places) => {
                let first = places.partition_point(|(offset, _)| *offset < part.start);
                let last = places.partition_point(|(offset, _)| *offset < part.end);
                match (places.get(first), last.checked_sub(1).and_then(|i| places.get(i))) {
                    (Some((_, from)), Some((_, to))) if first < last => Span::new(from.start, to.end),
                    _ => self.span,
                }
            }
            Places::Lost => self.span,
        }
    }

    /// The words between white space, each at its place.
    pub(super) fn words(&self) -> Vec<Spanned<&'a str>> {
        let start_of = |word: &str| word.as_ptr() as usize - self.text.as_ptr() as usize;
        self.text
            .split_whitespace()
            .map(|word| Spanned::new(word, self.place(start_of(word)..start_of(word) + word.len())))
            .collect()
    }
}

/// Where the content of a raw string lies; `None` if it is not closed.
fn inside(raw: &str) -> Option<Range<usize>> {
    for quotes in ["\"\"\"", "'''", "\"", "'"] {
        if raw.starts_with(quotes) {
            let closed = raw.len() >= 2 * quotes.len() && raw.ends_with(quotes);
            return closed.then(|| quotes.len()..raw.len() - quotes.len());
        }
    }
    None
}

/// Decodes the content of a string anew, noting for every character the bytes it came from.
fn decode(source: &str, inner: Span, escapes: bool) -> Option<(String, Vec<(usize, Span)>)> {
    let raw = &source[inner.start..inner.end];
    let mut decoded = String::with_capacity(raw.len());
    let mut places = Vec::with_capacity(raw.len());
    let mut at = match raw.as_bytes() {
        // A newline right after the opening quotes does not count; only multi-line strings can have one there.
        [b'\n', ..] => 1,
        [b'\r', b'\n', ..] => 2,
        _ => 0,
    };
    while let Some(next) = raw[at..].chars().next() {
        let (character, length) = if escapes && next == '\\' {
            match escape(&raw[at..])? {
                Escape::Character(character, length) => (character, length),
                Escape::LineEnd(length) => {
                    at += length;
                    continue;
                }
            }
        } else {
            (next, next.len_utf8())
        };
        places.push((decoded.len(), Span::new(inner.start + at, inner.start + at + length)));
        decoded.push(character);
        at += length;
    }
    Some((decoded, places))
}

enum Escape {
    Character(char, usize),
    LineEnd(usize),
}

/// Reads one escape at the start of `raw`; `None` if it is none.
fn escape(raw: &str) -> Option<Escape> {
    let letter = raw[1..].chars().next()?;
    let hex = |digits: usize| {
        let code = u32::from_str_radix(raw.get(2..2 + digits)?, 16).ok()?;
        Some(Escape::Character(char::from_u32(code)?, 2 + digits))
    };
    let plain = |character| Some(Escape::Character(character, 2));
    match letter {
        'b' => plain('\u{8}'),
        'e' => plain('\u{1b}'),
        'f' => plain('\u{c}'),
        'n' => plain('\n'),
        'r' => plain('\r'),
        't' => plain('\t'),
        '"' => plain('"'),
        '\\' => plain('\\'),
        'x' => hex(2),
        'u' => hex(4),
        'U' => hex(8),
        ' ' | '\t' | '\r' | '\n' => {
            let kept = raw[1..].trim_start_matches([' ', '\t', '\r', '\n']);
            Some(Escape::LineEnd(raw.len() - kept.len()))
        }
        _ => None,
    }
}
