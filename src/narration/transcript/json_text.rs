//! JSON as recognisers write it, with the place of every value. Beside the standard (RFC 8259): several values one after
//! the other (JSON Lines), commas too many, and the `NaN` and `Infinity` that careless writers leave behind.

use crate::source::Span;

/// How deep values may lie in each other; recognisers need six.
const DEEPEST: usize = 64;

/// A value and its place.
#[derive(Debug)]
pub(super) struct Node {
    pub(super) span: Span,
    pub(super) value: Json,
}

#[derive(Debug)]
pub(super) enum Json {
    /// `null`, `true`, `false`: nothing that a transcript is made of.
    Other,
    Number(f64),
    Text(String),
    List(Vec<Node>),
    Table(Vec<(String, Node)>),
}

impl Node {
    /// A table's value; the first that bears one of these names.
    pub(super) fn get(&self, names: &[&str]) -> Option<&Node> {
        let Json::Table(entries) = &self.value else { return None };
        names.iter().find_map(|name| {
            entries.iter().find(|(key, node)| key == name && !matches!(node.value, Json::Other)).map(|(_, node)| node)
        })
    }

    /// A list's values.
    pub(super) fn list(&self) -> Option<&[Node]> {
        if let Json::List(nodes) = &self.value { Some(nodes) } else { None }
    }
}

/// Why and where a text is no JSON.
#[derive(Debug)]
pub(super) struct NoJson {
    pub(super) at: usize,
    pub(super) fact: &'static str,
}

/// Reads all values of a text. What was read before a mistake comes with it.
pub(super) fn parse(text: &str) -> (Vec<Node>, Option<NoJson>) {
    let mut parser = Parser { text, at: 0 };
    let mut values = Vec::new();
    loop {
        parser.skip(b",");
        if parser.at == text.len() {
            return (values, None);
        }
        match parser.value(0) {
            Ok(node) => values.push(node),
            Err(fact) => return (values, Some(NoJson { at: parser.at, fact })),
        }
    }
}

struct Parser<'a> {
    text: &'a str,
    /// Always on a character's boundary.
    at: usize,
}

impl<'a> Parser<'a> {
    fn rest(&self) -> &'a str {
        &self.text[self.at..]
    }

    /// Passes white space and these signs.
    fn skip(&mut self, signs: &[u8]) {
        let rest = self.rest();
        let kept = rest.trim_start_matches(|c: char| {
            matches!(c, ' ' | '\t' | '\n' | '\r' | '\u{feff}' | '\u{1e}') || c.is_ascii() && signs.contains(&(c as u8))
        });
        self.at += rest.len() - kept.len();
    }

    fn eat(&mut self, sign: &str) -> bool {
        let found = self.rest().starts_with(sign);
        if found {
            self.at += sign.len();
        }
        found
    }

    fn value(&mut self, depth: usize) -> Result<Node, &'static str> {
        if depth > DEEPEST {
            return Err("lists and tables lie too deep in each other");
        }
        let start = self.at;
        let value = match self.rest().bytes().next() {
            None => return Err("the text ends in the middle of a value"),
            Some(b'{') => self.table(depth)?,
            Some(b'[') => self.items(depth)?,
            Some(b'"') => Json::Text(self.string()?),
            Some(_) => self.word()?,
        };
        Ok(Node { span: Span::new(start, self.at), value })
    }

    fn items(&mut self, depth: usize) -> Result<Json, &'static str> {
        self.at += 1;
        let mut nodes = Vec::new();
        loop {
            self.skip(b",");
            if self.eat("]") {
                return Ok(Json::List(nodes));
            }
            nodes.push(self.value(depth + 1)?);
        }
    }

    fn table(&mut self, depth: usize) -> Result<Json, &'static str> {
        self.at += 1;
        let mut entries = Vec::new();
        loop {
            self.skip(b",");
            if self.eat("}") {
                return Ok(Json::Table(entries));
            }
            if !self.rest().starts_with('"') {
                return Err(if self.rest().is_empty() {
                    "the text ends in the middle of a table"
                } else {
                    "a name in quotes was expected"
                });
            }
            let name = self.string()?;
            self.skip(&[]);
            if !self.eat(":") {
                return Err("a colon was expected behind the name");
            }
            self.skip(&[]);
            entries.push((name, self.value(depth + 1)?));
        }
    }

    fn string(&mut self) -> Result<String, &'static str> {
        let start = self.at;
        self.at += 1;
        let mut string = String::new();
        loop {
            let rest = self.rest();
            let Some(end) = rest.find(['"', '\\']) else {
                self.at = start;
                return Err("a text without its closing quote");
            };
            string.push_str(&rest[..end]);
            self.at += end + 1;
            if rest.as_bytes()[end] == b'"' {
                return Ok(string);
            }
            self.escape(&mut string);
        }
    }

    /// What follows a backslash; an escape that is none stands for itself.
    fn escape(&mut self, string: &mut String) {
        let Some(letter) = self.rest().chars().next() else { return };
        self.at += letter.len_utf8();
        match letter {
            'n' | 'r' | 't' | 'b' | 'f' => string.push(' '),
            'u' => {
                let Some(high) = self.hex() else { return };
                let mut code = high;
                if (0xd800..0xdc00).contains(&high) && self.rest().starts_with("\\u") {
                    self.at += 2;
                    let low = self.hex().unwrap_or(0);
                    code = 0x10000 + ((high - 0xd800) << 10) + (low.wrapping_sub(0xdc00) & 0x3ff);
                }
                string.push(char::from_u32(code).unwrap_or(char::REPLACEMENT_CHARACTER));
            }
            other => string.push(other),
        }
    }

    fn hex(&mut self) -> Option<u32> {
        let code = u32::from_str_radix(self.rest().get(..4)?, 16).ok()?;
        self.at += 4;
        Some(code)
    }

    fn word(&mut self) -> Result<Json, &'static str> {
        let rest = self.rest();
        let end =
            rest.find(|c: char| !(c.is_ascii_alphanumeric() || matches!(c, '+' | '-' | '.'))).unwrap_or(rest.len());
        let word = &rest[..end];
        let value = match word {
            "null" | "true" | "false" | "None" | "NaN" | "Infinity" | "-Infinity" => Json::Other,
            _ if word.starts_with(|c: char| c == '-' || c.is_ascii_digit()) => {
                Json::Number(word.parse().map_err(|_| "a number of no known form")?)
            }
            _ => return Err("neither a text, a number, a list nor a table"),
        };
        self.at += end;
        Ok(value)
    }
}
