//! Lines as they are printed under a diagram: `1.c7 Rd6+ 2.Kb5`.

use crate::game::rules;
use shakmaty::{Chess, Color, Move, Position};
use std::fmt::Write as _;

/// The moves with their numbers, counted from the position's own: `3...Rd4+ 4.Kb3`.
pub(super) fn numbered(position: &Chess, moves: &[Move]) -> String {
    let mut here = position.clone();
    let mut text = String::new();
    for (i, chosen) in moves.iter().enumerate() {
        if i > 0 {
            text.push(' ');
        }
        let number = here.fullmoves();
        // Writing to a text never fails.
        match (here.turn(), i) {
            (Color::White, _) => write!(text, "{number}.").unwrap_or_default(),
            (Color::Black, 0) => write!(text, "{number}...").unwrap_or_default(),
            (Color::Black, _) => {}
        }
        text.push_str(&rules::san(&here, *chosen));
        here.play_unchecked(*chosen);
    }
    text
}

/// One move with its number: `4.Kb3`, `3...Rd4+`.
pub(super) fn one(position: &Chess, chosen: Move) -> String {
    numbered(position, &[chosen])
}

/// The position after a move.
pub(super) fn after(position: &Chess, chosen: Move) -> Chess {
    let mut after = position.clone();
    after.play_unchecked(chosen);
    after
}
