//! A line of the move list: moves that all lists of a scene share, and how many of them one list shows.
//!
//! A list is kept for every change of a scene. Were each to hold its moves, a scene would need room for the square of
//! its length: 237 MB for 4000 plies.

use super::picture::ListMove;
use crate::units::Side;
use std::fmt;
use std::sync::Arc;

/// The moves of a line, as far as a list shows them.
#[derive(Clone, Default)]
pub struct Line {
    moves: Arc<[Written]>,
    /// How many of the moves are shown.
    shown: usize,
    /// How many of them lead to the position on the board; those after them are muted.
    way: usize,
    /// Which of its scene's lists this belongs to, counted from 0.
    edition: usize,
}

/// A move and how it is written over a scene.
#[derive(Clone, Debug)]
pub(super) struct Written {
    number: u32,
    side: Side,
    /// SAN with its sign, and the list from which on it is written so; in order, never empty.
    sans: Vec<(usize, Arc<str>)>,
}

impl Written {
    /// A move that is written in one way from the first list on.
    pub(super) fn new(number: u32, side: Side, san: Arc<str>) -> Written {
        Written { number, side, sans: vec![(0, san)] }
    }

    /// How it is written by now.
    pub(super) fn san(&self) -> &Arc<str> {
        &self.sans[self.sans.len() - 1].1
    }

    /// Writes it otherwise from a list on.
    pub(super) fn rewrite(&mut self, edition: usize, san: Arc<str>) {
        self.sans.push((edition, san));
    }

    fn san_in(&self, edition: usize) -> &Arc<str> {
        let later = self.sans.partition_point(|(from, _)| *from <= edition);
        &self.sans[later.saturating_sub(1)].1
    }
}

impl Line {
    /// The first `shown` of these moves, of which `way` lead to the position on the board.
    pub(super) fn new(moves: Arc<[Written]>, (shown, way): (usize, usize), edition: usize) -> Line {
        Line { moves, shown, way, edition }
    }

    /// How many moves are shown.
    pub fn len(&self) -> usize {
        self.shown
    }

    /// Whether none is.
    pub fn is_empty(&self) -> bool {
        self.shown == 0
    }

    /// A move by its index.
    pub fn get(&self, index: usize) -> Option<ListMove> {
        let written = self.moves[..self.shown].get(index)?;
        let san = Arc::clone(written.san_in(self.edition));
        Some(ListMove { number: written.number, side: written.side, san, muted: index >= self.way })
    }

    /// Whose move it is that has this index.
    pub fn side(&self, index: usize) -> Option<Side> {
        self.moves[..self.shown].get(index).map(|written| written.side)
    }

    /// The moves in order.
    pub fn iter(&self) -> impl ExactSizeIterator<Item = ListMove> + '_ {
        (0..self.shown).map(|index| self.get(index).expect("as many moves as are shown are there"))
    }
}

#[cfg(test)]
impl Line {
    /// Whether both lie in the same moves.
    pub(super) fn shares_with(&self, other: &Line) -> bool {
        Arc::ptr_eq(&self.moves, &other.moves)
    }
}

/// A line by itself.
impl From<Vec<ListMove>> for Line {
    /// # Panics
    /// If a muted move comes before one that is not: what leads to the position on the board comes first.
    fn from(moves: Vec<ListMove>) -> Line {
        let way = moves.iter().position(|played| played.muted).unwrap_or(moves.len());
        assert!(moves[way..].iter().all(|played| played.muted), "a line is muted from some move on");
        let shown = moves.len();
        let written = moves.into_iter().map(|played| Written::new(played.number, played.side, played.san));
        Line::new(written.collect(), (shown, way), 0)
    }
}

/// Lines are equal when they show the same.
impl PartialEq for Line {
    fn eq(&self, other: &Line) -> bool {
        let same = |(one, two): (&Written, &Written)| {
            (one.number, one.side) == (two.number, two.side) && one.san_in(self.edition) == two.san_in(other.edition)
        };
        (self.shown, self.way) == (other.shown, other.way)
            && (Arc::ptr_eq(&self.moves, &other.moves) && self.edition == other.edition
                || self.moves[..self.shown].iter().zip(&other.moves[..other.shown]).all(same))
    }
}

impl Eq for Line {}

impl fmt::Debug for Line {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.debug_list().entries(self.iter()).finish()
    }
}
