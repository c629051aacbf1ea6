//! The small languages inside strings: moves, marks, arrows, ghosts.
//!
//! ```text
//! moves  = word { word }            move numbers such as `1.` and `1...` are skipped
//! mark   = role square { square }   `force` has exactly two
//! arrow  = [ "plan" ] [ side ] square square
//! ghost  = [ side ] move
//! side   = "w" | "b"                as in FEN
//! ```

use super::reader::{Entry, Reader, shortened, with_error};
use super::text::Quoted;
use super::words::none_of;
use super::{Arrow, Ghost, Mark, MarkRole};
use crate::diag::{Code, Diagnostic};
use crate::source::{Span, Spanned};
use crate::units::{Side, Square};

/// The moves of `play`, one word each.
pub(super) fn moves<'a>(reader: &mut Reader<'a>, entry: Option<Entry<'a>>) -> Vec<Spanned<String>> {
    let phrases = reader.phrases(entry);
    let mut moves = Vec::new();
    for phrase in &phrases {
        let before = moves.len();
        for word in phrase.words() {
            let number = move_number(word.value);
            if number < word.value.len() {
                let offset = word.value.as_ptr() as usize - phrase.text.as_ptr() as usize;
                let span = phrase.place(offset + number..offset + word.value.len());
                moves.push(Spanned::new(word.value[number..].to_owned(), span));
            }
        }
        if moves.len() == before {
            reader.report(
                Diagnostic::error(Code::BadValue, phrase.span, "`play` holds no move")
                    .label("only move numbers")
                    .hint("write the moves in SAN, such as `c7 Rd6+`"),
            );
        }
    }
    moves
}

/// The phrases of a claim, each as it stands.
pub(super) fn claims<'a>(reader: &mut Reader<'a>, entry: Option<Entry<'a>>) -> Vec<Spanned<String>> {
    reader.phrases(entry).iter().map(|phrase| Spanned::new(phrase.text.to_owned(), phrase.span)).collect()
}

/// How many bytes of a word are a move number: digits and at least one point (PGN standard 1994, §8.2.2).
fn move_number(word: &str) -> usize {
    let digits = word.bytes().take_while(u8::is_ascii_digit).count();
    let points = word[digits..].trim_start_matches(['.', '\u{2026}']);
    let length = word.len() - points.len();
    if digits > 0 && length > digits { length } else { 0 }
}

/// The marks behind a key.
pub(super) fn marks<'a>(reader: &mut Reader<'a>, entry: Option<Entry<'a>>) -> Vec<Spanned<Mark>> {
    let phrases = reader.phrases(entry);
    phrases.iter().filter_map(|phrase| mark(reader, phrase)).collect()
}

fn mark(reader: &mut Reader<'_>, phrase: &Quoted<'_>) -> Option<Spanned<Mark>> {
    let words = phrase.words();
    let (first, rest) = words.split_first()?;
    let role = match first.value.parse::<MarkRole>() {
        Ok(role) => role,
        Err(error) => {
            let message = format!("`{}` is not a mark", shortened(first.value));
            reader.report(with_error(Diagnostic::error(Code::UnknownWord, first.span, message), error));
            return None;
        }
    };
    let squares = squares(reader, rest)?;
    let wanted = if role == MarkRole::Force { 2..=2 } else { 1..=64 };
    if !wanted.contains(&squares.len()) {
        let (message, hint) = if role == MarkRole::Force {
            (
                "`force` takes exactly two squares".to_owned(),
                "name where the line of force begins and ends: `force h1 a8`",
            )
        } else {
            (format!("`{role}` has no square"), "name the squares: `guard d6 e6`")
        };
        let fact = counted(squares.len());
        reader.report(Diagnostic::error(Code::BadValue, phrase.span, message).label(fact).hint(hint));
        return None;
    }
    if role == MarkRole::Force && squares[0] == squares[1] {
        reader.report(same_square(phrase.span, "a line of force"));
        return None;
    }
    if role == MarkRole::Force && !straight(&squares[0], &squares[1]) {
        let message = format!("no line of force leads from {} to {}", squares[0], squares[1]);
        let found = Diagnostic::error(Code::BadValue, phrase.span, message);
        reader.report(found.label("not on one rank, file or diagonal").hint("show it with an arrow"));
        return None;
    }
    Some(Spanned::new(Mark { role, squares }, phrase.span))
}

/// Whether a queen could go from one square to the other on an empty board.
fn straight(from: &str, to: &str) -> bool {
    let [Some(from), Some(to)] = [from, to].map(Square::parse) else { return true };
    let (files, ranks) = (from.file().abs_diff(to.file()), from.rank().abs_diff(to.rank()));
    files == 0 || ranks == 0 || files == ranks
}

