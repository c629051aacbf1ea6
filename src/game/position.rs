//! A position to try moves on, for rooms that may not name the rules' library: what is legal, and what it leads to.

use super::{Node, State, fen, rules};
use crate::diag::Diagnostic;
use crate::source::Span;
use crate::units::{Placement, Role, Side, Square};
use shakmaty::{CastlingSide, Chess, Move, Position as _};

/// A legal position.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Position(Chess);

/// A legal move of a position, as it is looked for.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub struct LegalMove {
    /// What moves: a pawn, when it promotes.
    pub role: Role,
    /// Where it stands.
    pub from: Square,
    /// Where it goes; for castling the king's own target.
    pub to: Square,
    /// What it takes.
    pub captured: Option<Role>,
    /// Whether it takes a pawn that has just gone two squares (FIDE Laws 3.7.3.1).
    pub en_passant: bool,
    /// What the pawn becomes.
    pub promotion: Option<Role>,
    /// For castling, towards the king's side or not.
    pub castling: Option<Wing>,
    chosen: Move,
}

/// Where the king castles to.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Wing {
    /// O-O, to the g-file.
    King,
    /// O-O-O, to the c-file.
    Queen,
}

impl Position {
    /// The initial array.
    pub fn initial() -> Position {
        Position(Chess::default())
    }

    /// The position of a FEN, if it can be played on, and what is wrong with it, by its bytes in `text`.
    pub fn read(text: &str) -> (Option<Position>, Vec<Diagnostic>) {
        let (position, faults) = fen::read(text);
        let at = |fault: fen::Fault| {
            let place = Span::new(fault.place.start, fault.place.end);
            fault.at(place)
        };
        (position.map(Position), faults.into_iter().map(at).collect())
    }

    /// The position of a node.
    pub fn of(node: &Node) -> Position {
        Position(rules::position_at(node))
    }

    /// Every legal move, in an order that only depends on the position.
    pub fn legal_moves(&self) -> Vec<LegalMove> {
        self.0.legal_moves().into_iter().map(legal).collect()
    }

    /// What comes of a move of this position.
    #[must_use]
    pub fn after(&self, legal: &LegalMove) -> Position {
        let mut after = self.0.clone();
        after.play_unchecked(legal.chosen);
        Position(after)
    }

    /// The same with the other side to move; `None` where the side to move is in check.
    pub fn passed(&self) -> Option<Position> {
        rules::null_move(&self.0).map(Position)
    }

    /// A move of this position as SAN, with its check sign (PGN standard 1994, §8.2.3).
    pub fn san(&self, legal: &LegalMove) -> String {
        rules::san(&self.0, legal.chosen)
    }

    /// Whose move it is.
    pub fn turn(&self) -> Side {
        rules::side(self.0.turn())
    }

    /// The number of the coming move, as in FEN.
    pub fn move_number(&self) -> u32 {
        self.0.fullmoves().get()
    }

    /// Check, mate, stalemate.
    pub fn state(&self) -> State {
        rules::state(&self.0)
    }

    /// What stands where.
    pub fn placement(&self) -> Placement {
        rules::placement(&self.0)
    }

    /// FEN (PGN standard 1994, §16.1).
    pub fn fen(&self) -> String {
        rules::fen(&self.0)
    }
}

/// A move of the rules' library as others see it.
fn legal(chosen: Move) -> LegalMove {
    LegalMove {
        role: rules::role(chosen.role()),
        from: rules::square(rules::origin(chosen)),
        to: rules::square(rules::target(chosen)),
        captured: chosen.capture().map(rules::role),
        en_passant: chosen.is_en_passant(),
        promotion: chosen.promotion().map(rules::role),
        castling: chosen.castling_side().map(|side| match side {
            CastlingSide::KingSide => Wing::King,
            CastlingSide::QueenSide => Wing::Queen,
        }),
        chosen,
    }
}

impl LegalMove {
    /// Whether this is the ply that led to a node.
    pub fn is_ply(&self, ply: &super::Ply) -> bool {
        self.from == ply.from && self.to == ply.to && self.promotion == ply.promotion
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_position_knows_its_moves_and_where_they_lead() {
        let (position, faults) = Position::read("3k4/1P6/8/8/8/8/8/4K2R w K - 0 1");
        let position = position.expect("a legal position");
        assert!(faults.is_empty(), "{faults:?}");
        let moves = position.legal_moves();
        let castles = moves.iter().find(|legal| legal.castling.is_some()).expect("nothing stands between");
        assert_eq!((castles.to.to_string(), position.san(castles)), ("g1".into(), "O-O".into()));
        let knight = moves.iter().find(|legal| legal.promotion == Some(Role::Knight)).expect("the pawn may promote");
        assert_eq!(position.after(knight).fen(), "1N1k4/8/8/8/8/8/8/4K2R b K - 0 1");
    }

    #[test]
    fn only_a_side_that_is_not_in_check_can_pass() {
        let position = |fen: &str| Position::read(fen).0.expect("a legal position");
        assert!(position("7k/8/8/8/8/8/8/K6R b - - 0 1").passed().is_none());
        let passed = position("6k1/8/8/8/8/8/8/K6R b - - 0 1").passed().expect("no check");
        assert_eq!(passed.turn(), Side::White);
    }
}
