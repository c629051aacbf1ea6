//! What a diagnostic *is*, apart from how it is drawn (`human`, `short`, `json`).
//!
//! The author's mistakes are values with spans, collected: a room returns `(value, Vec<Diagnostic>)`, so that
//! one run reports them all.

pub mod human;
pub mod json;
pub mod short;

mod code;
mod line;

pub use code::Code;

use crate::source::{Source, Span};
use std::collections::HashSet;
use std::fmt;
use std::sync::Arc;

/// How bad it is.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Severity {
    /// Nothing is wrong: a proposal.
    Note,
    /// The film can be made all the same.
    Warning,
    /// Nothing is made.
    Error,
}

/// A fact about a place, drawn under its carets.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Label {
    /// The place.
    pub span: Span,
    /// The fact; may be empty.
    pub text: String,
}

/// One mistake or doubt: what, where, why, and what would be accepted.
#[derive(Clone, Debug)]
pub struct Diagnostic {
    /// How bad it is.
    pub severity: Severity,
    /// Its stable name.
    pub code: Code,
    /// The headline; stands alone, the author's own text in backticks.
    pub message: String,
    /// The main place; its text is a fact.
    pub primary: Label,
    /// Other places that matter, each with a fact.
    pub others: Vec<Label>,
    /// What to do, each an action or what would be accepted.
    pub hints: Vec<String>,
    /// What it is about, where several mistakes of its code may be at its place; may be empty.
    pub matter: String,
    /// The text the spans point into, if it is not the timeline itself (a PGN file, a style file).
    pub source: Option<Arc<Source>>,
}

/// `error`, `warning` or `note`.
impl fmt::Display for Severity {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Severity::Error => "error",
            Severity::Warning => "warning",
            Severity::Note => "note",
        })
    }
}

impl Diagnostic {
    /// A mistake that stops the render.
    pub fn error(code: Code, span: Span, message: impl Into<String>) -> Diagnostic {
        Diagnostic::new(Severity::Error, code, span, message.into())
    }

    /// A doubt that does not.
    pub fn warning(code: Code, span: Span, message: impl Into<String>) -> Diagnostic {
        Diagnostic::new(Severity::Warning, code, span, message.into())
    }

    /// A proposal; nothing is wrong.
    pub fn note(code: Code, span: Span, message: impl Into<String>) -> Diagnostic {
        Diagnostic::new(Severity::Note, code, span, message.into())
    }

    fn new(severity: Severity, code: Code, span: Span, message: String) -> Diagnostic {
        let primary = Label { span, text: String::new() };
        let (others, hints, matter) = (Vec::new(), Vec::new(), String::new());
        Diagnostic { severity, code, message, primary, others, hints, matter, source: None }
    }

    /// The fact under the main carets.
    #[must_use]
    pub fn label(mut self, fact: impl Into<String>) -> Diagnostic {
        self.primary.text = fact.into();
        self
    }

    /// A second place with its fact.
    #[must_use]
    pub fn also(mut self, span: Span, fact: impl Into<String>) -> Diagnostic {
        self.others.push(Label { span, text: fact.into() });
        self
    }

    /// An action, or what would be accepted.
    #[must_use]
    pub fn hint(mut self, action: impl Into<String>) -> Diagnostic {
        self.hints.push(action.into());
        self
    }

    /// What it is about: tells it from others of its code at its place, and is the same wherever the same is found.
    #[must_use]
    pub fn about(mut self, matter: impl Into<String>) -> Diagnostic {
        self.matter = matter.into();
        self
    }

    /// Says that the spans point into another text than the timeline.
    #[must_use]
    pub fn in_source(mut self, source: Arc<Source>) -> Diagnostic {
        self.source = Some(source);
        self
    }
}

/// Whether any of them stops the render.
pub fn has_errors(diagnostics: &[Diagnostic]) -> bool {
    diagnostics.iter().any(|diagnostic| diagnostic.severity == Severity::Error)
}

/// How many mistakes, doubts and proposals there are, in words: `2 mistakes, 1 doubt`; empty if there are none.
fn summary<'a>(diagnostics: impl Iterator<Item = &'a Diagnostic>) -> String {
    let severities: Vec<Severity> = diagnostics.map(|diagnostic| diagnostic.severity).collect();
    let of = |severity| severities.iter().filter(|own| **own == severity).count();
    let counted = |number: usize, one: &str| match number {
        0 => None,
        1 => Some(format!("1 {one}")),
        many => Some(format!("{many} {one}s")),
    };
    let parts = [
        counted(of(Severity::Error), "mistake"),
        counted(of(Severity::Warning), "doubt"),
        counted(of(Severity::Note), "proposal"),
    ];
    parts.into_iter().flatten().collect::<Vec<_>>().join(", ")
}

/// The diagnostics in the order of reading, each with the text its spans point into: those of the timeline first,
/// those of another text together. A place is told a code once for each thing that is wrong there: of rooms that find
/// the same, the first is heard.
fn in_order<'a>(diagnostics: &'a [Diagnostic], timeline: &'a Source) -> Vec<(&'a Diagnostic, &'a Source)> {
    let mut texts = vec![timeline.path()];
    let mut ordered: Vec<(usize, &Diagnostic, &Source)> = Vec::with_capacity(diagnostics.len());
    for diagnostic in diagnostics {
        let source = diagnostic.source.as_deref().unwrap_or(timeline);
        let known = texts.iter().position(|path| *path == source.path());
        let rank = known.unwrap_or_else(|| {
            texts.push(source.path());
            texts.len() - 1
        });
        ordered.push((rank, diagnostic, source));
    }
    ordered.sort_by_key(|(rank, diagnostic, _)| {
        (*rank, diagnostic.primary.span.start, std::cmp::Reverse(diagnostic.severity), diagnostic.primary.span.end)
    });
    let mut told = HashSet::new();
    ordered.retain(|(rank, found, _)| told.insert((*rank, found.code, found.primary.span, &*found.matter)));
    ordered.into_iter().map(|(_, diagnostic, source)| (diagnostic, source)).collect()
}

/// The nearest of `known` to a misspelt `word`, if one is near enough to be meant.
///
/// Near enough: at most a third of the word's letters apart (Damerau–Levenshtein), at least one; or equal
/// but for case, hyphen and underscore. To a single letter nothing else is near.
pub fn nearest<'a>(word: &str, known: impl IntoIterator<Item = &'a str>) -> Option<&'a str> {
    let plain = |text: &str| text.to_lowercase().replace(['-', '_', ' '], "");
    let letters = word.chars().count();
    let limit = if letters < 2 { 0 } else { (letters / 3).max(1) };
    known
        .into_iter()
        .map(|candidate| {
            let distance = if plain(candidate) == plain(word) {
                0
            } else {
                strsim::damerau_levenshtein(&word.to_lowercase(), &candidate.to_lowercase())
            };
            (distance, candidate)
        })
        .filter(|(distance, _)| *distance <= limit)
        .min_by_key(|(distance, _)| *distance)
        .map(|(_, candidate)| candidate)
}

#[cfg(test)]
mod tests;
