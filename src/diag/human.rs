//! Diagnostics for a person at a terminal: the headline, the author's own lines with carets, the hints.

use super::line::{Line, Window, harmless};
use super::{Diagnostic, Label, Severity, in_order, summary};
use crate::source::{Source, Span};
use std::fmt::Write;
use std::ops::Range;

/// The most columns of an author's line that are shown; longer lines are cut around the place that matters.
const ROOM: usize = 100;

/// All diagnostics, sorted by place, and a line that counts them; empty if there are none.
///
/// `timeline` is the text of the diagnostics that do not carry their own.
pub fn render(diagnostics: &[Diagnostic], timeline: &Source, colour: bool) -> String {
    let ink = Ink { colour };
    let mut out = String::new();
    let ordered = in_order(diagnostics, timeline);
    for &(diagnostic, source) in &ordered {
        out.push_str(&one(diagnostic, source, ink));
        out.push('\n');
    }
    if !out.is_empty() {
        out.push_str(&ink.paint(Tone::Strong, &summary(ordered.iter().map(|(diagnostic, _)| *diagnostic))));
        out.push('\n');
    }
    out
}

/// One diagnostic: headline, place, snippets, hints.
fn one(diagnostic: &Diagnostic, source: &Source, ink: Ink) -> String {
    let rows = rows(diagnostic, source);
    let gutter = rows.iter().map(|row| row.number).max().unwrap_or(1).to_string().len();
    let mut out = headline(diagnostic, ink);
    out.push_str(&arrow(diagnostic, source, gutter, ink));
    out.push_str(&snippets(&rows, source, gutter, diagnostic.severity, ink));
    for hint in &diagnostic.hints {
        let _ = writeln!(out, "{:gutter$} {} {}", "", ink.paint(Tone::Gutter, "="), hint_line(hint, ink));
    }
    out
}

fn headline(diagnostic: &Diagnostic, ink: Ink) -> String {
    let Diagnostic { severity, code, message, .. } = diagnostic;
    let head = ink.paint(Tone::of(*severity), &format!("{severity}[{code}]"));
    format!("{head}{}\n", ink.paint(Tone::Strong, &format!(": {}", harmless(message))))
}

fn arrow(diagnostic: &Diagnostic, source: &Source, gutter: usize, ink: Ink) -> String {
    let (line, column) = source.line_column(diagnostic.primary.span.start);
    let path = harmless(&source.path().display().to_string());
    let (arrow, bar) = (ink.paint(Tone::Gutter, "-->"), ink.paint(Tone::Gutter, "|"));
    format!("{:gutter$}{arrow} {path}:{line}:{column}\n{:gutter$} {bar}\n", "", "")
}

fn hint_line(hint: &str, ink: Ink) -> String {
    format!("{} {}", ink.paint(Tone::Hint, "hint:"), harmless(hint))
}

/// A stretch of one line that is underlined, with the fact under it.
struct Row<'a> {
    /// The line, from 1.
    number: usize,
    /// Its characters, from 0.
    characters: Range<usize>,
    /// The fact; empty on all but the last line of a place.
    fact: &'a str,
    is_primary: bool,
}

/// The underlined stretches of a diagnostic, in the order of the lines; on one line, from left to right.
fn rows<'a>(diagnostic: &'a Diagnostic, source: &Source) -> Vec<Row<'a>> {
    let mut rows = rows_of(&diagnostic.primary, source, true);
    for other in &diagnostic.others {
        rows.extend(rows_of(other, source, false));
    }
    rows.sort_by_key(|row| (row.number, row.characters.start, row.characters.end));
    rows
}

/// One stretch for a place on one line; the first and the last line of a longer one.
fn rows_of<'a>(label: &'a Label, source: &Source, is_primary: bool) -> Vec<Row<'a>> {
    let Label { span: Span { start, end }, text } = label;
    let (first, from) = source.line_column(*start);
    let (mut last, mut to) = source.line_column((*end).max(*start));
    if last > first && to == 1 {
        // The place ends with a line's ending: that belongs to the line it ends.
        last -= 1;
        to = source.line(last).chars().count() + 1;
    }
    let row = |number, characters, fact| Row { number, characters, fact, is_primary };
    if first == last {
        return vec![row(first, from - 1..to - 1, text)];
    }
    let first_length = source.line(first).chars().count();
    let indent = Line::new(source.line(last)).first_inked();
    vec![row(first, from - 1..first_length.max(from - 1), ""), row(last, indent.min(to - 1)..to - 1, text)]
}

