//! Diagnostics for programs.

use super::{Diagnostic, Label, in_order};
use crate::source::{Source, Span};
use serde_json::{Value, json};

/// One object for each diagnostic, sorted by place.
///
/// `severity`, `code`, `message`, `file`, `line`, `column`, `hint` (several joined by `; `, `null` if there is none);
/// besides, `end_line` and `end_column` (the first character behind the place), `label` (the fact about the place,
/// `null` if there is none) and `labels` (the other places, with their facts). Lines and columns count from 1, columns
/// in characters.
pub fn values(diagnostics: &[Diagnostic], timeline: &Source) -> Vec<Value> {
    in_order(diagnostics, timeline).into_iter().map(|(diagnostic, source)| value(diagnostic, source)).collect()
}

fn value(diagnostic: &Diagnostic, source: &Source) -> Value {
    let mut value = place(diagnostic.primary.span, source);
    value["severity"] = json!(diagnostic.severity.to_string());
    value["code"] = json!(diagnostic.code.name());
    value["message"] = json!(diagnostic.message);
    value["file"] = json!(source.path().display().to_string());
    value["hint"] = some(diagnostic.hints.join("; "));
    value["label"] = some(diagnostic.primary.text.clone());
    value["labels"] = diagnostic.others.iter().map(|other| label(other, source)).collect();
    value
}

fn label(label: &Label, source: &Source) -> Value {
    let mut value = place(label.span, source);
    value["text"] = json!(label.text);
    value
}

fn place(span: Span, source: &Source) -> Value {
    let (line, column) = source.line_column(span.start);
    let (end_line, end_column) = source.line_column(span.end);
    json!({ "line": line, "column": column, "end_line": end_line, "end_column": end_column })
}

fn some(text: String) -> Value {
    if text.is_empty() { Value::Null } else { Value::String(text) }
}
