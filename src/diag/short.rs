//! Diagnostics for a person in a hurry, or for a program that reads lines: one line each.

use super::{Diagnostic, in_order, line};
use crate::source::Source;
use std::fmt::Write;

/// One line for each diagnostic, sorted by place: `path:line:column: error[code]: message`.
///
/// `timeline` is the text of the diagnostics that do not carry their own.
pub fn render(diagnostics: &[Diagnostic], timeline: &Source) -> String {
    let mut out = String::new();
    for (diagnostic, source) in in_order(diagnostics, timeline) {
        let (row, column) = source.line_column(diagnostic.primary.span.start);
        let Diagnostic { severity, code, message, .. } = diagnostic;
        let message = line::harmless(message);
        writeln!(out, "{}:{row}:{column}: {severity}[{code}]: {message}", source.path().display())
            .expect("a string takes any text");
    }
    out
}
