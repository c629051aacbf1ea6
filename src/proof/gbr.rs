//! The code of Guy, Blandford and Roycroft for the material of an ending: `=0323.12g3g1`.
//!
//! Queens, rooks, bishops, knights, each white man counting 1 and each black man 3 (9 for more than two on a side); a
//! point; the white and the black pawns; the kings' squares. `+` or `=` before it says what White is to do.

use super::Stipulation;
use shakmaty::{Chess, Color, Position, Role};

/// The code of a position.
pub(super) fn code(position: &Chess, stipulation: Option<Stipulation>) -> String {
    let sign = match (stipulation, position.turn()) {
        (Some(Stipulation::Win), Color::White) => "+",
        (Some(Stipulation::Draw), Color::White) => "=",
        _ => "",
    };
    let count = |color, role| position.board().by_color(color).intersect(position.board().by_role(role)).count();
    let digits: String = [Role::Queen, Role::Rook, Role::Bishop, Role::Knight]
        .into_iter()
        .map(|role| match (count(Color::White, role), count(Color::Black, role)) {
            (white @ 0..=2, black @ 0..=2) => (white + 3 * black).to_string(),
            _ => "9".to_string(),
        })
        .collect();
    let king = |color| position.board().king_of(color).map_or_else(String::new, |square| square.to_string());
    let pawns = |color| count(color, Role::Pawn);
    format!("{sign}{digits}.{}{}{}{}", pawns(Color::White), pawns(Color::Black), king(Color::White), king(Color::Black))
}
