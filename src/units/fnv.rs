/// A running FNV-1a hash over 128 bits (Fowler, Noll and Vo; draft-eastlake-fnv, §2): the same on every machine and in
/// every run, which the standard library's hasher does not promise. It names things and finds damage; it is no guard
/// against someone who wants to deceive.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Fnv(u128);

const OFFSET: u128 = 0x6c62_272e_07bb_0142_62b8_2175_6295_c58d;
const PRIME: u128 = 0x0000_0000_0100_0000_0000_0000_0000_013b;

impl Default for Fnv {
    fn default() -> Fnv {
        Fnv(OFFSET)
    }
}

impl Fnv {
    /// Feeds bytes. Nothing marks their end: feed lengths where neighbours could be mistaken for each other.
    pub fn bytes(&mut self, bytes: &[u8]) {
        for &byte in bytes {
            self.0 = (self.0 ^ u128::from(byte)).wrapping_mul(PRIME);
        }
    }

    /// The hash of all that was fed.
    pub fn value(&self) -> u128 {
        self.0
    }
}
