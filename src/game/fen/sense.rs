//! Whether the men could stand like this: kings, pawns, checks, castling rights, en passant, material.

use super::fields::corner;
use super::{Fault, Fields};
use crate::game::rules;
use shakmaty::{
    Bitboard, Board, CastlingMode, Chess, Color, FromSetup, Piece, PositionError, PositionErrorKinds, Rank, Role,
    Setup, Square,
};
use std::ops::Range;

/// More men of one side than this are not chess; fewer, however promoted, never have more moves than a list of
/// shakmaty's holds (270).
const MEN: usize = 16;

/// Reports what is impossible; gives the position if there is one.
pub(super) fn check(fields: Fields<'_>, faults: &mut Vec<Fault>) -> Option<Chess> {
    if !faults.is_empty() {
        return None;
    }
    kings(&fields, faults);
    pawns(&fields, faults);
    crowd(&fields, faults);
    castling(&fields, faults);
    en_passant(&fields, faults);
    if !faults.is_empty() {
        return None;
    }
    side_not_to_move(&fields, faults);
    if !faults.is_empty() {
        return None;
    }
    let kinds = match Chess::from_setup(fields.setup.clone(), CastlingMode::Standard) {
        Ok(position) => return Some(position),
        Err(error) => error.kinds(),
    };
    impossible(&fields, kinds, faults);
    let position = rules::position_of(fields.setup);
    if position.is_none() {
        faults.push(Fault::new(0..fields.text.len(), "is no legal position", "the laws of chess exclude it"));
    }
    position
}

fn letter(fields: &Fields<'_>, square: Square) -> Range<usize> {
    match fields.letters[usize::from(square)] {
        Some(at) => at..at + 1,
        None => fields.ranges[0].clone(),
    }
}

fn kings(fields: &Fields<'_>, faults: &mut Vec<Fault>) {
    for color in Color::ALL {
        let name = rules::side(color);
        let kings = fields.setup.board.by_piece(Piece { color, role: Role::King });
        let sign = color.fold_wb('K', 'k');
        match kings.count() {
            1 => {}
            0 => faults.push(
                Fault::new(fields.ranges[0].clone(), format!("has no {} king", lower(color)), format!("no `{sign}`"))
                    .hint(format!("put {name}'s king `{sign}` on the board")),
            ),
            many => {
                let second = kings.last().expect("several kings have a last one");
                let others: Vec<String> = kings.without(second).into_iter().map(|at| at.to_string()).collect();
                let message = format!("has {many} {} kings", lower(color));
                let label = format!("a king on {second} besides {}", others.join(", "));
                faults.push(Fault::new(letter(fields, second), message, label));
            }
        }
    }
}

fn pawns(fields: &Fields<'_>, faults: &mut Vec<Fault>) {
    for rank in [Rank::Eighth, Rank::First] {
        let pawns = fields.setup.board.pawns() & rank;
        let Some(first) = pawns.first() else { continue };
        let squares: Vec<String> = pawns.into_iter().map(|square| square.to_string()).collect();
        let message =
            format!("has {} on {}", if squares.len() == 1 { "a pawn" } else { "pawns" }, rules::listed(&squares, 8));
        let label = format!("no pawn can stand on rank {}", rank.char());
        faults.push(Fault::new(letter(fields, first), message, label));
    }
}

fn crowd(fields: &Fields<'_>, faults: &mut Vec<Fault>) {
    for color in Color::ALL {
        let men = fields.setup.board.by_color(color).count();
        if men > MEN {
            let message = format!("has {men} {} men", lower(color));
            faults.push(Fault::new(fields.ranges[0].clone(), message, format!("a side has {MEN} at most")));
        }
    }
}

fn castling(fields: &Fields<'_>, faults: &mut Vec<Fault>) {
    let place = fields.ranges[2].clone();
    let field = &fields.text[place.clone()];
    let fits = |sign: char| {
        let color = if sign.is_ascii_uppercase() { Color::White } else { Color::Black };
        let king = color.fold_wb(Square::E1, Square::E8);
        let rook = corner(sign)?;
        let board = &fields.setup.board;
        let wanted = [(king, Piece { color, role: Role::King }), (rook, Piece { color, role: Role::Rook })];
        wanted.into_iter().find(|(at, piece)| board.piece_at(*at) != Some(*piece))
    };
    let right: String = field.chars().filter(|sign| corner(*sign).is_some() && fits(*sign).is_none()).collect();
    for (offset, sign) in field.char_indices() {
        let Some((square, piece)) = fits(sign) else { continue };
        let at = place.start + offset;
        let label = format!("no {} stands on {square}", rules::man(piece));
        let hint = format!("the rights that fit this placement: `{}`", if right.is_empty() { "-" } else { &right });
        faults.push(Fault::new(at..at + 1, format!("gives the castling right `{sign}`"), label).hint(hint));
    }
}

