//! The men of a table and where they stand.
//!
//! A material is kept in one form only: White is the stronger side, the men stand in a fixed order, and the board is
//! mirrored so that the pawns stand as far to the left as they can. A pawn's file belongs to the material: within a
//! table no pawn leaves its file, since every move that changes a file is a capture and leads to another table.

use shakmaty::attacks;
use shakmaty::{Bitboard, Board, Chess, Color, Position, Role, Square};

/// At most so many men besides the two kings.
pub const MOST: usize = 3;

/// The file of a man that is no pawn.
pub const NO_FILE: u8 = 8;

/// Flips the ranks of a square's number.
const FLIP: u8 = 0b11_1000;

/// A man that is no king.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub struct Man {
    pub color: Color,
    pub role: Role,
    /// From 0 for the a-file; [`NO_FILE`] but for pawns.
    pub file: u8,
}

impl Man {
    pub fn piece(color: Color, role: Role) -> Man {
        Man { color, role, file: NO_FILE }
    }

    pub fn pawn(color: Color, square: u8) -> Man {
        Man { color, role: Role::Pawn, file: square & 7 }
    }

    pub fn is_pawn(self) -> bool {
        self.role == Role::Pawn
    }

    /// The order of the men in a table: White's first, the strongest first, pawns from the left.
    fn rank(self) -> u64 {
        let color = u64::from(self.color == Color::Black);
        color << 7 | (6 - u64::from(self.role)) << 4 | u64::from(self.file)
    }

    fn of_rank(rank: u64) -> Option<Man> {
        let role = u32::try_from(6_u64.checked_sub(rank >> 4 & 7)?).ok()?;
        let role = Role::try_from(role).ok().filter(|role| *role != Role::King)?;
        let file = rank as u8 & 15;
        let fitting = if role == Role::Pawn { file < NO_FILE } else { file == NO_FILE };
        fitting.then(|| Man { color: Color::from_white(rank >> 7 & 1 == 0), role, file })
    }

    /// The men of a key.
    pub fn of_key(key: Key) -> Option<Vec<Man>> {
        let count = (63_u32.checked_sub(key.0.leading_zeros())? / 8) as usize;
        if count > MOST || key.0 >> (8 * count) != 1 {
            return None;
        }
        let men: Option<Vec<Man>> = (0..count).rev().map(|i| Man::of_rank(key.0 >> (8 * i) & 0xff)).collect();
        men.filter(|men| settled(men).1 == key)
    }

    fn flipped(self) -> Man {
        Man { color: !self.color, ..self }
    }

    fn mirrored(self) -> Man {
        if self.is_pawn() { Man { file: 7 - self.file, ..self } } else { self }
    }
}

/// The name of a material in its one form: equal for all placements that share a table.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub struct Key(pub u64);

/// Men on the board, and who is to move. There is no word of castling or of a pawn to be taken in passing.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Placement {
    pub turn: Color,
    /// White's king, Black's king.
    pub kings: [u8; 2],
    count: u8,
    men: [Man; MOST],
    pub at: [u8; MOST],
}

/// Which of the two kings is this side's.
pub fn index_of(color: Color) -> usize {
    color.fold_wb(0, 1)
}

impl Placement {
    pub fn new(turn: Color, kings: [u8; 2], men: &[Man], at: [u8; MOST]) -> Placement {
        let mut all = [Man::piece(Color::White, Role::Queen); MOST];
        all[..men.len()].copy_from_slice(men);
        Placement { turn, kings, count: men.len() as u8, men: all, at }
    }

    /// The same, of arrays that are full already; the men past the first `count` only fill up.
    #[inline]
    pub fn of_all(turn: Color, kings: [u8; 2], men: [Man; MOST], count: usize, at: [u8; MOST]) -> Placement {
        Placement { turn, kings, count: count as u8, men, at }
    }

    /// The men of a position; `None` if they are too many.
    pub fn of(position: &Chess) -> Option<Placement> {
        Placement::on(position.board(), position.turn())
    }

    pub fn on(board: &Board, turn: Color) -> Option<Placement> {
        if board.occupied().count() > MOST + 2 {
            return None;
        }
        let king = |color| board.king_of(color).map(|square| square.to_u32() as u8);
        let kings = [king(Color::White)?, king(Color::Black)?];
        let (mut men, mut at) = (Vec::with_capacity(MOST), [0; MOST]);
        for (square, piece) in board {
            if piece.role != Role::King {
                let square = square.to_u32() as u8;
                *at.get_mut(men.len())? = square;
                let file = if piece.role == Role::Pawn { square & 7 } else { NO_FILE };
                men.push(Man { color: piece.color, role: piece.role, file });
            }
        }
        Some(Placement::new(turn, kings, &men, at))
    }

    pub fn men(&self) -> &[Man] {
        &self.men[..self.count as usize]
    }

    /// The men, and behind them what fills their places up.
    pub fn all_men(&self) -> [Man; MOST] {
        self.men
    }

    #[inline]
    pub fn king(&self, color: Color) -> u8 {
        self.kings[index_of(color)]
    }

    #[inline]
    pub fn occupied(&self) -> u64 {
        let men = self.at[..self.count as usize].iter().fold(0, |all, at| all | bit(*at));
        men | bit(self.kings[0]) | bit(self.kings[1])
    }

