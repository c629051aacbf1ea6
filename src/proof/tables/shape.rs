//! From a placement to its place in a table, and back.
//!
//! Without pawns the eight symmetries of the board leave 462 pairs of kings; with pawns all 3,612 pairs are kept, and
//! the mirroring of files is part of the material's one form (see `men`).

use super::men::{self, Man, Placement, bit, king_reach};
use shakmaty::Color;
use std::sync::OnceLock;

/// Where the kings and the symmetries are looked up.
struct Maps {
    /// The square that each of the eight symmetries makes of a square; 4 is the reflection in the long diagonal.
    turned: [[u8; 64]; 8],
    /// For each pair of kings, `64 * white + black`: its number among the 462, and the symmetry that leads there.
    cornered: Vec<(u16, u8)>,
    corner_pairs: Vec<[u8; 2]>,
    /// Its number among the 3,612.
    free: Vec<u16>,
    free_pairs: Vec<[u8; 2]>,
}

const DIAGONAL: usize = 4;
/// Touching kings have no number.
const NO_NUMBER: u16 = u16::MAX;

fn maps() -> &'static Maps {
    static MAPS: OnceLock<Maps> = OnceLock::new();
    MAPS.get_or_init(|| {
        let mut turned = [[0; 64]; 8];
        for (which, squares) in turned.iter_mut().enumerate() {
            for (square, to) in squares.iter_mut().enumerate() {
                let (mut file, mut rank) = (square as u8 & 7, square as u8 >> 3);
                if which & 1 != 0 {
                    file = 7 - file;
                }
                if which & 2 != 0 {
                    rank = 7 - rank;
                }
                if which & DIAGONAL != 0 {
                    (file, rank) = (rank, file);
                }
                *to = rank << 3 | file;
            }
        }
        let mut maps = Maps {
            turned,
            cornered: vec![(NO_NUMBER, 0); 4096],
            corner_pairs: Vec::new(),
            free: vec![NO_NUMBER; 4096],
            free_pairs: Vec::new(),
        };
        for white in 0..64_u8 {
            for black in 0..64_u8 {
                if white == black || king_reach(white) & bit(black) != 0 {
                    continue;
                }
                let pair = usize::from(white) << 6 | usize::from(black);
                maps.free[pair] = maps.free_pairs.len() as u16;
                maps.free_pairs.push([white, black]);
                // White's king into the triangle a1-d1-d4; on its diagonal, Black's king not above the diagonal.
                let (corner, which) = (0..8)
                    .map(|which| ([turned[which][usize::from(white)], turned[which][usize::from(black)]], which as u8))
                    .filter(|([white, black], _)| {
                        let (file, rank) = (white & 7, white >> 3);
                        file < 4 && rank <= file && (rank < file || black >> 3 <= black & 7)
                    })
                    .min()
                    .expect("some symmetry leads into the triangle");
                let known = maps.corner_pairs.iter().position(|known| *known == corner);
                let number = known.unwrap_or_else(|| {
                    maps.corner_pairs.push(corner);
                    maps.corner_pairs.len() - 1
                });
                maps.cornered[pair] = (number as u16, which);
            }
        }
        maps
    })
}

fn on_long_diagonal(square: u8) -> bool {
    square >> 3 == square & 7
}

/// On one of the two diagonals in which the board can be reflected; which of them, by its first square.
fn axis(square: u8) -> Option<u8> {
    match (on_long_diagonal(square), (square >> 3) + (square & 7) == 7) {
        (true, _) => Some(0),
        (_, true) => Some(7),
        _ => None,
    }
}

/// How a table of one material is laid out.
#[derive(Clone, Copy)]
pub struct Shape {
    men: [Man; men::MOST],
    count: usize,
    with_pawns: bool,
    /// Some men are alike, so that exchanging them changes nothing.
    with_twins: bool,
    size: usize,
    /// How far apart two places are that differ by one step of a man: a rank for a pawn, a square's number for others.
    strides: [usize; men::MOST],
    maps: &'static Maps,
}

/// A position's own place, from which those that differ by one man's square are counted.
#[derive(Clone, Copy)]
pub struct Foothold {
    place: usize,
    /// Neither twins nor a reflection can lead elsewhere.
    straight: bool,
}

impl Shape {
    /// For men in their one form.
    pub fn new(men: &[Man]) -> Shape {
        let with_pawns = men.iter().any(|man| man.is_pawn());
        let kings = if with_pawns { maps().free_pairs.len() } else { maps().corner_pairs.len() };
        let mut strides = [1; men::MOST];
        let mut stride = 1;
        for (i, man) in men.iter().enumerate().rev() {
            strides[i] = stride;
            stride *= if man.is_pawn() { 6 } else { 64 };
        }
        Shape {
            strides,
            with_pawns,
            with_twins: men.iter().enumerate().any(|(i, man)| men[..i].contains(man)),
            size: men.iter().fold(kings, |size, man| size * if man.is_pawn() { 6 } else { 64 }),
            men: Placement::new(Color::White, [0, 63], men, [0; men::MOST]).all_men(),
            count: men.len(),
            maps: maps(),
        }
    }

