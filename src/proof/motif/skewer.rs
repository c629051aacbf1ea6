//! Skewer: a man attacks a better or equal one, and behind that, on the same line, another. If the front one leaves, the
//! one behind falls in one exchange; if it is the attacked side's move, no answer saves both (`rescue`).

use super::super::decide::Ruling;
use super::lines::{self, behind, line_men, man};
use super::rescue::{self, Rescue};
use super::{Sighting, gain, sighting, to_move, without};
use crate::game::Motif;
use shakmaty::{Chess, Color, Position, Role, Square};

pub(super) fn find(position: &Chess) -> Vec<Sighting> {
    let lined = geometry(position).into_iter().filter(|line| judged(position, *line) == Rescue::None);
    lined.map(|line| told(position, line)).collect()
}

/// Front man, attacker, man behind.
fn geometry(position: &Chess) -> Vec<[Square; 3]> {
    let board = position.board();
    let mut found = Vec::new();
    for color in Color::ALL {
        for (slider, role) in line_men(board, color) {
            for front in lines::attacked(board, slider).intersect(board.by_color(!color)) {
                let Some(rear) = behind(board, slider, front).filter(|at| board.color_at(*at) == Some(!color)) else {
                    continue;
                };
                let (Some(first), Some(second)) = (board.role_at(front), board.role_at(rear)) else { continue };
                let pawns = first == Role::Pawn || second == Role::Pawn || second == Role::King;
                if pawns || gain::worth(second) > gain::worth(first) {
                    continue;
                }
                let attacked = first == Role::King
                    || gain::worth(first) > gain::worth(role)
                    || to_move(position, color).is_some_and(|mine| gain::on(&mine, front) > 0);
                // A pinned man attacks, but takes nothing.
                let takes = color != position.turn() || gain::on(position, front) > 0;
                if attacked && takes && falls(position, color, slider, front, rear) {
                    found.push([front, slider, rear]);
                }
            }
        }
    }
    found
}

/// Whether the rear man is lost once the front one is gone. A king cannot be taken away; what then hangs is seen by
/// the attackers on the rear man's square.
fn falls(position: &Chess, color: Color, slider: Square, front: Square, rear: Square) -> bool {
    let board = position.board();
    let better = |at| board.role_at(at).map_or(0, gain::worth);
    if board.role_at(front) == Some(Role::King) {
        let open = board.occupied().without(front);
        let guards = board.attacks_to(rear, !color, open).without(front).without(rear);
        return better(rear) > better(slider) || guards.is_empty();
    }
    without(position, front).and_then(|open| to_move(&open, color)).is_some_and(|open| gain::on(&open, rear) > 0)
}

/// What the attacked side can do about it, when it is its move.
fn judged(position: &Chess, [front, slider, rear]: [Square; 3]) -> Rescue {
    if lines::side_of(position, front) != position.turn() {
        return Rescue::None;
    }
    rescue::rescue(position, slider, &[front, rear])
}

fn told(position: &Chess, [front, slider, rear]: [Square; 3]) -> Sighting {
    let told =
        format!("{} attacks {} and, behind it, {}", man(position, slider), man(position, front), man(position, rear));
    let marks = vec![format!("force {slider} {rear}"), format!("threat {front} {rear}")];
    sighting(Motif::Skewer, [front, slider, rear], told, marks, Vec::new())
}

/// Why there is none, where there nearly is one.
pub(super) fn missing(position: &Chess, named: &[Square]) -> Option<Ruling> {
    let line = geometry(position).into_iter().find(|line| named.iter().all(|at| line.contains(at)))?;
    rescue::saved_by(position, &told(position, line).told, judged(position, line))
}
