//! A written move and a position: the legal move it means, or why there is none.

use super::word::{self, Check, CheckSign, Misread, Read, Wanted, Word};
use super::{inside, reason, rules};
use crate::diag::{Code, Diagnostic};
use crate::source::Span;
use shakmaty::{Chess, Move, Position, Role};
use std::ops::Range;

/// A legal move with the author's sign.
#[derive(Clone, Debug)]
pub(crate) struct Found {
    /// The move.
    pub chosen: Move,
    /// `!`, `?` and kin.
    pub suffix: String,
}

/// What became of a word.
#[derive(Clone, Debug)]
pub(crate) enum Outcome {
    /// A legal move, and a false check sign if there is one: the move is known all the same.
    Move(Found, Option<Refusal>),
    /// Nothing to play: a move number.
    Nothing,
    /// A rightful `e.p.` behind the capture: the author's sign for that, or empty, and a false check sign if there is one.
    EnPassant(String, Option<Refusal>),
    /// No move.
    Refused(Refusal),
}

/// Why a word cannot be played, ready to become a diagnostic.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) struct Refusal {
    /// Its name.
    pub code: Code,
    /// The headline.
    pub message: String,
    /// The bytes of the word that are wrong.
    pub place: Range<usize>,
    /// The fact.
    pub label: String,
    /// What would be accepted.
    pub hints: Vec<String>,
}

impl Refusal {
    /// The error at the place of a word in the timeline or file.
    pub(crate) fn at(self, whole: Span, word: &str) -> Diagnostic {
        let error = Diagnostic::error(self.code, inside(whole, word, self.place), self.message).label(self.label);
        self.hints.into_iter().fold(error, Diagnostic::hint)
    }

    fn new(code: Code, place: Range<usize>, message: String, label: impl Into<String>) -> Refusal {
        Refusal { code, message, place, label: label.into(), hints: Vec::new() }
    }
}

/// Reads `text` as a move of `position`. `last` is the move played just before, for a lone `e.p.`.
pub(crate) fn find(position: &Chess, text: &str, last: Option<Move>) -> Outcome {
    match word::read(text) {
        Err(misread) => Outcome::Refused(syntax(text, misread)),
        Ok(Read::Number) => Outcome::Nothing,
        Ok(Read::EnPassant { check, suffix }) if last.is_some_and(Move::is_en_passant) => {
            Outcome::EnPassant(suffix, false_sign(text, check, position))
        }
        Ok(Read::EnPassant { .. }) => {
            let message = format!("`{text}` follows no en passant capture");
            Outcome::Refused(Refusal::new(
                Code::IllegalMove,
                0..text.len(),
                message,
                "the move before is no such capture",
            ))
        }
        Ok(Read::Move(word)) => match choose(position, text, &word) {
            Err(refusal) => Outcome::Refused(refusal),
            Ok(chosen) => {
                let mut after = position.clone();
                after.play_unchecked(chosen);
                Outcome::Move(Found { chosen, suffix: word.suffix }, false_sign(text, word.check, &after))
            }
        },
    }
}

/// The author's sign on an `e.p.` that stands alone, behind its capture.
pub(crate) fn sign_of_en_passant(text: &str) -> Option<String> {
    match word::read(text) {
        Ok(Read::EnPassant { suffix, .. }) => Some(suffix),
        _ => None,
    }
}

/// Only the form of a word is looked at, as where the position is not known.
pub(crate) fn form(text: &str) -> Option<Refusal> {
    word::read(text).err().map(|misread| syntax(text, misread))
}

fn syntax(text: &str, misread: Misread) -> Refusal {
    let mut refusal = Refusal::new(Code::SanSyntax, misread.place, format!("`{text}` is no move"), misread.label);
    refusal.hints.extend(misread.hint);
    refusal
}

