//! One word of `play`, read as a move without looking at a position.
//!
//! SAN (PGN standard 1994, §8.2.3) and what the trade writes besides: long algebraic `Rd5-d6` and `d5d6`, `c8Q`,
//! `c8(Q)`, `0-0`, `exd6e.p.`, figurines, a capture without `x`, a move number in front.

mod slip;

use crate::units::{Role, Square};
use shakmaty::{CastlingSide, File, Rank};
use slip::{Slip, repaired};
use std::ops::Range;

/// A move as it is written.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) struct Word {
    /// What is to be played.
    pub wanted: Wanted,
    /// `+` or `#`, and its bytes in the word.
    pub check: CheckSign,
    /// `!`, `?`, `!!`, `??`, `!?`, `?!`, or empty.
    pub suffix: String,
}

/// A check sign, if there is one, and its bytes in the word.
pub(crate) type CheckSign = Option<(Check, Range<usize>)>;

/// The check sign.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Check {
    /// `+`.
    Check,
    /// `#`.
    Mate,
}

/// The move itself.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) enum Wanted {
    /// `O-O` or `O-O-O`.
    Castle(CastlingSide),
    /// Anything else.
    Men(Men),
}

/// A man, where it may come from and where it goes.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) struct Men {
    /// Its role; `None` in `d5d6`, which may be any man on d5.
    pub role: Option<Role>,
    /// The file it comes from, if said.
    pub file: Option<File>,
    /// The rank it comes from, if said.
    pub rank: Option<Rank>,
    /// Whether `x` stands in it.
    pub capture: bool,
    /// Where it goes.
    pub to: Square,
    /// What it becomes.
    pub promotion: Option<Role>,
    /// Whether `e.p.` stands behind it.
    pub en_passant: bool,
}

/// Why a word is no move, and where.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) struct Misread {
    /// Bytes of the word.
    pub place: Range<usize>,
    /// The fact under the carets.
    pub label: String,
    /// What to write.
    pub hint: Option<String>,
}

/// What a word of `play` is.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) enum Read {
    /// A move.
    Move(Word),
    /// Only a move number, `3.` or `3...`.
    Number,
    /// Only `e.p.`, which belongs to the move before, with what stands behind it: `e.p.+!`.
    EnPassant {
        /// The check sign.
        check: CheckSign,
        /// The author's sign, or empty.
        suffix: String,
    },
}

/// The signs an author puts behind a move.
const SUFFIXES: [&str; 6] = ["!", "?", "!!", "??", "!?", "?!"];

/// Reads a word; the second place is why it is none.
pub(crate) fn read(word: &str) -> Result<Read, Misread> {
    let number = number_length(word);
    if number == word.len() && number > 0 {
        return Ok(Read::Number);
    }
    let (mut body, tail) = split_tail(word);
    body.start = number.min(body.end);
    let (check, suffix) = read_tail(word, tail)?;
    if is_en_passant(&word[body.clone()]) {
        return Ok(Read::EnPassant { check, suffix });
    }
    let mut text = &word[body.clone()];
    let en_passant = ["e.p.", "ep.", "e.p", "ep"].into_iter().find_map(|mark| text.strip_suffix(mark));
    if let Some(rest) = en_passant {
        text = rest;
    }
    let wanted = if let Some(wing) = castling(text) {
        Wanted::Castle(wing)
    } else {
        let signs: Vec<(usize, char)> = text
            .char_indices()
            .map(|(at, sign)| (body.start + at, sign))
            .filter(|(_, sign)| !matches!(sign, '\u{fe0e}' | '\u{fe0f}'))
            .collect();
        let end = body.start + text.len();
        let mut men = Letters { signs: &signs, end }.men()?;
        men.en_passant = en_passant.is_some();
        Wanted::Men(men)
    };
    Ok(Read::Move(Word { wanted, check, suffix }))
}

/// The bytes of a move number in front: digits, then dots.
fn number_length(word: &str) -> usize {
    let digits = word.bytes().take_while(u8::is_ascii_digit).count();
    let rest = &word[digits..];
    let dots = rest.len() - rest.trim_start_matches(['.', '\u{2026}']).len();
    if digits > 0 && dots > 0 { digits + dots } else { 0 }
}

fn is_en_passant(word: &str) -> bool {
    matches!(word, "e.p." | "e.p" | "ep" | "ep.")
}

/// Parts the check sign and the author's signs from the move.
fn split_tail(word: &str) -> (Range<usize>, Range<usize>) {
    let body = word
        .trim_end_matches(['+', '#', '!', '?', '\u{2020}', '\u{2021}', '\u{203c}', '\u{2047}', '\u{2048}', '\u{2049}']);
    (0..body.len(), body.len()..word.len())
}

