//! Discovered check: a man gives check that did not move, since the one that moved, or was taken in passing, left its
//! line. A rook that castled has moved.

use super::lines::man;
use super::{Sight, Sighting, sighting};
use crate::game::{Motif, rules};
use shakmaty::{Move, Position, Square};

pub(super) fn find(sight: Sight<'_>) -> Vec<Sighting> {
    let position = sight.position;
    let (Some((before, chosen)), Some(king)) = (sight.last, position.board().king_of(position.turn())) else {
        return Vec::new();
    };
    let mut moved = vec![rules::target(chosen)];
    if let (Move::Castle { king, .. }, Some(wing)) = (chosen, chosen.castling_side()) {
        moved.push(Square::from_coords(wing.rook_to_file(), king.rank()));
    }
    let uncovered = position.checkers().into_iter().filter(|at| !moved.contains(at));
    let seen = uncovered.map(|at| {
        let told = format!("{} uncovers the check of {}", rules::san(before, chosen), man(position, at));
        sighting(Motif::DiscoveredCheck, [at, king], told, vec![format!("force {at} {king}")], Vec::new())
    });
    seen.collect()
}
