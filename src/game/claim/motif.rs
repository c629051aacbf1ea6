//! Claims that name a motif: `battery`, `pin e4`, `trapped a1`, `flights h8 g7 h7`.

use super::{Claim, NoClaim};
use crate::diag::Code;
use crate::game::Motif;
use crate::units::Square;
use std::fmt;

/// The motifs as they are claimed, longer names before those they end with.
const MOTIFS: [(&str, Motif); 12] = [
    ("direct battery", Motif::DirectBattery),
    ("indirect battery", Motif::IndirectBattery),
    ("battery", Motif::Battery),
    ("pin", Motif::Pin),
    ("skewer", Motif::Skewer),
    ("fork", Motif::Fork),
    ("double check", Motif::DoubleCheck),
    ("discovered check", Motif::DiscoveredCheck),
    ("interference", Motif::Interference),
    ("interposition", Motif::Interposition),
    ("stalemate net", Motif::StalemateNet),
    ("trapped", Motif::Trapped),
];

impl Motif {
    /// Whether it lies in the last move, not in the position alone.
    pub fn is_of_a_move(self) -> bool {
        matches!(self, Motif::DiscoveredCheck | Motif::Interference | Motif::Interposition)
    }

    /// Its name in a claim and in a report: `stalemate net`.
    pub fn phrase(self) -> &'static str {
        MOTIFS.iter().find(|(_, motif)| *motif == self).map_or("flights", |(phrase, _)| phrase)
    }
}

/// How the claims of motifs begin.
pub(super) fn phrases() -> impl Iterator<Item = &'static str> {
    MOTIFS.iter().map(|(phrase, _)| *phrase)
}

/// `pin e4`.
pub(super) fn write(f: &mut fmt::Formatter<'_>, motif: Motif, squares: &[Square]) -> fmt::Result {
    f.write_str(motif.phrase())?;
    squares.iter().try_for_each(|square| write!(f, " {square}"))
}

/// `flights h8 none`, `flights h8 g7 h7`.
pub(super) fn write_flights(f: &mut fmt::Formatter<'_>, king: Square, flights: &[Square]) -> fmt::Result {
    write!(f, "flights {king}")?;
    if flights.is_empty() {
        return f.write_str(" none");
    }
    flights.iter().try_for_each(|square| write!(f, " {square}"))
}

/// Reads a phrase in lower case with single spaces; `None` if it names no motif.
pub(super) fn read(plain: &str) -> Option<Result<Claim, NoClaim>> {
    if let Some(rest) = behind(plain, "flights") {
        return Some(flights(rest));
    }
    let (phrase, motif, rest) =
        MOTIFS.iter().find_map(|(phrase, motif)| Some((*phrase, *motif, behind(plain, phrase)?)))?;
    Some(
        squares(rest, &format!("`{phrase}`, or with squares that take part in it, `{phrase} e4`"))
            .map(|squares| Claim::Motif(motif, squares)),
    )
}

/// What follows these words.
fn behind<'a>(plain: &'a str, words: &str) -> Option<&'a str> {
    let rest = plain.strip_prefix(words)?;
    (rest.is_empty() || rest.starts_with(' ')).then(|| rest.trim_start())
}

fn squares(rest: &str, accepted: &str) -> Result<Vec<Square>, NoClaim> {
    let mut squares = Vec::new();
    for word in rest.split_whitespace() {
        let square = Square::parse(word).ok_or_else(|| no_square(word, accepted))?;
        if !squares.contains(&square) {
            squares.push(square);
        }
    }
    Ok(squares)
}

/// `h8 none`, `h8 g7 h7`.
fn flights(rest: &str) -> Result<Claim, NoClaim> {
    let accepted = "the king's square and then every square it may go to, `flights h8 g7 h7`, or `flights h8 none`";
    let incomplete = |message: String, label: &str| NoClaim {
        code: Code::BadValue,
        message,
        label: label.into(),
        hint: format!("write {accepted}"),
    };
    let mut words = rest.split_whitespace();
    let Some(first) = words.next() else {
        return Err(incomplete("the claim `flights` names no king".into(), "no square follows"));
    };
    let king = Square::parse(first).ok_or_else(|| no_square(first, accepted))?;
    let rest: Vec<&str> = words.collect();
    match rest.as_slice() {
        [] => Err(incomplete(format!("`flights {king}` does not say which squares"), "neither squares nor `none`")),
        ["none"] => Ok(Claim::Flights(king, Vec::new())),
        _ => squares(&rest.join(" "), accepted).map(|flights| Claim::Flights(king, flights)),
    }
}

fn no_square(word: &str, accepted: &str) -> NoClaim {
    NoClaim {
        code: Code::BadValue,
        message: format!("`{word}` is no square of the board"),
        label: "squares are a1 to h8".into(),
        hint: format!("write {accepted}"),
    }
}
