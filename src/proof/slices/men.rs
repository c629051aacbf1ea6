//! Men of a slice and where the others stand; the moves that leave a slice.

pub use super::super::tables::men::index_of as side;
use super::super::tables::men::{Man, bit, king_reach, reach, squares};
use shakmaty::{Chess, Color, Position, Role};

/// What stays as it is within a slice: the pawns on their squares, and which piece there is besides the kings.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub struct Men {
    /// White's, Black's.
    pub pawns: [u64; 2],
    pub piece: Option<(Color, Role)>,
}

/// What changes within a slice.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Spot {
    pub kings: [u8; 2],
    /// The piece's square; 0 where there is no piece.
    pub at: u8,
    pub turn: Color,
}

/// A move out of a slice.
#[derive(Clone, Copy, Debug)]
pub struct Exit {
    pub men: Men,
    pub spot: Spot,
    pub kind: Kind,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Kind {
    Plain,
    /// A double step over this square.
    Step {
        over: u8,
    },
    /// A promotion; the new piece is the slice's own, or a second one on this square.
    Promotion {
        role: Role,
        second: Option<u8>,
    },
}

fn forward(color: Color, square: u8) -> u8 {
    color.fold_wb(square.wrapping_add(8), square.wrapping_sub(8))
}

const PROMOTIONS: [Role; 4] = [Role::Queen, Role::Rook, Role::Bishop, Role::Knight];

impl Men {
    /// The men and the spot of a position; `None` if it has more than one piece, or rights that a slice does not know.
    pub fn of(position: &Chess) -> Option<(Men, Spot)> {
        let board = position.board();
        let mut pieces = board.occupied() & !board.kings() & !board.pawns();
        let square = pieces.pop_front();
        if !pieces.is_empty() || !position.castles().is_empty() {
            return None;
        }
        let king = |color| board.king_of(color).map(|square| square.to_u32() as u8);
        let spot = Spot {
            kings: [king(Color::White)?, king(Color::Black)?],
            at: square.map_or(0, |square| square.to_u32() as u8),
            turn: position.turn(),
        };
        let pawns = |color| (board.pawns() & board.by_color(color)).0;
        let piece = square.and_then(|square| board.piece_at(square)).map(|piece| (piece.color, piece.role));
        Some((Men { pawns: [pawns(Color::White), pawns(Color::Black)], piece }, spot))
    }

    /// How many men there are, the kings among them.
    pub fn count(&self) -> usize {
        (self.pawns[0] | self.pawns[1]).count_ones() as usize + usize::from(self.piece.is_some()) + 2
    }

    /// Sinks with every move out of the slice: men, pawns, steps that the pawns have before them.
    pub fn rank(&self) -> (usize, u32, u32) {
        let steps = |color: Color| {
            let before = |square: u8| u32::from(color.fold_wb(7 - (square >> 3), square >> 3));
            squares(self.pawns[side(color)]).map(before).sum::<u32>()
        };
        let pawns = self.pawns[0] | self.pawns[1];
        (self.count(), pawns.count_ones(), steps(Color::White) + steps(Color::Black))
    }

    /// How many squares the piece may stand on, 1 where there is none.
    pub fn places(&self) -> usize {
        if self.piece.is_some() { 64 } else { 1 }
    }

    pub fn is_bare(&self, color: Color) -> bool {
        self.pawns[side(color)] == 0 && self.piece.is_none_or(|(owner, _)| owner != color)
    }

    fn pawn_attacks(&self, color: Color) -> u64 {
        const NOT_A: u64 = 0xfefe_fefe_fefe_fefe;
        const NOT_H: u64 = 0x7f7f_7f7f_7f7f_7f7f;
        let pawns = self.pawns[side(color)];
        match color {
            Color::White => (pawns & NOT_H) << 9 | (pawns & NOT_A) << 7,
            Color::Black => (pawns & NOT_H) >> 7 | (pawns & NOT_A) >> 9,
        }
    }

    pub fn occupied(&self, spot: Spot) -> u64 {
        let piece = if self.piece.is_some() { bit(spot.at) } else { 0 };
        self.pawns[0] | self.pawns[1] | bit(spot.kings[0]) | bit(spot.kings[1]) | piece
    }

    /// Whether a side's pawns or its piece attack a square; its king does not count.
    /// `second` are squares that are occupied as well.
    fn attacked(&self, spot: Spot, square: u8, by: Color, second: u64) -> bool {
        self.pawn_attacks(by) & bit(square) != 0
            || self.piece.is_some_and(|(color, role)| {
                let occupied = self.occupied(spot) | second;
                color == by && reach(Man::piece(color, role), spot.at, occupied) & bit(square) != 0
            })
    }

    pub fn in_check(&self, spot: Spot) -> bool {
        self.attacked(spot, spot.kings[side(spot.turn)], !spot.turn, 0)
    }

    /// Whether the men may stand like this with this side to move.
    pub fn is_legal(&self, spot: Spot) -> bool {
        self.is_legal_beside(spot, 0)
    }

    fn is_legal_beside(&self, spot: Spot, second: u64) -> bool {
        let [white, black] = spot.kings;
        let pawns = self.pawns[0] | self.pawns[1];
        let kings = bit(white) | bit(black);
        white != black
            && king_reach(white) & bit(black) == 0
            && kings & pawns == 0
            && (self.piece.is_none() || (kings | pawns) & bit(spot.at) == 0)
            && !self.attacked(spot, spot.kings[side(!spot.turn)], spot.turn, second)
    }

