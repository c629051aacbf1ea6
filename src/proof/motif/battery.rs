//! Batteries: on a line stand a rear man that moves along it and, before it, another of its side. *Direct*: the line
//! leads to the enemy's king, so that the front man gives a discovered check when it leaves. *Indirect*: it leads to
//! squares beside the king. There must be a move by which the front man leaves the line.

use super::lines::{joins, line_men, man, names, only_between};
use super::{Sighting, sighting, to_move};
use crate::game::Motif;
use shakmaty::{Chess, Color, Position, Square, attacks};

pub(super) fn find(position: &Chess) -> Vec<Sighting> {
    Color::ALL.into_iter().flat_map(|color| of_side(position, color)).collect()
}

fn of_side(position: &Chess, color: Color) -> Vec<Sighting> {
    let board = position.board();
    let Some(king) = board.king_of(!color) else { return Vec::new() };
    let mine = |at: &Square| board.color_at(*at) == Some(color);
    let mut found = Vec::new();
    for (rear, role) in line_men(board, color) {
        if joins(role, rear, king)
            && let Some(front) = only_between(board, rear, king).filter(mine)
        {
            if leaves(position, color, front, rear) {
                found.push(direct(position, front, rear, king));
            }
            continue;
        }
        let beside = attacks::king_attacks(king).without(board.by_color(color));
        let reached = beside
            .into_iter()
            .filter(|square| joins(role, rear, *square) && !attacks::ray(rear, *square).contains(king));
        let mut by_front: Vec<(Square, Vec<Square>)> = Vec::new();
        for square in reached {
            let Some(front) = only_between(board, rear, square).filter(mine) else { continue };
            match by_front.iter_mut().find(|(known, _)| *known == front) {
                Some((_, squares)) => squares.push(square),
                None => by_front.push((front, vec![square])),
            }
        }
        let firing = by_front.into_iter().filter(|(front, _)| leaves(position, color, *front, rear));
        found.extend(firing.map(|(front, squares)| indirect(position, front, rear, king, &squares)));
    }
    found
}

/// Whether the front man has a move off the line. Where the other side is in check and cannot pass, what the man
/// attacks stands for its moves.
fn leaves(position: &Chess, color: Color, front: Square, rear: Square) -> bool {
    let line = attacks::ray(rear, front);
    match to_move(position, color) {
        Some(mine) => {
            mine.legal_moves().iter().any(|chosen| chosen.from() == Some(front) && !line.contains(chosen.to()))
        }
        None => {
            !position.board().attacks_from(front).without(position.board().by_color(color)).without(line).is_empty()
        }
    }
}

fn direct(position: &Chess, front: Square, rear: Square, king: Square) -> Sighting {
    let (front_man, rear_man) = (man(position, front), man(position, rear));
    let told =
        format!("{front_man} stands before {rear_man}: when it leaves the line, {} is in check", man(position, king));
    let marks = vec![format!("force {rear} {king}"), format!("key {front}")];
    sighting(Motif::DirectBattery, [front, rear, king], told, marks, Vec::new())
}

fn indirect(position: &Chess, front: Square, rear: Square, king: Square, squares: &[Square]) -> Sighting {
    let (front_man, rear_man) = (man(position, front), man(position, rear));
    let told = format!(
        "{front_man} stands before {rear_man}: when it leaves the line, {} beside {} {} attacked",
        names(squares),
        man(position, king),
        if squares.len() == 1 { "is" } else { "are" }
    );
    // The farthest square shows the whole line.
    let far = squares.iter().copied().max_by_key(|square| rear.distance(*square)).unwrap_or(king);
    let marks = vec![format!("force {rear} {far}"), format!("key {front}")];
    sighting(Motif::IndirectBattery, [front, rear].into_iter().chain(squares.iter().copied()), told, marks, Vec::new())
}
