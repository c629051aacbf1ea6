//! The border to shakmaty: its types on one side, the house's on the other, and a position's plain facts.

use super::{Node, Ply, State};
use crate::source::Span;
pub(crate) use crate::units::listed;
use crate::units::{Piece, Placement, Role, Side, Square};
use shakmaty::fen::Fen;
use shakmaty::san::SanPlus;
use shakmaty::{CastlingSide, Chess, Color, EnPassantMode, FromSetup, Move, Position, PositionError, Setup};

pub(crate) fn square(square: shakmaty::Square) -> Square {
    Square::from_index(square.to_usize()).expect("both boards have the same 64 squares")
}

pub(crate) fn inner_square(square: Square) -> shakmaty::Square {
    shakmaty::Square::new(square.index() as u32)
}

pub(crate) fn side(color: Color) -> Side {
    color.fold_wb(Side::White, Side::Black)
}

pub(crate) fn role(role: shakmaty::Role) -> Role {
    match role {
        shakmaty::Role::Pawn => Role::Pawn,
        shakmaty::Role::Knight => Role::Knight,
        shakmaty::Role::Bishop => Role::Bishop,
        shakmaty::Role::Rook => Role::Rook,
        shakmaty::Role::Queen => Role::Queen,
        shakmaty::Role::King => Role::King,
    }
}

pub(crate) fn inner_role(role: Role) -> shakmaty::Role {
    match role {
        Role::Pawn => shakmaty::Role::Pawn,
        Role::Knight => shakmaty::Role::Knight,
        Role::Bishop => shakmaty::Role::Bishop,
        Role::Rook => shakmaty::Role::Rook,
        Role::Queen => shakmaty::Role::Queen,
        Role::King => shakmaty::Role::King,
    }
}

pub(crate) fn piece(piece: shakmaty::Piece) -> Piece {
    Piece { side: side(piece.color), role: role(piece.role) }
}

pub(crate) fn placement(position: &Chess) -> Placement {
    let mut placement = Placement::default();
    for (at, man) in position.board() {
        placement.set(square(at), Some(piece(man)));
    }
    placement
}

/// The position of a setup, where composed positions may hold checks and material that no game leads to.
pub(crate) fn position_of(setup: Setup) -> Option<Chess> {
    Chess::from_setup(setup, shakmaty::CastlingMode::Standard)
        .or_else(PositionError::ignore_impossible_check)
        .or_else(PositionError::ignore_too_much_material)
        .ok()
}

/// The position of a node, to play on from it.
pub(crate) fn position_at(node: &Node) -> Chess {
    let fen: Fen = node.fen.parse().expect("the FEN of a node was written by this room");
    position_of(fen.into_setup()).expect("every node's position was played or checked")
}

/// The same position with the other side to move, as after a null move; `None` when the side to move is in check.
pub(crate) fn null_move(position: &Chess) -> Option<Chess> {
    let mut setup = position.to_setup(EnPassantMode::Always);
    setup.swap_turn();
    setup.ep_square = None;
    position_of(setup)
}

pub(crate) fn state(position: &Chess) -> State {
    match (position.is_check(), position.legal_moves().is_empty()) {
        (true, true) => State::Mate,
        (true, false) => State::Check,
        (false, true) => State::Stalemate,
        (false, false) => State::Quiet,
    }
}

/// FEN of the PGN standard (1994, §16.1), with the en passant square only where a capture is legal.
pub(crate) fn fen(position: &Chess) -> String {
    Fen::from_position(position, EnPassantMode::Legal).to_string()
}

/// SAN with its check sign.
pub(crate) fn san(position: &Chess, chosen: Move) -> String {
    SanPlus::from_move(position.clone(), chosen).to_string()
}

/// The SANs of these moves in alphabetical order.
pub(crate) fn sans(position: &Chess, moves: impl IntoIterator<Item = Move>) -> Vec<String> {
    let mut all: Vec<String> = moves.into_iter().map(|chosen| san(position, chosen)).collect();
    all.sort();
    all
}

/// Where a move leads: the target, and for castling the king's.
pub(crate) fn target(chosen: Move) -> shakmaty::Square {
    match (chosen, chosen.castling_side()) {
        (Move::Castle { king, .. }, Some(wing)) => shakmaty::Square::from_coords(wing.king_to_file(), king.rank()),
        _ => chosen.to(),
    }
}

/// Where a move begins; every move of ordinary chess begins on the board.
pub(crate) fn origin(chosen: Move) -> shakmaty::Square {
    chosen.from().expect("a move of ordinary chess begins on a square")
}

/// What is seen and written of a legal move.
pub(crate) fn ply(position: &Chess, chosen: Move, suffix: &str, span: Span) -> Ply {
    let (from, to) = (origin(chosen), target(chosen));
    let stands = match chosen {
        Move::EnPassant { .. } => Some(shakmaty::Square::from_coords(to.file(), from.rank())),
        Move::Normal { capture: Some(_), .. } => Some(to),
        _ => None,
    };
    let captured = stands.and_then(|at| position.board().piece_at(at).map(|man| (piece(man), square(at))));
    let castling = match (chosen, chosen.castling_side()) {
        (Move::Castle { rook, .. }, Some(wing)) => {
            Some((square(rook), square(shakmaty::Square::from_coords(wing.rook_to_file(), rook.rank()))))
        }
        _ => None,
    };
    Ply {
        piece: Piece { side: side(position.turn()), role: role(chosen.role()) },
        from: square(from),
        to: square(to),
        captured,
        promotion: chosen.promotion().map(role),
        castling,
        san: san(position, chosen),
        suffix: suffix.to_string(),
        number: position.fullmoves().get(),
        span,
    }
}

/// `O-O` or `O-O-O`.
pub(crate) fn castling_sign(wing: CastlingSide) -> &'static str {
    match wing {
        CastlingSide::KingSide => "O-O",
        CastlingSide::QueenSide => "O-O-O",
    }
}

/// `white rook`: a man for the middle of a sentence.
pub(crate) fn man(piece: shakmaty::Piece) -> String {
    format!("{} {}", piece.color.fold_wb("white", "black"), role(piece.role))
}

/// `the rook on d5`.
pub(crate) fn man_on(position: &Chess, at: shakmaty::Square) -> String {
    match position.board().role_at(at) {
        Some(kind) => format!("the {} on {at}", role(kind)),
        None => format!("the empty square {at}"),
    }
}
