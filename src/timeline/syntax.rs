//! The text as TOML: a tree of values with spans, and every syntax error said in the author's terms.
//!
//! The `toml` crate goes on after an error and fills the gap with something; [`Document::broken`] tells where, so that
//! the reader does not report its fillings as the author's.

use crate::diag::{Code, Diagnostic};
use crate::source::Span;
use toml::de::{DeTable, DeValue};
use toml::{Spanned as Placed, de::Error};

/// A TOML document as far as it could be read.
pub(super) struct Document<'a> {
    /// The root table.
    pub(super) root: DeTable<'a>,
    /// Where the text is not TOML; values that touch these places are not the author's.
    pub(super) broken: Vec<Span>,
    /// One for every syntax error.
    pub(super) diagnostics: Vec<Diagnostic>,
}

/// Reads `text` as TOML.
pub(super) fn read(text: &str) -> Document<'_> {
    let (root, errors) = DeTable::parse_recoverable(text);
    let root = root.into_inner();
    let mut document = Document { root, broken: Vec::new(), diagnostics: Vec::new() };
    let mut faults: Vec<Fault> = errors.iter().map(|error| Fault::new(text, error)).collect();
    faults.sort_by_key(|fault| fault.span.start);
    document.broken = faults.iter().map(|fault| fault.reach(text)).collect();
    drop_what_an_open_text_swallows(&mut faults);
    document.take_unclosed_bracket(text, &mut faults);
    drop_consequences(text, &mut faults);
    for fault in faults {
        let diagnostic = fault.diagnostic(text, &document.root);
        document.diagnostics.push(diagnostic);
    }
    document
}

/// An error of the TOML parser.
struct Fault {
    message: String,
    span: Span,
}

impl Fault {
    fn new(text: &str, error: &Error) -> Fault {
        let range = error.span().unwrap_or(text.len()..text.len());
        let (mut start, mut end) = (range.start.min(text.len()), range.end.min(text.len()));
        while !text.is_char_boundary(start) {
            start -= 1;
        }
        while !text.is_char_boundary(end) {
            end += 1;
        }
        Fault { message: error.message().to_owned(), span: Span::new(start, end.max(start)) }
    }

    fn says(&self, beginning: &str) -> bool {
        self.message.starts_with(beginning)
    }

    /// What the error makes doubtful: its own place, or, after a header that was lost, all keys up to the next one.
    fn reach(&self, text: &str) -> Span {
        if self.says("unclosed table") || self.says("unclosed array table") || self.says("missing key for") {
            let end = text[self.span.end..].find("\n[").map_or(text.len(), |offset| self.span.end + offset);
            return Span::new(self.span.start, end);
        }
        self.span
    }

