//! Positions by their keys.
//!
//! A 128-bit Zobrist key is as good as random, so its lowest bits serve as the hash. Among a hundred million positions
//! two keys agree by chance with odds of 1 in 10²². Equal keys mean equal men, side to move, castling rights and right
//! to capture in passing.

use super::Budget;
use shakmaty::zobrist::Zobrist128;
use shakmaty::{Chess, EnPassantMode, Position};
use std::collections::{HashMap, HashSet};
use std::hash::{BuildHasherDefault, Hasher};

/// A position's key.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct Key(u128);

impl Key {
    pub fn of(position: &Chess) -> Key {
        Key(position.zobrist_hash::<Zobrist128>(EnPassantMode::Legal).0)
    }
}

impl std::hash::Hash for Key {
    fn hash<H: Hasher>(&self, state: &mut H) {
        state.write_u64(self.0 as u64);
    }
}

/// Bytes that a position takes in the memory of a search at the worst moment: an entry is 33 at most, and a map that is
/// full at seven eighths moves to twice the room beside the old one.
const BYTES: u64 = 115;

/// How many positions the memory of a search may hold.
pub(super) fn most(budget: Budget) -> usize {
    usize::try_from(budget.bytes / BYTES).unwrap_or(usize::MAX)
}

/// Values by position.
pub(super) type ByPosition<V> = HashMap<Key, V, BuildHasherDefault<LowestBits>>;

/// The place of a position in the memory of a search; `None` if it is a new one and the memory is full.
pub(super) fn room<V: Default>(known: &mut ByPosition<V>, key: Key, most: usize) -> Option<&mut V> {
    if known.len() < most { Some(known.entry(key).or_default()) } else { known.get_mut(&key) }
}

/// A set of positions.
pub(super) type Positions = HashSet<Key, BuildHasherDefault<LowestBits>>;

/// Takes the number fed as the hash.
#[derive(Clone, Copy, Debug, Default)]
pub(super) struct LowestBits(u64);

impl Hasher for LowestBits {
    fn finish(&self) -> u64 {
        self.0
    }

    fn write(&mut self, bytes: &[u8]) {
        self.0 = bytes.iter().fold(self.0, |sum, byte| sum.rotate_left(8) ^ u64::from(*byte));
    }

    fn write_u64(&mut self, number: u64) {
        self.0 = number;
    }
}
