//! Takes values out of TOML tables by the key table ([`super::keys`]), each in its form, and reports what is not.

mod faults;
mod values;

use super::keys::{Form, Key, Keys};
use super::text::Quoted;
use crate::diag::{Code, Diagnostic};
use crate::source::{Span, Spanned};
use faults::{missing_key, type_name, unknown_key};
use toml::de::{DeTable, DeValue};

pub(super) use faults::{shortened, with_error};

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