    /// Where the side to move gets to without leaving the slice.
    pub fn each_within(&self, spot: Spot, mut tell: impl FnMut(Spot)) {
        self.each_way(spot, spot.turn, &mut |after| {
            if self.is_legal(after) {
                tell(after);
            }
        });
    }

    /// Where a side's men may go, or may have come from, without a change of slice; some of it may not be legal. The
    /// other side is then, or was then, not the one to move.
    pub fn each_way(&self, spot: Spot, mover: Color, tell: &mut impl FnMut(Spot)) {
        let free = !self.occupied(spot);
        let spot = Spot { turn: !spot.turn, ..spot };
        for to in squares(king_reach(spot.kings[side(mover)]) & free) {
            let mut kings = spot.kings;
            kings[side(mover)] = to;
            tell(Spot { kings, ..spot });
        }
        if let Some((color, role)) = self.piece.filter(|(color, _)| *color == mover) {
            for to in squares(reach(Man::piece(color, role), spot.at, !free) & free) {
                tell(Spot { at: to, ..spot });
            }
        }
    }

    /// The men without what stands on a square.
    fn without(&self, spot: Spot, square: u8) -> Men {
        let pawns = self.pawns.map(|pawns| pawns & !bit(square));
        let taken = self.piece.is_some() && spot.at == square;
        Men { pawns, piece: self.piece.filter(|_| !taken) }
    }

    /// The slices that moves may lead to, and those that captures after a promotion may lead to.
    pub fn each_next(&self, mut tell: impl FnMut(Men)) {
        let all = self.pawns[0] | self.pawns[1];
        tell(Men { piece: None, ..*self });
        for color in [Color::White, Color::Black] {
            let own = side(color);
            let taken = self.piece.filter(|(owner, _)| *owner != color);
            for from in squares(self.pawns[own]) {
                let mut left = *self;
                left.pawns[own] &= !bit(from);
                tell(left);
                tell(Men { piece: None, ..left });
                let mut come = |men: Men, to: u8| {
                    if matches!(to >> 3, 0 | 7) {
                        for role in PROMOTIONS {
                            tell(Men { piece: Some((color, role)), ..men });
                        }
                    } else {
                        let mut men = men;
                        men.pawns[own] |= bit(to);
                        tell(men);
                    }
                };
                let to = forward(color, from);
                come(left, to);
                if from >> 3 == color.fold_wb(1, 6) && all & bit(to) == 0 {
                    come(left, forward(color, to));
                }
                for to in squares(reach(Man::pawn(color, from), from, 0)) {
                    let mut men = left;
                    men.pawns[1 - own] &= !bit(to);
                    // In passing the pawn that is taken stands behind.
                    let mut passing = left;
                    passing.pawns[1 - own] &= !bit(forward(!color, to));
                    come(passing, to);
                    come(men, to);
                    if taken.is_some() {
                        come(Men { piece: None, ..men }, to);
                    }
                }
            }
        }
    }

    /// Every legal capture and pawn's move of the side to move.
    pub fn each_exit(&self, spot: Spot, mut tell: impl FnMut(Exit)) {
        let (own, turn) = (side(spot.turn), spot.turn);
        let occupied = self.occupied(spot);
        let theirs =
            self.pawns[side(!turn)] | self.piece.filter(|(color, _)| *color != turn).map_or(0, |_| bit(spot.at));
        let mut add = |men: Men, after: Spot, kind: Kind| {
            let after = Spot { turn: !turn, at: if men.piece.is_some() { after.at } else { 0 }, ..after };
            let second = if let Kind::Promotion { second: Some(square), .. } = kind { bit(square) } else { 0 };
            if men.is_legal_beside(after, second) {
                tell(Exit { men, spot: after, kind });
            }
        };
        for to in squares(king_reach(spot.kings[own]) & theirs) {
            let mut kings = spot.kings;
            kings[own] = to;
            add(self.without(spot, to), Spot { kings, ..spot }, Kind::Plain);
        }
        if let Some((color, role)) = self.piece.filter(|(color, _)| *color == turn) {
            for to in squares(reach(Man::piece(color, role), spot.at, occupied) & theirs) {
                add(self.without(spot, to), Spot { at: to, ..spot }, Kind::Plain);
            }
        }
        for from in squares(self.pawns[own]) {
            let mut step = |men: Men, to: u8, kind: Kind| {
                let mut men = men;
                men.pawns[own] &= !bit(from);
                if !matches!(to >> 3, 0 | 7) {
                    men.pawns[own] |= bit(to);
                    return add(men, spot, kind);
                }
                for role in PROMOTIONS {
                    match men.piece {
                        None => {
                            let men = Men { piece: Some((turn, role)), ..men };
                            add(men, Spot { at: to, ..spot }, Kind::Promotion { role, second: None });
                        }
                        Some(_) => add(men, spot, Kind::Promotion { role, second: Some(to) }),
                    }
                }
            };
            let to = forward(turn, from);
            if occupied & bit(to) == 0 {
                step(*self, to, Kind::Plain);
                let far = forward(turn, to);
                if from >> 3 == turn.fold_wb(1, 6) && occupied & bit(far) == 0 {
                    step(*self, far, Kind::Step { over: to });
                }
            }
            for to in squares(reach(Man::pawn(turn, from), from, 0) & theirs) {
                step(self.without(spot, to), to, Kind::Plain);
            }
        }
    }
}
