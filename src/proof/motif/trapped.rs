//! Trapped: a man other than the king and the pawns has no safe move. A move is safe if the exchange on the square it
//! goes to costs nothing, what it takes counted in. Seen with its side to move, the other having passed if need be; not
//! while that side is in check.

use super::super::decide::{Ruling, open, refuted};
use super::super::notation::{after, one};
use super::lines::{self, man, names};
use super::{Sighting, gain, sighting, to_move};
use crate::game::{Motif, rules};
use shakmaty::{Chess, Color, Move, Position, Role, Square};

pub(super) fn find(position: &Chess) -> Vec<Sighting> {
    let board = position.board();
    let men = board.occupied().without(board.kings()).without(board.pawns());
    men.into_iter().filter_map(|at| seen(position, at)).collect()
}

fn seen(position: &Chess, at: Square) -> Option<Sighting> {
    let mine = to_move(position, lines::side_of(position, at)).filter(|mine| !mine.is_check())?;
    let moves = moves_of(&mine, at);
    if moves.iter().any(|chosen| gain::of(&mine, *chosen) >= 0) {
        return None;
    }
    let mut squares: Vec<Square> = moves.iter().map(|chosen| rules::target(*chosen)).collect();
    squares.dedup();
    let answers: Vec<String> = moves.iter().take(3).map(|chosen| answered(&mine, *chosen)).collect();
    let more = if moves.len() > answers.len() { ", and so on" } else { "" };
    let attacked = attacked(position, at);
    let rest = match (moves.is_empty(), attacked) {
        (true, true) => " and is attacked: it cannot move".to_string(),
        (true, false) => ": it cannot move".to_string(),
        (false, true) => format!(" and is attacked: {}{more}", answers.join(", ")),
        (false, false) => format!(": {}{more}", answers.join(", ")),
    };
    let told = format!("{} has no safe move{rest}", man(position, at));
    let marks = [format!("threat {at}")].into_iter().chain(lines::mark("trap", &squares)).collect();
    Some(sighting(Motif::Trapped, [at].into_iter().chain(squares), told, marks, Vec::new()))
}

/// Whether the other side wins it, or something for it, where it stands.
fn attacked(position: &Chess, at: Square) -> bool {
    to_move(position, !lines::side_of(position, at)).is_some_and(|theirs| gain::on(&theirs, at) > 0)
}

/// Whether there is something to show: a man that is attacked, or one that could move and had better not.
pub(super) fn is_worth_showing(position: &Chess, sighting: &Sighting) -> bool {
    sighting.squares.first().is_some_and(|at| attacked(position, rules::inner_square(*at)))
}

fn moves_of(mine: &Chess, at: Square) -> Vec<Move> {
    mine.legal_moves().into_iter().filter(|chosen| chosen.from() == Some(at) && !chosen.is_castle()).collect()
}

/// `Rb1 Kxb1`: a move and the capture that answers it.
fn answered(mine: &Chess, chosen: Move) -> String {
    let next = after(mine, chosen);
    let captures =
        next.legal_moves().into_iter().filter(|answer| answer.is_capture() && answer.to() == rules::target(chosen));
    let answer = captures.min_by_key(|answer| gain::worth(answer.role()));
    let answer = answer.map_or_else(String::new, |answer| format!(" {}", rules::san(&next, answer)));
    format!("{}{answer}", rules::san(mine, chosen))
}

/// Why a man is not trapped.
pub(super) fn missing(position: &Chess, named: &[Square]) -> Option<Ruling> {
    let board = position.board();
    for at in named.iter().copied() {
        let Some(kind) = board.role_at(at) else { return Some(refuted(format!("no man stands on {at}"))) };
        if matches!(kind, Role::King | Role::Pawn) {
            let hint =
                if kind == Role::King { format!("; `flights {at} none` speaks of kings") } else { String::new() };
            return Some(refuted(format!("{} is no piece that can be trapped{hint}", man(position, at))));
        }
        let color: Color = lines::side_of(position, at);
        let Some(mine) = to_move(position, color).filter(|mine| !mine.is_check()) else {
            return Some(open(format!(
                "a check must be answered first, so the moves of {} are not seen",
                man(position, at)
            )));
        };
        let safe: Vec<Move> = moves_of(&mine, at).into_iter().filter(|chosen| gain::of(&mine, *chosen) >= 0).collect();
        if let Some(first) = safe.first() {
            let squares: Vec<Square> = safe.iter().map(|chosen| rules::target(*chosen)).collect();
            let witness = format!("{} is safe on {}: {}", man(position, at), names(&squares), one(&mine, *first));
            return Some(refuted(witness));
        }
    }
    None
}