    fn diagnostic(&self, text: &str, root: &DeTable<'_>) -> Diagnostic {
        let written = &text[self.span.start..self.span.end];
        let syntax = |message: String| Diagnostic::error(Code::Syntax, self.span, message);
        if let Some(apostrophe) = self.apostrophe(text) {
            return apostrophe;
        }
        if self.says("duplicate key") {
            let name = written.trim_matches(['"', '\'']);
            let diagnostic = Diagnostic::error(Code::Duplicate, self.span, format!("`{name}` is given twice"))
                .hint(format!("keep one `{name}`"));
            return match first_of(text, root, name, self.span) {
                Some(first) => diagnostic.label("given again here").also(first, "first given here"),
                None => diagnostic.label("given before"),
            };
        }
        if self.says("string values must be quoted") && written.is_empty() {
            return syntax("a key has no value".to_owned()).label("nothing is written here").hint("write its value");
        }
        if let Some(key) = self.key_without_comma(text) {
            let place = Span::new(key, key);
            return Diagnostic::error(Code::Syntax, place, "a comma is missing between two keys")
                .label("expected `,`")
                .hint("put a comma before this key");
        }
        if self.is_unquoted() && written.contains(['\u{201c}', '\u{201d}', '\u{201e}']) {
            let plain = written.replace(['\u{201c}', '\u{201d}', '\u{201e}'], "");
            return syntax(format!("`{written}` stands in curved quotes"))
                .label("curved quotes do not hold a text")
                .hint(format!("write \"{plain}\""));
        }
        if self.is_unquoted() {
            let label = if written.bytes().next().is_some_and(|b| b.is_ascii_digit()) {
                "neither a number nor a text in quotes"
            } else {
                "a text without quotes"
            };
            return syntax(format!("`{written}` is not in quotes")).label(label).hint(format!("write \"{written}\""));
        }
        if self.says("unclosed table") || self.says("unclosed array table") {
            let brackets = if self.says("unclosed table") { "]" } else { "]]" };
            return syntax("a header is not closed".to_owned())
                .label(format!("the closing `{brackets}` is missing"))
                .hint(format!("put `{brackets}` at the end of the header"));
        }
        if self.says("unexpected leading zero") {
            let digits = text[self.span.start..].split(|c: char| !c.is_ascii_alphanumeric() && c != '.').next();
            let digits = digits.unwrap_or(written);
            let plain = digits.trim_start_matches('0');
            let span = Span::new(self.span.start, self.span.start + digits.len());
            return Diagnostic::error(Code::Syntax, span, format!("`{digits}` begins with a zero"))
                .label("a number begins with another digit")
                .hint(format!("write {}", if plain.is_empty() { "0" } else { plain }));
        }
        if (self.says("invalid time") || self.says("invalid date")) && written.contains(':') {
            return syntax(format!("the time `{written}` is not in quotes"))
                .label("a time without quotes")
                .hint(format!("write \"{written}\""));
        }
        if self.says("missing comma between key-value pairs") {
            return syntax("a comma is missing between two keys".to_owned())
                .label("expected `,`")
                .hint("put a comma before this key");
        }
        if self.says("missing comma between array elements") {
            return syntax("a comma is missing between two entries".to_owned())
                .label("expected `,`")
                .hint("put a comma before this entry");
        }
        if self.says("extra `=`") || self.says("extra assignment") {
            return syntax("a key has two `=`".to_owned()).label("the second").hint("write `key = value`");
        }
        if self.says("key with no value") {
            return syntax("a key has no `=`".to_owned()).label("expected `=`").hint("write `key = value`");
        }
        if let Some(quotes) = self.missing_quotes() {
            let opening = if quotes.len() == 3 { opening_of(root, self.span.end) } else { None };
            // What ends there may be a text that never had quotes.
            let opening = opening.filter(|start| text[*start..].starts_with(quotes));
            let unclosed = |span| Diagnostic::error(Code::Syntax, span, "a text is not closed");
            let diagnostic = match opening {
                Some(start) => unclosed(Span::new(start, start + quotes.len())).label("opened here"),
                None => unclosed(self.span).label(format!("the closing `{quotes}` is missing")),
            };
            return diagnostic.hint(format!("put `{quotes}` at the end of the text"));
        }
        if self.says("unexpected key or value") {
            let rest = text[self.span.start..].lines().next().unwrap_or("").trim_end();
            let span = Span::new(self.span.start, self.span.start + rest.len());
            return Diagnostic::error(Code::Syntax, span, "a value is followed by something else on its line")
                .label("the value ends before this")
                .hint("a quote inside a text is written `\\\"`, or the text stands in '\u{2026}'");
        }
        if self.says("missing escaped value") {
            let letter: String = text[self.span.start..].chars().take(1).collect();
            return syntax(format!("`\\{letter}` means nothing in a text in double quotes"))
                .label("not an escape")
                .hint("a backslash is written `\\\\`, or the text stands in '\u{2026}'");
        }
        let (what, expected) = self.message.split_once(", expected ").unwrap_or((&self.message, ""));
        let diagnostic = syntax(format!("this is not TOML: {what}"));
        if expected.is_empty() { diagnostic } else { diagnostic.label(format!("expected {expected}")) }
    }
}

/// A text that is not closed takes in the brackets behind it on its line: that they are missing then is no mistake.
fn drop_what_an_open_text_swallows(faults: &mut Vec<Fault>) {
    let is_unclosed = |fault: &Fault| fault.says("unclosed array,") || fault.says("unclosed inline table");
    let open = faults.iter().position(|fault| fault.missing_quotes().is_some_and(|quotes| quotes.len() == 1));
    // Where it swallowed one, the parser stumbles on from there to the file's end.
    if let Some(open) = open.filter(|_| faults.iter().any(is_unclosed)) {
        faults.truncate(open + 1);
        faults.retain(|fault| !is_unclosed(fault));
    }
}

