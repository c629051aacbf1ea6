//! The text of one subtitle cue → words: tags, coordinates, entities and sounds in brackets taken out, times between
//! words (`<00:01:02.500>`) kept.

use super::clock::clock;
use super::piece::Token;
use crate::units::Time;

/// The words of a cue's lines, in order.
pub(super) fn words(lines: &[&str]) -> Vec<Token> {
    let mut reader = Words::default();
    for line in lines {
        reader.line(line);
        reader.break_word();
    }
    reader.said
}

/// Whether a line has times between its words.
pub(super) fn has_times(line: &str) -> bool {
    line.match_indices('<').any(|(at, _)| {
        let inside = line[at + 1..].split('>').next().unwrap_or_default();
        inside.contains(':') && clock(inside).is_some()
    })
}

#[derive(Default)]
struct Words {
    said: Vec<Token>,
    word: String,
    /// The time that was written before the word in the making.
    stamp: Option<Time>,
}

impl Words {
    fn line(&mut self, line: &str) {
        let mut rest = line;
        while let Some(next) = rest.chars().next() {
            let after = match next {
                '<' => self.tag(rest),
                '&' => self.entity(rest),
                '{' => braces(rest),
                // What recognisers put in square brackets is a sound or a remark and is not said.
                '[' => rest.find(']').map(|end| &rest[end + 1..]),
                _ => None,
            };
            rest = after.unwrap_or_else(|| {
                if next.is_whitespace() {
                    self.break_word();
                } else if !is_invisible(next) {
                    self.word.push(next);
                }
                &rest[next.len_utf8()..]
            });
        }
    }

    /// A tag at the start of `rest`, if there is one; what follows it.
    fn tag<'a>(&mut self, rest: &'a str) -> Option<&'a str> {
        let end = rest.find('>')?;
        let inside = &rest[1..end];
        let first = inside.chars().next()?;
        if first.is_ascii_digit() {
            let time = clock(inside).filter(|_| inside.contains(':'))?;
            self.break_word();
            self.stamp = Some(time);
        } else if !first.is_alphabetic() && first != '/' {
            return None;
        }
        Some(&rest[end + 1..])
    }

    fn entity<'a>(&mut self, rest: &'a str) -> Option<&'a str> {
        // The longest entity that is read is `&rlm;` or a number; a semicolon far away belongs to the text.
        let end = rest.bytes().take(10).position(|byte| byte == b';')?;
        match &rest[1..end] {
            "amp" => self.word.push('&'),
            "lt" => self.word.push('<'),
            "gt" => self.word.push('>'),
            "quot" => self.word.push('"'),
            "apos" => self.word.push('\''),
            "nbsp" => self.break_word(),
            "lrm" | "rlm" | "shy" => {}
            number => {
                let digits = number.strip_prefix('#')?;
                let code = match digits.strip_prefix(['x', 'X']) {
                    Some(hex) => u32::from_str_radix(hex, 16).ok()?,
                    None => digits.parse().ok()?,
                };
                let character = char::from_u32(code)?;
                if character.is_whitespace() { self.break_word() } else { self.word.push(character) }
            }
        }
        Some(&rest[end + 1..])
    }

    fn break_word(&mut self) {
        if !self.word.is_empty() {
            let text = std::mem::take(&mut self.word);
            self.said.push(Token { text, start: self.stamp.take(), end: None });
        }
    }
}

/// A styling override at the start of `rest`: `{\an8}`, `{y:i}`; what follows it.
fn braces(rest: &str) -> Option<&str> {
    let end = rest.find('}')?;
    let inside = &rest[1..end];
    (inside.starts_with('\\') || inside.as_bytes().get(1) == Some(&b':')).then(|| &rest[end + 1..])
}

/// Marks of direction, joiners and the byte order mark in the middle of a text.
fn is_invisible(c: char) -> bool {
    matches!(c, '\u{200b}'..='\u{200f}' | '\u{202a}'..='\u{202e}' | '\u{2060}'..='\u{2069}' | '\u{feff}' | '\u{ad}' | '\0')
}

#[cfg(test)]
mod tests {
    use super::*;

    fn texts(lines: &[&str]) -> Vec<String> {
        words(lines).into_iter().map(|token| token.text).collect()
    }

    #[test]
    fn styling_is_taken_out() {
        assert_eq!(
            texts(&["{\\an8}<i>The kn</i>ight</i>", "<font color=\"#fff\">takes</font> &amp; &#99;hecks [Music] ok"]),
            ["The", "knight", "takes", "&", "checks", "ok"]
        );
        assert_eq!(texts(&["<v Ann><c.loud>one</c>&nbsp;two"]), ["one", "two"]);
        assert_eq!(texts(&["2 < 3 <= {4} & so; [open"]), ["2", "<", "3", "<=", "{4}", "&", "so;", "[open"]);
    }

    #[test]
    fn times_between_words_are_kept() {
        let line = "the<00:00:01.500><c> rook</c><00:00:02.000><c> to</c> d6";
        let found: Vec<(String, Option<Time>)> = words(&[line]).into_iter().map(|t| (t.text, t.start)).collect();
        let ms = |millis| Some(Time::from_millis(millis));
        let expected = [("the", None), ("rook", ms(1500)), ("to", ms(2000)), ("d6", None)];
        assert_eq!(found, expected.map(|(text, time)| (text.to_owned(), time)));
        assert!(has_times(line) && !has_times("<i>no</i>") && !has_times("a < b"));
    }
}
