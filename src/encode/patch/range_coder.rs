//! The symbol coder: the inverse of the AV1 symbol decoder (AV1 specification §8.2).
//!
//! The code is one long binary number inside an interval that each symbol narrows. The decoder keeps the distance
//! from the interval's upper end (`SymbolValue`, §8.2.2), so symbol 0 is the uppermost part of the interval.

use super::cdf::Cdf;

/// The decoder reads this many bits ahead (§8.2.2): the part of the code that later symbols still narrow.
const OPEN_BITS: u32 = 15;
/// Bits above the open ones are moved out when there could be more than this many of them. A symbol adds at most 15,
/// and all of them, the open bits and one carry fit into 64 bits.
const WAITING_LIMIT: u32 = 40;

/// Writes the symbols of one tile.
pub(super) struct RangeCoder {
    bytes: Vec<u8>,
    /// The interval's lower end: a carry, `waiting` settled bits (but for that carry), then the open bits.
    low: u64,
    waiting: u32,
    /// The interval's width, 2¹⁵ to 2¹⁶ − 1 (`SymbolRange`).
    range: u32,
}

impl RangeCoder {
    /// A coder at the start of a tile (§8.2.2).
    pub(super) fn new() -> RangeCoder {
        RangeCoder { bytes: Vec::with_capacity(1 << 12), low: 0, waiting: 0, range: 1 << OPEN_BITS }
    }

    /// Writes `symbol` and lets the CDF learn it (§8.2.6).
    #[inline]
    pub(super) fn symbol<const N: usize>(&mut self, cdf: &mut Cdf<N>, symbol: usize) {
        let (below, upto) = cdf.bounds(symbol);
        self.narrow(below, upto, symbol as u32, N as u32);
        cdf.learn(symbol);
    }

    /// Writes a flag whose chance of being 0 is `zero` in 32768 and is not learnt (§8.3.2, `split_or_horz` and
    /// `split_or_vert`, which build such a CDF on the spot).
    pub(super) fn flag(&mut self, zero: u32, flag: bool) {
        if flag {
            self.narrow(zero, 1 << 15, 1, 2);
        } else {
            self.narrow(0, zero, 0, 2);
        }
    }

    /// L(n), §8.2.5: `bits` bits of equal chance, the most significant first.
    pub(super) fn literal(&mut self, value: u32, bits: u32) {
        for bit in (0..bits).rev() {
            self.flag(1 << 14, (value >> bit) & 1 == 1);
        }
    }

    /// NS(n), §4.10.10: a number below `n`, which need not be a power of two.
    pub(super) fn below(&mut self, value: u32, n: u32) {
        let bits = u32::BITS - n.leading_zeros();
        let short = (1 << bits) - n;
        if value < short {
            self.literal(value, bits - 1);
        } else {
            self.literal(value + short, bits);
        }
    }

    /// Narrows the interval to the symbol whose cumulative chances reach from `below` to `upto` (in 32768ths), with
    /// the same products as the decoder (§8.2.6): the upper 8 bits of the range by the upper 9 of the chance, and
    /// at least 4 for each symbol of the alphabet.
    #[inline]
    fn narrow(&mut self, below: u32, upto: u32, symbol: u32, alphabet: u32) {
        let part = |above: u32, left: u32| (((self.range >> 8) * (above >> 6)) >> 1) + 4 * left;
        let bottom = part((1 << 15) - upto, alphabet - symbol - 1);
        let top = if symbol == 0 { self.range } else { part((1 << 15) - below, alphabet - symbol) };
        self.low += u64::from(self.range - top);
        let range = top - bottom;
        let shift = range.leading_zeros() - 16;
        if self.waiting + shift > WAITING_LIMIT {
            self.move_out();
        }
        self.low <<= shift;
        self.waiting += shift;
        self.range = range << shift;
    }

    /// Moves whole settled bytes out.
    #[cold]
    fn move_out(&mut self) {
        let count = self.waiting / 8;
        let kept = OPEN_BITS + self.waiting - 8 * count;
        self.push(self.low >> kept, count);
        self.low &= (1 << kept) - 1;
        self.waiting -= 8 * count;
    }

    /// Appends the lowest `count` bytes of `value`; what lies above them is a carry into the bytes before.
    fn push(&mut self, value: u64, count: u32) {
        if value >> (8 * count) != 0 {
            for byte in self.bytes.iter_mut().rev() {
                *byte = byte.wrapping_add(1);
                if *byte != 0 {
                    break;
                }
            }
        }
        for byte in (0..count).rev() {
            self.bytes.push((value >> (8 * byte)) as u8);
        }
    }