fn read_tail(word: &str, tail: Range<usize>) -> Result<(CheckSign, String), Misread> {
    let mut check = None;
    let mut suffix = String::new();
    let mut suffix_at = tail.end..tail.start;
    for (offset, sign) in word[tail.clone()].char_indices() {
        let place = tail.start + offset..tail.start + offset + sign.len_utf8();
        match sign {
            '+' | '#' | '\u{2020}' | '\u{2021}' => {
                if check.is_some() {
                    let label = "a second check sign";
                    return Err(misread(place, label).hint("one `+` for check, double check too; one `#` for mate"));
                }
                let kind = if matches!(sign, '+' | '\u{2020}') { Check::Check } else { Check::Mate };
                check = Some((kind, place));
            }
            _ => {
                suffix_at = suffix_at.start.min(place.start)..place.end;
                match sign {
                    '\u{203c}' => suffix.push_str("!!"),
                    '\u{2047}' => suffix.push_str("??"),
                    '\u{2048}' => suffix.push_str("?!"),
                    '\u{2049}' => suffix.push_str("!?"),
                    sign => suffix.push(sign),
                }
            }
        }
    }
    if suffix.is_empty() || SUFFIXES.contains(&suffix.as_str()) {
        Ok((check, suffix))
    } else {
        let label = format!("`{suffix}` is none of the signs for a move");
        Err(misread(suffix_at, label).hint("the signs are `!`, `?`, `!!`, `??`, `!?`, `?!`"))
    }
}

fn castling(text: &str) -> Option<CastlingSide> {
    let plain: String = text
        .chars()
        .map(|sign| match sign {
            '0' | 'o' | 'O' => 'O',
            '-' | '\u{2010}'..='\u{2013}' => '-',
            other => other,
        })
        .collect();
    match plain.as_str() {
        "O-O" => Some(CastlingSide::KingSide),
        "O-O-O" => Some(CastlingSide::QueenSide),
        _ => None,
    }
}

/// The role of a letter or figurine, upper case only.
fn role_of(sign: char) -> Option<Role> {
    Some(match sign {
        'K' | '\u{2654}' | '\u{265a}' => Role::King,
        'Q' | '\u{2655}' | '\u{265b}' => Role::Queen,
        'R' | '\u{2656}' | '\u{265c}' => Role::Rook,
        'B' | '\u{2657}' | '\u{265d}' => Role::Bishop,
        'N' | '\u{2658}' | '\u{265e}' => Role::Knight,
        'P' | '\u{2659}' | '\u{265f}' => Role::Pawn,
        _ => return None,
    })
}

/// What the author of something that is no move may want, where `play` is taken for the text of a whole game.
fn what_else(text: &str) -> Option<&'static str> {
    let first = text.chars().next()?;
    let result = match text {
        "1-0" => Some("a result is not played: leave it out, and claim it: `claim = \"White wins\"`"),
        "0-1" => Some("a result is not played: leave it out, and claim it: `claim = \"Black wins\"`"),
        "1/2-1/2" | "\u{bd}-\u{bd}" => Some("a result is not played: leave it out, and claim it: `claim = \"draw\"`"),
        "*" => Some("leave it out: a line ends with its last move"),
        _ => None,
    };
    if result.is_some() {
        return result;
    }
    if matches!(first, '(' | ')') {
        return Some("a variation is played in cues of its own, after a return: `back = 1`");
    }
    if matches!(first, '{' | '}' | ';') {
        return Some("what is said of a move is a caption: `text = \"\u{2026}\"`");
    }
    if text.contains('$') {
        return Some("a sign is written behind the move: `!`, `?`, `!!`, `??`, `!?` or `?!`");
    }
    text.contains(',').then_some("moves stand apart by spaces: `c7 Rd6+`")
}

fn misread(place: Range<usize>, label: impl Into<String>) -> Misread {
    Misread { place, label: label.into(), hint: None }
}

impl Misread {
    fn hint(mut self, hint: impl Into<String>) -> Misread {
        self.hint = Some(hint.into());
        self
    }
}

/// The letters of a move, with the byte of each in the word.
struct Letters<'a> {
    signs: &'a [(usize, char)],
    end: usize,
}