    pub fn men(&self) -> &[Man] {
        &self.men[..self.count]
    }

    /// Places for each side to move; some of them hold no legal position.
    pub fn size(&self) -> usize {
        self.size
    }

    fn joined(&self, kings: usize, at: [u8; men::MOST]) -> usize {
        self.men().iter().zip(at).fold(kings, |place, (man, at)| {
            if man.is_pawn() { place * 6 + usize::from(at >> 3) - 1 } else { place << 6 | usize::from(at) }
        })
    }

    fn ordered(&self, mut at: [u8; men::MOST]) -> [u8; men::MOST] {
        if self.with_twins {
            for i in 0..self.count {
                for j in i + 1..self.count {
                    if self.men[i] == self.men[j] && at[i] > at[j] {
                        at.swap(i, j);
                    }
                }
            }
        }
        at
    }

    /// The place of men in this table's order; the kings must not touch.
    pub fn place(&self, kings: [u8; 2], at: [u8; men::MOST]) -> usize {
        let pair = usize::from(kings[0]) << 6 | usize::from(kings[1]);
        if self.with_pawns {
            return self.joined(usize::from(self.maps.free[pair]), self.ordered(at));
        }
        let (number, which) = self.maps.cornered[pair];
        let turned = &self.maps.turned[usize::from(which)];
        let at = at.map(|square| turned[usize::from(square)]);
        let place = self.joined(usize::from(number), self.ordered(at));
        let [white, black] = self.maps.corner_pairs[usize::from(number)];
        if !(on_long_diagonal(white) && on_long_diagonal(black)) {
            return place;
        }
        let reflected = at.map(|square| self.maps.turned[DIAGONAL][usize::from(square)]);
        place.min(self.joined(usize::from(number), self.ordered(reflected)))
    }

    /// Where a placement stands that is [`Shape::placement`] of `place`.
    pub fn foothold(&self, here: &Placement, place: usize) -> Foothold {
        let reflected = !self.with_pawns && here.kings.iter().all(|king| on_long_diagonal(*king));
        Foothold { place, straight: !self.with_twins && !reflected }
    }

    /// The place after one man has gone from where it stands.
    #[inline]
    pub fn place_of_moved(&self, foothold: Foothold, here: &Placement, which: usize, to: u8) -> usize {
        if foothold.straight {
            let shift = if self.men[which].is_pawn() { 3 } else { 0 };
            let (from, to) = (usize::from(here.at[which] >> shift), usize::from(to >> shift));
            foothold.place + to * self.strides[which] - from * self.strides[which]
        } else {
            let moved = here.moved(which, to);
            self.place(moved.kings, moved.at)
        }
    }

    /// The placement at a place; `None` where two men share a square, or where the placement has another place.
    pub fn placement(&self, place: usize, turn: Color) -> Option<Placement> {
        let (mut rest, mut at) = (place, [0; men::MOST]);
        for (i, man) in self.men().iter().enumerate().rev() {
            if man.is_pawn() {
                at[i] = ((rest % 6) as u8 + 1) << 3 | man.file;
                rest /= 6;
            } else {
                at[i] = rest as u8 & 63;
                rest >>= 6;
            }
        }
        let kings = if self.with_pawns { self.maps.free_pairs[rest] } else { self.maps.corner_pairs[rest] };
        let mut occupied = bit(kings[0]) | bit(kings[1]);
        for square in &at[..self.count] {
            if occupied & bit(*square) != 0 {
                return None;
            }
            occupied |= bit(*square);
        }
        let several = self.with_twins || (!self.with_pawns && on_long_diagonal(kings[0]) && on_long_diagonal(kings[1]));
        if several && self.place(kings, at) != place {
            return None;
        }
        Some(Placement::of_all(turn, kings, self.men, self.count, at))
    }

    /// Whether two moves (or two moves taken back) of the side whose king is not `still` may lead to one place.
    ///
    /// Only a reflection that leaves the other king where it is can do so, and at most two of the other men may stand
    /// off its axis: of the two moves' four ends one is another's image.
    pub fn may_coincide(&self, placement: &Placement, still: Color) -> bool {
        if self.with_pawns {
            return false;
        }
        let Some(axis_of_still) = axis(placement.king(still)) else { return false };
        let off = |square: u8| axis(square) != Some(axis_of_still);
        let others = placement.at[..self.count].iter().copied().chain([placement.king(!still)]);
        self.count > 2 || others.filter(|square| off(*square)).count() <= 2
    }
}
