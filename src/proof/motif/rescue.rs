//! Whether an answer saves the men that a fork or a skewer attacks.
//!
//! A double attack is real if every answer loses one of the attacked men in one exchange, or the man that answers. What
//! hung before, and falls whatever the attacker does, is no merit of the attack and speaks neither for it nor against
//! it. Where an answer saves the attacked men but lets another man fall, one exchange does not tell whose merit that is.

use super::super::decide::{Ruling, open, refuted};
use super::super::notation::{after, one};
use super::{gain, rules, to_move, without};
use shakmaty::{Chess, Move, Position, Square};

/// What the answers to a double attack come to.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Rescue {
    /// None saves the men.
    None,
    /// This one saves them all and loses nothing.
    Saves(Move),
    /// This one saves them all; what hung before hangs still.
    SavesThese(Move),
    /// After this one they are saved, but something else falls.
    Doubtful(Move),
}

/// The best answer of the side to move, whose men stand on the `attacked` squares, to the man on `attacker`.
pub(super) fn rescue(position: &Chess, attacker: Square, attacked: &[Square]) -> Rescue {
    let hung = hung(position, attacker);
    let mut best: Option<((u8, bool, i32), Rescue)> = None;
    for answer in position.legal_moves() {
        let next = after(position, answer);
        let took = gain::taken(answer);
        if through(&next, answer, attacker, attacked, &hung) > took || gain::on(&next, rules::target(answer)) > took {
            continue;
        }
        let loss = gain::best(&next) - took;
        let still_hangs = |at: Square| hung.contains(&at) && answer.from() != Some(at);
        let (rank, found) = if loss <= 0 {
            (0, Rescue::Saves(answer))
        } else if gain::best_but(&next, still_hangs) <= took {
            (1, Rescue::SavesThese(answer))
        } else {
            (2, Rescue::Doubtful(answer))
        };
        // A check must itself be answered, so that it decides less than a quiet move.
        let order = (rank, next.is_check(), loss);
        if best.as_ref().is_none_or(|(known, _)| order < *known) {
            best = Some((order, found));
        }
    }
    best.map_or(Rescue::None, |(_, found)| found)
}

/// The men of the side to move that fall even without the attacker. Where that position cannot be, none is known.
fn hung(position: &Chess, attacker: Square) -> Vec<Square> {
    let turn = position.turn();
    let Some(theirs) = without(position, attacker).and_then(|left| to_move(&left, !turn)) else { return Vec::new() };
    let men = position.board().by_color(turn);
    men.into_iter().filter(|at| gain::on(&theirs, *at) > 0).collect()
}

/// The most that is won by taking one of the attacked men, or by mate if the king is one of them. Of a man that hung
/// before, only what the attacker itself takes counts.
fn through(next: &Chess, answer: Move, attacker: Square, attacked: &[Square], hung: &[Square]) -> i32 {
    let still_hangs = |at: Square| hung.contains(&at) && answer.from() != Some(at);
    let takes_one = |chosen: &Move| {
        let one = |at: &Square| {
            stands(answer, *at) == taken_on(*chosen) && (!still_hangs(*at) || chosen.from() == Some(attacker))
        };
        chosen.is_capture() && attacked.iter().any(one)
    };
    let king = next.board().king_of(next.turn().other()).is_some_and(|king| {
        attacked.iter().any(|at| stands(answer, *at) == king) // It may have moved out of the check.
    });
    let counts = |chosen: &Move| takes_one(chosen) || king && after(next, *chosen).is_checkmate();
    next.legal_moves().into_iter().filter(counts).map(|chosen| gain::of(next, chosen)).max().unwrap_or(0)
}

/// Where a man stands after a move of its side.
fn stands(answer: Move, at: Square) -> Square {
    match answer {
        Move::Castle { king, rook } if at == rook => {
            let file = answer.castling_side().map_or(rook.file(), shakmaty::CastlingSide::rook_to_file);
            Square::from_coords(file, king.rank())
        }
        _ if answer.from() == Some(at) => rules::target(answer),
        _ => at,
    }
}

/// Where the man stands that a capture takes.
fn taken_on(chosen: Move) -> Square {
    match chosen {
        Move::EnPassant { from, to } => Square::from_coords(to.file(), from.rank()),
        _ => chosen.to(),
    }
}

/// Whether the attacker, on the move itself, wins this man by taking it.
pub(super) fn takes_with_profit(position: &Chess, attacker: Square, at: Square) -> bool {
    let takes = |chosen: &Move| chosen.from() == Some(attacker) && chosen.is_capture() && chosen.to() == at;
    position.legal_moves().into_iter().any(|chosen| takes(&chosen) && gain::of(position, chosen) > 0)
}

/// Why a double attack is none: the answer that saves what it attacks. An answer that is a check must itself be answered:
/// whether it saves anything is then not decided in one exchange.
pub(super) fn saved_by(position: &Chess, told: &str, rescue: Rescue) -> Option<Ruling> {
    let (answer, does) = match rescue {
        Rescue::None => return None,
        Rescue::Saves(answer) => (answer, "loses nothing"),
        Rescue::SavesThese(answer) => (answer, "saves what is attacked"),
        Rescue::Doubtful(answer) => (answer, "saves that and loses another man: whose merit it is, is not decided"),
    };
    let witness = format!("{told}, but {}", one(position, answer));
    Some(match rescue {
        Rescue::Doubtful(_) => open(format!("{witness} {does}")),
        _ if after(position, answer).is_check() => open(format!("{witness} comes in between")),
        _ => refuted(format!("{witness} {does}")),
    })
}
