//! One input text, its name and its line index. Spans are byte ranges; lines and columns are made only for drawing.

use std::path::{Path, PathBuf};

/// A half-open range of bytes in a [`Source`], always on character boundaries.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub struct Span {
    /// The first byte.
    pub start: usize,
    /// One past the last byte.
    pub end: usize,
}

impl Span {
    /// The span `start..end`.
    pub fn new(start: usize, end: usize) -> Span {
        Span { start, end }
    }

    /// The smallest span that holds both.
    #[must_use]
    pub fn join(self, other: Span) -> Span {
        Span { start: self.start.min(other.start), end: self.end.max(other.end) }
    }
}

impl From<std::ops::Range<usize>> for Span {
    fn from(range: std::ops::Range<usize>) -> Span {
        Span { start: range.start, end: range.end }
    }
}

/// A value with the place in the text that gave it.
///
/// Equality looks at the value alone, so that a timeline equals its re-printed self.
#[derive(Clone, Copy, Debug, Default)]
pub struct Spanned<T> {
    /// What was written.
    pub value: T,
    /// Where.
    pub span: Span,
}

impl<T> Spanned<T> {
    /// A value at a place.
    pub fn new(value: T, span: impl Into<Span>) -> Spanned<T> {
        Spanned { value, span: span.into() }
    }

    /// The same place with another value.
    pub fn map<U>(self, f: impl FnOnce(T) -> U) -> Spanned<U> {
        Spanned { value: f(self.value), span: self.span }
    }
}

impl<T: PartialEq> PartialEq for Spanned<T> {
    fn eq(&self, other: &Self) -> bool {
        self.value == other.value
    }
}

impl<T: Eq> Eq for Spanned<T> {}

/// A text with its name.
#[derive(Clone, Debug)]
pub struct Source {
    path: PathBuf,
    text: String,
    line_starts: Vec<usize>,
}

impl Source {
    /// Takes a text and remembers where its lines begin (LF, CRLF and lone CR all end a line).
    pub fn new(path: impl Into<PathBuf>, text: impl Into<String>) -> Source {
        let text = text.into();
        let bytes = text.as_bytes();
        let mut line_starts = vec![0];
        for (i, byte) in bytes.iter().enumerate() {
            let ends_here = match byte {
                b'\n' => true,
                b'\r' => bytes.get(i + 1) != Some(&b'\n'),
                _ => false,
            };
            if ends_here {
                line_starts.push(i + 1);
            }
        }
        Source { path: path.into(), text, line_starts }
    }

    /// The name under which the text is shown; `-` for standard input.
    pub fn path(&self) -> &Path {
        &self.path
    }

    /// The whole text.
    pub fn text(&self) -> &str {
        &self.text
    }

    /// Line and column of a byte, both from 1, the column in characters. Past the end gives the end.
    pub fn line_column(&self, byte: usize) -> (usize, usize) {
        let mut byte = byte.min(self.text.len());
        while !self.text.is_char_boundary(byte) {
            byte -= 1;
        }
        let line = self.line_starts.partition_point(|&start| start <= byte);
        let start = self.line_starts[line - 1];
        let shown = self.text[start..byte].strip_prefix('\u{feff}').unwrap_or(&self.text[start..byte]);
        (line, shown.chars().count() + 1)
    }

    /// The text of a line (from 1) without its ending; empty past the end.
    pub fn line(&self, number: usize) -> &str {
        let Some(&start) = number.checked_sub(1).and_then(|n| self.line_starts.get(n)) else { return "" };
        let end = self.line_starts.get(number).copied().unwrap_or(self.text.len());
        self.text[start..end].trim_end_matches(['\r', '\n']).trim_start_matches('\u{feff}')
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn columns_count_characters_and_skip_the_byte_order_mark() {
        let source = Source::new("x", "\u{feff}\u{e4}b\r\nc\rd\n");
        assert_eq!(source.line_column(source.text().find('b').unwrap()), (1, 2));
        assert_eq!(source.line_column(source.text().find('c').unwrap()), (2, 1));
        assert_eq!(source.line_column(source.text().find('d').unwrap()), (3, 1));
        assert_eq!(source.line(1), "\u{e4}b");
        assert_eq!(source.line(3), "d");
    }
}