impl Letters<'_> {
    fn sign(&self, at: usize) -> Option<char> {
        self.signs.get(at).map(|(_, sign)| *sign)
    }

    fn place(&self, at: usize) -> Range<usize> {
        match self.signs.get(at) {
            Some((byte, sign)) => *byte..byte + sign.len_utf8(),
            None => self.end..self.end,
        }
    }

    fn file(&self, at: usize) -> Option<File> {
        self.sign(at).and_then(File::from_char).filter(|_| self.sign(at).is_some_and(|sign| sign.is_ascii_lowercase()))
    }

    fn rank(&self, at: usize) -> Option<Rank> {
        self.sign(at).and_then(Rank::from_char)
    }

    fn square(&self, at: usize) -> Option<Square> {
        let (file, rank) = (self.file(at)?, self.rank(at + 1)?);
        Square::at(file.to_u32() as u8, rank.to_u32() as u8)
    }

    /// role? file? rank? (`x` or `-`)? square promotion?
    fn men(&self) -> Result<Men, Misread> {
        let mut at = 0;
        let lead = self.sign(at).and_then(role_of);
        if lead.is_some() {
            at += 1;
        }
        // The target is the last square in the word: look for what stands before it.
        let origin_square = self.square(at);
        let joint =
            |at: usize| matches!(self.sign(at), Some('x' | 'X' | '\u{d7}' | ':' | '-' | '\u{2010}'..='\u{2013}'));
        let takes = |at: usize| matches!(self.sign(at), Some('x' | 'X' | '\u{d7}' | ':'));
        let (mut file, mut rank, mut capture) = (None, None, false);
        let after_square = at + 2 + usize::from(origin_square.is_some() && joint(at + 2));
        if origin_square.is_some() && self.square(after_square).is_some() {
            (file, rank) = (self.file(at), self.rank(at + 1));
            capture = takes(at + 2);
            at = after_square;
        } else if origin_square.is_none() {
            if self.file(at).is_some() {
                file = self.file(at);
                at += 1;
            } else if self.rank(at).is_some() {
                rank = self.rank(at);
                at += 1;
            }
            if joint(at) {
                capture = takes(at);
                at += 1;
            }
        }
        let Some(to) = self.square(at) else { return Err(self.no_move()) };
        at += 2;
        let promotion = self.promotion(&mut at)?;
        if at != self.signs.len() {
            return Err(self.no_move());
        }
        let role = match (lead, file, rank) {
            (Some(role), ..) => Some(role),
            (None, Some(_), Some(_)) => None,
            (None, None, Some(_)) => return Err(self.no_move()),
            (None, ..) => Some(Role::Pawn),
        };
        Ok(Men { role, file, rank, capture, to, promotion, en_passant: false })
    }

    /// `=Q`, `Q`, `(Q)`, `/Q`, a figurine, or a small letter.
    fn promotion(&self, at: &mut usize) -> Result<Option<Role>, Misread> {
        let Some(sign) = self.sign(*at) else { return Ok(None) };
        let opened = matches!(sign, '=' | '(' | '/');
        let letter = *at + usize::from(opened);
        let Some(role) = self.sign(letter).and_then(|sign| role_of(sign.to_ascii_uppercase())) else {
            if opened {
                let label = match self.sign(letter) {
                    Some(sign) => format!("`{sign}` is no piece to promote to"),
                    None => "the piece to promote to is missing".to_owned(),
                };
                return Err(misread(self.place(letter), label).hint("a pawn becomes `Q`, `R`, `B` or `N`"));
            }
            return Err(self.no_move());
        };
        if matches!(role, Role::King | Role::Pawn) {
            let label = format!("a pawn never becomes a {role}");
            return Err(misread(self.place(letter), label).hint("a pawn becomes `Q`, `R`, `B` or `N`"));
        }
        *at = letter + 1;
        if sign == '(' {
            if self.sign(*at) != Some(')') {
                return Err(
                    misread(self.place(*at), "the bracket stays open").hint(format!("write `={}`", role.letter()))
                );
            }
            *at += 1;
        }
        Ok(Some(role))
    }

    /// What is wrong with letters that make no move, as exactly as can be said.
    fn no_move(&self) -> Misread {
        let whole = self.signs.first().map_or(self.end, |(byte, _)| *byte)..self.end;
        let text: String = self.signs.iter().map(|(_, sign)| *sign).collect();
        if let Some((slip, meant)) = repaired(&text) {
            let place = if slip == Slip::Letters { whole } else { self.place(0) };
            return misread(place, slip.fact(&text)).hint(format!("did you mean `{meant}`?"));
        }
        if matches!(text.as_str(), "--" | "Z0" | "null" | "0000") {
            return misread(whole, "a null move is no move of the game")
                .hint("to show what a side threatens use `ghost`, to claim it `claim = \"threat …\"`");
        }
        if let Some(hint) = what_else(&text) {
            return misread(whole, "not a move").hint(hint);
        }
        let foreign = self.sign(0).filter(|sign| sign.is_uppercase() && role_of(*sign).is_none());
        if let Some(sign) = foreign {
            return misread(self.place(0), format!("`{sign}` is the letter of no piece"))
                .hint("`play` takes English letters, K Q R B N, or figurines, whatever the film's notation");
        }
        let rank = self.signs.iter().position(|(_, sign)| matches!(sign, '0' | '9'));
        match rank.filter(|at| *at > 0 && self.file(at - 1).is_some()) {
            Some(at) => misread(self.place(at), format!("there is no rank {}", self.sign(at).unwrap_or_default()))
                .hint("ranks go from 1 to 8, files from a to h"),
            None => misread(whole, "not in the form of a move")
                .hint("a move looks like `Rd6+`, `exd5`, `c8=Q`, `O-O` or `d5d6`"),
        }
    }
}
