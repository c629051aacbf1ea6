//! Stalemate net: a side can offer a man so that taking it is stalemate. Seen with that side to move, the other having
//! passed if need be.

use super::super::notation::{after, numbered};
use super::lines::man;
use super::{Sighting, lines, sighting, to_move};
use crate::game::{Motif, rules};
use shakmaty::{Chess, Color, Move, Position, Role, attacks};

pub(super) fn find(position: &Chess) -> Vec<Sighting> {
    Color::ALL.into_iter().filter_map(|color| of_side(position, color)).collect()
}

fn of_side(position: &Chess, color: Color) -> Option<Sighting> {
    let mine = to_move(position, color)?;
    let [given, taken] = given_up(&mine)?;
    let (from, to) = (rules::origin(given), rules::target(given));
    let king = mine.board().king_of(color)?;
    let alone = mine.legal_moves().iter().all(|chosen| chosen.from() == Some(from));
    let side = rules::side(color);
    let lead = if alone { format!("{side} can move with {} alone, and ", man(&mine, from)) } else { String::new() };
    let told = format!("{lead}{} is stalemate", numbered(&mine, &[given, taken]));
    let field: Vec<_> = attacks::king_attacks(king).without(mine.board().by_color(color)).into_iter().collect();
    let marks = lines::mark("trap", &field).into_iter().collect();
    Some(sighting(Motif::StalemateNet, [from, to, king], told, marks, vec![format!("{from} {to}")]))
}

/// A man's move and the capture of it that is stalemate; checks first, since those must be answered.
fn given_up(mine: &Chess) -> Option<[Move; 2]> {
    let mut given: Vec<(bool, Move, Chess)> = mine
        .legal_moves()
        .into_iter()
        .filter(|chosen| chosen.role() != Role::King)
        .map(|chosen| (chosen, after(mine, chosen)))
        .map(|(chosen, next)| (!next.is_check(), chosen, next))
        .collect();
    given.sort_by_key(|(quiet, ..)| *quiet);
    given.into_iter().find_map(|(_, given, next)| {
        let captures = next.legal_moves().into_iter().filter(|answer| answer.is_capture());
        let mut of_it = captures.filter(|answer| answer.to() == rules::target(given));
        Some([given, of_it.find(|answer| after(&next, *answer).is_stalemate())?])
    })
}
