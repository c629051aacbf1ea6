//! Slices by their men. A formation of pawns is two numbers of 64 bits, so that mixing them makes a good hash.

use super::men::Men;
use std::collections::{HashMap, HashSet};
use std::hash::{BuildHasherDefault, Hasher};

/// Values by slice.
pub type ByMen<V> = HashMap<Men, V, BuildHasherDefault<Mixed>>;

/// A set of slices.
pub type SetOfMen = HashSet<Men, BuildHasherDefault<Mixed>>;

/// Mixes the numbers fed.
#[derive(Clone, Copy, Debug, Default)]
pub struct Mixed(u64);

impl Hasher for Mixed {
    fn finish(&self) -> u64 {
        self.0 ^ self.0 >> 29
    }

    fn write(&mut self, bytes: &[u8]) {
        for byte in bytes {
            self.write_u64(u64::from(*byte));
        }
    }

    fn write_u64(&mut self, number: u64) {
        self.0 = (self.0.rotate_left(23) ^ number).wrapping_mul(0x9e37_79b9_7f4a_7c15);
    }

    fn write_u32(&mut self, number: u32) {
        self.write_u64(u64::from(number));
    }

    fn write_isize(&mut self, number: isize) {
        self.write_u64(number as u64);
    }

    fn write_usize(&mut self, number: usize) {
        self.write_u64(number as u64);
    }
}
