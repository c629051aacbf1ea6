//! The flights of a king: the squares beside it that it may go to, were it to move: free or held by an enemy's man, and
//! attacked by none once the king has left its own square. Castling is no flight.

use super::super::decide::{Ruling, proven, refuted};
use super::lines::{man, mark, names};
use super::{Sighting, sighting};
use crate::game::{Motif, rules};
use crate::units;
use shakmaty::{Chess, Color, Position, Role, Square, attacks};

pub(super) fn find(position: &Chess) -> Vec<Sighting> {
    Color::ALL.into_iter().filter_map(|color| of_side(position, color)).collect()
}

/// The squares that the king of a side may go to.
pub(super) fn flights(position: &Chess, color: Color) -> Vec<Square> {
    let board = position.board();
    let Some(king) = board.king_of(color) else { return Vec::new() };
    let lifted = board.occupied().without(king);
    let beside = attacks::king_attacks(king).without(board.by_color(color));
    beside.into_iter().filter(|square| board.attacks_to(*square, !color, lifted).is_empty()).collect()
}

fn of_side(position: &Chess, color: Color) -> Option<Sighting> {
    let king = position.board().king_of(color)?;
    let flights = flights(position, color);
    let told = if flights.is_empty() {
        format!("{} has no flight", man(position, king))
    } else {
        format!("{} may go to {}", man(position, king), names(&flights))
    };
    let guarded: Vec<Square> = attacks::king_attacks(king)
        .without(position.board().by_color(color))
        .into_iter()
        .filter(|square| !flights.contains(square))
        .collect();
    let marks = [mark("trap", &guarded), mark("dot", &flights)].into_iter().flatten().collect();
    Some(sighting(Motif::Flights, [king].into_iter().chain(flights), told, marks, Vec::new()))
}

/// Rules on a claim: the named squares are the flights, no more and no fewer.
pub(super) fn rule(position: &Chess, king: Square, claimed: &[units::Square]) -> Ruling {
    let board = position.board();
    let Some(color) = board.color_at(king).filter(|_| board.role_at(king) == Some(Role::King)) else {
        let kings: Vec<String> = Color::ALL
            .into_iter()
            .filter_map(|color| Some(format!("{}'s on {}", rules::side(color), board.king_of(color)?)))
            .collect();
        return refuted(format!("no king stands on {king}: {}", kings.join(", ")));
    };
    let flights = flights(position, color);
    let claimed: Vec<Square> = claimed.iter().map(|square| rules::inner_square(*square)).collect();
    let missing: Vec<Square> = flights.iter().copied().filter(|square| !claimed.contains(square)).collect();
    let barred: Vec<Square> = claimed.iter().copied().filter(|square| !flights.contains(square)).collect();
    let named = man(position, king);
    if let Some(square) = barred.first() {
        return refuted(format!("{named} cannot go to {square}: {}", barring(position, color, king, *square)));
    }
    if !missing.is_empty() {
        return refuted(format!("{named} may go to {} too", names(&missing)));
    }
    proven(if flights.is_empty() {
        format!("{named} has no flight")
    } else {
        format!("{named} may go to {} alone", names(&flights))
    })
}

/// Why a king cannot go to a square.
fn barring(position: &Chess, color: Color, king: Square, square: Square) -> String {
    let board = position.board();
    if !attacks::king_attacks(king).contains(square) {
        return "it is not beside it".into();
    }
    if board.color_at(square) == Some(color) {
        return format!("{} stands there", man(position, square));
    }
    let by = board.attacks_to(square, !color, board.occupied().without(king));
    let men: Vec<String> = by.into_iter().map(|at| man(position, at)).collect();
    format!("{} guards it", rules::listed(&men, 3))
}
