//! Pins. *Absolute*: between an enemy's man and its own king stands one man, which may leave the line by no legal move.
//! *Relative*: behind it stands a better man than it, which the enemy would win by one exchange if it left.

use super::lines::{behind, joins, line_men, man, only_between};
use super::{Sighting, gain, lines, sighting, to_move, without};
use crate::game::Motif;
use shakmaty::{Chess, Color, Position, Role, Square};

pub(super) fn find(position: &Chess) -> Vec<Sighting> {
    Color::ALL
        .into_iter()
        .flat_map(|color| absolute(position, color).into_iter().chain(relative(position, color)))
        .collect()
}

/// The men of a side that are pinned to its king.
fn absolute(position: &Chess, color: Color) -> Vec<Sighting> {
    let board = position.board();
    let Some(king) = board.king_of(color) else { return Vec::new() };
    let pins = line_men(board, !color).into_iter().filter(|(slider, role)| joins(*role, *slider, king));
    pins.filter_map(|(slider, _)| {
        let pinned = only_between(board, slider, king).filter(|at| board.color_at(*at) == Some(color))?;
        Some(told(position, pinned, slider, king))
    })
    .collect()
}

fn relative(position: &Chess, color: Color) -> Vec<Sighting> {
    let board = position.board();
    let mut found = Vec::new();
    for (slider, role) in line_men(board, !color) {
        let fronts = lines::attacked(board, slider).intersect(board.by_color(color));
        for front in fronts {
            let Some(better) = behind(board, slider, front).filter(|at| board.color_at(*at) == Some(color)) else {
                continue;
            };
            let (Some(own), Some(other)) = (board.role_at(front), board.role_at(better)) else { continue };
            // What is worth less than the man in front of it is for a skewer to win.
            if own == Role::King || other == Role::King || gain::worth(other) <= gain::worth(own) {
                continue;
            }
            let lost = without(position, front).and_then(|open| to_move(&open, !color)).is_some_and(|open| {
                let takes = |chosen: &shakmaty::Move| chosen.from() == Some(slider) && chosen.to() == better;
                open.legal_moves().into_iter().any(|chosen| takes(&chosen) && gain::of(&open, chosen) > 0)
            });
            if lost && joins(role, slider, better) {
                found.push(told(position, front, slider, better));
            }
        }
    }
    found
}

fn told(position: &Chess, pinned: Square, slider: Square, target: Square) -> Sighting {
    let told = format!("{} pins {} to {}", man(position, slider), man(position, pinned), man(position, target));
    let marks = vec![format!("force {slider} {target}"), format!("threat {pinned}")];
    sighting(Motif::Pin, [pinned, slider, target], told, marks, Vec::new())
}
