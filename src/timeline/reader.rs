//! Takes values out of TOML tables by the key table ([`super::keys`]), each in its form, and reports what is not.

use super::colours::{self, Rgb, THEME, ThemeSetting};
use super::forms::{self, FormError};
use super::keys::{self, Form, Key, Keys};
use super::text::Quoted;
use super::words::Word;
use super::{At, FrameShape};
use crate::diag::{Code, Diagnostic, nearest};
use crate::source::{Span, Spanned};
use crate::units::{FrameRate, Time};
use std::time::Duration;
use toml::de::{DeTable, DeValue};

/// The text being read, and all that was wrong so far.
pub(super) struct Reader<'a> {
    source: &'a str,
    broken: &'a [Span],
    /// What was found.
    pub(super) diagnostics: Vec<Diagnostic>,
}

/// One table being read.
pub(super) struct Fields<'a> {
    keys: &'static Keys,
    table: &'a DeTable<'a>,
    asked: Vec<bool>,
    /// The table's place: its header, or all of an inline table.
    pub(super) span: Span,
}

/// A key that is given.
#[derive(Clone, Copy)]
pub(super) struct Entry<'a> {
    key: &'static Key,
    /// Where the key is written.
    pub(super) key_span: Span,
    value: &'a DeValue<'a>,
    /// Where the value is written.
    pub(super) span: Span,
}

impl<'a> Fields<'a> {
    /// The entry of this name, if it is given. The name must stand in the key table.
    pub(super) fn take(&mut self, name: &str) -> Option<Entry<'a>> {
        let place = self.keys.list.iter().position(|key| key.name == name);
        let place = place.unwrap_or_else(|| panic!("the reader asks for `{name}`, which the key table does not have"));
        self.asked[place] = true;
        let (key, value) = self.table.get_key_value(name)?;
        Some(Entry {
            key: &self.keys.list[place],
            key_span: key.span().into(),
            value: value.get_ref(),
            span: value.span().into(),
        })
    }

    /// Ends the reading: every key of the table must have been asked for.
    pub(super) fn close(self) {
        for (key, asked) in self.keys.list.iter().zip(&self.asked) {
            assert!(*asked, "the reader never asks for `{}` of {}", key.name, self.keys.name);
        }
    }
}