fn choose(position: &Chess, text: &str, word: &Word) -> Result<Move, Refusal> {
    let legal = position.legal_moves();
    let fitting: Vec<Move> = legal.iter().copied().filter(|chosen| fits(&word.wanted, *chosen)).collect();
    match fitting.as_slice() {
        [only] => Ok(*only),
        [] => Err(illegal(position, text, &word.wanted)),
        several => Err(ambiguous(position, text, several)),
    }
}

/// Whether a legal move is the one that is meant.
fn fits(wanted: &Wanted, chosen: Move) -> bool {
    match wanted {
        Wanted::Castle(wing) => chosen.castling_side() == Some(*wing),
        Wanted::Men(men) => {
            let from = rules::origin(chosen);
            let squares = men.file.is_none_or(|file| file == from.file())
                && men.rank.is_none_or(|rank| rank == from.rank())
                && rules::inner_square(men.to) == rules::target(chosen);
            // A king that is said to go two squares castles; a bare `Kg1` does not mean that.
            let castles = chosen.is_castle() && !(men.file.is_some() && men.rank.is_some());
            // A pawn's capture names the file it comes from, or is said to be one: `exd5`, `ed5`, `xd5`.
            let unsaid_capture =
                chosen.role() == Role::Pawn && chosen.is_capture() && men.file.is_none() && !men.capture;
            squares
                && !castles
                && !unsaid_capture
                && men.role.is_none_or(|role| rules::inner_role(role) == chosen.role())
                && men.promotion.map(rules::inner_role) == chosen.promotion()
                && (chosen.is_capture() || !men.capture)
                && (chosen.is_en_passant() || !men.en_passant)
        }
    }
}

fn illegal(position: &Chess, text: &str, wanted: &Wanted) -> Refusal {
    let turn = rules::side(position.turn());
    let message = format!("`{text}` is not legal for {turn} at move {}", position.fullmoves());
    let reason = reason::why(position, wanted);
    let mut refusal = Refusal::new(Code::IllegalMove, 0..text.len(), message, reason.fact);
    refusal.hints = reason.hints;
    refusal
}

fn ambiguous(position: &Chess, text: &str, several: &[Move]) -> Refusal {
    let mut from: Vec<String> = several.iter().map(|chosen| rules::origin(*chosen).to_string()).collect();
    from.sort();
    let kind = rules::role(several[0].role());
    let message = format!("`{text}` is ambiguous at move {}", position.fullmoves());
    let label = format!("the {kind}s on {} can all play it", rules::listed(&from, 9))
        .replace("can all", if several.len() == 2 { "can both" } else { "can all" });
    let mut refusal = Refusal::new(Code::AmbiguousMove, 0..text.len(), message, label);
    let sans = rules::sans(position, several.iter().copied());
    refusal.hints.push(format!("write {}", sans.join(" or ")));
    refusal
}

/// The refusal of a `+` or `#` that the move does not earn. A missing one is no mistake: the film writes its own.
fn false_sign(text: &str, check: CheckSign, after: &Chess) -> Option<Refusal> {
    let (sign, place) = check?;
    let (check, mate) = (after.is_check(), after.is_checkmate());
    let opponent = rules::side(after.turn());
    let (message, label, hint) = match sign {
        Check::Check if mate => (format!("`{text}` is not only check but mate"), "it is mate", "write `#`"),
        Check::Check if check => return None,
        Check::Mate if mate => return None,
        Check::Mate if check => {
            let replies = rules::sans(after, after.legal_moves());
            let mut refusal =
                Refusal::new(Code::WrongSuffix, place, format!("`{text}` is check, not mate"), "it is only check");
            refusal.hints.push(format!(
                "{opponent} can answer {}; write `+`",
                rules::listed(&replies, 4).replace(" and ", " or ")
            ));
            return Some(refusal);
        }
        Check::Check => (format!("`{text}` gives no check"), "it gives no check", "leave the `+` out"),
        Check::Mate => (format!("`{text}` gives no check, let alone mate"), "it gives no check", "leave the `#` out"),
    };
    let mut refusal = Refusal::new(Code::WrongSuffix, place, message, label);
    refusal.hints.push(hint.to_string());
    Some(refusal)
}