    /// The squares of one side's men, its king among them.
    #[inline]
    pub fn of_color(&self, color: Color) -> u64 {
        let men = self.men().iter().zip(self.at).filter(|(man, _)| man.color == color);
        men.fold(bit(self.king(color)), |all, (_, at)| all | bit(at))
    }

    #[inline]
    pub fn man_on(&self, square: u8) -> Option<usize> {
        self.at[..self.count as usize].iter().position(|at| *at == square)
    }

    /// With the other side to move.
    pub fn passed(mut self) -> Placement {
        self.turn = !self.turn;
        self
    }

    pub fn with_king(mut self, color: Color, square: u8) -> Placement {
        self.kings[index_of(color)] = square;
        self
    }

    pub fn with_man(mut self, which: usize, man: Man, square: u8) -> Placement {
        self.men[which] = man;
        self.at[which] = square;
        self
    }

    pub fn moved(mut self, which: usize, square: u8) -> Placement {
        self.at[which] = square;
        self
    }

    pub fn without(mut self, which: usize) -> Placement {
        self.men.copy_within(which + 1.., which);
        self.at.copy_within(which + 1.., which);
        self.count -= 1;
        self
    }

    /// Whether a side's men, but for one of them and the king, attack a square.
    pub fn attacked(&self, square: u8, by: Color, occupied: u64, but: Option<usize>) -> bool {
        self.men()
            .iter()
            .zip(self.at)
            .enumerate()
            .any(|(i, (man, at))| man.color == by && Some(i) != but && reach(*man, at, occupied) & bit(square) != 0)
    }

    fn key(&self) -> Key {
        Key(self.men().iter().fold(1, |key, man| key << 8 | man.rank()))
    }

    fn sorted(mut self) -> Placement {
        for i in 1..self.count as usize {
            for j in (1..=i).rev() {
                if self.men[j].rank() < self.men[j - 1].rank() {
                    self.men.swap(j, j - 1);
                    self.at.swap(j, j - 1);
                }
            }
        }
        self
    }

    /// Colours and ranks exchanged: the same game seen from the other side.
    fn flipped(mut self) -> Placement {
        self.kings = [self.kings[1] ^ FLIP, self.kings[0] ^ FLIP];
        self.turn = !self.turn;
        for i in 0..self.count as usize {
            self.men[i] = self.men[i].flipped();
            self.at[i] ^= FLIP;
        }
        self
    }

    /// Files exchanged.
    fn mirrored(mut self) -> Placement {
        self.kings = self.kings.map(|king| king ^ 7);
        for i in 0..self.count as usize {
            self.men[i] = self.men[i].mirrored();
            self.at[i] ^= 7;
        }
        self
    }

    /// The one form of this placement's material, and its name.
    pub fn settled(self) -> (Placement, Key) {
        let strength = |color| {
            let own = self.men().iter().filter(|man| man.color == color);
            own.fold((0, 0), |(count, sum), man| (count + 1, sum + (1_u32 << (3 * u32::from(man.role)))))
        };
        let (white, black) = (strength(Color::White), strength(Color::Black));
        let mut best = if black > white { self.flipped() } else { self }.sorted();
        let mut key = best.key();
        if self.men().iter().any(|man| man.is_pawn()) {
            let mut consider = |other: Placement| {
                let other = other.sorted();
                if other.key() < key {
                    (best, key) = (other, other.key());
                }
            };
            let first = if black > white { self.flipped() } else { self };
            consider(first.mirrored());
            if white == black {
                consider(first.flipped());
                consider(first.flipped().mirrored());
            }
        }
        (best, key)
    }
}

/// The one form of a material, men only.
pub fn settled(men: &[Man]) -> (Vec<Man>, Key) {
    let (placement, key) = Placement::new(Color::White, [0, 63], men, [0; MOST]).settled();
    (placement.men().to_vec(), key)
}

/// No king can ever be mated: a bare king, or one minor piece.
pub fn cannot_mate(men: &[Man]) -> bool {
    matches!(men, [] | [Man { role: Role::Knight | Role::Bishop, .. }])
}

#[inline]
pub fn bit(square: u8) -> u64 {
    1 << square
}

#[inline]
fn board_square(square: u8) -> Square {
    Square::ALL[usize::from(square & 63)]
}

#[inline]
pub fn king_reach(square: u8) -> u64 {
    attacks::king_attacks(board_square(square)).0
}

#[inline]
pub fn queen_reach(square: u8, occupied: u64) -> u64 {
    attacks::queen_attacks(board_square(square), Bitboard(occupied)).0
}

/// The squares a man attacks.
#[inline]
pub fn reach(man: Man, from: u8, occupied: u64) -> u64 {
    let from = board_square(from);
    match man.role {
        Role::Pawn => attacks::pawn_attacks(man.color, from),
        Role::Knight => attacks::knight_attacks(from),
        Role::Bishop => attacks::bishop_attacks(from, Bitboard(occupied)),
        Role::Rook => attacks::rook_attacks(from, Bitboard(occupied)),
        Role::Queen => attacks::queen_attacks(from, Bitboard(occupied)),
        Role::King => attacks::king_attacks(from),
    }
    .0
}

/// The squares of a set, from the lowest.
#[inline]
pub fn squares(mut set: u64) -> impl Iterator<Item = u8> {
    std::iter::from_fn(move || {
        let square = set.trailing_zeros() as u8;
        (set != 0).then(|| {
            set &= set - 1;
            square
        })
    })
}
