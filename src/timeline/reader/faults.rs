//! What is said of keys and values that are not taken.

use crate::diag::{Code, Diagnostic, nearest};
use crate::source::Span;
use crate::timeline::forms::FormError;
use crate::timeline::keys::{self, Form, Key, Keys};
use toml::de::DeValue;

/// Adds the reason and the hints of a failed form.
pub(in crate::timeline) fn with_error(diagnostic: Diagnostic, error: FormError) -> Diagnostic {
    error.hints.into_iter().fold(diagnostic.label(error.fact), Diagnostic::hint)
}

/// A text for a headline: no more than 40 characters of its first line.
pub(in crate::timeline) fn shortened(text: &str) -> String {
    let line: String = text.chars().take_while(|c| !c.is_control()).take(41).collect();
    if line.len() == text.len() && line.chars().count() <= 40 {
        line
    } else {
        line.chars().take(39).chain(['\u{2026}']).collect()
    }
}

pub(super) fn unknown_key(keys: &'static Keys, name: &str, span: Span) -> Diagnostic {
    let message = format!("`{}` is not a key of {}", shortened(name), keys.name);
    let mut diagnostic = Diagnostic::error(Code::UnknownKey, span, message).label("unknown key");
    if let Some(ours) = meant(name).filter(|ours| keys.get(ours).is_some()) {
        diagnostic = diagnostic.hint(format!("that is `{ours}` here"));
    } else if let Some(near) = nearest(name, keys.list.iter().map(|key| key.name)) {
        diagnostic = diagnostic.hint(format!("the nearest key is `{near}`"));
    } else if let Some(owner) = keys::ALL.iter().find(|other| other.get(name).is_some()) {
        diagnostic = diagnostic.hint(format!("`{name}` is a key of {}", owner.name));
    }
    diagnostic.hint(format!("{} takes {}", keys.name, keys.names()))
}

/// The key that is meant by a word that others use for it.
fn meant(name: &str) -> Option<&'static str> {
    Some(match name {
        "caption" | "comment" | "subtitle" => "text",
        "move" | "moves" | "san" => "play",
        "time" | "start" | "when" => "at",
        "position" => "fen",
        "author" | "composer" | "source" => "credit",
        "stipulation" => "task",
        "duration" => "for",
        "audio" | "sound" | "recording" => "narration",
        "colors" | "colours" | "color" | "colour" => "theme",
        "size" | "resolution" => "frame",
        _ => return None,
    })
}

pub(super) fn missing_key(keys: &'static Keys, name: &str, span: Span) -> Diagnostic {
    let diagnostic = Diagnostic::error(Code::MissingKey, span, format!("{} has no `{name}`", keys.name));
    match keys.get(name) {
        Some(Key { form: Form::Tables(_), .. }) => diagnostic.hint(format!("begin one with `[[{name}]]`")),
        Some(key) => diagnostic.hint(format!("`{name}` takes {}", key.form.accepts())),
        None => diagnostic,
    }
}

pub(super) fn type_name(value: &DeValue<'_>) -> &'static str {
    match value {
        DeValue::String(_) => "a text",
        DeValue::Integer(_) => "a whole number",
        DeValue::Float(_) => "a number with decimals",
        DeValue::Boolean(_) => "`true` or `false`",
        DeValue::Datetime(_) => "a date or a time of day",
        DeValue::Array(_) => "an array",
        DeValue::Table(_) => "a table",
    }
}