impl<'a> Reader<'a> {
    /// A reader of `source`, whose `broken` places are not the author's.
    pub(super) fn new(source: &'a str, broken: &'a [Span]) -> Reader<'a> {
        Reader { source, broken, diagnostics: Vec::new() }
    }

    /// The whole text.
    pub(super) fn source(&self) -> &'a str {
        self.source
    }

    /// Notes a mistake.
    pub(super) fn report(&mut self, diagnostic: Diagnostic) {
        self.diagnostics.push(diagnostic);
    }

    /// Whether the file is whole, so that what is missing is missing indeed.
    pub(super) fn is_whole(&self) -> bool {
        self.broken.is_empty()
    }

    /// Whether what stands at a place is not the author's: it touches what is no TOML, or fills a gap there and has no
    /// place.
    fn is_broken(&self, span: Span) -> bool {
        span.end == 0 || self.broken.iter().any(|broken| broken.start <= span.end && span.start <= broken.end)
    }

    /// Begins to read a table: reports the keys it does not have.
    pub(super) fn open(&mut self, keys: &'static Keys, table: &'a DeTable<'a>, span: Span) -> Fields<'a> {
        for key in table.keys() {
            let key_span: Span = key.span().into();
            if keys.get(key.get_ref()).is_none() && !self.is_broken(key_span) {
                self.report(unknown_key(keys, key.get_ref(), key_span));
            }
        }
        if self.is_whole() {
            for name in keys.required {
                if !table.contains_key(*name) {
                    self.report(missing_key(keys, name, span));
                }
            }
        }
        Fields { keys, table, asked: vec![false; keys.list.len()], span }
    }

    /// The one table behind a key.
    pub(super) fn table(&mut self, entry: Option<Entry<'a>>) -> Option<Fields<'a>> {
        let entry = entry?;
        let Form::Table(keys) = entry.key.form else { panic!("`{}` is not a table's key", entry.key.name) };
        match entry.value {
            DeValue::Table(table) => Some(self.open(keys, table, entry.span)),
            DeValue::Array(array) if array.iter().any(|value| value.get_ref().is_table()) => {
                let name = entry.key.name;
                self.report(
                    Diagnostic::error(Code::BadValue, entry.span, format!("`{name}` is given as several tables"))
                        .label(format!("there is only one {}", keys.name))
                        .hint(format!("write `[{name}]`")),
                );
                let first = array.iter().find(|value| value.get_ref().is_table())?;
                let DeValue::Table(table) = first.get_ref() else { return None };
                Some(self.open(keys, table, first.span().into()))
            }
            _ => self.wrong_type(&entry),
        }
    }

    /// The tables behind a key, in the file's order.
    pub(super) fn tables(&mut self, entry: Option<Entry<'a>>) -> Vec<Fields<'a>> {
        let Some(entry) = entry else { return Vec::new() };
        let Form::Tables(keys) = entry.key.form else { panic!("`{}` is not a key of tables", entry.key.name) };
        match entry.value {
            DeValue::Array(array) => {
                let mut fields = Vec::new();
                for value in array {
                    let span: Span = value.span().into();
                    match value.get_ref() {
                        DeValue::Table(table) => fields.push(self.open(keys, table, span)),
                        other if !self.is_broken(span) => {
                            let (name, kind) = (entry.key.name, type_name(other));
                            self.report(
                                Diagnostic::error(Code::BadValue, span, format!("`{name}` holds {kind}"))
                                    .label(format!("{kind}, not a table"))
                                    .hint("each entry is a table, such as `{ at = \"1:04.5\" }`"),
                            );
                        }
                        _ => {}
                    }
                }
                fields
            }
            DeValue::Table(table) if self.is_broken(entry.span) => vec![self.open(keys, table, entry.span)],
            DeValue::Table(table) => {
                let name = entry.key.name;
                self.report(if self.source[entry.span.start..].starts_with('{') {
                    Diagnostic::error(Code::BadValue, entry.span, format!("`{name}` takes an array of tables"))
                        .label("a single table")
                        .hint(format!("put it into brackets: `{name} = [{{ \u{2026} }}]`"))
                } else {
                    Diagnostic::error(Code::BadValue, entry.span, format!("`[{name}]` needs double brackets"))
                        .label("single brackets make a single table")
                        .hint(format!("write `[[{name}]]`, once for each"))
                });
                vec![self.open(keys, table, entry.span)]
            }
            _ => {
                self.wrong_type::<()>(&entry);
                Vec::new()
            }
        }
    }

    /// A text; refused when empty if its form says so.
    pub(super) fn text(&mut self, entry: Option<Entry<'a>>) -> Option<Spanned<String>> {
        let entry = entry?;
        let quoted = self.quoted(&entry)?;
        if matches!(entry.key.form, Form::Filled) && quoted.text.trim().is_empty() {
            return self.empty(&entry, quoted.span);
        }
        Some(Spanned::new(quoted.text.to_owned(), quoted.span))
    }

    /// One or several texts, none of them empty.
    pub(super) fn phrases(&mut self, entry: Option<Entry<'a>>) -> Vec<Quoted<'a>> {
        let Some(entry) = entry else { return Vec::new() };
        let entries = match entry.value {
            DeValue::Array(array) => {
                if array.is_empty() && !self.is_broken(entry.span) {
                    self.empty::<()>(&entry, entry.span);
                }
                array.iter().map(|value| Entry { value: value.get_ref(), span: value.span().into(), ..entry }).collect()
            }
            _ => vec![entry],
        };
        let mut phrases = Vec::new();
        for entry in entries {
            let Some(quoted) = self.quoted(&entry) else { continue };
            if quoted.text.trim().is_empty() {
                self.empty::<()>(&entry, quoted.span);
            } else {
                phrases.push(quoted);
            }
        }
        phrases
    }

    /// The string behind a key.
    pub(super) fn quoted(&mut self, entry: &Entry<'a>) -> Option<Quoted<'a>> {
        match entry.value {
            DeValue::String(text) if !self.is_broken(entry.span) => Some(Quoted::new(text, self.source, entry.span)),
            _ => self.wrong_type(entry),
        }
    }

    /// A whole number within the form's bounds.
    pub(super) fn count(&mut self, entry: Option<Entry<'a>>) -> Option<Spanned<u32>> {
        let entry = entry?;
        let (from, to, step) = match entry.key.form {
            Form::Count(from, to) => (from, to, 1),
            Form::Even(from, to) => (from, to, 2),
            _ => panic!("`{}` is not a number's key", entry.key.name),
        };
        let number = self.integer(&entry)?;
        let fact = if number < i64::from(from) {
            format!("less than {from}")
        } else if number > i64::from(to) {
            format!("more than {to}")
        } else if number % step != 0 {
            "odd".to_owned()
        } else {
            return u32::try_from(number).ok().map(|number| Spanned::new(number, entry.span));
        };
        self.out_of_range(&entry, &fact)
    }

    /// A whole number of any size; the largest stands for those beyond it.
    pub(super) fn integer(&mut self, entry: &Entry<'a>) -> Option<i64> {
        match entry.value {
            DeValue::Integer(number) if !self.is_broken(entry.span) => {
                let text = number.as_str();
                let beyond = if text.starts_with('-') { i64::MIN } else { i64::MAX };
                Some(i64::from_str_radix(text, number.radix()).unwrap_or(beyond))
            }
            _ => self.wrong_type(entry),
        }
    }

    /// A number within the form's bounds.
    pub(super) fn ratio(&mut self, entry: Option<Entry<'a>>) -> Option<Spanned<f64>> {
        let entry = entry?;
        let Form::Ratio(from, to) = entry.key.form else { panic!("`{}` is not a ratio's key", entry.key.name) };
        let Some(number) = self.number(&entry) else { return self.wrong_type(&entry) };
        if number.is_nan() {
            self.out_of_range(&entry, "not a number")
        } else if number < from {
            self.out_of_range(&entry, &format!("less than {from}"))
        } else if number > to {
            self.out_of_range(&entry, &format!("more than {to}"))
        } else {
            Some(Spanned::new(number, entry.span))
        }
    }

    /// `true` or `false`.
    pub(super) fn flag(&mut self, entry: Option<Entry<'a>>) -> Option<bool> {
        let entry = entry?;
        match entry.value {
            DeValue::Boolean(flag) if !self.is_broken(entry.span) => Some(*flag),
            _ => self.wrong_type(&entry),
        }
    }

    /// A point on the clock or a length after the cue before.
    pub(super) fn at(&mut self, entry: Option<Entry<'a>>) -> Option<Spanned<At>> {
        let entry = entry?;
        let written = self.source.get(entry.span.start..entry.span.end).unwrap_or_default();
        if let Some(number) = written.strip_prefix('+').filter(|_| self.number(&entry).is_some()) {
            // To TOML the sign says nothing; whoever writes it means something by it.
            let message = format!("the time `{written}` is not in quotes");
            self.report(
                Diagnostic::error(Code::BadValue, entry.span, message)
                    .label("TOML reads this as a number without a sign")
                    .hint(format!("\"{written}\" for a time after the cue before, {number} for one on the clock")),
            );
            return None;
        }
        self.timed(entry, forms::at, |seconds| forms::time_from_seconds(seconds).map(At::Clock))
    }

    /// A point on the clock.
    pub(super) fn clock(&mut self, entry: Option<Entry<'a>>) -> Option<Spanned<Time>> {
        self.timed(entry?, forms::time, forms::time_from_seconds)
    }

    /// A length of time.
    pub(super) fn length(&mut self, entry: Option<Entry<'a>>) -> Option<Spanned<Duration>> {
        self.timed(entry?, forms::length, forms::length_from_seconds)
    }

    /// A frame rate, a whole number or a text.
    pub(super) fn rate(&mut self, entry: Option<Entry<'a>>) -> Option<Spanned<FrameRate>> {
        let entry = entry?;
        let (text, span) = match entry.value {
            DeValue::Integer(_) => (self.integer(&entry)?.to_string(), entry.span),
            DeValue::Float(number) if !self.is_broken(entry.span) => (number.as_str().to_owned(), entry.span),
            _ => self.quoted(&entry).map(|quoted| (quoted.text.to_owned(), quoted.span))?,
        };
        self.formed(&entry, Code::BadValue, &text, span, forms::frame_rate(&text))
    }

    /// The shape of the picture.
    pub(super) fn shape(&mut self, entry: Option<Entry<'a>>) -> Option<Spanned<FrameShape>> {
        let entry = entry?;
        let quoted = self.quoted(&entry)?;
        let looks_like_a_size = quoted.text.bytes().next().is_some_and(|b| b.is_ascii_digit());
        let code = if looks_like_a_size { Code::BadValue } else { Code::UnknownWord };
        self.formed(&entry, code, quoted.text, quoted.span, quoted.text.parse())
    }

    /// A word out of a closed list.
    pub(super) fn word<T: Word>(&mut self, entry: Option<Entry<'a>>) -> Option<Spanned<T>> {
        let entry = entry?;
        let quoted = self.quoted(&entry)?;
        self.formed(&entry, Code::UnknownWord, quoted.text, quoted.span, quoted.text.parse())
    }

    /// A theme: a name, a file, or a table.
    pub(super) fn theme(&mut self, entry: Option<Entry<'a>>) -> Option<Spanned<ThemeSetting>> {
        let entry = entry?;
        if let DeValue::Table(table) = entry.value {
            let fields = self.open(&THEME, table, entry.span);
            let own = colours::own_theme(self, fields);
            return Some(Spanned::new(ThemeSetting::Own(own), entry.span));
        }
        let quoted = self.quoted(&entry)?;
        let text = quoted.text;
        if text.to_ascii_lowercase().ends_with(".toml") {
            return Some(Spanned::new(ThemeSetting::File(text.to_owned()), quoted.span));
        }
        let named = text.parse().map(ThemeSetting::Named);
        self.formed(&entry, Code::UnknownWord, text, quoted.span, named)
    }

    /// A colour.
    pub(super) fn colour(&mut self, entry: Option<Entry<'a>>) -> Option<Spanned<Rgb>> {
        let entry = entry?;
        let quoted = self.quoted(&entry)?;
        self.formed(&entry, Code::BadValue, quoted.text, quoted.span, colours::rgb(quoted.text))
    }

    /// A value that is a text of some form or a number of seconds.
    fn timed<T>(
        &mut self,
        entry: Entry<'a>,
        from_text: impl Fn(&str) -> Result<T, FormError>,
        from_seconds: impl Fn(f64) -> Result<T, FormError>,
    ) -> Option<Spanned<T>> {
        if let Some(seconds) = self.number(&entry) {
            let written = self.source[entry.span.start..entry.span.end].to_owned();
            // The text form is exact where it applies; `1e3` and its kin go through the number.
            let result = from_text(&written).or_else(|_| from_seconds(seconds));
            return self.formed(&entry, Code::BadValue, &written, entry.span, result);
        }
        if let DeValue::Datetime(moment) = entry.value
            && moment.date.is_none()
            && !self.is_broken(entry.span)
        {
            let written = &self.source[entry.span.start..entry.span.end];
            self.report(
                Diagnostic::error(Code::BadValue, entry.span, format!("the time `{written}` is not in quotes"))
                    .label("TOML reads this as a time of day")
                    .hint(format!("write \"{written}\"")),
            );
            return None;
        }
        let quoted = self.quoted(&entry)?;
        self.formed(&entry, Code::BadValue, quoted.text, quoted.span, from_text(quoted.text))
    }

    /// The number behind a key, whole or not; `None` if it is something else.
    fn number(&self, entry: &Entry<'a>) -> Option<f64> {
        if self.is_broken(entry.span) {
            return None;
        }
        match entry.value {
            DeValue::Integer(number) if number.radix() == 10 => number.as_str().parse().ok(),
            DeValue::Float(number) => number.as_str().parse().ok(),
            _ => None,
        }
    }

    /// The value, or a report of why the text does not give one.
    fn formed<T>(
        &mut self,
        entry: &Entry<'a>,
        code: Code,
        text: &str,
        span: Span,
        result: Result<T, FormError>,
    ) -> Option<Spanned<T>> {
        match result {
            Ok(value) => Some(Spanned::new(value, span)),
            Err(error) => {
                let name = entry.key.name;
                let message = if text.trim().is_empty() {
                    format!("`{name}` is empty")
                } else {
                    format!("`{}` is not a value of `{name}`", shortened(text))
                };
                self.report(with_error(Diagnostic::error(code, span, message), error));
                None
            }
        }
    }

    fn empty<T>(&mut self, entry: &Entry<'a>, span: Span) -> Option<T> {
        let name = entry.key.name;
        self.report(
            Diagnostic::error(Code::BadValue, span, format!("`{name}` is empty"))
                .label("nothing is written here")
                .hint(format!("`{name}` takes {}; leave the key out if there is none", entry.key.form.accepts())),
        );
        None
    }

    fn out_of_range<T>(&mut self, entry: &Entry<'a>, fact: &str) -> Option<T> {
        let (name, written) = (entry.key.name, &self.source[entry.span.start..entry.span.end]);
        self.report(
            Diagnostic::error(Code::BadValue, entry.span, format!("`{name}` cannot be `{written}`"))
                .label(fact)
                .hint(format!("`{name}` takes {}", entry.key.form.accepts())),
        );
        None
    }

    /// Reports a value of another type than the key takes, unless it only fills a gap in broken TOML.
    pub(super) fn wrong_type<T>(&mut self, entry: &Entry<'a>) -> Option<T> {
        if !self.is_broken(entry.span) {
            let (name, kind) = (entry.key.name, type_name(entry.value));
            self.report(
                Diagnostic::error(Code::BadValue, entry.span, format!("`{name}` cannot be {kind}"))
                    .label(kind)
                    .hint(format!("`{name}` takes {}", entry.key.form.accepts())),
            );
        }
        None
    }
}

impl Entry<'_> {
    /// The key as written.
    pub(super) fn name(&self) -> &'static str {
        self.key.name
    }

    /// What stands behind the key, for keys that take more than one type.
    pub(super) fn is_integer(&self) -> bool {
        self.value.is_integer()
    }
}

/// Adds the reason and the hints of a failed form.
pub(super) fn with_error(diagnostic: Diagnostic, error: FormError) -> Diagnostic {
    error.hints.into_iter().fold(diagnostic.label(error.fact), Diagnostic::hint)
}

/// A text for a headline: no more than 40 characters of its first line.
pub(super) fn shortened(text: &str) -> String {
    let line: String = text.chars().take_while(|c| !c.is_control()).take(41).collect();
    if line.len() == text.len() && line.chars().count() <= 40 {
        line
    } else {
        line.chars().take(39).chain(['\u{2026}']).collect()
    }
}

fn unknown_key(keys: &'static Keys, name: &str, span: Span) -> Diagnostic {
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

fn missing_key(keys: &'static Keys, name: &str, span: Span) -> Diagnostic {
    let diagnostic = Diagnostic::error(Code::MissingKey, span, format!("{} has no `{name}`", keys.name));
    match keys.get(name) {
        Some(Key { form: Form::Tables(_), .. }) => diagnostic.hint(format!("begin one with `[[{name}]]`")),
        Some(key) => diagnostic.hint(format!("`{name}` takes {}", key.form.accepts())),
        None => diagnostic,
    }
}

fn type_name(value: &DeValue<'_>) -> &'static str {
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
