//! Lines of force: who stands on them, and who stands between.

use crate::game::rules;
use shakmaty::{Bitboard, Board, Chess, Color, Position, Role, Square, attacks};

/// Whether a man of this kind moves along the line from one square to the other.
pub(super) fn joins(role: Role, from: Square, to: Square) -> bool {
    from != to && attacks::attacks(from, role.of(Color::White), Bitboard::EMPTY).contains(to) && is_line(role)
}

fn is_line(role: Role) -> bool {
    matches!(role, Role::Bishop | Role::Rook | Role::Queen)
}

/// The men of a side that move along lines, with their kinds.
pub(super) fn line_men(board: &Board, color: Color) -> Vec<(Square, Role)> {
    let men = board.by_color(color).intersect(board.sliders());
    men.into_iter().filter_map(|at| Some((at, board.role_at(at)?))).collect()
}

/// The one man between two squares of a line; `None` if there is none or more than one.
pub(super) fn only_between(board: &Board, from: Square, to: Square) -> Option<Square> {
    let between = attacks::between(from, to).intersect(board.occupied());
    if between.count() == 1 { between.first() } else { None }
}

/// The next man on the line from `slider` behind `front`, which it attacks.
pub(super) fn behind(board: &Board, slider: Square, front: Square) -> Option<Square> {
    let man = board.piece_at(slider)?;
    let occupied = board.occupied();
    let now = attacks::attacks(slider, man, occupied);
    let through = attacks::attacks(slider, man, occupied.without(front));
    if !now.contains(front) {
        return None;
    }
    through.without(now).intersect(occupied).first()
}

/// What a man attacks.
pub(super) fn attacked(board: &Board, at: Square) -> Bitboard {
    board.attacks_from(at)
}

/// `the bishop on g5`.
pub(super) fn man(position: &Chess, at: Square) -> String {
    rules::man_on(position, at)
}

/// `d7 and e7`.
pub(super) fn names(squares: &[Square]) -> String {
    rules::listed(&squares.iter().map(ToString::to_string).collect::<Vec<_>>(), 8)
}

/// A mark on squares, as a timeline writes it: `threat c7 e7`. Empty without squares.
pub(super) fn mark(role: &str, squares: &[Square]) -> Option<String> {
    (!squares.is_empty()).then(|| {
        let squares: Vec<String> = squares.iter().map(ToString::to_string).collect();
        format!("{role} {}", squares.join(" "))
    })
}

/// The side of a man; White for an empty square, which nobody asks about.
pub(super) fn side_of(position: &Chess, at: Square) -> Color {
    position.board().color_at(at).unwrap_or(Color::White)
}