    /// Ends the tile (§8.2.4): the shortest code inside the interval that ends with the trailing one bit, which sits
    /// behind the settled bits, and zeros up to the byte. No other trailing bits follow in an `OBU_FRAME`.
    pub(super) fn finish(mut self) -> Vec<u8> {
        let trailing = 1u64 << (OPEN_BITS - 1);
        let code = ((self.low + trailing - 1) & !(trailing - 1)) | trailing;
        let count = (self.waiting + 1).div_ceil(8);
        let have = OPEN_BITS + self.waiting;
        let want = 8 * count;
        self.push(if have > want { code >> (have - want) } else { code << (want - have) }, count);
        self.bytes
    }
}

#[cfg(test)]
mod tests {
    use super::super::cdf::cdf;
    use super::*;

    /// The decoder's side, written from §8.2.2, §8.2.5 and §8.2.6 with the specification's own names.
    struct Decoder<'a> {
        data: &'a [u8],
        position: usize,
        symbol_value: u32,
        symbol_range: u32,
    }

    impl Decoder<'_> {
        fn new(data: &[u8]) -> Decoder<'_> {
            let mut decoder = Decoder { data, position: 0, symbol_value: 0, symbol_range: 1 << 15 };
            for _ in 0..15 {
                decoder.symbol_value = decoder.symbol_value << 1 | decoder.bit();
            }
            decoder.symbol_value ^= (1 << 15) - 1;
            decoder
        }

        fn bit(&mut self) -> u32 {
            let byte = self.data.get(self.position / 8).copied().unwrap_or(0);
            self.position += 1;
            u32::from(byte >> (7 - (self.position - 1) % 8)) & 1
        }

        fn symbol(&mut self, cdf: &[u32]) -> usize {
            let n = cdf.len() as u32;
            let (mut cur, mut symbol) = (self.symbol_range, 0);
            let prev = loop {
                let prev = cur;
                let f = (1 << 15) - cdf[symbol];
                cur = (((self.symbol_range >> 8) * (f >> 6)) >> 1) + 4 * (n - symbol as u32 - 1);
                if self.symbol_value >= cur {
                    break prev;
                }
                symbol += 1;
            };
            self.symbol_range = prev - cur;
            self.symbol_value -= cur;
            while self.symbol_range < 1 << 15 {
                self.symbol_range <<= 1;
                self.symbol_value = ((self.symbol_value + 1) << 1).wrapping_sub(1) ^ self.bit();
            }
            symbol
        }

        fn literal(&mut self, bits: u32) -> u32 {
            (0..bits).fold(0, |value, _| value << 1 | self.symbol(&[1 << 14, 1 << 15]) as u32)
        }

        /// NS(n), §4.10.10.
        fn below(&mut self, n: u32) -> u32 {
            let w = 32 - n.leading_zeros();
            let m = (1 << w) - n;
            let v = self.literal(w - 1);
            if v < m { v } else { (v << 1) - m + self.literal(1) }
        }
    }

    #[test]
    fn what_is_written_is_read() {
        let mut seed = 1u32;
        let mut random = |n: u32| {
            seed ^= seed << 13;
            seed ^= seed >> 17;
            seed ^= seed << 5;
            seed % n
        };
        for length in 0..400 {
            // Very likely and very unlikely symbols: long runs of carries.
            let mut four = cdf([32_760, 32_761, 32_766, 32_768]);
            let mut two = cdf([40, 32_768]);
            let mut coder = RangeCoder::new();
            let mut said = Vec::new();
            for _ in 0..length {
                let kind = random(4);
                let value = match kind {
                    0 => random(4),
                    1 => random(2),
                    2 => random(128),
                    _ => random(6),
                };
                let chances: Vec<u32> = match kind {
                    0 => four.cumulative().iter().map(|&c| u32::from(c)).collect(),
                    _ => two.cumulative().iter().map(|&c| u32::from(c)).collect(),
                };
                match kind {
                    0 => coder.symbol(&mut four, value as usize),
                    1 => coder.symbol(&mut two, value as usize),
                    2 => coder.literal(value, 7),
                    _ => coder.below(value, 6),
                }
                said.push((kind, value, chances));
            }
            let bytes = coder.finish();
            let mut decoder = Decoder::new(&bytes);
            for (kind, value, chances) in said {
                let read = match kind {
                    0 | 1 => decoder.symbol(&chances) as u32,
                    2 => decoder.literal(7),
                    _ => decoder.below(6),
                };
                assert_eq!(read, value);
            }
            // §8.2.4: a one bit behind the bits consumed, zeros to the end of the last byte.
            let trailing = decoder.position - 15;
            let rest: Vec<usize> =
                (trailing..bytes.len() * 8).filter(|i| bytes[i / 8] >> (7 - i % 8) & 1 == 1).collect();
            assert_eq!(rest, [trailing]);
            assert_eq!(bytes.len(), trailing / 8 + 1);
        }
    }
}