impl Document<'_> {
    /// Says the innermost bracket that is never closed, and drops what the parser stumbled over after it.
    ///
    /// The parser takes everything up to the end of the file as the bracket's content, so its other complaints from
    /// the first one on are about one missing character.
    fn take_unclosed_bracket(&mut self, text: &str, faults: &mut Vec<Fault>) {
        let (mut array, mut table) = (false, false);
        for fault in &*faults {
            array |= fault.says("unclosed array,");
            table |= fault.says("unclosed inline table");
        }
        let end = faults.last().map_or(text.len(), |fault| fault.span.end);
        let mut open: Vec<(Span, bool)> = Vec::new();
        each_value(&self.root, &mut |value, span| {
            let bracket = match value {
                DeValue::Array(_) if array => '[',
                DeValue::Table(_) if table => '{',
                _ => return,
            };
            if span.end >= end && text[span.start..].starts_with(bracket) {
                open.push((Span::new(span.start, span.start + 1), bracket == '['));
            }
        });
        let Some(&(bracket, is_array)) = open.iter().max_by_key(|(span, _)| span.start) else { return };
        let stumbled = faults
            .iter()
            .find(|fault| fault.span.start > bracket.start && !fault.is_about_a_scalar())
            .map_or(end, |fault| fault.span.start);
        // A header is an array to the parser here, and no stumbling block.
        let header = text[bracket.end..].find("\n[").map_or(end, |offset| bracket.end + offset + 1);
        let noticed = stumbled.min(header);
        let (opening, closing) = if is_array { ("[", "]") } else { ("{", "}") };
        let mut diagnostic = Diagnostic::error(Code::Syntax, bracket, format!("`{opening}` is never closed"))
            .label("opened here")
            .hint(format!("put `{closing}` where it ends"));
        if noticed < text.trim_end().len() {
            let word = text[noticed..].split(['\n', '\r']).next().map_or(0, |line| line.trim_end().len());
            diagnostic =
                diagnostic.also(Span::new(noticed, noticed + word), format!("`{closing}` expected before this"));
        }
        faults.retain(|fault| fault.span.start < noticed && !fault.says("unclosed"));
        self.broken.push(Span::new(noticed, text.len()));
        self.diagnostics.push(diagnostic);
    }
}

impl Fault {
    /// Whether a value is a text without quotes; one that begins with `t` or `f` the parser takes for a truth value.
    fn is_unquoted(&self) -> bool {
        self.says("string values must be quoted") || self.says("invalid boolean")
    }

    /// The error where the apostrophe of a word ended a text in single quotes: `'it isn't so'`.
    fn apostrophe(&self, text: &str) -> Option<Diagnostic> {
        let rest = &text[self.span.start..];
        let before = text[..self.span.start].strip_suffix('\'')?;
        let inside = |sign: Option<char>| sign.is_some_and(char::is_alphabetic);
        let begun = before.rfind(['\n', '\'']).filter(|at| before[*at..].starts_with('\''))?;
        if !inside(before.chars().next_back()) || !inside(rest.chars().next()) {
            return None;
        }
        let quote = Span::new(before.len(), before.len() + 1);
        let error = Diagnostic::error(Code::Syntax, quote, "an apostrophe ends a text in single quotes")
            .label("the text ends here")
            .also(Span::new(begun, begun + 1), "it begins here");
        let line = rest.lines().next().unwrap_or_default();
        // Only where no other apostrophe could end it.
        let end = line.find('\'').filter(|_| line.matches('\'').count() == 1);
        let whole = end.map(|end| format!("{}'{}", &before[begun + 1..], &line[..end]));
        Some(match whole.filter(|whole| !whole.contains(['"', '\\'])) {
            Some(whole) => error.hint(format!("write \"{whole}\"")),
            None => error.hint("write the text in double quotes, \"\u{2026}\", where an apostrophe is only a letter"),
        })
    }

