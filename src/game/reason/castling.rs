//! Why castling is refused (FIDE Laws 2023, 3.8.2).

use super::{Reason, name};
use crate::game::rules::{castling_sign, listed, man, man_on};
use shakmaty::{Bitboard, CastlingSide, Chess, Piece, Position, Role, Square, attacks};

pub(super) fn why(position: &Chess, wing: CastlingSide) -> Reason {
    let turn = position.turn();
    let sign = castling_sign(wing);
    let home = turn.fold_wb(Square::E1, Square::E8);
    let corner = match wing {
        CastlingSide::KingSide => turn.fold_wb(Square::H1, Square::H8),
        CastlingSide::QueenSide => turn.fold_wb(Square::A1, Square::A8),
    };
    let board = position.board();
    for (square, role) in [(home, Role::King), (corner, Role::Rook)] {
        let wanted = Piece { color: turn, role };
        if board.piece_at(square) != Some(wanted) {
            return Reason::new(format!("no {} stands on {square}", man(wanted)));
        }
    }
    if !position.castles().has(turn, wing) {
        let letter = turn.fold_wb(sign.to_string(), sign.to_lowercase());
        let right = match (letter.len(), turn.is_white()) {
            (3, true) => 'K',
            (3, false) => 'k',
            (_, true) => 'Q',
            (_, false) => 'q',
        };
        return Reason::new(format!("{} has no right to castle on this wing", name(turn)))
            .hint(format!("king and rook must not have moved; a FEN with the right has `{right}` in its third field"));
    }
    let between = attacks::between(home, corner) & board.occupied();
    if let Some(blocker) = between.first() {
        return Reason::new(format!("{} stands between king and rook", man_on(position, blocker)));
    }
    if let Some(checker) = position.checkers().first() {
        return Reason::new(format!("the king is in check from {}", man_on(position, checker)));
    }
    let way = attacks::between(home, wing.king_to(turn)) | Bitboard::from_square(wing.king_to(turn));
    for square in way {
        let attackers = board.attacks_to(square, !turn, board.occupied());
        if attackers.any() {
            let by: Vec<String> = attackers.into_iter().map(|at| man_on(position, at)).collect();
            let does = if square == wing.king_to(turn) { "arrive on" } else { "pass over" };
            return Reason::new(format!("the king would {does} {square}, attacked by {}", listed(&by, 3)));
        }
    }
    Reason::new(format!("{sign} is not possible here"))
}