fn en_passant(fields: &Fields<'_>, faults: &mut Vec<Fault>) {
    let Some(square) = fields.setup.ep_square else { return };
    let (turn, board) = (fields.setup.turn, &fields.setup.board);
    let rank = turn.relative_rank(Rank::Sixth);
    let label = if square.rank() == rank {
        let step = |to: Rank| Square::from_coords(square.file(), to);
        let pawn = step(turn.relative_rank(Rank::Fifth));
        let from = step(turn.relative_rank(Rank::Seventh));
        let passed = [square, from].into_iter().find(|at| board.piece_at(*at).is_some());
        if board.piece_at(pawn) != Some(Piece { color: !turn, role: Role::Pawn }) {
            format!("no {} stands on {pawn}", rules::man(Piece { color: !turn, role: Role::Pawn }))
        } else if let Some(at) = passed {
            format!("{at} is not empty, so no pawn has just passed")
        } else {
            return;
        }
    } else {
        format!("with {} to move it lies on rank {}", rules::side(turn), rank.char())
    };
    let fault = Fault::new(fields.ranges[3].clone(), format!("has {square} as its en passant square"), label);
    faults.push(fault.hint("write `-` unless the last move was a pawn's double step"));
}

fn side_not_to_move(fields: &Fields<'_>, faults: &mut Vec<Fault>) {
    let (turn, board) = (fields.setup.turn, &fields.setup.board);
    let Some(king) = board.king_of(!turn) else { return };
    let Some(checker) = board.attacks_to(king, turn, board.occupied()).first() else { return };
    if board.role_at(checker) == Some(Role::King) {
        let message = format!("has the kings on {king} and {checker} side by side");
        let fault = Fault::new(letter(fields, king), message, format!("touches the king on {checker}"));
        faults.push(fault.hint("a square at least lies between two kings"));
        return;
    }
    let message = format!("has {}'s king in check with {} to move", rules::side(!turn), rules::side(turn));
    let label = format!("the king on {king} is attacked by {}", on(board, checker));
    let fault = Fault::new(fields.ranges[1].clone(), message, label);
    faults.push(fault.hint(format!("write `{}` if {} is to move", turn.fold_wb('b', 'w'), rules::side(!turn))));
}

fn impossible(fields: &Fields<'_>, kinds: PositionErrorKinds, faults: &mut Vec<Fault>) {
    let (turn, board) = (fields.setup.turn, &fields.setup.board);
    if kinds.contains(PositionErrorKinds::IMPOSSIBLE_CHECK) {
        let king = board.king_of(turn).expect("both kings were found above");
        let checkers: Vec<String> =
            board.attacks_to(king, !turn, board.occupied()).into_iter().map(|at| on(board, at)).collect();
        let without = Setup { ep_square: None, ..fields.setup.clone() };
        let checks = |error: &PositionError<Chess>| error.kinds().contains(PositionErrorKinds::IMPOSSIBLE_CHECK);
        let stays = Chess::from_setup(without, CastlingMode::Standard).as_ref().is_err_and(checks);
        let fault = if let Some(square) = fields.setup.ep_square.filter(|_| !stays) {
            let message = format!("has {square} as its en passant square and a check that excludes it");
            let label = format!("the pawn that passed {square} gave no check from {}", rules::listed(&checkers, 8));
            let fault = Fault::new(fields.ranges[3].clone(), message, label);
            fault.hint("write `-` unless the last move was a pawn's double step")
        } else {
            let label = format!("no last move gives check from {}", rules::listed(&checkers, 8));
            Fault::new(fields.ranges[0].clone(), "has a check that no game leads to", label)
        };
        faults.push(fault.harmless());
    }
    if kinds.contains(PositionErrorKinds::TOO_MUCH_MATERIAL) {
        let sides: Vec<String> = Color::ALL.into_iter().filter_map(|color| too_many(board, color)).collect();
        let message = "has more men than promotions can give";
        faults.push(Fault::new(fields.ranges[0].clone(), message, sides.join("; ")).harmless());
    }
}

/// Why a side has more men than a game can leave it, if it has: whatever goes beyond the set it began with was a pawn.
fn too_many(board: &Board, color: Color) -> Option<String> {
    let men = |role| board.by_piece(Piece { color, role });
    let (side, pawns) = (rules::side(color), men(Role::Pawn).count());
    if pawns > 8 {
        return Some(format!("{side} has {pawns} pawns, and a side begins with 8"));
    }
    let bishops = men(Role::Bishop);
    let groups = [
        (men(Role::Queen).count(), 1, "queens"),
        (men(Role::Rook).count(), 2, "rooks"),
        ((bishops & Bitboard::LIGHT_SQUARES).count(), 1, "bishops on light squares"),
        ((bishops & Bitboard::DARK_SQUARES).count(), 1, "bishops on dark squares"),
        (men(Role::Knight).count(), 2, "knights"),
    ];
    let beyond: Vec<String> = groups
        .iter()
        .filter(|(count, set, _)| count > set)
        .map(|(count, set, men)| format!("{count} {men} where the set has {set}"))
        .collect();
    let promoted: usize = groups.iter().map(|(count, set, _)| count.saturating_sub(*set)).sum();
    let missing = 8 - pawns;
    (promoted > missing).then(|| {
        let are = match missing {
            0 => "no pawn is missing".to_owned(),
            1 => "only 1 pawn is missing".to_owned(),
            more => format!("only {more} pawns are missing"),
        };
        format!("{side} has {}, and {are}", rules::listed(&beyond, 5))
    })
}

fn on(board: &Board, square: Square) -> String {
    match board.role_at(square) {
        Some(role) => format!("the {} on {square}", rules::role(role)),
        None => square.to_string(),
    }
}

fn lower(color: Color) -> &'static str {
    color.fold_wb("white", "black")
}