    /// Where the next key begins, if this is a number and that key run together: `at = 1 play = "e4"`.
    fn key_without_comma(&self, text: &str) -> Option<usize> {
        if !self.is_unquoted() || !text[self.span.end..].trim_start_matches([' ', '\t']).starts_with('=') {
            return None;
        }
        let (value, key) = text[self.span.start..self.span.end].rsplit_once([' ', '\t'])?;
        let is_value = value.trim().parse::<f64>().is_ok() || matches!(value.trim(), "true" | "false");
        is_value.then_some(self.span.end - key.len())
    }

    /// The quotes that a text lacks at its end.
    fn missing_quotes(&self) -> Option<&'static str> {
        let one = self.message.strip_prefix("invalid ")?;
        let (lines, one) = one.strip_prefix("multi-line ").map_or((false, one), |one| (true, one));
        match (one, lines) {
            ("basic string, expected `\"`", false) => Some("\""),
            ("basic string, expected `\"`", true) => Some("\"\"\""),
            ("literal string, expected `'`", false) => Some("'"),
            ("literal string, expected `'`", true) => Some("'''"),
            _ => None,
        }
    }

    /// Whether only one value is wrong, not the way values stand together.
    fn is_about_a_scalar(&self) -> bool {
        const JOINS: [&str; 9] = [
            "missing comma",
            "extra comma",
            "extra assignment",
            "extra `=`",
            "unexpected",
            "unclosed",
            "missing key",
            "missing value",
            "invalid inline table",
        ];
        self.says("unexpected leading zero") || !JOINS.iter().any(|beginning| self.says(beginning))
    }
}

/// Drops what the parser stumbled over only because of the fault before it: on a line, all that follows a fault in how
/// values stand together.
fn drop_consequences(text: &str, faults: &mut Vec<Fault>) {
    let mut ended: Option<usize> = None;
    faults.retain(|fault| {
        let follows = ended.is_some_and(|at| at <= fault.span.start && !text[at..fault.span.start].contains('\n'));
        if !follows && (!fault.is_about_a_scalar() || fault.key_without_comma(text).is_some()) {
            ended = Some(fault.span.start);
        }
        !follows
    });
}

/// Where the text begins that the end of the file, or of its line, cuts off at `end`.
fn opening_of(root: &DeTable<'_>, end: usize) -> Option<usize> {
    let mut opening = None;
    each_value(root, &mut |value, span| {
        if span.end == end && value.is_str() {
            opening = Some(span.start);
        }
    });
    opening
}

/// Calls `see` with every value of the tree and its place.
fn each_value<'t, 'a>(table: &'t DeTable<'a>, see: &mut dyn FnMut(&'t DeValue<'a>, Span)) {
    fn value_of<'t, 'a>(value: &'t Placed<DeValue<'a>>, see: &mut dyn FnMut(&'t DeValue<'a>, Span)) {
        see(value.get_ref(), value.span().into());
        match value.get_ref() {
            DeValue::Array(array) => array.iter().for_each(|entry| value_of(entry, see)),
            DeValue::Table(table) => each_value(table, see),
            _ => {}
        }
    }
    for value in table.values() {
        value_of(value, see);
    }
}

/// Where the key that a duplicate at `again` repeats was first written: the key of that name in the smallest inline
/// table around it, else under the last header before it.
fn first_of(text: &str, root: &DeTable<'_>, name: &str, again: Span) -> Option<Span> {
    let key_in = |table: &DeTable<'_>| {
        let (key, _) = table.get_key_value(name)?;
        let span: Span = key.span().into();
        (span.end <= again.start).then_some(span)
    };
    let mut found = key_in(root).map(|span| (0, span));
    each_value(root, &mut |value, place| {
        let DeValue::Table(table) = value else { return };
        // A header's table goes on behind its place, an inline table does not.
        let is_around = !text[place.start..].starts_with('{') || again.end <= place.end;
        let is_nearer = found.is_none_or(|(start, _)| start <= place.start);
        if place.start <= again.start && is_around && is_nearer {
            found = key_in(table).map(|span| (place.start, span)).or(found);
        }
    });
    found.map(|(_, span)| span)
}
