//! Numbers, times, words and colours, each out of the value behind its key.

use super::{Entry, Reader, shortened, with_error};
use crate::diag::{Code, Diagnostic};
use crate::source::{Span, Spanned};
use crate::timeline::colours::{self, Rgb, THEME, ThemeSetting};
use crate::timeline::forms::{self, FormError};
use crate::timeline::keys::Form;
use crate::timeline::words::Word;
use crate::timeline::{At, FrameShape};
use crate::units::{FrameRate, Time};
use std::time::Duration;
use toml::de::DeValue;

impl<'a> Reader<'a> {
    /// A whole number within the form's bounds.
    pub(in crate::timeline) fn count(&mut self, entry: Option<Entry<'a>>) -> Option<Spanned<u32>> {
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
    pub(in crate::timeline) fn integer(&mut self, entry: &Entry<'a>) -> Option<i64> {
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
    pub(in crate::timeline) fn ratio(&mut self, entry: Option<Entry<'a>>) -> Option<Spanned<f64>> {
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
    pub(in crate::timeline) fn flag(&mut self, entry: Option<Entry<'a>>) -> Option<bool> {
        let entry = entry?;
        match entry.value {
            DeValue::Boolean(flag) if !self.is_broken(entry.span) => Some(*flag),
            _ => self.wrong_type(&entry),
        }
    }

    /// A point on the clock or a length after the cue before.
    pub(in crate::timeline) fn at(&mut self, entry: Option<Entry<'a>>) -> Option<Spanned<At>> {
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
    pub(in crate::timeline) fn clock(&mut self, entry: Option<Entry<'a>>) -> Option<Spanned<Time>> {
        self.timed(entry?, forms::time, forms::time_from_seconds)
    }

    /// A length of time.
    pub(in crate::timeline) fn length(&mut self, entry: Option<Entry<'a>>) -> Option<Spanned<Duration>> {
        self.timed(entry?, forms::length, forms::length_from_seconds)
    }

    /// A frame rate, a whole number or a text.
    pub(in crate::timeline) fn rate(&mut self, entry: Option<Entry<'a>>) -> Option<Spanned<FrameRate>> {
        let entry = entry?;
        let (text, span) = match entry.value {
            DeValue::Integer(_) => (self.integer(&entry)?.to_string(), entry.span),
            DeValue::Float(number) if !self.is_broken(entry.span) => (number.as_str().to_owned(), entry.span),
            _ => self.quoted(&entry).map(|quoted| (quoted.text.to_owned(), quoted.span))?,
        };
        self.formed(&entry, Code::BadValue, &text, span, forms::frame_rate(&text))
    }

    /// The shape of the picture.
    pub(in crate::timeline) fn shape(&mut self, entry: Option<Entry<'a>>) -> Option<Spanned<FrameShape>> {
        let entry = entry?;
        let quoted = self.quoted(&entry)?;
        let looks_like_a_size = quoted.text.bytes().next().is_some_and(|b| b.is_ascii_digit());
        let code = if looks_like_a_size { Code::BadValue } else { Code::UnknownWord };
        self.formed(&entry, code, quoted.text, quoted.span, quoted.text.parse())
    }

    /// A word out of a closed list.
    pub(in crate::timeline) fn word<T: Word>(&mut self, entry: Option<Entry<'a>>) -> Option<Spanned<T>> {
        let entry = entry?;
        let quoted = self.quoted(&entry)?;
        self.formed(&entry, Code::UnknownWord, quoted.text, quoted.span, quoted.text.parse())
    }

    /// A theme: a name, a file, or a table.
    pub(in crate::timeline) fn theme(&mut self, entry: Option<Entry<'a>>) -> Option<Spanned<ThemeSetting>> {
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
    pub(in crate::timeline) fn colour(&mut self, entry: Option<Entry<'a>>) -> Option<Spanned<Rgb>> {
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
}
