//! Palettes: the colours of a block, and how they and the map of their places are written.
//!
//! [`colours`] finds up to eight colours that give a block exactly, [`reduce`] the eight that come nearest,
//! [`syntax`] writes colours, [`index_map`] writes which pixel has which.

pub(super) mod colours;
pub(super) mod index_map;
pub(super) mod reduce;
pub(super) mod syntax;

/// The most colours of a palette (`PALETTE_COLORS`, §3).
pub(super) const MOST: usize = 8;

/// The colours of a luma palette, or the pairs of a chroma palette.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub(super) struct Palette {
    /// How many there are: 2 to 8 when written.
    pub(super) len: usize,
    /// Luma or Cb, ascending; two luma colours are never equal.
    pub(super) first: [u8; MOST],
    /// The Cr that goes with each Cb.
    pub(super) second: [u8; MOST],
}

impl Palette {
    /// Luma or Cb.
    pub(super) fn first(&self) -> &[u8] {
        &self.first[..self.len]
    }

    /// Cr.
    pub(super) fn second(&self) -> &[u8] {
        &self.second[..self.len]
    }

    /// A written palette has two colours at least (`palette_size_y_minus_2`, §5.11.46): gives a single one a companion
    /// that is never used. In luma it must differ.
    pub(super) fn at_least_two(mut self, luma: bool) -> Palette {
        if self.len == 1 {
            let only = self.first[0];
            self.len = 2;
            self.second[1] = self.second[0];
            (self.first[0], self.first[1]) = match (luma, only.checked_add(1)) {
                (false, _) => (only, only),
                (true, Some(next)) => (only, next),
                (true, None) => (only - 1, only),
            };
        }
        self
    }
}
