//! What a transcript's words fall into: small letters, one sound a token, each with all it may mean.

use super::language::{Class, Language, Reading};
use crate::narration::transcript::Transcript;
use crate::units::Role;
use std::time::Duration;

/// So long a silence between phrases ends a sentence.
const SILENCE: Duration = Duration::from_millis(500);

/// A piece of a word that means one thing.
#[derive(Clone, Debug)]
pub(super) struct Token {
    /// In small letters, without punctuation.
    pub text: String,
    /// Its word in the transcript.
    pub word: usize,
    /// All it may mean.
    pub readings: Vec<Reading>,
    /// What stands behind it.
    pub stop: Stop,
    /// Whether it is written with something after an apostrophe: `king's`.
    pub owns: bool,
    /// Whether a question ends with it.
    pub asks: bool,
}

/// What parts a token from the next.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub(super) enum Stop {
    /// Nothing.
    None,
    /// A comma or a dash.
    Comma,
    /// The end of a sentence.
    Full,
}

impl Token {
    /// What is against this token being of a class; `None` if it is not.
    pub fn cost(&self, class: Class) -> Option<f32> {
        self.readings.iter().find(|reading| reading.class == class).map(|reading| reading.cost)
    }

    /// Whether it is of a class, whatever is against it.
    pub fn is(&self, class: Class) -> bool {
        self.cost(class).is_some()
    }

    /// The pieces it may name.
    pub fn pieces(&self) -> impl Iterator<Item = (Role, f32)> + '_ {
        self.readings.iter().filter_map(|reading| match reading.class {
            Class::Piece(role) => Some((role, reading.cost)),
            _ => None,
        })
    }

    /// The files it may name, from 0.
    pub fn files(&self) -> impl Iterator<Item = (u8, f32)> + '_ {
        self.readings.iter().filter_map(|reading| match reading.class {
            Class::File(file) => Some((file, reading.cost)),
            _ => None,
        })
    }

    /// The ranks it may name, from 0.
    pub fn ranks(&self) -> impl Iterator<Item = (u8, f32)> + '_ {
        self.readings.iter().filter_map(|reading| match reading.class {
            Class::Rank(rank) => Some((rank, reading.cost)),
            _ => None,
        })
    }
}

/// Every token of a transcript.
pub(super) fn tokens(transcript: &Transcript, language: &Language) -> Vec<Token> {
    let mut tokens = Vec::new();
    for (index, word) in transcript.words.iter().enumerate() {
        let first = tokens.len();
        let text = word.text.replace('\u{2019}', "'");
        let bare = text.trim_matches(|sign: char| !sign.is_alphanumeric());
        split(bare, index, language, &mut tokens);
        let tail: String = text.chars().rev().take_while(|sign| !sign.is_alphanumeric()).collect();
        if let Some(last) = tokens[first..].last_mut() {
            last.asks = tail.contains('?');
            last.stop = match tail {
                tail if tail.contains(['.', '!', '?', ':', ';']) => Stop::Full,
                tail if tail.contains([',', '-', '\u{2013}', '\u{2014}']) => Stop::Comma,
                _ => Stop::None,
            };
            // Where the recogniser parts phrases at a silence, a sentence ends, whether it writes a full stop or not.
            if transcript
                .words
                .get(index + 1)
                .is_some_and(|next| next.phrase != word.phrase && next.start.since(word.end) >= SILENCE)
            {
                last.stop = Stop::Full;
            }
            if text.contains(['+', '\u{2020}']) {
                sign(Class::Check, index, &mut tokens);
            } else if text.contains('#') {
                sign(Class::Mate, index, &mut tokens);
            }
        }
    }
    tokens
}

/// A token for a written sign, before the stop of the token it stands behind.
fn sign(class: Class, word: usize, tokens: &mut Vec<Token>) {
    let stop = tokens.last().map_or(Stop::None, |last| last.stop);
    if let Some(last) = tokens.last_mut() {
        last.stop = Stop::None;
    }
    tokens.push(Token {
        text: String::new(),
        word,
        readings: vec![Reading { class, cost: 0.0 }],
        stop,
        owns: false,
        asks: false,
    });
}