/// The arrows behind a key.
pub(super) fn arrows<'a>(reader: &mut Reader<'a>, entry: Option<Entry<'a>>) -> Vec<Spanned<Arrow>> {
    let phrases = reader.phrases(entry);
    phrases.iter().filter_map(|phrase| arrow(reader, phrase)).collect()
}

fn arrow(reader: &mut Reader<'_>, phrase: &Quoted<'_>) -> Option<Spanned<Arrow>> {
    let words = phrase.words();
    let mut rest = words.as_slice();
    let plan = rest.first().is_some_and(|word| word.value == "plan");
    if plan {
        rest = &rest[1..];
    }
    let side = rest.first().and_then(|word| side(word.value));
    if side.is_some() {
        rest = &rest[1..];
    }
    if let Some(first) = rest.first().filter(|word| rest.len() > 2 && Square::parse(word.value).is_none()) {
        let error = none_of(first.value, ["plan", "w", "b"], "neither `plan` nor a side nor a square".to_owned())
            .hint("an arrow is `c7 c8`, `plan c7 c8`, `b c7 c8` or `plan b c7 c8`");
        let message = format!("`{}` cannot begin an arrow", shortened(first.value));
        reader.report(with_error(Diagnostic::error(Code::UnknownWord, first.span, message), error));
        return None;
    }
    let squares = squares(reader, rest)?;
    match <[String; 2]>::try_from(squares) {
        Ok([from, to]) if from == to => {
            reader.report(same_square(phrase.span, "an arrow"));
            None
        }
        Ok([from, to]) => Some(Spanned::new(Arrow { plan, side, from, to }, phrase.span)),
        Err(squares) => {
            reader.report(
                Diagnostic::error(Code::BadValue, phrase.span, "an arrow takes exactly two squares")
                    .label(counted(squares.len()))
                    .hint("an arrow is `c7 c8`, `plan c7 c8`, `b c7 c8` or `plan b c7 c8`"),
            );
            None
        }
    }
}

/// The ghost behind a key; its place is the move's alone.
pub(super) fn ghost<'a>(reader: &mut Reader<'a>, entry: Option<Entry<'a>>) -> Option<Spanned<Ghost>> {
    let phrase = reader.quoted(&entry?)?;
    let words = phrase.words();
    let (fact, hint) = match words.as_slice() {
        [san] => {
            let ghost = Ghost { side: None, san: san.value.to_owned() };
            return Some(Spanned::new(ghost, san.span));
        }
        [first, san] => {
            if let Some(side) = side(first.value) {
                let ghost = Ghost { side: Some(side), san: san.value.to_owned() };
                return Some(Spanned::new(ghost, san.span));
            }
            (format!("`{}` is not a side", shortened(first.value)), "the side is `w` or `b`: `b Qa7+`")
        }
        [] => ("no move".to_owned(), "a ghost is a move such as `c8=Q`"),
        _ => (format!("{} words", words.len()), "a ghost is one move; a second one needs a cue of its own"),
    };
    let span = words.first().filter(|_| words.len() == 2).map_or(phrase.span, |word| word.span);
    let message = match words.as_slice() {
        [] => "`ghost` is empty".to_owned(),
        _ => format!("`{}` is not a ghost", shortened(phrase.text)),
    };
    reader.report(Diagnostic::error(Code::BadValue, span, message).label(fact).hint(hint));
    None
}

fn side(word: &str) -> Option<Side> {
    match word {
        "w" => Some(Side::White),
        "b" => Some(Side::Black),
        _ => None,
    }
}

/// The squares, or a report of each word that is none.
fn squares(reader: &mut Reader<'_>, words: &[Spanned<&str>]) -> Option<Vec<String>> {
    let mut all_are = true;
    for word in words.iter().filter(|word| Square::parse(word.value).is_none()) {
        all_are = false;
        let mut diagnostic =
            Diagnostic::error(Code::BadValue, word.span, format!("`{}` is not a square", shortened(word.value)))
                .label("a square is a file a to h and a rank 1 to 8");
        let plain = word.value.trim_matches(|c: char| !c.is_ascii_alphanumeric()).to_ascii_lowercase();
        diagnostic = match Square::parse(&plain) {
            Some(square) => diagnostic.hint(format!("write `{square}`")),
            None => diagnostic.hint("squares are written a1 to h8, with spaces between them"),
        };
        reader.report(diagnostic);
    }
    all_are.then(|| words.iter().map(|word| word.value.to_owned()).collect())
}

fn counted(squares: usize) -> String {
    match squares {
        0 => "no square".to_owned(),
        1 => "one square".to_owned(),
        many => format!("{many} squares"),
    }
}

fn same_square(span: Span, what: &str) -> Diagnostic {
    Diagnostic::error(Code::BadValue, span, format!("{what} leads from a square to the same square"))
        .label("both squares are the same")
        .hint("name two squares")
}
