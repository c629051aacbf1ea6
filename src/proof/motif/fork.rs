//! Fork: one man attacks at least two that it could win, each better than it or unguarded; a king in check is one of
//! them. If it is the attacked side's move, no answer saves all (`rescue`); if it is its own, it may take either.

use super::super::decide::Ruling;
use super::lines::{self, man};
use super::rescue::{self, Rescue};
use super::{Sighting, gain, sighting};
use crate::game::{Motif, rules};
use shakmaty::{Chess, Color, Position, Role, Square};

pub(super) fn find(position: &Chess) -> Vec<Sighting> {
    let forked = geometry(position).into_iter().filter(|(at, targets)| judged(position, *at, targets) == Rescue::None);
    forked.map(|(at, targets)| told(position, at, &targets)).collect()
}

/// Every man that attacks two or more, with those.
fn geometry(position: &Chess) -> Vec<(Square, Vec<Square>)> {
    if position.legal_moves().is_empty() {
        return Vec::new(); // Nothing is left to win.
    }
    let board = position.board();
    let mut found = Vec::new();
    for color in Color::ALL {
        for at in board.by_color(color) {
            let Some(own) = board.role_at(at) else { continue };
            let wins = |target: &Square| {
                let Some(other) = board.role_at(*target) else { return false };
                let guards = board.attacks_to(*target, !color, board.occupied().without(at)).without(*target);
                let wanted = other == Role::King
                    || own != Role::King && gain::worth(other) > gain::worth(own)
                    || guards.is_empty();
                wanted && (color != position.turn() || rescue::takes_with_profit(position, at, *target))
            };
            let targets: Vec<Square> =
                lines::attacked(board, at).intersect(board.by_color(!color)).into_iter().filter(wins).collect();
            let men = targets.iter().filter(|target| board.role_at(**target) != Some(Role::Pawn)).count();
            if targets.len() >= 2 && men >= 1 {
                found.push((at, targets));
            }
        }
    }
    found
}

/// What the attacked side can do about it, when it is its move.
fn judged(position: &Chess, at: Square, targets: &[Square]) -> Rescue {
    if lines::side_of(position, at) == position.turn() {
        return Rescue::None;
    }
    rescue::rescue(position, at, targets)
}

fn told(position: &Chess, at: Square, targets: &[Square]) -> Sighting {
    let men: Vec<String> = targets.iter().map(|target| man(position, *target)).collect();
    let told = format!("{} attacks {}", man(position, at), rules::listed(&men, 6));
    let arrows = targets.iter().map(|target| format!("{at} {target}")).collect();
    let marks = lines::mark("threat", targets).into_iter().collect();
    sighting(Motif::Fork, [at].into_iter().chain(targets.iter().copied()), told, marks, arrows)
}

/// Why there is none, where there nearly is one.
pub(super) fn missing(position: &Chess, named: &[Square]) -> Option<Ruling> {
    let takes_part =
        |(at, targets): &(Square, Vec<Square>)| named.iter().all(|square| square == at || targets.contains(square));
    let (at, targets) = geometry(position).into_iter().find(takes_part)?;
    rescue::saved_by(position, &told(position, at, &targets).told, judged(position, at, &targets))
}
