//! A PGN text, parted into games, tags and the words of the movetext, each with its place.

use crate::source::Span;

/// One game.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub(super) struct Game {
    pub tags: Vec<Tag>,
    pub tokens: Vec<Token>,
    /// What cannot be read, in the order of the text.
    pub faults: Vec<Fault>,
}

/// `[Name "value"]`.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct Tag {
    pub name: String,
    /// With `\"` and `\\` resolved.
    pub value: String,
    /// The value with its quotes.
    pub span: Span,
}

/// A piece of the movetext.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct Token {
    pub kind: Kind,
    pub span: Span,
}

/// What a token is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Kind {
    /// A move, a number, or a sign of its own.
    Word,
    /// `(`.
    Open,
    /// `)`.
    Close,
    /// `$4`.
    Nag(u32),
}

/// Something that is not PGN.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct Fault {
    pub span: Span,
    pub message: String,
    pub label: String,
}

impl Game {
    /// The value of a tag.
    pub(super) fn tag(&self, name: &str) -> Option<&Tag> {
        self.tags.iter().find(|tag| tag.name.eq_ignore_ascii_case(name))
    }

    fn fault(&mut self, span: Span, message: impl Into<String>, label: impl Into<String>) {
        self.faults.push(Fault { span, message: message.into(), label: label.into() });
    }

    fn is_empty(&self) -> bool {
        self.tags.is_empty() && self.tokens.is_empty() && self.faults.is_empty()
    }
}

/// Every game of a text.
pub(super) fn games(text: &str) -> Vec<Game> {
    let mut reader = Reader { text, at: 0, games: Vec::new(), game: Game::default(), in_moves: false };
    if text.starts_with('\u{feff}') {
        reader.at = '\u{feff}'.len_utf8();
    }
    while reader.at < text.len() {
        reader.step();
    }
    reader.end_game();
    reader.games
}

struct Reader<'a> {
    text: &'a str,
    at: usize,
    games: Vec<Game>,
    game: Game,
    /// Past the tags of the game.
    in_moves: bool,
}

impl Reader<'_> {
    fn rest(&self) -> &str {
        &self.text[self.at..]
    }

    fn end_game(&mut self) {
        let game = std::mem::take(&mut self.game);
        if !game.is_empty() {
            self.games.push(game);
        }
        self.in_moves = false;
    }

    fn at_line_start(&self) -> bool {
        self.at == 0 || self.text[..self.at].ends_with(['\n', '\r', '\u{feff}'])
    }

    /// The bytes up to a sign, or to the end; without the sign.
    fn until(&self, stop: impl Fn(char) -> bool) -> usize {
        self.rest().find(stop).map_or(self.text.len(), |length| self.at + length)
    }

    /// Reads one thing and moves on by a byte at least.
    fn step(&mut self) {
        let Some(sign) = self.rest().chars().next() else { return };
        let start = self.at;
        let one = Span::new(start, start + sign.len_utf8());
        match sign {
            _ if sign.is_whitespace() => self.at = one.end,
            '%' if self.at_line_start() => self.at = self.until(|sign| matches!(sign, '\n' | '\r')),
            ';' => self.at = self.until(|sign| matches!(sign, '\n' | '\r')),
            '{' => {
                let end = self.until(|sign| sign == '}');
                if end == self.text.len() {
                    self.game.fault(one, "the PGN has a comment without an end", "no `}` closes it");
                }
                self.at = (end + 1).min(self.text.len());
            }
            '[' => self.tag(),
            '(' | ')' => self.token(if sign == '(' { Kind::Open } else { Kind::Close }, one),
            '$' => {
                let digits = self.text[one.end..].bytes().take_while(u8::is_ascii_digit).count();
                let span = Span::new(start, one.end + digits);
                match self.text[one.end..span.end].parse::<u32>() {
                    Ok(value) if value <= 255 => self.token(Kind::Nag(value), span),
                    _ => {
                        self.game.fault(span, "the PGN has a `$` without a number from 0 to 255", "no glyph");
                        self.at = span.end;
                    }
                }
            }
            '}' | ']' | '"' | '<' | '>' => {
                let message = format!("the PGN has `{sign}` in its movetext");
                self.game.fault(one, message, "nothing it could belong to");
                self.at = one.end;
            }
            _ => {
                let end = self.until(|sign| sign.is_whitespace() || "(){}[];$<>\"".contains(sign));
                let span = Span::new(start, end.max(one.end));
                let ends =
                    matches!(&self.text[span.start..span.end], "1-0" | "0-1" | "1/2-1/2" | "*" | "\u{bd}-\u{bd}");
                if ends {
                    self.at = span.end;
                    self.end_game();
                } else {
                    self.token(Kind::Word, span);
                }
            }
        }
    }

    fn token(&mut self, kind: Kind, span: Span) {
        self.in_moves = true;
        self.game.tokens.push(Token { kind, span });
        self.at = span.end;
    }

    /// `[Name "value"]`; after moves it begins the next game.
    fn tag(&mut self) {
        if self.in_moves {
            self.end_game();
        }
        let start = self.at;
        let Some((name, value, length)) = pair(&self.text[start..]) else {
            let line_end = self.until(|sign| matches!(sign, '\n' | '\r'));
            let span = Span::new(start, start + self.text[start..line_end].trim_end().len());
            self.game.fault(span, "the PGN has a tag that cannot be read", "a tag looks like `[Event \"Club night\"]`");
            self.at = line_end;
            return;
        };
        let quoted = Span::new(start + value.0, start + value.1);
        let value = unescaped(&self.text[quoted.start + 1..quoted.end - 1]);
        self.game.tags.push(Tag { name, value, span: quoted });
        self.at = start + length;
    }
}

/// Name, bytes of the quoted value, and length of the tag at the start of a text. Between its tokens may be white space
/// of any kind (PGN standard 1994, §7 and §8.1.1), but within the value no line ends.
fn pair(text: &str) -> Option<(String, (usize, usize), usize)> {
    let inner = text.strip_prefix('[')?;
    let trimmed = inner.trim_start();
    let name: String = trimmed.chars().take_while(|sign| sign.is_alphanumeric() || *sign == '_').collect();
    if name.is_empty() {
        return None;
    }
    let after_name = text.len() - trimmed.len() + name.len();
    let quote = after_name + text[after_name..].find(|sign: char| !sign.is_whitespace())?;
    if !text[quote..].starts_with('"') {
        return None;
    }
    let mut escaped = false;
    let closes = |sign: char| {
        let closes = matches!(sign, '\n' | '\r') || (sign == '"' && !escaped);
        escaped = sign == '\\' && !escaped;
        closes
    };
    let close = quote + 1 + text[quote + 1..].find(closes)?;
    if !text[close..].starts_with('"') {
        return None;
    }
    let bracket = close + 1 + text[close + 1..].find(|sign: char| !sign.is_whitespace())?;
    text[bracket..].starts_with(']').then_some((name, (quote, close + 1), bracket + 1))
}

fn unescaped(text: &str) -> String {
    let mut plain = String::with_capacity(text.len());
    let mut signs = text.chars();
    while let Some(sign) = signs.next() {
        match sign {
            '\\' => plain.extend(signs.next()),
            sign => plain.push(sign),
        }
    }
    plain
}
