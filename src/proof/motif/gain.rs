//! What an exchange brings, counted in pawns and played with legal moves.

use super::super::notation::after;
use shakmaty::{Chess, Move, Position, Role, Square};

/// More than all men together: the worth of mate.
pub(super) const MATE: i32 = 1000;

/// A man's worth in pawns, as every primer has it. The king is never taken, and whoever takes with him may not be.
pub(super) fn worth(role: Role) -> i32 {
    match role {
        Role::Pawn => 1,
        Role::Knight | Role::Bishop => 3,
        Role::Rook => 5,
        Role::Queen => 9,
        Role::King => MATE,
    }
}

/// What a move takes, and what it makes of a pawn.
pub(super) fn taken(chosen: Move) -> i32 {
    chosen.capture().map_or(0, worth) + chosen.promotion().map_or(0, |role| worth(role) - worth(Role::Pawn))
}

/// What the side to move wins by taking on a square with its least man first, both sides free to stop; never below 0.
pub(super) fn on(position: &Chess, square: Square) -> i32 {
    let captures = position.legal_moves().into_iter().filter(|chosen| chosen.is_capture() && chosen.to() == square);
    captures.min_by_key(|chosen| worth(chosen.role())).map_or(0, |chosen| of(position, chosen).max(0))
}

/// What a move wins or loses on the square it goes to.
pub(super) fn of(position: &Chess, chosen: Move) -> i32 {
    let next = after(position, chosen);
    if next.is_checkmate() {
        return MATE;
    }
    taken(chosen) - on(&next, crate::game::rules::target(chosen))
}

/// The most that one capture or promotion wins, or mate; never below 0.
pub(super) fn best(position: &Chess) -> i32 {
    best_but(position, |_| false)
}

/// The same, but for what is taken on some squares.
pub(super) fn best_but(position: &Chess, leaves: impl Fn(Square) -> bool) -> i32 {
    let tried = |chosen: &Move| worth_trying(position, *chosen) && !(chosen.is_capture() && leaves(chosen.to()));
    position.legal_moves().into_iter().filter(tried).map(|chosen| of(position, chosen)).max().unwrap_or(0).max(0)
}

fn worth_trying(position: &Chess, chosen: Move) -> bool {
    chosen.is_capture() || chosen.is_promotion() || after(position, chosen).is_checkmate()
}