/// The lines with what is underlined in them, and a colon where lines between them are left out.
fn snippets(rows: &[Row<'_>], source: &Source, gutter: usize, severity: Severity, ink: Ink) -> String {
    let mut out = String::new();
    let mut before: Option<usize> = None;
    for on_line in rows.chunk_by(|a, b| a.number == b.number) {
        let number = on_line[0].number;
        if before.is_some_and(|before| number > before + 1) {
            let _ = writeln!(out, "{:gutter$} {}", "", ink.paint(Tone::Gutter, ":"));
        }
        before = Some(number);
        let line = Line::new(source.line(number));
        for together in shown_together(on_line, &line) {
            let mut columns = columns(&together[0], &line);
            for row in together {
                let other = self::columns(row, &line);
                columns = columns.start.min(other.start)..columns.end.max(other.end);
            }
            let window = line.window(&columns, ROOM);
            let number = ink.paint(Tone::Gutter, &format!("{number:>gutter$} |"));
            out.push_str(format!("{number} {}", window.text).trim_end());
            out.push('\n');
            for row in together {
                out.push_str(&underline(row, &line, &window, gutter, severity, ink));
            }
        }
    }
    out
}

/// The stretches of a line in groups, each of which fits into one window.
fn shown_together<'r, 'a>(on_line: &'r [Row<'a>], line: &Line) -> Vec<&'r [Row<'a>]> {
    let mut groups = Vec::new();
    let mut first = 0;
    for next in 1..=on_line.len() {
        let fits = on_line.get(next).is_some_and(|row| {
            let start = columns(&on_line[first], line).start;
            let end = on_line[first..next].iter().chain([row]).map(|row| columns(row, line).end).max();
            line.can_show(&(start..end.unwrap_or(start)), ROOM)
        });
        if !fits {
            groups.push(&on_line[first..next]);
            first = next;
        }
    }
    groups
}

fn columns(row: &Row<'_>, line: &Line) -> Range<usize> {
    line.columns(row.characters.start, row.characters.end.min(line.len()))
}

/// Carets under the main place, dashes under the others, then the fact.
fn underline(row: &Row<'_>, line: &Line, window: &Window, gutter: usize, severity: Severity, ink: Ink) -> String {
    let place = window.place(&columns(row, line));
    let (sign, tone) = if row.is_primary { ("^", Tone::of(severity)) } else { ("-", Tone::Other) };
    let mut drawn = sign.repeat(place.end - place.start);
    if !row.fact.is_empty() {
        drawn = format!("{drawn} {}", harmless(row.fact));
    }
    let bar = ink.paint(Tone::Gutter, "|");
    format!("{:gutter$} {bar} {:indent$}{}\n", "", "", ink.paint(tone, &drawn), indent = place.start)
}

/// What a part of the drawing is, for its colour.
#[derive(Clone, Copy)]
enum Tone {
    Error,
    Warning,
    Note,
    Strong,
    Gutter,
    Other,
    Hint,
}

impl Tone {
    fn of(severity: Severity) -> Tone {
        match severity {
            Severity::Error => Tone::Error,
            Severity::Warning => Tone::Warning,
            Severity::Note => Tone::Note,
        }
    }
}

/// Whether to colour, and with what (ECMA-48 SGR).
#[derive(Clone, Copy)]
struct Ink {
    colour: bool,
}

impl Ink {
    fn paint(self, tone: Tone, text: &str) -> String {
        if !self.colour {
            return text.to_owned();
        }
        let code = match tone {
            Tone::Error => "1;31",
            Tone::Warning => "1;33",
            Tone::Note => "1;36",
            Tone::Strong => "1",
            Tone::Gutter => "2",
            Tone::Other => "36",
            Tone::Hint => "32",
        };
        format!("\x1b[{code}m{text}\x1b[0m")
    }
}
