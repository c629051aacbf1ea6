//! The words of the board: side, role, piece, square, placement. Names only; the rules live in `game`.

use std::fmt;

/// Who is to move, or whose piece it is.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Side {
    /// The side that starts the game from the initial array.
    White,
    /// The other one.
    Black,
}

impl Side {
    /// The opponent.
    #[must_use]
    pub fn other(self) -> Side {
        match self {
            Side::White => Side::Black,
            Side::Black => Side::White,
        }
    }
}

impl fmt::Display for Side {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Side::White => "White",
            Side::Black => "Black",
        })
    }
}

/// The kind of a piece.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
#[allow(missing_docs)] // the six names say all there is
pub enum Role {
    King,
    Queen,
    Rook,
    Bishop,
    Knight,
    Pawn,
}

impl Role {
    /// All six, king first.
    pub const ALL: [Role; 6] = [Role::King, Role::Queen, Role::Rook, Role::Bishop, Role::Knight, Role::Pawn];

    /// The letter of the PGN standard (1994, §8.2.3.2); `P` for the pawn.
    pub fn letter(self) -> char {
        match self {
            Role::King => 'K',
            Role::Queen => 'Q',
            Role::Rook => 'R',
            Role::Bishop => 'B',
            Role::Knight => 'N',
            Role::Pawn => 'P',
        }
    }
}

/// The English name, lower case: `rook`.
impl fmt::Display for Role {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Role::King => "king",
            Role::Queen => "queen",
            Role::Rook => "rook",
            Role::Bishop => "bishop",
            Role::Knight => "knight",
            Role::Pawn => "pawn",
        })
    }
}

/// A role with its side.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub struct Piece {
    /// Whose it is.
    pub side: Side,
    /// What it is.
    pub role: Role,
}

/// One of the 64 squares: 0 is a1, 7 is h1, 63 is h8.
#[derive(Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub struct Square(u8);

impl Square {
    /// The square of a file and a rank, both from 0; `None` outside the board.
    pub fn at(file: u8, rank: u8) -> Option<Square> {
        (file < 8 && rank < 8).then_some(Square(rank * 8 + file))
    }

    /// The square with this index, 0 (a1) to 63 (h8); `None` outside.
    pub fn from_index(index: usize) -> Option<Square> {
        u8::try_from(index).ok().filter(|&i| i < 64).map(Square)
    }

    /// 0 (a1) to 63 (h8).
    pub fn index(self) -> usize {
        usize::from(self.0)
    }

    /// 0 (file a) to 7 (file h).
    pub fn file(self) -> u8 {
        self.0 % 8
    }

    /// 0 (first rank) to 7 (eighth rank).
    pub fn rank(self) -> u8 {
        self.0 / 8
    }

    /// Whether this is a dark square, as a1 is.
    pub fn is_dark(self) -> bool {
        (self.file() + self.rank()).is_multiple_of(2)
    }

    /// Reads `e4`: a file letter a to h, then a rank digit 1 to 8.
    pub fn parse(text: &str) -> Option<Square> {
        match text.as_bytes() {
            [file @ b'a'..=b'h', rank @ b'1'..=b'8'] => Square::at(file - b'a', rank - b'1'),
            _ => None,
        }
    }

    /// All 64, a1 first.
    pub fn all() -> impl Iterator<Item = Square> {
        (0..64).map(Square)
    }
}

impl fmt::Display for Square {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}{}", (b'a' + self.file()) as char, self.rank() + 1)
    }
}

impl fmt::Debug for Square {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        fmt::Display::fmt(self, f)
    }
}

/// Which piece stands on each square.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub struct Placement([Option<Piece>; 64]);

impl Default for Placement {
    fn default() -> Placement {
        Placement([None; 64])
    }
}

impl Placement {
    /// The piece on `square`, if any.
    pub fn get(&self, square: Square) -> Option<Piece> {
        self.0[square.index()]
    }

    /// Puts a piece on `square`, or clears it.
    pub fn set(&mut self, square: Square, piece: Option<Piece>) {
        self.0[square.index()] = piece;
    }

    /// The occupied squares with their pieces, a1 first.
    pub fn iter(&self) -> impl Iterator<Item = (Square, Piece)> + '_ {
        Square::all().filter_map(|square| self.get(square).map(|piece| (square, piece)))
    }

    /// Where the king of `side` stands.
    pub fn king(&self, side: Side) -> Option<Square> {
        self.iter().find(|(_, piece)| *piece == Piece { side, role: Role::King }).map(|(square, _)| square)
    }
}