/// Splits one word: written moves into their signs, joined ones into theirs.
fn split(word: &str, index: usize, language: &Language, tokens: &mut Vec<Token>) {
    let mut add = |text: &str, readings: Vec<Reading>, owns: bool| {
        tokens.push(Token { text: text.to_owned(), word: index, readings, stop: Stop::None, owns, asks: false });
    };
    let lower = word.to_lowercase();
    if let Some(wing) = castling(&lower) {
        add("", vec![Reading { class: Class::Castles, cost: 0.0 }], false);
        return add("", vec![Reading { class: wing, cost: 0.0 }], false);
    }
    if !language.readings(&lower).is_empty() {
        return add(&lower, language.readings(&lower).to_vec(), false);
    }
    if let Some(signs) = written(word) {
        for (text, class) in signs {
            add(&text, vec![Reading { class, cost: 0.0 }], false);
        }
        return;
    }
    if let Some((owner, "s")) = lower.split_once('\'') {
        return add(owner, language.readings(owner).to_vec(), true);
    }
    // Joined by hyphens, or letters and figures run together: `d-five`, `age5`.
    let parts = |part: &str| -> Vec<String> {
        let cut = part.char_indices().zip(part.chars().skip(1)).filter(|((_, before), after)| {
            before.is_alphabetic() && after.is_ascii_digit() || before.is_ascii_digit() && after.is_alphabetic()
        });
        let cuts: Vec<usize> = cut.map(|((at, before), _)| at + before.len_utf8()).collect();
        let mut pieces = Vec::new();
        let mut from = 0;
        for cut in cuts {
            pieces.push(part[from..cut].to_owned());
            from = cut;
        }
        pieces.push(part[from..].to_owned());
        pieces
    };
    let keeps = |sign: char| sign.is_alphanumeric() || sign == '\'';
    for part in lower.split(|sign: char| !keeps(sign)).filter(|part| !part.is_empty()).flat_map(parts) {
        add(&part, language.readings(&part).to_vec(), false);
    }
}

fn castling(word: &str) -> Option<Class> {
    match word.replace(['0', '\u{2013}'], "o").replace('\u{2011}', "-").as_str() {
        "o-o" => Some(Class::Short),
        "o-o-o" | "ooo" => Some(Class::Long),
        _ => None,
    }
}

/// A move in signs, `Nf3`, `exd5`, `e7-e8=Q`, `rd6`: its parts, each with the text it would be spoken as. A small `b`
/// in front is left to the ear: it may be a bishop or a file.
fn written(word: &str) -> Option<Vec<(String, Class)>> {
    let mut signs: Vec<(String, Class)> = Vec::new();
    let mut rest: Vec<char> = word.chars().filter(|sign| !matches!(sign, '-' | '=' | '(' | ')' | '+' | '#')).collect();
    let role = |sign: char| {
        let small = matches!(sign, 'k' | 'q' | 'r' | 'n');
        let sign = if small { sign.to_ascii_uppercase() } else { sign };
        Role::ALL.into_iter().find(|role| *role != Role::Pawn && role.letter() == sign)
    };
    let has_digit = rest.iter().any(char::is_ascii_digit);
    if rest.len() > 8 || !has_digit {
        return None;
    }
    if let Some(found) = rest.first().and_then(|sign| role(*sign)) {
        signs.push((found.to_string(), Class::Piece(found)));
        rest.remove(0);
    }
    let promoted = if rest.len() >= 3 { rest.last().and_then(|sign| role(*sign)) } else { None };
    if promoted.is_some() {
        rest.pop();
    }
    for (at, sign) in rest.iter().enumerate() {
        let class = match sign.to_ascii_lowercase() {
            'x' | ':' if at > 0 || !signs.is_empty() => Class::Captures,
            file @ 'a'..='h' => Class::File(file as u8 - b'a'),
            rank @ '1'..='8' => Class::Rank(rank as u8 - b'1'),
            _ => return None,
        };
        signs.push((sign.to_ascii_lowercase().to_string(), class));
    }
    let ends_on_square = matches!(signs.as_slice(), [.., (_, Class::File(_)), (_, Class::Rank(_))]);
    if let Some(role) = promoted {
        signs.push((String::new(), Class::Promotes));
        signs.push((role.to_string(), Class::Piece(role)));
    }
    ends_on_square.then_some(signs)
}
